"""The air between two leaves: spring, deep layer, fill; closed forms of textbooks."""

import numpy as np
import pytest

from impact.base import air
from impact.link import cavity, porous

ZERO = np.zeros(1)


def passed(gap, f, k=0.0):
    """Pressure on the leaf below, held still, per displacement of the one above [N/m3]."""
    return 1 / cavity.compliance(gap, 2 * np.pi * f, np.array([k]), ZERO)[0]


def test_a_shallow_gap_is_the_spring():
    """142 kPa/d for air, 101 kPa/d in a fill (any text on sound insulation), at 20 Hz: half a per
    cent for depth, losses and the 1 % of the fill's fibres."""
    assert abs(passed(cavity.Gap(0.04), 20.0)) == pytest.approx(141.9e3 / 0.04, rel=0.005)
    filled = cavity.Gap(0.04, fill=0.04, flow_resistivity=10e3)
    assert abs(passed(filled, 5.0)) == pytest.approx(101.3e3 / 0.04, rel=0.015)


def test_a_deep_gap_has_a_resonance_across_its_depth():
    """Air between a moving and a still wall: p = rho c v / sin(kd), least at c/4d, infinite at c/2d
    (any acoustics textbook). 1 % for the small loss of the air."""
    gap = cavity.Gap(0.4)
    for f in (100.0, air.SPEED / 4 / 0.4, 350.0):
        omega = 2 * np.pi * f
        expected = omega * air.IMPEDANCE / np.sin(omega / air.SPEED * 0.4)
        assert abs(passed(gap, f)) == pytest.approx(expected, rel=0.01)


def test_waves_shorter_than_those_of_air_die_out_across_a_deep_gap():
    """p_below/w = rho omega^2/(kappa sinh(kappa d)), kappa^2 = k^2 - k0^2 (evanescent waves,
    Cremer/Heckl/Petersson 2005 ch. 6): 0.5 %."""
    f, k, depth = 100.0, 8.0, 0.3
    omega = 2 * np.pi * f
    kappa = np.sqrt(k**2 - (omega / air.SPEED) ** 2)
    expected = air.DENSITY * omega**2 / (kappa * np.sinh(kappa * depth))
    assert abs(passed(cavity.Gap(depth), f, k)) == pytest.approx(expected, rel=0.005)


def test_a_thick_fill_uses_up_what_goes_through():
    """Where the flow resistance sigma d is far over the spring's, sound diffuses: omega Z/|sin(kd)|
    with k^2 = omega^2 rho/K of Johnson-Champoux-Allard. At 100 Hz 0.3 m of 10 kPa s/m2 lets through
    less than the mere spring 101 kPa/d, about by |x/sin x| with x^2 = -i omega sigma d^2/p0 (slow,
    isothermal limit of that model): 10 %."""
    gap = cavity.Gap(0.3, fill=0.3, flow_resistivity=10e3)
    omega = 2 * np.pi * 100.0
    x = np.sqrt(-1j * omega * 10e3 * 0.3**2 / air.PRESSURE)
    expected = air.PRESSURE / 0.3 * abs(x / np.sin(x))
    assert expected < 0.9 * air.PRESSURE / 0.3
    assert abs(passed(gap, 100.0)) == pytest.approx(expected, rel=0.1)


def test_fill_and_air_are_springs_in_series():
    """1/(d_fill/101k + d_empty/142k), far below the depth's own times; 2 %."""
    gap = cavity.Gap(0.1, fill=0.06, flow_resistivity=5e3)
    expected = 1 / (0.06 / 101.3e3 + 0.04 / 141.9e3)
    assert abs(passed(gap, 8.0)) == pytest.approx(expected, rel=0.02)


def test_air_flows_across_inside_a_bay_and_through_open_webs():
    """A wave of 6 rad/m across is far shorter than the air's at 50 Hz (0.9 rad/m): it meets air
    that flows, 5 times softer and more than the still spring, in a closed bay (over whose own width
    such waves are laid, see `test_closed_bays.py`) and between open webs."""
    omega, ky = 2 * np.pi * 50.0, np.array([6.0])
    for blocks in (True, False):
        gap = cavity.Gap(0.0, bay=0.2, open_share=0.9, blocks=blocks)
        still = cavity.compliance(gap, omega, ZERO, ZERO)
        assert abs(cavity.compliance(gap, omega, ZERO, ky)[0]) > 5 * abs(still[0])
    assert porous.empty()[0].real == air.DENSITY

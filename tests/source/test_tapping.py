"""Tapping machine and the blow behind it, against Hopkins (2007) and ISO 12354-2."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from impact.base import bands
from impact.source import blow, tapping

CONCRETE_SPEED = 3800.0  # m/s; Hopkins (2007) Table A2, with 2200 kg/m3 and nu 0.2


def test_hammer_speed_and_force_density():
    """Hopkins (2007) p. 276: v0 = 0.886 m/s; 2 f_r (m v0)^2 = 3.92 N2/Hz at e = 0."""
    assert abs(tapping.SPEED - 0.886) < 0.001  # printed to three digits
    assert tapping.force_density(0.0) == pytest.approx(3.92, abs=0.02)


def test_full_rebound_is_6_db_above_none():
    """(1+e)^2 goes from 1 to 4: 6.02 dB."""
    ratio = tapping.force_density(1.0) / tapping.force_density(0.0)
    assert 10 * math.log10(ratio) == pytest.approx(6.02, abs=0.005)


def test_rebound_outside_its_range_is_refused():
    with pytest.raises(ValueError, match=r"1\.2 must lie between 0 and 1"):
        tapping.force_density(1.2)


def test_cutoff_of_a_bare_slab():
    """Hopkins (2007) p. 514: 140 mm concrete, 308 kg/m2, about 7000 Hz (exact 6947)."""
    modulus = 2200 * CONCRETE_SPEED**2 * (1 - 0.2**2)  # plate wave speed is the one tabulated
    stiffness = tapping.contact_stiffness(modulus, 0.2)
    assert blow.cutoff(tapping.MASS, stiffness) == pytest.approx(7000, rel=0.01)


@pytest.mark.parametrize(("per_area", "printed"), [(1.5e11, 2300), (2.8e8, 100)])
def test_cutoff_of_coverings(per_area, printed):
    """Hopkins (2007) ch. 3.6, r = 15 mm: 2300 and 100 Hz, printed to two digits: 1 %."""
    cutoff = blow.cutoff(tapping.MASS, tapping.covering_stiffness(per_area))
    assert cutoff == pytest.approx(printed, rel=0.01)


@pytest.mark.parametrize(
    ("stiffness", "printed", "tolerance"), [(3.2e5, 130, 0.03), (5.2e6, 510, 0.01)]
)
def test_hammer_on_a_covering_resonates(stiffness, printed, tolerance):
    """Vigran, Building Acoustics (2008) pp. 320-321, read off to two digits."""
    assert blow.cutoff(tapping.MASS, stiffness) == pytest.approx(printed, rel=tolerance)


# ISO 12354-2:2017 Annex G: 220 mm concrete, 484 kg/m2: band, Ln in situ, total loss factor,
# radiation factor of free waves
ANNEX_G = [
    (50, 57.3, 0.0831, 0.7209), (100, 60.2, 0.0602, 1.0196), (200, 62.5, 0.0438, 1.2742),
    (400, 63.3, 0.0319, 1.1125), (800, 64.3, 0.0239, 1.0518), (1600, 65.4, 0.0183, 1.0249),
    (3150, 66.3, 0.0144, 1.0124), (5000, 67.0, 0.0124, 1.0078),
]  # fmt: skip


@pytest.mark.parametrize(("band", "level", "loss", "radiation"), ANNEX_G)
def test_force_without_rebound_gives_the_155_db_formula(band, level, loss, radiation):
    """Ln = 155 - 30 lg m' + 10 lg Ts + 10 lg sigma + 10 lg(f/1000), ISO 12354-2 Annex G.

    Worked from power balance with our force: W = rho c S sigma <v2>, <v2> = F2 Y/(w eta m S),
    Y = 1/(8 sqrt(B m)), concrete of 2300 kg/m3 and 3500 m/s (its Table B.1), m = 484 kg/m2. The
    printed levels are rounded to 0.1 dB and 155 is itself a round number: 0.1 dB.
    """
    mass, density, speed = 484.0, 2300.0, 3500.0
    stiffness = density * speed**2 * (mass / density) ** 3 / 12
    mobility = 1 / (8 * math.sqrt(stiffness * mass))
    force = tapping.force_density() * float(blow.bandwidth(band))
    power = 1.204 * 343.2 * radiation * force * mobility / (2 * math.pi * band * loss * mass)
    ln = 10 * math.log10(4 * 1.204 * 343.2 * power / (10 * (20e-6) ** 2))
    assert ln == pytest.approx(level, abs=0.1)


@pytest.mark.parametrize(
    ("density", "speed", "mass", "drop"),
    [(2300, 3500, 268, 78 - 76), (1300, 1700, 390, 70 - 64)],
)
def test_cutoff_of_the_4_khz_octave(density, speed, mass, drop):
    """ISO 12354-2:2017 Tables B.1, B.2: Ln at 4 kHz below its plateau by 2 and 6 dB.

    The table is in whole decibels, octaves, and its contact model is not stated: 1.5 dB.
    """
    stiffness = tapping.contact_stiffness(density * speed**2 * 0.96, 0.2)
    bending = density * speed**2 * (mass / density) ** 3 / 12
    impedance = 8 * math.sqrt(bending * mass)
    thirds = 1000 * bands.G ** (np.array([5, 6, 7]) / 3)
    ratio = np.mean(tapping.transfer_square(thirds, stiffness, impedance))
    assert -10 * math.log10(ratio) == pytest.approx(drop, abs=1.5)


def improvement(centres, covering, loss_factor=0.0):
    """Delta L [dB] of a covering of this stiffness [N/m] on a rigid floor: bare over covered."""
    return -10 * np.log10(tapping.transfer_square(centres, covering, loss_factor=loss_factor))


def test_covering_climbs_as_40_lg():
    """ISO 12354-2 Annex C: Delta L = 40 lg(f/f0). Exact far above f0 for a critically damped one;

    a lossless one lies 3 dB above: its cut-off pulse has mean square (1 + e^2)/(1 + e)^2 = 1/2.
    """
    stiffness = tapping.covering_stiffness(2.8e8)
    high = np.array([2000.0, 4000.0])
    line = 40 * np.log10(high / 100.13)
    damped = improvement(high, stiffness, loss_factor=2.0)
    lossless = improvement(high, stiffness)
    assert damped == pytest.approx(line, abs=0.1)
    assert lossless == pytest.approx(line + 3.01, abs=0.6)  # what is left of the lobes in a band
    assert abs(improvement(10.0, stiffness)) < 0.2  # nothing far below f0


def test_undamped_blow_is_the_half_sine_of_handbooks():
    """Mass on a spring: F = v0 sqrt(K m) sin(w0 t) until lift-off; |F| = 2 m v0 |cos|/(1-x2)."""
    hit = blow.Blow(0.5, 0.886, 3e6, rebound=1.0)
    natural = math.sqrt(3e6 / 0.5)
    times = np.linspace(0, math.pi / natural * 0.999, 50)
    expected = 0.886 * math.sqrt(3e6 * 0.5) * np.sin(natural * times)
    assert blow.history(hit, times) == pytest.approx(expected, abs=1e-2)  # of 1085 N
    x = np.array([0.1, 0.5, 2.0, 2.5])
    half_sine = 2 * 0.5 * 0.886 * np.abs(np.cos(math.pi * x / 2) / (1 - x**2))
    found = np.abs(blow.spectrum(hit, x * natural / (2 * math.pi)))
    assert found == pytest.approx(half_sine, rel=1e-4)


def test_soft_floor_takes_the_speed_of_a_sticking_mass():
    """K to infinity on a resistive floor: F = m v0/(1 + i w m/Z) (Cremer, Heckl & Petersson)."""
    frequency = np.array([10.0, 100.0, 1000.0])
    exact = 1 / np.abs(1 + 2j * np.pi * frequency * 0.5 / 200.0)
    stiff = np.abs(blow.transfer(frequency, 0.5, 1e9, 200.0))
    assert stiff == pytest.approx(exact, rel=2e-3)
    assert np.abs(blow.transfer(frequency, 0.5, math.inf, 200.0)) == pytest.approx(exact, rel=1e-9)


@given(
    ratio=st.floats(0.05, 5.0), rebound=st.floats(0, 1), frequency=st.floats(0, 3), k=st.just(3e6)
)
def test_time_and_frequency_agree(ratio, rebound, frequency, k):
    """The closed spectrum is the transform of the closed history on both sides of zeta = 1."""
    mass = 0.5
    natural = math.sqrt(k / mass)
    hit = blow.Blow(mass, 0.886, k, math.sqrt(k * mass) / (2 * ratio), rebound)
    times = np.linspace(0, blow.duration(hit), 20001)
    wave = np.exp(-1j * frequency * natural * times)
    numeric = np.trapezoid(blow.history(hit, times) * wave, times)
    closed = blow.spectrum(hit, frequency * natural / (2 * math.pi))
    assert abs(numeric - closed) < 2e-3 * hit.impulse  # step of the quadrature at zeta 5


def test_cutoff_is_continuous_at_critical_damping():
    """K = 4 Z2/m: both of Hopkins' expressions give sqrt(K/m)/2pi there."""
    k, m = 3e6, 0.5
    critical = math.sqrt(k * m) / 2
    above, below = blow.cutoff(m, k, critical * 1.0001), blow.cutoff(m, k, critical * 0.9999)
    assert above == pytest.approx(below, rel=0.03)  # leaves as a square root: sqrt(2e-4) = 1.4 %
    assert blow.cutoff(m, k, critical / 10) < above / 10

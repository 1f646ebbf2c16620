"""Radiation factors: two published formulas against each other, and closed limits."""

import numpy as np
import pytest

from impact.energy import radiating


def test_two_publications_agree_below_coincidence():
    """ISO 12354-1 eq. B.3 (edge term, above fc/2 where its corner term ends) and Leppington's
    formula are the same edge radiation, written in lambda and in mu: equal to rounding where
    uncapped."""
    f = np.array([600.0, 700.0, 800.0])
    ours = radiating.free_waves(f, 1000, 3, 4, speed=340)
    standard = radiating.homogeneous(f, 1000, 3, 4)
    assert ours == pytest.approx(standard, rel=1e-6)


def test_far_above_coincidence_all_radiate_fully():
    """sigma = 1/sqrt(1 - fc/f): 1.0541 at 10 fc."""
    for value in (
        radiating.free_waves(np.array([10_000.0]), 1000, 3, 4)[0],
        radiating.homogeneous(np.array([10_000.0]), 1000, 3, 4)[0],
    ):
        assert value == pytest.approx(1.0541, abs=1e-3)


def test_orthotropic_with_equal_stiffness_is_the_isotropic_plate():
    """Away from coincidence the mean over the band changes little: 5 %."""
    f = np.array([100.0, 250, 4000])
    fc = radiating.critical(500.0, 10.0)
    both = radiating.orthotropic(f, (500.0, 500.0, 500.0), 10.0, 3, 4)
    assert both == pytest.approx(radiating.free_waves(f, fc, 3, 4), rel=0.05)


@pytest.mark.parametrize("held", [True, False])
def test_about_coincidence_a_third_octave_is_its_mean(held):
    """Of 2000 frequencies across it, wherever coincidence lies in it (12.5 mm gypsum boards have
    theirs at 2.5 to 3 kHz): within 0.1 dB; the answer does not jump where it passes a place."""
    f = np.array([1995.26, 2511.89, 3162.28])
    inside = f * 10 ** (0.1 * ((np.arange(2000) + 0.5) / 2000 - 0.5))[:, None]
    for fc in np.linspace(2000, 3200, 25):
        bending = (radiating.air.SPEED**2 / (2 * np.pi * fc)) ** 2 * 10.0  # of 10 kg/m2
        sigma = radiating.free_waves(inside, fc, 3, 4)
        if not held:
            sigma = sigma * radiating.at_free_edge(inside / fc)
        found = radiating.orthotropic(f, (bending,) * 3, 10.0, 3, 4, held)
        assert found == pytest.approx(sigma.mean(axis=0), rel=0.023)


def test_mean_stiffness_of_an_orthotropic_plate():
    """Mean of 1/sqrt(B) over directions: 1/(Bx By)^(1/4) where the twist is the geometric mean
    (integral of 1/(a cos² + b sin²)); without any, Bx = By: 2/pi K(m = 1/2) = 1.18034 of it
    (complete elliptic integral 1.85407; Abramowitz, Stegun, Handbook of Mathematical Functions,
    table 17.1). 1e-4: twelve directions."""
    assert radiating.mean_bending((900.0, 100.0, 300.0)) == pytest.approx(300.0, rel=1e-4)
    assert radiating.mean_bending((500.0, 500.0, 0.0)) == pytest.approx(
        500.0 / (2 / np.pi * 1.85407) ** 2, rel=1e-4
    )


def test_sound_of_a_free_edge():
    """As much as that of a support at coincidence, 3/4 (f/fc)² of it far below: q^4 has a mean of
    3/8 k0^4 over q = k0 cos(theta). In between against the waves themselves, summed over 300 wave
    lengths that die out slowly. 2 %: what is cut off, and that they die out."""
    assert radiating.at_free_edge(np.array([1.0, 3.0])) == pytest.approx(1.0, abs=0.01)
    small = radiating.at_free_edge(np.array([1e-3]))[0]
    assert small == pytest.approx(0.75e-6, rel=0.01)
    k, step, die = 2 * np.pi, 1 / 200, 0.02
    x = (np.arange(300 * 200) + 0.5) * step
    waves = (np.sin(k * x), np.cos(k * x + np.pi / 4) + np.exp(-k * x) / np.sqrt(2))
    theta = np.pi / 2 * (np.arange(8) + 0.5) / 8
    power = [
        np.mean([abs(np.sum(w * np.exp(-(die + 1j * np.sqrt(0.4) * k * np.cos(t)) * x)) * step) ** 2
                 for t in theta]) for w in waves
    ]  # fmt: skip
    assert radiating.at_free_edge(np.array([0.4]))[0] == pytest.approx(
        power[1] / power[0], rel=0.02
    )


def test_more_edge_radiates_more_below_coincidence():
    """Bays of 0.4 m against the whole: in proportion to edge per area (Maidanik 1962)."""
    f = np.array([200.0])
    bay, whole = (radiating.free_waves(f, 2500, side, 4)[0] for side in (0.4, 4.0))
    assert bay / whole == pytest.approx((0.4 + 4) / 0.4 / 4 / ((4 + 4) / 16), rel=1e-6)


def test_near_field_of_a_point_force():
    """rho F^2/(2 pi c m''^2) with 10 kg/m2 by hand: 1.204/(6.2832 343.2 100) = 5.584e-6 W/N2."""
    got = radiating.near_field(np.array([100.0, 5000.0]), 10.0, 2500)
    assert got == pytest.approx([5.584e-6, 0.0], rel=1e-3)


def test_gypsum_critical_frequency():
    """h fc = 35.8 m Hz for board of 680 kg/m3, 2.03 GPa, nu 0.3 (Hopkins 2007 Table A2, c0 343)."""
    bending = 2.03e9 * 0.0125**3 / 12 / (1 - 0.09)
    fc = radiating.critical(bending, 680 * 0.0125, 343)
    assert fc * 0.0125 == pytest.approx(35.8, rel=0.01)

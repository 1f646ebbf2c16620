"""Mobilities against closed forms and worked figures."""

from dataclasses import replace

import numpy as np
import pytest
from designs import joists

from impact.energy import mobility
from impact.link import springs


def test_plate_by_hand():
    """100 mm concrete, 220 kg/m2, B = 2.5e6 N m: 8 sqrt(5.5e8) = 187 617 N s/m."""
    assert 1 / mobility.plate(2.5e6, 220) == pytest.approx(187_617, rel=1e-4)
    assert mobility.orthotropic_plate(2.5e6, 2.5e6, 220) == mobility.plate(2.5e6, 220)


def test_plate_is_its_modal_density_over_mass():
    """Re Y = (pi/2) n/M with n(omega) = S/(4 pi) sqrt(m/B): Skudrzyk 1980."""
    area, mass, bending = 12.0, 20.0, 3000.0
    density = area / 4 / np.pi * np.sqrt(mass / bending)
    assert mobility.plate(bending, mass) == pytest.approx(np.pi / 2 * density / (mass * area))


def test_beam_real_part_is_its_modal_density_over_mass():
    """Same law for a beam: n(omega) = L/(pi c_g), c_g = 2 c_B."""
    omega = np.array([500.0, 3000.0])
    bending, mass, length = 5e5, 6.0, 4.0
    speed = omega / mobility.beam_wavenumber(bending, mass, omega)
    assert speed == pytest.approx((bending * omega**2 / mass) ** 0.25)
    expected = np.pi / 2 * length / (np.pi * 2 * speed) / (mass * length)
    assert mobility.beam(bending, mass, omega).real == pytest.approx(expected)


def test_plate_on_mat_limits():
    """Below f0 a spring of 8 sqrt(B s) at the point (plate on an elastic foundation, Hetenyi/Hertz:
    w = F/(8 sqrt(k D))); far above the free plate."""
    bending, mass, stiffness = 5e4, 70.0, 8e6
    low = mobility.plate_on_mat(bending, mass, stiffness, np.array([1.0]))[0]
    assert abs(low) == pytest.approx(1.0 / (8 * np.sqrt(bending * stiffness)), rel=1e-4)
    high = mobility.plate_on_mat(bending, mass, stiffness, np.array([1e5]))[0]
    assert high.real == pytest.approx(mobility.plate(bending, mass), rel=1e-3)
    lossy = mobility.plate_on_mat(bending, mass, stiffness * (1 + 0.2j), np.geomspace(10, 1e4, 50))
    assert np.all(lossy.real > 0)


def test_two_plates_with_a_mat_between_by_quadrature():
    """The same integral over wavenumbers by steps: 38 mm of gypsum on rubber on timber, about the
    resonance of the mat (190 Hz)."""
    upper, lower = 55e3 * (1 + 0.015j), 6e5 * (1 + 0.03j)
    masses, spring = (70.0, 47.0), 40e6 * (1 + 0.15j)
    k = np.linspace(0, 60, 600_001)[1:]
    for f in (100.0, 190.0, 400.0):
        w = 2 * np.pi * f
        t = upper * k**4 + spring - masses[0] * w**2
        d = lower * k**4 + spring - masses[1] * w**2
        part = k * (k[1] - k[0]) / (2 * np.pi)
        top = 1j * w * np.sum(part / (t - spring**2 / d))
        below = np.sum(part * np.abs(w * spring / (t * d - spring**2)) ** 2)
        got = mobility.plates_on_mat(
            (upper, lower), masses, (spring, spring), np.array([w])
        )  # fmt: skip
        assert got[0][0].real == pytest.approx(top.real, rel=2e-3)
        assert got[1][0] == pytest.approx(below, rel=2e-3)


def test_two_plates_limits():
    """A base that stays; no mat to speak of; a mat so stiff that both bend as one."""
    omega = np.array([900.0])
    (b1, b2), masses, spring = (5e4 * (1 + 0.01j), 6e5 * (1 + 0.01j)), (70.0, 50.0), 8e6 + 1e6j
    still = mobility.plates_on_mat((b1, b2 * 1e6), (70.0, 5e7), (spring, spring), omega)[0]
    assert still[0] == pytest.approx(mobility.plate_on_mat(b1, 70.0, spring, omega)[0], rel=1e-3)
    soft = mobility.plates_on_mat((b1, b2), masses, (1.0, 1.0), omega)[0]
    assert soft[0].real == pytest.approx(mobility.plate(5e4, 70.0), rel=1e-3)
    one = mobility.plates_on_mat((b1, b2), masses, (1e13, 1e13), omega)[0]
    assert one[0].real == pytest.approx(mobility.plate(6.5e5, 120.0), rel=1e-2)


def test_joist_floor_goes_from_plate_to_beam_to_bay():
    """Low: at least as stiff as the smeared plate and no bay alone; high: few places feel the
    joists."""
    omega = 2 * np.pi * np.array([10.0, 5000.0])
    bay, smeared = mobility.plate(3000, 15), mobility.orthotropic_plate(1.2e6, 3000, 27)
    wavenumber = (omega**2 * 15 / 3000) ** 0.25
    on, share = mobility.ribbed_floor(
        bay, mobility.beam(5e5, 10.0, omega), 0.4, wavenumber, np.full(2, smeared)
    )
    assert share[0] == 1
    assert share[1] < 0.1
    assert np.all(np.abs(on) <= smeared)


def test_a_joist_gives_way_across_its_grain():
    """38 x 235 mm, G 600 MPa: E90 = 16/30 G = 320 MPa (EN 338 C24: 370 MPa); 2 E90 b/d = 103.5
    MN/m2."""
    assert springs.face(joists()) == pytest.approx(103.5e6, rel=1e-3)


def test_a_steel_flange_is_softer_by_far():
    """1.6 mm, 50 mm flange, 203 mm web by hand: B = 208e9 0.0016^3/12/0.91 = 78.0 N m;
    a^3/3 + a^2 d/4 = 5.21e-6 + 31.7e-6 = 36.9e-6 m3; 2.11 MN/m2."""
    steel = replace(joists(), kind="steel", width=0.05, depth=0.203,
                    shear_stiffness=80e9 * 0.203 * 0.0016)  # fmt: skip
    assert springs.face(steel) == pytest.approx(2.11e6, rel=0.01)

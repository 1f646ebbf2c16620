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

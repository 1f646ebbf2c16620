"""Hollow slabs: stiffness that round cores leave, against frames by hand and finite elements."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from impact.design import hollow
from validation.finite_elements import section

E, NU, DEPTH = 30.5e9, 0.2, 0.2
G = E / 2 / (1 + NU)
SOLID = 5 / 6 * G * DEPTH  # N/m, Timoshenko
CORE = 0.75 * DEPTH


def pitch(share):
    """Of round cores of 150 mm in 200 mm."""
    return math.pi * CORE**2 / 4 / DEPTH / share


@pytest.mark.parametrize("share", [0.1, 0.2, 0.35, 0.5])
def test_across_the_cores_beside_finite_elements(share):
    """Plane elements of one cell: D within 2 %, S within 4 %, as the docstrings say."""
    bends, gives = section.cell((pitch(share), DEPTH, CORE), (E, NU, 2300.0))
    full = E * DEPTH**3 / 12 / (1 - NU**2)
    assert hollow.left_across(share) == pytest.approx(bends / full, rel=0.02)
    assert hollow.shear_across(share, DEPTH, G, NU) == pytest.approx(gives, rel=0.04)


@pytest.mark.parametrize("share", [0.2, 0.35, 0.5])
def test_across_the_cores_as_a_frame_without_diagonals(share):
    """Vierendeel: a flange carries Q/2 from the middle of a core, where it does not bend, a web Q
    p/h_c from its middle. Energies of bending, M²/(2 D), and of shear, 6/5 V²/(2 G t), with the
    thickness that each member has; the solid between cores shears as half depths. 10 %: joints."""
    p, r, plane = pitch(share), CORE / 2, E / (1 - NU**2)
    u = (np.arange(2000) + 0.5) / 2000 * np.pi / 2
    x, step = r * np.sin(u), r * np.cos(u) * np.pi / 4000
    flange, web, arm = DEPTH / 2 - r * np.cos(u), p - 2 * r * np.cos(u), (DEPTH + CORE) / 2
    parts = [
        np.sum(12 * x**2 / (plane * flange**3) * step),
        np.sum(1.2 / (G * flange) * step),
        1.2 / (G * DEPTH / 2) * (p / 2 - r),
        2 * np.sum((p / arm * x) ** 2 * 12 / (plane * web**3) * step),
        2 * np.sum((p / arm) ** 2 * 1.2 / (G * web) * step),
    ]
    assert hollow.shear_across(share, DEPTH, G, NU) == pytest.approx(p / sum(parts), rel=0.10)


def test_along_the_cores():
    """Shear stresses V Q/(I b) of a beam (Timoshenko), Q of the whole section less the cores: I =
    h³/12 - pi d⁴/64/p, and of a core's part above z 2/3 (r² - z²)^(3/2). Nothing void: 5/6 G h."""
    assert hollow.shear_along(0.0, DEPTH, G) == pytest.approx(SOLID, rel=1e-4)
    p, r = pitch(0.4), CORE / 2
    inertia = DEPTH**3 / 12 - math.pi * CORE**4 / 64 / p

    def energy(z):
        half = math.sqrt(max(r**2 - z**2, 0.0))
        static = (DEPTH**2 / 4 - z**2) / 2 - 2 / 3 * half**3 / p
        return static**2 / (1 - 2 * half / p)

    whole = 2 * quad(energy, 0, DEPTH / 2, points=[r])[0] / G
    assert hollow.shear_along(0.4, DEPTH, G) == pytest.approx(inertia**2 / whole, rel=1e-3)


def test_voids_that_shrink_to_nothing_leave_the_solid_slab():
    for share, near in ((0.0, 1e-6), (1e-4, 0.003), (0.01, 0.25)):
        assert hollow.shear_across(share, DEPTH, G, NU) == pytest.approx(SOLID, rel=near)
        assert hollow.left_across(share) == pytest.approx(1.0, abs=1.4 * share + 1e-9)
        assert hollow.left_along(share) == pytest.approx(1.0, abs=share + 1e-9)

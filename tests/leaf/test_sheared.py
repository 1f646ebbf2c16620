"""Plates that give in shear, against textbooks' beams and plates and integrals worked out here."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest
from numpy.polynomial import legendre
from scipy.linalg import eigh

from impact.base import sections
from impact.energy import paths
from impact.leaf import sheared
from impact.leaf.plate import Plate, modes
from impact.spread.shift import Frame

PANEL = (0.030, 0.020, 0.040, 0.020, 0.030)  # m, lamellae of 140 mm
ALONG = (11e9, 0.37e9, 11e9, 0.37e9, 11e9)
SHEAR = (650e6, 65e6, 650e6, 65e6, 650e6)


def test_shear_stiffness_of_sections():
    """One layer: 5/6 G h (Timoshenko). Sandwich of faces that do not shear: G d²/c, d between the
    faces' middles (H. G. Allen, Analysis and Design of Structural Sandwich Panels, 1969)."""
    one = sections.shear_stiffness((0.1,), (11e9,), (650e6,))
    assert one == pytest.approx(5 / 6 * 650e6 * 0.1)
    sandwich = sections.shear_stiffness((0.005, 0.1, 0.005), (10e9, 1e3, 10e9), (1e15, 50e6, 1e15))
    assert sandwich == pytest.approx(50e6 * 0.105**2 / 0.1, rel=0.01)  # the faces' own B is 0.1 %


def test_shear_stiffness_of_a_cross_laminated_panel():
    """By hand: B = 2.118 MN m; B²/S is Q²/G over the depth: two rolling layers with Q from 18.15 to
    18.37 MN 2.05e5, the outer ones 0.116e5, the middle one with Q to 20.6 MN 0.244e5: 18.6 MN/m."""
    assert sections.shear_stiffness(PANEL, ALONG, SHEAR) == pytest.approx(18.6e6, rel=0.005)


@pytest.mark.parametrize("frequency", [50.0, 250.0, 2000.0])
def test_mobility_of_an_endless_plate(frequency):
    """Re Y of the plate's equation in wavenumbers, 1/(2 pi) ∫ i omega k dk/(D (1 + i eta) k⁴/(1 +
    x) - m omega²), by summing it at a small loss, beside 1/(8 sqrt(D' m)) of its own D' and
    `slower`; 1 % for a loss of 0.003."""
    bending, mass, shear, loss = 1e6, 66.0, 10e6, 0.003
    omega = 2 * np.pi * frequency
    x = sheared.give(bending, mass, shear, omega)
    softer = bending / (1 + x)
    wave = (mass * omega**2 / softer) ** 0.25
    # x of the free wave: D' k⁴ = m omega² and x = D k²/S
    assert x == pytest.approx(bending * wave**2 / shear, rel=1e-9)
    k = wave * np.geomspace(1e-3, 200, 400_001)
    stiff = bending * (1 + 1j * loss) * k**4 / (1 + bending * k**2 / shear)
    integrand = 1j * omega * k / (stiff - mass * omega**2) / (2 * np.pi)
    summed = np.trapezoid(integrand, k).real
    found = sheared.slower(x) / (8 * np.sqrt(softer * mass))
    assert found == pytest.approx(summed, rel=0.01)


def test_frequencies_of_a_plate_that_gives_in_shear():
    """Four simple edges: omega² m = sum of D k²/(1/k² + D/S), each way, as for Timoshenko's beams;
    two edges: the beam itself, f1/sqrt(1 + pi² D/(L² S))."""
    dx, dy, sx, sy, mass = 2.1e6, 0.48e6, 18.6e6, 6.8e6, 66.0
    plate = Plate("p", 4.0, 3.0, mass, dx, dy, 0.0, 0.0, 0.0, "supported", shear=(sx, sy))
    found = modes(plate, 250.0).omega
    m, n = np.meshgrid(np.arange(1, 9) * np.pi / 4, np.arange(1, 9) * np.pi / 3, indexing="ij")
    by_hand = np.sqrt(
        (dx * m**4 / (1 + dx * m**2 / sx) + dy * n**4 / (1 + dy * n**2 / sy)) / mass
    ).ravel()
    assert found[:12] == pytest.approx(np.sort(by_hand)[:12], rel=1e-6)
    strip = Plate("p", 4.0, 1.0, mass, dx, dy, 0.0, 0.0, 0.0, "two sides", shear=(sx, sy))
    first = np.pi / 2 / 16 * np.sqrt(dx / mass) / np.sqrt(1 + np.pi**2 * dx / 16 / sx)
    assert modes(strip, 60.0).omega[0] / 2 / np.pi == pytest.approx(first, rel=1e-4)


def test_a_wave_across_the_diagonal_gives_by_its_whole_wavenumber():
    """Four simple edges, one stiffness each way: m omega² = D K/(1 + D K/S) K, K = k² + q² (Mindlin
    1951 without rotary inertia: the shear of any plane wave is along its own direction)."""
    bent, shear, nu, mass = 9e6, 60e6, 0.2, 390.0
    plate = Plate("p", 4.0, 3.0, mass, bent, bent, nu * bent, (1 - nu) * bent / 2, 0.0,
                  "supported", shear=(shear, shear))  # fmt: skip
    k, q = np.meshgrid(np.arange(1, 9) * np.pi / 4, np.arange(1, 9) * np.pi / 3, indexing="ij")
    both = k**2 + q**2
    by_hand = np.sort(np.sqrt(bent * both**2 / (1 + bent * both / shear) / mass).ravel())
    assert modes(plate, 400.0).omega[:20] == pytest.approx(by_hand[:20], rel=1e-6)


@pytest.mark.parametrize("shear", [(6.0e6, 2.0e6), (np.inf, 2.0e6), (6.0e6, np.inf)])
def test_twist_and_poissons_ratio_in_a_panel_that_gives(shear):
    """Four simple edges, by hand: slopes A and B of a wave k, q from the least of Mindlin's energy,
    [[Dx k² + T q² + Sx, (Dnu + T) k q], [.., Dy q² + T k² + Sy]] (A, B) = (Sx k, Sy q), m omega² =
    Sx k (k - A) + Sy q (q - B), T = D66 (1e13 N/m where there is no end); and a panel turned by 90°
    is the same panel."""
    dx, dy, nu, twist, mass = 2.1e6, 0.48e6, 0.1e6, 0.15e6, 66.0
    plate = Plate("p", 4.0, 3.0, mass, dx, dy, nu, twist, 0.0, "supported", shear=shear)
    turned = Plate("p", 3.0, 4.0, mass, dy, dx, nu, twist, 0.0, "supported", shear=shear[::-1])
    sx, sy = np.minimum(shear, 1e13)
    squares = []
    for k in np.arange(1, 9) * np.pi / 4:
        for q in np.arange(1, 9) * np.pi / 3:
            inner = [[dx * k**2 + twist * q**2 + sx, (nu + twist) * k * q],
                     [(nu + twist) * k * q, dy * q**2 + twist * k**2 + sy]]  # fmt: skip
            a, b = np.linalg.solve(inner, [sx * k, sy * q])
            squares.append((sx * k * (k - a) + sy * q * (q - b)) / mass)
    by_hand = np.sqrt(np.sort(squares))[:12]
    assert modes(plate, 250.0).omega[:12] == pytest.approx(by_hand, rel=1e-4)
    assert modes(turned, 250.0).omega[:12] == pytest.approx(by_hand, rel=1e-4)


def test_a_bare_panel_is_driven_as_its_waves_are():
    """140 mm of cross-laminated timber at 1 kHz: by the closed form of the infinite plate each way,
    their geometric mean, its mobility is some 9 times that of the thin plate, which was taken.
    Twist, which shear does not touch, is left out of the hand's value: 15 %. Bands one by one or
    together are the same."""
    base = designs.on_slab()
    bent, shear, mass = (2.118e6, 0.481e6), (18.6e6, 6.83e6), 66.0
    slab = replace(
        base.floor.slab, kind="cross-laminated", mass_per_area=mass, shear=shear,
        bending_stiffness_along=bent[0], bending_stiffness_across=bent[1],
        twisting_stiffness=0.1e6, poisson=0.1,
    )  # fmt: skip
    design = replace(base, floor=replace(base.floor, slab=slab))
    f = [250.0, 1000.0]
    both, one = paths.transfer(design, f, False), paths.transfer(design, f[1:], False)
    assert both.power_per_force[1] == pytest.approx(one.power_per_force[0])
    more = 1.0
    for d, s in zip(bent, shear, strict=True):
        a = 2000 * np.pi * np.sqrt(mass * d) / s
        x = a**2 / 2 + a * np.sqrt(1 + a**2 / 4)
        more *= np.sqrt(2 * a * (1 + x) ** 2 / (x * (2 + x)))
    by_hand = more / (8 * np.sqrt(np.sqrt(bent[0] * bent[1]) * mass))
    assert both.mobility[1].real == pytest.approx(by_hand, rel=0.15)
    assert more == pytest.approx(9, rel=0.1)


def test_thick_plates_of_the_standard():
    """ISO 12354-1:2017 Annex B, from memory: above coincidence a thick plate's critical frequency
    rises by 4.05 t f/c_L + sqrt(1 + (4.05 t f/c_L)²), as its bending stiffness falls by the square.
    That has rotary inertia as well, which makes it 1 + 5/6 (1 - nu)/2 of shear alone, nu = 0.3."""
    young, nu, density, depth = 30e9, 0.3, 2300.0, 0.2
    speed = np.sqrt(young / density / (1 - nu**2))
    bending, shear = young * depth**3 / 12 / (1 - nu**2), 5 / 6 * young / 2 / (1 + nu) * depth
    for f in (500.0, 2000.0):
        alone = 4.05 * depth * f / speed / (1 + 5 / 6 * (1 - nu) / 2)
        x = sheared.give(bending, density * depth, shear, 2 * np.pi * f)
        assert np.sqrt(1 + x) == pytest.approx(alone + np.sqrt(1 + alone**2), rel=0.01)


def mindlin(plate, waves=3, count=14):
    """Frequencies [Hz] of a plate of R. D. Mindlin (J. Appl. Mech. 18 (1951) 31) without rotary
    inertia, two edges simply supported and two free, rising: sines along the span, and for
    deflection and both slopes Legendre's polynomials across it. A theory of its own: its slopes are
    unknowns of any shape, where `leaf.sheared` takes those of the deflection's functions."""
    at, weight = legendre.leggauss(40)
    side = plate.width / 2
    shapes = legendre.legvander(at, count - 1).T
    slopes = legendre.legval(at, legendre.legder(np.eye(count))) / side
    same, turned, mixed = ((a * weight * side) @ b.T for a, b in (
        (shapes, shapes), (slopes, slopes), (slopes, shapes)))  # fmt: skip
    (sx, sy), twist = plate.shear, plate.twisting
    found = []
    for k in np.arange(1, waves + 1) * np.pi / plate.length:
        bent = sx * k * same, sy * mixed
        both = twist * k * mixed - plate.bending_nu * k * mixed.T
        inner = np.block([
            [(plate.bending_x * k**2 + sx) * same + twist * turned, both],
            [both.T, plate.bending_y * turned + (twist * k**2 + sy) * same],
        ])  # fmt: skip
        outer = np.hstack(bent)
        stiff = sx * k**2 * same + sy * turned - outer @ np.linalg.solve(inner, outer.T)
        found.append(eigh(stiff, plate.mass * same, eigvals_only=True))
    return np.sort(np.sqrt(np.concatenate(found))) / 2 / np.pi


def test_the_reference_is_leissa_s_where_shear_is_stiff():
    """A square with two simple and two free edges, nu = 0.3: omega a² sqrt(m/D) of A. W. Leissa,
    J. Sound Vib. 31 (1973) 257, from memory."""
    square = Plate("p", 1.0, 1.0, 1.0, 1.0, 1.0, 0.3, 0.35, 0.0, "two sides", shear=(1e9, 1e9))
    leissa = [9.631, 16.135, 36.726, 38.945, 46.738]
    assert 2 * np.pi * mindlin(square)[:5] == pytest.approx(leissa, rel=1e-3)


@pytest.mark.parametrize("sides", [
    (4.8, 3.6, 75.2, 3.358e6, 0.523e6, 0.1, 0.108e6, 13.0e6, 6.0e6),  # cross-laminated
    (4.1, 6.4, 335.0, 39.9e6, 33.1e6, 0.2, 16.0e6, 990e6, 198e6),  # concrete with round cores
])  # fmt: skip
def test_a_slab_on_two_sides_keeps_its_frequencies_as_functions_are_added(sides):
    """Beside Mindlin's plate, whose slopes are here polynomials of their own: the lowest ten to
    0.5 %; and as many more functions are taken they stay."""
    length, width, mass, dx, dy, poisson, twist, *shear = sides
    plate = Plate("p", length, width, mass, dx, dy, poisson * np.sqrt(dx * dy), twist, 0.0,
                  "two sides", shear=tuple(shear))  # fmt: skip
    few, many = (modes(plate, highest).omega[:10] / 2 / np.pi for highest in (120.0, 600.0))
    assert many == pytest.approx(few, rel=1e-3)
    assert many == pytest.approx(mindlin(plate)[:10], rel=5e-3)


@pytest.mark.parametrize(
    ("edges", "fixity"), [("supported", 0.0), ("two sides", 0.0), ("two sides", 0.5)]
)
def test_a_changed_panel_that_gives_is_the_panel_solved_anew(edges, fixity):
    """Rayleigh: all modes of a panel as functions of a panel of another stiffness and shear give
    its own frequencies, as a solution of its own does (`leaf.plate.modes`)."""
    dx, dy, nu, twist, mass = 2.1e6, 0.48e6, 0.1e6, 0.15e6, 66.0
    plate = Plate("p", 4.0, 3.0, mass, dx, dy, nu, twist, 0.0, edges, fixity=fixity,
                  shear=(6.0e6, 2.0e6))  # fmt: skip
    other = replace(plate, bending_x=1.3 * dx, twisting=0.8 * twist, shear=(4.0e6, 3.0e6))
    leaf = modes(plate, 300.0)
    stiffness, _ = Frame(leaf, len(leaf.omega)).difference(other)
    squares = np.linalg.eigvalsh(np.diag(leaf.omega**2) + stiffness)[:12]
    assert np.sqrt(squares) == pytest.approx(modes(other, 300.0).omega[:12], rel=2e-3)
    alone = Frame(leaf, 40).diagonal(other)[0]
    assert alone == pytest.approx(np.diag(stiffness)[:40])

"""The finite-element reference against closed forms and handbook tables, coarse meshes only."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import eigh
from scipy.special import j1

pytest.importorskip("skfem")
from validation.finite_elements import bands
from validation.finite_elements.grid import Grid, Line, nodes_between
from validation.finite_elements.radiation import Radiator, gauss_cells
from validation.finite_elements.reference import (
    AreaSpring,
    Assembly,
    EdgeSpring,
    GasLayer,
    Leaf,
    Plate,
    PointSprings,
    Ribs,
    System,
    leaf_matrices,
    solve,
)

NU = 0.3
UNIT = Plate(1.0, 1.0, (1 - NU) / 2, NU, 1.0)  # isotropic, D = m'' = 1


def natural(leaf: Leaf, length: float, width: float, size: float, count: int) -> np.ndarray:
    """Lowest angular frequencies of one leaf."""
    assembly = Assembly("leaf", length, width, (leaf,))
    system = System(assembly, size)
    stiffness, mass = leaf_matrices(system.grid, leaf)
    keep = np.sort(system.order)
    values = eigh(
        stiffness[keep][:, keep].toarray(),
        mass[keep][:, keep].toarray(),
        eigvals_only=True,
        subset_by_index=(0, count - 1),
    )
    return np.sqrt(np.maximum(values, 0))


def test_simply_supported_square() -> None:
    # Closed form pi^2 (m^2 + n^2): 19.739, 49.348, 49.348, 78.957 (Leissa, Vibration of Plates,
    # NASA SP-160, 1969). Cubic elements a quarter wide err by about (k h)^4 / 720 of the square.
    got = natural(Leaf("", UNIT, (), 0, "simply supported"), 1, 1, 0.125, 4)
    assert got == pytest.approx(np.pi**2 * np.array([2, 5, 5, 8]), rel=5e-4)


def test_free_square() -> None:
    # Free plate, Poisson 0.3: 13.468, 19.596, 24.270, 34.801 twice (Leissa, Journal of Sound and
    # Vibration 31 (1973) 257-293, as refined by later series solutions; printed to 5 digits).
    # Three rigid motions first, at zero up to rounding of the square root.
    got = natural(Leaf("", UNIT, (), 0, "free"), 1, 1, 0.125, 8)
    assert got[:3] == pytest.approx(np.zeros(3), abs=1e-2)
    assert got[3:] == pytest.approx([13.468, 19.596, 24.270, 34.801, 34.801], rel=3e-4)


def test_orthotropic_rectangle() -> None:
    # Simply supported, closed form: m'' w^2 = pi^4 [Dx (m/a)^4 + 2 H (m n / a b)^2 + Dy (n/b)^4],
    # H = nu sqrt(Dx Dy) + 2 D66 (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells,
    # ch. 11). Catches a wrong factor on any of the four stiffnesses.
    a, b = 1.0, 1.3
    plate = Plate(5.0, 2.0, 0.8, 0.25, 3.0)
    h = 0.25 * np.sqrt(10) + 2 * 0.8
    expected = [
        np.pi**2 * np.sqrt((5 * (m / a) ** 4 + 2 * h * (m * n / a / b) ** 2 + 2 * (n / b) ** 4) / 3)
        for m in (1, 2, 3)
        for n in (1, 2, 3, 4)
    ]
    got = natural(Leaf("", plate, (), 0, "simply supported"), a, b, 0.13, 4)
    assert got == pytest.approx(np.sort(expected)[:4], rel=1e-3)


@pytest.mark.parametrize("direction", ["x", "y"])
def test_single_rib_bends_and_twists(direction: str) -> None:
    # A stiff rib on a film: bending (pi/L)^2 sqrt(EI/mu), Euler-Bernoulli beam on hinges; twisting
    # (pi/L) sqrt(GJ/Jr), bar held at both ends (Rao, Mechanical Vibrations, ch. 8). The film's
    # share is of the order 1e-6, so the mesh's own error rules the tolerance.
    length, across = 2.0, 1.0
    film = Plate(1e-6, 1e-6, 3.5e-7, NU, 1e-8)
    ribs = Ribs(direction, (0.5,), 7.0, 3.0, 2.0, 0.4)
    sides = (length, across) if direction == "x" else (across, length)
    system = System(
        Assembly("rib", *sides, (Leaf("", film, (ribs,), 0, "simply supported"),)), 0.25
    )
    stiffness, mass = leaf_matrices(system.grid, system.assembly.leaves[0])
    along = np.sin(np.pi * np.arange(9) / 8)
    slope = np.pi / length * np.cos(np.pi * np.arange(9) / 8)
    line = np.stack([along, slope], axis=1).ravel()
    for value, expected in (
        (np.ones(5), (np.pi / length) ** 2 * np.sqrt(7.0 / 2.0)),
        (np.linspace(-1, 1, 5), np.pi / length * np.sqrt(3.0 / 0.4)),
    ):
        nodal = np.stack([value, np.gradient(value, 0.25)], axis=1).ravel()
        shape = np.kron(line, nodal) if direction == "x" else np.kron(nodal, line)
        square = (shape @ stiffness @ shape) / (shape @ mass @ shape)
        assert np.sqrt(square) == pytest.approx(expected, rel=1e-3)


def test_error_falls_with_the_fourth_power() -> None:
    # Cubic elements for a fourth-order equation: eigenvalues converge as h^4 (Strang & Fix, An
    # Analysis of the Finite Element Method, ch. 6). Halving divides the error by 16 once h is
    # small; the bounds leave room for the next order, h^6, and shut out h^3 and h^5.
    errors = [
        natural(Leaf("", UNIT, (), 0, "simply supported"), 1, 1, size, 1)[0] / (2 * np.pi**2) - 1
        for size in (0.25, 0.125)
    ]
    assert errors[1] > 0
    assert 13 < errors[0] / errors[1] < 19


STIFFNESS = 3.7e5  # N/m3, of a 0.3 m layer of bulk modulus 1.11e5 Pa
GAS = GasLayer(0, 1, 0.3, lambda _: 1.11e5 * (1 + 0.08j), 1.2 - 0.1j, lambda w: 1.2 - 50j / w)


@pytest.mark.parametrize(
    ("link", "bending"),
    [
        ({"areas": (AreaSpring(0, 1, STIFFNESS, 0.08),)}, 2e3),
        ({"gases": (GAS,)}, 2e3),
        ({"points": (PointSprings(0, 1, ((0.7, 0.6), (1.3, 0.6)), STIFFNESS * 1.2, 0.08),)}, 1e10),
    ],
    ids=["area", "gas", "points"],
)
def test_mass_spring_mass(link: dict, bending: float) -> None:
    # The area means of two free leaves move as two masses on a spring: resonance
    # sqrt(k (1/m1 + 1/m2)) / 2 pi, 26.1 Hz here (any text on vibration). Exact for area and gas,
    # whose mean equations hold neither bending nor cross motion: only rounding remains. Points
    # act where the leaves bend as well, so there they are made rigid (error as 1 / stiffness).
    floor, ceiling = (
        Leaf("", Plate(bending, bending, 0.35 * bending, NU, mass), (), 0.05, "free")
        for mass in (40, 21)
    )
    assembly = Assembly("two masses", 2.0, 1.2, (floor, ceiling), **link)
    frequencies = np.array([12.0, 26.1, 60.0])
    result = solve(assembly, frequencies, np.array([[1.0, 0.6]]), size=0.4, cell=0.5)
    omega = 2 * np.pi * frequencies
    k = STIFFNESS * (1 + 0.08j)
    upper, lower = k - 40 * omega**2, k - 21 * omega**2
    drive = 1j * omega / 2.4 / (upper * lower - k**2)  # 1 N spread over 2.4 m2
    assert result.mean_velocity[0, :, 0] == pytest.approx(drive * lower, rel=1e-4)
    assert result.mean_velocity[1, :, 0] == pytest.approx(drive * k, rel=1e-4)


@pytest.mark.parametrize("axis", ["x", "y"])
def test_gas_resonates_between_rigid_walls(axis: str) -> None:
    # cos(pi x / L) at c / 2 L with c = sqrt(K / rho) of that direction (Kinsler et al.,
    # Fundamentals of Acoustics, ch. 9): the layer's own row vanishes there. A sixteenth of a
    # wave per element leaves (k h)^4 / 720, about 1e-6; 10 % off resonance 0.17 is left.
    gas = replace(GAS, bulk=1.42e5, density_x=1.2, density_y=1.8)
    leaf = Leaf("", UNIT, (), 0.05, "free")
    system = System(Assembly("box", 2.0, 1.6, (leaf, leaf), gases=(gas,)), 0.25)
    line = getattr(system.grid, axis)
    extent, density = line.nodes[-1], {"x": 1.2, "y": 1.8}[axis]
    turn = np.pi * line.nodes / extent
    wave = np.stack([np.cos(turn), -np.pi / extent * np.sin(turn)], axis=1).ravel()
    other = getattr(system.grid, "y" if axis == "x" else "x")
    flat = np.tile([1.0, 0.0], len(other.nodes))
    shape = np.kron(wave, flat) if axis == "x" else np.kron(flat, wave)
    omega = np.pi / extent * np.sqrt(1.42e5 / density)
    size = 1.42e5 / 0.3 * (shape @ system.overlap @ shape)
    own = system.field(2)
    for factor, expected in ((1.0, 0.0), (1.1, -(1 - 1 / 1.21))):
        left = shape @ system.dynamic(factor * omega)[own, own] @ shape / size
        assert left == pytest.approx(expected, abs=1e-4)


def sine_series(a: float, b: float, plate: Plate, ribs: Ribs, count: int) -> np.ndarray:
    """Natural frequencies by `count` sines across the joists, half-wave by half-wave along them."""
    q = np.arange(1, count + 1) * np.pi / b
    value = np.sin(np.outer(ribs.positions, q))
    slope = q * np.cos(np.outer(ribs.positions, q))
    twist = 2 * plate.poisson * np.sqrt(plate.bending_x * plate.bending_y) + 4 * plate.twisting
    mass = b / 2 * plate.mass * np.eye(count)
    mass += ribs.mass * value.T @ value + ribs.rotary * slope.T @ slope
    found = []
    for p in np.pi / a * np.arange(1, 4):
        deck = plate.bending_x * p**4 + plate.bending_y * q**4 + twist * p**2 * q**2
        stiffness = np.diag(b / 2 * deck) + ribs.bending * p**4 * value.T @ value
        stiffness += ribs.torsion * p**2 * slope.T @ slope
        found.extend(eigh(stiffness, mass, eigvals_only=True, subset_by_index=(0, 5)))
    return np.sqrt(np.sort(found)[:6])


def test_deck_on_joists_against_sine_series() -> None:
    # Another method for the same energies: sine series (Ritz; Szilard, Theories and Applications
    # of Plate Analysis). A twisting joist makes the curvature across it jump, so the series errs
    # as 1 / count (0.3 % with 80 sines) and is extrapolated from two counts; that and the
    # mesh leave about 1e-4. Joists lie off centre, stiff and heavy enough to rule the modes.
    plate = Plate(3.0e3, 2.0e3, 900.0, 0.25, 16.0)
    ribs = Ribs("x", (0.4, 1.0), 2.0e5, 9.0e3, 6.0, 0.11)
    coarse, fine = (sine_series(2.0, 1.5, plate, ribs, count) for count in (100, 200))
    got = natural(Leaf("", plate, (ribs,), 0, "simply supported"), 2.0, 1.5, 0.1, 6)
    assert got == pytest.approx(2 * fine - coarse, rel=4e-4)


def test_gas_too_heavy_to_move_reacts_locally() -> None:
    # Limit: no sideways motion leaves p = K/d (w_upper - w_lower), an area spring, also where the
    # leaves bend. Only rounding and 1/rho remain.
    floor, ceiling = (
        Leaf("", Plate(2e3, 1e3, 500.0, NU, mass), (), 0.05, edges)
        for mass, edges in ((40, "simply supported"), (21, "free"))
    )
    gas = replace(GAS, density_x=1e8, density_y=1e8)
    link = {"gases": (gas,)}, {"areas": (AreaSpring(0, 1, STIFFNESS, 0.08),)}
    got, local = (
        solve(
            Assembly("", 2.0, 1.2, (floor, ceiling), **kind),
            np.array([30.0, 95.0]),
            np.array([[0.7, 0.5]]),
            size=0.25,
            cell=0.3,
        )
        for kind in link
    )
    assert got.mobility == pytest.approx(local.mobility, rel=1e-5)
    assert got.radiated_power == pytest.approx(local.radiated_power, rel=1e-4)


@pytest.mark.parametrize("sides", [("west", "east", "south", "north"), ("south", "north")])
def test_edge_spring_carries_a_rigid_leaf(sides: tuple[str, ...]) -> None:
    # A mass on the spring k' (1 + i eta) times the sprung length, here 6.4 or 4.0 m.
    leaf = Leaf("", Plate(1e9, 1e9, 3.5e8, NU, 20.0), (), 0.05, "free")
    edge = EdgeSpring(0, 2.7e5, 0.2, sides)
    assembly = Assembly("bead", 2.0, 1.2, (leaf,), edges=(edge,))
    frequencies = np.array([20.0, 31.0])
    result = solve(assembly, frequencies, np.array([[1.0, 0.6]]), size=0.4, cell=0.5)
    omega = 2 * np.pi * frequencies
    spring = 2.7e5 * (1 + 0.2j) * (6.4 if len(sides) == 4 else 4.0)
    expected = 1j * omega / (spring - omega**2 * 20.0 * 2.4)
    assert result.mean_velocity[0, :, 0] == pytest.approx(expected, rel=1e-4)
    assert result.mean_square_velocity[0, :, 0] == pytest.approx(np.abs(expected) ** 2, rel=1e-3)


def test_point_mobility_of_a_large_damped_plate() -> None:
    # Endless thin plate: Y = 1 / (8 sqrt(B m'')) (Cremer, Heckl, Petersson), complex with B. Loss
    # factor 0.4 leaves a wave 15 % after its way to an edge and back; mean over a third octave
    # and six positions lets these echoes cancel to a few per cent. The point's own dimple is
    # smaller than an element: about (k h)^2 / 16, 2 %, is missing from the imaginary part.
    plate = Plate(3000.0, 3000.0, 0.35 * 3000, NU, 20.0)
    assembly = Assembly("plate", 3.0, 2.4, (Leaf("", plate, (), 0.4, "simply supported"),))
    sources = np.array([[0.9, 0.8], [1.3, 1.2], [1.55, 0.95], [1.8, 1.45], [2.1, 1.6], [1.1, 1.5]])
    result = solve(assembly, bands.lines(4, 13, 13), sources, size=0.05, cell=0.5)
    endless = 1 / (8 * np.sqrt(3000 * (1 + 0.4j) * 20))
    assert result.mobility.mean() == pytest.approx(endless, rel=0.03)


def test_reciprocity() -> None:
    # Force and velocity may change places (Rayleigh): here across joists and an offset rib.
    ribs = Ribs("x", (0.5, 0.9), 2e4, 300.0, 4.0, 0.1)
    leaf = Leaf("", Plate(3e3, 2e3, 900.0, NU, 16.0), (ribs,), 0.05, "simply supported")
    system = System(Assembly("deck", 2.0, 1.4, (leaf,)), 0.2)
    positions = np.array([[0.4, 0.5], [1.3, 0.77]])
    answer = system.load(positions).T @ system.respond(2 * np.pi * 90, system.load(positions))
    assert answer[0, 1] == pytest.approx(answer[1, 0], rel=1e-9)


@pytest.mark.parametrize("ka", [0.3, 1.5, 4.0])
def test_circular_piston(ka: float) -> None:
    # Baffled piston: W = rho c S v^2 [1 - J1(2 k a) / (k a)], v rms (Kinsler et al., Fundamentals
    # of Acoustics, ch. 7). Gauss points in radius and 40 directions are exact to about 1e-4.
    radius = 0.7
    r, weight = gauss_cells(radius, radius, order=10)
    angle = 2 * np.pi * np.arange(40) / 40
    points = np.stack([np.outer(r, np.cos(angle)), np.outer(r, np.sin(angle))], -1).reshape(-1, 2)
    weights = np.repeat(weight * r, 40) * 2 * np.pi / 40
    power = Radiator(points, weights).power(ka / radius * 343.2, np.full((400, 1), 2e-3j))
    expected = 1.204 * 343.2 * np.pi * radius**2 * 4e-6 * (1 - j1(2 * ka) / ka)
    assert power[0] == pytest.approx(expected, rel=2e-3)


def test_first_plate_mode_radiates() -> None:
    # Wallace, J. Acoust. Soc. Am. 51 (1972) 946, odd-odd modes, k a and k b well below one (from
    # memory): 32 k^2 a b / pi^5 {1 - k^2 a b / 12 [(1 - 8/pi^2) a/b + (1 - 8/pi^2) b/a]}.
    # The next term of the series is of the order (k a)^4 / 100 of it, 1e-3 here.
    a, b, k = 1.0, 0.8, 0.5
    x, weight_x = gauss_cells(a, 0.25)
    y, weight_y = gauss_cells(b, 0.25)
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    velocity = np.sin(np.pi * points[:, :1] / a) * np.sin(np.pi * points[:, 1:] / b)
    power = Radiator(points, np.kron(weight_x, weight_y)).power(k * 343.2, velocity)
    efficiency = power[0] / (1.204 * 343.2 * a * b / 4)
    correction = 1 - k**2 * a * b / 12 * (1 - 8 / np.pi**2) * (a / b + b / a)
    assert efficiency == pytest.approx(32 * k**2 * a * b / np.pi**5 * correction, rel=2e-3)


def test_grid_and_bands() -> None:
    # Nodes hit the ribs; the 100 Hz third octave runs from 89.1 to 112.2 Hz (IEC 61260-1:2014).
    nodes = nodes_between(2.0, [0.35, 1.5], 0.2)
    assert np.isin(np.round([0, 0.35, 1.5, 2.0], 9), np.round(nodes, 9)).all()
    assert np.diff(nodes).max() <= 0.2 + 1e-9
    lines = bands.lines(200, 10, 10)
    assert [lines[0], lines[-1]] == pytest.approx([89.1, 112.2], abs=0.1)
    cubic = Line(nodes)
    exact = np.stack([nodes**3, 3 * nodes**2], axis=1).ravel()
    at = np.array([0.0, 0.21, 1.5, 2.0])
    assert cubic.values(at) @ exact == pytest.approx(at**3, abs=1e-9)
    assert cubic.values(at, 1) @ exact == pytest.approx(3 * at**2, abs=1e-9)
    assert Grid(cubic, cubic).at(np.array([[0.21, 1.1]])) @ np.kron(exact, exact) == pytest.approx(
        0.21**3 * 1.1**3, abs=1e-9
    )

"""Modes of a rectangular orthotropic plate with ribs: decks on joists, slabs, boards on channels.

Ritz's method with products of the functions of `leaf.basis`; what these hold of energy stands in
`leaf.energies`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from impact.errors import Fault, InputError
from impact.leaf import basis as bases
from impact.leaf import energies, loss, pairs, sheared
from impact.leaf.generalized import generalized

# Products of shape functions that are solved at most: some 1 GB and minutes for one leaf.
PRODUCTS = 12_000
ELLIPSE = 1.05  # products of functions inside this ellipse of orders are kept for free plates
EDGES = ("supported", "two sides", "free")
EDGE_AT = 100.0  # Hz, where the loss factor of a slab in place is stated


@dataclass(frozen=True, eq=False)
class Ribs:
    """Equal beams bonded to the plate at `positions` [m] measured across them.

    bending : EI as a function of the squared wavenumber along the rib (M,) [1/m2] -> (M,) [N m2],
    so that shear flexibility and slip of the fasteners can be part of it.
    """

    positions: np.ndarray
    bending: Callable[[np.ndarray], np.ndarray]
    torsion: float  # GJ, N m2
    sideways: float  # EIz e², N m4
    mass: float  # kg/m
    rotary: float  # J, kg m


@dataclass(frozen=True, eq=False)
class Plate:
    """What `modes` needs: x runs along the joists. Lengths m, D N m, mass kg/m2."""

    name: str
    length: float
    width: float
    mass: float
    bending_x: float
    bending_y: float
    bending_nu: float  # coupling Dnu = nu sqrt(Dx Dy)
    twisting: float  # D66
    loss_factor: float
    edges: str  # "supported", "two sides" (supported at x = 0, L; free along them) or "free"
    fixity: float = 0.0  # of the ends x = 0, L; with `fixity_y` for the other two
    fixity_y: float = 0.0
    ribs_x: Ribs | None = None  # parallel to x
    ribs_y: Ribs | None = None  # parallel to y
    origin: tuple[float, float] = (0.0, 0.0)  # of the plate's corner in floor coordinates
    edge_loss: float = 0.0  # part of loss_factor that goes into walls: at EDGE_AT, as 1/sqrt(f)
    shear: tuple[float, float] = (np.inf, np.inf)  # S along x and y [N/m], `leaf.sheared`
    plate_loss: float | None = None  # of the plate without its ribs, where it is not loss_factor

    @property
    def stiffnesses(self) -> sheared.Stiffnesses:
        """Dx, Dy, Dnu, D66 of the plate without its ribs [N m]."""
        return self.bending_x, self.bending_y, self.bending_nu, self.twisting

    @property
    def whole_mass(self) -> float:
        """Mass per area with the ribs smeared over the plate [kg/m2]: that of the plate, and N m'/L
        for N ribs of mass m' per length over a side L."""
        ribs = ((self.ribs_x, self.width), (self.ribs_y, self.length))
        return self.mass + sum(r.mass * len(r.positions) / across for r, across in ribs if r)


@dataclass(frozen=True, eq=False)
class Leaf:
    """Modes of one leaf, unit modal mass.

    omega : (n,) rad/s, rising; coefficients : (Mx, My, n) of the two bases [kg^-1/2 m].
    """

    plate: Plate
    x: bases.Basis
    y: bases.Basis
    omega: np.ndarray
    coefficients: np.ndarray
    kept: dict = field(default_factory=dict, init=False, repr=False)  # what costs to find again

    @property
    def name(self) -> str:
        """Name of the leaf, as printed."""
        return self.plate.name

    @property
    def loss_factor(self) -> float:
        """Hysteretic loss factor of every mode, -; of a slab in place, that at EDGE_AT."""
        return self.plate.loss_factor

    @cached_property
    def losses(self) -> np.ndarray:
        """Loss factor of each mode (n,), -: what a slab loses to its walls falls as 1/sqrt(f),
        ISO 12354-1:2017 eq. C.1. Plate and ribs count by their energy, `loss.share_of_plate`."""
        p = self.plate
        falls = np.sqrt(2 * np.pi * EDGE_AT / np.maximum(self.omega, 1e-9)) - 1
        losses = p.loss_factor + p.edge_loss * falls
        if p.plate_loss is None or p.plate_loss == p.loss_factor:
            return losses
        return losses + (p.plate_loss - p.loss_factor) * loss.share_of_plate(self)

    @cached_property
    def squares(self) -> np.ndarray:
        """omega² (1 + i eta) of each mode (n,) [rad²/s²]."""
        return np.asarray(self.omega**2 * (1 + 1j * self.losses))

    def shapes(self, points: np.ndarray) -> np.ndarray:
        """Mode shapes at floor coordinates points (P, 2) [m]; returns (P, n) [kg^-1/2]."""
        local = np.asarray(points, float) - np.asarray(self.plate.origin)
        xs, row = np.unique(local[:, 0], return_inverse=True)  # places often stand in rows
        px, py = self.x.values(xs), self.y.values(local[:, 1])
        if 2 * len(xs) > len(local):
            product = px[row][:, :, None] * py[:, None, :]
            return product.reshape(len(local), -1) @ self.flat()
        return pairs.summed(self, px, py, row, np.arange(len(local)))

    def flat(self) -> np.ndarray:
        """Coefficients as a matrix (Mx My, n)."""
        return self.coefficients.reshape(-1, len(self.omega))

    def project(self, left: np.ndarray, right: np.ndarray) -> np.ndarray:
        """Sum of left (A, Mx) x right (B, My) over the modes; returns (A, B, n).

        In kg^-1/2 times the unit of left and right.
        """
        if len(left) <= len(right):  # the shorter side first, which leaves less for the other
            return np.matmul(right, self.along_x(left))
        ahead = np.matmul(right, self.coefficients)
        return (left @ ahead.reshape(len(ahead), -1)).reshape(len(left), len(right), -1)

    def along_x(self, left: np.ndarray) -> np.ndarray:
        """Sum of left (A, Mx) over the functions along x: (A, My, n), in kg^-1/2 m times the unit
        of left. One product of matrices."""
        ahead = left @ self.coefficients.reshape(self.x.count, -1)
        return ahead.reshape(len(left), self.y.count, -1)


def modes(plate: Plate, highest: float) -> Leaf:
    """Modes of `plate` up to and somewhat beyond `highest` [Hz].

    Raises ValueError for an unknown edge condition, InputError for a plate so large or limp that
    it would take more than PRODUCTS functions: before anything is solved.
    """
    if plate.edges not in EDGES:
        raise ValueError(f"edges {plate.edges!r}: one of {', '.join(map(repr, EDGES))}")
    nx, ny = _orders(plate, highest)
    if nx * ny > PRODUCTS:
        what = (
            f"{plate.length:.1f} x {plate.width:.1f} m of it bend in {nx} x {ny} shapes up to "
            f"{highest:.0f} Hz; at most {PRODUCTS} can be solved. Describe a smaller part of the "
            "floor or room, or check the thickness")  # fmt: skip
        raise InputError("design", [Fault(plate.name, what)])
    if plate.edges != "free":
        x = bases.restrained(plate.length, nx, plate.fixity)
        if plate.edges == "two sides":
            y = bases.free(plate.width, ny, _places(plate.ribs_x))
        elif plate.ribs_x is not None and plate.fixity_y == 0:
            y = bases.supported(plate.width, ny, _places(plate.ribs_x))
        else:
            y = bases.restrained(plate.width, ny, plate.fixity_y)
        omega, coefficients = _supported_modes(plate, x, y, highest)
    else:
        # channels are too light to kink the boards noticeably (finite elements agree without)
        x, y = bases.free(plate.length, nx), bases.free(plate.width, ny)
        omega, coefficients = _free_modes(plate, x, y)
    return Leaf(plate, x, y, omega, coefficients)


def _places(ribs: Ribs | None) -> tuple[float, ...]:
    return () if ribs is None else tuple(float(p) for p in ribs.positions)


def _orders(plate: Plate, highest: float) -> tuple[int, int]:
    """Functions wanted each way: the bending half waves of the plate alone, and some more."""
    omega, spare = 2 * np.pi * highest, 1.2
    count = []
    for side, stiffness, shear, across in (
        (plate.length, plate.bending_x, plate.shear[0], plate.ribs_y),
        (plate.width, plate.bending_y, plate.shear[1], plate.ribs_x),
    ):
        softer = 1 + float(sheared.give(stiffness, plate.mass, shear, omega))
        wavenumber = (plate.mass * omega**2 * softer / stiffness) ** 0.25
        ribs = 0 if across is None else len(across.positions)
        count.append(int(np.ceil(spare * max(wavenumber * side / np.pi, 1.2 * ribs))) + 6)
    return count[0], count[1]


def _supported_modes(
    plate: Plate, x: bases.Basis, y: bases.Basis, highest: float
) -> tuple[np.ndarray, np.ndarray]:
    """One small problem per function along x, then what couples them, if anything does."""
    mass, stiffness = energies.blocks(plate, x, y)
    squares, shapes = np.empty((x.count, y.count)), np.zeros((x.count, y.count, y.count))
    sides = _families(y.parity, plate.ribs_x is None or _mirrored(plate.ribs_x, plate.width))
    for pick in sides:
        inside = np.ix_(pick, pick)
        inverse = np.linalg.inv(np.linalg.cholesky(mass[inside]))
        each = stiffness[:, pick[:, None], pick[None, :]]
        squares[:, pick], vectors = np.linalg.eigh(inverse @ each @ inverse.T)
        shapes[:, pick[:, None], pick[None, :]] = inverse.T @ vectors
    first = np.repeat(np.arange(x.count), y.count)
    omega2 = squares.reshape(-1)
    columns = shapes.transpose(0, 2, 1).reshape(-1, y.count)  # (modes, My)
    order = np.argsort(omega2)
    coupled = plate.ribs_y is not None or x.kind != "supported"
    if coupled:  # enough uncoupled modes for the coupled ones to converge
        order = order[: max(60, int(np.sum(omega2 < (2 * np.pi * 1.5 * highest) ** 2)))]
    omega2, columns, first = omega2[order], columns[order], first[order]
    coefficients = np.zeros((x.count, y.count, len(order)))
    if not coupled:
        coefficients[first, :, np.arange(len(order))] = columns
    else:
        kind = 2 * x.parity[first] * (plate.ribs_y is None or _mirrored(plate.ribs_y, plate.length))
        if len(sides) > 1:
            kind = kind + np.tile(y.parity, x.count)[order]
        stiffness, mass = energies.coupling(plate, x, y, first, columns)
        omega2, rotation = _by_kind(stiffness + np.diag(omega2), mass + np.eye(len(order)), kind)
        for function in range(x.count):
            mine = first == function
            coefficients[function] = columns[mine].T @ rotation[mine]
    return np.sqrt(np.maximum(omega2, 0)), coefficients


def _by_kind(
    stiffness: np.ndarray, mass: np.ndarray, kind: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rising eigenvalues (n,) and vectors (n, n) where unlike `kind` (n,) do not couple."""
    squares, vectors = np.empty(len(kind)), np.zeros(stiffness.shape)
    for one in np.unique(kind):
        mine = np.flatnonzero(kind == one)
        inside = np.ix_(mine, mine)
        squares[mine], vectors[inside] = generalized(stiffness[inside], mass[inside])
    order = np.argsort(squares)
    return squares[order], vectors[:, order]


def _free_modes(plate: Plate, x: bases.Basis, y: bases.Basis) -> tuple[np.ndarray, np.ndarray]:
    """All products at once, split by symmetry where the ribs allow it."""
    split_x = plate.ribs_y is None or _mirrored(plate.ribs_y, plate.length)
    split_y = plate.ribs_x is None or _mirrored(plate.ribs_x, plate.width)
    parts: list[tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]] = []
    for pick_x in _families(x.parity, split_x):
        for pick_y in _families(y.parity, split_y):
            chosen = _ellipse(pick_x, pick_y, x, y)
            stiffness, mass = energies.full(plate, x, y, pick_x, pick_y)
            inside = np.ix_(chosen, chosen)
            squares, vectors = generalized(stiffness[inside], mass[inside])
            parts.append((squares, vectors, np.repeat(pick_x, len(pick_y))[chosen],
                          np.tile(pick_y, len(pick_x))[chosen]))  # fmt: skip
    omega2 = np.concatenate([squares for squares, _, _, _ in parts])
    order = np.argsort(omega2)
    column = np.argsort(order)  # where each mode goes, so that nothing is moved twice
    coefficients = np.zeros((x.count * y.count, len(order)))
    start = 0
    for squares, vectors, mx, my in parts:
        stop = start + len(squares)
        coefficients[np.ix_(mx * y.count + my, column[start:stop])] = vectors
        start = stop
    omega2 = omega2[order]
    omega2[: _rigid(omega2)] = 0.0
    shaped = coefficients.reshape(x.count, y.count, -1)
    return np.sqrt(np.maximum(omega2, 0)), shaped


def _rigid(omega2: np.ndarray) -> int:
    """A free plate has three motions without bending; their computed squares are only noise."""
    return 3 if len(omega2) > 3 and abs(omega2[2]) < 1e-5 * abs(omega2[3]) else 0


def _mirrored(ribs: Ribs, side: float) -> bool:
    """Whether ribs across a `side` [m] stand as in the mirror."""
    places = np.sort(ribs.positions)
    return bool(np.allclose(np.sort(side - places), places, atol=1e-9))


def _families(parity: np.ndarray, split: bool) -> list[np.ndarray]:
    if not split:
        return [np.arange(len(parity))]
    return [np.flatnonzero(parity == side) for side in (0, 1)]


def _ellipse(pick_x: np.ndarray, pick_y: np.ndarray, x: bases.Basis, y: bases.Basis) -> np.ndarray:
    """Products worth keeping: cosines inside an ellipse of orders, and the products of polynomials
    and kinks, which matter at all low orders of the other side.

    Functions are ordered cosines first (order = index), then four polynomials, then the kinks.
    """
    orders = []
    for pick, family in ((pick_x, x), (pick_y, y)):
        orders.append(np.where(pick < family.smooth, pick / family.smooth, 0.0))
    radius = orders[0][:, None] ** 2 + orders[1][None, :] ** 2
    return np.flatnonzero((radius <= ELLIPSE).reshape(-1))

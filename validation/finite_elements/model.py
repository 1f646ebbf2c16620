"""What the finite-element reference solves: coupled rectangular leaves, as plain SI numbers.

All leaves share one rectangle, 0 <= x <= length, 0 <= y <= width. Displacement w is positive
downwards and goes as exp(+i omega t). A stiffness K with loss factor eta enters as K (1 + i eta).
Leaf 0 is the one that is struck (the floor); the last leaf is the one that radiates.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

SIDES = ("west", "east", "south", "north")  # x = 0, x = length, y = 0, y = width

# A gas property: one complex number, or a function of the angular frequency [rad/s].
Property = complex | Callable[[float], complex]


@dataclass(frozen=True)
class Plate:
    """Thin orthotropic plate: 1/2 [Dx wxx^2 + Dy wyy^2 + 2 nuD wxx wyy + 4 D66 wxy^2] per area,
    with nuD = poisson sqrt(Dx Dy). An isotropic plate has D66 = D (1 - poisson) / 2.
    """

    bending_x: float  # N m, Dx
    bending_y: float  # N m, Dy
    twisting: float  # N m, D66
    poisson: float  # -, geometric mean of the two
    mass: float  # kg/m2


@dataclass(frozen=True)
class Ribs:
    """Equal straight beams across the whole leaf, parallel to `direction`, at `positions`.

    A rib parallel to x at y adds, per length, 1/2 [EI wxx^2 + GJ wxy^2] of strain energy and
    1/2 [mu wt^2 + Jr wyt^2] of kinetic energy. Parallel to y: x and y change places.
    """

    direction: str  # "x" or "y"
    positions: tuple[float, ...]  # m: y of ribs parallel to x, x of ribs parallel to y
    bending: float  # N m2, EI
    torsion: float  # N m2, GJ
    mass: float  # kg/m, mu
    rotary: float  # kg m, Jr: moment of inertia per length about the plate's plane


@dataclass(frozen=True)
class Leaf:
    """A plate with ribs and one loss factor for all its bending and twisting."""

    name: str
    plate: Plate
    ribs: tuple[Ribs, ...]
    loss_factor: float
    edges: str  # "simply supported" or "free", the same on all four sides


@dataclass(frozen=True)
class AreaSpring:
    """Locally reacting layer: pressure k (w_upper - w_lower) pushes the lower leaf down."""

    upper: int  # index of the leaf above
    lower: int
    stiffness: float  # N/m3
    loss_factor: float


@dataclass(frozen=True)
class GasLayer:
    """Equivalent-fluid layer of constant depth, closed by rigid side walls.

    Where `open_sides` are named, the side walls let flow U [m2/s] per metre out against i omega
    rho_gap U, rho_gap in kg/m3, at no pressure outside.
    The pressure p(x, y) is constant over the depth d. Continuity: d p / K + d div u =
    -(w_lower - w_upper); momentum: rho u_tt = -grad p.
    """

    upper: int
    lower: int
    depth: float  # m
    bulk: Property  # Pa, K: Im > 0 is a loss
    density_x: Property  # kg/m3, rho for motion along x: Im < 0 is a loss
    density_y: Property
    open_sides: tuple[str, ...] = ()
    gap_density: Property = 1.0  # rho_gap


@dataclass(frozen=True)
class PointSprings:
    """Equal springs between two leaves at points (x, y)."""

    upper: int
    lower: int
    positions: tuple[tuple[float, float], ...]  # m
    stiffness: float  # N/m each
    loss_factor: float


@dataclass(frozen=True)
class EdgeSpring:
    """Line spring from the edge of a leaf to rigid ground, along whole sides."""

    leaf: int
    stiffness: float  # N/m2: force per displacement and per metre of edge
    loss_factor: float
    sides: tuple[str, ...] = SIDES


@dataclass(frozen=True)
class Assembly:
    """Leaves from the top down and what joins them."""

    name: str
    length: float  # m, along x
    width: float  # m, along y
    leaves: tuple[Leaf, ...]
    areas: tuple[AreaSpring, ...] = ()
    gases: tuple[GasLayer, ...] = ()
    points: tuple[PointSprings, ...] = ()
    edges: tuple[EdgeSpring, ...] = ()

"""A ceiling with the air in the open gap at its edge: boards and air as one leaf.

The air moves in its own lowest modes beside those of the boards: per wall cosines along it, a line
of volume displaced at the edge, even and odd over facing walls. So cavity, room and radiated sound
see both with their phases. What opposes the air but its own mass is a link: `impact.link.slot`.
A plug of air of mass rho t w per length, derived here; sources of its ends stand there.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

import numpy as np

from impact.base import air
from impact.base.quadrature import gauss
from impact.leaf.basis import Basis
from impact.leaf.plate import Leaf

SLOW = 1.0  # rad/s: nothing holds such air; no more than this, so that no system is singular
ORDERS = 40  # spare Gauss points for cosines along a wall


@dataclass(frozen=True, eq=False)
class Rim(Basis):
    """Functions of the boards, then the two edges of a side (even, odd), then `cosines` along it.

    An edge is a line, [1/m]; its values inside are 0, and so are those of the cosines, which only
    stand beside an edge of the other side.
    """

    boards: Basis = field(kw_only=True)
    along: int = field(kw_only=True)  # number of cosines

    @property
    def smooth(self) -> int:
        """Of the boards."""
        return self.boards.smooth

    def values(self, x: np.ndarray, derivative: int = 0) -> np.ndarray:
        """Values at x (P,) [m], (P, M), as `Basis.values` [m^(-1/2 - d)]; 0 of the air."""
        own = self.boards.values(x, derivative)
        return np.hstack([own, np.zeros((len(own), 2 + self.along))])

    def transform(self, wavenumber: np.ndarray, sign: int, pure: bool = False) -> np.ndarray:
        """(Q, M) at wavenumbers (Q,) [rad/m] as `Basis.transform`: boards [m^1/2], edges [-]."""
        turn, half = (np.cos, 1.0) if sign > 0 else (np.sin, -1.0), self.length / 2
        edge = np.sqrt(2) * turn[1] * turn[0](wavenumber * half)[:, None]
        edges = edge * np.array([sign > 0, sign < 0])
        points, weights = self._inside(0.0, self.length)
        wave = turn[0](np.outer(wavenumber, points - half))
        added = np.hstack([edges, wave @ (self._waves(points) * weights[:, None])])
        if pure:
            added = added[:, self.parity[self.boards.count :] == (1 - sign) // 2]
        return np.hstack([self.boards.transform(wavenumber, sign, pure), added])

    def cosines(self, count: int, start: float, length: float) -> np.ndarray:
        """(count, M) as `Basis.cosines`: boards and cosines [-], edges [m^-1/2]."""
        order = np.arange(count)

        def psi(places: np.ndarray) -> np.ndarray:
            scale = np.sqrt((2 - (order == 0))[:, None] / length)
            return np.cos(np.pi * np.outer(order, places - start) / length) * scale

        ends = np.array([0.0, self.length])
        met = (ends > start - 1e-9) & (ends < start + length + 1e-9)
        at = psi(ends) * met * np.sqrt(0.5)
        low, high = max(0.0, start), min(start + length, self.length)
        points, weights = self._inside(low, high, count)
        waves = (psi(points) * weights) @ self._waves(points)
        edges = np.column_stack([at[:, 0] + at[:, 1], at[:, 0] - at[:, 1]])
        return np.hstack([self.boards.cosines(count, start, length), edges, waves])

    def _inside(self, low: float, high: float, more: int = 0) -> tuple[np.ndarray, np.ndarray]:
        points, weights = gauss(more + self.along + ORDERS)
        return low + points * (high - low), weights * (high - low)

    def _waves(self, places: np.ndarray) -> np.ndarray:
        """Orthonormal cosines (P, along) over the side [m^-1/2]."""
        order = np.arange(self.along)
        scale = np.sqrt((2 - (order == 0)) / self.length)
        return np.cos(np.pi * np.outer(places, order) / self.length) * scale


@dataclass(frozen=True, eq=False)
class Vented(Leaf):
    """Boards, and before their modes V of the air: see `open_at`.

    width, depth : of the gap [m]. wave : (V,) along the wall [rad/m]; normal : (V,) axis that the
    wall is normal to, x (0) or y (1); across : (V,) from it to the facing wall [m].
    """

    boards: Leaf = field(kw_only=True)
    width: float = field(kw_only=True)
    depth: float = field(kw_only=True)
    wave: np.ndarray = field(kw_only=True)
    normal: np.ndarray = field(kw_only=True)
    across: np.ndarray = field(kw_only=True)

    @property
    def vents(self) -> int:
        """Number of modes of the air, the lowest."""
        return len(self.wave)

    def at_walls(self, wavenumber: np.ndarray) -> np.ndarray:
        """(…, V) how many times louder than in a plane each sounds in amplitude, at wavenumbers
        (…, 1) of sound [rad/m].

        A line in the corner of wall and ceiling sounds with its image, twice the power; where the
        waves are longer than the room all of the ceiling does, which is left out everywhere. From
        the one to the other over k B/pi, B to the facing wall; that between is our choice.
        """
        square = (np.asarray(wavenumber) * self.across / np.pi) ** 2
        return np.asarray(np.sqrt(1 + square / (1 + square)))


def open_at(leaf: Leaf, walls: Collection[str], width: float, depth: float, reach: float) -> Vented:
    """A leaf with an open gap at its `walls` ("west" x = 0, "east", "south" y = 0, "north").

    width, depth of the gap [m]; reach : cosines along a wall up to this [rad/m]. The volume that a
    mode of unit mass displaces per length is sqrt(w/(rho t)) of its cosine.
    """
    sides = (leaf.x, leaf.y)
    counts = [int(np.ceil(reach * side.length / np.pi)) + 1 for side in sides]
    rims = [_rim(side, count) for side, count in zip(sides, counts, strict=True)]
    found = []
    for normal, pair in enumerate((("west", "east"), ("south", "north"))):
        first, second = (wall in walls for wall in pair)
        if first and second:
            mixed = [(1.0, 0.0), (0.0, 1.0)]  # of even and odd
        else:
            mixed = [(np.sqrt(0.5), sign * np.sqrt(0.5)) for sign in (1, -1)]
            mixed = [one for one, there in zip(mixed, (first, second), strict=True) if there]
        found += [(normal, each, order) for each in mixed for order in range(counts[1 - normal])]
    count, shape = len(found), (rims[0].count, rims[1].count)
    coefficients = np.zeros((*shape, count + len(leaf.omega)))
    coefficients[: leaf.x.count, : leaf.y.count, count:] = leaf.coefficients
    volume = np.sqrt(width / (air.DENSITY * depth))
    for number, (normal, each, order) in enumerate(found):
        edges = slice(sides[normal].count, sides[normal].count + 2)
        cosine = sides[1 - normal].count + 2 + order
        place = (edges, cosine) if normal == 0 else (cosine, edges)
        coefficients[(*place, number)] = volume * np.array(each)
    normals = np.array([one[0] for one in found], int)
    lengths = np.array([side.length for side in sides])
    return Vented(
        leaf.plate, rims[0], rims[1], np.r_[np.full(count, SLOW), leaf.omega].clip(0.0),
        coefficients, boards=leaf, width=width, depth=depth,
        wave=np.array([one[2] for one in found]) * np.pi / lengths[1 - normals], normal=normals,
        across=lengths[normals],
    )  # fmt: skip


def boards(leaf: Leaf) -> Leaf:
    """A leaf without the air at its edge: the boards of an open one, or itself."""
    return leaf.boards if isinstance(leaf, Vented) else leaf


def vents(leaf: Leaf) -> int:
    """How many of the lowest modes of a leaf are air at an open edge."""
    return leaf.vents if isinstance(leaf, Vented) else 0


def _rim(side: Basis, along: int) -> Rim:
    parity = np.r_[side.parity, 0, 1, np.arange(along) % 2]
    return Rim(
        side.kind, side.length, side.fixity, side.slope, side.bend, side.mixed, parity,
        side.combine, side.ribs, side.nodes, side.weights, boards=side, along=along,
    )  # fmt: skip

"""Loose fill on short boards between the joists: strips that hang together by hinges.

The boards lie across the bays, loose beside one another, on battens at the joists' sides. So a
strip from joist to joist bends as a beam on two supports and turns freely over them; along the
joists nothing holds the boards together, and each takes part by itself: the leaf is limp that way.
The fill is mass and loss. (Beams with hinges over their supports: any textbook of structures.)

Functions across are hats, 1 over a joist and 0 over its neighbours, and the sines of a beam on two
supports in each bay, which are its own modes; at the walls the boards rest. A strip is drawn from
centre to centre of the joists, so that the leaf's face covers the plan, as the joists' undersides
do. Its mass is that of the clear width, and its stiffness such that its own frequencies stay those
of the clear width w of a spacing s: pi² sqrt(D w/m w)/w² with m s for m w, D (s/w)³ for D.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from impact.base.quadrature import piecewise
from impact.design.parts import Floor
from impact.errors import Fault, InputError
from impact.leaf import basis as bases
from impact.leaf.basis import Basis
from impact.leaf.generalized import generalized
from impact.leaf.plate import PRODUCTS, Leaf, Plate

NAME = "loose fill"
SPARE = 2  # sines in a bay beyond those of its free waves


@dataclass(frozen=True, eq=False)
class Hinged(Basis):
    """Functions across hinged strips; `joists` [m] are the hinges' places.

    Other fields as in `Basis`; `combine` (raw, M) makes the functions of hats and sines.
    """

    joists: tuple[float, ...] = ()
    sines: int = 1

    @property
    def smooth(self) -> int:
        """Half waves up to so many."""
        return self.sines * (len(self.joists) + 1)

    def values(self, x: np.ndarray, derivative: int = 0) -> np.ndarray:
        """X_m or its `derivative` (0, 1, 2), away from the hinges, at points x (P,) [m]; (P, M)
        [m^(-1/2 - d)]."""
        assert self.combine is not None
        raw = _raw(np.asarray(x, float), self.length, self.joists, self.sines, derivative)
        return np.asarray(raw @ self.combine)

    def cosines(self, count: int, start: float, length: float) -> np.ndarray:
        """As `Basis.cosines`, exact across the hinges; (count, M), dimensionless."""
        low, high = max(0.0, start), min(start + length, self.length)
        inside = [place for place in self.joists if low < place < high]
        each = count + 2 * self.sines + 12
        points, weights = piecewise((low, *inside, high), [each] * (len(inside) + 1))
        r = np.arange(count)
        psi = np.cos(np.pi * np.outer(r, points - start) / length)
        psi *= np.sqrt((2 - (r == 0))[:, None] / length)
        return np.asarray((psi * weights) @ self.values(points))


def _raw(
    x: np.ndarray, length: float, joists: tuple[float, ...], sines: int, derivative: int
) -> np.ndarray:
    """Hats of the hinges, then `sines` of each bay, mirrored pairs combined even and odd; (P, R),
    as many as `_parity` has."""
    ends = np.r_[0.0, joists, length]
    bay = np.clip(np.searchsorted(ends, x, side="right") - 1, 0, len(ends) - 2)
    width = np.diff(ends)[bay]
    share, row = (x - ends[bay]) / width, np.arange(len(x))
    hats = np.zeros((len(x), len(ends)))
    if derivative < 2:
        hats[row, bay + 1] += share if derivative == 0 else 1 / width
        hats[row, bay] += 1 - share if derivative == 0 else -1 / width
    order = np.arange(1, sines + 1) * np.pi
    waves = np.zeros((len(x), len(ends) - 1, sines))
    phase = np.outer(share, order) + derivative * np.pi / 2
    waves[row, bay] = (order / width[:, None]) ** derivative * np.sin(phase)
    if not _mirrored(length, joists):
        return np.hstack([hats[:, 1:-1], waves.reshape(len(x), -1)])
    turned = (-1.0) ** np.arange(sines)  # a sine in its mirror
    hats = hats[:, 1:-1]
    parts = [hats + hats[:, ::-1], hats - hats[:, ::-1]]
    other = waves[:, ::-1] * turned
    parts += [(waves + other).reshape(len(x), -1), (waves - other).reshape(len(x), -1)]
    return np.hstack(parts)


def _mirrored(length: float, joists: tuple[float, ...]) -> bool:
    places = np.array(joists)
    return bool(np.allclose(np.sort(length - places), np.sort(places), atol=1e-9))


def _kept(joists: int, sines: int, mirrored: bool) -> tuple[np.ndarray, np.ndarray]:
    """Which columns of `_raw` to take, each pair once, and their parity, 0 even or 1 odd."""
    bays = joists + 1
    if not mirrored:
        count = joists + bays * sines
        return np.arange(count), np.zeros(count, int)
    chosen, parity = [], []
    for start, size, each in ((0, joists, 1), (2 * joists, bays, sines)):
        for sign in (0, 1):
            for place in range((size + 1) // 2):
                middle = 2 * place == size - 1
                for order in range(each):
                    # in the middle of its own mirror a hat and odd sines are even
                    if middle and (order % 2 == 1) != (sign == 1):
                        continue
                    chosen.append(start + sign * size * each + place * each + order)
                    parity.append(sign)
    return np.array(chosen), np.array(parity)


def hinged(length: float, joists: tuple[float, ...], sines: int) -> tuple[Basis, np.ndarray]:
    """The modes of a row of hinged strips without supports over the joists, orthonormal over
    `length` [m], and ∫ X''² dx of each (M,) [1/m4]: its omega² m/D."""
    chosen, parity = _kept(len(joists), sines, _mirrored(length, joists))
    each = 2 * sines + 14
    nodes, weights = piecewise((0.0, *joists, length), [each] * (len(joists) + 1))
    raw = [_raw(nodes, length, joists, sines, d)[:, chosen] for d in (0, 1, 2)]
    gram, bend = ((part * weights[:, None]).T @ part for part in (raw[0], raw[2]))
    every = len(_raw(nodes[:1], length, joists, sines, 0)[0])
    combine, squares = np.zeros((every, len(chosen))), np.zeros(len(chosen))
    for side in np.unique(parity):
        mine = np.flatnonzero(parity == side)
        inside = np.ix_(mine, mine)
        squares[mine], vectors = generalized(bend[inside], gram[inside])
        combine[np.ix_(chosen[mine], mine)] = vectors
    order = np.argsort(squares, kind="stable")
    combine, parity, squares = combine[:, order], parity[order], np.maximum(squares[order], 0.0)
    own = [part @ combine[chosen] for part in raw]
    slope = (own[1] * weights[:, None]).T @ own[1]
    mixed = (own[0] * weights[:, None]).T @ own[2]
    made = Hinged("hinged", length, 0.0, slope, np.diag(squares), mixed, parity, combine, (),
                  nodes, weights, tuple(joists), sines)  # fmt: skip
    return made, squares


def strip_bending(floor: Floor) -> float:
    """Bending stiffness across of the strips as they are drawn, D/share³ [N m]: see the module.

    Boards, loose beside each other, bend as beams: D = E t³/12. Raises ValueError without boards.
    """
    infill, joists = floor.infill, floor.joists
    if infill is None or infill.boards is None or joists is None:
        raise ValueError("the floor has no fill on boards between its joists")
    board = infill.boards
    stiffness = board.material.youngs_modulus * board.thickness**3 / 12
    return float(stiffness / joists.open_share**3)


def fill_plate(floor: Floor) -> Plate:
    """The fill and its boards as a leaf over the whole floor; it bends across the joists only."""
    return Plate(
        NAME, floor.length, floor.width, floor.fill_mass, 0.0, strip_bending(floor), 0.0,
        0.0, floor.whole_loss, "supported",
    )  # fmt: skip


@lru_cache(maxsize=12)
def modes(plate: Plate, joists: tuple[float, ...], reach: float, highest: float) -> Leaf:
    """Modes of `plate` (from `fill_plate`) over `joists` (y, [m]): sines along them with
    wavenumbers up to `reach` [1/m], strips across.

    highest : Hz, up to which the strips' own waves are wanted. Raises InputError for one so large
    that it would take too many functions.
    """
    across = (plate.mass * (2 * np.pi * highest) ** 2 / plate.bending_y) ** 0.25
    widest = float(np.diff(np.r_[0.0, joists, plate.width]).max())
    sines = int(np.ceil(across * widest / np.pi)) + SPARE
    along = max(4, int(np.ceil(reach * plate.length / np.pi)))
    count = along * ((len(joists) + 1) * (sines + 1) - 1)
    if count > PRODUCTS:
        what = (
            f"{plate.length:.1f} x {plate.width:.1f} m of it move in {count} shapes; at most "
            f"{PRODUCTS} can be solved. Describe a smaller part of the floor or room"
        )
        raise InputError("design", [Fault(plate.name, what)])
    x = bases.supported(plate.length, along)
    y, squares = hinged(plate.width, joists, sines)
    omega2 = np.tile(squares * plate.bending_y / plate.mass, along)
    order = np.argsort(omega2, kind="stable")
    coefficients = np.zeros((along * y.count, len(order)))
    coefficients[order, np.arange(len(order))] = 1 / np.sqrt(plate.mass)
    shaped = coefficients.reshape(along, y.count, len(order))
    return Leaf(plate, x, y, np.sqrt(omega2[order]), shaped)

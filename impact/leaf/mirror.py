"""What the modes of a leaf do in a mirror across its middle: whether they keep their sign.

Where a structure is its own mirror image, each mode is even or odd (any textbook of vibration).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impact.leaf.basis import Basis
from impact.leaf.plate import Leaf

PURE = 1e-9  # part of a shape that may have the other sign in the mirror, of its size
LOOKED_AT = (0.071, 0.193, 0.287, 0.411)  # of a side from its middle: four places like no others


def signs(leaf: Leaf, axis: int) -> np.ndarray | None:
    """(n,) 1 or -1 [-]: whether a leaf's modes keep or change their sign in a mirror across the
    middle of side x (0) or y (1); None where they do neither."""
    key = ("signs", axis)
    if key not in leaf.kept:
        leaf.kept[key] = _found(leaf, axis)
    return leaf.kept[key]


def side(leaf: Leaf, axis: int) -> Basis:
    """The functions along x (0) or y (1)."""
    return leaf.y if axis else leaf.x


def _found(leaf: Leaf, axis: int) -> np.ndarray | None:
    """As `signs`: by the share of odd functions in each mode, which must be all or nothing."""
    parity = _parity(side(leaf, axis))
    if parity is None:
        return None
    kept = "yn" if axis else "xn"
    squares = np.einsum(f"xyn,xyn->{kept}", leaf.coefficients, leaf.coefficients)
    odd = squares[parity == 1].sum(axis=0) / squares.sum(axis=0)
    if (np.minimum(odd, 1 - odd) > PURE**2).any():
        return None
    return np.where(odd > 0.5, -1, 1)


def _parity(functions: Basis) -> np.ndarray | None:
    """(M,) 0 or 1 as the functions stand in the mirror; None where they have no parity."""
    places = functions.length * (0.5 + np.array(LOOKED_AT))
    one, other = functions.values(places), functions.values(functions.length - places)
    alike = np.allclose(
        other, (1 - 2 * functions.parity) * one, rtol=0, atol=PURE * np.abs(one).max()
    )
    return functions.parity if alike else None


@dataclass(frozen=True, eq=False)
class Kind:
    """Modes of a leaf that do the same in its mirrors.

    signs : along x and y, as `signs` has them, 0 where a leaf has no mirror. functions : along x
    and y, places (M,) of those that the modes are made of. modes : (n,) places, rising. block :
    (Mx', My', n) their coefficients, `Leaf.coefficients` without what is 0.
    """

    signs: tuple[int, int]
    functions: tuple[np.ndarray, np.ndarray]
    modes: np.ndarray
    block: np.ndarray


def kinds(leaf: Leaf) -> list[Kind]:
    """The kinds that there are of a leaf's modes; kept with it."""
    if "kinds" not in leaf.kept:
        found = [signs(leaf, axis) for axis in (0, 1)]
        none = np.zeros(len(leaf.omega), int)
        of_mode = np.array([none if own is None else own for own in found])
        out = []
        for one in np.unique(of_mode, axis=1).T[::-1]:
            modes = np.flatnonzero((of_mode == one[:, None]).all(axis=0))
            own = [
                np.flatnonzero(side.parity == (1 - sign) // 2) if sign else np.arange(side.count)
                for side, sign in zip((leaf.x, leaf.y), one, strict=True)
            ]
            block = leaf.coefficients[np.ix_(*own, modes)]
            out.append(Kind((int(one[0]), int(one[1])), (own[0], own[1]), modes, block))
        leaf.kept["kinds"] = out
    return leaf.kept["kinds"]

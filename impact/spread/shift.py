"""A changed plate in the modes already solved for the plate as it was.

Rayleigh and Ritz once more: with the old modes as functions, the changed plate has a stiffness and
a mass matrix that are no longer diagonal. To first order in the change its frequencies are right
with the diagonal alone (the share of each part in the strain energy); the rest lets modes mix.
Energies as in `impact.leaf.plate`.
"""

from __future__ import annotations

import numpy as np

from impact.leaf import basis as bases
from impact.leaf import sheared
from impact.leaf.energies import between, weighted
from impact.leaf.plate import Leaf, Plate
from impact.leaf.vented import boards, vents

SHEARED = -1  # number of what plates that give in shear keep, beside those of their products


class Frame:
    """The first `count` modes of a leaf, ready to take changed plates."""

    def __init__(self, leaf: Leaf, count: int) -> None:
        self.leaf, self.vents = boards(leaf), vents(leaf)
        self.shapes = np.ascontiguousarray(self.leaf.coefficients[:, :, : count - self.vents])
        self._gives = bool(np.isfinite(leaf.plate.shear).any())
        self._near = _near(self.leaf)
        self._before = self._terms(leaf.plate)
        self._kept: dict[tuple[int, bool], np.ndarray] = {}

    def difference(self, changed: Plate) -> tuple[np.ndarray, np.ndarray]:
        """Stiffness [1/s²] and mass [-] that `changed` adds to the plate of the leaf.

        Returns two symmetric matrices (count, count) for modal coordinates of unit mass. The ribs
        must lie where they were. The ends' fixity enters by the frequencies of a beam with the new
        fixity; the shapes along it stay.
        """
        stiffness, mass = self._added(changed, False)
        return (stiffness + stiffness.T) / 2, (mass + mass.T) / 2

    def diagonal(self, changed: Plate) -> tuple[np.ndarray, np.ndarray]:
        """The diagonals (count,) of `difference` alone, for leaves of many modes."""
        return self._added(changed, True)

    def _added(self, changed: Plate, diagonal: bool) -> tuple[np.ndarray, np.ndarray]:
        """Stiffness and mass that a changed plate adds, or their diagonals alone."""
        size = (self.shapes.shape[2],) * (1 if diagonal else 2)
        out = np.zeros(size), np.zeros(size)
        for number, (old, new) in enumerate(zip(self._before, self._terms(changed), strict=True)):
            which, old_x, old_y = old
            _, new_x, new_y = new
            factor = _factor(old_x, new_x) * _factor(old_y, new_y)
            if factor == 1:
                continue
            if (number, diagonal) not in self._kept:
                self._kept[number, diagonal] = self._product(old_x, old_y, diagonal)
            before = self._kept[number, diagonal]
            if np.isnan(factor):
                out[which][:] += self._product(new_x, new_y, diagonal) - before
            else:
                out[which][:] += (factor - 1) * before
        if self._gives and _stiffnesses(changed) != _stiffnesses(self.leaf.plate):
            if (SHEARED, diagonal) not in self._kept:
                self._kept[SHEARED, diagonal] = self._sheared(self.leaf.plate, diagonal)
            out[0][:] += self._sheared(changed, diagonal) - self._kept[SHEARED, diagonal]
        stiffness, mass = (np.pad(part, [(self.vents, 0)] * part.ndim) for part in out)
        return stiffness, mass

    def _sheared(self, plate: Plate, diagonal: bool) -> np.ndarray:
        """Shapes · stiffness · shapes of a plate that gives in shear, or its diagonal alone, of
        functions along x one at a time."""
        x, y = self.leaf.x, self.leaf.y
        bend_x, bend_y = _bend(x, plate.fixity), _bend(y, plate.fixity_y)
        along = np.diag(bend_x), np.diag(x.slope), np.diag(x.mixed)
        across = bend_y, y.slope, y.mixed
        moved = sheared.condensed(plate.stiffnesses, plate.shear, along, across) @ self.shapes
        if diagonal:
            return np.asarray(np.einsum("xyn,xyn->n", self.shapes, moved))
        return np.asarray(np.tensordot(self.shapes, moved, ((0, 1), (0, 1))))

    def _product(self, in_x: np.ndarray, in_y: np.ndarray, diagonal: bool) -> np.ndarray:
        """Sum of shapes · (in_x, in_y) · shapes, or its diagonal alone."""
        count = self.shapes.shape[2]
        moved = (in_x @ (in_y @ self.shapes).reshape(len(in_x), -1)).reshape(-1, count)
        shapes = self.shapes.reshape(-1, count)
        if diagonal:
            return np.asarray(np.einsum("fn,fn->n", shapes, moved))
        return np.asarray(shapes.T @ moved)

    def _terms(self, plate: Plate) -> list[tuple[int, np.ndarray, np.ndarray]]:
        """0 for stiffness or 1 for mass, and the two sides of each product of the energies."""
        x, y = self.leaf.x, self.leaf.y
        bend_x, bend_y = _bend(x, plate.fixity), _bend(y, plate.fixity_y)
        eye_x, eye_y = np.eye(x.count), np.eye(y.count)
        terms = [(1, plate.mass * eye_x, eye_y)]
        if self._gives:
            terms += [(0, *sides) for sides in between(plate, x, y, bend_x, bend_y)]
        else:
            terms += [
                (0, plate.bending_x * bend_x, eye_y),
                (0, plate.bending_y * eye_x, bend_y),
                (0, plate.bending_nu * x.mixed, y.mixed.T),
                (0, plate.bending_nu * x.mixed.T, y.mixed),
                (0, 4 * plate.twisting * x.slope, y.slope),
            ]
        if plate.ribs_x is not None:
            ribs, (near, roll) = plate.ribs_x, self._near[0]
            terms += [
                (0, weighted(ribs, bend_x), near),
                (0, ribs.torsion * x.slope + ribs.sideways * bend_x, roll),
                (1, ribs.mass * eye_x, near),
                (1, ribs.rotary * eye_x, roll),
            ]
        if plate.ribs_y is not None:
            ribs, (near, roll) = plate.ribs_y, self._near[1]
            terms += [
                (0, near, weighted(ribs, bend_y)),
                (0, roll, ribs.torsion * y.slope),
                (1, near, ribs.mass * eye_y),
                (1, roll, ribs.rotary * eye_y),
            ]
        return terms


def _stiffnesses(plate: Plate) -> tuple[float, ...]:
    """All that `Frame._sheared` depends on."""
    return *plate.stiffnesses, *plate.shear, plate.fixity, plate.fixity_y


def _factor(old: np.ndarray, new: np.ndarray) -> float:
    """By how much all entries of a matrix are larger than before; NaN where not all alike."""
    largest = np.unravel_index(np.argmax(np.abs(old)), old.shape)
    if np.array_equal(old, new) or old[largest] == 0:
        return 1.0 if np.array_equal(old, new) else np.nan
    factor = new[largest] / old[largest]
    return float(factor) if np.allclose(new, factor * old, rtol=1e-12, atol=0) else np.nan


def _near(leaf: Leaf) -> tuple[tuple[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]:
    """Sums over the ribs of value and of slope products: of ribs along x, of ribs along y."""
    out = []
    for ribs, side in ((leaf.plate.ribs_x, leaf.y), (leaf.plate.ribs_y, leaf.x)):
        places = np.zeros(0) if ribs is None else ribs.positions
        here, turn = side.values(places), side.values(places, 1)
        out.append((here.T @ here, turn.T @ turn))
    return out[0], out[1]


def _bend(side: bases.Basis, fixity: float) -> np.ndarray:
    """∫ X''m X''n of a side, scaled to the eigenvalues of a beam of another end fixity."""
    if fixity == side.fixity or side.kind == "free":
        return side.bend
    count = side.count
    old = np.diag(bases.restrained(side.length, count, side.fixity).bend)
    new = np.diag(bases.restrained(side.length, count, fixity).bend)
    root = np.sqrt(new / old)
    return root[:, None] * side.bend * root

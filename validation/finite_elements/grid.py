"""Tensor grid of cubic Hermite lines: the conforming Bogner-Fox-Schmit plate element.

On a rectangular grid the Bogner-Fox-Schmit element is the product of cubic Hermite functions in x
and in y, so every matrix of the plate, of ribs on it and of springs at edges and points is a sum
of Kronecker products of one-dimensional matrices. Those are assembled by scikit-fem.

Reference: F. K. Bogner, R. L. Fox, L. A. Schmit, "The generation of interelement compatible
stiffness and mass matrices by the use of interpolation formulas", Proc. Conf. Matrix Methods in
Structural Mechanics, AFFDL-TR-66-80, 1966, pp. 397-443 (cited from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from math import ceil
from typing import Any

import numpy as np
import scipy.sparse as sparse
from skfem import (  # type: ignore[import-untyped]
    Basis,
    BilinearForm,
    ElementLineHermite,
    MeshLine,
)


def nodes_between(extent: float, marks: Iterable[float], size: float) -> np.ndarray:
    """Nodes from 0 to `extent` [m] that hit every mark, no more than `size` [m] apart."""
    stops = np.unique(np.round([0.0, extent, *marks], 9))
    if stops[0] < 0 or stops[-1] > extent + 1e-9:
        raise ValueError(f"ribs must lie between 0 and {extent:g} m: {stops[0]:g}, {stops[-1]:g}")
    pieces = [np.zeros(1)]
    for start, end in pairwise(stops):
        count = max(1, ceil((end - start) / size - 1e-6))
        pieces.append(np.linspace(start, end, count + 1)[1:])
    return np.concatenate(pieces)


class Line:
    """Cubic Hermite functions on a line; unknowns (value, slope) node after node."""

    def __init__(self, nodes: np.ndarray) -> None:
        self.nodes = nodes
        self.basis = Basis(MeshLine(nodes), ElementLineHermite(), intorder=6)
        self.count = 2 * len(nodes)
        self._products: dict[tuple[int, int], sparse.csr_matrix] = {}

    def product(self, first: int, second: int) -> sparse.csr_matrix:
        """Integral of the `first` derivative of one function times the `second` of another."""
        if (first, second) not in self._products:

            @BilinearForm
            def form(u: Any, v: Any, _: Any) -> Any:
                return _derivative(v, first) * _derivative(u, second)

            self._products[first, second] = form.assemble(self.basis).tocsr()
        return self._products[first, second]

    def values(self, points: Iterable[float], derivative: int = 0) -> sparse.csr_matrix:
        """Matrix (points x unknowns) of the functions, or their derivative, at `points` [m]."""
        at = np.atleast_1d(np.asarray(points, float))
        cells = np.clip(np.searchsorted(self.nodes, at, side="right") - 1, 0, len(self.nodes) - 2)
        mapping = self.basis.mapping
        local = mapping.invF(at[None, :, None], tind=cells)
        columns, entries = [], []
        for k in range(4):
            field = self.basis.elem.gbasis(mapping, local, k, tind=cells)[0]
            entries.append(np.asarray(_derivative(field, derivative))[:, 0])
            columns.append(self.basis.element_dofs[k, cells])
        rows = np.tile(np.arange(len(at)), 4)
        shape = (len(at), self.count)
        return sparse.coo_matrix(
            (np.concatenate(entries), (rows, np.concatenate(columns))), shape=shape
        ).tocsr()

    def inner(self) -> np.ndarray:
        """Mask of the unknowns left when both ends are held (value zero, slope free)."""
        mask = np.ones(self.count, bool)
        mask[[0, self.count - 2]] = False
        return mask


def _derivative(field: Any, order: int) -> Any:
    return (np.asarray(field), field.grad[0], field.hess[0, 0])[order]


class Grid:
    """Product of a line along x and a line along y; unknown (i, j) sits at i * ny + j."""

    def __init__(self, x: Line, y: Line) -> None:
        self.x, self.y = x, y
        self.count = x.count * y.count

    def product(self, along_x: tuple[int, int], along_y: tuple[int, int]) -> sparse.csr_matrix:
        """Integral over the rectangle of products of derivatives."""
        return sparse.kron(self.x.product(*along_x), self.y.product(*along_y), format="csr")

    def along_x(self, at_y: float, pair: tuple[int, int], across: int) -> sparse.csr_matrix:
        """Line integral along x at y = `at_y`; `across` is the order of the y derivative."""
        row = self.y.values([at_y], across)
        return sparse.kron(self.x.product(*pair), row.T @ row, format="csr")

    def along_y(self, at_x: float, pair: tuple[int, int], across: int) -> sparse.csr_matrix:
        """Line integral along y at x = `at_x`; `across` is the order of the x derivative."""
        row = self.x.values([at_x], across)
        return sparse.kron(row.T @ row, self.y.product(*pair), format="csr")

    def at(self, positions: np.ndarray) -> sparse.csr_matrix:
        """Matrix (points x unknowns) of the displacement at points (x, y) [m]."""
        x = self.x.values(positions[:, 0])
        y = self.y.values(positions[:, 1])
        return sparse.vstack([sparse.kron(x[k], y[k]) for k in range(len(positions))], format="csr")

    def inner(self) -> np.ndarray:
        """Mask of the unknowns left when all four edges are simply supported."""
        return np.kron(self.x.inner(), self.y.inner())

    def dissection(self) -> list[tuple[int, int]]:
        """Nodes (i, j) in nested-dissection order, which keeps sparse factors small.

        Reference: A. George, "Nested dissection of a regular finite element mesh", SIAM Journal
        on Numerical Analysis 10 (1973), 345-363 (cited from memory).
        """
        return _dissect(range(len(self.x.nodes)), range(len(self.y.nodes)))


def _dissect(columns: range, rows: range) -> list[tuple[int, int]]:
    if len(columns) <= 2 and len(rows) <= 2:
        return [(i, j) for i in columns for j in rows]
    if len(columns) >= len(rows):
        half = len(columns) // 2
        parts = _dissect(columns[:half], rows) + _dissect(columns[half + 1 :], rows)
        return parts + [(columns[half], j) for j in rows]
    half = len(rows) // 2
    parts = _dissect(columns, rows[:half]) + _dissect(columns, rows[half + 1 :])
    return parts + [(i, rows[half]) for i in columns]

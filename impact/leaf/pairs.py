"""Sums over the modes' coefficients for chosen pairs of functions along x and y alone.

Plain algebra: no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from impact.leaf.plate import Leaf

ENTRIES = 4_000_000  # that are summed along x at once, 32 MB: of large leaves a few rows


def summed(
    leaf: Leaf, left: np.ndarray, right: np.ndarray, first: np.ndarray, second: np.ndarray
) -> np.ndarray:
    """`Leaf.project` of left (A, Mx) and right (B, My) for pairs of their rows: `first` (P,) of
    left with `second` (P,) of right; (P, n), in kg^-1/2 times the unit of left and right."""
    out = np.empty((len(first), len(leaf.omega)))
    several = max(1, ENTRIES // (leaf.y.count * len(leaf.omega)))
    for start in range(0, len(left), several):
        ahead = leaf.along_x(left[start : start + several])
        for number, values in enumerate(ahead, start):
            mine = np.flatnonzero(first == number)
            out[mine] = right[second[mine]] @ values
    return out

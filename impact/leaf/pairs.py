"""Sums over the modes' coefficients for chosen pairs of functions along x and y alone.

Plain algebra: no source."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from impact.leaf.plate import Leaf

ENTRIES = 4_000_000  # summed along x at once, or kept, 32 MB: of large leaves a few rows, or none


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


def on_cosines(
    leaf: Leaf, plan: tuple[tuple[float, float], ...], counts: tuple[int, int], chosen: np.ndarray
) -> np.ndarray:
    """`summed` for orthonormal cosines over a part of a leaf, (start, length) [m] each way.

    counts : of cosines along x and y; chosen : (P,) places among all their products, y fastest.
    (P, n) in kg^-1/2 m. What was asked for last is kept with the leaf for other stacks.
    """
    key = plan, counts, chosen.tobytes()
    known, found = leaf.kept.get("cosines", (None, np.zeros(0)))
    if key != known:
        left, right = (
            side.cosines(count, *part)
            for side, count, part in zip((leaf.x, leaf.y), counts, plan, strict=True)
        )
        found = summed(leaf, left, right, *np.divmod(chosen, counts[1]))
        if found.size <= ENTRIES:
            leaf.kept["cosines"] = key, found
    return np.asarray(found)

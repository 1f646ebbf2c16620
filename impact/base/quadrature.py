"""Gauss-Legendre points, kept once found."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np


@lru_cache(maxsize=256)
def gauss(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Points on 0..1 and weights (sum 1), both (count,), read-only.

    Exact for polynomials up to degree 2 count - 1 (numpy's leggauss, mapped to 0..1).
    """
    nodes, weights = np.polynomial.legendre.leggauss(count)
    points, weights = (nodes + 1) / 2, weights / 2
    points.flags.writeable = weights.flags.writeable = False
    return points, weights


def piecewise(
    ends: Sequence[float] | np.ndarray, counts: Sequence[int]
) -> tuple[np.ndarray, np.ndarray]:
    """`gauss` points between each two of `ends`, as many as `counts` says, and their weights, both
    in the unit of the ends; exact across kinks that lie on these."""
    pieces = [
        (low, high - low, *gauss(count))
        for (low, high), count in zip(pairwise(ends), counts, strict=True)
    ]
    return (np.concatenate([low + points * side for low, side, points, _ in pieces]),
            np.concatenate([weights * side for _, side, _, weights in pieces]))  # fmt: skip

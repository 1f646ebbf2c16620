"""Gauss-Legendre points, kept once found."""

from __future__ import annotations

from functools import lru_cache

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

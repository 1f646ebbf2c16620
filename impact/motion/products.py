"""Products of real shapes with complex motions, and their squares, as real matrices."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

SQUARES = 150  # links from which half a product is worth a loop over frequencies


def times(real: np.ndarray, other: np.ndarray) -> np.ndarray:
    """real (…, A, B) @ complex (…, B, C), as one product of real matrices."""
    return (real @ np.ascontiguousarray(other).view(float)).view(complex)


def by(other: np.ndarray, real: np.ndarray) -> np.ndarray:
    """complex (…, C, B) @ real (…, B, A)."""
    return times(real.swapaxes(-1, -2), other.swapaxes(-1, -2)).swapaxes(-1, -2)


def weighted(real: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """real diag(weight) real^T of a matrix (L, n), weight (n,) above 0. As a square, of which numpy
    computes one half."""
    scaled = real * np.sqrt(weight)
    return np.asarray(scaled @ scaled.T)


def squared(values: np.ndarray) -> np.ndarray:
    """|values|² without a root."""
    return values.real**2 + values.imag**2


def summed(shapes: Sequence[np.ndarray], weights: Sequence[np.ndarray]) -> np.ndarray:
    """Sum over leaves of B diag(w) B^T, w (…, n): (…, L, L).

    Large ones as squares, since numpy computes just one half of a @ a.T; both ways let other
    threads run meanwhile.
    """
    size = len(shapes[0])
    if size < SQUARES and weights[0].ndim > 1:
        return np.asarray(sum(
            ((b * w[..., None, :]).reshape(-1, b.shape[1]) @ b.T).reshape(*w.shape[:-1], size, size)
            for b, w in zip(shapes, weights, strict=True)
        ))  # fmt: skip
    if weights[0].ndim > 1:
        return np.stack([summed(shapes, each) for each in zip(*weights, strict=True)])
    total = np.zeros((size, size))
    for sign in (1.0, -1.0):
        chosen = [sign * w > 0 for w in weights]
        scaled = np.hstack([
            b[:, c] * np.sqrt(sign * w[c])
            for b, w, c in zip(shapes, weights, chosen, strict=True)
        ])  # fmt: skip
        if scaled.size:
            total += sign * (scaled @ scaled.T)
    return total

"""Products of real shapes with complex motions, and their squares, as real matrices."""

from __future__ import annotations

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


def gram(shapes: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """B diag(w) B^T of shapes B (L, n), w (…, n) of either sign: (…, L, L).

    Large ones as squares, since numpy computes just one half of a @ a.T; both ways let other
    threads run meanwhile.
    """
    size = len(shapes)
    if size < SQUARES and weight.ndim > 1:
        wide = (shapes * weight[..., None, :]).reshape(-1, shapes.shape[1])
        return np.asarray((wide @ shapes.T).reshape(*weight.shape[:-1], size, size))
    if weight.ndim > 1:
        return np.stack([gram(shapes, each) for each in weight])
    total = np.zeros((size, size))
    for sign in (1.0, -1.0):
        chosen = sign * weight > 0
        if chosen.any():
            total += sign * weighted(shapes[:, chosen], sign * weight[chosen])
    return total

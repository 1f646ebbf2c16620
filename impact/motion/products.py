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
    total: np.ndarray | None = None
    for sign in (1.0, -1.0):
        own = in_a_row(np.flatnonzero(sign * weight > 0))  # of modes in their order a few runs
        if isinstance(own, slice) or len(own):
            part = weighted(shapes[:, own], sign * weight[own])
            if total is None:
                total = part if sign > 0 else np.negative(part, out=part)
            else:
                total -= part
    return np.zeros((size, size)) if total is None else total


def sandwich(shapes: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """`gram` of complex weights (…, n): (…, L, L)."""
    out = np.empty((*weight.shape[:-1], len(shapes), len(shapes)), complex)
    out.real, out.imag = gram(shapes, weight.real), gram(shapes, weight.imag)
    return out


def in_a_row(places: np.ndarray) -> slice | np.ndarray:
    """Rising places as a slice, where they are."""
    if len(places) and places[-1] - places[0] == len(places) - 1:
        return slice(int(places[0]), int(places[-1]) + 1)
    return places

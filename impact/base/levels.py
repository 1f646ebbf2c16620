"""From squares to decibels and back; no other file takes the logarithm of a level."""

from __future__ import annotations

from typing import Any

import numpy as np

PRESSURE = 20e-6  # Pa, reference sound pressure (ISO 1683)
TINY = 1e-30  # least ratio of squares that has a level of its own: -300 dB


def decibel(square: Any, reference_square: float = 1.0) -> Any:
    """10 lg(square / reference_square), array-like in, array out [dB]; floors at -300 dB."""
    return 10 * np.log10(np.maximum(np.asarray(square, float) / reference_square, TINY))


def square(level: Any, reference_square: float = 1.0) -> Any:
    """Inverse of `decibel` [units of reference_square]."""
    return reference_square * 10 ** (np.asarray(level, float) / 10)


def add(levels: Any, axis: int | None = None) -> Any:
    """Energy sum of levels [dB] over `axis`."""
    return decibel(np.sum(square(levels), axis=axis))


def squared(values: np.ndarray) -> np.ndarray:
    """|values|² of complex values of any shape, without a root."""
    return np.asarray(values.real**2 + values.imag**2)

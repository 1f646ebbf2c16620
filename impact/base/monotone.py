"""A smooth curve through points that nowhere overshoots them.

Scipy has it too; importing it there takes a quarter of a second of every command.
"""

from __future__ import annotations

import numpy as np


def monotone(x: np.ndarray, y: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Piecewise cubic Hermite curve through (x, y), both (n,), x rising, n > 2, at `at` (m,).

    Slopes of F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304: between two
    intervals the weighted harmonic mean of their slopes, 0 where these differ in sign; at the ends
    by three points, kept from overshooting. Units of y. Outside x the last cubics go on.
    """
    step, rise = np.diff(x), np.diff(y) / np.diff(x)
    before, after = 2 * step[1:] + step[:-1], step[1:] + 2 * step[:-1]
    alike = np.sign(rise[:-1]) * np.sign(rise[1:]) > 0
    one, two = np.where(alike, rise[:-1], 1.0), np.where(alike, rise[1:], 1.0)
    inner = np.where(alike, (before + after) / (before / one + after / two), 0.0)
    ends = _end(*step[:2], *rise[:2]), _end(*step[:-3:-1], *rise[:-3:-1])
    slope = np.r_[ends[0], inner, ends[1]]
    place = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    h, t = step[place], (at - x[place]) / step[place]
    low, high = y[place], y[place + 1]
    return np.asarray(
        low + h * t * (1 - t) ** 2 * slope[place] + h * t**2 * (t - 1) * slope[place + 1]
        + (high - low) * t**2 * (3 - 2 * t)
    )  # fmt: skip


def _end(near: float, far: float, rise: float, next_rise: float) -> float:
    """Slope at an end: of the parabola through three points, within what keeps the shape."""
    slope = ((2 * near + far) * rise - near * next_rise) / (near + far)
    if slope * rise <= 0:
        return 0.0
    if rise * next_rise <= 0 and abs(slope) > 3 * abs(rise):
        return 3 * rise
    return slope

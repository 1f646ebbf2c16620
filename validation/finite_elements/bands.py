"""Third-octave lines and means of the reference."""

from __future__ import annotations

import numpy as np

NOMINAL = (
    10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
)  # fmt: skip


def lines(per_band: int, first: int, last: int) -> np.ndarray:
    """Frequencies [Hz], `per_band` to a third octave, log-spaced, bands `first`..`last`.

    Band n of NOMINAL has the exact centre 10^(1 + n/10) Hz and edges at 10^(-+1/20) of it (base
    ten, IEC 61260-1:2014). Each band is cut into `per_band` equal parts on the logarithmic axis
    and each part gives the line at its middle.
    """
    parts = (np.arange(per_band) + 0.5) / per_band - 0.5
    exponent = 1 + (np.arange(first, last + 1)[:, None] + parts) / 10
    return (10**exponent).ravel()


def mean(per_line: np.ndarray, per_band: int) -> np.ndarray:
    """Arithmetic mean over the lines of each band; lines along the first axis."""
    return per_line.reshape(-1, per_band, *per_line.shape[1:]).mean(axis=1)

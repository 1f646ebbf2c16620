"""What a meter set to F shows of a sound that dies away: ISO 16283-2:2020, for the rubber ball.

Sources and ratings both need it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.linalg import solve_banded

FAST = 0.125  # s, time constant F (IEC 61672-1)
CONSTANT = 1.7275  # s, T of a decay as fast as F: 13.8155 x 0.125 = 1.7269, as the standard rounds


def smoothed(values: np.ndarray, kept: float) -> np.ndarray:
    """First-order low-pass from rest, y_n = kept y_(n-1) + (1 - kept) x_n, of values (…, time).

    kept : what is left after one sample, exp(-dt/tau) [-]. The recursion is a bidiagonal system.
    """
    x = np.asarray(values, float)
    flat = x.reshape(-1, x.shape[-1]).T
    diagonals = np.vstack([np.ones(len(flat)), np.full(len(flat), -kept)])
    found = solve_banded((1, 0), diagonals, flat, check_finite=False)
    return np.asarray((1 - kept) * found.T.reshape(x.shape))


def fast_gain(ratio: Any) -> Any:
    """g(C) [-]: fast maximum of exp(-t/(C FAST)) relative to its start, C = T/CONSTANT.

    g = (C^(1/(1-C)) - C^(-1/(1-1/C)))/(1 - 1/C), g(1) = 1/e (ISO 16283-2:2020). C > 0, any shape.
    """
    c = np.asarray(ratio, float)
    near = np.abs(c - 1) < 1e-4
    safe = np.where(near, 2.0, c)
    value = (safe ** (1 / (1 - safe)) - safe ** (-1 / (1 - 1 / safe))) / (1 - 1 / safe)
    # first order about 1: g = (1 + (C-1)/2)/e, from C^(C/(1-C)), the closed form of the same
    return np.where(near, np.exp(-1.0) * (1 + (c - 1) / 2), value)

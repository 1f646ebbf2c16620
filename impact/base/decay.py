"""What a meter set to F shows of a sound that dies away: ISO 16283-2:2020, for the rubber ball.

Sources and ratings both need it.
"""

from __future__ import annotations

from typing import Any

import numpy as np

FAST = 0.125  # s, time constant F (IEC 61672-1)
BLOCK = 64  # samples
CONSTANT = 1.7275  # s, T of a decay as fast as F: 13.8155 x 0.125 = 1.7269, as the standard rounds


def smoothed(values: np.ndarray, kept: float) -> np.ndarray:
    """First-order low-pass from rest, y_n = kept y_(n-1) + (1 - kept) x_n, of values (…, time).

    kept : what is left after one sample, exp(-dt/tau) [-].
    """
    return np.asarray((1 - kept) * _summed(np.asarray(values, float), kept))


def _summed(x: np.ndarray, kept: float) -> np.ndarray:
    """y_n = kept y_(n-1) + x_n from rest, (…, time): within blocks as a product, from the end of
    one block to that of the next as the same again."""
    count, size = x.shape[-1], min(BLOCK, x.shape[-1])
    apart = np.arange(size) - np.arange(size)[:, None]
    fading = np.where(apart >= 0, float(kept) ** np.abs(apart), 0.0)
    if count <= BLOCK:
        return np.asarray(x @ fading)
    blocks = -(-count // size)
    padded = np.zeros((*x.shape[:-1], blocks * size))
    padded[..., :count] = x
    out = padded.reshape(*x.shape[:-1], blocks, size) @ fading
    ends = _summed(out[..., -1], float(kept) ** size)
    out[..., 1:, :] += ends[..., :-1, None] * float(kept) ** np.arange(1, size + 1)
    return np.asarray(out.reshape(padded.shape)[..., :count])


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

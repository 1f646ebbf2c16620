"""The models' own error by range of bands, from the validation cases; kept in a data file."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np

from impact.base import bands

ENOUGH = 100  # band points with left-out cases before a range counts as calibrated


@lru_cache(maxsize=1)
def ranges() -> tuple[dict[str, Any], ...]:
    """Ranges of nominal bands, each with low_hz, high_hz, standard_uncertainty_db, points, how."""
    text = files("impact.spread").joinpath("data/model_error.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["range"])


def by_band() -> np.ndarray:
    """Standard uncertainty of the model in each band (28,) [dB]."""
    out = np.full(len(bands.NOMINAL), np.nan)
    for row in ranges():
        out[bands.between((row["low_hz"], row["high_hz"]))] = row["standard_uncertainty_db"]
    return out


def calibrated(below_hz: float) -> bool:
    """Whether ENOUGH measured band points stand behind the bands below `below_hz` [Hz]."""
    return sum(row["points"] for row in ranges() if row["low_hz"] < below_hz) >= ENOUGH

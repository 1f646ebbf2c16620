"""Frequency weightings A and C, and weighted sums of bands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base.bands import CENTRES, index
from impact.base.levels import add, decibel
from impact.rating.spectrum import tenth

# IEC 61672-1:2013 Annex E: pole frequencies of the weightings [Hz].
F1, F2, F3, F4 = 20.598997, 107.65265, 737.86223, 12194.217


def c_weighting(frequency_hz: Any) -> NDArray:
    """C weighting [dB] at frequencies [Hz], array-like; 0 at 1 kHz. IEC 61672-1:2013 eq. (E.1)."""

    def response(f: Any) -> Any:
        return (F4**2 * f**2 / ((f**2 + F1**2) * (f**2 + F4**2))) ** 2

    return decibel(response(np.asarray(frequency_hz, float)), response(1000.0))


def a_weighting(frequency_hz: Any) -> NDArray:
    """A weighting [dB] at frequencies [Hz], array-like; 0 at 1 kHz. IEC 61672-1:2013 eq. (E.6)."""

    def high_pass(f: Any) -> Any:
        return f**4 / ((f**2 + F2**2) * (f**2 + F3**2))

    f = np.asarray(frequency_hz, float)
    return c_weighting(f) + decibel(high_pass(f), high_pass(1000.0))


def weighted_level(
    bands_hz: Sequence[float], levels_db: Sequence[float] | NDArray, weighting: str = "A"
) -> float:
    """Weighted sum of third octaves [dB(A)] or [dB(C)], unrounded.

    bands_hz, levels_db : nominal third octaves from 10 Hz to 5 kHz and their levels. The weights
    are those at the exact centres, rounded to 0.1 dB as the table of IEC 61672-1 prints them. Of
    maxima of bands this is an upper estimate of the maximum of the weighted signal. Both (n,).
    """
    weigh = {"A": a_weighting, "C": c_weighting}[weighting]
    exact = [CENTRES[index(band)] for band in bands_hz]
    return float(add(np.asarray(levels_db, float) + tenth(weigh(exact))))

"""Third-octave bands: exact base-ten centres and edges, nominal labels."""

from __future__ import annotations

import math

# IEC 61260-1:2014 clause 5: base-ten ratio G = 10^0.3; third-octave centre 1000 G^(n/3), edges
# G^(+-1/6) about it. Nominal values as in its Annex E.
G = 10**0.3
NOMINAL: tuple[float, ...] = (
    10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
    1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000,
)  # fmt: skip
CENTRES: tuple[float, ...] = tuple(1000 * G ** (n / 3) for n in range(-20, 8))
OCTAVES: tuple[float, ...] = (16, 31.5, 63, 125, 250, 500, 1000, 2000, 4000)

WIDTH = 10**0.05 - 10**-0.05  # width of a third octave over its centre: 0.2308

# Our own definitions of what a listener below calls the sounds (nominal bands, inclusive).
FOOTFALL = (10.0, 100.0)
THUD = (16.0, 80.0)
KNOCK = (100.0, 315.0)
CLICK = (400.0, 5000.0)
REGIONS = {"thud": THUD, "knock": KNOCK, "click": CLICK}


def edges(centre: float) -> tuple[float, float]:
    """Lower and upper edge of the third octave at an exact `centre` [Hz] (IEC 61260-1 eq. 4, 5)."""
    return centre * G ** (-1 / 6), centre * G ** (1 / 6)


def nominal(frequency: float) -> float:
    """Nominal label of the third octave that holds `frequency` [Hz], 10 to 5000 Hz.

    Raises ValueError outside 10 Hz to 5 kHz bands.
    """
    n = round(30 * math.log10(frequency / 1000) / 3)
    if not -20 <= n <= 7:
        raise ValueError(f"{frequency:g} Hz lies outside the third octaves 10 Hz to 5 kHz")
    return NOMINAL[n + 20]


def index(band_hz: float) -> int:
    """Place of a nominal band [Hz] in NOMINAL; ValueError when it is none of them."""
    for i, label in enumerate(NOMINAL):
        if abs(label - band_hz) < 1e-6:
            return i
    raise ValueError(f"{band_hz:g} Hz is not a nominal third octave from 10 Hz to 5 kHz")


def between(region: tuple[float, float]) -> slice:
    """Slice of NOMINAL from one nominal band to another, both included."""
    return slice(index(region[0]), index(region[1]) + 1)


def label(band_hz: float) -> str:
    """A nominal band as printed: '12.5', '1k', '1.25k'."""
    return f"{band_hz:g}" if band_hz < 1000 else f"{band_hz / 1000:g}k"


def named(band_hz: float) -> str:
    """A nominal band in a sentence: '12.5 Hz', '1.25 kHz'."""
    return f"{band_hz:g} Hz" if band_hz < 1000 else f"{band_hz / 1000:g} kHz"

"""Sound-level-meter arithmetic: third-octave filters, fast and slow detectors, their maxima.

Filters: Butterworth band-passes of six poles about the exact base-ten centres (IEC 61260-1:2014),
their design bandwidth narrowed by sin(pi/6)/(pi/6) so that each passes white noise as an ideal
band does and the bands of a smooth spectrum add up to it. At the band edges they are 3.7 dB down.
Detectors: squared, then first-order with 0.125 s (F) or 1 s (S) (IEC 61672-1).

Two ways to the same maximum: `band_maxima` filters a sampled signal; `fast_maximum` takes the
transform of one event on a uniform grid and works band by band at the band's own low rate.
All results are mean squares; decibels are the caller's.
"""

from __future__ import annotations

import math
import warnings
from functools import lru_cache
from typing import Any

import numpy as np
from scipy import fft

from impact.base import decay

TIME_CONSTANTS = {"fast": decay.FAST, "slow": 1.0}  # s, IEC 61672-1
ORDER = 3
_NARROWING = math.sin(math.pi / (2 * ORDER)) / (math.pi / (2 * ORDER))
_HALF = 10**0.05  # G^(1/6), from centre to edge
_RIPPLE_LIMIT = 200.0  # Hz: below, squares keep their ripple at twice the frequency, as a meter's


def _design_edges(centre: float) -> tuple[float, float]:
    """Half-power edges [Hz], about `centre` geometrically, of the narrowed width."""
    half_width = centre * (_HALF - 1 / _HALF) * _NARROWING / 2
    root = math.hypot(half_width, centre)
    return root - half_width, root + half_width


def filter_response(frequencies: Any, centre: float) -> Any:
    """Complex response [-] of the third-octave filter at exact `centre` [Hz]; frequencies in Hz.

    H = 1/B(iX), B = s^3 + 2 s^2 + 2 s + 1 (Butterworth), X = Q (f/fc - fc/f): |H|^2 =
    1/(1 + X^6). Causal, for exp(+2 pi i f t).
    """
    frequency = np.asarray(frequencies, float)
    low, high = _design_edges(centre)
    safe = np.where(frequency == 0, 1.0, frequency)
    s = 1j * (safe**2 - centre**2) / (safe * (high - low))
    response = 1 / (((s + 2) * s + 2) * s + 1)
    return np.where(frequency == 0, 0.0, response)


def band_signal(samples: Any, rate: float, centre: float) -> Any:
    """`samples` (..., time) through the third-octave filter at exact `centre` [Hz]; same shape.

    rate : 1/s, at least 2.5 times the centre. Bilinear transform with both edges exact; take a
    rate of eight centres and more for a true shape. Raises ValueError for too low a rate.
    """
    low, high = _design_edges(centre)
    if high > 0.45 * rate:
        raise ValueError(f"band {centre:.5g} Hz needs more than {high / 0.45:.0f} samples a second")
    from scipy import signal  # half a second, and only signals need it

    sections = signal.butter(ORDER, [low, high], "bandpass", fs=rate, output="sos")
    return signal.sosfilt(sections, samples, axis=-1)


def exponential(mean_square: Any, rate: float, weighting: str = "fast") -> Any:
    """Exponential average of squares (..., time) from rest, same shape and unit.

    weighting : "fast" or "slow". IEC 61672-1, time constants 0.125 and 1 s.
    """
    kept = math.exp(-1 / (rate * TIME_CONSTANTS[weighting]))
    return decay.smoothed(mean_square, kept)


def band_maxima(samples: Any, rate: float, centres: Any, weighting: str = "fast") -> Any:
    """Largest detector output per third octave of a sampled signal, (..., bands) [unit^2].

    samples : (..., time), from rest; add a second of silence behind a short event. centres :
    exact, Hz. Low bands work on the signal decimated by powers of two (16 and more a period).
    """
    from scipy import signal

    # anti-alias filter of one halving, over 100 dB down where it folds onto bands still to come
    halving = signal.firwin(63, 0.45, window=("kaiser", 12.0))
    centre = np.asarray(centres, float)
    # silence in front, so that the symmetric halving filters do not lose what comes at once
    silence = [(0, 0)] * (np.ndim(samples) - 1) + [(math.ceil(3 * rate / centre.min()), 0)]
    current, current_rate = np.pad(np.asarray(samples, float), silence), float(rate)
    maxima = np.empty((*current.shape[:-1], centre.size))
    for place in np.argsort(centre)[::-1]:
        while current_rate / 2 >= 16 * centre[place] and current.shape[-1] > 64:
            current = signal.resample_poly(current, 1, 2, axis=-1, window=halving)
            current_rate /= 2
        band = band_signal(current, current_rate, centre[place])
        maxima[..., place] = np.max(exponential(band**2, current_rate, weighting), axis=-1)
    return maxima


def maximum(samples: Any, rate: float, weighting: str = "fast") -> Any:
    """Largest detector output of a broadband signal, (...) [unit^2]; samples (..., time)."""
    return np.max(exponential(np.asarray(samples, float) ** 2, rate, weighting), axis=-1)


def fast_maximum(spectrum: Any, df: float, centres: Any, weighting: str = "fast") -> Any:
    """Largest detector output per third octave of one event, (..., bands) [unit^2].

    spectrum : (..., n) complex transform X(f) = int x exp(-2 pi i f t) dt of the event [unit s] at
    f = 0, df, 2 df, ...; the event starts at t = 0 from rest and must have died away within 1/df
    (a warning says so when it has not). centres : exact, Hz, upper edges inside the grid.

    Each band: X times `filter_response`, back to time as x(t) = 2 Re int X H exp(2 pi i f t) df.
    Up to 200 Hz x^2 itself is averaged; above, the square of its envelope over two, at a rate
    set by the band's width.
    """
    values = np.asarray(spectrum, complex)
    centre = np.atleast_1d(np.asarray(centres, float))
    _check_grid(values.shape[-1], df, float(centre.max()) * _HALF)
    maxima = np.empty((*values.shape[:-1], centre.size))
    for place, frequency in enumerate(centre):
        square, rate = band_square(values, df, float(frequency))
        maxima[..., place] = _watched_maximum(square, rate, weighting, f"{frequency:.4g} Hz")
    return maxima


def weighted_maximum(spectrum: Any, df: float, gain: Any, weighting: str = "fast") -> Any:
    """Largest detector output of the whole event under a frequency weighting, (...) [unit^2].

    spectrum, df : as in `fast_maximum`; gain : (n,) amplitude factor (A weighting: 10^(A/20)),
    taken without phase. The grid must reach the highest frequency that matters.
    """
    values = np.asarray(spectrum, complex) * np.asarray(gain, float)
    square, rate = _square(values, df, values.shape[-1])
    return _watched_maximum(square, rate, weighting, "the weighted signal")


def band_exposure(spectrum: Any, df: float, centres: Any) -> Any:
    """Exposure int x^2 dt per third octave of one event through the same filters [unit^2 s].

    2 int |X H|^2 df; arguments and shapes as in `fast_maximum`.
    """
    power = np.abs(np.asarray(spectrum, complex)) ** 2
    centre = np.atleast_1d(np.asarray(centres, float))
    _check_grid(power.shape[-1], df, float(centre.max()) * _HALF)
    frequency = df * np.arange(power.shape[-1])
    gains = np.stack([np.abs(filter_response(frequency, float(f))) ** 2 for f in centre])
    return 2 * df * power @ gains.T


def _check_grid(points: int, df: float, highest: float) -> None:
    if df <= 0 or df * (points - 1) < highest:
        raise ValueError(
            f"spectrum reaches {df * (points - 1):.5g} Hz in steps of {df:g} Hz; "
            f"the bands need {highest:.5g} Hz"
        )


def band_square(values: Any, df: float, centre: float) -> tuple[Any, float]:
    """Squared band signal of an event against time, (..., time), and its rate [1/s].

    Arguments as in `fast_maximum`, one exact centre [Hz]; up to 200 Hz the square itself, above
    its envelope's over two. Before any detector.
    """
    reach = 4.0 if centre <= _RIPPLE_LIMIT else 2.0  # 73 or 51 dB down where the filter is cut
    first = max(math.floor(centre / reach / df), 1)
    last = min(math.ceil(centre * reach / df), values.shape[-1] - 1)
    band = values[..., first : last + 1] * _response(df, first, last, centre)
    if centre <= _RIPPLE_LIMIT:
        padded = np.zeros((*values.shape[:-1], last + 1), complex)
        padded[..., first:] = band
        return _square(padded, df, last + 1)
    count = fft.next_fast_len(2 * (last + 1 - first))
    envelope = fft.ifft(band, count, axis=-1) * (2 * count * df)
    return np.abs(envelope) ** 2 / 2, count * df


@lru_cache(maxsize=64)
def _response(df: float, first: int, last: int, centre: float) -> Any:
    """`filter_response` at the lines from `first` to `last` of a grid: events share theirs."""
    return filter_response(df * np.arange(first, last + 1), centre)


def _square(values: Any, df: float, points: int) -> tuple[Any, float]:
    """x^2 against time of a one-sided spectrum, sampled above four times its highest frequency."""
    count = fft.next_fast_len(4 * points, real=True)
    samples = fft.irfft(values, count, axis=-1) * (count * df)
    return samples**2, count * df


def _watched_maximum(square: Any, rate: float, weighting: str, what: str) -> Any:
    """Maximum of the averaged squares; warns when much of the event is left at the end."""
    level = exponential(square, rate, weighting)
    largest = np.max(level, axis=-1)
    if weighting == "fast" and np.any(level[..., -1] > 0.1 * largest):
        warnings.warn(
            f"{what}: the event has not died away within 1/df = {level.shape[-1] / rate:.3g} s; "
            "take a smaller df",
            stacklevel=3,
        )
    return largest

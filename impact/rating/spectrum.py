"""What every rating needs: pick its bands, round as standards do, shift a contour.

Bands as in IEC 61260-1; rounding and shifting as in ISO 717-2:2020, clauses 4.3 and 4.4.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from impact.base.bands import NOMINAL, OCTAVES

_HALF = 0.5


class MissingBands(ValueError):
    """A rating needs bands the spectrum does not have; `bands_hz` names them."""

    def __init__(self, bands_hz: Sequence[float]) -> None:
        self.bands_hz = tuple(bands_hz)
        super().__init__(f"missing bands: {', '.join(f'{band:g}' for band in bands_hz)} Hz")


def thirds(low: float, high: float) -> tuple[float, ...]:
    """Nominal third octaves [Hz] from `low` to `high`, both included."""
    return tuple(band for band in NOMINAL if low <= band <= high)


def is_octaves(bands_hz: Sequence[float]) -> bool:
    """True when two bands or more are given and each is an octave band, 1 Hz to 16 kHz.

    A set of third octaves that are all octave centres cannot be told from octaves and is taken as
    octaves: no rating could be made of it otherwise.
    """
    octave_centres = {1.0, 2.0, 4.0, 8.0, *OCTAVES, 8000.0, 16000.0}
    return len(bands_hz) > 1 and all(float(band) in octave_centres for band in bands_hz)


def missing(bands_hz: Sequence[float], wanted: Sequence[float]) -> tuple[float, ...]:
    """Those of `wanted` [nominal Hz] that `bands_hz` does not hold."""
    have = {float(band) for band in bands_hz}
    return tuple(band for band in wanted if band not in have)


def pick(
    bands_hz: Sequence[float], levels_db: Sequence[float] | NDArray, wanted: Sequence[float]
) -> NDArray:
    """Levels [dB] of the `wanted` bands, in their order.

    bands_hz, levels_db : n nominal bands [Hz] and n levels [dB]. Raises MissingBands, and
    ValueError when lengths differ or a wanted level is not a finite number.
    """
    values = np.asarray(levels_db, float)
    if values.shape != (len(bands_hz),):
        raise ValueError(f"{len(bands_hz)} bands but levels of shape {values.shape}")
    lost = missing(bands_hz, wanted)
    if lost:
        raise MissingBands(lost)
    at = {float(band): value for band, value in zip(bands_hz, values, strict=True)}
    picked = np.array([at[band] for band in wanted])
    if not np.all(np.isfinite(picked)):
        raise ValueError("levels must be finite numbers")
    return picked


def half_up(values: float | NDArray, step: float = 1.0) -> NDArray:
    """Round to a multiple of `step` (1 or 0.1), halves upwards; in units of `step`, as integers.

    Upwards means towards plus infinity: -10.5 gives -10. Binary noise below 1e-6 of a step is
    taken off first, so that 68.25 read from text rounds to 68.3 whatever its binary form.
    For levels in dB: (n,) in, (n,) out.
    """
    return np.floor(np.round(np.asarray(values, float) / step, 6) + _HALF).astype(int)


def integer(value: float) -> int:
    """Round half up to a whole decibel."""
    return int(half_up(value))


def tenth(values: float | NDArray) -> NDArray:
    """Round half up to 0.1 dB. (n,) in, (n,) out."""
    return half_up(values, 0.1) / 10


def lowest_shift(
    excess: NDArray, sum_limit: int, single_limit: int | None = None, step: int = 1
) -> int:
    """Smallest multiple s of `step` with sum(max(0, excess - s)) <= sum_limit.

    excess : levels minus unshifted contour, integers (dB or tenths of dB); limits in the same unit.
    single_limit : largest excess allowed in any one band, None for no such limit.
    """
    shift = -(-int(np.max(excess)) // step) * step  # nothing exceeds it here
    while True:
        over = np.maximum(0, excess - (shift - step))
        too_much = single_limit is not None and int(np.max(over)) > single_limit
        if too_much or int(np.sum(over)) > sum_limit:
            return shift
        shift -= step

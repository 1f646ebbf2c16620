"""JIS A 1419-2: floor impact grades by curve, octave bands."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from impact.rating.spectrum import MissingBands, half_up, is_octaves, pick

# JIS A 1419-2, the curve L-50; other grades lie parallel to it, 5 dB apart.
OCTAVE_BANDS = (63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0)
CURVE_L50 = (73, 63, 56, 50, 47, 46, 46)
ALLOWANCE = 2.0  # dB by which a band may exceed its curve; from memory, check the standard
HEAVY_BANDS = OCTAVE_BANDS[:4]  # ball and tyre: 63 to 500 Hz; from memory, check the standard
LIGHT_BANDS = OCTAVE_BANDS[1:6]  # tapping machine: 125 to 2000 Hz; from memory, check the standard


def l_number(
    octaves_hz: Sequence[float],
    levels_db: Sequence[float] | NDArray,
    source: str = "heavy",
    grade_step: int = 1,
    allowance_db: float = ALLOWANCE,
) -> int:
    """L-number [dB]: lowest curve that no band exceeds by more than the allowance.

    octaves_hz, levels_db : nominal octaves [Hz] and levels [dB] (fast maxima for the heavy source).
    source : "heavy" (63-500 Hz) or "light" (125-2000 Hz). grade_step : 1 for the number, 5 for the
    grade. JIS A 1419-2 curves; allowance and bands from memory, check the standard. Raises
    MissingBands, of third octaves too, and KeyError for an unknown source. Both (n,), of equal
    length.
    """
    bands = {"heavy": HEAVY_BANDS, "light": LIGHT_BANDS}[source]
    if not is_octaves(octaves_hz):
        raise MissingBands(bands)
    curve = np.array(CURVE_L50[OCTAVE_BANDS.index(bands[0]) :][: len(bands)])
    tenths = half_up(pick(octaves_hz, levels_db, bands), 0.1) - 10 * curve
    shift = -(-(int(np.max(tenths)) - round(10 * allowance_db)) // (10 * grade_step)) * grade_step
    return 50 + shift

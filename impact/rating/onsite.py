"""From what is measured in a building to what is rated: references, small rooms, background.

ISO 16283-2:2020 unless a docstring says otherwise. Levels in dB, arrays of any shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import decay
from impact.base.levels import decibel, square
from impact.rating import astm, summary
from impact.rating.spectrum import pick, thirds

REFERENCE_AREA = 10.0  # m2, A0
REFERENCE_TIME = 0.5  # s, T0
SABINE = 0.16  # s/m
SMALL_ROOM = 25.0  # m3: below it the low-frequency procedure applies
LOW_BANDS = thirds(50, 80)
BALL_VOLUME = 50.0  # m3, V0

# Rules for a background close below the signal: name -> (least difference [dB] at which energies
# are subtracted, correction [dB] below that difference).
BACKGROUND_RULES: dict[str, tuple[float, float]] = {
    "new": (6.0, 10 * np.log10(1 / (1 - 10**-0.6))),  # 1.26 dB, ASTM E1007 as now in force
    "old": (5.0, 2.0),  # ASTM E1007 before
    "iso": (6.0, 1.3),  # ISO 16283-2:2020; from memory, check the standard
}
BACKGROUND_CLEAR = 10.0  # dB above which nothing is corrected; from memory, check the standard
# ISO 16283-2 subtracts energies where the difference is "smaller than 10 dB but greater than 6 dB",
# so its two ends fall outside; from memory, check the standard. The other rules hold them inside.
ENDS_OUTSIDE = ("iso",)
DIGITS = 6  # of a difference: levels are decimal, and 60.3 - 54.3 is to be 6 dB as 60 - 54 is


def normalized(levels_db: Any, volume_m3: float, reverberation_time_s: Any) -> NDArray:
    """L'n = L + 10 lg(A/A0), A = 0.16 V/T, A0 = 10 m2 [dB]; ISO 16283-2:2020 clause 3."""
    area = SABINE * volume_m3 / np.asarray(reverberation_time_s, float)
    return np.asarray(levels_db, float) + decibel(area, REFERENCE_AREA)


def standardized(levels_db: Any, reverberation_time_s: Any) -> NDArray:
    """L'nT = L - 10 lg(T/T0), T0 = 0.5 s [dB]; ISO 16283-2:2020 clause 3. Levels and times (n,)."""
    time = np.asarray(reverberation_time_s, float)
    return np.asarray(levels_db, float) - decibel(time, REFERENCE_TIME)


def standardized_from_normalized(normalized_db: Any, volume_m3: float) -> NDArray:
    """L'nT = L'n - 10 lg(0.032 V) [dB]; from the two definitions, V in m3."""
    factor = SABINE * volume_m3 / (REFERENCE_TIME * REFERENCE_AREA)
    return np.asarray(normalized_db, float) - decibel(factor)


def field_ratings(
    bands_hz: Sequence[float], normalized_db: Any, volume_m3: float, reverberation_time_s: float
) -> dict[str, int | float | None]:
    """Single numbers of a building by their own keys, from levels L'n (n,) [dB] in `bands_hz` (n,).

    LnT_w, CI, CI_50_2500, NISR, HIR, LIR of L'nT = L'n - 10 lg(0.032 V); AIIC of L'n itself; ISR of
    the level in the room as it is, L' = L'n - 10 lg(0.16 V/(T A0)). V in m3, T in s. None where
    bands lack.
    """
    standard = standardized_from_normalized(normalized_db, volume_m3)
    found = summary.rate(bands_hz, standard, kind="field")
    keys = {"Ln_w": "LnT_w", "CI": "CI", "CI_50_2500": "CI_50_2500", "IIC": "NISR",
            "HIIC": "HIR", "LIIC": "LIR"}  # fmt: skip
    plain = np.asarray(normalized_db, float) - normalized(0.0, volume_m3, reverberation_time_s)
    return {
        **{name: found[key] for key, name in keys.items()},
        "AIIC": astm.iic(bands_hz, normalized_db), "ISR": astm.iic(bands_hz, plain),
    }  # fmt: skip


def ball_standardized(levels_db: Any, volume_m3: float, reverberation_time_s: Any) -> NDArray:
    """L'i,Fmax,V,T of the rubber ball [dB]; ISO 16283-2:2020.

    Li,Fmax + 10 lg(V/V0) - 10 lg(g(C)/g(C0)), V0 = 50 m3, C = T/1.7275 s, C0 with T0 = 0.5 s.
    Levels and times (n,).
    """
    time = np.asarray(reverberation_time_s, float) / decay.CONSTANT
    gain = decay.fast_gain(time) / decay.fast_gain(REFERENCE_TIME / decay.CONSTANT)
    return np.asarray(levels_db, float) + decibel(volume_m3, BALL_VOLUME) - decibel(gain)


def small_room_square(corner: Any, average: Any) -> NDArray:
    """Mean square of the low-frequency procedure, (corner + 2 average)/3 [Pa2, or as given].

    As `small_room_level`, from mean squares of any shape; ISO 16283-2:2020.
    """
    return (np.asarray(corner, float) + 2 * np.asarray(average, float)) / 3


def small_room_level(corner_db: Any, average_db: Any) -> NDArray:
    """Level of a room below 25 m3 in 50, 63, 80 Hz: 10 lg((10^(Lc/10) + 2 10^(L/10))/3) [dB].

    corner_db : highest of the corners in each band; average_db : energy average of the default
    positions. The reverberation time of the 63 Hz octave serves all three bands. ISO 16283-2:2020
    low-frequency procedure. All (3,).
    """
    return decibel(small_room_square(square(corner_db), square(average_db)))


def with_small_room(
    bands_hz: Sequence[float], average_db: Any, corner_db: Sequence[float], volume_m3: float
) -> NDArray:
    """Levels [dB] with 50, 63 and 80 Hz replaced by `small_room_level` where V < 25 m3.

    bands_hz, average_db : all bands; corner_db : 50, 63, 80 Hz. In a larger room `average_db`
    comes back as it is. Raises MissingBands. Result (n,), as average_db.
    """
    levels = np.array(average_db, float)
    if volume_m3 >= SMALL_ROOM:
        return levels
    low = small_room_level(corner_db, pick(bands_hz, levels, LOW_BANDS))
    places = [list(bands_hz).index(band) for band in LOW_BANDS]
    levels[places] = low
    return levels


def background_corrected(
    combined_db: Any, background_db: Any, rule: str = "new"
) -> tuple[NDArray, NDArray]:
    """Level of the signal alone [dB], and where it is only a limit (True: not more than this).

    Difference above 10 dB: as measured; down to the rule's least difference: energies subtracted;
    below: the rule's fixed correction, marked. Rules (BACKGROUND_RULES): "new" 6 dB and 1.26 dB,
    "old" 5 dB and 2 dB (ASTM E1007), "iso" 6 dB and 1.3 dB, with 10 dB as clear and 6 dB as too
    close (ENDS_OUTSIDE). Raises KeyError for another name. Both results (n,), as the levels given.
    """
    least, fixed = BACKGROUND_RULES[rule]
    combined = np.asarray(combined_db, float)
    difference = np.round(combined - np.asarray(background_db, float), DIGITS)
    if rule in ENDS_OUTSIDE:
        limited, clear = difference <= least, difference >= BACKGROUND_CLEAR
    else:
        limited, clear = difference < least, difference > BACKGROUND_CLEAR
    lost = 1 - square(-np.where(limited, BACKGROUND_CLEAR, difference))
    result = np.where(limited, combined - fixed, combined + decibel(lost))
    return np.where(clear, combined, result), limited

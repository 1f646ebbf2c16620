"""What is heard: threshold, loudness level, background, and how large a change is noticed.

No threshold is standardized below 20 Hz, so `threshold` and the loudness are NaN there. Where it
is told what is heard, a measured threshold serves in those bands (`BELOW_20_HZ`).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import bands, levels
from impact.base.bands import NOMINAL

HEARD_FROM = 20.0  # Hz: lowest band of ISO 226
# ISO 226:2023 Table 1: frequency [Hz], exponent alpha_f, transfer L_U [dB], threshold T_f [dB].
# Rows above 5 kHz are not used here.
ISO_226 = (
    (20, 0.635, -31.5, 78.1),
    (25, 0.602, -27.2, 68.7),
    (31.5, 0.569, -23.1, 59.5),
    (40, 0.537, -19.3, 51.1),
    (50, 0.509, -16.1, 44.0),
    (63, 0.482, -13.1, 37.5),
    (80, 0.456, -10.4, 31.5),
    (100, 0.433, -8.2, 26.5),
    (125, 0.412, -6.3, 22.1),
    (160, 0.391, -4.6, 17.9),
    (200, 0.373, -3.2, 14.4),
    (250, 0.357, -2.1, 11.4),
    (315, 0.343, -1.2, 8.6),
    (400, 0.330, -0.5, 6.2),
    (500, 0.320, 0.0, 4.4),
    (630, 0.311, 0.4, 3.0),
    (800, 0.303, 0.5, 2.2),
    (1000, 0.300, 0.0, 2.4),
    (1250, 0.295, -2.7, 3.5),
    (1600, 0.292, -4.2, 1.7),
    (2000, 0.290, -1.2, -1.3),
    (2500, 0.290, 1.4, -4.2),
    (3150, 0.289, 2.3, -6.0),
    (4000, 0.289, 1.0, -5.4),
    (5000, 0.289, -2.3, -1.5),
)
# Thresholds of pure tones below 20 Hz [dB] by band: means of listening tests (Watanabe and Moller,
# J. Low Freq. Noise Vib. 9, 1990; Moller and Pedersen, Noise and Health 6, 2004), from memory.
BELOW_20_HZ = {10.0: 97.0, 12.5: 92.0, 16.0: 88.0}
# ISO 389-7:2005 threshold [dB]: frequency [Hz], free field from the front, diffuse field.
ISO_389_7 = (
    (125, 22.1, 22.1),
    (250, 11.4, 11.4),
    (500, 4.4, 3.8),
    (750, 2.4, 1.2),
    (1000, 2.4, 0.8),
    (1500, 2.4, 1.0),
    (2000, -1.3, -1.5),
    (3000, -5.8, -4.0),
    (4000, -5.4, -3.8),
    (6000, 4.3, 1.4),
)
# Just noticeable change of a heavy soft impact in timber buildings: 4.65 dB in a listening study
# with the rubber ball (abstract read), so 4.6 dB is not noticed and 4.7 dB is.
NOTICED = 4.7  # dB
HALF_AS_LOUD = 10.0  # dB, common rule for middle frequencies, from memory; less is needed in bass

# Words for the largest level over threshold and background; limits [dB] are our own judgement.
GRADES = (
    (0.0, "not heard"), (10.0, "faint"), (20.0, "clear"), (30.0, "loud"), (40.0, "very loud"),
    (float("inf"), "extreme"),
)  # fmt: skip


def grade(excess: float) -> str:
    """Word of GRADES for the largest level over threshold and background [dB]; NaN: not heard.

    Whole decibels count, as they are printed: 39.6 and 40.4 dB would both read "+40".
    """
    for limit, word in GRADES:
        if not excess >= limit + 0.5:
            return word
    raise AssertionError("the last limit is infinite")


def _rows(bands_hz: Sequence[float]) -> NDArray:
    """alpha, L_U, T of each nominal band, NaN where ISO 226 has none; shape (n, 3)."""
    table = {float(row[0]): row[1:] for row in ISO_226}
    return np.array([table.get(float(band), (np.nan,) * 3) for band in bands_hz]).reshape(-1, 3)


def threshold(bands_hz: Sequence[float] = NOMINAL, field: str = "free") -> NDArray:
    """Hearing threshold of pure tones, young listeners [dB], per nominal third octave; shape (n,).

    field "free": ISO 226:2023 Table 1. field "diffuse": the same plus the difference of the two
    columns of ISO 389-7:2005, interpolated over the logarithm of frequency (0 below 250 Hz). NaN
    below 20 Hz. Raises ValueError for another field.
    """
    if field not in ("free", "diffuse"):
        raise ValueError(f"field {field!r}: 'free' or 'diffuse'")
    free = _rows(bands_hz)[:, 2]
    if field == "free":
        return free
    at, front, around = np.array(ISO_389_7, float).T
    return free + np.interp(np.log(np.asarray(bands_hz, float)), np.log(at), around - front)


def contour(phon: float, bands_hz: Sequence[float] = NOMINAL) -> NDArray:
    """Sound pressure level of pure tones as loud as `phon` [dB], shape (n,); NaN below 20 Hz.

    ISO 226:2023 formula (1), valid from 20 phon to 90 phon (80 phon from 5 kHz).
    """
    alpha, transfer, limit = _rows(bands_hz).T
    grown = 4e-10 ** (0.3 - alpha) * (10 ** (0.03 * phon) - 10**0.072)
    at_limit = 10 ** (alpha * (limit + transfer) / 10)
    return 10 / alpha * np.log10(grown + at_limit) - transfer


def loudness_level(levels_db: Any, bands_hz: Sequence[float] = NOMINAL) -> NDArray:
    """Loudness level of pure tones [phon], shape (n,); NaN below threshold and below 20 Hz.

    The inverse of ISO 226:2023 formula (1). A band of noise taken as one tone at its centre.
    """
    alpha, transfer, limit = _rows(bands_hz).T
    levels = np.asarray(levels_db, float)
    heard = 10 ** (alpha * (levels + transfer) / 10) - 10 ** (alpha * (limit + transfer) / 10)
    heard = np.where(heard >= 0, heard, np.nan)
    return 100 / 3 * np.log10(heard * 4e-10 ** (alpha - 0.3) + 10**0.072)


def over_threshold(levels_db: Any, bands_hz: Sequence[float] = NOMINAL) -> NDArray:
    """Level above the free-field threshold [dB] (sensation level), shape (n,); NaN below 20 Hz."""
    return np.asarray(levels_db, float) - threshold(bands_hz)


def least_heard(background_db: Any = (), bands_hz: Sequence[float] = NOMINAL) -> NDArray:
    """The higher of threshold and background [dB], shape (n,): a level above it is heard.

    background_db : third-octave levels of the room [dB], NaN where unknown; empty: none is known.
    The threshold is ISO 226's from 20 Hz up and BELOW_20_HZ's down to 10 Hz; lower bands have the
    background alone and are NaN without one.
    """
    low = [BELOW_20_HZ.get(float(band), np.nan) for band in bands_hz]
    floor = np.fmax(threshold(bands_hz), low)
    background = np.asarray(background_db, float)
    return np.fmax(floor, background) if background.size else floor


def audible_excess(
    levels_db: Any, background_db: Any = (), bands_hz: Sequence[float] = NOMINAL
) -> NDArray:
    """Level above the higher of threshold and background [dB], shape (n,).

    As `least_heard` has it. A comparison of band levels with a threshold of tones, as is common
    practice; masking across bands is left out.
    """
    return np.asarray(levels_db, float) - least_heard(background_db, bands_hz)


def heard_part(region: tuple[float, float]) -> slice:
    """Slice of the bands of a region that have a threshold of hearing."""
    return bands.between((max(region[0], HEARD_FROM), region[1]))


def heard_level(level: NDArray, region: tuple[float, float]) -> float:
    """A region weighted by hearing [dB]: energy sum of band levels (28,) over the threshold of
    ISO 226, which begins at 20 Hz, and so does the sum. A plain sum of the thud would be ruled by
    16 and 20 Hz, which are hardly heard."""
    return float(levels.add((level - threshold())[heard_part(region)]))


def change_words(change_db: float) -> str:
    """What a listener makes of a change of a heavy soft impact by `change_db` [dB].

    Boundary NOTICED (4.7 dB, a listening study), HALF_AS_LOUD (10 dB, common rule from memory), of
    the change to a tenth, as it is printed beside.
    """
    tenths = round(abs(change_db), 1)
    if not tenths >= NOTICED:
        return "little or no difference"
    direction = "quieter" if change_db < 0 else "louder"
    if tenths < HALF_AS_LOUD:
        return f"noticeably {direction}"
    return "about half as loud or less" if change_db < 0 else "about twice as loud or more"


def heard_words(change_db: float, before: bool, now: bool) -> str:
    """`change_words` of a change by `change_db` [dB]; of what is not heard `now`, that it is not.

    before, now : whether it stands over the threshold of hearing.
    """
    if now:
        return change_words(change_db)
    return "no longer heard" if before else "not heard in either"

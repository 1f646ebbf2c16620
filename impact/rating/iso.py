"""ISO 717-2:2020, single numbers of impact sound: one function for each, with its clause.

All take nominal bands [Hz] and levels [dB] of equal length, in any order, third octaves or
octaves (`spectrum.is_octaves`), and raise `MissingBands` with the bands they lack. Given field
levels L'n or L'nT instead of Ln, the same functions yield L'n,w and L'nT,w.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from impact.base.levels import add
from impact.rating.spectrum import (
    half_up,
    integer,
    is_octaves,
    lowest_shift,
    pick,
    tenth,
    thirds,
)

Levels = Sequence[float] | NDArray

THIRDS = thirds(100, 3150)
OCTAVE_BANDS: tuple[float, ...] = (125.0, 250.0, 500.0, 1000.0, 2000.0)

# ISO 717-2:2020 Table 3: reference values of impact sound.
REFERENCE_THIRDS: tuple[int, ...] = (62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42)
# The octave column of Table 3, from memory, check the standard.
REFERENCE_OCTAVES: tuple[int, ...] = (67, 67, 65, 62, 49)
SUM_LIMIT_THIRDS = 32.0  # dB, clause 4.3.1
SUM_LIMIT_OCTAVES = 10.0  # dB, clause 4.3.2
OCTAVE_OFFSET = 5  # dB, clause 4.3.2: the octave rating is 5 dB below the shifted curve at 500 Hz

# ISO 717-2:2020 Table 4: the heavyweight reference floor, third octaves 100 to 3150 Hz.
HEAVY_FLOOR = (67, 67.5, 68, 68.5, 69, 69.5, 70, 70.5, 71, 71.5, 72, 72, 72, 72, 72, 72)
HEAVY_FLOOR_LN_W = 78  # dB, clause 5.2
HEAVY_FLOOR_CI = -11  # dB, clause A.2.2

# ISO 717-2:2020 Annex D: A-weighting used for heavy and soft sources, 50 to 630 Hz.
HEAVY_THIRDS = thirds(50, 630)
HEAVY_WEIGHTS_THIRDS: tuple[float, ...] = (
    -30.3, -26.2, -22.4, -19.1, -16.2, -13.2, -10.8, -8.7, -6.6, -4.8, -3.2, -1.9,
)  # fmt: skip
HEAVY_OCTAVES: tuple[float, ...] = (63.0, 125.0, 250.0, 500.0)
HEAVY_WEIGHTS_OCTAVES: tuple[float, ...] = (
    -26.2,
    -16.2,
    -8.7,
    -3.2,
)  # the same weights at the octave centres


def _fit(bands_hz: Sequence[float], levels_db: Levels, step_tenths: int) -> tuple[int, int]:
    """Rating and unfavourable sum, both in tenths of dB, with the curve moved in `step_tenths`."""
    if is_octaves(bands_hz):
        bands, reference, limit = OCTAVE_BANDS, REFERENCE_OCTAVES, SUM_LIMIT_OCTAVES
        at_500 = REFERENCE_OCTAVES[2] - OCTAVE_OFFSET
    else:
        bands, reference, limit = THIRDS, REFERENCE_THIRDS, SUM_LIMIT_THIRDS
        at_500 = REFERENCE_THIRDS[7]
    excess = half_up(pick(bands_hz, levels_db, bands), 0.1) - 10 * np.array(reference)
    shift = lowest_shift(excess, round(10 * limit), step=step_tenths)
    return 10 * at_500 + shift, int(np.sum(np.maximum(0, excess - shift)))


def ln_w(bands_hz: Sequence[float], levels_db: Levels) -> int:
    """Weighted normalized impact sound pressure level Ln,w [dB]; ISO 717-2:2020 clause 4.3.

    Levels are first rounded to 0.1 dB. The reference curve moves in steps of 1 dB until the sum of
    unfavourable deviations is as large as possible but no more than 32.0 dB (octaves: 10.0 dB);
    its value at 500 Hz is the rating (octaves: less 5 dB).
    """
    return _fit(bands_hz, levels_db, 10)[0] // 10


def ln_w_tenths(bands_hz: Sequence[float], levels_db: Levels) -> float:
    """Ln,w with the curve moved in steps of 0.1 dB [dB], for statements of uncertainty.

    ISO 717-2:2020 clause 4.3, NOTE: only to be used with an uncertainty beside it.
    """
    return _fit(bands_hz, levels_db, 1)[0] / 10


def unfavourable_sum(bands_hz: Sequence[float], levels_db: Levels) -> float:
    """Sum of unfavourable deviations at the final curve [dB]; ISO 717-2:2020 clause 4.3."""
    return _fit(bands_hz, levels_db, 10)[1] / 10


def adaptation_bands(bands_hz: Sequence[float], from_50: bool) -> tuple[float, ...]:
    """Bands [Hz] of the energy sum, octaves or third octaves as `bands_hz`; clause A.2.1."""
    if is_octaves(bands_hz):
        return (63.0, *OCTAVE_BANDS) if from_50 else OCTAVE_BANDS
    return thirds(50 if from_50 else 100, 2500)


def energy_sum(bands_hz: Sequence[float], levels_db: Levels, from_50: bool = False) -> float:
    """Ln,sum [dB]: energy sum over 100-2500 Hz or 50-2500 Hz; ISO 717-2:2020 clause A.2.1.

    Octaves: 125-2000 Hz or 63-2000 Hz.
    """
    bands = adaptation_bands(bands_hz, from_50)
    return float(add(tenth(pick(bands_hz, levels_db, bands))))


def ci(bands_hz: Sequence[float], levels_db: Levels) -> int:
    """Spectrum adaptation term CI = Ln,sum - 15 - Ln,w [dB]; ISO 717-2:2020 clause A.2.1."""
    return integer(energy_sum(bands_hz, levels_db) - 15 - ln_w(bands_hz, levels_db))


def ci_tenths(bands_hz: Sequence[float], levels_db: Levels) -> float:
    """CI to 0.1 dB with Ln,w to 0.1 dB [dB], for statements of uncertainty; clause A.2.1."""
    return float(tenth(energy_sum(bands_hz, levels_db) - 15 - ln_w_tenths(bands_hz, levels_db)))


def ci_50_2500(bands_hz: Sequence[float], levels_db: Levels) -> int:
    """CI,50-2500 [dB]: as CI with the sum from 50 Hz; ISO 717-2:2020 clause A.2.1 NOTE."""
    return integer(energy_sum(bands_hz, levels_db, from_50=True) - 15 - ln_w(bands_hz, levels_db))


def _on_heavy_floor(bands_hz: Sequence[float], reduction_db: Levels) -> NDArray:
    """Ln,r = Ln,r,0 - delta L [dB], 16 third octaves."""
    return np.array(HEAVY_FLOOR) - tenth(pick(bands_hz, reduction_db, THIRDS))


def delta_l_w(bands_hz: Sequence[float], reduction_db: Levels) -> int:
    """Weighted reduction of impact sound by a covering, delta Lw = 78 - Ln,r,w [dB].

    reduction_db : delta L in third octaves 100 to 3150 Hz, measured on a heavyweight floor.
    ISO 717-2:2020 clause 5 with the reference floor of Table 4.
    """
    return HEAVY_FLOOR_LN_W - ln_w(THIRDS, _on_heavy_floor(bands_hz, reduction_db))


def ci_delta(bands_hz: Sequence[float], reduction_db: Levels) -> int:
    """Adaptation term of a covering, CI,delta = -11 - CI,r [dB]; ISO 717-2:2020 clause A.2.2."""
    return HEAVY_FLOOR_CI - ci(THIRDS, _on_heavy_floor(bands_hz, reduction_db))


def li_a_fmax_exact(bands_hz: Sequence[float], levels_db: Levels) -> float:
    """LiA,Fmax before its rounding [dB]; see `li_a_fmax`."""
    if is_octaves(bands_hz):
        bands, weights = HEAVY_OCTAVES, HEAVY_WEIGHTS_OCTAVES
    else:
        bands, weights = HEAVY_THIRDS, HEAVY_WEIGHTS_THIRDS
    return float(add(tenth(pick(bands_hz, levels_db, bands)) + np.array(weights)))


def li_a_fmax(bands_hz: Sequence[float], levels_db: Levels) -> int:
    """A-weighted level of a heavy and soft source [dB]; ISO 717-2:2020 Annex D.

    10 lg sum 10^((Li,Fmax,j + Aj)/10) over the fast maxima of the bands, third octaves 50-630 Hz or
    octaves 63-500 Hz. It adds maxima of bands that need not fall at one moment, so it is not the
    maximum of the A-weighted signal.
    """
    return integer(li_a_fmax_exact(bands_hz, levels_db))

"""ASTM ratings of impact insulation: IIC and its field, high- and low-frequency forms.

A higher number is better. Third octaves only; levels are rounded to 1 dB first. All take nominal
bands [Hz] and levels [dB] of equal length and raise `MissingBands` with the bands they lack.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from impact.base.levels import add
from impact.rating.spectrum import MissingBands, half_up, integer, is_octaves, lowest_shift, pick
from impact.rating.spectrum import thirds as third_octaves

Levels = Sequence[float] | NDArray

THIRDS = third_octaves(100, 3150)
HIGH_THIRDS = third_octaves(400, 3150)
LOW_THIRDS = third_octaves(50, 80)

# ASTM E989 reference contour, relative to 500 Hz.
CONTOUR = (2, 2, 2, 2, 2, 2, 1, 0, -1, -2, -3, -6, -9, -12, -15, -18)
SUM_LIMIT = 32  # dB
SINGLE_LIMIT = 8  # dB, the "8 dB rule"
HIGH_SUM_LIMIT = 20  # dB, ASTM E3222

# Editions of ASTM E989 and whether they hold the 8 dB rule. That the 2021 edition dropped it is
# from memory, check the standard.
EDITIONS: dict[str, bool] = {"E989-21": False, "E989-18": True}
LATEST = "E989-21"


def _contour_rating(
    bands_hz: Sequence[float],
    levels_db: Levels,
    wanted: tuple[float, ...],
    sum_limit: int,
    single_limit: int | None,
) -> int:
    """110 minus the shifted contour at 500 Hz."""
    if is_octaves(bands_hz):
        raise MissingBands(wanted)
    contour = np.array(CONTOUR[len(CONTOUR) - len(wanted) :])
    excess = half_up(pick(bands_hz, levels_db, wanted)) - contour
    return 110 - lowest_shift(excess, sum_limit, single_limit)


def iic(bands_hz: Sequence[float], levels_db: Levels, edition: str = LATEST) -> int:
    """Impact insulation class; ASTM E989, from normalized levels Ln (A0 = 10 m2) of ASTM E492.

    The contour is lowered until the sum of deficiencies reaches at most 32 dB and, in editions with
    the 8 dB rule, none exceeds 8 dB; IIC = 110 - contour at 500 Hz. Raises KeyError for an unknown
    `edition` (see EDITIONS).
    """
    single = SINGLE_LIMIT if EDITIONS[edition] else None
    return _contour_rating(bands_hz, levels_db, THIRDS, SUM_LIMIT, single)


def aiic(bands_hz: Sequence[float], normalized_field_db: Levels, edition: str = LATEST) -> int:
    """Apparent impact insulation class: the IIC contour on field levels normalized to 10 m2.

    ASTM E1007, levels by `onsite.normalized`.
    """
    return iic(bands_hz, normalized_field_db, edition)


def nisr(bands_hz: Sequence[float], standardized_field_db: Levels, edition: str = LATEST) -> int:
    """Normalized impact sound rating: the IIC contour on field levels referred to T = 0.5 s.

    ASTM E1007, levels by `onsite.standardized`.
    """
    return iic(bands_hz, standardized_field_db, edition)


def isr(bands_hz: Sequence[float], field_db: Levels, edition: str = LATEST) -> int:
    """Impact sound rating: the IIC contour on field levels as measured; ASTM E1007."""
    return iic(bands_hz, field_db, edition)


def hiic(bands_hz: Sequence[float], levels_db: Levels) -> int:
    """High-frequency impact insulation class; ASTM E3222, from normalized levels Ln.

    The IIC contour over 400 to 3150 Hz with a sum of deficiencies of at most 20 dB, no limit on a
    single band. Rounding of the levels to 1 dB is taken over from E989.
    """
    return _contour_rating(bands_hz, levels_db, HIGH_THIRDS, HIGH_SUM_LIMIT, None)


def hir(bands_hz: Sequence[float], field_db: Levels) -> int:
    """High-frequency impact rating: `hiic` on field levels; ASTM E3222."""
    return hiic(bands_hz, field_db)


def liic(bands_hz: Sequence[float], levels_db: Levels) -> int:
    """Low-frequency impact insulation class; ASTM E3207, from memory, check the standard.

    190 - 2 (10 lg sum 10^(L/10)) over the third octaves 50, 63 and 80 Hz, rounded to an integer.
    """
    if is_octaves(bands_hz):
        raise MissingBands(LOW_THIRDS)
    return integer(190 - 2 * float(add(pick(bands_hz, levels_db, LOW_THIRDS))))


def lir(bands_hz: Sequence[float], field_db: Levels) -> int:
    """Low-frequency impact rating: `liic` on field levels; ASTM E3207, from memory as it is."""
    return liic(bands_hz, field_db)

"""NC curves: octave levels as printed, and their split into third octaves."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from impact.base.bands import NOMINAL
from impact.design.background import nc_octaves, nc_thirds

# ANSI/ASA S12.2-2019, octaves 16 Hz to 4 kHz, as printed.
PRINTED = {
    15: (78, 61, 47, 36, 28, 22, 18, 14, 12),
    25: (80, 65, 54, 44, 37, 31, 27, 24, 22),
    30: (81, 68, 57, 48, 41, 35, 32, 29, 28),
    50: (87, 79, 71, 64, 58, 54, 51, 49, 48),
    70: (90, 90, 84, 79, 75, 72, 71, 70, 68),
}


@pytest.mark.parametrize("number", PRINTED)
def test_curves_as_printed(number):
    assert nc_octaves(number) == PRINTED[number]


@pytest.mark.parametrize("number", PRINTED)
def test_thirds_add_up_to_their_octave(number):
    """Three third octaves carry the energy of their octave; 1e-9 dB is what the loop settles to."""
    thirds = nc_thirds(number)
    assert len(thirds) == len(NOMINAL)
    assert thirds[0] == thirds[1]  # 10 Hz: the standard's lowest octave ends at 11 Hz
    for n, printed in enumerate(PRINTED[number]):
        three = thirds[1 + 3 * n : 4 + 3 * n]
        total = 10 * math.log10(sum(10 ** (level / 10) for level in three))
        assert total == pytest.approx(printed, abs=1e-9)


def test_thirds_fall_evenly():
    # NC 30 falls by 13 dB an octave at most, 4.3 dB a band; a split by octaves would step by 13.
    steps = [after - before for before, after in pairwise(nc_thirds(30))]
    assert max(steps) <= 1e-9
    assert min(steps) > -13 / 2


def test_between_curves():
    # NC 32.5 at 500 Hz lies in the middle of NC 30 and NC 35 as printed, 35 and 40 dB.
    assert nc_octaves(32.5)[5] == pytest.approx((35 + 40) / 2)


@pytest.mark.parametrize("number", [14.9, 70.1, float("nan")])
def test_outside_the_curves(number):
    with pytest.raises(ValueError, match="NC 15 to NC 70"):
        nc_thirds(number)

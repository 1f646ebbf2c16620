"""ISO 717-2 single numbers against the standard's own examples; exact, since the clauses round."""

from __future__ import annotations

import math

import pytest

from impact.rating import iso
from impact.rating.spectrum import MissingBands, half_up, is_octaves, tenth, thirds

# ISO 717-2:2020 Table C.1: bare floor, Ln in third octaves 100 to 3150 Hz.
C1_BARE = (
    62.1, 63.2, 63.5, 66.2, 68.5, 70.0, 71.7, 73.1, 73.8, 73.5, 73.8, 73.3, 73.1, 73.0, 72.4, 71.2,
)  # fmt: skip
# ISO 717-2:2020 Table C.2: reduction delta L by a covering.
C2_COVERING = (
    3.0, 3.7, 1.9, 3.0, 3.2, 3.5, 4.0, 6.1, 6.7, 7.0, 7.7, 10.8, 15.2, 20.3, 25.4, 23.2,
)  # fmt: skip
# A test report from a timber joist floor in the United Kingdom, 2022: L'nT in third octaves.
FIELD_REPORT = (
    56.6, 58.8, 60.6, 59.9, 58.3, 52.6, 47.4, 46.7, 43.5, 42.3, 39.5, 40.1, 38.3, 38.6, 37.1, 35.3,
)  # fmt: skip
BANDS = thirds(100, 3150)


def test_bare_floor_of_table_c1():
    # Printed: Ln,w 79, unfavourable sum 28.0. The 2020 print has CI -10 because its sum runs one
    # band too far; clause A.2.1 (100 to 2500 Hz) gives -11.
    assert iso.ln_w(BANDS, C1_BARE) == 79
    assert iso.unfavourable_sum(BANDS, C1_BARE) == 28.0
    assert iso.ci(BANDS, C1_BARE) == -11


def test_covering_of_table_c2():
    assert iso.delta_l_w(BANDS, C2_COVERING) == 15


def test_heavyweight_reference_floor_of_table_4():
    # Clauses 5.2 and A.2.2 print 78 and -11; in steps of 0.1 dB 77.6 and -10.3.
    assert iso.ln_w(BANDS, iso.HEAVY_FLOOR) == 78
    assert iso.ci(BANDS, iso.HEAVY_FLOOR) == -11
    assert iso.ln_w_tenths(BANDS, iso.HEAVY_FLOOR) == 77.6
    assert iso.ci_tenths(BANDS, iso.HEAVY_FLOOR) == -10.3


def test_no_covering_reduces_nothing():
    assert iso.delta_l_w(BANDS, [0.0] * 16) == 0
    assert iso.ci_delta(BANDS, [0.0] * 16) == 0


def test_field_report():
    # As printed in the report: L'nT,w 52, CI -1, adverse sum 25.6 dB.
    assert iso.ln_w(BANDS, FIELD_REPORT) == 52
    assert iso.ci(BANDS, FIELD_REPORT) == -1
    assert iso.unfavourable_sum(BANDS, FIELD_REPORT) == 25.6


def test_heavy_source_of_table_d4():
    # ISO 717-2:2020 Table D.4: octaves 63 to 500 Hz sum to 55.35066, stated as 55 dB.
    bands, levels = (63, 125, 250, 500), (65.3, 64.5, 58.0, 55.8)
    assert iso.li_a_fmax_exact(bands, levels) == pytest.approx(55.35066, abs=1e-4)
    assert iso.li_a_fmax(bands, levels) == 55


def test_heavy_source_in_third_octaves_by_hand():
    # One band at 100 dB, all others negligible: the Annex D weight of 250 Hz alone, 100 - 8.7.
    levels = [100.0 if band == 250 else -50.0 for band in iso.HEAVY_THIRDS]
    assert iso.li_a_fmax_exact(iso.HEAVY_THIRDS, levels) == pytest.approx(91.3, abs=1e-6)


@pytest.mark.parametrize("band", iso.HEAVY_THIRDS)
def test_every_weight_of_a_heavy_source_is_the_a_weighting(band):
    """Annex D gives the A-weighting at the nominal frequencies, to 0.1 dB: IEC 61672-1 Annex E,
    20 lg of f4^2 f^4/((f^2 + f1^2) sqrt(f^2 + f2^2) sqrt(f^2 + f3^2) (f^2 + f4^2)) + 2.0 dB with
    20.60, 107.7, 737.9 and 12194 Hz."""
    squares = [band**2 + pole**2 for pole in (20.60, 107.7, 737.9, 12194.0)]
    gain = 12194.0**2 * band**4 / (squares[0] * (squares[1] * squares[2]) ** 0.5 * squares[3])
    levels = [100.0 if each == band else -80.0 for each in iso.HEAVY_THIRDS]
    alone = iso.li_a_fmax_exact(iso.HEAVY_THIRDS, levels) - 100
    assert alone == pytest.approx(20 * math.log10(gain) + 2.0, abs=0.051)


def test_octaves_of_a_published_lightweight_slab():
    # ISO 12354-2:2017 Table B.2: 390 kg/m2 lightweight slab, octaves 125 to 2000 Hz, Ln,w 71.
    bands = (63, 125, 250, 500, 1000, 2000, 4000)
    assert iso.ln_w(bands, (64, 68, 70, 70, 70, 70, 64)) == 71


def test_octaves_of_a_published_concrete_slab():
    # Same table: 268 kg/m2 concrete, Ln,w 80 from third octaves. The printed octaves are whole
    # decibels, which moves a rating by up to 1 dB.
    bands = (63, 125, 250, 500, 1000, 2000, 4000)
    assert abs(iso.ln_w(bands, (65, 73, 78, 78, 78, 78, 76)) - 80) <= 1


def test_low_bands_enter_by_energy():
    # By hand: 15 bands of 50 dB from 100 to 2500 Hz sum to 50 + 10 lg 15 = 61.76 dB; three more of
    # 60 dB add 30 such bands: 50 + 10 lg 45 = 66.53 dB. Ln,w cancels in the difference.
    bands = thirds(50, 3150)
    flat = [60.0] * 3 + [50.0] * 16
    assert iso.energy_sum(bands, flat) == pytest.approx(61.761, abs=1e-3)
    assert iso.energy_sum(bands, flat, from_50=True) == pytest.approx(66.532, abs=1e-3)
    weighted = iso.ln_w(bands, flat)
    assert iso.ci_50_2500(bands, flat) == math.floor(66.532 - 15 - weighted + 0.5)


def test_sum_of_exactly_32_is_allowed():
    # By hand: sixteen bands 2.0 dB above the curve make 32.0, allowed; one tenth more is not.
    on_curve = [float(value) for value in iso.REFERENCE_THIRDS]
    assert iso.ln_w(BANDS, [value + 2.0 for value in on_curve]) == 60
    assert iso.ln_w(BANDS, [value + 2.0 for value in on_curve[:-1]] + [44.1]) == 61


@pytest.mark.parametrize("shift", [-40, 7, 35])
def test_rating_moves_with_the_level(shift):
    # A law, not a value: every level up by a whole dB moves Ln,w by as much and leaves CI.
    moved = [level + shift for level in C1_BARE]
    assert iso.ln_w(BANDS, moved) == 79 + shift
    assert iso.ci(BANDS, moved) == -11


def test_missing_bands_are_named():
    with pytest.raises(MissingBands, match="100, 3150 Hz"):
        iso.ln_w(BANDS[1:-1], C1_BARE[1:-1])


@pytest.mark.parametrize(
    ("value", "expected", "why"),
    [
        (68.25, 68.3, "halves go up"),
        (0.15, 0.2, "0.15 / 0.1 is 1.4999999999999998 in binary"),
        (68.249, 68.2, "not a half"),
        (-0.25, -0.2, "up is towards plus infinity"),
    ],
)
def test_tenths_round_half_up(value, expected, why):
    assert tenth(value) == pytest.approx(expected, abs=1e-12), why


def test_half_up_integers():
    assert half_up([-10.5, 2.5, 3.5, 2.4999]).tolist() == [-10, 3, 4, 2]


def test_octaves_are_recognised():
    assert is_octaves((63, 125, 250))
    assert not is_octaves((63, 80, 125))
    assert not is_octaves((63,))

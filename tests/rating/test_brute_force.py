"""Ratings against their definitions, worked out anew in exact decimals, every shift tried in turn.

ISO 717-2:2020 Table 3 and clauses 4.3, A.2.1 (reference curve, 32.0 dB in thirds, 10.0 dB in
octaves, energy sums); ASTM E989 and E3222 (levels to 1 dB, contour, 32 and 20 dB, the 8 dB rule).
Nothing of `impact.rating` is used but the functions under test.
"""

from __future__ import annotations

import math
import random
from decimal import ROUND_FLOOR, Decimal

import pytest

from impact.rating import summary

THIRDS = (100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150)
CURVE = dict(
    zip(THIRDS, (62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42), strict=True)
)
OCTAVES = {125: 67, 250: 67, 500: 65, 1000: 62, 2000: 49}
CONTOUR = dict(
    zip(THIRDS, (2, 2, 2, 2, 2, 2, 1, 0, -1, -2, -3, -6, -9, -12, -15, -18), strict=True)
)
STEPS = ("0.1", "0.05", "0.01")  # dB; halves of the last place are where rounding shows


def rounded(level: Decimal, step: str) -> Decimal:
    """Half up, towards plus infinity."""
    unit = Decimal(step)
    return (level / unit + Decimal("0.5")).to_integral_value(ROUND_FLOOR) * unit


def shifted(levels: dict, curve: dict, most: int, single: int | None = None) -> tuple[int, Decimal]:
    """Lowest whole shift of the curve that keeps the sum (and any one band), and that sum."""
    for shift in range(-200, 200):
        over = [max(Decimal(0), levels[band] - curve[band] - shift) for band in curve]
        if sum(over) <= most and (single is None or max(over) <= single):
            return shift, sum(over)
    raise AssertionError("no shift")


def expected(spectrum: dict[int, Decimal], edition: str) -> dict[str, float]:
    octaves = 100 not in spectrum
    tenths = {band: rounded(level, "0.1") for band, level in spectrum.items()}
    curve, most = (OCTAVES, 10) if octaves else (CURVE, 32)
    shift, over = shifted(tenths, curve, most)
    ln_w = (65 - 5 if octaves else 60) + shift  # octaves: 5 dB below the curve at 500 Hz
    out: dict[str, float] = {"Ln_w": ln_w, "unfavourable_sum_db": float(over)}
    summed = [band for band in curve if band <= 2500]
    low = [63] if octaves else [50, 63, 80]
    for key, bands in (("CI", summed), ("CI_50_2500", [*low, *summed])):
        level = 10 * math.log10(sum(10 ** (float(tenths[band]) / 10) for band in bands))
        out[key] = math.floor(level - 15 - ln_w + 0.5)
    if not octaves:
        whole = {band: rounded(level, "1") for band, level in spectrum.items()}
        high = {band: value for band, value in CONTOUR.items() if band >= 400}
        out["IIC"] = 110 - shifted(whole, CONTOUR, 32, 8 if edition == "E989-18" else None)[0]
        out["HIIC"] = 110 - shifted(whole, high, 20)[0]
    return out


def held_against(spectrum: dict[int, Decimal]) -> None:
    bands, levels = list(spectrum), [float(level) for level in spectrum.values()]
    for edition in ("E989-21", "E989-18"):
        found = summary.rate(bands, levels, edition=edition)
        wanted = expected(spectrum, edition)
        assert {key: found[key] for key in wanted} == wanted, spectrum


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("bands", [(50, 63, 80, *THIRDS), (63, *OCTAVES)])
def test_random_spectra(step, bands):
    """Rough and smooth ones, negative levels too, in any order; the same numbers to the digit."""
    drawn = random.Random(step)
    for case in range(15):
        slope, rough = drawn.uniform(-2, 1), drawn.choice((1, 10))
        start = drawn.uniform(-20, 90)
        levels = [start + slope * n + drawn.uniform(-rough, rough) for n in range(len(bands))]
        made = {b: rounded(Decimal(repr(x)), step) for b, x in zip(bands, levels, strict=True)}
        order = drawn.sample(bands, len(bands)) if case % 2 else list(bands)
        held_against({band: made[band] for band in order})


@pytest.mark.parametrize(
    "more", ["31.9", "32.0", "32.04", "32.05", "32.1", "8", "8.49", "8.5", "33"]
)
@pytest.mark.parametrize("curve", [CURVE, CONTOUR])
def test_at_the_limits(more, curve):
    """On the curve but for one band above it: where 32.0 and 8 dB, and their rounding, decide."""
    spectrum = {50: Decimal(50), 63: Decimal(50), 80: Decimal(50)}
    spectrum |= {band: Decimal(value) for band, value in curve.items()}
    spectrum[500] += Decimal(more)
    held_against(spectrum)

"""Span of a thin furring channel: which limit governs, by hand, against common practice.

Common practice, no source: 7/8 in channel of 18 mil steel at 24 in under 6 psf spans 3 ft 7 in as a
single span and 4 ft 2 in over several. Deflection alone (L/240) explains the first; the second lies
far below what deflection allows, so that strength must govern it. Here strength is worked out from
the section by the effective widths of cold-formed steel (Winter's formula as in AISI S100; from
memory, check the standard), with the yield stress of common furring, 228 MPa (33 ksi), and its
safety factor of 1.67. The allowable moment of a design stays the user's own.
"""

from __future__ import annotations

import math
from dataclasses import replace

import designs
import pytest

from impact import gravity
from impact.design import catalogue
from impact.gravity import channel

INCH, PSF = 0.0254, 47.880259
LINE_LOAD = 6 * PSF * 24 * INCH  # N/m
SINGLE, MULTIPLE = 43 * INCH, 50 * INCH  # 3 ft 7 in, 4 ft 2 in
DEPTH, TOP, FLANGE, WIDTH, THICK = 22.2, 31.8, 12.7, 69.9, 0.455  # mm, nominal hat section
YIELD, SAFETY, MODULUS = 228.0, 1.67, 203e3  # MPa, -, MPa


def span_by_deflection(stiffness: float, spans: int) -> float:
    """Longest span [m] within L/240: the deflection goes with the fourth power of the span."""
    return (1 / (240 * channel.deflection(LINE_LOAD, 1.0, stiffness, spans))) ** (1 / 3)


def effective(width: float, buckling: float) -> float:
    """Effective width [mm] of a flat strip at yield: lambda = 1.052/sqrt(k) b/t sqrt(F/E)."""
    slender = 1.052 / math.sqrt(buckling) * width / THICK * math.sqrt(YIELD / MODULUS)
    return width if slender <= 0.673 else width * (1 - 0.22 / slender) / slender


def allowable(top: float, flange: float) -> float:
    """Allowable moment [N m] of the hat with these widths of top and flanges [mm]."""
    high = DEPTH - THICK
    web = math.hypot((WIDTH - 2 * FLANGE - TOP) / 2, high)
    parts = ((top * THICK, high), (2 * web * THICK, high / 2), (2 * flange * THICK, 0.0))
    middle = sum(area * y for area, y in parts) / sum(area for area, _ in parts)
    inertia = sum(area * (y - middle) ** 2 for area, y in parts) + THICK * web * high**2 / 6
    return inertia / max(high - middle, middle) * YIELD / SAFETY / 1000


def bending_stiffness() -> float:
    entry = catalogue.find("furring channel 7/8 in, 18 mil", "channel")
    assert entry is not None
    return entry.value("bending_stiffness")


def test_deflection_governs_the_single_span():
    """L/240 with the catalogue's EI against 3 ft 7 in: 6 %, as tables take a reduced section, whose
    inertia is up to 15 % less and goes into the span by its cube root."""
    by_deflection = span_by_deflection(bending_stiffness(), 1)
    assert by_deflection == pytest.approx(SINGLE, rel=0.06)
    # in mid-span the top is in compression; it would bear a longer span
    by_strength = math.sqrt(8 * allowable(effective(TOP, 4.0), FLANGE) / LINE_LOAD)
    assert by_strength > by_deflection


def test_strength_governs_several_spans():
    """Over a support the free flanges are in compression (k = 0.43): w L²/8 = 33 N m at 48 in,
    against 4 ft 2 in: 5 %, as the nominal sizes of the section are good to 2 or 3 %."""
    by_strength = math.sqrt(8 * allowable(TOP, effective(FLANGE, 0.43)) / LINE_LOAD)
    assert by_strength == pytest.approx(MULTIPLE, rel=0.05)
    by_deflection = span_by_deflection(bending_stiffness(), 3)
    assert by_deflection > 1.05 * MULTIPLE


@pytest.mark.parametrize(("given", "told"), [(10.0, True), (40.0, False)])
def test_a_given_moment_is_checked(given, told):
    """24 x 48 in under two boards: w L²/8 with w = 21.942 g 0.600 + 0.6 g and L = 3 x 0.4064 m
    (joists) is 25 N m, between the two."""
    base = designs.basement()
    kind = replace(base.hangers.channel, allowable_moment=given)
    checked = gravity.loads(replace(base, hangers=replace(base.hangers, channel=kind)),
                            coupled=False)  # fmt: skip
    assert 10.0 < checked.channels.moment < 40.0
    assert ("channel_moment" in [finding.code for finding in checked.findings]) is told

"""Quantities as written to SI, against NIST SP 811 and, unit by unit, against pint."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impact.base import units
from impact.base.quantity_faults import without_centres
from impact.base.units import UnitError, height_left, parse, show

# NIST SP 811 (2008) Appendix B.8, seven digits printed: hence 1e-6.
NIST = [
    ("1 lbf/in", "stiffness", 175.1268),
    ("1 psf", "mass per area", 47.88026 / 9.80665),
    ("1 pcf", "density", 16.01846),
    ("1 lb/ft3", "density", 16.01846),
    ("1 lb/ft", "mass per length", 1.488164),
    ("1 lb/ft2", "mass per area", 4.882428),
    ("1 oz/yd2", "mass per area", 0.03390575),
    ("1 lbf", "force", 4.448222),
    ("1 lb", "force", 4.448222),
    ("1 kgf", "force", 9.80665),
    ("1 kip", "force", 4448.222),
    ("1 psi", "modulus", 6894.757),
    ("1 ksi", "modulus", 6894757.0),
    ("1 lbf ft", "moment", 1.355818),
    ("1 lbf in", "moment", 0.1129848),
    ("1 ft2", "area", 0.09290304),
    ("1 mil", "length", 2.54e-5),
    ("1 yd", "length", 0.9144),
]


@pytest.mark.parametrize(("text", "dimension", "value"), NIST)
def test_factors_of_nist_sp_811(text, dimension, value):
    assert parse(text, dimension) == pytest.approx(value, rel=1e-6)


# By hand, exact in inches of 25.4 mm; the first two are misread by a common unit library.
INCHES = [
    ("9 1/4 in", 9.25), ("12 ft 6 in", 150), ("23/32 in", 23 / 32), ("7' 3-1/2\"", 87.5),
    ("7'3\"", 87), ("7'-3 1/2\"", 87.5), ("12ft 6in", 150), ("12 feet 6 inches", 150),
    ("9-1/4 in", 9.25), ("9¼ in", 9.25), ("½ in", 0.5), ("7’ 3 1/2”", 87.5), ("7′ 3″", 87),
    ("2.5 in", 2.5), (".5 in", 0.5), ("1e1 in", 10), ("8 ft", 96), ("8'", 96), ('5/8"', 0.625),
    ("12 ft 0 1/16 in", 144.0625), ("  9   1/4   in ", 9.25), ("5 ft 11 15/16 in", 71.9375),
]  # fmt: skip


@pytest.mark.parametrize(("text", "inches"), INCHES)
def test_mixed_fractions_and_feet_with_inches(text, inches):
    assert parse(text, "length") == pytest.approx(inches * 0.0254, rel=1e-14)


SI = [
    ("120 N/mm", "stiffness", 120e3), ("120 kN/m", "stiffness", 120e3),
    ("16 kg/m^2", "mass per area", 16), ("16 kg/m²", "mass per area", 16),
    ("16 kg / m**2", "mass per area", 16), ("10 kPa s/m2", "flow resistivity", 1e4),
    ("10 kPa·s/m²", "flow resistivity", 1e4), ("10000 N s/m4", "flow resistivity", 1e4),
    ("10 GPa", "modulus", 1e10), ("11000 N/mm2", "modulus", 11e9), ("0.25 s", "time", 0.25),
    ("250 ms", "time", 0.25), ("8 MN/m3", "stiffness per area", 8e6), ("600 mm", "length", 0.6),
    ("690 kN m2", "bending stiffness", 690e3), ("17 kg", "force", 17 * 9.80665),
    ("2.2 psf", "mass per area", 2.2 * 4.88242764), ("37.6 lb", "force", 37.6 * 4.4482216153),
    ("40 lb/in", "stiffness", 40 * 175.126835), ("40 lbs. / in.", "stiffness", 40 * 175.126835),
    ("7 ft. 3 in.", "length", 87 * 0.0254), ("16 in.", "length", 0.4064),
    ("0.1 kN/m2", "mass per area", 100 / 9.80665),
]  # fmt: skip


@pytest.mark.parametrize(("text", "dimension", "value"), SI)
def test_metric_and_weights(text, dimension, value):
    assert parse(text, dimension) == pytest.approx(value, rel=1e-8)


def test_unusual_units_go_to_pint():
    # A furlong is 660 ft (201.168 m); pint's survey furlong differs by 2 parts in a million.
    assert parse("2 furlong", "length") == pytest.approx(402.336, rel=3e-6)
    assert parse("3 daN/(m mm)", "stiffness per length") == pytest.approx(30e3, rel=1e-12)


def test_own_table_agrees_with_pint():
    pint = pytest.importorskip("pint")
    registry = pint.UnitRegistry()
    compared = 0
    for name, (factor, powers) in units.UNITS.items():
        if name in ("'", "''", '"', "μm", "lbs", "psf", "pcf", "plf", "pci", "mil", "lbm"):
            continue  # trade marks that pint does not know by that name
        theirs = (1 * registry.parse_units(name)).to_base_units()
        assert theirs.magnitude == pytest.approx(factor, rel=1e-12), name
        dims = dict(theirs.dimensionality)
        assert tuple(dims.get(k, 0) for k in ("[mass]", "[length]", "[time]")) == powers, name
        compared += 1
    assert compared > 30
    for ours, theirs_written in (("psf", "lbf/ft**2"), ("pcf", "lb/ft**3"), ("plf", "lbf/ft"),
                                 ("pci", "lbf/inch**3"), ("mil", "inch/1000")):  # fmt: skip
        theirs = (1 * registry(theirs_written)).to_base_units().magnitude
        assert units.UNITS[ours][0] == pytest.approx(theirs, rel=1e-12), ours


@pytest.mark.parametrize("words", [
    "16 in o.c.", '16" OC', "16 in (o.c.)", "16 in o/c", "16 in c/c", "16 in c-c",
    "16in. on center", "16 in on centres", "16 in centre to centre", "16 in centers", "16 in ctrs",
    "16 in apart",
])  # fmt: skip
def test_from_where_to_where_a_spacing_runs_is_left_out(words):
    assert parse(without_centres(words), "length") == pytest.approx(0.4064)
    with pytest.raises(UnitError, match="belong to a spacing; write '16"):  # of any other length
        parse(words, "length")


@pytest.mark.parametrize("words", ["16 in", "o.c.", "16 in block", "16 psf oc in", ""])
def test_other_words_of_a_spacing_stay(words):
    assert without_centres(words) == words


REFUSED = [
    ("9 1/4", "length", "no unit"), (9.25, "length", "no unit"), (True, "length", "no unit"),
    ("", "length", "no quantity"), ("in", "length", "no quantity"), ("2,5 mm", "length", "comma"),
    ("1,200 mm", "length", "comma"), ("nan mm", "length", "no quantity"),
    ("inf mm", "length", "no quantity"), ("1e999 mm", "length", "not a finite"),
    ("5 Mpa", "modulus", "did you mean 'MPa'"), ("5 KN/m", "stiffness", "no known unit"),
    ("3 in", "mass", "no unit of mass"), ("120 N/mm", "length", "no unit of length"),
    ("5 ft 14 in", "length", "12 or more inches"), ("1/0 in", "length", "divides by zero"),
    ("9 5/4 in", "length", "fraction of one or more"), ("5 kN/m s", "stiffness", "ambiguous"),
    ("3 bananas", "length", "no known unit"), ("9 1/4 1/2 in", "length", "no quantity"),
    ("5 in 3 in", "length", ""), ("9.5 ft 6 in", "length", ""), ("12 m 6 in", "length", ""),
    ("6 ft 3", "length", ""), ("20 degC", "length", "no mechanical unit"), ("x" * 99, "length", ""),
    ("5 mm mm", "length", "no unit of length"), ("__import__('os') m", "length", "no quantity"),
    ("17 ft 4", "length", "if inches are meant write '17 ft 4 in'"),
    ("7' 3 1/2", "length", "the 3 1/2 at the end of '7' 3 1/2' has no unit"),
    ("5 m 20", "length", "the 20 at the end of '5 m 20' has no unit; write one length"),
    ("5 m 20 cm", "length", "'5 m 20 cm' is two lengths; write one"),
    ("2,5 m", "length", "write '2.5 m'"), ("1.200,5 mm", "length", "decimal point"),
    ("1,200 mm", "length", "write '1200 mm' or '1.200 mm', whichever is meant"),
    ("12 ft 6,5 in", "length", "write '12 ft 6.5 in'"),
    ("1,500.5 mm", "length", "write '1500.5 mm'"),
    ("1,200,000 N", "force", "write '1200000 N'"), ("0,25 s", "time", "write '0.25 s'"),
    ("1 500 mm", "length", "a space within the number; write '1500 mm'"),
    ("5 m; m", "length", "no unit"), ("7 ft 3 in", "modulus", "is a length"),
    ("200 m0 mm", "length", "no unit"), ("12 rad/s", "frequency", "counts angles"),
    ("120 rpm", "frequency", "counts angles"), ("3 bananas", "length", 'like "600 mm"'),
    ("20 Nm", "moment", 'like "20 N m"'), ("10 rayl/m", "flow resistivity", 'like "10 kPa s/m2"'),
]  # fmt: skip


@pytest.mark.parametrize(("text", "dimension", "why"), REFUSED)
def test_refused_with_remedy(text, dimension, why):
    with pytest.raises(UnitError) as caught:
        parse(text, dimension)
    assert why in str(caught.value)
    assert len(str(caught.value)) < 200


@settings(max_examples=1000, deadline=None)
@given(
    value=st.floats(1e-6, 1e9),
    pair=st.sampled_from([
        ("in", "length"), ("mm", "length"), ("lbf/in", "stiffness"), ("psf", "mass per area"),
        ("lb", "force"), ("GPa", "modulus"), ("kPa s/m2", "flow resistivity"),
        ("pcf", "density"), ("MN/m3", "stiffness per area"), ("lbf in2", "bending stiffness"),
    ]),
)  # fmt: skip
def test_thousand_round_trips(value, pair):
    unit, dimension = pair
    assert parse(units.text(value, unit, dimension), dimension) == pytest.approx(value, rel=1e-12)


@settings(max_examples=1000, deadline=None)
@given(sixteenths=st.integers(1, 16 * 720))
def test_round_trips_through_what_is_shown(sixteenths):
    """Every sixteenth of an inch up to 60 ft is shown in fractions that read back exactly."""
    inches = sixteenths / 16
    shown = show(inches * 0.0254, "length", "imperial")
    assert "16/16" not in shown
    assert parse(shown, "length") == pytest.approx(inches * 0.0254, rel=1e-12)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=40), st.sampled_from(list(units.DIMENSIONS)))
def test_any_text_gives_a_number_or_a_unit_error(text, dimension):
    try:
        value = parse(text, dimension)
    except UnitError:
        return
    assert math.isfinite(value)


INCH = 0.0254
SHOWN = [  # by hand; a sixteenth is 1.5875 mm
    (0.27600, "length", "metric", "276 mm"), (3.81, "length", "metric", "3.81 m"),
    (0.00635, "length", "metric", "6.35 mm"), (0.9999, "length", "metric", "1.00 m"),
    (9.25 * INCH, "length", "imperial", "9 1/4 in"), (0.25399, "length", "imperial", "10 in"),
    (87.5 * INCH, "length", "imperial", "7' 3 1/2\""),
    (96 * INCH, "length", "imperial", "8' 0\""), (83.9999 * INCH, "length", "imperial", "7' 0\""),
    (0.625 * INCH, "length", "imperial", "5/8 in"),
    (23 / 32 * INCH, "length", "imperial", "23/32 in"),
    (0.000455, "length", "imperial", "0.0179 in"),
    # five joists in 8 ft, a mark of its own on a tape: 96 in/5
    (96 / 5 * INCH, "length", "imperial", "19.2 in"),
    (-38.4 * INCH, "length", "imperial", "-38.4 in"),
    (19.1875 * INCH, "length", "imperial", "19 3/16 in"),
    (-INCH, "length", "imperial", "-1 in"), (0.0, "length", "imperial", "0 in"),
    (160.0, "force", "imperial", "36 lb"), (167.25, "force", "imperial", "37.6 lb"),
    (1e5, "stiffness", "metric", "100 N/mm"), (1e5, "stiffness", "imperial", "571 lbf/in"),
    (10.7413, "mass per area", "imperial", "2.2 psf"), (2.5e9, "modulus", "metric", "2.5 GPa"),
    (1e5, "modulus", "imperial", "14.5 psi"), (5e8, "modulus", "imperial", "72.5 ksi"),
    # N to lbf 4.4482, inch 0.0254 m (NIST SP 811): 1e6/(4.4482/0.0254^3), 1e6/(4.4482/0.0254^2)
    (1e6, "stiffness per area", "imperial", "3.68 psi/in"),
    (1e6, "stiffness per length", "imperial", "145 lbf/in2"),
    (math.inf, "force", "metric", "unlimited"),
]  # fmt: skip


@pytest.mark.parametrize(("value", "dimension", "system", "text"), SHOWN)
def test_shown_as_a_person_reads_it(value, dimension, system, text):
    assert show(value, dimension, system) == text


def test_headroom_just_below_is_not_rounded_up():
    """6' 11 15/16" is not 7' 0"."""
    assert show((83 + 15 / 16) * 0.0254, "length", "imperial") == "6' 11 15/16\""


@pytest.mark.parametrize(("value", "system", "said"), [
    (84 * 0.0254, "imperial", "7' 0\""), (84 * 0.0254 - 5e-6, "imperial", "6' 11 15/16\""),
    (83.999 * 0.0254, "imperial", "6' 11 15/16\""), (84.06 * 0.0254, "imperial", "7' 0\""),
    (2.4, "metric", "2400 mm"), (2.3996, "metric", "2399 mm"), (2.4009, "metric", "2400 mm"),
])  # fmt: skip
def test_a_height_left_is_never_rounded_up(value, system, said):
    """To the sixteenth or the millimetre below, by hand."""
    assert height_left(value, system) == said
    # As architects write it: without the nought 7' 1/16" reads as 7 feet 1 1/6 inches.
    assert show((84 + 1 / 16) * 0.0254, "length", "imperial") == "7' 0 1/16\""
    assert parse("7' 0 1/16\"", "length") == pytest.approx((84 + 1 / 16) * 0.0254, rel=1e-12)


SEVERAL = ["15 in", "17 1/2 in"]


@pytest.mark.parametrize(("text", "why"), [
    (SEVERAL, "several values where one belongs"), ({"a": 1}, "several values where one belongs"),
    (SEVERAL, "write the mean, or {value = , low = , high = }"),
    ("2x8", "'2x8' is a trade size; write the true one: today's measures 1 1/2 in by 7 1/4 in"),
    ("2 x 10 in", "today's measures 1 1/2 in by 9 1/4 in"),  # PS 20: half an inch less to 6 in,
    ("4×6", "3 1/2 in by 5 1/2 in"), ("3 X 12", "2 1/2 in by 11 1/4 in"),  # three quarters above
])  # fmt: skip
def test_sizes_as_a_joiner_says_them_are_refused_with_what_to_write(text, why):
    with pytest.raises(UnitError) as caught:
        parse(text, "length")
    assert why in str(caught.value)

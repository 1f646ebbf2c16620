"""The flat object, what is missing from it, and margins to limits."""

from __future__ import annotations

import pytest

from impact.rating import limits, summary
from impact.rating.sheet import Sheet
from impact.rating.spectrum import thirds

# ISO 717-2:2020 Table C.1 with three low bands put before it (invented, 60 dB).
BANDS = thirds(50, 3150)
LEVELS = (
    60.0, 60.0, 60.0,
    62.1, 63.2, 63.5, 66.2, 68.5, 70.0, 71.7, 73.1, 73.8, 73.5, 73.8, 73.3, 73.1, 73.0, 72.4, 71.2,
)  # fmt: skip
KEYS = {
    "Ln_w", "CI", "CI_50_2500", "IIC", "HIIC", "LIIC", "LiA_Fmax", "unfavourable_sum_db",
}  # fmt: skip


def test_flat_object_of_a_whole_spectrum():
    ratings = summary.rate(BANDS, LEVELS)
    assert set(ratings) == KEYS
    assert ratings["Ln_w"] == 79  # ISO 717-2:2020 Table C.1
    assert ratings["unfavourable_sum_db"] == 28.0  # the same
    assert all(isinstance(ratings[key], int) for key in KEYS - {"unfavourable_sum_db"})
    assert summary.missing_bands(BANDS) == {}


def test_bands_that_lack_are_named_and_nothing_is_guessed():
    ratings = summary.rate(BANDS[3:], LEVELS[3:])
    assert ratings["Ln_w"] == 79
    assert ratings["CI_50_2500"] is None
    assert ratings["LIIC"] is None
    lost = summary.missing_bands(BANDS[3:])
    assert lost == {"CI_50_2500": (50, 63, 80), "LIIC": (50, 63, 80), "LiA_Fmax": (50, 63, 80)}


@pytest.mark.parametrize("dropped", range(len(BANDS)))
def test_a_rating_is_none_exactly_when_it_lacks_a_band(dropped):
    bands = BANDS[:dropped] + BANDS[dropped + 1 :]
    ratings = summary.rate(bands, LEVELS[:dropped] + LEVELS[dropped + 1 :])
    lost = summary.missing_bands(bands)
    for key in KEYS - {"unfavourable_sum_db"}:
        assert (ratings[key] is None) == (key in lost), key


def test_kind_decides_what_is_rated():
    heavy = summary.rate(BANDS, LEVELS, "heavy")
    assert {key for key, value in heavy.items() if value is not None} == {"LiA_Fmax"}
    assert summary.rate(BANDS, LEVELS, "normalized")["LiA_Fmax"] is None
    with pytest.raises(KeyError):
        summary.rate(BANDS, LEVELS, "loud")


def test_which_way_is_better_is_said_of_every_rating():
    """ISO 717-2: a level, lower is better; the ASTM classes count insulation, higher is better."""
    text = summary.which_way()
    assert text.startswith("Ln,w, CI, CI,50-2500, LiA,Fmax: lower is better; IIC, HIIC, LIIC: ")
    assert "LiA,Fmax is the rubber ball's" in text


def test_order_of_bands_does_not_matter():
    assert summary.rate(BANDS[::-1], LEVELS[::-1]) == summary.rate(BANDS, LEVELS)


def test_margin_has_the_sign_of_the_good_side():
    found = {
        (margin.limit.document, margin.limit.clause): margin.margin_db
        for margin in limits.margins({"IIC": 53.0, "LnT_w": 60.0})
    }
    # International Building Code 1206.3: IIC >= 50; National Construction Code: L'nT,w <= 62.
    assert found["International Building Code", "1206.3, laboratory"] == 3
    assert found["National Construction Code", "sound insulation of floors"] == 2
    assert found["consultants' star guide", "6 stars"] == -20


def test_a_field_result_is_not_held_against_laboratory_limits():
    ratings = summary.rate(BANDS, LEVELS, "field")
    quantities = summary.limit_quantities(ratings, "field")
    assert {margin.limit.quantity for margin in limits.margins(quantities)} == {
        "LnT_w",
        "LnT_w+CI_50_2500",
        "NISR",
    }


def test_every_limit_says_where_it_comes_from():
    rows = limits.read_limits()
    assert len(rows) > 20
    for row in rows:
        assert row.country, row
        assert row.clause, row
        assert row.date, row
        assert row.source, row
        assert row.read in ("excerpt", limits.MEMORY_MARK), row
        assert row.verified == ("from memory" not in row.source), row


@pytest.mark.parametrize("kind", summary.KINDS)
def test_page_fits_80_columns_and_claims_nothing(kind):
    page = Sheet.of(BANDS, LEVELS, kind, name="spectrum.csv").text()
    assert max(len(line) for line in page.split("\n")) <= 80
    assert "complian" not in page.lower()
    assert "soundproof" not in page.lower()


def test_page_marks_what_is_from_memory():
    page = Sheet.of(BANDS, LEVELS, "field", name="spectrum.csv").text()
    low = next(line for line in page.split("\n") if line.startswith("LIR"))
    assert "from memory" in low
    england = page[page.index("England") :]
    assert "[from memory]" in england.split("\n  +")[0].split("\n  -")[0]


def test_few_bands_are_said_as_they_are():
    """One band has no span, and where nothing can be rated no table stands empty."""
    assert "Levels: 1 third octave, 125 Hz;" in Sheet.of([125], [50.0]).text()
    page = Sheet.of([63, 125, 250], [60.0, 50.0, 40.0]).text()
    assert "Levels: 3 octaves, 63 to 250 Hz;" in page
    assert "No rating can be made of these bands." in page
    assert "Quantity" not in page

"""A measurement against a prediction put together by hand: verdicts, text, picture."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from impact.base import bands
from impact.report import field as pages
from impact.report import style
from impact.site import field
from impact.site.measured import Measurement

BANDS = (50.0, 63.0, 80.0, 100.0, 125.0)
U = 2.0


def measured(levels, bands=BANDS, limit=None, octaves=False):
    values = np.array(levels, float)
    count = len(values)
    return Measurement(tuple(bands), values, np.full(count, U), "tapping_machine", ("taken: x",),
                       "leq", octaves, np.array(limit if limit else [False] * count))  # fmt: skip


def flat():
    """What `compare` needs of a prediction's JSON: 50.3 dB in all bands, 60.3 dB bare; invented."""
    numbers = {"Ln_w": 50, "CI": 1, "CI_50_2500": 5, "IIC": 58}
    return {
        "design": "invented", "bands_hz": list(bands.NOMINAL),
        "levels_db": {"tapping_machine": [50.3] * 28},
        "levels_bare_db": {"tapping_machine": [60.3] * 28},
        "ratings": numbers, "ratings_bare": {**numbers, "Ln_w": 80},
    }  # fmt: skip


@pytest.fixture
def prediction():
    made = flat()
    low, high = [46.3] * 28, [56.3] * 28  # 4 dB below and 6 dB above the flat 50.3 dB
    made["levels_low_db"] = {"tapping_machine": low}
    made["levels_high_db"] = {"tapping_machine": high}
    return made


def test_verdicts_use_both_uncertainties(prediction):
    # by hand: Um = 1.645 x 2 = 3.29; above sqrt(3.29^2 + 6^2) = 6.84, below sqrt(3.29^2 + 4^2) =
    # 5.18 dB
    found = field.compare(prediction, measured([57.0, 57.3, 45.2, 45.0, np.nan]))
    assert found.verdict == ("agree", "measured higher", "agree", "measured lower", "gap")
    np.testing.assert_allclose(found.allowed[:4], [6.843, 6.843, 5.179, 5.179], atol=1e-3)
    assert found.counts["agree"] == 2


def test_nine_of_ten_agree_when_both_uncertainties_are_true():
    """Truth drawn about the prediction, measurement about the truth: 90 % of 5600 bands agree."""
    made = flat()
    spread = 1.645 * 3.0  # a 90 % band of 3 dB standard uncertainty
    made["levels_low_db"] = {"tapping_machine": [50.3 - spread] * 28}
    made["levels_high_db"] = {"tapping_machine": [50.3 + spread] * 28}
    random = np.random.default_rng(1)
    agree = 0
    for _ in range(200):
        truth = 50.3 + random.normal(0, 3.0, 28)
        found = field.compare(made, measured(truth + random.normal(0, U, 28), bands.NOMINAL))
        agree += found.counts["agree"]
    assert agree / 5600 == pytest.approx(0.90, abs=0.012)  # 3 standard errors of a share of 5600


def test_a_limit_cannot_be_higher_but_may_be_lower(prediction):
    found = field.compare(
        prediction, measured([60, 50, 40, 50, 50], limit=[True] * 3 + [False] * 2)
    )
    assert found.verdict[:3] == ("cannot tell", "cannot tell", "measured lower")
    # means over bands that are no limits: knock 100, 125 Hz, 50 - 50.3; thud has none left
    assert found.regions == pytest.approx({"knock": -0.3})


def test_without_a_stated_spread_the_page_says_so(prediction):
    for key in ("levels_low_db", "levels_high_db"):
        prediction[key] = None
    found = field.compare(prediction, measured([53.5, 53.7, 50, 50, 50]))
    assert found.verdict[:2] == ("agree", "measured higher")  # 3.29 dB alone
    assert any("states no spread" in text for text in found.prediction_remarks)
    page = " ".join(pages.page(found).split())
    assert "agree within the measurement's uncertainty (90 %); the prediction states none" in page
    assert "both uncertainties" not in page
    assert "own spread" not in page


def test_what_a_meters_filters_show_is_allowed_on_its_side(prediction):
    """2 dB more and 1.5 dB less by the filters, on top of what is allowed without them."""
    plain = field.compare(prediction, measured([50.3] * 5))
    by = np.zeros(28)
    at = [bands.index(band) for band in plain.measured.bands_hz]
    by[at[0]], by[at[1]] = 2.0, -1.5
    found = field.compare(prediction, measured([50.3] * 5), filtered=by)
    more = found.allowed_above - plain.allowed_above, found.allowed_below - plain.allowed_below
    assert more[0] == pytest.approx([2.0, 0, 0, 0, 0])
    assert more[1] == pytest.approx([0, 1.5, 0, 0, 0])
    assert found.as_dict()["meter_filter_db"] == [2.0, -1.5, 0.0, 0.0, 0.0]
    assert np.array_equal(found.predicted, plain.predicted)
    assert any("+2.0 dB at" in text and "-1.5 dB at" in text for text in found.prediction_remarks)
    assert plain.as_dict()["meter_filter_db"] is None


def test_octaves_are_summed_over_their_thirds(prediction):
    found = field.compare(prediction, measured([55.0, 55.0], (63.0, 125.0), octaves=True))
    # three equal thirds: 50.3 + 10 lg 3 = 55.07 dB
    np.testing.assert_allclose(found.predicted, 55.071, atol=1e-3)


def test_bare_floor(prediction):
    found = field.compare(prediction, measured([60.3] * 5), "bare")
    np.testing.assert_allclose(found.difference, 0, atol=1e-9)
    assert "Held against: the floor without the new ceiling" in pages.page(found)


def test_levels_of_the_ceiling_held_for_the_bare_floor_are_asked_about(prediction):
    """30.3 dB in all bands, as is predicted with the ceiling, said to be of the bare floor, that is
    predicted 30 dB louder: nearer to the one, and both are called by their names."""
    prediction["levels_db"]["tapping_machine"] = [30.3] * 28
    said = " ".join(pages.page(field.compare(prediction, measured([30.3] * 5), "bare")).split())
    assert "those of the tapping machine below the ceiling (0 dB apart, rms)" in said
    assert "of the tapping machine below the floor without the new ceiling (30 dB)" in said


def walled(prediction, given):
    """Walls as loud as the ceiling at 63 Hz (twice the energy, +3.01 dB) and silent elsewhere."""
    levels = [50.3] * 28
    levels[bands.index(63)] = 53.31
    return {
        **prediction, "flanking": [{"name": "north", "given": given}],
        "levels_in_building_db": {"tapping_machine": levels},
        "ratings_in_building": {**prediction["ratings"], "Ln_w": 53},
    }  # fmt: skip


def test_walls_that_are_described_count(prediction):
    """A level on site holds what walls radiate: 53.31 dB is then what is expected at 63 Hz, and
    L'n,w stands beside L'n,w. The band by hand, 1.645 x 5 = 8.23 dB for the walls: upwards the
    ceiling's 56.3 with 50.3 is 57.27 (+3.96), the walls' 58.53 with 50.3 is 59.14 (+5.83), together
    7.05; downwards 46.3 with 50.3 is 51.76 (-1.55), 42.07 with 50.3 is 50.91 (-2.40), together
    2.86 dB; with Um = 3.29 dB 7.78 and 4.36 dB are allowed. Where walls are silent: 6.84 dB."""
    found = field.compare(walled(prediction, True), measured([50.3, 53.31, 50.3, 50.3, 50.3]))
    np.testing.assert_allclose(found.difference, 0, atol=1e-9)
    assert found.predicted_low is not None
    np.testing.assert_allclose(found.predicted_low[1], 53.31 - 2.86, atol=0.01)
    np.testing.assert_allclose(found.allowed_above[:2], [6.843, 7.78], atol=0.01)
    np.testing.assert_allclose(found.allowed_below[:2], [5.179, 4.36], atol=0.01)
    assert "Held against: ceiling and the walls described." in pages.page(found)
    assert found.as_dict()["held_against"] == "in building"
    bands_rated = [50.3] * 16
    rated = field.compare(walled(prediction, True), measured(bands_rated, bands.NOMINAL[10:26]))
    assert rated.ratings_predicted["Ln_w"] == 53
    bare = field.compare(walled(prediction, True), measured([60.3] * 5), "bare")
    np.testing.assert_allclose(bare.difference, 0, atol=1e-9)


def test_walls_that_carry_a_band_leave_nothing_of_the_ceilings_spread(prediction):
    """Limit case: a ceiling 30 dB below its walls, uncertain by 20 dB, moves their sum by 0.41 dB
    (10 lg(1 + 0.1) of it); the walls' own 8.23 dB is what is left."""
    made = walled(prediction, True)
    made["levels_in_building_db"] = {"tapping_machine": [80.3] * 28}
    made["levels_high_db"] = {"tapping_machine": [70.3] * 28}
    found = field.compare(made, measured([80.3] * 5))
    assert found.predicted_high is not None
    np.testing.assert_allclose(found.predicted_high - 80.3, 8.22, atol=0.03)


def test_walls_that_are_not_described_are_told_of(prediction):
    found = field.compare(walled(prediction, False), measured([50.3] * 5))
    np.testing.assert_allclose(found.difference, 0, atol=1e-9)
    text = " ".join(pages.page(found).split())
    assert "Held against: the ceiling alone, without the walls below." in text
    assert "Usual walls would add up to 3 dB, at 63 Hz" in text
    assert "[[flanking]]" in text


def test_page_and_json_say_the_same(prediction):
    found = field.compare(prediction, measured([57.0, 57.3, 45.2, 45.0, np.nan]))
    text = pages.page(found)
    assert "2 of 4 bands agree" in text
    assert "Measured higher than predicted at 63 Hz" in text
    assert "Overhead load" in text
    assert max(map(len, text.split("\n"))) <= 80
    plain = json.loads(json.dumps(pages.as_dict(found, None), allow_nan=False))
    assert plain["measured_db"][-1] is None
    rows = pages.csv_text(found).splitlines()
    assert len(rows) == 6
    assert rows[1].startswith("50,False,3.29,57.0,50.3,46.3,56.3,6.7")


def test_room_noise_is_not_taken_for_a_bridge(prediction):
    """NC 25 has 27 dB in the octave at 1 kHz and 37 at 250 Hz (ANSI/ASA S12.2): thirds of 20 dB
    there add up to 24.8 dB, less; thirds of 40 dB to 44.8 dB, more."""
    prediction["levels_db"]["tapping_machine"] = [0.0] * 28
    prediction["levels_low_db"]["tapping_machine"] = [-4.0] * 28
    prediction["levels_high_db"]["tapping_machine"] = [6.0] * 28
    there = (200.0, 250.0, 315.0, 800.0, 1000.0, 1250.0)
    one = measured([40.0, 40.0, 40.0, 20.0, 20.0, 20.0], there)
    found = field.compare(prediction, one)
    assert found.verdict == (field.HIGHER,) * 6
    assert found.perhaps_noise == there[3:]
    text = " ".join(pages.page(found).split())
    assert "at 800, 1k, 1.25k Hz the level is no higher than that of a quiet room" in text
    assert pages.as_dict(found, None)["perhaps_noise_hz"] == [800.0, 1000.0, 1250.0]
    octave = field.compare(prediction, measured([26.9, 36.9], (1000.0, 250.0), octaves=True))
    assert octave.perhaps_noise == (1000.0, 250.0)
    for known in ({"noise_known": True}, {"corrected": True}):
        after = field.compare(prediction, replace(one, **known))
        assert after.perhaps_noise == ()
        assert "quiet room" not in pages.page(after)


def test_picture_shows_the_data(prediction):
    found = field.compare(
        prediction, measured([57, 57.3, 45.2, 45, 50], limit=[False] * 4 + [True])
    )
    with style.look():
        top, below = pages.picture(found).axes
    drawn = {line.get_label(): line for line in top.lines}
    np.testing.assert_allclose(drawn["predicted, ceiling"].get_ydata(), 50.3)
    np.testing.assert_allclose(drawn["at most this: background"].get_ydata(), [50])
    words = {line.get_label() for line in below.lines if not line.get_label().startswith("_")}
    assert words == {"agree", "measured higher", "measured lower", "cannot tell"}
    assert [tick.get_text() for tick in below.get_xticklabels()] == ["50", "63", "80", "100", "125"]

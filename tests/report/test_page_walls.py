"""The client is told when walls carry more than the ceiling, and only then.

Levels are put together by hand: a bare foot 20 dB over the threshold of hearing in every band of
ISO 226, no background; walls are added to that by hand.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import predictions
import pytest

from impact.report import page_client, page_heard
from impact.sound import hearing

WHO = "walker_barefoot"


def heard(ceiling_over: float, walls_more: dict[str, float]):
    """A prediction so far over the threshold with the ceiling alone [dB]; with the walls it is so
    much more in the bands of each region."""
    made = predictions.by_hand()
    quiet = replace(made.design, room=replace(made.design.room, background=()))
    level = np.nan_to_num(hearing.threshold(), nan=0.0) + ceiling_over
    building = level.copy()
    for region, more in walls_more.items():
        low, high = {"thud": (16, 80), "knock": (100, 315), "click": (400, 5000)}[region]
        inside = [low <= band <= high for band in page_heard.bands.NOMINAL]
        building[inside] += more
    return replace(made, design=quiet, levels={WHO: level}, building={WHO: building})


def test_equal_parts_are_3_dB():
    # Two equal powers add up to 3.01 dB: above that the walls' part is the larger one.
    assert page_heard.walls_carry(heard(20.0, {"knock": 2.9})) == {}
    assert list(page_heard.walls_carry(heard(20.0, {"knock": 3.1}))) == ["knock"]


def test_how_loud_it_is_with_them():
    # 20 dB and 12 dB are 32 dB over the threshold, "very loud" (30 to 40 dB).
    assert page_heard.walls_carry(heard(20.0, {"click": 12.0})) == {"click": "very loud"}


def test_what_nobody_hears_is_not_told():
    assert page_heard.walls_carry(heard(-20.0, {"click": 12.0})) == {}


def test_a_prediction_without_walls():
    assert page_heard.walls_carry(predictions.by_hand()) == {}


@pytest.mark.parametrize(
    ("grades", "words"),
    [
        ({"click": "loud"}, "more of the click than this ceiling: with them it is loud"),
        ({"knock": "loud", "click": "loud"}, "the knock and the click than this ceiling: with them "
         "both are loud"),
        ({"knock": "loud", "click": "clear"}, "with them the knock is loud and the click is clear"),
        ({"thud": "loud", "knock": "loud", "click": "loud"}, "the thud, the knock and the click"),
    ],
)  # fmt: skip
def test_words(grades, words):
    said = page_client.walls_sentences(grades, True)
    assert words in said
    assert "describe" not in said
    assert "The design does not describe them" in page_client.walls_sentences(grades, False)


def test_no_words_without_walls():
    assert page_client.walls_sentences({}, False) == ""


def test_the_answer_then_speaks_of_the_ceiling_alone():
    gone = page_client.Told("walker_hard_heel", 50.0, -3.0)
    told = dict.fromkeys(("thud", "knock", "click"), gone)
    said = page_client.answer_sentence(told, walls=True)
    assert said == "Steps from above should not be heard through this ceiling."

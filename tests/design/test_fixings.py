"""The words for what holds the ceiling: no hanger is spoken of where there is none."""

from __future__ import annotations

from dataclasses import replace

import designs
import pytest

from impact import gravity
from impact.design.fixings import called, said_of, said_under, table_of


@pytest.mark.parametrize(
    ("kind", "said", "together", "table"),
    [
        ("hanger", "The worst hanger of 9 hangers; give hangers.mass. Hangers", "hangers",
         "hangers"),
        ("resilient channel", "The worst channel fixing of 9 channel fixings; give"
         " resilient_channels.mass. Channel fixings", "resilient channels", "resilient_channels"),
        ("direct", "The worst fixing of 9 fixings; give direct_fixing.mass. Fixings", "fixings",
         "direct_fixing"),
    ],
)  # fmt: skip
def test_a_sentence_about_hangers(kind, said, together, table):
    """Written out by hand; keys of the file keep their dot."""
    hangers = designs.hangers(kind)
    text = "The worst hanger of 9 hangers; give hangers.mass. Hangers"
    assert said_of(hangers, text) == said
    assert (called(hangers), table_of(hangers)) == (together, table)


def test_a_slab_has_no_joists():
    """Written out by hand; under joists the text stays."""
    text = "Fix 9 hangers, each in the middle of its joist, with care; no screw may touch a joist"
    said = said_under(designs.on_slab(), text)
    assert said == "Fix 9 hangers, with care; no screw may touch the slab"
    assert said_under(designs.basement(), text) == text


def test_loads_speak_of_what_is_there():
    base = designs.basement()
    channels = replace(base, hangers=designs.hangers("resilient channel"))
    lines = gravity.loads(channels, coupled=False).lines_of_text()
    assert any("channel fixings" in line for line in lines)
    assert any("resilient_channels.withdrawal_capacity" in line for line in lines)
    assert not any("hanger" in line for line in lines)

"""The words for what holds the ceiling: no hanger is spoken of where there is none."""

from __future__ import annotations

from dataclasses import replace

import designs
import pytest

from impact import gravity
from impact.design.fixings import called, cautions_of, said_of, said_under, table_of
from impact.design.parts import IndependentJoists


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


@pytest.mark.parametrize(
    ("made", "kind", "checked"),
    [
        (designs.basement, "hanger", "hangers, fasteners and joists"),
        (designs.on_slab, "hanger", "hangers, fasteners and the slab"),
        (designs.basement, "resilient channel", "channel fixings, fasteners and joists"),
        (designs.on_slab, "direct", "fixings and the slab"),
        (designs.basement, "direct", "fixings and joists"),
        (designs.basement, None, "the ceiling's own joists, bearings and fasteners"),
    ],
)
def test_cautions_name_what_the_design_has(made, kind, checked):
    """Written out by hand; the second caution is of the place and never changes."""
    base, own = made(), IndependentJoists(designs.joists(depth=0.12))
    hangers = designs.hangers(kind) if kind else None
    design = replace(base, hangers=hangers, independent=None if kind else own)
    first, second = cautions_of(design)
    assert first == f"Overhead load: have a licensed engineer check {checked}."
    assert second.startswith("Local code")


def test_loads_speak_of_what_is_there():
    base = designs.basement()
    channels = replace(base, hangers=designs.hangers("resilient channel"))
    lines = gravity.loads(channels, coupled=False).lines_of_text()
    assert any("channel fixings" in line for line in lines)
    assert any("resilient_channels.withdrawal_capacity" in line for line in lines)
    assert not any("hanger" in line for line in lines)

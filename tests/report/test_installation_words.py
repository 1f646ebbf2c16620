"""The installation sheet in words for what holds the ceiling. Order of work: common practice."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import designs
import pytest

from impact import gravity
from impact.design.parts import IndependentJoists
from impact.report import installation
from impact.study.layout import lay_out


def sheet(design):
    """The sheet with its loads checked, as one running text."""
    return re.sub(r"\s+", " ", raw(design))


def raw(design):
    return installation.sheet(lay_out(design, held=gravity.loads(design, coupled=False)))


def held_by(kind, **changes):
    design = designs.basement()
    return replace(design, hangers=replace(designs.hangers(kind), **changes))


def test_channels_are_fixed_and_not_hung_from_anything():
    """One kind of work, one sentence: what is a channel is not hung from hangers as well."""
    text = sheet(held_by("resilient channel"))
    assert "Hang the channel" not in text
    assert "fix it at the" in text
    works = text[text.index("STEPS") : text.index("SCREWS")]
    assert not re.search(r"\bhangers?\b", works, re.I)


@pytest.mark.parametrize("kind", ["hanger", "resilient channel"])
def test_sentences_are_broken_once_and_at_the_edge(kind):
    """No word but the last of a paragraph stands alone on its line: longer words for what holds
    the ceiling are put in before lines are broken."""
    lines = raw(held_by(kind)).split("\n")
    for line, following in itertools.pairwise(lines):
        if re.fullmatch(r" {4,}[a-z]+( [a-z]+)?", line):
            assert not re.match(r" {4,}[a-z]", following), (line, following)


def test_what_does_not_yield_is_not_read_with_a_ruler():
    """Boards screwed straight to joists: no channel to measure to, nothing that grows."""
    text = sheet(held_by("direct", channel=None, channel_spacing=0.3))
    for words in ("joist to channel", "ruler shows", "Over the years", "channel level"):
        assert words not in text
    assert "joist to channel" in sheet(held_by("hanger"))


def test_steel_does_not_creep_and_nothing_is_said_of_it():
    assert "Over the years" in sheet(held_by("hanger"))
    still = sheet(held_by("hanger", creep_factor=1.0, cold_factor=1.0))
    for words in ("Over the years", "Hung in the cold", "hung in the cold", "creep"):
        assert words not in still


def test_own_joists_are_not_counted_as_hangers():
    own = IndependentJoists(designs.joists())
    text = sheet(replace(designs.basement(), hangers=None, independent=own))
    assert "joists of its own" in text
    assert "0 hangers" not in text
    assert "Count hangers" not in text


def test_columns_of_small_deflections_do_not_touch():
    """A soft spring in inches: thousandths below a tenth of an inch, and blanks between columns."""
    design = replace(held_by("hanger"), units="imperial")
    rows = [line for line in raw(design).split("\n") if re.match(r" {2,4}\d+ .* lb", line)]
    assert len(rows) > 10
    for row in rows:
        assert len(row) <= 80
        assert re.search(r" lb +\d\.\d{2,3} in +\d\.\d{2,3}-\d\.\d{2,3} in", row), row

"""The installation sheet in words for what holds the ceiling. Order of work: common practice."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import designs
import pytest

from impact import gravity
from impact.design.parts import IndependentJoists, OldCeiling, Patch
from impact.report import installation, page_contractor
from impact.report.page_blocks import Picture
from impact.study.layout import lay_out
from impact.study.layout_rules import Finding


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
    assert "Over the years" in sheet(held_by("hanger", creep_factor=1.05))
    assert "about 1.05 times" in sheet(held_by("hanger", creep_factor=1.05))
    still = sheet(held_by("hanger", creep_factor=1.0, cold_factor=1.0))
    for words in ("Over the years", "Hung in the cold", "hung in the cold", "creep"):
        assert words not in still


def test_a_gap_is_kept_open_where_there_is_one():
    base = designs.basement()

    def words(kind, gap):
        edge = replace(base.ceiling.perimeter, kind=kind, gap=gap)
        return sheet(replace(base, ceiling=replace(base.ceiling, perimeter=edge)))

    assert "Keep the gap of 1/4 in open all round and at" in words("sealed", 0.00635)
    assert "gap of 1/4 in open at the walls it is not to touch" in words("touching", 0.00635)
    assert "Keep the gap" not in words("touching", 0.0)
    base = replace(base, units="metric")
    assert "Keep the gap of 6 mm open all round and at" in words("sealed", 0.00635)


def test_own_joists_are_not_counted_as_hangers():
    own = IndependentJoists(designs.joists())
    text = sheet(replace(designs.basement(), hangers=None, independent=own))
    # 4 m of room, the first at half of 38 mm and 25 mm from the wall... told alike in the steps
    count = re.search(r"Set (\d+) joists", text)[1]
    assert f" {count} joists of its own, finished height" in text
    assert "0 hangers" not in text
    assert "Count hangers" not in text
    assert "none of it lies on the boards" in text  # nor on channels, where none are
    assert "must check the ceiling's own joists, their bearings and fasteners" in text


def test_own_joists_stand_under_a_slab_too():
    """What is said of joists there is said of the ceiling's own: the slab has none."""
    own = IndependentJoists(designs.joists(depth=0.12))
    text = sheet(replace(designs.on_slab(), hangers=None, independent=own))
    assert re.search(r"Set \d+ joists .* for the ceiling alone", text)
    assert "where they pass beams, pipes or ducts" in text
    assert "end joints on joists" in text
    assert "steel in the slab" in text


def test_a_slab_has_no_joists_to_be_checked():
    text = sheet(designs.on_slab())
    assert "their fasteners into the slab, the slab under the added dead load" in text
    assert "joists" not in text


def test_a_column_of_joists_stands_where_joists_are():
    """The head of the table of hangers, and the first row: two places, a joist's number, a load."""

    def table(design):
        lines = raw(design).split("\n")
        at = lines.index("HANGERS")
        return lines[at + 2].split("load")[0].split(), lines[at + 3].split("lb")[0].split()

    head, row = table(designs.basement())
    assert head[-1] == "joist"
    assert row[-2].isdecimal()  # of the joist, before the load
    head, row = table(designs.on_slab())
    assert head[-1] == "south"
    assert row[-2].endswith(('"', "in"))  # of the place


@pytest.mark.parametrize(
    ("made", "title", "shown"),
    [
        (designs.basement(), "Plan of the hangers", "numbered hangers, channels, joist lines,"),
        (designs.on_slab(), "Plan of the hangers", "numbered hangers, channels, dimensions"),
        (replace(designs.basement(), hangers=None,
                 independent=IndependentJoists(designs.joists(depth=0.12))),
         "Plan of the ceiling's own joists", "own joists, joist lines, dimensions"),
    ],
)  # fmt: skip
def test_a_plan_says_what_is_on_it(made, title, shown):
    section = page_contractor.part(lay_out(made)).sections[0]
    assert section.title == title
    (picture,) = [block for block in section.blocks if isinstance(block, Picture)]
    assert shown in picture.alt


def test_columns_of_small_deflections_do_not_touch():
    """A soft spring in inches: thousandths below a tenth of an inch, and blanks between columns."""
    design = replace(held_by("hanger"), units="imperial")
    rows = [line for line in raw(design).split("\n") if re.match(r" {2,4}\d+ .* lb", line)]
    assert len(rows) > 10
    for row in rows:
        assert len(row) <= 80
        assert re.search(r" lb +\d\.\d{2,3} in +\d\.\d{2,3}-\d\.\d{2,3} in", row), row


def test_a_place_of_eight_feet_does_not_run_into_its_number():
    """ "47' 11 13/16"" is a place no room has: number 4 stands at 7' 11 13/16"."""
    place = 8 * 12 * 0.0254 - 0.0254 * 3 / 16
    design = held_by("hanger", positions=tuple(
        (x, y) for x in (0.4, place) for y in (0.4, 1.6, 3.2)))  # fmt: skip
    assert re.search(r"^ +4 +7' 11 13/16\" ", raw(replace(design, units="imperial")), re.M)


def test_what_must_be_mended_first_stands_at_the_head():
    """Three times the boards on hangers rated for two: nobody builds that in a hurry."""
    base = designs.basement()
    heavy = replace(base, ceiling=replace(base.ceiling, layers=base.ceiling.layers * 3))
    head = sheet(heavy).split("CAUTIONS")[0]
    assert "NOT TO BE BUILT AS IT IS: hangers overloaded" in head
    strong = replace(base, hangers=replace(base.hangers, load_minimum=1.0, load_maximum=5e3))
    assert "NOT TO BE BUILT" not in sheet(strong)


def test_a_lap_is_told_in_the_units_of_the_sheet():
    """6 in are 152.4 mm."""
    for units, lap in (("metric", "152 mm"), ("imperial", "6 in")):
        assert f"each lapped {lap} and tied" in sheet(replace(designs.l_shaped(), units=units))


def test_notes_are_not_headed_by_all_kept():
    made = lay_out(designs.basement())
    notes = [found for found in made.findings if found.kind == "note"]
    assert made.rules_kept == ("No placing rule broken, but see" if notes
                               else "All placing rules kept")  # fmt: skip
    assert replace(made, findings=()).rules_kept == "All placing rules kept"
    broken = (Finding("edge row", "broken", "x"), Finding("height", "note", "y"))
    assert replace(made, findings=broken[1:]).rules_kept == "No placing rule broken, but see"
    assert replace(made, findings=broken).rules_kept == "RULES BROKEN: 1"


def test_runs_of_channel_that_do_not_meet_are_told_from_spliced_ones():
    """A hatch parts one line; beside it 4.2 m of channel are spliced from stock of 12 ft."""
    design = designs.l_shaped()
    rows = raw(design).split("CUTTING LIST")[1].split("BOARDS")[0]
    assert "  furring channel" in rows
    assert any(row.count(";") == 1 for row in rows.split("\n") if row.startswith("  at"))
    assert re.search(r"\d\" \+ \d", rows)


def test_the_sheet_says_where_hatch_lamp_and_duct_are():
    """Places as in `designs.l_shaped`, in the axes of the file: joists along the length."""
    text = sheet(replace(designs.l_shaped(), units="metric"))
    for words in (
        "no ceiling 'stair': 3600 mm to 5400 mm from the west wall, 3200 mm to 4800 mm from the",
        "opening 'hatch': 1500 mm to 2100 mm from the west wall, 2300 mm to 2900 mm from the",
        "fixture 'lamp': 3000 mm to 3300 mm from the west wall, 1600 mm to 1900 mm from the",
        "bulkhead 'duct': 0 mm to 5400 mm from the west wall, 0 mm to 600 mm from the south wall, "
        "250 mm below the ceiling",
    ):
        assert words in text


def test_below_an_old_ceiling_the_ruler_is_held_to_it():
    """No joist is seen there, and fasteners pass the old boards before they hold."""
    base = replace(designs.basement(), units="metric")
    old = OldCeiling((designs.FIVE_EIGHTHS,), "nailed", 0.2, 1e6, None)
    text = sheet(replace(base, old_ceiling=old))
    assert text.count("old ceiling to channel") == 2
    assert "joist to channel" not in text
    assert "they pass 15.9 mm of old ceiling before they hold" in text
    assert "no contact with the old ceiling, walls" in text
    assert "no screw may touch the old ceiling" in text
    assert "A screw longer than 'at most' reaches the old ceiling and bridges" in text
    assert "A screw longer than 'at most' reaches the joist and bridges" in sheet(base)
    assert sheet(base).count("joist to channel") == 2
    duct = Patch("joist hanger duct", 0.0, 1.0, 3.0, 0.3, drop=0.2)
    ducted = replace(base, room=replace(base.room, obstructions=(duct,)))
    assert "down to 200 mm below the joists" in sheet(ducted)
    slab = designs.on_slab()
    slab = replace(slab, units="metric", room=replace(slab.room, obstructions=(duct,)))
    for below, under in (("old ceiling", replace(ducted, old_ceiling=old)), ("slab", slab)):
        text = sheet(under)  # what a thing is called stays as it is
        assert f"down to 200 mm below the {below}" in text
        assert f"reaches 200 mm below the {below}, more than the clear depth" in text
        held = "slab" if below == "slab" else "joists"  # an old ceiling bears nothing
        assert f"The fasteners into the {held} are not checked" in text
        assert "'joist hanger duct'" in text


def test_fasteners_of_resilient_channels_are_not_sold_as_channels():
    text = sheet(held_by("resilient channel", name="single-leg resilient channel"))
    bill = text[text.index("QUANTITIES") :]
    assert "fasteners of the channel, one at every numbered place" in bill
    assert "single-leg" not in bill
    assert "single-leg resilient channel: furring channel" in text  # the cutting list

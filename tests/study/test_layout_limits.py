"""Rules of a layout at their limits: a little less keeps them, a little more breaks them.

Under a slab, so that hangers stand where they are put: 2.0 m along the lines, channels to 6.35 mm
from the walls. Spacings are the file's, 24 and 48 in, with 2 % for sizes written in round metres.
"""

from __future__ import annotations

from dataclasses import replace

import designs
import pytest

from impact.design import placing
from impact.design.parts import Patch
from impact.study import layout, layout_boards, layout_pieces, layout_rules


def findings(xs, ys, length=1.5, **changes):
    """Rule -> texts, of hangers at all `xs` and `ys` [m] in a room `length` by 2.0 m."""
    base = designs.on_slab()
    points = tuple((x, y) for x in xs for y in ys)
    kind = replace(base.hangers, positions=points, **changes)
    room = replace(base.room, length=length, width=2.0)
    made = layout.lay_out(replace(base, units="metric", hangers=kind, room=room))
    found: dict[str, list[str]] = {}
    for one in made.findings:
        found.setdefault(one.rule, []).append(one.text)
    return found


@pytest.mark.parametrize(("apart", "told"), [(0.621, False), (0.623, True)])
def test_lines_of_channel(apart, told):
    """24 in and 2 % are 621.8 mm."""
    found = findings((0.1, 0.1 + apart, 1.3), (0.1, 1.0, 1.9))
    assert found.get("channel spacing", []) == (
        ["channel lines 623 mm apart, at most 622 mm"] if told else []
    )


@pytest.mark.parametrize(("apart", "told"), [(1.243, False), (1.245, True)])
def test_hangers_along_a_line(apart, told):
    """48 in and 2 % are 1243.6 mm; the two lines break it alike, and are named by their hangers."""
    found = findings((0.1, 0.6), (0.1, 0.1 + apart, 1.9), length=0.7).get("hanger spacing", [])
    assert found == [
        f"hangers {a} and {b} are 1245 mm apart, at most 1219 mm"
        for a, b in ((1, 2), (4, 5))
        if told
    ]


@pytest.mark.parametrize(
    ("apart", "channel", "told"),
    [(0.095, True, True), (0.105, True, False), (0.015, False, True), (0.025, False, False)],
)
def test_hangers_too_near_each_other(apart, channel, told):
    """Two lines of channel want 100 mm, two hangers straight at the boards 20 mm."""
    base = designs.hangers()
    found = findings((0.1, 0.1 + apart, 0.6), (0.1, 1.0, 1.9), length=0.7,
                     channel=base.channel if channel else None)  # fmt: skip
    assert ("none overlapping" in found) is told


def test_free_ends_that_are_long_are_noted_with_the_longest():
    """Hangers at 0.4 and 1.9 m of channels from 0.00635 to 1.99365 m: ends of 394 and 94 mm, of
    which the first is more than the 152 mm from a wall, on each of three lines."""
    found = findings((0.1, 0.7, 1.3), (0.4, 1.4, 1.9))
    (text,) = found["channel overhang"]
    assert text.startswith(
        "3 channel ends reach up to 394 mm beyond their last hanger, more than 152 mm"
    )
    assert "channel overhang" not in findings((0.1, 0.7, 1.3), (0.15, 1.0, 1.85))


@pytest.mark.parametrize(("first", "told"), [(0.152, False), (0.154, True)])
def test_the_first_line_stands_within_the_edge_distance(first, told):
    found = findings((first, 0.7, 1.4), (0.1, 1.0, 1.9))
    assert ("first and last row" in found) is told


@pytest.mark.parametrize(("y", "told"), [(0.049, True), (0.051, False)])
def test_hangers_keep_clear_of_walls(y, told):
    """50 mm to fix them."""
    found = findings((0.1, 0.7, 1.4), (y, 1.0, 1.9))
    assert ("clear of walls and openings" in found) is told


def test_rows_of_boards_begin_where_a_box_along_a_whole_wall_ends():
    """4.0 x 3.6 m with boxes of 0.5 m along the south and the north wall leave 2.6 m,
    two rows of 1.2 m and a sliver, so that the first is less; a box along half a wall
    takes no row away."""
    room = replace(designs.basement().room, length=4.0, width=3.6)
    boxes = (Patch("a", 0.0, 0.0, 4.0, 0.5, drop=0.2), Patch("b", 0.0, 3.1, 4.0, 0.5, drop=0.2))
    (layer,) = layout_boards.board_layers(room, boxes, [], False, ("across",), 2.4, 1.2)
    assert (layer.rows[0].y0, layer.rows[-1].y1) == pytest.approx((0.5, 3.1))
    assert min(row.y1 - row.y0 for row in layer.rows) >= 0.3 - 1e-9
    half = (Patch("a", 0.0, 0.0, 2.0, 0.5, drop=0.2),)
    (layer,) = layout_boards.board_layers(room, half, [], False, ("across",), 2.4, 1.2)
    assert (layer.rows[0].y0, layer.rows[-1].y1) == pytest.approx((0.0, 3.6))


@pytest.mark.parametrize(
    ("run", "count"), [((3.0, 6.0), 1), ((3.0, 6.66), 2), ((0.0, 7.1628), 2), ((1.0, 8.17), 3)]
)
def test_a_run_is_spliced_by_its_own_length(run, count):
    """12 ft lengths, 3657.6 mm, laps of 6 in, wherever the run begins: two make 7162.8 mm."""
    assert len(layout_pieces.channel_pieces([(0.3, *run)])) == count


def test_hangers_off_the_joists_are_told_together():
    """Below joists, two moved 50 mm aside and one 70 mm: one line for each distance."""
    design = replace(designs.basement(), units="metric")
    points = list(placing.place(design).points)
    for i, off in ((0, 0.05), (3, 0.05), (5, 0.07)):
        points[i] = (points[i][0], points[i][1] + off)
    moved = replace(design, hangers=replace(design.hangers, positions=tuple(points)))
    found = layout_rules.check(moved, placing.place(moved))
    told = [finding.text for finding in found if finding.rule == "hangers on joists"]
    assert told == ["hangers 1, 4 are not on a joist (50 mm off)",
                    "hanger 6 is not on a joist (70 mm off)"]  # fmt: skip


@pytest.mark.parametrize(("width", "told"), [(2.0, False), (1.2, True)])
def test_lines_on_either_side_of_a_box(width, told):
    """0.75 m apart, more than 24 in: from wall to wall between them hangs a box of its own frame;
    beside a shorter one, of 1.2 m, the ceiling runs on. A hatch ends at the wall up to rounding."""
    box = Patch("box", 0.5, 0.0, 0.5, width, drop=0.2)
    hatch = Patch("hatch", 0.15, 1.8, 0.2, 0.2 - 1e-15)
    base = designs.on_slab()
    points = tuple((x, y) for x in (0.1, 0.4, 1.15, 1.4) for y in (0.1, 1.0, 1.9))
    kind = replace(base.hangers, positions=points)
    room = replace(base.room, length=1.5, width=2.0, bulkheads=(box,), openings=(hatch,))
    made = layout.lay_out(replace(base, units="metric", hangers=kind, room=room))
    texts = [one.text for one in made.findings if one.rule == "channel spacing"]
    assert texts == (["channel lines 750 mm apart, at most 622 mm"] if told else [])

"""Hanger positions against hand-worked layouts and against the rules on random rooms.

The rules themselves are common practice, no source. Tolerances of 1e-6 m are rounding only.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import designs
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from impact.design import placing
from impact.design.lines import CLEARANCE, LINE_GAP, joist_lines
from impact.design.parts import Patch

INCH = 0.0254


def test_joists_are_symmetric_and_leave_the_edges_free():
    """By hand: 3.6 m / 0.4 m = 9 spaces, so 8 joists inside, first at 0.4 m, last at 3.2 m."""
    base = designs.basement()
    floor = replace(base.floor, joists=replace(base.floor.joists, spacing=0.4))
    lines = joist_lines(floor)
    assert lines == pytest.approx([0.4 * i for i in range(1, 9)], abs=1e-9)


def test_joists_of_a_width_that_is_no_multiple():
    """By hand: 3.5 m at 0.4 m: 8 joists take 2.8 m, the rest, 0.7 m, is split: first at 0.35 m."""
    base = designs.basement()
    floor = replace(base.floor, width=3.5, joists=replace(base.floor.joists, spacing=0.4))
    lines = joist_lines(floor)
    assert lines[0] == pytest.approx(0.35)
    assert lines[-1] == pytest.approx(3.15)


def test_a_known_joist_moves_all_of_them():
    """By hand: one joist known at 1.0 m, spacing 0.4 m, so the first stands at 0.2 m."""
    base = designs.basement()
    floor = replace(base.floor, joists=replace(base.floor.joists, spacing=0.4))
    floor = replace(floor, joists=replace(floor.joists, first=1.0))
    lines = joist_lines(floor)
    assert lines[0] == pytest.approx(0.2)
    assert lines[-1] == pytest.approx(3.4)
    room = replace(base.room, offset_y=0.5, width=2.0)
    inside = joist_lines(floor, room)
    assert inside == pytest.approx([0.6, 1.0, 1.4, 1.8, 2.2])


def test_rectangular_room_by_hand():
    """4.2 x 3.6 m, 24 x 48 in on joists 16 in: (4.2 - 2 x 0.1524)/0.6096 = 6.39, so 7 spaces and 8
    lines of 3.8952/7 = 0.5565 m. Joists: 3.6/0.4064 = 8.86, so 8; seven spaces from the first to
    the last joist hold at most 3 each, so 3 gaps: 2, 3 and 2 joists."""
    placement = placing.place(designs.basement())
    assert len(placement.channels) == 8
    assert placement.channels[0] == pytest.approx(6 * INCH)
    assert placement.channels[-1] == pytest.approx(4.2 - 6 * INCH)
    gaps = [b - a for a, b in itertools.pairwise(placement.channels)]
    assert gaps == pytest.approx([0.55646] * 7, abs=1e-5)
    assert placement.joists[0] == pytest.approx((3.6 - 7 * 0.4064) / 2)
    assert placement.joist_of_point == (0, 2, 5, 7) * 8
    assert placement.channel_of_point == tuple(i for i in range(8) for _ in range(4))


def test_resilient_channel_is_fixed_at_every_joist():
    design = replace(designs.basement(), hangers=designs.hangers("resilient channel"))
    placement = placing.place(design)
    assert len(placement.points) == 8 * 8  # lines x joists of the room above


def test_direct_fixing_runs_along_every_joist():
    """Screws at 0.3 m from 15 mm off the walls: (4.2 - 0.03)/0.3 = 13.9, so 15 on each joist."""
    hangers = replace(
        designs.hangers("direct"), channel=None, channel_spacing=0.3, edge_distance=0.015
    )
    placement = placing.place(replace(designs.basement(), hangers=hangers))
    assert len(placement.points) == 15 * 8
    assert placement.channels == ()
    assert set(placement.channel_of_point) == {-1}
    assert min(x for x, _ in placement.points) == pytest.approx(0.015)


def test_slab_has_no_joists():
    """(3.6 - 0.3048)/1.2192 = 2.70, so 3 spaces and 4 hangers on each of 8 lines."""
    placement = placing.place(designs.on_slab())
    assert placement.joists == ()
    assert len(placement.points) == 32
    assert set(placement.joist_of_point) == {-1}


def test_explicit_positions_are_kept_in_their_order():
    given_points = ((2.0, 0.4), (1.0, 0.4), (1.0, 2.0), (2.0, 2.0))
    hangers = replace(designs.hangers(), positions=given_points)
    placement = placing.place(replace(designs.basement(), hangers=hangers))
    assert placement.points == given_points
    assert placement.channels == (1.0, 2.0)
    assert placement.channel_of_point == (1, 0, 0, 1)


def test_own_joists_need_no_points():
    assert placing.place(replace(designs.basement(), hangers=None)).points == ()


def test_beside_the_hatch_stand_extra_hangers():
    """The hatch of the L-shaped room spans x 1.5 to 2.1 m, y 2.3 to 2.9 m."""
    design = designs.l_shaped()
    points = placing.place(design).points
    edge = design.hangers.edge_distance + 1e-6
    assert any(1.5 - edge <= x < 1.5 and y < 2.3 for x, y in points)
    assert any(1.5 - edge <= x < 1.5 and y > 2.9 for x, y in points)
    assert any(2.1 < x <= 2.1 + edge and y < 2.3 for x, y in points)
    assert any(2.1 < x <= 2.1 + edge and y > 2.9 for x, y in points)


@pytest.mark.parametrize("kind", ["openings", "bulkheads", "notches"])
@pytest.mark.parametrize("strip", [0.11, 0.15, 0.19, 0.24, 0.26, 0.4])
def test_a_strip_between_a_hole_and_a_wall_has_its_line(kind, strip):
    """A hole of 1 x 1.2 m that leaves a strip along the end wall, narrower than the edge distance
    of 0.2 m or a little wider: a line with hangers stands in it, clear of hole and wall."""
    base = designs.basement()
    far = base.room.length
    hole = Patch("hole", far - strip - 1.0, 1.0, 1.0, 1.2, drop=0.2)
    for side in (hole, replace(hole, x=strip)):
        room = replace(base.room, **{kind: (side,)})
        hangers = replace(base.hangers, edge_distance=0.2)
        placement = placing.place(replace(base, room=room, hangers=hangers))
        from_wall = [far - x if side is hole else x for x, y in placement.points if 1.0 < y < 2.2]
        assert any(0.05 - 1e-9 <= x <= strip - 0.05 + 1e-9 for x in from_wall)
        assert all(0 < x < far for x, _ in placement.points)


def nothing_to_hold(room, hangers, low, high):
    """Whether between two lines x all is notch, opening and bulkhead, or strips beside them too
    narrow for a hanger, but for stretches from either line that are no wider than lines may be
    apart; their far end is the frame of a hatch or a box, or a wall."""
    patches = room.notches + room.openings + room.bulkheads
    edges = {x for p in patches for x in (p.x, p.x + p.length) if low < x < high}
    held = []
    for a, b in itertools.pairwise(sorted({low, high, *edges})):
        if has_ceiling(room, patches, (a + b) / 2):
            start = held.pop()[0] if held and held[-1][1] == a else a
            held.append((start, b))
    widest = hangers.channel_spacing + 1e-9
    return all(b - a <= widest and (a == low or b == high) for a, b in held)


def has_ceiling(room, patches, x):
    """Whether a run along y at x is wide enough for a hanger."""
    ends = [(p.y, p.y + p.width) for p in patches if p.x < x < p.x + p.length]
    reached = 0.0
    for south, north in [*sorted(ends), (room.width, room.width)]:
        if south - reached > 2 * CLEARANCE:
            return True
        reached = max(reached, north)
    return False


def check_rules(design):
    """Every promise of `place`, worked out from the room alone."""
    room, hangers, joists = design.room, design.hangers, design.floor.joists
    placement = placing.place(design)
    assert placement == placing.place(design)
    count = len(placement.points)
    assert len(placement.channel_of_point) == len(placement.joist_of_point) == count
    for (x, y), joist in zip(placement.points, placement.joist_of_point, strict=True):
        assert 0 < x < room.length
        assert 0 < y < room.width
        for patch in room.notches + room.openings + room.bulkheads:
            clear_x = max(patch.x - x, x - patch.x - patch.length)
            clear_y = max(patch.y - y, y - patch.y - patch.width)
            assert max(clear_x, clear_y) >= CLEARANCE - 1e-6
        assert y == pytest.approx(placement.joists[joist], abs=1e-9)
        offset = (y + room.offset_y - design.floor.width / 2) / (joists.spacing / 2)
        assert offset == pytest.approx(round(offset), abs=1e-6)  # symmetric about the middle
    for a, b in itertools.combinations(placement.points, 2):
        assert max(abs(a[0] - b[0]), abs(a[1] - b[1])) >= LINE_GAP - 1e-6
    full = max(hangers.hanger_spacing * 1.02, joists.spacing)
    for i, (x, y0, y1) in enumerate(placement.segments):
        ys = [
            point[1]
            for point, segment in zip(placement.points, placement.segment_of_point, strict=True)
            if segment == i
        ]
        assert ys, "a run of channel without a hanger"
        assert all(b - a <= full + 1e-9 for a, b in itertools.pairwise(ys))
        assert ys[0] - y0 <= joists.spacing + CLEARANCE
        assert y1 - ys[-1] <= joists.spacing + CLEARANCE
        assert 0 < x < room.length
    for _, y0, y1 in placement.unsupported:
        clear = (y0 + CLEARANCE, y1 - CLEARANCE)
        assert not any(clear[0] < y < clear[1] for y in placement.joists), "joist left unused"
    lines = sorted({x for x, _, _ in placement.segments + placement.unsupported})
    for a, b in itertools.pairwise(lines):
        assert b - a <= hangers.channel_spacing + 1e-9 or nothing_to_hold(room, hangers, a, b)
    assert lines[0] <= hangers.edge_distance + 1e-9
    assert room.length - lines[-1] <= hangers.edge_distance + 1e-9
    return placement


def test_l_shaped_room_with_bulkhead_keeps_all_rules():
    placement = check_rules(designs.l_shaped())
    assert len(placement.points) > 30
    stair = [x for x, y in placement.points if 3.6 - 6 * INCH - 1e-6 <= x < 3.6 and y > 3.2]
    assert stair, "no hanger within the edge distance of the wall of the notch"


@example(  # a line between box, hatch and notch has nothing to hold
    length=3.0, width=2.5, spacing=0.3, channel=0.5, hanger=1.0, edge=0.25,
    corner=(0.4375, 0.40625), hatch=(0.375, 0.28125, 0.5), soffit=0.625,
)  # fmt: skip
@settings(max_examples=60, deadline=None)
@given(
    length=st.floats(2.5, 9), width=st.floats(2.5, 7), spacing=st.sampled_from([0.3, 0.4064, 0.61]),
    channel=st.floats(0.3, 0.7), hanger=st.floats(0.3, 1.3), edge=st.floats(0.06, 0.3),
    corner=st.tuples(st.floats(0.4, 0.9), st.floats(0.4, 0.9)),
    hatch=st.tuples(st.floats(0.05, 0.5), st.floats(0.05, 0.5), st.floats(0.2, 0.9)),
    soffit=st.floats(0.1, 0.7),
)  # fmt: skip
def test_any_room_keeps_the_rules(
    length, width, spacing, channel, hanger, edge, corner, hatch, soffit
):
    base = designs.basement()
    notch = Patch("n", corner[0] * length, corner[1] * width,
                  (1 - corner[0]) * length, (1 - corner[1]) * width)  # fmt: skip
    room = replace(
        base.room, length=length, width=width, offset_y=0.3, notches=(notch,),
        openings=(Patch("o", hatch[0] * length, hatch[1] * width, hatch[2], hatch[2] / 2),),
        bulkheads=(Patch("b", 0.0, 0.0, length / 2, soffit, drop=0.2),),
    )  # fmt: skip
    floor = replace(
        base.floor, length=length, width=width + 0.7,
        joists=replace(base.floor.joists, spacing=spacing),
    )  # fmt: skip
    hangers = replace(
        base.hangers, channel_spacing=channel, hanger_spacing=hanger, edge_distance=edge
    )
    check_rules(replace(base, room=room, floor=floor, hangers=hangers))


def test_hangers_under_a_slab_stand_evenly_from_wall_to_wall():
    """3.6 m: 152.4 mm from both walls and 3295.2 mm between, three gaps of no more than 48 in."""
    placed = placing.place(designs.on_slab())
    for run in range(len(placed.segments)):
        ys = [y for (_, y), of in zip(placed.points, placed.segment_of_point, strict=True)
              if of == run]  # fmt: skip
        assert ys == pytest.approx([0.1524 + i * 3.2952 / 3 for i in range(4)])


def test_a_short_channel_beside_a_hatch_ends_beyond_the_joists_next_to_it():
    """Joists of 3.6 m at 0.4064 m, eight, the first at (3.6 - 7 x 0.4064)/2 = 0.3776 m. Beside a
    hatch from 1.2 to 1.7 m those 50 mm clear of it are the second, 0.784 m, and the fifth, 2.0032
    m, and the channel goes 50 mm on."""
    base = designs.basement()
    room = replace(base.room, openings=(Patch("hatch", 1.2, 1.2, 0.5, 0.5),))
    placed = placing.place(replace(base, room=room))
    short = [(y0, y1) for _, y0, y1 in placed.segments if y0 > 0.4 and y1 < 3.2]
    assert short
    for ends in short:
        assert ends == pytest.approx((0.734, 2.0532))

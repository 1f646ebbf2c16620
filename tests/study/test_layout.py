"""Layouts against sums worked by hand and against the rules of the trade.

Rules and sizes are common practice, no source. Where a number is worked by hand the working stands
beside it; tolerances are the rounding of that working.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import designs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from impact import gravity
from impact.design import placing
from impact.design.origin import Default
from impact.design.parts import IndependentJoists, OldCeiling, Patch
from impact.study import layout, layout_boards, layout_pieces, layout_rules, quantities

INCH = 0.0254
FOOT = 0.3048


def broken(found):
    return [finding for finding in found if finding.kind == "broken"]


@pytest.mark.parametrize("build", [designs.basement, designs.l_shaped, designs.on_slab])
def test_layouts_placed_by_rule_break_no_rule(build):
    assert broken(layout.lay_out(build()).findings) == []


def move(design, change):
    """The design with one hanger of its rule placement changed by hand."""
    points = list(placing.place(design).points)
    change(points)
    return replace(design, hangers=replace(design.hangers, positions=tuple(points)))


@pytest.mark.parametrize(
    ("rule", "change"),
    [
        ("hangers on joists", lambda p: p.__setitem__(5, (p[5][0], p[5][1] + 0.1))),
        ("none overlapping", lambda p: p.append((p[3][0] + 0.02, p[3][1]))),
        ("clear of walls and openings", lambda p: p.append((0.01, p[3][1]))),
        ("hanger spacing", lambda p: p.pop(5)),
        ("channel overhang", lambda p: p.pop(0)),
        ("first and last row", lambda p: [p.pop(0) for _ in range(4)]),
        ("channel spacing", lambda p: [p.pop(8) for _ in range(4)]),
    ],
)
def test_each_rule_tells_its_own_fault(rule, change):
    """Faults planted one by one in a layout of eight lines of four hangers."""
    spoiled = move(designs.basement(), change)
    names = {finding.rule for finding in broken(layout.lay_out(spoiled).findings)}
    assert rule in names


def test_a_missing_hanger_beside_the_hatch_is_told():
    design = designs.l_shaped()
    spoiled = move(design, lambda p: p.__setitem__(slice(None), [q for q in p if q[0] < 1.3]))
    found = broken(layout.lay_out(spoiled).findings)
    assert any(f.rule == "beside openings" and "hatch" in f.text for f in found)


def test_a_strip_too_narrow_for_a_channel_is_told():
    """80 mm between a stair opening and the end wall: no hanger can be fixed 50 mm from both."""
    base = replace(designs.basement(), units="metric")
    hole = Patch("stair", base.room.length - 1.08, 1.0, 1.0, 1.2)
    made = layout.lay_out(replace(base, room=replace(base.room, openings=(hole,))))
    told = [found for found in made.findings if found.rule == "narrow strips"]
    assert [found.kind for found in told] == ["note"]
    assert "4120 mm to 4200 mm from the west wall, 80 mm wide" in told[0].text
    wider = replace(hole, x=hole.x - 0.1)
    made = layout.lay_out(replace(base, room=replace(base.room, openings=(wider,))))
    assert not [found for found in made.findings if found.rule == "narrow strips"]


def test_a_strip_without_joist_and_a_hanger_too_tall_are_told():
    """Between two bulkheads 0.25 m apart no joist may pass (joists stand 0.4064 m apart)."""
    base = designs.basement()
    strips = (
        Patch("a", 0, 0.70, 4.2, 0.10, drop=0.1),
        Patch("b", 0, 1.02, 4.2, 0.10, drop=0.1),
    )
    design = replace(base, room=replace(base.room, bulkheads=strips),
                     cavity=replace(base.cavity, clear_depth=0.030))  # fmt: skip
    names = {finding.rule for finding in broken(layout.lay_out(design).findings)}
    assert {"every channel hung", "hanger height"} <= names


@pytest.mark.parametrize(("depth", "told"), [(0.040, False), (0.115, True)])
def test_a_clip_that_cannot_span_the_clear_depth_is_told(depth, told):
    """Where no height is given: a rubber-in-shear clip with its 7/8 in channel takes 1 5/8 in, at
    most 60 mm (catalogue, common practice, no source); 115 mm wants a rod, strap or furring."""
    base = replace(designs.basement(), units="metric")
    design = replace(
        base, cavity=replace(base.cavity, clear_depth=depth),
        hangers=replace(base.hangers, name="rubber-in-shear clip", height=depth),
        defaults=(Default("hangers.height", f"{depth} m", "the clear depth of the cavity"),),
    )  # fmt: skip
    notes = [f.text for f in layout.lay_out(design).findings if f.rule == "hanger height"]
    assert bool(notes) is told
    assert all("a rubber-in-shear clip mostly spans, 60 mm" in text for text in notes)
    given = replace(design, defaults=())  # the file says that it spans the depth
    assert "hanger height" not in [f.rule for f in layout.lay_out(given).findings]


@pytest.mark.parametrize(("width", "told"), [(3.6, False), (1.0, True)])
def test_a_bulkhead_along_a_whole_wall_ends_the_ceiling_there(width, told):
    """Room of 4.2 x 3.6 m: along all 3.6 m of the west wall the flat ceiling ends at the bulkhead,
    and the row beside that is the first one. Along 1 m of it the rest still wants a row. Hangers
    are moved away from the west, so that neither has one at the wall."""
    base = designs.basement()
    box = Patch("duct box", 0.0, 0.0, 0.6, width, drop=0.2)
    design = replace(base, room=replace(base.room, bulkheads=(box,)))
    moved = move(design, lambda p: p.__setitem__(slice(None), [q for q in p if q[0] > 0.6]))
    rules = [f.rule for f in layout.lay_out(moved).findings]
    assert ("first and last row" in rules) is told


def test_splices_are_lapped_and_staggered():
    """Four lines of 8 m in 12 ft lengths: 8 = 3.6576 + n (3.6576 - 0.1524) gives 3 pieces."""
    segments = [(0.2 + 0.6 * i, 0.006, 8.006) for i in range(4)]
    pieces = layout_pieces.channel_pieces(segments, 12 * FOOT)
    for run in range(4):
        group = [piece for piece in pieces if piece.run == run]
        assert len(group) >= 3
        assert group[0].y0 == pytest.approx(0.006)
        assert group[-1].y1 == pytest.approx(8.006)
        assert all(piece.length <= 12 * FOOT + 1e-9 for piece in group)
        assert all(a.y1 - b.y0 == pytest.approx(6 * INCH) for a, b in itertools.pairwise(group))
        told = [y for x, y in layout_pieces.splice_points(pieces) if x == group[0].x]
        assert told == pytest.approx([piece.y1 - 3 * INCH for piece in group[:-1]])  # mid-lap
    lines = {}
    for x, y in layout_pieces.splice_points(pieces):
        lines.setdefault(x, []).append(y)
    for (_, one), (_, other) in itertools.pairwise(sorted(lines.items())):
        assert min(abs(a - b) for a in one for b in other) >= 0.6


@pytest.mark.parametrize("first", [0.7, 0.32])
def test_no_splice_is_gripped_and_no_piece_hangs_on_laps_alone(first):
    """4.6 m of 4 m stock with hangers at the joists of 0.6 m: laps of 6 in fit between two of them
    with 50 mm to spare, and the short piece has a hanger. Without hangers a lap may be anywhere;
    that of a whole length, at 3.92 m, lies on a hanger of the second case."""
    held = [[first + 0.6 * i for i in range(7)] for _ in range(6)]
    segments = [(0.2 + 0.6 * i, 0.0, 4.6) for i in range(6)]
    pieces = layout_pieces.channel_pieces(segments, 4.0, held=held)
    for x, y in layout_pieces.splice_points(pieces):
        run = [s[0] for s in segments].index(x)
        assert min(abs(y - at) for at in held[run]) >= 3 * INCH + 0.05 - 1e-9
    for piece in pieces:
        assert any(piece.y0 <= y <= piece.y1 for y in held[piece.run])


@given(st.lists(st.floats(0.5, 15), min_size=1, max_size=12), st.floats(2.4, 6))
def test_pieces_cover_every_run(lengths, stock):
    """No gap, no piece beyond the stock length, whatever the lengths."""
    segments = [(0.3 * i, 0.0, run) for i, run in enumerate(lengths)]
    for i, run in enumerate(lengths):
        group = [p for p in layout_pieces.channel_pieces(segments, stock) if p.run == i]
        laps = (len(group) - 1) * layout_pieces.LAP
        assert sum(piece.length for piece in group) == pytest.approx(run + laps)
        assert max(piece.length for piece in group) <= stock + 1e-9
        assert min(piece.length for piece in group) > 0


def test_stock_count_by_hand():
    """3.6 m bars: 3.0 | 2.0 + 1.5 | 1.5 + 1.0 + 1.0 needs three; no two can hold 10 m."""
    assert layout_pieces.stock_count([1.5, 3.0, 1.0, 2.0, 1.5, 1.0], 3.6) == 3


def test_outline_of_an_l_and_of_a_hole():
    """5.4 x 4.8 m less a corner of 1.8 x 1.6 m: 25.92 - 2.88 = 23.04 m2 and still 20.4 m of edge;
    a hole of 0.6 x 0.6 m takes 0.36 m2 and adds 2.4 m."""
    room = designs.l_shaped().room
    assert layout_boards.outline(room, room.notches) == pytest.approx((23.04, 20.4))
    with_hole = layout_boards.outline(room, room.notches + room.openings)
    assert with_hole == pytest.approx((22.68, 22.8))


def test_a_notch_that_ends_at_a_wall_up_to_rounding():
    """12 ft + 6 ft can be a rounding off 18 ft: still 18 x 16 ft less 6 x 5 ft, and no wall beside
    the stair."""
    notch = Patch("stair", 12 * FOOT, 11 * FOOT, 6 * FOOT, 5 * FOOT)
    room = replace(
        designs.basement().room, width=16 * FOOT, notches=(notch,),
        length=math.nextafter(notch.x + notch.length, math.inf),
    )  # fmt: skip
    area, edge = layout_boards.outline(room, room.notches)
    assert (area, edge) == pytest.approx((258 * FOOT**2, 68 * FOOT))
    ends = [y for start, end in layout_boards.outline_edges(room, room.notches)
            for x, y in (start, end) if x > 17.9 * FOOT]  # fmt: skip
    assert max(ends) == pytest.approx(11 * FOOT)


@pytest.mark.parametrize("build", [designs.basement, designs.l_shaped])
def test_boards_cover_the_ceiling_and_their_joints_are_staggered(build):
    made = layout.lay_out(build())
    room = made.design.room
    net = layout_boards.outline(room, placing.blocked(room))[0]
    for number, layer in enumerate(made.boards):
        covered = sum((r.y1 - r.y0) * sum(b - a for a, b in r.pieces) for r in layer.rows)
        assert covered >= net - 1e-6
        size = made.options.board_length * made.options.board_width
        assert layer.boards * size >= net
        for row in layer.rows:
            assert all(b - a <= made.options.board_length + 1e-6 for a, b in row.pieces)
            on = [any(abs(x - c) < 1e-5 for c in made.placement.channels) for x in row.joints]
            assert all(on), "an end joint off the channels"
        for south, north in itertools.pairwise(layer.rows):
            assert all(abs(a - b) >= 0.3 for a in south.joints for b in north.joints)
        if number:
            for row in layer.rows:
                for below in made.boards[number - 1].rows:
                    if below.y0 < row.y1 and below.y1 > row.y0:
                        assert all(abs(a - b) >= 0.3 for a in row.joints for b in below.joints)


@pytest.mark.parametrize(
    ("across", "firsts"),
    [
        (4.8, (1.2, 0.6)),  # four rows of 1.2 m; the second layer half a board off
        (4.87, (0.9, 0.6)),  # 70 mm would be left: 0.9 and 0.37 at the ends; edges 0.3 m apart
        (5.5, (1.2, 0.9)),  # 0.6 would leave 0.1; 0.9 leaves 1.0, edges 0.3 m off those at 1.2
        (1.1, (1.1, 0.6)),  # one row; half a board and 0.5 m
    ],
)  # fmt: skip
def test_no_sliver_of_board_along_a_wall(across, firsts):
    """By hand, boards of 1.2 m across a room: no row under 0.3 m, long edges of two layers 0.3 m
    apart (common practice, no source)."""
    room = replace(designs.basement().room, length=4.0, width=across)
    layers = layout_boards.board_layers(room, (), [], False, ("across",) * 2, 2.4, 1.2)
    rows = [[row.y1 - row.y0 for row in layer.rows] for layer in layers]
    assert [row[0] for row in rows] == pytest.approx(firsts)
    for row in rows:
        assert sum(row) == pytest.approx(across)
        assert min(row) >= 0.3 - 1e-9


def test_screws_hold_and_cannot_bridge():
    """Two 5/8 in boards on a 1 5/8 in (41 mm) clip: 1 in and 1 5/8 in screws, the trade's usual
    pair; each reaches 3/8 in past the channel face and stays under board + 41 mm."""
    table = layout.screw_table(designs.basement())
    assert [screw.size for screw in table] == pytest.approx([1 * INCH, 1.625 * INCH])
    for screw in table:
        assert screw.size >= screw.through + 3 / 8 * INCH - 0.0003
        assert screw.size < screw.through + 0.041


def test_no_longest_screw_is_named_where_none_sold_is_so_long():
    """On rods 200 mm below the joist: 200 - 3.2 mm over the boards is beyond 100 mm (4 in), the
    longest screw usual for boards (common practice, no source); under 41 mm a 2 1/2 in one
    reaches the joist through two boards: 31.8 + 41 - 3.2 = 69.6 mm is the longest."""
    base = designs.basement()
    deep = replace(base, cavity=replace(base.cavity, clear_depth=0.2),
                   hangers=replace(base.hangers, height=0.2))  # fmt: skip
    assert [screw.most for screw in layout.screw_table(deep)] == [None, None]
    strapped = replace(deep, hangers=base.hangers)  # the strap above the clip is hit as a joist is
    assert layout.screw_table(strapped)[1].most == pytest.approx(0.0696, abs=2e-4)
    assert layout.screw_table(base)[1].most == pytest.approx(0.0696, abs=2e-4)


def test_no_screw_is_named_where_every_one_would_bridge():
    """A channel 10 mm below the joist: 9.5 mm to hold and 3.2 mm to stay clear do not fit."""
    base = designs.basement()
    design = replace(base, cavity=replace(base.cavity, clear_depth=0.010))
    assert [screw.size for screw in layout.screw_table(design)] == [None, None]
    assert any(f.rule == "screw length" for f in broken(layout.lay_out(design).findings))


def test_zone_masses_by_hand():
    """Boards 2 x 690 x 0.0159 = 21.942 kg/m2. Bulkhead 5.4 x 0.6 m on three walls, 0.25 m deep:
    soffit 3.24 m2, one free face 5.4 x 0.25 = 1.35 m2, together 100.7 kg. Lamp 4 kg."""
    zones = {zone.name: zone for zone in layout.lay_out(designs.l_shaped()).zones}
    assert zones["duct"].mass == pytest.approx(4.59 * 21.942, rel=1e-6)
    assert zones["lamp"].mass == 4.0
    assert zones["duct"].load == pytest.approx(4.59 * 21.942 * 9.80665, rel=1e-6)
    assert zones["field"].area == pytest.approx(23.04 - 3.24 - 0.36)
    assert all(zone.hangers for zone in zones.values())


def test_zones_name_the_hangers_beside_them():
    """A box along the end of all lines under a slab, and a lamp between two hangers of one line:
    4.2 x 3.6 m, lines at 0.15 to 4.05 m, four hangers on each. The box takes 3.0 to 3.6 m of y, so
    the lines end at it and the last hanger of each of the 8 is next to it."""
    slab = designs.on_slab()
    box = Patch("box", 0.0, 3.0, 4.2, 0.6, drop=0.2)
    design = replace(slab, room=replace(slab.room, bulkheads=(box,)))
    where = placing.place(design)
    last = {run: i for i, run in enumerate(where.segment_of_point)}  # from south to north
    zones = {zone.name: zone for zone in layout.zones(design, where)}
    assert zones["box"].hangers == tuple(sorted(last.values()))
    assert len(zones["box"].hangers) == 8
    line = where.segments[2][0]
    ys = [y for i, (x, y) in enumerate(where.points) if where.segment_of_point[i] == 2]
    lamp = Patch("lamp", line - 0.1, ys[0] + 0.1, 0.2, 0.2, mass=3.0)
    lit = replace(design, room=replace(design.room, fixtures=(lamp,)))
    named = layout.zones(lit, where)[-1].hangers
    assert [where.points[i] for i in named] == [(line, ys[0]), (line, ys[1])]
    lamp = replace(lamp, x=line + 0.2)  # between two lines: both carry it
    lit = replace(design, room=replace(design.room, fixtures=(lamp,)))
    assert {where.segment_of_point[i] for i in layout.zones(lit, where)[-1].hangers} == {2, 3}


def test_bill_and_cost_by_hand():
    """Rectangular room: 32 hangers at 6, 8 lengths of 12 ft = 29.2608 m at 2, edge 15.6 m + 10 %
    at 1; sum 192 + 58.5216 + 17.16. Boards, screws and fill have no price and are named."""
    design = replace(
        designs.basement(), prices={"hanger": 6.0, "channel_per_m": 2.0, "sealant_per_m": 1.0}
    )
    made = layout.lay_out(design)
    items = {item.name: item for item in made.items}
    assert items["channel"].count == pytest.approx(8 * 12 * FOOT)
    cost, missing = quantities.total(made.items)
    assert cost == pytest.approx(192 + 58.5216 + 17.16)
    assert set(missing) == {"board: layer 1", "board: layer 2", "screw: layer 1",
                            "screw: layer 2", "fill"}  # fmt: skip
    assert quantities.total(layout.lay_out(designs.basement()).items)[0] is None


def test_screws_and_work_by_hand():
    """4.2 x 3.6 m: 8 lines of 3.6 m less 2 x 6.35 mm take a screw every 12 in and one more, 13 each
    and 104, with 10 % 114.4 and so 115, in either layer. Ten joists of its own take 4.2/0.3048 =
    13.8, 14 and one more each: 150 and 165. An L of 23.04 m2 less a hatch of 0.36 m2 is worked on
    with the face of its duct, 1.35 m2; an old ceiling that stays is not taken down."""
    base = designs.basement()
    items = {item.name: item for item in layout.lay_out(base).items}
    for layer in ("screw: layer 1", "screw: layer 2"):
        assert (items[layer].net, items[layer].count) == (104, 115)
    own = replace(base, hangers=None, independent=IndependentJoists(base.floor.joists),
                  prices={"screw": 0.02})  # fmt: skip
    items = {item.name: item for item in layout.lay_out(own).items}
    assert items["own joist"].net == pytest.approx(10 * 4.2)
    assert (items["screw: layer 2"].net, items["screw: layer 2"].count) == (150, 165)
    assert items["screw: layer 2"].cost == pytest.approx(165 * 0.02)
    shaped = designs.l_shaped()
    prices = {"labour_per_m2": 20.0, "removal_per_m2": 5.0, "fixed": 99.0}
    items = {item.name: item for item in layout.lay_out(replace(shaped, prices=prices)).items}
    plan = 5.4 * 4.8 - 1.8 * 1.6 - 0.6 * 0.6
    assert items["labour"].cost == pytest.approx(20 * (plan + 5.4 * 0.25))
    assert items["removal of the old ceiling"].cost == pytest.approx(5 * plan)
    assert items["fixed costs"].cost == 99
    assert items["fill"].count == pytest.approx(1.1 * plan)
    old = OldCeiling(base.ceiling.layers[:1], "nailed", 0.4, 2e7, None)
    kept = layout.lay_out(replace(shaped, prices=prices, old_ceiling=old)).items
    assert "removal of the old ceiling" not in [item.name for item in kept]


def test_a_material_price_goes_before_the_price_of_any_board():
    design = replace(
        designs.basement(), prices={"board_per_m2": 1.0, "by_name: gypsum board": 3.0, "screw": 0.1}
    )
    items = {item.name: item for item in layout.lay_out(design).items}
    assert items["board: layer 1"].price == 3.0
    assert items["screw: layer 2"].cost == pytest.approx(0.1 * items["screw: layer 2"].count)


def test_loads_must_match_the_hangers():
    held = gravity.loads(designs.basement(), coupled=False)
    with pytest.raises(ValueError, match="3 loads for 32 hangers"):
        layout.lay_out(designs.basement(), held=replace(held, hangers=held.hangers[:3]))


def test_lengths_as_written_on_drawings():
    assert layout_rules.length(0.4064, "imperial") == "16 in"
    assert layout_rules.length(1.2192, "metric") == "1219 mm"


@pytest.mark.parametrize(
    ("inches", "told"),
    [(1 / 8, "3.18 mm"), (1 / 4, "6.35 mm"), (3 / 8, "9.53 mm"), (1 / 2, "12.7 mm"),
     (5 / 8, "15.9 mm"), (16, "406 mm")],
)  # fmt: skip
def test_inches_on_a_metric_sheet(inches, told):
    """25.4 mm each, by hand: 3.175, 6.35, 9.525, 12.7, 15.875, 406.4 mm."""
    assert layout_rules.length(inches * 0.0254, "metric") == told


@pytest.mark.parametrize(
    ("gap", "units", "told"),
    [(0.00635, "metric", "6 mm"), (0.00635, "imperial", "1/4 in"), (0.0127, "metric", "13 mm"),
     (0.0075, "metric", "7.5 mm"), (0.006, "metric", "6 mm"), (0.0002, "metric", "0.2 mm")],
)  # fmt: skip
def test_a_gap_is_told_as_it_is_kept_on_site(gap, units, told):
    assert layout_rules.gap_to_keep(gap, units) == told


def test_own_joists_lay_out_boards_without_hangers():
    made = layout.lay_out(replace(designs.basement(), hangers=None))
    assert made.findings == ()
    assert made.boards[0].boards >= 6  # 15.12 m2 of 2.97 m2 boards


@pytest.mark.parametrize(
    ("inches", "told"),
    [(8, "8 in"), (11.96, "11 15/16 in"), (11.99, "1' 0\""), (58, "4' 10\""),
     (21.9375, "1' 9 15/16\""), (12.0625, "1' 0 1/16\""), (85.5, "7' 1 1/2\"")],
)  # fmt: skip
def test_places_are_told_in_feet_and_inches(inches, told):
    """By hand; a drafting habit (common practice, no source): inches alone only below one foot."""
    assert layout_rules.at(inches * INCH, "imperial") == told
    assert layout_rules.at(inches * INCH, "metric").endswith(" mm")

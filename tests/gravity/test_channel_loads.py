"""What a channel carries and how it bends, against formulas for beams and sums by hand.

Formulas: AISC Steel Construction Manual, tables 3-22c and 3-23 (from memory; each follows in two
lines from statics). Designs are invented.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import designs
import numpy as np
import pytest

from impact import gravity
from impact.design.parts import Patch
from impact.design.placing import place
from impact.gravity import channel
from impact.gravity.lanes import Load, lanes

G = 9.80665
W, L, A, EI = 90.0, 1.2, 0.6, 740.0  # N/m, m, m, N m2


def even(low, high, w=W):
    return (Load(low, high, w * (high - low), True),)


def at(y, force):
    return (Load(y, y, force, False),)


def test_spans_by_formula():
    """w L²/8 and 5 w L⁴/384 EI, in one of several spans w L⁴/185 EI; P L/4 and P L³/48 EI. 0.2 %:
    24 single forces stand for an even load."""
    one = channel.span_bent(even(-A, L + A), 0.0, L, EI, 1)
    assert one.moment == pytest.approx(W * L**2 / 8, rel=1e-9)
    assert one.deflection == pytest.approx(5 * W * L**4 / 384 / EI, rel=2e-3)
    several = channel.span_bent(even(-A, L + A), 0.0, L, EI, 2)
    assert several.deflection == pytest.approx(W * L**4 / 185 / EI, rel=2e-3)
    three = channel.span_bent(even(-A, L + A), 0.0, L, EI, 3)
    assert three.deflection == pytest.approx(0.0069 * W * L**4 / EI, rel=4e-3)
    point = channel.span_bent(at(L / 2, 50.0), 0.0, L, EI, 2)
    assert point.moment == pytest.approx(50 * L / 4)
    assert point.deflection == pytest.approx(50 * L**3 / 48 / EI)


@pytest.mark.parametrize("spans", [1, 2, 3, 4, 7])
def test_equal_spans_by_three_moments(spans):
    """Clapeyron: M(i-1) + 4 M(i) + M(i+1) = -w L²/2 over inner supports, M = 0 at the ends; then
    EI y = w (L³ x - 2 L x³ + x⁴)/24 + M0 (2 L² x - 3 L x² + x³)/6L + M1 (L² x - x³)/6L in each
    span. No number of spans bends more than the rule says, one, two and three as it says."""
    inner = np.zeros(spans + 1)
    if spans > 1:
        three = 4 * np.eye(spans - 1) + np.eye(spans - 1, k=1) + np.eye(spans - 1, k=-1)
        inner[1:-1] = np.linalg.solve(three, np.full(spans - 1, -W * L**2 / 2))
    x = np.linspace(0, L, 2001)
    alone = W * (L**3 * x - 2 * L * x**3 + x**4) / 24
    found = max(
        np.max(alone + m0 * (2 * L**2 * x - 3 * L * x**2 + x**3) / 6 / L
               + m1 * (L**2 * x - x**3) / 6 / L)
        for m0, m1 in itertools.pairwise(inner)
    ) / EI  # fmt: skip
    rule = channel.deflection(W, L, EI, spans)
    assert found <= 1.005 * rule
    assert spans > 3 or found == pytest.approx(rule, rel=5e-3)


@pytest.mark.parametrize("tip", [L + A, -A])
def test_free_ends_by_formula(tip):
    """Beam over one support: w a (4 a² L - L³ + 3 a³)/24 EI with w on all of it, P a² (L + a)/3 EI
    with P at the tip; w a²/2 and P a. 0.5 %: single forces for an even load."""
    last, before = (L, 0.0) if tip > L else (0.0, L)
    end = channel.end_bent(even(-A, L + A), last, tip, before, EI, 1)
    assert end.moment == pytest.approx(W * A**2 / 2)
    by_hand = W * A * (4 * A**2 * L - L**3 + 3 * A**3) / 24 / EI
    assert end.deflection == pytest.approx(by_hand, rel=5e-3)
    assert end.ratio == pytest.approx(2 * A / end.deflection)
    load = channel.end_bent(at(tip, 50.0), last, tip, before, EI, 1)
    assert load.moment == pytest.approx(50 * A)
    assert load.deflection == pytest.approx(50 * A**2 * (L + A) / 3 / EI)


@pytest.mark.parametrize("design", [designs.basement(), designs.l_shaped(), designs.on_slab()])
def test_all_that_hangs_lies_on_some_channel(design):
    """The weight of the load check, less the hangers themselves; 1e-9."""
    placement = place(design)
    on_channels = sum(load.force for run in lanes(design, placement) for load in run)
    own = G * design.hangers.mass * len(placement.points)
    weight = gravity.loads(design, placement, coupled=False).weight
    assert on_channels == pytest.approx(weight - own, rel=1e-9)


def test_a_lane_is_narrow_only_as_far_as_the_short_channel_reaches():
    """A short channel beside a hatch takes half of the lane beside it where it passes, and nothing
    of it where it does not: there the boards hang halfway to the next full line."""
    base = designs.basement()
    room = replace(base.room, openings=(Patch("hatch", 1.2, 1.2, 0.5, 0.5),))
    design = replace(base, room=room)
    placement = place(design)
    short = next(s for s in placement.segments if s[2] - s[1] < 2.0 and s[1] > 0.4)
    full = [s for s in placement.segments if s[1] < 0.01]  # from the south wall on
    beside = max((s for s in full if s[0] < short[0]), key=lambda s: s[0])
    before = max(s[0] for s in full if s[0] < beside[0])
    after = min(s[0] for s in full if s[0] > short[0])
    load = lanes(design, placement)[placement.segments.index(beside)]
    hung = design.hung_per_area * G
    in_end = sum(each.force for each in load[1:] if each.high <= short[1] + 1e-9)
    assert in_end == pytest.approx(hung * (after - before) / 2 * short[1], rel=1e-9)


def test_a_lamp_and_a_box_bend_the_channel():
    """A lamp of 10 kg in the lane of one channel in the middle of a span adds P L/4 less P b/8 for
    its width b; a box across the room hangs on the ends of the channels, half on either side, with
    P a where a free end is long. By hand; 1e-6."""
    base = designs.on_slab()
    kind = replace(base.hangers, positions=tuple(
        (x, y) for x in (0.3, 0.9, 1.5) for y in (0.4, 1.6, 2.8)))  # fmt: skip
    room = replace(base.room, length=1.8, width=3.2)
    plain = replace(base, room=room, hangers=kind)

    def moment(design):
        placement = place(design)
        return channel.worst(design, placement, np.zeros(len(placement.segments))).moment

    w = G * (base.hung_per_area * 0.6 + 0.6)
    assert moment(plain) == pytest.approx(w * 1.2**2 / 8, rel=1e-6)
    lamp = Patch("lamp", 0.8, 0.9, 0.2, 0.2, mass=10.0)
    lit = replace(plain, room=replace(room, fixtures=(lamp,)))
    by_hand = w * 1.2**2 / 8 + 10 * G * (1.2 / 4 - 0.2 / 8)
    assert moment(lit) == pytest.approx(by_hand, rel=1e-3)  # even load by single forces
    box = Patch("box", 0.0, 2.0, 1.8, 0.4, drop=0.2)
    boxed = replace(plain, room=replace(room, bulkheads=(box,)))
    board = base.hung_per_area * (1.8 * 0.4 + 2 * 1.8 * 0.2) * G / 2 / 3  # each end, one of three
    end = 0.4 - 0.00635  # of the channel, from the hanger at 1.6 or 2.8 to the box
    by_hand = board * end + G * 0.6 * end**2 / 2 + base.hung_per_area * G * 0.6 * 0.4**2 / 2
    assert moment(boxed) == pytest.approx(by_hand, rel=0.01)  # boards go on to the box's edge


def test_a_box_at_a_wall_pulls_at_a_channel_from_where_it_is():
    """A box from 2.6 m to the wall at 3.2 m hangs out on free ends of channels, last hung at 2.2 m:
    its boards at 0.7 m, the flat boards of a lane 0.6 m wide and the channel over 0.4 m. By hand;
    1 %: boards go on to the box's edge, 6 mm beyond the channel."""
    base = designs.on_slab()
    kind = replace(base.hangers, positions=tuple(
        (x, y) for x in (0.3, 0.9, 1.5) for y in (0.4, 1.3, 2.2)))  # fmt: skip
    box = Patch("box", 0.0, 2.6, 1.8, 0.6, drop=0.2)
    room = replace(base.room, length=1.8, width=3.2, bulkheads=(box,))
    design = replace(base, room=room, hangers=kind)
    placement = place(design)
    found = channel.worst(design, placement, np.zeros(len(placement.segments)))
    boards = base.hung_per_area * G * (1.8 * 0.6 + 1.8 * 0.2) / 3
    by_hand = boards * 0.7 + G * (base.hung_per_area * 0.6 + 0.6) * 0.4**2 / 2
    assert found.moment == pytest.approx(by_hand, rel=0.01)


def test_a_box_at_a_wall_pulls_where_its_boards_are():
    """Moments of all hangers about the south wall, by hand: boards at the middle of their
    rectangles, the box's soffit under its own, its face at the edge. 1e-6: equilibrium is exact."""
    base = designs.basement()
    room = replace(base.room, bulkheads=(Patch("box", 0.0, 0.0, 4.2, 0.5, drop=0.3),))
    design = replace(base, room=room, hangers=replace(base.hangers, mass=0.0, channel=replace(
        base.hangers.channel, mass_per_length=0.0)))  # fmt: skip
    checked = gravity.loads(design, coupled=False)
    moment = sum(hanger.load * hanger.y for hanger in checked.hangers)
    area = 4.2 * (3.1 * (0.5 + 3.1 / 2) + 0.5 * 0.25 + 0.3 * 0.5)
    assert moment == pytest.approx(design.hung_per_area * G * area, rel=1e-6)


def test_one_more_layer_goes_on_the_box_too():
    """Spare loads of all hangers by hand: one board of 0.0159 m x 690 kg/m3 more on 13.86 m2 of
    flat ceiling, 1.26 m2 of soffit and 4.2 x 0.4 m of face. 1e-6: equilibrium is exact."""
    base = designs.basement()
    room = replace(base.room, bulkheads=(Patch("box", 0.0, 0.0, 4.2, 0.3, drop=0.4),))
    checked = gravity.loads(replace(base, room=room), coupled=False)
    more = sum(hanger.spare_load - hanger.load for hanger in checked.hangers)
    area = 4.2 * 3.3 + 4.2 * 0.3 + 4.2 * 0.4
    assert more == pytest.approx(G * 0.0159 * 690 * area, rel=1e-6)


def test_a_free_end_that_bends_too_far_is_named():
    """A heavy box on free ends 0.6 m long: P a² (L + a)/3 EI alone is beyond 2 a/240."""
    base = designs.on_slab()
    kind = replace(base.hangers, load_maximum=None, load_minimum=None, positions=tuple(
        (x, y) for x in (0.3, 0.9, 1.5) for y in (0.6, 1.8)))  # fmt: skip
    box = Patch("box", 0.0, 2.4, 1.8, 0.6, drop=0.3, mass=30.0)
    room = replace(base.room, length=1.8, width=3.0, bulkheads=(box,))
    design = replace(base, room=room, hangers=kind)
    force = G * 30 / 3
    assert force * 0.6**2 * (1.2 + 0.6) / 3 / 900 > 2 * 0.6 / 240
    codes = [finding.code for finding in gravity.loads(design, coupled=False).findings]
    assert "channel_end" in codes
    found = gravity.loads(design, coupled=False).channels
    for times, told in ((0.999, False), (1.001, True)):  # of what the free end has
        at_it = replace(design, options={"limits": {"deflection_ratio": times * found.end_ratio}})
        codes = [finding.code for finding in gravity.loads(at_it, coupled=False).findings]
        assert ("channel_end" in codes) is told
    plain = replace(design, room=replace(room, width=2.4, bulkheads=()))
    assert "channel_end" not in [f.code for f in gravity.loads(plain, coupled=False).findings]


def test_the_ratio_of_a_span_is_what_common_practice_asks_for():
    """L over 5 w L⁴/384 EI is 384 EI/(5 w L³): 365 here, by hand; 0.2 %: single forces for an even
    load."""
    one = channel.span_bent(even(0.0, L), 0.0, L, EI, 1)
    assert one.ratio == pytest.approx(384 * 740 / 5 / 90 / 1.728, rel=2e-3)
    assert one.line_load == pytest.approx(W)
    nothing = channel.span_bent((), 0.0, L, EI, 1)
    assert (nothing.deflection, nothing.ratio) == (0.0, np.inf)


def test_a_span_of_several_lifts_a_free_end_half_as_much():
    """Under w the end of a span held at its other end by the next turns by w L³/48 EI, half of w
    L³/24 EI of a simple beam; P at the tip as above, P a² (L + a)/3 EI. 1 %: single forces."""
    loads = even(0.0, L) + at(L + A, 50.0)
    down = 50 * A**2 * (L + A) / 3
    for spans, lift in ((1, W * L**3 / 24 * A), (2, W * L**3 / 48 * A)):
        end = channel.end_bent(loads, L, L + A, 0.0, EI, spans)
        assert end.deflection == pytest.approx((down - lift) / EI, rel=0.01)


def test_a_channel_on_one_hanger_is_two_cantilevers():
    """w a⁴/8 EI and w a²/2 with nothing before the hanger, twice a over it as the ratio, and no
    span at all: 2 m of one channel in a narrow room. 2 %: it ends 6 mm before the wall."""
    base = designs.on_slab()
    kind = replace(base.hangers, positions=((0.3, 1.0),))
    design = replace(base, hangers=kind, room=replace(base.room, length=0.6, width=2.0))
    placement = place(design)
    made = channel.worst(design, placement, np.zeros(len(placement.segments)))
    w = G * (base.hung_per_area * 0.6 + 0.6)
    assert made.moment == pytest.approx(w * 1.0**2 / 2, rel=0.02)
    assert made.end_deflection == pytest.approx(w * 1.0**4 / 8 / 900, rel=0.02)
    assert made.end_ratio == pytest.approx(2 * made.overhang / made.end_deflection)
    assert (made.span, made.ratio) == (0.0, np.inf)
    text = " ".join(gravity.loads(design, coupled=False).lines_of_text())
    assert "1 hanger: " in text
    assert "no channel has two hangers, moment " in text


def test_the_worst_span_is_the_one_that_bends_most_for_its_length():
    """Two spans of 0.8 and 1.2 m of a beam, one of 1.4 m apart: 384 EI/(5 w L³) of the single one
    against 185 EI/(w L³) of two, more; "channel_deflection" is said below L/240 and not above.
    0.5 %: single forces."""
    base = designs.on_slab()
    w = G * (base.hung_per_area * 0.6 + 0.6)
    rows = {0.3: (0.2, 1.6), 0.9: (0.1, 0.9, 2.1), 1.5: (0.2, 1.6)}
    kind = replace(base.hangers, load_maximum=None, load_minimum=None,
                   positions=tuple((x, y) for x, ys in rows.items() for y in ys))  # fmt: skip
    design = replace(base, hangers=kind, room=replace(base.room, length=1.8, width=2.2))
    ratio = 384 * 900 / 5 / w / 1.4**3
    assert ratio < 185 * 900 / w / 1.2**3
    for wanted, told in ((244.0, False), (236.0, True)):
        stiffness = 900.0 * wanted / ratio
        bent = replace(kind, channel=replace(kind.channel, bending_stiffness=stiffness))
        checked = gravity.loads(replace(design, hangers=bent), coupled=False)
        found = checked.channels
        assert (found.span, found.spans) == (pytest.approx(1.4), "single")
        assert found.ratio == pytest.approx(wanted, rel=5e-3)
        assert ("channel_deflection" in [one.code for one in checked.findings]) is told

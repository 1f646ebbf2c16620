"""Loads at rest against beams worked by hand and a beam on springs solved independently.

Reaction factors 0.375/1.25/0.375 and deflection formulas: any table of beams (e.g. AISC Steel
Construction Manual, table 3-23, from memory). Designs are invented.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import designs
import numpy as np
import pytest
from hung import POUND, G, board_load, forces, grid_24_by_48
from hypothesis import given, settings
from hypothesis import strategies as st

from impact import gravity
from impact.design.parts import Design, Patch
from impact.design.placing import place
from impact.gravity import rest, weights
from impact.gravity.loads import HIGHEST
from impact.motion.assemble import assemble


def strip(places: list[float], stiffness: float, width: float = 2.4) -> Design:
    """One very stiff channel (1e5 N m2, without mass) under a rigid slab in a narrow room, hung at
    `places`: a beam. The boards add 1 % to its stiffness."""
    base = designs.on_slab()
    kind = base.hangers
    assert kind is not None
    assert kind.channel is not None
    hangers = replace(
        kind, static_stiffness=stiffness, mass=0.0, positions=tuple((0.2, y) for y in places),
        channel=replace(kind.channel, bending_stiffness=1e5, mass_per_length=0.0),
    )  # fmt: skip
    room = replace(base.room, length=0.4, width=width, offset_x=1.0, offset_y=0.5)
    return replace(base, hangers=hangers, room=room)


def beam_on_springs(
    places: list[float], stiffness: float, width: float, bending: float, line_load: float
) -> np.ndarray:
    """Spring forces under a uniformly loaded beam with free ends, by cubic beam elements."""
    nodes = sorted({0.0, width, *places, *np.round(np.linspace(0, width, 49), 9)})
    size = 2 * len(nodes)
    matrix, push = np.zeros((size, size)), np.zeros(size)
    for i, (a, b) in enumerate(itertools.pairwise(nodes)):
        h = b - a
        own = bending / h**3 * np.array([
            [12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
            [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2],
        ])  # fmt: skip
        at = slice(2 * i, 2 * i + 4)
        matrix[at, at] += own
        push[at] += line_load * h / 2 * np.array([1, h / 6, 1, -h / 6])
    held = [2 * nodes.index(y) for y in places]
    matrix[held, held] += stiffness
    return stiffness * np.linalg.solve(matrix, push)[held]


def test_two_spans_on_stiff_hangers():
    """0.375, 1.25 and 0.375 w L; 1 %: hangers and boards are not quite rigid and limp."""
    span = 1.2
    design = strip([0.0, span, 2 * span], 1e10)
    total = board_load(design) * 0.4 * span
    assert forces(design) / total == pytest.approx([0.375, 1.25, 0.375], rel=0.01)


def test_two_spans_on_soft_hangers_share_evenly():
    """A stiff beam on soft springs: equal shares of 2 w L / 3; 1 % as k L^3/EI is 0.02."""
    span = 1.2
    design = strip([0.0, span, 2 * span], 1e3)
    total = board_load(design) * 0.4 * span
    assert forces(design) / total == pytest.approx([2 / 3] * 3, rel=0.01)


@pytest.mark.parametrize("stiffness", [1e4, 1e5, 1e6, 1e8])
@pytest.mark.parametrize("places", [[0.0, 1.2, 2.4], [0.15, 0.9, 1.4, 2.3], [0.3, 1.1, 2.0]])
def test_beam_on_springs(places, stiffness):
    """Channel between soft and stiff hangers, with overhangs: 1 % of the mean load, since the
    boards stiffen the channel by about 1 %."""
    design = strip(places, stiffness)
    expected = beam_on_springs(places, stiffness, 2.4, 1.01e5, board_load(design) * 0.4)
    assert forces(design) == pytest.approx(expected, abs=0.01 * expected.mean())


def test_sum_is_the_weight_worked_by_hand():
    """L-shaped: 5.4 x 4.8 m less stair 1.8 x 1.6, duct 5.4 x 0.6 and hatch 0.6 x 0.6 = 19.44 m2 of
    two boards of 690 x 0.0159 kg/m2; the duct's soffit 3.24 m2 and face 5.4 x 0.25 m2; a lamp of
    4 kg; hangers 0.1 kg and channel 0.6 kg/m. Equilibrium is exact: 1e-6."""
    design = designs.l_shaped()
    placement = place(design)
    board = 2 * 690 * 0.0159
    mass = board * (5.4 * 4.8 - 1.8 * 1.6 - 5.4 * 0.6 - 0.6 * 0.6 + 5.4 * 0.6 + 5.4 * 0.25) + 4.0
    mass += 0.1 * len(placement.points) + 0.6 * sum(b - a for _, a, b in placement.segments)
    checked = gravity.loads(design, coupled=False)
    assert checked.reaction == pytest.approx(mass * G, rel=1e-6)
    assert checked.weight == pytest.approx(mass * G, rel=1e-6)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 41), st.integers(1, 35)), min_size=4, max_size=20,
                unique=True), st.floats(1e3, 1e7))  # fmt: skip
def test_reactions_balance_force_and_moments(places, stiffness):
    """Equilibrium about the south-west corner, for any hangers that can hold a ceiling."""
    points = tuple((0.1 * a, 0.1 * b) for a, b in places)
    spread = np.linalg.svd(np.array(points) - np.mean(points, axis=0))[1]
    if spread[-1] < 0.3:
        return  # all but in one line: it would turn over
    base = designs.basement()
    hangers = replace(base.hangers, positions=points, static_stiffness=stiffness, mass=0.0,
                      channel=None)  # fmt: skip
    load = forces(replace(base, hangers=hangers))
    weight = board_load(base) * 4.2 * 3.6
    assert load.sum() == pytest.approx(weight, rel=1e-6)
    assert load @ np.array(points) / weight == pytest.approx([2.1, 1.8], rel=1e-6)


def test_tributary_loads_by_hand():
    """4.7 psf x 2 ft x 4 ft = 37.6 lb; corner (6 + 12)(6 + 24)/(24 x 48) = 46.9 % of it.
    0.1 %: channel lines through given hangers are rounded to 1 mm."""
    design = grid_24_by_48()
    load = weights.tributary(design, place(design)).reshape(6, 4)
    assert load[2, 1] / POUND == pytest.approx(37.6, abs=0.05)
    assert load[0, 0] / load[2, 1] == pytest.approx(18 * 30 / (24 * 48), rel=1e-3)


def test_a_hatch_pulls_where_its_open_edges_are():
    """12 kg on the three open edges of a hatch 0.6 x 0.8 m at the west wall, evenly along 2.0 m of
    them: its centre is (2 x 0.6 x 0.3 + 0.8 x 0.6)/2.0 = 0.42 m from the wall. The flat ceiling
    round it pulls as 4.2 x 3.6 m less 0.6 x 0.8 m at (0.3, 1.4). Equilibrium is exact: 1e-6."""
    base = designs.on_slab()
    room = replace(base.room, openings=(Patch("hatch", 0.0, 1.0, 0.6, 0.8, mass=12.0),))
    kind = replace(base.hangers, mass=0.0, channel=replace(base.hangers.channel,
                                                           mass_per_length=0.0))  # fmt: skip
    checked = gravity.loads(replace(base, room=room, hangers=kind), coupled=False)
    boards = G * 2 * 690 * 0.0159
    weight = boards * (4.2 * 3.6 - 0.6 * 0.8) + 12 * G
    assert checked.weight == pytest.approx(weight, rel=1e-6)
    assert checked.reaction == pytest.approx(weight, rel=1e-6)
    about_west = boards * (4.2 * 3.6 * 2.1 - 0.6 * 0.8 * 0.3) + 12 * G * 0.42
    about_south = boards * (4.2 * 3.6 * 1.8 - 0.6 * 0.8 * 1.4) + 12 * G * 1.4
    assert sum(h.load * h.x for h in checked.hangers) == pytest.approx(about_west, rel=1e-6)
    assert sum(h.load * h.y for h in checked.hangers) == pytest.approx(about_south, rel=1e-6)


def test_tributary_loads_without_channels():
    """Hangers straight under boards at x = 0.4, 1.6 m and y = 0.4, 1.0, 2.6 m of 2.4 by 3.0 m:
    halfway to the neighbours and all the way to a wall, 1.0 or 1.4 m by 0.7, 1.1, 1.2 m."""
    base = designs.on_slab()
    points = tuple((x, y) for x in (0.4, 1.6) for y in (0.4, 1.0, 2.6))
    kind = replace(base.hangers, positions=points, mass=0.5, channel=None)
    design = replace(base, hangers=kind, room=replace(base.room, length=2.4, width=3.0))
    by_hand = [board_load(design) * a * b + 0.5 * G for a in (1.0, 1.4) for b in (0.7, 1.1, 1.2)]
    assert weights.tributary(design, place(design)) == pytest.approx(by_hand, rel=1e-9)


def test_the_elastic_stack_loads_the_worst_hanger_more():
    """An independent trial gave the worst hanger 1.08 to 1.20 times its tributary load and corner
    hangers 38 to 45 % of a mid-field one, taken here by its area (35 % of the elastic one)."""
    checked = gravity.loads(grid_24_by_48(), coupled=False)
    load = np.array([hanger.load for hanger in checked.hangers]).reshape(6, 4)
    assert 1.08 <= load.max() / (37.6 * POUND) <= 1.20
    assert 0.38 <= load[0, 0] / (37.6 * POUND) <= 0.45


def test_mirror_symmetry():
    """A symmetric ceiling is loaded symmetrically; 1e-4, as channel lines through given hangers are
    rounded to 1 mm."""
    load = forces(grid_24_by_48()).reshape(6, 4)
    assert load == pytest.approx(load[::-1], rel=1e-4)
    assert load == pytest.approx(load[:, ::-1], rel=1e-4)


@pytest.mark.parametrize("stiffness", [20e3, 2e6])
def test_finer_modes_change_nothing(stiffness):
    """Modes to 2.5 times the frequency: 0.1 % of the mean load on soft points, 1 % on brackets."""
    base = designs.basement()
    design = replace(base, hangers=replace(base.hangers, static_stiffness=stiffness))
    coarse = [h.load for h in gravity.loads(design, coupled=False).hangers]
    fine = [h.load for h in
            gravity.loads(design, assembly=assemble(design, 2.5 * HIGHEST),
                          coupled=False).hangers]  # fmt: skip
    limit = 0.001 if stiffness < 1e5 else 0.01
    assert coarse == pytest.approx(fine, abs=limit * np.mean(fine))


@pytest.mark.parametrize(("gap", "closes"), [(0.25e-3, True), (0.30e-3, False)])
def test_an_edge_that_turns_by_hand(gap, closes):
    """Boards so stiff that the ceiling tilts as one, on two rows of seven hangers at y = 1 and 2 m
    of 3.6 m: the centre at 1.8 m gives them 0.2 and 0.8 of W = 21.942 g 4.2 x 3.6 N, and each the
    seventh part of that over 85 N/mm. From there along a straight line to both walls; the edge of
    31.8 mm turns by that slope, 1.3 times in the long term. 2 %: what the boards still bend."""
    base = designs.on_slab()
    stiff = replace(base.ceiling.layers[0].material, youngs_modulus=1e14, shear_modulus=4e13,
                    youngs_modulus_across=1e14)  # fmt: skip
    layers = tuple(replace(layer, material=stiff) for layer in base.ceiling.layers)
    points = tuple((0.3 + 0.6 * i, y) for i in range(7) for y in (1.0, 2.0))
    edge = replace(base.ceiling.perimeter, gap=gap)
    design = replace(
        base, ceiling=replace(base.ceiling, layers=layers, perimeter=edge),
        hangers=replace(base.hangers, positions=points, mass=0.0, channel=None),
    )  # fmt: skip
    checked = gravity.loads(design, elastic_floor=False, coupled=False)
    first, second = (share * 21.942 * G * 4.2 * 3.6 / 7 / 85e3 for share in (0.2, 0.8))
    slope = (second - first) / 1.0
    found = checked.sag
    assert found is not None
    assert found.slope == pytest.approx(slope, rel=0.02)
    assert found.most == pytest.approx(second + 1.6 * slope, rel=0.02)
    assert found.edge == pytest.approx(second + 1.6 * slope, rel=0.02)
    assert found.least == pytest.approx(first - 1.0 * slope, rel=0.02)
    assert gap - found.gap_left == pytest.approx(1.3 * slope * 0.0318, rel=0.02)
    assert ("gap_closes" in [one.code for one in checked.findings]) is closes


def test_a_channel_between_two_hangers_bends_by_hand():
    """1.8 m with overhangs a of 0.3 m under w: 5 w L⁴/384 EI less w a²/2 x L²/8 EI from their
    chord, EI with the boards' 1 %. 2 %: modes to 112 Hz."""
    design = strip([0.3, 2.1], 1e8)
    made = gravity.loads(design, coupled=False).channels
    assert made is not None
    w = board_load(design) * 0.4
    by_hand = (5 * w * 1.8**4 / 384 - w * 0.3**2 / 2 * 1.8**2 / 8) / 1.01e5
    assert made.elastic_deflection == pytest.approx(by_hand, rel=0.02)
    assert made.spans == "single"


def four_hangers(load_deflection: tuple[tuple[float, float], ...]) -> Design:
    """Square ceiling on four equal hangers: each carries a quarter whatever its spring."""
    base = designs.basement()
    hangers = replace(
        base.hangers, load_deflection=load_deflection, mass=0.0, channel=None,
        positions=((0.4, 0.4), (1.6, 0.4), (0.4, 1.6), (1.6, 1.6)),
    )  # fmt: skip
    return replace(base, hangers=hangers, room=replace(base.room, length=2.0, width=2.0))


@pytest.mark.parametrize(
    ("pairs", "expected_mm"),
    [
        (((100.0, 1e-3), (300.0, 2e-3)), 2.0 - 1.0 * (300 - 215.1776) / 200),
        (((50.0, 1e-3), (150.0, 2e-3)), 2.0 + 1.0 * (215.1776 - 150) / 100),  # beyond the table
        (((300.0, 3e-3),), 3 * 215.1776 / 300),
    ],
)
def test_load_deflection_pairs_by_hand(pairs, expected_mm):
    """A quarter of 4 m2 x 21.942 kg/m2 x 9.80665 = 215.178 N on each; straight lines between the
    pairs by hand. 0.1 %: the figures above are rounded."""
    checked = gravity.loads(four_hangers(pairs), elastic_floor=False, coupled=False)
    for hanger in checked.hangers:
        assert hanger.load == pytest.approx(215.178, rel=1e-4)
        assert 1000 * hanger.deflection == pytest.approx(expected_mm, rel=1e-3)
        assert hanger.deflection_long == pytest.approx(1.3 * hanger.deflection)
        assert hanger.deflection_cold == pytest.approx(hanger.deflection / 1.4)


def test_a_hanger_that_is_pushed_up_gives_as_on_its_first_piece():
    """Pairs of 100 N at 1 mm and 300 N at 2 mm: -50 N move it by -0.5 mm, and not along 5 um/N."""
    found = rest.curve(four_hangers(((100.0, 1e-3), (300.0, 2e-3))).hangers)
    at = np.array([-50.0, 0.0, 100.0, 200.0, 400.0])
    assert 1000 * found.deflection(at) == pytest.approx([-0.5, 0.0, 1.0, 1.5, 2.5])


@pytest.mark.parametrize(("sunk", "falls"), [(0.8, False), (1.2, True)])
def test_a_corner_that_would_sink_farther_than_a_metre_is_not_held(sunk, falls):
    """Without one of four the neighbours carry W/2 each and the one across nothing, so that its
    corner hangs W/k deep: W = 4 x 215.178 N, k by the depth wanted."""
    design = four_hangers(())
    kind = replace(design.hangers, static_stiffness=4 * 215.178 / sunk, load_maximum=None)
    checked = gravity.loads(replace(design, hangers=kind), elastic_floor=False, coupled=False)
    for hanger in checked.hangers:
        assert np.isnan(hanger.lost_load) == falls
        assert falls or hanger.lost_sag == pytest.approx(sunk, rel=0.1)  # boards bend besides


@pytest.mark.parametrize(
    ("pairs", "codes"),
    [
        (((200.0, 2e-3), (400.0, 2.2e-3)), {"hangers_harden"}),  # 1 kN/mm of 100 N/mm in the middle
        (((200.0, 2e-3), (400.0, 4e-3)), set()),
        (((100.0, 1e-3), (200.0, 2e-3)), {"beyond_the_curve"}),
    ],
)
def test_hangers_that_bottom_are_told(pairs, codes):
    """215 N on each: on the second, steeper piece; on a straight line; beyond the last pair."""
    design = four_hangers(pairs)
    design = replace(design, hangers=replace(design.hangers, static_stiffness=1e5))
    found = gravity.loads(design, elastic_floor=False, coupled=False).findings
    told = {one.code: one.message for one in found}
    assert set(told) & {"hangers_harden", "beyond_the_curve"} == codes
    if "hangers_harden" in codes:
        assert "4 of 4 hangers" in told["hangers_harden"]
        assert "10 times as stiff" in told["hangers_harden"]


def test_a_stiffening_curve_sheds_load_from_the_worst_hanger():
    """Three hangers on a beam, middle most loaded. Hangers that soften beyond 30 N give the middle
    one less than linear ones do; equilibrium of each deflection with its own curve is checked by
    hand: d = F/k1 up to 30 N, then + (F - 30)/k2."""
    linear = strip([0.0, 1.2, 2.4], 1e6)
    bent = replace(linear, hangers=replace(
        linear.hangers, load_deflection=((30.0, 3e-5), (60.0, 33e-5))))  # fmt: skip
    before, after = forces(linear), forces(bent)
    assert before[1] > 40
    assert after[1] < before[1] - 1
    assert after.sum() == pytest.approx(before.sum(), rel=1e-9)
    checked = gravity.loads(bent, elastic_floor=False, coupled=False)
    for hanger in checked.hangers:
        by_hand = hanger.load / 1e6 if hanger.load < 30 else 3e-5 + (hanger.load - 30) / 1e5
        assert hanger.deflection == pytest.approx(by_hand, rel=1e-9)


def test_the_published_example_is_flagged():
    """37.6 lb by tributary area on hangers rated to 36 lb: more than one is above."""
    base = grid_24_by_48()
    design = replace(base, hangers=replace(base.hangers, load_maximum=36 * POUND))
    checked = gravity.loads(design, coupled=False)
    assert checked.verdict == "above rated maximum"
    assert sum(hanger.verdict == "above rated maximum" for hanger in checked.hangers) >= 4

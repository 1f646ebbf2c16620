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
from impact.design.parts import Design
from impact.design.placing import place
from impact.gravity import weights
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

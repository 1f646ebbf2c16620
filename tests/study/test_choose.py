"""The search against brute force, one prediction at a time, and against its own limits by hand.

The brute force shares the stack with a prediction but none of the search's short cuts: no common
elimination, no interpolation, no shared hanger mass. Designs are invented.
"""

from __future__ import annotations

import time
from dataclasses import replace

import designs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from impact import gravity
from impact.base import bands
from impact.design.parts import Design, OldCeiling, Patch, Target
from impact.errors import InputError
from impact.heard import walking
from impact.heard.joined import join
from impact.report import choice, style
from impact.study import choose_sound
from impact.study.choose import choose, front_of
from impact.study.choose_axes import Axes, axes, stiffened, variant

INCH = 0.0254
THUD = bands.between(bands.THUD)


def small_room() -> Design:
    """A room of 3 x 2.8 m, quick to solve, with hangers of ample load range."""
    base = designs.basement()
    hangers = replace(base.hangers, load_minimum=30.0, load_maximum=400.0, height=0.03)
    return replace(
        base, room=replace(base.room, length=3.0, width=2.8),
        floor=replace(base.floor, length=3.0, width=2.8), hangers=hangers,
        prices={"hanger": 5.0, "channel_per_m": 2.0, "board_per_m2": 7.0, "fill_per_m2": 11.0,
                "sealant_per_m": 1.0, "screw": 0.02},
    )  # fmt: skip


def grid(design: Design) -> Axes:
    """32 combinations that differ on five axes; the heavy hanger tests the shared mass."""
    own = design.hangers
    assert own is not None
    heavy = replace(own, name="heavy", dynamic_stiffness=15e3, static_stiffness=15e3, mass=0.6,
                    loss_factor=0.02, load_maximum=130.0)  # fmt: skip
    return Axes(
        (own, heavy), (24 * INCH,), (16 * INCH, 48 * INCH), (1, 2), (0.06, 0.20), (0.0, 0.15)
    )


@pytest.fixture(scope="module")
def searched():
    design = small_room()
    return choose(design, grid(design))


def test_limits_of_the_file_part_one_layer_from_two():
    """Each limit is set between what the load check of one and of two layers says, so that two
    break it and one does not; drop and added mass by hand: 0.06 m and boards of 15.9 mm, 690 kg/m3
    11 kg/m2 each."""
    base = small_room()
    own = base.hangers
    tried = Axes((own,), (24 * INCH,), (16 * INCH,), (1, 2), (0.06,), (0.0,))
    one, two = (gravity.loads(variant(base, own, 24 * INCH, 16 * INCH, n, 0.06, 0.0), coupled=False)
                for n in (1, 2))  # fmt: skip

    def between(value) -> float:
        return (value(one) + value(two)) / 2

    factor = 2.0
    channel = replace(own.channel, allowable_moment=between(lambda x: x.channels.moment))
    hangers = replace(own, channel=channel,
                      withdrawal_capacity=factor * between(lambda x: x.worst.load))  # fmt: skip
    limits = {
        "layers_maximum": 1, "floor_load_maximum": 16.0, "drop_maximum": 0.084,
        "deflection_maximum": between(lambda x: x.worst.deflection), "load_factor": factor,
    }  # fmt: skip
    design = replace(base, hangers=hangers, options={"limits": limits})
    made = choose(design, replace(tried, hangers=(hangers,)))
    for name in ("channel not strong enough", "fastener pulled out", "hangers deflect too far",
                 "too heavy for the joists", "too many layers", "headroom"):  # fmt: skip
        assert made.failed[name].ravel().tolist() == [False, True], name
    limits["cost_maximum"] = float(made.cost.mean())
    again = choose(replace(design, options={"limits": limits}), made.axes)
    assert again.failed["cost"].ravel().tolist() == [False, True]


def designs_of(made) -> list[tuple[tuple[int, ...], Design]]:
    a = made.axes
    out = []
    for index in np.ndindex(made.thud.shape):
        h, c, s, n, d, f = index
        out.append((index, variant(
            made.design, a.hangers[h], a.channel_spacings[c], a.hanger_spacings[s], a.layers[n],
            a.depths[d], a.fills[f])))  # fmt: skip
    return out


@pytest.fixture(scope="module")
def brute(searched):
    """Thud as heard and the load check of every combination, each by itself."""
    rows = {}
    for index, one in designs_of(searched):
        level = choose_sound.exact_levels(one, choose_sound.exact(one))
        rows[index] = float(choose_sound.heard(level)), gravity.loads(one, coupled=False)
    return rows


def test_levels_equal_brute_force(searched, brute):
    """0.1 dB: what one mass for hangers nearly alike is worth."""
    found = np.array([searched.heard[index] for index in brute])
    exact = np.array([level for level, _ in brute.values()])
    assert np.abs(found - exact).max() < 0.1
    assert exact.max() - exact.min() > 3  # or the comparison would mean nothing


def test_loads_equal_the_load_check(searched, brute):
    """Every load as in a single check of that design; 0.1 %, as the leaves differ in mass only."""
    for index, (_, held) in brute.items():
        small = index[:4]
        assert searched.loads.worst[small] == pytest.approx(held.worst.load, rel=1e-3)
        assert searched.loads.least[small] == pytest.approx(held.least.load, rel=1e-3)
        spare = max(hanger.spare_load for hanger in held.hangers)
        assert searched.loads.spare[small] == pytest.approx(spare, rel=1e-3)
        lost = max(hanger.lost_load for hanger in held.hangers)
        assert searched.loads.lost[small] == pytest.approx(lost, rel=1e-3)


def test_feasible_set_equals_brute_force(searched, brute):
    """Limits of this design: rated loads with one layer to spare, L/240, headroom, what fits."""
    feasible = searched.feasible
    for index, (_, held) in brute.items():
        h, _, _, _, depth, fill = index
        kind, a = searched.axes.hangers[h], searched.axes
        good = (
            kind.load_minimum <= held.least.load
            and max(hanger.spare_load for hanger in held.hangers) <= kind.load_maximum
            and held.channels.ratio >= 240
            and held.headroom.ceiling >= searched.design.room.headroom_minimum
            and a.fills[fill] <= a.depths[depth] + searched.design.floor.joists.depth
        )
        assert feasible[index] == good, index
    assert 0 < feasible.sum() < feasible.size


def test_front_equals_brute_force(searched, brute):
    """No feasible ceiling beats one of the front by more than the search's 0.1 dB at no more height
    and cost, and each that nothing comes near is on it."""
    feasible = [index for index in brute if searched.feasible[index]]
    front = {tuple(int(v) for v in each) for each in searched.front}
    assert front <= set(feasible)
    for index in feasible:
        level = brute[index][0]
        others = [
            other for other in feasible
            if other != index and searched.drop[other] <= searched.drop[index] + 1e-9
            and searched.cost[other] <= searched.cost[index] + 1e-6
        ]  # fmt: skip
        if index in front:
            assert all(brute[other][0] > level - 0.1 for other in others), index
        elif all(brute[other][0] > level + 0.1 for other in others):
            raise AssertionError(f"{index} belongs to the front")


def test_shown_rows_are_exact(searched, brute):
    """What is shown is solved like a prediction: 1e-6 dB."""
    for row in searched.shown:
        assert row.heard == pytest.approx(brute[row.index][0], abs=1e-6)
    assert searched.chosen is min(searched.shown, key=lambda row: row.heard)


def test_the_chosen_design_predicts_the_same(searched):
    """Through the whole of a prediction, where the leaves reach higher: 0.1 dB in each band."""
    level = walking.band_levels(join(searched.chosen.design), "barefoot")[THUD]
    assert searched.chosen.level == pytest.approx(level, abs=0.1)


def test_thud_as_heard_by_hand():
    """60 dB in every band over the thresholds of ISO 226:2023, 78.1, 68.7, 59.5, 51.1, 44.0, 37.5
    and 31.5 dB from 20 to 80 Hz, is 10 lg sum 10^((60 - T)/10) = 30.0 dB; 16 Hz has no threshold
    and no share. 0.05 dB: the thresholds are printed to 0.1 dB."""
    threshold = np.array([78.1, 68.7, 59.5, 51.1, 44.0, 37.5, 31.5])
    by_hand = 10 * np.log10(np.sum(10 ** ((60 - threshold) / 10)))
    assert choose_sound.heard(np.full(8, 60.0)) == pytest.approx(by_hand, abs=0.05)
    assert choose_sound.heard(np.r_[200.0, np.full(7, 60.0)]) == pytest.approx(by_hand, abs=0.05)


def heard_of(design, found):
    return choose_sound.heard(choose_sound.band_levels(design, found.square["walker_barefoot"]))


def test_long_axes_are_interpolated():
    """Fourteen stiffnesses and nine depths against the same solved one by one: 0.1 dB."""
    design = small_room()
    own = design.hangers
    stiffness, depths = np.geomspace(10e3, 300e3, 14), np.linspace(0.04, 0.25, 9)
    line = Axes(stiffened(own, stiffness), (24 * INCH,), (48 * INCH,), (2,), tuple(depths), (0.15,))
    whole = choose_sound.search(design, line)
    level = heard_of(design, whole)
    for i, j in ((1, 1), (5, 4), (8, 7), (12, 3)):
        alone = replace(line, hangers=(line.hangers[i],), depths=(line.depths[j],))
        one = heard_of(design, choose_sound.search(design, alone))
        assert level[i, 0, 0, 0, j, 0] == pytest.approx(float(one.squeeze()), abs=0.1)


def test_perfect_hangers_are_the_limit_of_soft_ones():
    """At 10 N/m a hanger passes nothing: 0.01 dB."""
    design = small_room()
    soft = stiffened(design.hangers, [10.0])
    found = choose_sound.search(
        design, Axes(soft, (24 * INCH,), (48 * INCH,), (2,), (0.1,), (0.0,))
    )
    walker = "walker_barefoot"
    with_soft = choose_sound.band_levels(design, found.square[walker]).squeeze()
    assert with_soft == pytest.approx(
        choose_sound.band_levels(design, found.perfect[walker]).squeeze(), abs=0.01
    )


def test_cost_by_hand(searched):
    """First combination: hangers 5 each, and the bill of the layout for the rest; two layers cost
    one more board layer and its screws."""
    a = searched.axes
    count = searched.loads.count[0, 0, 0, 0]
    other = searched.loads.count[0, 0, 1, 0]
    fewer = searched.cost[0, 0, 0, 0, 0, 0] - searched.cost[0, 0, 1, 0, 0, 0]
    assert fewer == pytest.approx(5.0 * (count - other), abs=1e-6)
    filled = searched.cost[0, 0, 0, 0, 0, 1] - searched.cost[0, 0, 0, 0, 0, 0]
    assert filled == pytest.approx(3.0 * 2.8 * 1.1 * 11.0, rel=1e-9)  # area, waste, price
    assert a.fills == (0.0, 0.15)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(*[st.integers(0, 5)] * 3), min_size=1, max_size=30))
def test_front_by_its_definition(rows):
    """Kept rows are beaten by none; every other row is beaten or equal to a kept one."""
    values = np.array(rows, float)
    kept = set(front_of(values).tolist())
    for i, own in enumerate(values):
        beaten = any(np.all(v <= own) and np.any(v < own) for v in values)
        if i in kept:
            assert not beaten
        else:
            assert beaten or any(np.array_equal(values[j], own) for j in kept)


def test_limits_are_counted_by_hand():
    """Headroom: 2.4 - depth - 0.0159 n; the limit of 2.25 m takes 0.20 m always and 0.06 m never.
    Hangers 0.08 m high do not fit into 0.06 m."""
    design = small_room()
    tried = grid(design)
    tall = replace(tried.hangers[1], height=0.08)
    made = choose(
        replace(design, room=replace(design.room, headroom_minimum=2.25), prices={}),
        replace(tried, hangers=(tried.hangers[0], tall), channel_spacings=(24 * INCH,),
                hanger_spacings=(48 * INCH,)),
    )  # fmt: skip
    assert made.failed["headroom"].sum() == 2 * 2 * 2  # hangers, layers, fills
    assert made.failed["fill or hanger does not fit"].sum() == 4  # tall in 0.06 m: layers, fills
    assert made.failed["headroom"][..., 1, :].all()


def test_height_is_that_below_boxes_and_ducts():
    """By hand: 2.4 m - depth - n 0.0159 m, less 0.15 m below a box; a duct that hangs 0.10 m below
    the joists is boarded at 2.4 - 0.10 - n 0.0159 m where the ceiling lies higher. Sag lowers it by
    no more than 15 mm: the hangers deflect less."""
    base, tried = small_room(), grid(small_room())
    box = Patch("box", 0.0, 0.0, 0.3, 2.8, drop=0.15)
    duct = Patch("duct", 1.0, 0.0, 0.3, 2.8, drop=0.10)
    for patches, below in (({"bulkheads": (box,)}, {0.06: 2.19, 0.20: 2.05}),
                           ({"obstructions": (duct,)}, {0.06: 2.30, 0.20: 2.20})):  # fmt: skip
        design = replace(base, room=replace(base.room, headroom_minimum=2.1, **patches), prices={})
        made = choose(design, replace(
            tried, channel_spacings=(24 * INCH,), hanger_spacings=(48 * INCH,)))  # fmt: skip
        for number, depth in enumerate(made.axes.depths):
            for layer, count in enumerate(made.axes.layers):
                lower = below[depth] - count * 0.0159 - made.headroom[0, 0, 0, layer, number, 0]
                assert -1e-9 <= lower < 0.015
    checked = gravity.loads(variant(design, made.axes.hangers[0], 24 * INCH, 48 * INCH, 1, 0.06, 0))
    assert made.headroom[0, 0, 0, 0, 0, 0] == pytest.approx(checked.headroom.lowest, abs=1e-9)


def test_the_nearest_miss_is_the_least_overloaded():
    """Where every ceiling overloads its hangers, one board layer on the closest hangers is nearest
    to what they carry, however much quieter more layers are."""
    design = small_room()
    weak = replace(design.hangers, load_maximum=20.0, load_minimum=None)
    made = choose(replace(design, hangers=weak, prices={}), replace(grid(design), hangers=(weak,)))
    assert not made.feasible.any()
    assert {row.index[2:4] for row in made.shown} == {(0, 0)}


def test_a_target_out_of_reach_is_said_with_the_best_case():
    """No ceiling brings a barefoot walker at 31.5 Hz to 10 dB; the least found is told."""
    design = replace(small_room(), target=Target("walker_barefoot", 10.0, 31.5, "at most"))
    tried = replace(grid(design), channel_spacings=(24 * INCH,), hanger_spacings=(16 * INCH,))
    made = choose(design, tried)
    assert not made.feasible.any()
    assert made.chosen is None
    page = " ".join(choice.text(made).split())
    assert "No ceiling here can reach the target" in page
    assert f"{made.best_case.perfect:.1f} dB on perfect hangers" in page
    assert made.best_case.found == pytest.approx(np.nanmin(made.heard), abs=1e-9)


def test_a_reachable_target_is_reached():
    """A limit in the middle of what was found: the chosen one keeps it."""
    design = small_room()
    tried = replace(grid(design), channel_spacings=(24 * INCH,), hanger_spacings=(16 * INCH,))
    free = choose(design, tried)
    band = bands.index(25.0) - THUD.start
    values = free.level[free.feasible][:, band]
    limit = float(np.median(values))
    made = choose(replace(design, target=Target("walker_barefoot", limit, 25.0, "at most")), tried)
    assert 0 < made.feasible.sum() < free.feasible.sum()
    assert made.chosen.reached <= limit + 0.3


def test_usual_axes_hold_the_design_itself():
    design = designs.basement()
    tried = axes(design)
    assert tried.hangers[0].name == design.hangers.name
    assert design.hangers.channel_spacing in tried.channel_spacings
    assert design.cavity.clear_depth in tried.depths
    assert len(design.ceiling.layers) in tried.layers
    for spacing in tried.hanger_spacings:
        assert spacing / design.floor.joists.spacing == pytest.approx(
            round(spacing / design.floor.joists.spacing))  # fmt: skip


def test_a_slab_works_too():
    """Hangers under a slab stand at their own places for each spacing: against one prediction."""
    base = designs.on_slab()
    design = replace(base, room=replace(base.room, length=3.0, width=2.8))
    tried = Axes((design.hangers,), (0.6,), (0.6, 1.2), (1, 2), (0.1,), (0.05,))
    made = choose(design, tried)
    for index, one in designs_of(made):
        level = choose_sound.exact_levels(one, choose_sound.exact(one))
        assert made.heard[index] == pytest.approx(float(choose_sound.heard(level)), abs=0.2)


def test_without_hangers_there_is_nothing_to_choose():
    with pytest.raises(InputError, match="hangers"):
        axes(replace(designs.basement(), hangers=None))


def test_table_json_and_picture(searched):
    """CSV has every combination; the picture holds f0, thud and the air floor as lines."""
    rows = choice.csv_text(searched).splitlines()
    assert len(rows) == 1 + searched.axes.count
    assert rows[0].startswith("hangers,dynamic_stiffness_n_m")
    front = rows[0].split(",").index("front")
    assert sum(int(row.split(",")[front]) for row in rows[1:]) == len(searched.front)
    data = choice.dataset(searched)
    assert data["thud"].attrs["units"] == "dB"
    assert data["thud"].shape == searched.thud.shape
    with style.look():
        figure = choice.picture(searched)
    upper, middle, lower = figure.axes
    np.testing.assert_array_equal(upper.lines[0].get_ydata(), searched.sweep.f0)
    np.testing.assert_array_equal(middle.lines[0].get_ydata(), searched.sweep.heard)
    np.testing.assert_array_equal(lower.lines[0].get_ydata(), searched.sweep.thud)
    assert middle.lines[1].get_ydata()[0] == searched.sweep.heard_air
    assert lower.lines[1].get_ydata()[0] == searched.sweep.thud_air
    assert (np.diff(searched.sweep.f0) > 0).all()
    assert searched.sweep.f0[0] > searched.sweep.f0_air


@pytest.mark.benchmark
@pytest.mark.parametrize("old", [False, True])
def test_ten_thousand_in_twenty_seconds(old):
    """10 800 combinations of the 4.2 x 3.6 m basement, also with an old ceiling left in place; two
    free cores."""
    design = designs.basement()
    if old:
        board = OldCeiling((designs.FIVE_EIGHTHS,), "nailed", 0.2, 2e6, None)
        design = replace(design, old_ceiling=board)
    own = replace(design.hangers, height=0.03)
    tried = Axes(
        stiffened(own, np.geomspace(10e3, 300e3, 20)), (16 * INCH, 24 * INCH),
        tuple(n * 16 * INCH for n in (1, 2, 3)), (1, 2, 3), tuple(np.linspace(0.04, 0.25, 10)),
        (0.0, 0.15, 0.235),
    )  # fmt: skip
    start = time.perf_counter()
    made = choose(design, tried)
    assert made.axes.count == 10_800
    assert time.perf_counter() - start < 20

"""Heights and limits of a search against single load checks and by hand. Designs are invented."""

from __future__ import annotations

import re
from dataclasses import replace

import designs
import numpy as np
import pytest

from impact import gravity
from impact.design.parts import Patch
from impact.report import choice
from impact.study import choose_loads
from impact.study.choose import choose
from impact.study.choose_axes import Axes
from impact.study.choose_parts import design_at

INCH = 0.0254


def small_room():
    """A room of 3 x 2.8 m, quick to solve, with hangers of ample load range."""
    base = designs.basement()
    hangers = replace(base.hangers, load_minimum=30.0, load_maximum=400.0, height=0.03)
    return replace(base, room=replace(base.room, length=3.0, width=2.8), hangers=hangers,
                   floor=replace(base.floor, length=3.0, width=2.8))  # fmt: skip


def test_heights_below_boxes_and_ducts_equal_the_load_check():
    """A box at a wall, a duct deeper than one of the two depths, a notch: the least height of every
    combination as in a single check of that design; 0.1 mm, as the leaves differ in mass only."""
    base = small_room()
    room = replace(
        base.room, bulkheads=(Patch("box", 0.0, 0.0, 3.0, 0.5, drop=0.2),),
        notches=(Patch("breast", 1.0, 2.4, 0.8, 0.4),),
        obstructions=(Patch("beam", 0.0, 1.2, 3.0, 0.1, drop=0.35),),
    )  # fmt: skip
    tried = Axes((base.hangers,), (24 * INCH,), (48 * INCH,), (1, 2), (0.06, 0.4), (0.0,))
    made = choose(replace(base, room=room, prices={}), tried)
    lowest = []
    for index in np.ndindex(made.axes.shape):
        held = gravity.loads(design_at(made, index), coupled=False).headroom
        lowest.append(held.lowest)
        assert made.headroom[index] == pytest.approx(held.lowest, abs=1e-4)
    assert min(lowest) < room.height - 0.4 - 0.2 - 0.0159  # of the box
    assert max(lowest) > room.height - 0.35 - 0.0320  # or of the beam


def test_limits_that_nothing_keeps_are_told_with_the_best_reached():
    """By hand: 2.4 m less 0.06 m, one board of 15.9 mm and a box of 0.3 m leave 2024 mm before sag,
    which is under 15 mm; 2.1 m are wanted. 5 N is less than any hanger here must carry, and its
    worst load is told in multiples of it."""
    base = small_room()
    box = Patch("pipe box", 0.0, 0.0, 3.0, 0.5, drop=0.3)
    hangers = replace(base.hangers, load_minimum=None, load_maximum=5.0)
    design = replace(
        base, units="metric", prices={}, hangers=hangers,
        room=replace(base.room, bulkheads=(box,), headroom_minimum=2.1),
    )  # fmt: skip
    made = choose(design, Axes((hangers,), (24 * INCH,), (48 * INCH,), (1,), (0.06,), (0.0,)))
    text = " ".join(choice.text(made).split())
    told = re.search(
        r"Every ceiling tried breaks: headroom \((\d+) mm below 'pipe box' at best, 2100 mm is"
        r" wanted\); load above rated maximum \((.*?) times", text,
    )  # fmt: skip
    assert told, text
    assert 2009 <= int(told[1]) <= 2024
    held = gravity.loads(design_at(made, (0,) * 6), coupled=False)
    assert float(told[2]) == pytest.approx(held.worst.load / 5.0, abs=0.006)  # printed to 0.01


def test_hangers_without_a_price_are_named():
    """A price for one class by its name is none of another: what costs nothing is no bargain."""
    base = small_room()
    other = replace(base.hangers, name="spring hanger")
    tried = Axes((base.hangers, other), (24 * INCH,), (48 * INCH,), (1,), (0.1,), (0.0,))
    prices = {"channel_per_m": 2.0, "board_per_m2": 7.0, "fill_per_m2": 1.0, "sealant_per_m": 1.0}
    for more, missing in (
        ({"screw": 0.1, "by_name: rubber-in-shear clip": 5.0}, ("hanger 'spring hanger'",)),
        ({"screw": 0.1, "hanger": 5.0}, ()), ({"hanger": 5.0}, ("screw",)),
        ({"screw": 0.1}, ("hanger",)), ({"screw": 0.1, "hanger": 0.0}, ()),  # left over, free
    ):  # fmt: skip
        one = replace(base, prices={**prices, **more})
        assert choose_loads.table(one, tried).missing == missing

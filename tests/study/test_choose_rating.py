"""A rating as target of a search: screened over the whole set, the chosen one predicted in full."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.chain import predict
from impact.design.parts import Design, Target
from impact.report import choice
from impact.study import choose_rating
from impact.study.choose import choose
from impact.study.choose_axes import Axes
from impact.study.choose_parts import design_at

INCH = 0.0254


def small_room(limit: float) -> Design:
    base = designs.basement()
    hangers = replace(base.hangers, load_minimum=10.0, load_maximum=900.0, height=0.03)
    return replace(
        base, room=replace(base.room, length=2.6, width=2.4),
        floor=replace(base.floor, length=2.6, width=2.4), hangers=hangers,
        target=Target("IIC", limit, None, "at least"),
    )  # fmt: skip


def few(design: Design) -> Axes:
    """Twelve ceilings of one hanger: one to three boards, two depths, empty or filled."""
    own = design.hangers
    return Axes((own,), (24 * INCH,), (48 * INCH,), (1, 2, 3), (0.05, 0.15), (0.0, 0.15))


@pytest.fixture(scope="module")
def free():
    """Value of every ceiling by full prediction."""
    design = small_room(0.0)
    made = choose(replace(design, target=None), few(design))
    return {
        tuple(map(int, at)): predict(design_at(made, at)).ratings["IIC"]
        for at in np.argwhere(made.feasible)[::3]
    }


def test_screening_lies_near_the_prediction(free):
    """Energy balance alone, shifted at one ceiling of each kind of fill: 4 points of IIC, of which
    one is rounding; it need only bring to verification what is worth it."""
    design = small_room(0.0)
    made = choose(replace(design, target=None), few(design))
    screen = choose_rating.Screen(made, design.target)
    screen.verify(next(iter(free)))
    off = [screen.estimate(at) - value for at, value in free.items()]
    assert np.abs(off).max() <= 4
    assert max(free.values()) - min(free.values()) > 4  # or nothing would be told apart


def test_the_chosen_one_is_predicted_in_full_and_keeps_the_target(free):
    """A limit that few keep: what is chosen is what `predict` says, and what is cut off is
    said."""
    limit = float(max(free.values()) - 3)
    design = small_room(limit)
    made = choose(design, few(design), "lowest")
    assert made.chosen.verified
    assert made.chosen.reached >= limit
    assert made.chosen.reached == predict(made.chosen.design).ratings["IIC"]
    assert 0 < made.failed["target"].sum() < made.feasible.size
    page = " ".join(choice.text(made).split())
    assert "was screened by the energy balance for" in page
    assert f"IIC {made.chosen.reached:.1f}, predicted" in page


def test_a_rating_out_of_reach_is_said(free):
    design = small_room(max(free.values()) + 40)
    made = choose(design, few(design))
    assert made.chosen is None
    page = " ".join(choice.text(made).split())
    assert "No ceiling here can reach the target IIC at least" in page
    assert "on perfect hangers comes to" in page


def test_a_target_that_is_not_predicted_judges_nothing():
    """L'nT,w is a level in a building: no ceiling fails for it, and the answer says why."""
    wanted = Target("LnT_w", 50.0, None, "at most")
    design = replace(small_room(0.0), target=wanted)
    own = (design.hangers,)
    made = choose(design, Axes(own, (24 * INCH,), (48 * INCH,), (1,), (0.05, 0.15), (0.15,)))
    assert "target" not in made.failed
    assert made.chosen is not None
    page = " ".join(choice.text(made).split())
    assert "The target L'nT,w at most 50 is one of the building, walls and all" in page
    assert "nan" not in page
    assert "known to reach the target" not in page

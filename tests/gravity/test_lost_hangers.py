"""What happens once a hanger or a line of channel is lost. Designs are invented."""

from __future__ import annotations

import json
from dataclasses import replace

import designs
import numpy as np
import pytest

from impact import gravity
from impact.design.placing import place
from impact.gravity import rest, weights
from impact.gravity.loads import HIGHEST
from impact.gravity.parts import deflection, place_of_most, sunk
from impact.motion.assemble import assemble


def test_lost_hanger_equals_a_ceiling_placed_without_it():
    """Low-rank update against a whole new design that lacks the hanger; 1e-7 of the load."""
    base = designs.basement()
    points = place(base).points
    hangers = replace(base.hangers, mass=0.0, positions=points)
    whole = gravity.loads(replace(base, hangers=hangers), coupled=False)
    for gone in (0, 9, 14):
        fewer = replace(hangers, positions=points[:gone] + points[gone + 1 :])
        anew = gravity.loads(replace(base, hangers=fewer), coupled=False)
        assert whole.hangers[gone].lost_load == pytest.approx(anew.worst.load, rel=1e-7)


def test_low_rank_update_equals_a_full_solution():
    """Every hanger and a whole channel line; 1e-9."""
    design = designs.basement()
    parts = assemble(design, HIGHEST)
    ceiling, floor = parts.whole.leaves[-1], parts.whole.leaves[0]
    ready = rest.prepare(design.hangers, parts.placement.points, ceiling, floor, (0.0, 0.0))
    force = weights.weigh(design, parts.placement, ceiling).boards
    solved = rest.solve(ready, force)
    bent, _ = ready.loaded(force)
    line = [i for i, c in enumerate(parts.placement.channel_of_point) if c == 2]
    for gone in [[i] for i in range(len(solved.force))] + [line]:
        quick, sunk = rest.without(ready, solved, gone, force)
        slow = rest.solve(ready, force, gone)
        assert quick == pytest.approx(slow.force, rel=1e-9, abs=1e-9 * slow.force.max())
        opened = bent - ready.flexibility @ slow.force + ready.rigid @ slow.motion
        assert sunk == pytest.approx(opened[gone].max(), rel=1e-7)


def test_three_hangers_cannot_lose_one():
    """Two points cannot hold a plate level: all is said to fall, and said first."""
    base = designs.basement()
    hangers = replace(base.hangers, positions=((0.5, 0.5), (3.7, 0.5), (2.1, 3.1)), channel=None,
                      load_maximum=5e3)  # fmt: skip
    checked = gravity.loads(replace(base, hangers=hangers), coupled=False)
    assert checked.fragile
    assert checked.findings[0].code == "cannot_lose_one"
    assert "cannot lose" in checked.lines_of_text()[0]
    assert np.isnan(checked.hangers[0].lost_load)
    json.dumps(checked.as_dict(), allow_nan=False)


def test_many_strong_hangers_can_lose_one():
    base = designs.basement()
    checked = gravity.loads(replace(base, hangers=replace(base.hangers, load_maximum=2e3)),
                            coupled=False)  # fmt: skip
    assert not checked.fragile
    assert not checked.as_dict()["lost_hanger"]["cannot_lose_one"]


@pytest.mark.parametrize(
    ("values", "place"),
    [([], -1), ([2.0], 0), ([1.0, 3.0, 2.0], 1), ([1.0, 3.0, 3.0 + 1e-12], 1),
     ([3.0, 3.0 + 1e-6], 1), ([1.0, float("inf"), float("inf")], 1), ([-2.0 - 1e-12, -2.0, -3], 0)],
)  # fmt: skip
def test_of_equal_loads_the_first_is_named(values, place):
    """Mirrored hangers carry the same but for rounding, some 1e-13; loads that differ by 1e-6 do
    differ."""
    assert place_of_most(values) == place


def test_what_rounds_to_nothing_has_no_sign() -> None:
    """Boards that rise by a hair at an edge hang 0.0 mm lower, not -0.0."""
    assert deflection(-2e-6, "metric") == "0.0 mm"
    assert deflection(-2e-6, "imperial") == "0.000 in"
    assert deflection(-2e-4, "metric") == "-0.2 mm"


@pytest.mark.parametrize(
    ("metres", "units", "told"),
    [(3e-5, "metric", "less than 0.1 mm"), (6e-5, "metric", "0.1 mm"),
     (3e-5, "imperial", "0.001 in"), (1e-5, "imperial", "less than 0.001 in")],
)  # fmt: skip
def test_a_floor_under_more_load_never_sinks_by_nothing(metres, units, told):
    """0.03 mm is 0.0012 in, 0.01 mm 0.0004 in, by hand."""
    assert sunk(metres, units) == told

"""Inputs moved all at once on few floors, and what they make of the sum of single effects."""

from __future__ import annotations

from types import SimpleNamespace

import floors
import numpy as np
import pytest

from impact.base import bands, levels
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.spread import modal, together
from impact.spread.draws import draw
from impact.spread.inputs import changed, inputs

KINDS = {
    "joist_stiffness": "floor",
    "floor_mass": "floor",
    "hanger_stiffness": "points",
    "edge_stiffness": "points",
    "ceiling_mass": "boards",
    "fill": "air",
    "rebound": "blow",
}
ITEMS = [SimpleNamespace(key=key, kind=kind) for key, kind in KINDS.items()]


def test_signs_of_any_two_inputs_balance():
    """What makes a fraction of all combinations orthogonal (Box and Hunter 1961): columns sum to
    zero, and so do products of any two."""
    z = together.runs(ITEMS)
    assert not z[:, -1].any()  # the blow is no part of the structure
    moved = z[:, :-1]
    assert np.array_equal(np.abs(moved), np.ones(moved.shape))
    assert not moved.sum(axis=0).any()
    assert np.array_equal(moved.T @ moved, len(z) * np.eye(moved.shape[1]))
    # boards, fill and edge take eight states and no more, each as often as any other
    kind = np.unique(z[:, 3:6], axis=0, return_counts=True)[1]
    assert kind.tolist() == [len(z) // 8] * 8
    assert together.states(ITEMS, z).max() == 3  # boards and fill: four


def test_levels_get_their_mean_and_deviation_from_few_floors():
    # L = 1 + 3 x + 4 y + 5 x y + (x² - 1) of standard normal x, y by hand: mean 1, variance
    # 9 + 16 + 25 + 2. The square is blind to signs, and the two-point rule has no variance of it.
    z = together.runs(ITEMS)
    x, y = z[:, 0], z[:, 2]
    found = (1 + 3 * x + 4 * y + 5 * x * y + (x**2 - 1))[:, None]
    many = draw(4096, 2, 0)
    added = many @ np.array([[3.0], [4.0]])
    level = together.fitted((3 * x + 4 * y)[:, None], found, added)(added)
    assert np.mean(level) == pytest.approx(1.0, abs=0.01)
    # 30 degrees of freedom for 32 floors: the part left over the line comes 16/15 as large; draws
    # are cut at 2.5 deviations, which takes 4 % of the variance of the sum
    assert np.var(level) == pytest.approx(25 + 25 * 32 / 30, rel=0.03)


def test_effects_that_add_stay_as_they_are():
    added = np.random.default_rng(1).standard_normal((32, 3))
    added[:, 2] = 0.0  # a band that nothing moves
    line = together.fitted(added, added, 2 * added)
    assert line.slope == pytest.approx(np.ones(3))
    assert line.offset == pytest.approx(np.zeros(3))


def test_floors_moved_in_all_inputs_are_those_solved_anew():
    """Floor by floor, against leaves, links and bands put together anew."""
    design, last = floors.uncertain(), bands.index(40.0)
    items = inputs(design)
    found = modal.changes(assemble(design, 115.0), items, last=last)
    z = together.runs(items)
    centres = list(bands.CENTRES[: last + 1])

    def level(one):
        built = assemble(one, 50.0)
        low = lowband.transfers(built, built.whole, centres, (modal.LINES,) * 2)
        return levels.decibel(low.power["design"])

    base = level(design)
    off = np.array([
        found.runs[run] - (level(changed(design, items, z[run])) - base) for run in (0, 5, 18, 27)
    ])[:, found.whole]  # fmt: skip
    # the same lines, but modes as they were: a few tenths, against changes of up to 10 dB
    assert found.whole.sum() >= 2
    assert np.mean(np.abs(off)) < 0.4

"""Inputs moved all at once on some floors, and what they make of the sum of single effects."""

from __future__ import annotations

from types import SimpleNamespace

import floors
import numpy as np
import pytest
from scipy import stats

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
    zero, and so do products of any two; in each 64 of the 256 floors, and in the first 32."""
    z = together.runs(ITEMS)
    assert not z[:, -1].any()  # the blow is no part of the structure
    assert len(z) == 256
    for some in (z[:32], *np.split(z, 4)):
        moved = np.sign(some[:, :-1])
        assert not moved.sum(axis=0).any()
        assert np.array_equal(moved.T @ moved, len(some) * np.eye(moved.shape[1]))
        # inputs of the floor go about as far as a normal variable does: mean square 1 but for the
        # cut at 2.5; fourth moment between 1, that of two points, and 3, nearer to the latter
        floor = some[:, :2]
        assert np.mean(floor**2, axis=0) == pytest.approx(np.ones(2), abs=0.03)
        assert np.all((np.mean(floor**4, axis=0) > 2) & (np.mean(floor**4, axis=0) < 3))


def test_what_shares_states_meets_in_every_pair_of_points():
    """An orthogonal array of strength two (Rao 1947): of boards, fill, edge and two more any two
    stand at each pair of their four points once in sixteen states. A point is the root mean square
    of half of one side of a normal variable cut at 2.5: by hand 0.3777, and 1.3465 with
    1 - 2 x 0.6745 phi(0.6745) / 0.5 = 0.1427 and what is cut off the tail."""
    keys = (*together.SHARED, "drawn_from_afar")
    items = [SimpleNamespace(key=key, kind="boards") for key in keys]
    z = together.runs(items)
    points = [-1.3465, -0.3777, 0.3777, 1.3465]
    for i in range(len(together.THREES)):
        assert np.unique(z[:, i]) == pytest.approx(points, abs=1e-3)
        for j in range(i):
            often = np.unique(z[:, [i, j]], axis=0, return_counts=True)[1]
            assert often.tolist() == [len(z) // 16] * 16
    assert together.states(items, z).max() == 15


@pytest.mark.parametrize(("count", "better"), [(64, 1), (256, 2)])
def test_raised_levels_get_their_mean_and_deviation_from_few_floors(count, better):
    # L = 1 + 3 x + 4 y + 5 x y + (x² - 1) of standard normal x, y by hand: mean 1, variance
    # 9 + 16 + 25 + 2. From 64 floors the mean is good to the part off the line, with a standard
    # error of sqrt(27/64) = 0.65 for floors drawn anyhow, here twice that; the variance to a fifth.
    # From four times as many both are twice as good
    z = together.runs(ITEMS)[:count]
    x, y = z[:, 0], z[:, 1]
    found = (1 + 3 * x + 4 * y + 5 * x * y + (x**2 - 1))[:, None]
    many = draw(4096, 2, 0)
    added = many @ np.array([[3.0], [4.0]])
    level = together.fitted((3 * x + 4 * y)[:, None], found, added)(added)
    assert np.mean(level) == pytest.approx(1.0, abs=1.3 / better)
    assert np.var(level) == pytest.approx(52.0, rel=0.2 / better)


def test_how_many_floors_are_solved_falls_with_the_square_of_the_modes():
    """From the 256 that there are to 32, always a power of two; by hand 8e4/(8² + 8²) = 625,
    8e4/20² = 200, 8e4/(20² + 20²) = 100, 8e4/30² = 89, 8e4/60² = 22."""
    told = [together.floors(modes) for modes in ([8, 8], [20], [20, 20], [30], [60])]
    assert told == [256, 128, 64, 64, 32]


@pytest.mark.parametrize("freedom", [20, 60])
def test_skewed_levels_have_the_limits_of_a_chi_square_variable(freedom):
    """A sum s that is normal, levels chi-square with as much spread: the skewness is sqrt(8/k).

    Against the quantiles of the chi-square distribution in scipy. The first term of Cornish and
    Fisher leaves errors of the order of the skewness squared, 1/6 of 8/k of a standard deviation
    at most at the 5 and 95 % points; the normal shape would miss them by (1.645² - 1)/6 times the
    skewness, twice as much and more.
    """
    many = draw(4096, 1, 0)
    known = stats.norm.cdf(many)
    raised = (stats.chi2.ppf(known, freedom) - freedom) / (2 * freedom) ** 0.5
    level = together.fitted(many, raised, many)(many)
    wanted = (stats.chi2.ppf([0.05, 0.95], freedom) - freedom) / (2 * freedom) ** 0.5
    found = np.percentile(level, [5, 95])
    assert found == pytest.approx(wanted, abs=8 / freedom / 6)
    skewness = float(stats.skew(level)[0])
    # of draws cut at 2.5 deviations, which takes a quarter off sqrt(8/k)
    assert skewness == pytest.approx(float(stats.skew(raised)[0]), rel=0.05)


def test_bend_is_that_of_two_moments_by_hand():
    """u + c (u² - 1) of a normal u has the variance 1 + 2 c² and the third moment 6 c + 8 c³."""
    power = np.array([1.0, 0.0, 1.0, 0.0, 3.0, 0.0, 15.0])[:, None]
    c = np.array([0.1])
    skewness = (6 * c + 8 * c**3) / (1 + 2 * c**2) ** 1.5
    assert together._bend(power, skewness) == pytest.approx(c, abs=1e-6)
    # no further than levels go without turning back
    assert together._bend(power, np.array([5.0])) == pytest.approx([together.BENT], abs=1e-6)


def test_effects_that_add_stay_as_they_are():
    added = np.random.default_rng(1).standard_normal((32, 3))
    added[:, 2] = 0.0  # a band that nothing moves
    many = np.vstack([added, added])
    curve = together.fitted(added, added, many)
    # the variance of the rest over 30 for 32 floors; there is no rest. Unbiased third moments are
    # a little larger than the draws' own, so the ends bend by some hundredths
    assert curve(many) == pytest.approx(many, abs=0.15)
    assert curve(many).mean(axis=0) == pytest.approx(many.mean(axis=0))
    assert curve(many).std(axis=0) == pytest.approx(many.std(axis=0))


def test_floors_not_solved_are_left_out():
    rng = np.random.default_rng(2)
    added = rng.standard_normal((64, 1))
    found = added + 0.3 * rng.standard_normal((64, 1))
    many = rng.standard_normal((500, 1))
    half = found.copy()
    half[32:] = np.nan
    both = (together.fitted(added, half, many), together.fitted(added[:32], found[:32], many))
    assert both[0](many) == pytest.approx(both[1](many), rel=1e-12)


def test_floors_moved_in_all_inputs_are_those_solved_anew(monkeypatch):
    """Floor by floor, against leaves, links and bands put together anew, at the band's own lines: a
    floor that loses less would be solved at more, which moves one of these by 1.5 dB in a band."""
    monkeypatch.setattr(lowband, "enough", lambda stack, centre, lines: lines)
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

"""Floors with drawn inputs, and the prior that overlooks no fault: against what is known of both.

The low bands come from the energy balance too, which costs milliseconds.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import basement
from scipy.stats import multivariate_normal, norm

from impact.base import bands
from impact.design.origin import Spread
from impact.design.parts import Design
from impact.site import (
    diagnose,
    diagnose_cases,
    diagnose_errors,
    diagnose_likelihood,
    diagnose_prior,
    shifts,
)
from impact.site.bench import Change
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.site.faults import Member
from impact.spread.inputs import END, FAR
from validation.fault_trials import trials

PLACE, MEASURED = bands.index(50.0), (50.0, 63.0, 500.0)


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    """All bands by the energy balance, NaN where the modes would not be asked."""

    def power(at, states, wanted):
        found = shifts.energy_power(at, states, False)
        if wanted is not None:
            found[:, [place for place in range(shifts.TOP + 1) if place not in wanted]] = np.nan
        return found

    monkeypatch.setattr(shifts, "joined_power", power)


def uncertain(factor: float = 2.0) -> Design:
    """The plain room with ranges from a `factor`-th to `factor` times what is drawn."""
    design = basement()
    fill = design.cavity.fill
    assert design.hangers is not None
    assert fill is not None
    drawn = {
        "hangers.dynamic_stiffness": design.hangers.dynamic_stiffness,
        "hangers.loss_factor": design.hangers.loss_factor,
        "ceiling.loss_factor": design.ceiling.loss_factor,
        "cavity.fill.flow_resistivity": fill.flow_resistivity,
    }
    return replace(design, spreads=tuple(
        Spread(path, value / factor, value * factor, "invented") for path, value in drawn.items()
    ))  # fmt: skip


def same(one, other) -> bool:
    return one.members == other.members and all(
        np.array_equal(one.shifts[key], other.shifts[key], equal_nan=True) for key in one.shifts
    )


def test_inputs_fall_once_into_each_stratum():
    # Latin hypercube: N draws of a normal variable, one in each N-th of its probability; equal
    # ratios on either side of the drawing, 90 % of them within the range the design states
    design = uncertain()
    floors = diagnose_cases.drawn(design, 12)
    assert floors[0] == design
    drawn = design.hangers.dynamic_stiffness
    spread = next(s for s in design.spreads if s.path == "hangers.dynamic_stiffness")
    found = []
    for floor in floors[1:]:
        ratio = np.log(floor.hangers.dynamic_stiffness / drawn)
        end = spread.high if ratio > 0 else spread.low
        found.append(END * abs(ratio / np.log(end / drawn)) * np.sign(ratio))
    assert np.max(np.abs(found)) <= FAR + 1e-9
    assert sorted((norm.cdf(found) * 11).astype(int)) == list(range(11))


@pytest.mark.parametrize("design", [basement(), uncertain(1.0)])
def test_without_ranges_there_is_the_drawing_alone(design):
    many, one = (diagnose_cases.ensemble(design, 3, floors, MEASURED) for floors in (12, 1))
    assert same(many, one)
    assert all(set(numbers) <= {0} for numbers in many.floors.values())


def test_the_same_seed_gives_the_same_cases():
    first, again, other = (
        diagnose_cases.ensemble(uncertain(), seed, 3, MEASURED) for seed in (4, 4, 5)
    )
    assert same(first, again)
    assert not same(first, other)


def test_every_fault_is_on_a_floor_and_each_floor_has_its_own():
    found = diagnose_cases.ensemble(uncertain(), 1, 4, MEASURED)
    alone = diagnose_cases.ensemble(uncertain(), 1, 1, MEASURED)
    assert set(found.members) == set(alone.members)
    assert {len(set(numbers)) for numbers in found.floors.values()} == {1, 2, 4}
    sizes = {case.size for case in found.members["fill missing"]}
    assert sizes == {case.size for case in alone.members["fill missing"]}
    shift, floor = found.shifts["flanking"], found.floors["flanking"]
    assert np.max(np.abs(shift[floor == 0] - shift[floor == 1])[:, 15:]) > 0.1  # dB


def test_only_bands_that_were_measured_are_solved():
    found = diagnose_cases.ensemble(basement(), 1, 1, MEASURED)
    rows = found.shifts["bridged"]
    assert np.all(np.isfinite(rows[:, [bands.index(band) for band in MEASURED]]))
    assert np.all(np.isnan(rows[:, : PLACE - 1]))


def three_in_a_row(a: float) -> tuple[np.ndarray, list[float]]:
    """Weights for three faults in one dimension at -a, 0, a, unit noise, and nothing wrong far
    away; and how often each fault is then among the first two.

    By hand: with log weight w on the outer ones above the middle, the middle is not among the first
    two within |r| < t = (w - a²/2)/a. It is found with 2 (1 - Phi(t)) for t > 0, else always; an
    outer one with Phi(a + max(t, 0)). 20,000 spectra know a share to 0.3 %.
    """
    rng = np.random.default_rng(2)
    middles = np.array([30.0, -a, 0.0, a])
    truth = np.repeat(np.arange(4), 20000)
    spectra = middles[truth] + rng.standard_normal(len(truth))
    evidence = norm.logpdf(spectra[:, None], middles)
    prior = diagnose_prior.fair(evidence, truth)
    assert np.exp(prior).sum() == pytest.approx(1)
    before = np.argsort(-(evidence + prior), axis=1)[:, :2]
    return prior, [float(np.mean((before[truth == k] == k).any(axis=1))) for k in (1, 2, 3)]


def test_prior_stays_even_where_all_are_found_often_enough():
    # Phi(1.5) = 0.933 is above FOUND with even weights
    prior, found = three_in_a_row(1.5)
    assert prior[1:] == pytest.approx([prior[1]] * 3, abs=1e-12)
    assert min(found) > diagnose_prior.FOUND


def test_prior_is_raised_as_far_as_needed_and_no_further():
    # even weights find an outer one in Phi(1.2) = 0.885: short of FOUND by what t = 0.08 mends.
    # A share known to 0.3 % is 0.017 in t and 0.02 in w; three times that
    a = 1.2
    t = norm.ppf(diagnose_prior.FOUND) - a
    prior, found = three_in_a_row(a)
    assert prior[1] - prior[2] == pytest.approx(a * t + a**2 / 2, abs=0.06)
    assert prior[3] - prior[2] == pytest.approx(a * t + a**2 / 2, abs=0.06)
    assert found == pytest.approx([0.9, 2 * norm.sf(t), 0.9], abs=0.01)


def test_no_fault_is_given_up_for_those_that_cannot_be_found():
    # at a = 0.5 the outer ones reach FOUND with no weight that leaves the middle there: they stop
    # at MOST, and the middle keeps FOUND: 2 (1 - Phi(t)) = 0.9. By minimax all would have 0.78
    a = 0.5
    t = norm.isf(diagnose_prior.FOUND / 2)
    prior, found = three_in_a_row(a)
    assert prior[1] == pytest.approx(prior[3], abs=1e-9)
    assert found == pytest.approx(
        [norm.cdf(a + t), diagnose_prior.FOUND, norm.cdf(a + t)], abs=0.01
    )


def test_prior_keeps_a_sound_ceiling_sound():
    # one fault one standard deviation from nothing: P(first | nothing) = Phi(1/2 + w), with w the
    # log odds; SOUND needs w of at least 1.14. The fault is always among the first two
    rng = np.random.default_rng(3)
    truth = np.repeat([0, 1], 20000)
    spectra = truth + rng.standard_normal(len(truth))
    evidence = norm.logpdf(spectra[:, None], [0.0, 1.0])
    prior = diagnose_prior.fair(evidence, truth)
    least = norm.ppf(diagnose_prior.SOUND) - 0.5
    assert prior[0] - prior[1] >= least - 0.03  # 20,000 spectra: 0.15 % of them, 0.015 in w


def test_explanations_nothing_is_known_of_keep_their_share():
    evidence = np.log(np.array([[0.9, 0.1, 0.1], [0.1, 0.9, 0.1]]))
    prior = diagnose_prior.fair(evidence, np.array([0, 0]))
    assert np.exp(prior) == pytest.approx([0.5, 0.25, 0.25])


def test_buildings_of_the_trials_share_no_seed_with_the_search():
    for seed in trials.OF_THE_SEARCH:
        with pytest.raises(ValueError, match="the search's own"):
            trials.truth(basement(), seed, 1)


def test_buildings_by_the_catalogue_move_what_has_a_range():
    # 400 draws know a standard deviation to 3.5 %, of ratios by 2 at 1.6449; three times that
    design, rng = uncertain(), np.random.default_rng(1)
    others = [trials.by_catalogue(design, rng) for _ in range(400)]
    ratios = [other.hangers.dynamic_stiffness / design.hangers.dynamic_stiffness
              for other in others]  # fmt: skip
    assert np.std(np.log(ratios)) == pytest.approx(np.log(2) / 1.6449, rel=0.11)
    assert all(other.floor == design.floor for other in others)


def test_width_of_kernels_by_silvermans_rule():
    # h = (4/(n (d + 2)))^(1/(d + 4)) (Silverman 1986, table 4.1: A = (4/(d + 2))^(1/(d + 4)))
    one, two = np.diag([4.0, 0.0, 0.0]), np.diag([4.0, 4.0, 0.0])
    width = diagnose_errors.width
    assert width(12, one, np.eye(3)) == pytest.approx((1 / 9) ** (1 / 5))
    assert width(12, two, np.eye(3)) == pytest.approx((1 / 12) ** (1 / 6))
    # variances of 4/9 and 4/16 in units of the other errors
    rest = np.diag([9.0, 16.0, 1.0])
    filled = (4 / 9 + 4 / 16) ** 2 / ((4 / 9) ** 2 + (4 / 16) ** 2)
    assert width(6, two, rest) == pytest.approx((4 / 6 / (filled + 2)) ** (1 / (filled + 4)))
    assert width(1, two, rest) == width(12, np.zeros((3, 3)), rest) == 1.0


def one_input(floors: int = 12) -> tuple[Ensemble, np.ndarray, np.ndarray]:
    """Floors with one input z: the level moves by g z, one case of a fault by s + b z [dB]. With
    the ensemble g and b (28,); z at the middles of equally likely strata, the drawing first."""
    g, b = np.linspace(3.0, 5.0, 28), np.linspace(6.0, 2.0, 28)
    z = np.append(0.0, norm.ppf((np.arange(floors - 1) + 0.5) / (floors - 1)))
    shift = 20.0 + z[:, None] * b
    cases = [Member(1, "case", Change(air=str(n))) for n in range(floors)]
    known = Ensemble(
        30, {"bridged": cases}, {"bridged": shift}, {"bridged": np.arange(floors)},
        50.0 + z[:, None] * g,
    )  # fmt: skip
    return known, g, b


WIDE = tuple(float(band) for band in bands.NOMINAL[7:20])
OF = [bands.index(band) for band in WIDE]


def test_kernels_keep_the_spread_of_levels():
    """Second moments of what is simulated about kernels, with v the variance of z on the floors:
    of the level (h² + a² v) D, D = g g', which is D for v = 1; of level and change v (a g + b)² and
    h² D. 40,000 draws know a variance to 0.7 %; four times that."""
    known, g, b = one_input()
    error = PredictionError(np.full(28, 2.0), np.outer(g, g))
    scales = diagnose.Scales(known, WIDE, np.full(len(WIDE), 1.0), error)
    base = PredictionError(np.full(28, 2.0)).covariance(WIDE) + np.eye(len(WIDE))
    wide = (1 / 9) ** (1 / 5)
    a, v = np.sqrt(1 - wide**2), np.var((known.levels - 50.0)[:, 0] / g[0])
    g, b = g[OF], b[OF]
    rng = np.random.default_rng(1)
    levels, *_ = scales.none.simulated(rng, 40000)
    assert np.diag(np.cov(levels.T)) == pytest.approx(
        np.diag(base) + (wide**2 + a**2 * v) * g**2, rel=0.028
    )
    faulty, *_ = scales.shown["bridged"].simulated(rng, 40000)
    whole = np.diag(base) + (wide * g) ** 2 + v * (a * g + b) ** 2
    whole += diagnose_likelihood.SHAPE**2 * (20**2 + v * b**2)
    assert np.var(faulty, axis=0) == pytest.approx(whole, rel=0.028)
    assert scales.uncertainty == pytest.approx(np.sqrt(np.diag(base) + g**2))


def test_level_and_change_of_the_same_floor_go_together():
    """Level g z and change s + b z come from one z: exactly, the spectra are normal about s with
    C + (g + b)(g + b)'. Held together by the floors, as far as their kernels leave it (a = 0.76),
    their likelihood comes nearer to that than if level and change are independent, by a third at
    least; and where a spectrum lies with the level of a stiff floor, the case on it weighs more."""
    known, g, b = one_input()
    noise = np.full(len(WIDE), 1.0)
    plain = PredictionError(np.full(28, 2.0)).covariance(WIDE) + np.eye(len(WIDE))
    shape = np.diag((diagnose_likelihood.SHAPE * 20.0) ** 2 * np.ones(len(WIDE)))
    exact = multivariate_normal(
        np.full(len(WIDE), 20.0), plain + shape + np.outer((g + b)[OF], (g + b)[OF])
    )
    spectra = exact.rvs(2000, random_state=3)
    together = PredictionError(np.full(28, 2.0), np.outer(g, g))
    held = diagnose.Scales(known, WIDE, noise, together)
    apart = diagnose.Scales(replace(known, levels=known.levels[:1]), WIDE, noise, together)
    lost = [
        float(np.mean(exact.logpdf(spectra) - one.shown["bridged"].log_evidence(spectra)))
        for one in (held, apart)
    ]
    assert 0 < lost[0] < lost[1] / 1.5  # nats in the mean: the distance from the exact one
    high = held.weigh(20.0 + 1.5 * (g + b)[OF]).ranked[0]
    assert high.best is not None
    assert int(high.best.change.air) >= 8  # floors of z > 0.6


@pytest.mark.parametrize("share", [0.1, 0.5, 0.99])
def test_a_change_goes_against_the_level_by_the_share_of_the_fault(share):
    """By hand: power q beside p makes 10 lg(1 + q/p); with p louder by d dB, small, its slope is
    -q/(p + q), whatever the sizes are, of which 1 lets through q, 2 so much more that the change is
    3 dB larger."""
    d = np.outer([-0.02, -0.01, 0.0, 0.01, 0.03], [1.0, -0.5])
    ratio = share / (1 - share)
    change = 10 * np.log10(1 + ratio * 10 ** (-d / 10))
    floors, sizes = np.tile(np.arange(5), 2), np.repeat([1.0, 2.0], 5)
    rows = np.vstack([change, change + 3.0])
    found = diagnose_likelihood.follows(rows, sizes, floors, d)
    assert found == pytest.approx(-share, abs=2e-3)
    # cases that are more on one floor count no more
    again = np.r_[np.arange(10), [4, 4, 4, 9, 9, 9]]
    assert diagnose_likelihood.follows(rows[again], sizes[again], floors[again], d) == (
        pytest.approx(found)
    )


def test_no_slope_from_few_floors_or_against_nature():
    d = np.arange(5.0)[:, None] * np.ones(3)
    ones, floors = np.ones(5), np.arange(5)
    follows = diagnose_likelihood.follows
    assert follows(-0.5 * d, ones, floors, d) == pytest.approx(-0.5)
    assert follows(-3 * d, ones, floors, d) == -1  # no more than all of it
    assert follows(0.5 * d, ones, floors, d) == 0
    assert follows(-0.5 * d[:3], ones[:3], floors[:3], d) == 0
    assert follows(-0.5 * d, ones, floors, np.zeros_like(d)) == 0


def test_evidence_where_a_change_goes_against_the_level():
    """Level g z and change s - 0.8 g z: exactly, spectra are normal about s with C + 0.04 g g'. The
    evidence comes nearer to that than with kernels as wide as those of the level, whose spread the
    fault takes away: to a fifth of what these lose."""
    known, g, _ = one_input()
    z = (known.levels - 50.0)[:, :1] / g[0]
    known = replace(known, shifts={"bridged": 20.0 - 0.8 * z * g})
    noise = np.full(len(WIDE), 1.0)
    plain = PredictionError(np.full(28, 2.0)).covariance(WIDE) + np.eye(len(WIDE))
    shape = np.diag((diagnose_likelihood.SHAPE * 20.0) ** 2 * np.ones(len(WIDE)))
    exact = multivariate_normal(np.full(len(WIDE), 20.0), plain + shape + 0.04 * np.outer(g, g)[
        np.ix_(OF, OF)])  # fmt: skip
    spectra = exact.rvs(2000, random_state=3)
    scales = diagnose.Scales(known, WIDE, noise, PredictionError(np.full(28, 2.0), np.outer(g, g)))
    cases = scales.shown["bridged"]
    wide = scales.none
    even = diagnose_likelihood.Cases(
        wide.covariance, cases.shifts, cases.members, cases.floors, wide.levels[cases.floors]
    )
    lost, before = (
        float(np.mean(exact.logpdf(spectra) - one.log_evidence(spectra))) for one in (cases, even)
    )
    assert 0 <= lost < before / 5


def test_sizes_of_another_type_are_many_on_each_floor():
    found = diagnose_cases.ensemble(uncertain(), 1, 4, MEASURED)
    sizes = np.array([case.size for case in found.members["wrong hanger"]])
    for number in range(1, 4):
        stiffer = np.sort(sizes[(found.floors["wrong hanger"] == number) & (sizes > 1)])
        assert len(stiffer) >= 24
        assert np.max(np.diff(np.log([2.0, *stiffer, 12.0]))) < np.log(2)  # no wide gap

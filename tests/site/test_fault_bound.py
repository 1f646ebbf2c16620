"""The bound of the trials of the search: what is left out, Bayes' rule and the frontier by hand."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import multivariate_normal, norm

from impact.base import bands
from validation.fault_trials.bound import KEYS, Bound, found, frontier
from validation.fault_trials.trials import MEASURED, Truth

PLACE = np.arange(28)
SLOPE, HUMP = 2.0 * (PLACE - 7.0), 25.0 * np.exp(-(((PLACE - 14) / 3.0) ** 2))
PLACES = [bands.index(band) for band in MEASURED]
BRIDGED, TOUCHING = KEYS.index("bridged"), KEYS.index("touching")


@pytest.fixture(scope="module")
def three():
    """Slopes in all buildings, one of them too faint to show; a hump in the first alone."""
    return Bound([
        Truth({"bridged": np.array([SLOPE, 0.01 * SLOPE]), "touching": np.array([HUMP])}),
        Truth({"bridged": np.array([1.2 * SLOPE])}),
        Truth({"bridged": np.array([0.8 * SLOPE, 0.9 * SLOPE])}),
    ])  # fmt: skip


def test_evidence_is_the_mean_over_buildings_of_the_mean_over_cases(three):
    """Buildings alike in weight, whatever their number of cases; the faint case is gone."""
    residual = SLOPE[PLACES] + 1.0

    def density(size):
        return multivariate_normal(size * SLOPE[PLACES], three.covariance).pdf(residual)

    zero, one = np.array([0]), np.array([1])
    first = three.evidence(residual[None], zero, own=False)[0]
    by_hand = 0.5 * density(1.2) + 0.25 * (density(0.8) + density(0.9))
    assert first[BRIDGED] == pytest.approx(np.log(by_hand))
    assert first[TOUCHING] == -np.inf  # in no other building
    known = three.evidence(residual[None], zero, own=True)[0]
    assert known[BRIDGED] == pytest.approx(np.log(density(1.0)))
    assert np.isfinite(known[TOUCHING])
    second = three.evidence(residual[None], one, own=False)[0]
    by_hand = 0.5 * density(1.0) + 0.25 * (density(0.8) + density(0.9))
    assert second[BRIDGED] == pytest.approx(np.log(by_hand))
    assert second[0] == pytest.approx(np.log(density(0.0)))


def test_spectra_scatter_as_stated(three):
    # 4000 draws know a variance to 2.2 %; four times that
    residuals, truth, building = three.spectra(np.random.default_rng(1), 4000)
    second = building == 1
    assert set(truth[second]) == {0, BRIDGED}
    bridged = residuals[second & (truth == BRIDGED)]
    assert bridged.mean(axis=0) == pytest.approx(1.2 * SLOPE[PLACES], abs=0.4)
    assert np.var(residuals[second & (truth == 0)], axis=0) == pytest.approx(
        np.diag(three.covariance), rel=0.09
    )


@pytest.mark.parametrize("a", [0.8, 1.5])
def test_frontier_by_hand(a):
    """Nothing wrong far away, three faults in one dimension at -a, 0, a, unit noise, two named.

    With the middle always named, an outer one is found with Phi(a) < 1. Given up within |r| < t,
    where the outer ones stand for it, the middle is found with 2 (1 - Phi(t)), an outer one with
    Phi(a + t); the least is greatest where both are alike. 20,000 spectra know a share to 0.3 %.
    """
    rng = np.random.default_rng(2)
    middles = np.array([30.0, -a, 0.0, a])
    truth = np.repeat(np.arange(4), 20000)
    evidence = norm.logpdf((middles[truth] + rng.standard_normal(len(truth)))[:, None], middles)
    t = brentq(lambda t: 2 * norm.sf(t) - norm.cdf(a + t), 0, 5)
    score = frontier(evidence, truth, np.zeros(len(truth), int), 0.9)
    share = [float(np.mean(found(score, truth)[truth == k])) for k in range(4)]
    assert share[0] >= 0.9
    assert min(share[1:]) == pytest.approx(2 * norm.sf(t), abs=0.012)

"""The bound of the trials of the search: what is left out, and Bayes' rule against a hand value."""

from __future__ import annotations

import numpy as np
import pytest

from impact.base import bands
from impact.site.diagnose import AS_DESIGNED
from validation.fault_trials.bound import Bound
from validation.fault_trials.trials import MEASURED, Truth

PLACE = np.arange(28)
SLOPE, HUMP = 2.0 * (PLACE - 7.0), 25.0 * np.exp(-(((PLACE - 14) / 3.0) ** 2))
PLACES = [bands.index(band) for band in MEASURED]


@pytest.fixture(scope="module")
def three():
    """Slopes in all buildings, one of them too faint to show; a hump in the first alone."""
    return Bound([
        Truth({"bridged": np.array([SLOPE, 0.01 * SLOPE]), "touching": np.array([HUMP])}),
        Truth({"bridged": np.array([1.2 * SLOPE])}),
        Truth({"bridged": np.array([0.8 * SLOPE, 0.9 * SLOPE])}),
    ])  # fmt: skip


def test_a_building_is_ranked_without_its_own_cases(three):
    known = three.others(0)
    assert set(known) == {"bridged"}
    # buildings alike in weight, whatever their number of cases
    assert known["bridged"].weights == pytest.approx([1 / 2, 1 / 4, 1 / 4])
    known = three.others(1)
    assert len(known["bridged"].shifts) == 3  # the faint one is gone
    assert known["touching"].weights == pytest.approx([1.0])


def test_half_of_the_prior_lies_on_as_designed(three):
    """Between nothing and the hump, errors Gaussian of covariance C: nothing leads up to the place
    along the hump h where the odds are even, x = 1/2 + ln(faults) / h' C^-1 h, by hand from the two
    exponents; with two faults that is ln 2."""
    known = three.others(1)
    hump = HUMP[PLACES]
    even = 0.5 + np.log(2) / (hump @ np.linalg.solve(three.covariance, hump))
    assert three.ranks(known, 0.999 * even * hump)[0] == AS_DESIGNED
    assert three.ranks(known, 1.001 * even * hump)[0] == "touching"


def test_spectra_scatter_as_stated(three):
    # 4000 draws know a variance to 2.2 %; four times that
    residuals = three.spectra(1, np.random.default_rng(1), 4000)
    assert set(residuals) == {AS_DESIGNED, "bridged"}
    assert residuals["bridged"].mean(axis=0) == pytest.approx(1.2 * SLOPE[PLACES], abs=0.4)
    assert np.var(residuals[AS_DESIGNED], axis=0) == pytest.approx(
        np.diag(three.covariance), rel=0.09
    )

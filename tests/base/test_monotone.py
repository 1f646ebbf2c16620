"""The monotone curve against scipy's, a general-purpose reference."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from impact.base.monotone import monotone


@pytest.mark.parametrize("seed", range(6))
def test_as_scipy_has_it(seed):
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.uniform(0.1, 2, 9))
    y = np.round(rng.normal(size=9), 1)  # flats and turns among them
    at = np.linspace(x[0] - 0.3, x[-1] + 0.3, 301)
    # the same formulas: rounding only
    assert monotone(x, y, at) == pytest.approx(PchipInterpolator(x, y)(at), abs=1e-11)


def test_does_not_overshoot_a_step():
    x, y = np.arange(6.0), np.array([0.0, 0, 0, 1, 1, 1])
    found = monotone(x, y, np.linspace(0, 5, 101))
    assert found.min() >= 0
    assert found.max() <= 1

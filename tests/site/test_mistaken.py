"""A measurement of another source is noticed, and data that tell nothing are not called telling."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import trapezoid

from impact.site import calibrate, mistaken

# Invented spectra of three bands: a machine, and a ball that is louder low and quieter high.
LEVELS = {"tapping_machine": [60.0, 70.0, 80.0], "rubber_ball": [85.0, 75.0, 60.0]}


def test_levels_of_the_other_source_are_noticed():
    found = mistaken.nearer_source(LEVELS, "tapping_machine", [86.0, 73.0, np.nan])
    # by hand: sqrt((1 + 4)/2) = 1.58 dB from the ball, sqrt((26² + 3²)/2) = 18.5 from the machine
    assert found == ("rubber_ball", pytest.approx(1.58, abs=0.01), pytest.approx(18.5, abs=0.05))
    said = mistaken.sentence(found, "tapping_machine")
    assert "rubber ball (2 dB apart, rms) than of the tapping machine (19 dB)" in said


@pytest.mark.parametrize("measured", [
    [61.0, 69.0, 81.0],  # as named
    [68.0, 76.0, 72.0],  # between both: 8 dB from the machine, 12 from the ball
    [95.0, 95.0, 95.0],  # far from both: 26 and 24 dB
    [np.nan] * 3,
])  # fmt: skip
def test_nothing_is_said_where_no_other_is_much_nearer(measured):
    assert mistaken.nearer_source(LEVELS, "tapping_machine", measured) is None
    assert mistaken.sentence(None, "tapping_machine") == ""


@pytest.mark.parametrize(("predicted", "known"), [
    (lambda z: np.array([2 * np.sin(6 * z[0])]), False),  # steep at the point, goes nowhere
    (lambda z: np.array([6 * z[0]]), True),
])  # fmt: skip
def test_what_the_data_leave_is_that_of_bayes_rule(predicted, known):
    """Posterior of one input, prior standard normal, one band measured with u = 2 dB: by numerical
    integration of Bayes' rule, and from slopes."""
    u = np.array([2.0])
    z = np.linspace(-6, 6, 4001)
    density = np.exp(-0.5 * z**2 - 0.5 * np.array([predicted([x])[0] / 2.0 for x in z]) ** 2)
    exact = np.sqrt(trapezoid(density * z**2, z) / trapezoid(density, z))
    slope = calibrate.mean_slopes(predicted, np.zeros(1))
    ratio = float(np.sqrt(calibrate.remaining(slope, u)[0, 0]))
    # the posterior of the first case is no normal one: 5 % is what one width can say of it
    assert ratio == pytest.approx(exact, rel=0.05)
    assert (ratio < calibrate.TELLS) == known

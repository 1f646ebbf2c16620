"""A measurement of another source is noticed, and data that tell nothing are not called telling."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import trapezoid

from impact.site import calibrate, mistaken

# Invented spectra of three bands: a machine, a ball that is louder low and quieter high, and the
# machine without the ceiling.
MACHINE = mistaken.in_words("tapping_machine", mistaken.CEILING)
LEVELS = {
    MACHINE: [60.0, 70.0, 80.0],
    "ball": [85.0, 75.0, 60.0],
    "no ceiling": [70.0, 90.0, 110.0],
}


@pytest.mark.parametrize(("measured", "words", "near", "far"), [
    # by hand: sqrt((1 + 4)/2) = 1.58 dB from the ball, sqrt((26² + 3²)/2) = 18.5 from the machine
    ([86.0, 73.0, np.nan], "ball", 1.58, 18.5),
    # sqrt((4 + 0 + 4)/3) = 1.63 dB; sqrt((12² + 20² + 28²)/3) = 21.0 dB
    ([72.0, 90.0, 108.0], "no ceiling", 1.63, 21.0),
])  # fmt: skip
def test_levels_of_something_else_are_noticed(measured, words, near, far):
    found = mistaken.nearer(LEVELS, MACHINE, measured)
    assert found == (words, pytest.approx(near, abs=0.01), pytest.approx(far, abs=0.1))
    said = mistaken.sentence(found, MACHINE)
    assert f"those of the {words} (2 dB apart, rms) than of the tapping machine below" in said


@pytest.mark.parametrize("measured", [
    [61.0, 69.0, 81.0],  # as named
    [68.0, 76.0, 72.0],  # between both: 7.4 dB from the machine
    [95.0, 95.0, 95.0],  # far from all: 26 dB from the machine, 24 and 17 from the others
    [np.nan] * 3,
])  # fmt: skip
def test_nothing_is_said_where_nothing_else_is_much_nearer(measured):
    assert mistaken.nearer(LEVELS, MACHINE, measured) is None
    assert mistaken.sentence(None, MACHINE) == ""


def test_walls_that_carry_the_level_are_no_other_source():
    """Walls 20 to 30 dB louder than the ceiling bring the machine's levels near to those without a
    ceiling: by hand 2.0 dB from machine and walls, so the machine it may be."""
    measured = [72.0, 90.0, 108.0]  # as above, 1.63 dB from "no ceiling"
    walls = [74.0, 92.0, 106.0]
    assert mistaken.nearer(LEVELS, MACHINE, measured, walls) is None
    # walls that are as far off as the ceiling change nothing
    assert mistaken.nearer(LEVELS, MACHINE, measured, LEVELS[MACHINE]) is not None


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

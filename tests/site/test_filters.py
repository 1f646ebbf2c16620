"""What a meter's filters do to a field comparison; their slopes: `tests/sound/test_detector.py`."""

from __future__ import annotations

import numpy as np
import pytest

from impact.base import bands
from impact.motion.underfoot import Underfoot
from impact.site import filters

LINES = 400  # in each band
PLACES = 11  # bands from 10 Hz up
FIFTY = bands.index(50.0)


def lines(power):
    """`Underfoot` of one place with power(frequency) in the lowest PLACES bands."""
    frequency, band, weight = [], [], []
    for place in range(PLACES):
        low, high = bands.edges(bands.CENTRES[place])
        step = (high - low) / LINES
        frequency.append(low + step * (np.arange(LINES) + 0.5))
        band.append(np.full(LINES, place))
        weight.append(np.full(LINES, 1 / LINES))
    at = np.concatenate(frequency)
    return Underfoot(at, np.concatenate(band), np.concatenate(weight),
                     np.ones((len(at), 1), complex), {"power": power(at)[:, None]})  # fmt: skip


def test_even_noise_is_shown_as_it_is():
    # density falls as 1/f within 1 %: what leaks in is what leaks out; 0.06 dB: bands end at 10 Hz
    assert filters.moved(lines(np.ones_like))[2 : PLACES - 2] == pytest.approx(0, abs=0.06)


def test_a_lone_resonance_at_an_edge_is_in_both_bands():
    """At 1 % below the edge of 50 to 63 Hz, 60 dB over all else. By hand: the filter's |H|^2 =
    1/(1 + x^6), x = (1.11080 - 0.90025)/(0.23077 0.95493) = 0.9554, -2.46 dB; the upper band shows
    nearly as much: 59 dB (its own is wider) less some 4 dB more."""
    edge = bands.edges(bands.CENTRES[FIFTY])[1]

    def power(at):
        out = np.full(at.shape, 1e-6)
        out[np.argmin(np.abs(at - 0.99 * edge))] = LINES
        return out

    found = filters.moved(lines(power))
    assert found[FIFTY] == pytest.approx(-2.46, abs=0.01)
    assert 50 < found[FIFTY + 1] < 60
    assert found[PLACES - 1 :] == pytest.approx(0)  # its neighbour is not known


def test_bands_that_move_are_named():
    by = np.array([0.4, -1.2, 2.04])
    text = filters.sentence((40.0, 50.0, 63.0), by)
    assert "-1.2 dB at 50 Hz, +2.0 dB at 63 Hz" in text
    assert "40 Hz" not in text
    assert filters.sentence((40.0,), by[:1]) == ""

"""Rubber ball against ISO 10140-5 Table F.1 and closed forms."""

import math

import numpy as np
import pytest

from impact.base import bands, decay, levels
from impact.source import ball


def test_thirds_add_up_to_the_standards_octaves():
    """ISO 10140-5:2021 Table F.1: 39, 31, 23, 17, 12.5 dB at 31.5 to 500 Hz."""
    thirds = np.array(ball.third_octave_exposure_levels().level[4:19]).reshape(5, 3)
    assert levels.add(thirds, axis=1) == pytest.approx([39.0, 31.0, 23.0, 17.0, 12.5], abs=1e-6)


def test_thirds_are_smooth():
    """A single blow has no line in any band: levels rise to one peak and fall, bending gently."""
    level = np.array(ball.third_octave_exposure_levels().level)
    peak = int(np.argmax(level))
    assert bands.NOMINAL[peak] in (25, 31.5)
    assert np.all(np.diff(level[: peak + 1]) > 0)
    assert np.all(np.diff(level[peak:]) < 0)
    # steepest stretch of the table is 8 dB an octave, between 31.5 and 63: no third may fall
    # twice as fast
    assert np.all(np.diff(level) > -2 * 8 / 3)


@pytest.mark.parametrize(("octave", "table"), [(31.5, 39.0), (63.0, 31.0)])
def test_half_sine_meets_the_table_where_it_should(octave, table):
    """1500 N, 20 ms (from memory) against Table F.1: within its own tolerance of 1 to 1.5 dB."""
    centre = 1000 * bands.G ** round(math.log(octave / 1000, bands.G))
    assert float(ball.half_sine_exposure_levels(centre, octave=True)) == pytest.approx(
        table, abs=1.0
    )


def test_half_sine_carries_its_closed_form_energy():
    """int F2 dt = P2 tc/2 = 22500 N2 s, 43.52 dB; bands to 5 kHz hold all but the part < 8.9 Hz."""
    low = np.linspace(0, 1000 * 10**-2.05, 2001)
    below = 2 * np.trapezoid(ball.half_sine_spectrum(low) ** 2, low)
    within = np.sum(levels.square(ball.half_sine_exposure_levels(np.array(bands.CENTRES))))
    assert 10 * math.log10(below + within) == pytest.approx(43.52, abs=0.02)


def test_impulse_is_that_of_a_ball_dropped_one_metre():
    """2.5 kg from 1 m with restitution 0.8 (standard, from memory): 2.5 x 4.43 x 1.8 = 19.9 N s."""
    assert float(ball.half_sine_spectrum(0.0)) == pytest.approx(19.9, rel=0.06)  # 0.8 +- 0.1


def test_half_sine_history_and_spectrum_agree():
    times = np.linspace(0, 0.02, 20001)
    for frequency in (0.0, 10.0, 25.0, 75.0, 200.0):
        numeric = abs(
            np.trapezoid(ball.pulse_history(times) * np.exp(-2j * np.pi * frequency * times), times)
        )
        assert float(ball.half_sine_spectrum(frequency)) == pytest.approx(numeric, abs=1e-4)


@pytest.mark.parametrize(("reverberation", "printed"), [(0.5, 6.8), (1.0, 5.8), (2.0, 4.4)])
def test_fast_maximum_of_a_decay(reverberation, printed):
    """ISO 16283-2:2020: 10 lg(g(C)/(0.125 C)), worked to one decimal."""
    assert float(ball.fast_maximum_above_exposure(reverberation)) == pytest.approx(
        printed, abs=0.05
    )


def test_gain_at_one():
    """g(1) = 1/e, approached smoothly from both sides."""
    assert decay.fast_gain(1.0) == pytest.approx(math.exp(-1), abs=1e-9)
    assert decay.fast_gain([0.9998, 1.0002]) == pytest.approx([math.exp(-1)] * 2, rel=2e-4)

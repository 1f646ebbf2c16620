"""Rubber ball against ISO 10140-5 Table F.1, a measured normalisation, and closed forms."""

import math

import numpy as np
import pytest

from impact.base import bands, levels
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
    assert ball.fast_gain(1.0) == pytest.approx(math.exp(-1), abs=1e-9)
    assert ball.fast_gain([0.9998, 1.0002]) == pytest.approx([math.exp(-1)] * 2, rel=2e-4)


def test_normalisation_at_c_equal_one():
    """ISO 16283-2:2020 at V = 50 m3, T = 1.7275 s: 3.2348 dB between room and reference."""
    assert float(ball.to_reference_room(0.0, 50.0, 1.7275)) == pytest.approx(-3.234807, abs=1e-6)


# Gurtner (2019) p. 19: a real ball in a room of 41.4 m3: band, T, L before, L after
MEASURED = [
    (20, 1.3, 60.13, 56.7), (25, 1.3, 71.09, 67.7), (31.5, 1.3, 73.7, 70.3), (40, 1.3, 76.71, 73.3),
    (50, 0.42, 76.51, 76.3), (63, 1.43, 60.79, 57.2), (80, 2.06, 51.62, 47.2),
    (100, 1.663, 48.74, 44.8), (125, 3.7, 43.61, 38.1), (160, 3.22, 42.27, 37.0),
    (200, 3.09, 40.54, 35.3), (250, 3.1, 35.9, 30.7), (315, 2.87, 29.6, 24.5),
    (400, 2.53, 27.0, 22.2), (500, 2.38, 21.5, 16.8), (630, 2.37, 19.8, 15.1),
    (800, 2.03, 17.6, 13.2), (1000, 1.92, 15.96, 11.7), (1250, 1.65, 13.52, 9.6),
    (1600, 1.38, 12.15, 8.6), (2000, 1.27, 11.22, 7.9), (2500, 1.11, 12.02, 9.0),
    (3150, 0.97, 15.43, 12.8), (4000, 0.86, 15.15, 12.8), (5000, 0.74, 11.74, 9.8),
]  # fmt: skip


def test_normalisation_reproduces_a_measured_report():
    """All 25 bands within the rounding of the printed results, 0.05, and of T: 0.1 dB."""
    _, reverberation, before, after = np.array(MEASURED).T
    assert ball.to_reference_room(before, 41.4, reverberation) == pytest.approx(after, abs=0.1)
    assert ball.from_reference_room(after, 41.4, reverberation) == pytest.approx(before, abs=0.1)

"""The time course of an event on a meter, against closed forms, a standard and other filters."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest
from scipy import signal

from impact.base import bands
from impact.heard import course
from impact.sound import detector, room
from impact.source import step

COUNT = len(bands.NOMINAL)


@pytest.mark.parametrize(("reverberation", "printed"), [(0.5, 6.8), (1.0, 5.8), (2.0, 4.4)])
def test_a_short_blow_gives_the_standard_s_fast_maximum(reverberation, printed):
    """ISO 16283-2:2020, 10 lg(g(C)/(0.125 C)) to one decimal, so 0.05 and 0.01 for 2 ms steps."""
    blow = np.zeros((COUNT, 1500))
    blow[:, 0] = 1.0
    found = course.drawn_out(blow, reverberation)
    assert 10 * np.log10(found.max(axis=1)) == pytest.approx(np.full(COUNT, printed), abs=0.06)


def test_below_its_first_mode_a_room_keeps_nothing():
    """The air of a closed box is a spring there (Kuttruff, Room Acoustics, ch. 3) and follows at
    once what pushes it: the fast maximum of a step is that of the force itself, filtered and
    squared, whatever T; 0.1 dB for steps of 2 ms. In the bands above it is T's."""
    design = designs.basement()  # 4.2 m long: first mode 343.2/8.4 = 40.9 Hz
    df = 1 / course.SECONDS
    lines = df * np.arange(400)
    force = step.spectrum(step.Step(), lines)
    at_once = detector.fast_maximum(force, df, bands.CENTRES[:6])
    at_once /= detector.band_exposure(force, df, bands.CENTRES[:6])
    shares = course.onset(step.Step())[0]
    for time in (0.5, 2.0):
        times = room.dies_away(replace(design, room=replace(design.room, reverberation_time=time)))
        assert times == (0.0,) * 6 + (time,) * 22  # 31.5 Hz: the next centre, 39.8 Hz, lies below
        found = course.drawn_out(shares, times).max(axis=1)
        assert 10 * np.log10(found[:6] / at_once) == pytest.approx(np.zeros(6), abs=0.1)
        assert found[6:] == pytest.approx(course.drawn_out(shares, time).max(axis=1)[6:])


def test_slow_maximum_of_a_decay():
    """By hand: energy falling as a e^{-at}, a = 13.8155/T, through a first order of b = 1/s gives
    b a/(a - b) (e^{-bt} - e^{-at}), largest at t = ln(a/b)/(a - b): -0.54 dB at T = 0.5 s."""
    blow = np.zeros((COUNT, 1500))
    blow[:, 0] = 1.0
    rate, slow = 2 * np.log(1000) / 0.5, 1.0
    t = np.log(rate / slow) / (rate - slow)
    by_hand = slow * rate / (rate - slow) * (np.exp(-slow * t) - np.exp(-rate * t))
    found = course.drawn_out(blow, 0.5, "slow")
    assert found.max(axis=1) == pytest.approx(np.full(COUNT, by_hand), rel=0.005)  # 2 ms steps


def test_onset_holds_all_energy_and_a_step_s_length():
    """Shares sum to 1. In the 5 kHz band barefoot energy comes in the first 50 ms, with the strike;
    at 10 Hz the filter alone (2.3 Hz wide) needs longer than 100 ms for half of it."""
    shares, force = course.onset(step.Step())
    assert shares.sum(axis=1) == pytest.approx(np.ones(COUNT), abs=1e-9)
    assert force == pytest.approx(step.third_octave_exposure(step.Step(), bands.CENTRES))
    assert shares[-1, :25].sum() > 0.95
    assert shares[0, :50].sum() < 0.5


@pytest.mark.parametrize("label", [10.0, 25.0, 63.0, 1000.0])
def test_a_blow_rings_in_the_filter_of_its_band(label):
    """A blow through a digital third-octave filter (scipy's Butterworth band-pass of six poles, as
    wide in noise as an ideal band, IEC 61260-1) into a noise that falls by 60 dB in T, and a meter
    set to F (IEC 61672-1): mean squares are filter squared * decay * detector. 0.1 dB for steps of
    2 ms. At 1 kHz the room alone is left: 6.84 dB, ISO 16283-2:2020's g(C)/(0.125 C)."""
    time, rate = 0.5, 8000.0
    centre = bands.CENTRES[bands.index(label)]
    half = centre * (10**0.05 - 10**-0.05) * 3 / np.pi / 2  # sin(pi/6)/(pi/6) = 3/pi
    root = np.hypot(half, centre)
    sections = signal.butter(3, [root - half, root + half], "bandpass", fs=rate, output="sos")
    t = np.arange(int(3 * rate)) / rate
    blow = np.zeros(len(t))
    blow[0] = 1.0
    square = signal.sosfilt(sections, blow) ** 2
    dying = np.exp(-2 * np.log(1000) / time * t)
    energy = signal.fftconvolve(square, dying)[: len(t)]
    fast = signal.fftconvolve(energy, np.exp(-t / 0.125) / 0.125)[: len(t)] / rate
    by_hand = fast.max() / (energy.sum() / rate)
    found = course.of_blow(time)[bands.index(label)]
    assert 10 * np.log10(found / by_hand) == pytest.approx(0.0, abs=0.1)
    if label == 1000.0:
        assert 10 * np.log10(found) == pytest.approx(6.84, abs=0.1)

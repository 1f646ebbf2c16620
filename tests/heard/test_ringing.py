"""Signals in the room against closed forms, and against the energies of `impact.heard.walking`."""

from __future__ import annotations

import math
from types import SimpleNamespace

import designs
import numpy as np
import pytest
from scipy import signal

from impact.base import bands
from impact.heard import course, ringing, walking
from impact.motion import stack as stacks
from impact.motion import striking
from impact.sound import detector, room
from impact.source import body, people, step

GRID = ringing.frequency_grid()
TIMES = np.arange(round(ringing.RATE * ringing.WINDOW)) / ringing.RATE - ringing.LEAD
MASS, FREQUENCY, LOSS = 200.0, 20.0, 0.06


def mode(damping: np.ndarray | complex) -> np.ndarray:
    """Receptance of one mode [m/N] with this imaginary part of the stiffness term."""
    omega, own = 2 * math.pi * GRID, 2 * math.pi * FREQUENCY
    return 1 / (MASS * (own**2 + damping - omega**2))


def decay() -> np.ndarray:
    """exp(-zeta w0 t) sin(wd t)/(m wd) of the same mode after a unit impulse, zeta = eta/2."""
    own, zeta = 2 * math.pi * FREQUENCY, LOSS / 2
    damped = own * math.sqrt(1 - zeta**2)
    late = np.maximum(TIMES, 0)
    return np.where(
        TIMES >= 0, np.exp(-zeta * own * late) * np.sin(damped * late) / (MASS * damped), 0.0
    )


def before_touchdown_db(events: np.ndarray) -> float:
    """Energy before touch-down against the whole [dB] of events (…, time); 2 ms of safety keep the
    onset itself out."""
    early = events[..., : round((ringing.LEAD - 2e-3) * ringing.RATE)]
    return float(10 * np.log10(np.sum(early**2) / np.sum(events**2)))


def test_an_impulse_on_one_mode():
    """Viscous damping, closed form of any textbook; 0.3 % for the grid's end and what is left of
    the decay after 4 s, exp(-15)."""
    own = 2 * math.pi * FREQUENCY
    got = ringing.to_time(mode(1j * LOSS * own * 2 * math.pi * GRID))
    assert np.abs(got - decay()).max() < 0.003 * decay().max()


def test_hysteretic_damping_sounds_a_little_too_early():
    """The same mode with constant loss factor: as the viscous one within a few parts of
    eta/2 = 3 % (4 %), and its energy before the blow below -25 dB."""
    own = 2 * math.pi * FREQUENCY
    spectrum = mode(1j * LOSS * own**2)
    spectrum[0] = spectrum[0].real
    got = ringing.to_time(spectrum)
    assert np.abs(got - decay())[TIMES > 0.01].max() < 0.04 * decay().max()
    assert before_touchdown_db(got[None]) < -25


def plain(reverberation: float):
    """What `noise` asks of a joined answer: a room's T, and a floor that rings shortly."""
    from dataclasses import replace

    design = designs.basement()
    design = replace(design, room=replace(design.room, reverberation_time=reverberation))
    leaf = SimpleNamespace(loss_factor=5.0)
    bare = SimpleNamespace(leaves=(leaf,), walked=0)
    return SimpleNamespace(assembly=SimpleNamespace(design=design, bare=bare))


@pytest.mark.parametrize(("reverberation", "printed"), [(0.5, 6.8), (1.0, 5.8), (2.0, 4.4)])
def test_fast_maximum_of_the_chain(reverberation, printed):
    """Room noise through band filter and detector: ISO 16283-2's 10 lg(g(C)/(0.125 C)). A decaying
    noise scatters by about 4.34/sqrt(B T/2.2) = 0.4 dB at 1 kHz and T = 0.5 s; 16 of them in the
    mean 0.1, so 0.3 dB."""
    noise = ringing.noise(plain(reverberation), 16, 4)
    where = 1 / ringing.WINDOW
    fast = detector.fast_maximum(noise, where, [1000.0, 2000.0 * 10**-0.001029995])
    passed = detector.band_exposure(noise, where, [1000.0, 2000.0 * 10**-0.001029995])
    level = 10 * np.log10(fast.mean(axis=0) / passed.mean(axis=0))
    assert level == pytest.approx([printed, printed], abs=0.3)


def test_noise_has_unit_energy_everywhere_and_the_room_s_decay():
    """Mean |H|² of 16 draws in each band from 125 Hz: 1 within 1 dB where n = 16 B x 4 s / 3 is
    some hundred or more; backward integrated decay (ISO 3382) -5 to -25 dB gives T = 1 s in 5 %."""
    noise = ringing.noise(plain(1.0), 16, 4)
    square = np.mean(np.abs(noise) ** 2, axis=0)
    for centre in bands.CENTRES[bands.index(160.0) : bands.index(4000.0) + 1]:
        low, high = bands.edges(centre)
        assert abs(10 * np.log10(square[(low <= GRID) & (high > GRID)].mean())) < 1.0, centre
    samples = ringing.to_time(noise)[:, round(ringing.LEAD * ringing.RATE) :]
    square = np.mean(detector.band_signal(samples, ringing.RATE, 1000.0) ** 2, axis=0)
    left = 10 * np.log10(np.cumsum(square[::-1])[::-1] / square.sum())
    first, last = (int(np.argmax(left < level)) for level in (-5, -25))
    assert 3 * (last - first) / ringing.RATE == pytest.approx(1.0, rel=0.05)


@pytest.fixture(scope="module")
def example(predicted):
    """An example with a few places of the foot: joined answer, feet, modal replies, noise."""
    joined = predicted("03_metric_particleboard.toml").joined
    feet = np.array([[0.8 + 0.2 * i, 0.9 + 0.27 * i] for i in range(12)])
    low = ringing.modal(joined, feet, "pillow", people.impedance(step.Step()))
    return joined, feet, low, ringing.noise(joined, 12, 1)


def test_modal_replies_are_the_stack_s_own_answer(example):
    """On-grid values against the stack solved at just those frequencies, with its causal
    high-pass: 6 % of the largest, 0.5 dB, for interpolation between lines half a width apart. The
    walker of 76 kg presses with 1/(1 + Z Y) of the force on a rigid floor."""
    joined, feet, low, _ = example
    whole = joined.assembly.whole
    ears = room.ears(joined.assembly.design, whole.leaves[-1], True, 252.0)
    at = room.listener(ears.box, "pillow")
    b, a = signal.butter(*ringing.HIGH_PASS, "highpass", analog=True)
    for frequency in (12.25, 26.5, 41.75, 78.0):
        reduced = stacks.reduce(whole, frequency * 0.9, frequency * 1.1)
        line = stacks.line(reduced, 2 * math.pi * frequency, striking.at_points(reduced, feet))
        answer = stacks.answer(reduced, line)
        motion = answer.of(whole.radiating)
        exact = ears.pressure(line.omega, motion, reduced.keep[whole.radiating], at)[0]
        mobility = answer.mobility + 1j * line.omega * striking.compliance_at(
            reduced, feet, line.omega
        )
        exact = exact / (1 + body.walker_impedance(frequency, 76.0) * mobility)
        passed = signal.freqs(b, a, [frequency])[1][0]
        got = low["design"][:, round(frequency * ringing.WINDOW)]
        assert np.abs(got - exact * passed).max() < 0.06 * np.abs(exact).max(), frequency


def test_time_and_bands_hold_the_same_energy(example):
    """Parseval: the event filtered in time and squared, against its spectrum's bands, 0.1 dB. Both
    use third-octave filters; 31.5 Hz to 1 kHz of the bare floor."""
    joined, _, low, high = example
    square = walking.in_room(joined, "bare")
    replies = ringing.replies(low["bare"][:2], high[:2], square)
    events = replies.events(step.Step())
    spectrum = replies.spectrum * step.spectrum(step.Step(), GRID)
    for label in (31.5, 125.0, 500.0, 1000.0):
        centre = bands.CENTRES[bands.index(label)]
        rate, samples = ringing.RATE, events
        while rate / 2 >= 24 * centre:  # a filter needs few samples a period
            samples, rate = signal.decimate(samples, 2, ftype="fir", axis=-1), rate // 2
        passed = detector.band_signal(samples, rate, centre)
        in_time = np.sum(passed**2, axis=-1) / rate
        in_bands = detector.band_exposure(spectrum, 1 / ringing.WINDOW, [centre])[:, 0]
        assert 10 * np.log10(in_time / in_bands) == pytest.approx([0.0, 0.0], abs=0.1), label


def test_energies_foresee_the_fast_maxima_of_the_signals(example):
    """`walking` leaves phases and the floor's ringing out: single bands from 10 to 160 Hz lie
    within 2.6 dB of the mean of twelve signals, their mean within 0.6 dB."""
    joined, _, low, high = example
    shares = course.onset(step.Step())[0]
    times = room.dies_away(joined.assembly.design)
    foreseen = 10 * np.log10(course.drawn_out(shares, times).max(axis=1))[:13]
    for variant in ("design", "bare"):
        square = walking.in_room(joined, variant)
        spectrum = ringing.replies(low[variant], high, square).spectrum
        spectrum = spectrum * step.spectrum(step.Step(), GRID)
        centres = bands.CENTRES[:13]
        fast = detector.fast_maximum(spectrum, 1 / ringing.WINDOW, centres).mean(axis=0)
        passed = detector.band_exposure(spectrum, 1 / ringing.WINDOW, centres).mean(axis=0)
        apart = foreseen - 10 * np.log10(fast / passed)
        assert np.abs(apart).max() < 2.6, variant
        assert abs(apart.mean()) < 0.6, variant


def test_events_begin_in_silence(example):
    """Before touch-down below -40 dB, and no jump anywhere: above 7 kHz less than 1e-9 of it."""
    joined, _, low, high = example
    square = walking.in_room(joined)
    events = ringing.replies(low["design"], high, square).events(step.Step())
    assert before_touchdown_db(events) < -40
    power = np.abs(np.fft.rfft(events, axis=-1)) ** 2
    assert power[:, GRID > 7000].sum() < 1e-9 * power.sum()

"""Footsteps to listen to: bare floor, the design, and perfect hangers, with the same steps.

Each file plays one walk to and fro over the floor. Its time course is that of
`impact.heard.ringing`; its band levels are those of the prediction: a gain per band brings the
energy mean, over all steps of the file, of the F maxima to what `impact.heard.walking` predicts for
one step at the chosen place. What that gain takes out is that the path is not the whole floor and
that steps overlap.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from impact.base import bands, levels
from impact.design.background import nc_thirds
from impact.design.parts import Design
from impact.heard import ringing, walking
from impact.heard.joined import Joined
from impact.heard.ringing import CENTRES, RATE
from impact.motion.assemble import permitted
from impact.rating.weighting import a_weighting
from impact.sound import detector
from impact.source import people, step, walk

FILES = {"bare": "bare", "design": "design", "best": "perfect"}  # variant -> name of its file
FEET = 12  # places on the path where a foot may land
START, TAIL = 0.3, 2.0  # s before the first step, and for the last one to die away
EVERY = 2.0  # s between single events
END = 0.7  # s, the file's own fade
MOST = 15.0  # dB that a band's gain may reach
SECONDS = (4.0, 600.0)
HEADROOM = 1.25  # full scale over the largest sample
CHECKED_ABOVE = -10.0  # dB: quieter bands lie far below hearing and are left as they come
TONES = ((1000.0, 70.0), (31.5, 80.0))  # Hz, dB, of the reference file
TONE_SECONDS = 5.0
COURSE_STEP = 0.025  # s, of the picture of levels against time


@dataclass(frozen=True, eq=False)
class Recording:
    """One sound file. samples : Pa; levels : (28,) [dB] energy mean over the steps of the F maxima,
    without background; predicted : (28,) [dB]; a_fast : dB, median over steps of the A-weighted F
    maximum; gain_db : (28,) what was needed to bring the bands to the prediction.
    """

    name: str
    samples: np.ndarray
    levels: np.ndarray
    predicted: np.ndarray
    a_fast: float
    gain_db: np.ndarray


@dataclass(frozen=True, eq=False)
class Listening:
    """All recordings of one walk; full_scale : Pa of the largest number in the files."""

    design: Design
    who: str
    place: str
    seed: int
    background: str
    touchdowns: np.ndarray
    recordings: Mapping[str, Recording]
    full_scale: float
    background_levels: np.ndarray | None


def path(joined: Joined) -> np.ndarray:
    """The walk's line over the floor (2, 2) [m]: across the permitted area, off its symmetries."""
    (x0, x1), (y0, y1) = permitted(joined.assembly.design)
    ends = np.array([[0.12, 0.27], [0.88, 0.81]])
    return np.array([x0, y0]) + ends * np.array([x1 - x0, y1 - y0])


def render(
    joined: Joined, who: str = "barefoot", seconds: float = 20.0, seed: int = 1,
    place: str = "average", background: str = "none", variants: Collection[str] = tuple(FILES),
) -> Listening:  # fmt: skip
    """Sound of `seconds` of walking above, for those of the three `variants` of `joined`.

    who : key of `people.WHO` or of `people.EVENTS`; place : of `room.PLACES`; background : see
    `background_of`. The same arguments give the same samples.
    """
    design = joined.assembly.design
    one = people.person(design, who)
    steps = _steps(design, one, seconds - START - TAIL, seed)
    line = path(joined)
    feet = np.linspace(line[0], line[1], FEET)
    landed = walk.positions(steps, line)
    which = np.argmin(np.linalg.norm(landed[:, None] - feet[None], axis=2), axis=1)
    touchdowns = np.round((steps.times + START) * RATE).astype(int)
    low = ringing.modal(joined, feet, place, people.impedance(one), variants)
    high = ringing.noise(joined, FEET, seed)
    count = round(seconds * RATE)

    def play(variant: str, gain: np.ndarray) -> np.ndarray:
        square = walking.in_room(joined, variant, one, place)
        events = ringing.replies(low[variant], high, square, gain).events(one)
        return _lay(events, which, steps.force_scale, touchdowns, count)

    scatter = levels.decibel(np.mean(np.asarray(steps.force_scale) ** 2))
    recordings = {}
    for variant in variants:
        wanted = walking.band_levels(joined, who, variant, place) + scatter
        recordings[variant] = _record(FILES[variant], partial(play, variant), wanted, touchdowns)
    return _finish(design, who, place, seed, background, touchdowns, recordings, count)


def _steps(design: Design, one: people.Source, duration: float, seed: int) -> walk.Walk:
    """When and where: a walk, or a single event again and again."""
    scatter = people.scatter_db(design)
    if isinstance(one, step.Step):
        return walk.walk(one, duration, seed, rate=RATE, scatter_db=scatter)
    return walk.repeated(EVERY, duration, seed, scatter_db=scatter)


def _lay(
    events: np.ndarray, which: np.ndarray, scale: np.ndarray, touchdowns: np.ndarray, count: int
) -> np.ndarray:
    """Every step's event at its time."""
    before = round(ringing.LEAD * RATE)
    whole = np.zeros(count + events.shape[1] + before)
    for at, place, factor in zip(touchdowns, which, scale, strict=True):
        whole[at : at + events.shape[1]] += factor * events[place]
    samples = whole[before : before + count]
    samples[-round(END * RATE) :] *= ringing.ramp(round(END * RATE))[::-1]
    return samples


def step_maxima(samples: np.ndarray, touchdowns: np.ndarray) -> np.ndarray:
    """F maxima of every step per band (steps, 28) [Pa²]; touchdowns : sample of each."""
    duration = len(samples) / RATE
    spectrum = np.fft.rfft(samples) / RATE
    out = np.empty((len(touchdowns), len(CENTRES)))
    for b, centre in enumerate(CENTRES):
        square, rate = detector.band_square(spectrum, 1 / duration, float(centre))
        out[:, b] = _largest(square, rate, touchdowns)
    return out


def _mixing(samples: np.ndarray) -> np.ndarray:
    """How the level of band b follows the gain at centre k, (28, 28), rows sum to 1 (dB per dB).

    The gain runs straight between the centres (`ringing.along`) and filters overlap: the share of
    band b's energy that lies on k's part of the curve.
    """
    power = np.abs(np.fft.rfft(samples)) ** 2
    frequency = np.fft.rfftfreq(len(samples), 1 / RATE)
    out = np.zeros((len(CENTRES), len(CENTRES)))
    for b, centre in enumerate(CENTRES):
        bins = slice(*np.searchsorted(frequency, (centre / 2, centre * 2)))
        passed = power[bins] * np.abs(detector.filter_response(frequency[bins], float(centre))) ** 2
        place = np.interp(np.log(frequency[bins]), np.log(CENTRES), np.arange(len(CENTRES)))
        first = np.minimum(place.astype(int), len(CENTRES) - 2)
        for k, share in ((first, first + 1 - place), (first + 1, place - first)):
            out[b] += np.bincount(k, passed * share, len(CENTRES))
    return out / out.sum(axis=1, keepdims=True)


def _largest(square: np.ndarray, rate: float, touchdowns: np.ndarray) -> np.ndarray:
    course = detector.exponential(square, rate)
    starts = np.minimum((touchdowns / RATE * rate).astype(int), len(course) - 1)
    return np.maximum.reduceat(course, starts)


def a_maxima(samples: np.ndarray, touchdowns: np.ndarray) -> np.ndarray:
    """A-weighted F maxima of every step (steps,) [Pa²]."""
    spectrum = np.fft.rfft(samples)
    frequency = np.fft.rfftfreq(len(samples), 1 / RATE)
    gain = np.zeros(len(frequency))
    gain[1:] = np.sqrt(levels.square(a_weighting(frequency[1:])))
    weighted = np.fft.irfft(spectrum * gain, len(samples))
    return _largest(weighted**2, RATE, touchdowns)


def _record(
    name: str, play: Callable[[np.ndarray], np.ndarray], wanted: np.ndarray, touchdowns: np.ndarray
) -> Recording:
    """Play, measure as a meter would, correct by Newton's method; two or three rounds settle it.

    Where a resonance rings through the filter of a quieter band beside it, no gain gives both their
    levels: what is wrong then goes to the quieter one, by weights as its amplitude beside it.
    """
    from scipy.optimize import lsq_linear  # only signals need it

    gain = np.zeros(len(CENTRES))
    heard = wanted > CHECKED_ABOVE
    beside = np.maximum(np.append(wanted[1:], -np.inf), np.append(-np.inf, wanted[:-1]))
    quieter = np.minimum(np.sqrt(levels.square(wanted - beside)), 1.0)
    for weight in [np.ones(len(gain))] * 6 + [quieter] * 4:
        samples = play(levels.square(gain / 2))
        found = levels.decibel(step_maxima(samples, touchdowns).mean(axis=0), levels.PRESSURE**2)
        wrong = np.where(heard, wanted - found, 0.0)
        if np.abs(wrong).max() < 0.1:
            break
        # a little of the diagonal keeps a band that hears mostly its neighbour from running away
        mixing = weight[:, None] * (_mixing(samples) + 0.03 * np.eye(len(gain)))
        left = (-MOST - 1e-9 - gain[heard], MOST + 1e-9 - gain[heard])
        gain[heard] += lsq_linear(mixing[:, heard], weight * wrong, left).x
    loud = levels.decibel(np.median(a_maxima(samples, touchdowns)), levels.PRESSURE**2)
    return Recording(name, samples, found, wanted, float(loud), gain)


def _finish(
    design: Design, who: str, place: str, seed: int, background: str, touchdowns: np.ndarray,
    recordings: dict[str, Recording], count: int,
) -> Listening:  # fmt: skip
    quiet = background_of(design, background)
    if quiet is not None:
        hum = background_noise(quiet, count, seed)
        recordings = {
            key: replace(one, samples=one.samples + hum) for key, one in recordings.items()
        }
    largest = max(float(np.abs(one.samples).max()) for one in recordings.values())
    tone = math.sqrt(2) * max(math.sqrt(float(levels.square(db, levels.PRESSURE**2)))
                              for _, db in TONES)  # fmt: skip
    return Listening(
        design, who, place, seed, background, touchdowns, recordings,
        one_two_five(HEADROOM * max(largest, tone)), quiet,
    )  # fmt: skip


def one_two_five(value: float) -> float:
    """Smallest of 1, 2, 5, 10, … (any power of ten) that is not below `value`."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= value * (1 - 1e-12))


def background_of(design: Design, background: str) -> np.ndarray | None:
    """Band levels (28,) [dB] of "none" (None), "room" (the design's own) or an NC number.

    Raises ValueError with the remedy.
    """
    if background == "none":
        return None
    if background == "room":
        if not design.room.background:
            raise ValueError("the design has no room.background; add it or name an NC number")
        return np.array(design.room.background, float)
    try:
        return np.array(nc_thirds(float(background.upper().removeprefix("NC"))))
    except ValueError as fault:
        what = "must be 'none', 'room' or an NC number 15 to 70"
        raise ValueError(f"{background!r}; {what}") from fault


def background_noise(band_levels: np.ndarray, count: int, seed: int) -> np.ndarray:
    """Steady noise (count,) [Pa] with exactly these levels in the third octaves; from a seed."""
    generator = np.random.default_rng([seed, 2])
    spectrum = np.fft.rfft(generator.standard_normal(count))
    frequency = np.fft.rfftfreq(count, 1 / RATE)
    gain = np.zeros(len(frequency))
    for centre, level in zip(CENTRES, band_levels, strict=True):
        low, high = bands.edges(float(centre))
        inside = (frequency >= low) & (frequency < high)
        # pink inside the band; 2 sum |X|²/N² is the mean square
        tilt = 1 / np.sqrt(np.maximum(frequency[inside], 1.0))
        power = 2 * np.sum(np.abs(spectrum[inside] * tilt) ** 2) / count**2
        gain[inside] = tilt * np.sqrt(levels.square(level, levels.PRESSURE**2) / power)
    return np.fft.irfft(spectrum * gain, count)


def reference_tone() -> np.ndarray:
    """TONES one after the other [Pa], each TONE_SECONDS long, half a second of quiet between."""
    count, gap = round(TONE_SECONDS * RATE), np.zeros(RATE // 2)
    fade = np.ones(count)
    ramp = np.sin(np.pi / 2 * np.arange(RATE // 5) / (RATE // 5)) ** 2
    fade[: len(ramp)], fade[-len(ramp) :] = ramp, ramp[::-1]
    parts = []
    for frequency, level in TONES:
        peak = math.sqrt(2 * float(levels.square(level, levels.PRESSURE**2)))
        parts += [peak * fade * np.sin(2 * np.pi * frequency * np.arange(count) / RATE), gap]
    return np.concatenate(parts)


def courses(samples: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """F mean square per band against time: edges of the time steps (n + 1,) [s], (28, n) [Pa²]."""
    duration = len(samples) / RATE
    spectrum = np.fft.rfft(samples) / RATE
    edges = np.linspace(0.0, duration, max(2, round(duration / COURSE_STEP)) + 1)
    out = np.empty((len(CENTRES), len(edges) - 1))
    for b, centre in enumerate(CENTRES):
        square, rate = detector.band_square(spectrum, 1 / duration, float(centre))
        course = detector.exponential(square, rate)
        middle = (edges[:-1] + edges[1:]) / 2
        out[b] = np.interp(middle, np.arange(len(course)) / rate, course)
    return edges, out

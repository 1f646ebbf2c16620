"""People above, heard in the real room below: fast maxima, LAFmax, spread, and words for them.

From band energies alone, so that a prediction costs milliseconds. Of one step the force is known,
and so is the time course of its energy in every band, the ringing of the band's own filter
included. The room draws that out:

    e(t) = E (force² through the band * the room's decay),   * : convolution,

each of unit area but the exposure E [Pa² s]; the room's energy decays at 13.8/T. The meter's F
averages e over 0.125 s, and its maximum is the level. For a short blow that is ISO 16283-2's g(C);
the low bands of a step lie below it, since the step lasts. The floor's own ringing and phases are
left out: with them, in the signals of `impact.ringing`, single low bands come out some 2 dB apart
and their mean the same; a lone resonance that rings longer than the room is overrated by as much.

In the low bands the room is a box with its own modes (`impact.sound.room`), above it is diffuse;
over the three bands about the crossover of floor and ceiling one blends into the other.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from scipy import signal

from impact import strikes
from impact.base import air, bands, levels
from impact.design.parts import Design
from impact.errors import DesignError, Fault
from impact.joined import BLEND, Joined
from impact.rating.weighting import a_weighting
from impact.sound import detector, hearing, room
from impact.source import events, gait, step

CENTRES = np.array(bands.CENTRES)
A_GAIN = levels.square(a_weighting(CENTRES))
RATE = 500.0  # 1/s, of energies against time: 2 ms against a detector of 125 ms
SECONDS = 3.0  # s of an event
REGIONS = {"thud": bands.THUD, "knock": bands.KNOCK, "click": bands.CLICK}
# Words for the largest level over threshold and background; limits [dB] are our own judgement.
GRADES = (
    (0.0, "not heard"), (5.0, "heard in silence if listened for"), (10.0, "faintly heard"),
    (20.0, "clearly heard"), (math.inf, "loud"),
)  # fmt: skip
NORMAL_90 = 1.2816  # standard deviations from median to 90 %

WHO: dict[str, step.Step] = {
    "barefoot": step.Step(),
    "socks": step.Step(footwear=step.SOCKS),
    "soft": step.Step(footwear=step.SOFT_SHOE),
    "hard": step.Step(footwear=step.HARD_HEEL),
    "child": events.running_child(),
}
SOURCES = {"walker_barefoot": "barefoot", "walker_hard_heel": "hard", "child_running": "child"}


def walker(design: Design, who: str) -> step.Step:
    """The step of `who` (a key of WHO) with what the design's [footsteps] changes.

    Raises KeyError for another name, DesignError where a pace suits no such walker.
    """
    one = WHO[who]
    given: Any = design.options.get("footsteps", {})
    mass, pace = ("child_mass", "running_pace") if one.running else ("walker_mass", "pace")
    low, high = step.RUNNING_PACE if one.running else step.WALKING_PACE
    if pace in given and not low <= given[pace] <= high:
        what = f"{given[pace]:g} Hz; must be {low:g} to {high:g} Hz, else it is no such gait"
        raise DesignError(design.path, [Fault(f"footsteps.{pace}", what)])
    return replace(one, mass=given.get(mass, one.mass), pace=given.get(pace, one.pace))


@lru_cache(maxsize=32)
def onset(one: step.Step) -> tuple[np.ndarray, np.ndarray]:
    """How the energy of a step's force arrives in each band.

    Returns (28, n) shares per 1/RATE s (sum 1 each) behind the band filters, and the exposures
    (28,) [N² s].
    """
    df = 1 / SECONDS
    spectrum = step.spectrum(one, df * np.arange(math.ceil(2.1 * CENTRES[-1] / df)))
    count = int(SECONDS * RATE)
    shares = np.empty((len(CENTRES), count))
    for b, centre in enumerate(CENTRES):
        square, rate = detector.band_square(spectrum, df, float(centre))
        summed = np.concatenate([[0.0], np.cumsum(square)])
        at = np.interp(np.arange(count + 1) / RATE, np.arange(len(summed)) / rate, summed)
        shares[b] = np.diff(at) / at[-1]
    return shares, step.third_octave_exposure(one, CENTRES)


def drawn_out(shares: np.ndarray, reverberation: float) -> np.ndarray:
    """F-weighted level against time per exposure, (28, n) [1/s].

    shares : (28, n) as of `onset`; reverberation : T [s].
    """
    return _decay(_decay(shares, 2 * room.DECAY / reverberation), 1 / 0.125) * RATE


def _decay(energy: np.ndarray, rate: float) -> np.ndarray:
    kept = math.exp(-min(rate / RATE, 700.0))
    return signal.lfilter([1 - kept], [1, -kept], energy, axis=-1)


@dataclass(frozen=True, eq=False)
class Heard:
    """One step heard below, mean squares [Pa²] and exposures [Pa² s]; leading axes as asked.

    fast : (…, 28) fast maximum per band; exposure : (…, 28); a_fast, a_exposure : (…) A-weighted
    whole, the maximum of the sum and not the sum of maxima.
    """

    fast: np.ndarray
    exposure: np.ndarray
    a_fast: np.ndarray
    a_exposure: np.ndarray


def heard(one: step.Step, square: np.ndarray, reverberation: float) -> Heard:
    """One step through `square` (…, 28), mean-square pressure per mean-square force [Pa²/N²].

    reverberation : T [s].
    """
    shares, force = onset(one)
    course = drawn_out(shares, reverberation)
    exposure = np.asarray(square, float) * force
    weighted = exposure * A_GAIN
    return Heard(
        fast=exposure * course.max(axis=-1),
        exposure=exposure,
        a_fast=np.max(weighted @ course, axis=-1),
        a_exposure=weighted.sum(axis=-1),
    )


def diffuse(joined: Joined, variant: str) -> np.ndarray:
    """4 rho c W/A of the room described as diffuse (28,) [Pa²/N²]."""
    box = joined.assembly.design.room
    area = strikes.absorption(box.volume, box.reverberation_time)
    return 4 * air.IMPEDANCE * joined.power[variant] / area


def in_room(joined: Joined, variant: str = "design") -> dict[str, np.ndarray]:
    """Mean-square pressure per mean-square force in the real room [Pa²/N²].

    Returns place -> (28,): "average" (over the volume), "inside" (usual microphones), "corner"
    (loudest of eight), "middle", "pillow", all for the mean over the floor; and "positions"
    (P, 28), the average for P single places of the foot. Diffuse above the blend, where all places
    are alike.
    """
    modal, far = joined.heard[variant], diffuse(joined, variant)
    return {place: _blend(joined, values, far) for place, values in modal.items()}


def _blend(joined: Joined, modal: np.ndarray, far: np.ndarray) -> np.ndarray:
    middle = joined.crossover
    low, high = levels.decibel(modal), levels.decibel(far)
    out = np.broadcast_to(high, (*modal.shape[:-1], len(high))).copy()
    out[..., : middle - 1] = low[..., : middle - 1]
    three = slice(middle - 1, middle + 2)
    out[..., three] = (1 - BLEND) * low[..., three] + BLEND * high[three]
    return levels.square(out)


def jump_db(joined: Joined, variant: str = "design") -> np.ndarray:
    """Diffuse room minus box room over the three bands about the crossover (3,) [dB].

    Both from the modes' motion of the ceiling, so that it is the room's alone; what the two methods
    for the structure differ by is `Joined.mismatch_db`.
    """
    three = slice(joined.crossover - 1, joined.crossover + 2)
    blended = levels.decibel(diffuse(joined, variant)[three])
    modal = levels.decibel(joined.heard[variant]["average"][three])
    return blended - BLEND * joined.mismatch_db[variant] - modal


def band_levels(joined: Joined, who: str, variant: str = "design", place: str = "average") -> Any:
    """Fast maxima (28,) [dB re 20 µPa] of one step of `who` at a place of the room described."""
    found = _heard(joined, who, in_room(joined, variant)[place])
    return levels.decibel(found.fast, levels.PRESSURE**2)


def _heard(joined: Joined, who: str, square: np.ndarray) -> Heard:
    design = joined.assembly.design
    time = design.room.reverberation_time
    return heard(walker(design, who), square, time)


def statistics(joined: Joined, who: str, variant: str = "design") -> dict[str, Any]:
    """Median and 90 % of the fast maxima over steps and places of the foot.

    Places differ as the low bands make them; at each, steps scatter log-normally by
    `gait.STEP_SCATTER_DB` (or the design's own step_variation). Returns "bands_median",
    "bands_90" (28,) and "LAFmax_median", "LAFmax_90" [dB].
    """
    found = _heard(joined, who, in_room(joined, variant)["positions"])
    given: Any = joined.assembly.design.options.get("footsteps", {})
    scatter = gait.STEP_SCATTER_DB
    if "step_variation" in given:
        scatter = 20 * math.log10(1 + given["step_variation"])
    # 15 steps of equal likelihood at every place
    quantile = (np.arange(15) + 0.5) / 15
    steps = scatter * math.sqrt(2) * _inverse_error(2 * quantile - 1)
    by_band = levels.decibel(found.fast, levels.PRESSURE**2)[None] + steps[:, None, None]
    whole = levels.decibel(found.a_fast, levels.PRESSURE**2)[None] + steps[:, None]
    return {
        "bands_median": np.percentile(by_band, 50, axis=(0, 1)),
        "bands_90": np.percentile(by_band, 90, axis=(0, 1)),
        "LAFmax_median": float(np.percentile(whole, 50)),
        "LAFmax_90": float(np.percentile(whole, 90)),
    }


def _inverse_error(x: np.ndarray) -> np.ndarray:
    from scipy.special import erfinv

    return np.asarray(erfinv(x))


def grade(excess: float) -> str:
    """Words for the largest level over threshold and background [dB]; NaN is not heard."""
    for limit, words in GRADES:
        if not excess > limit:
            return words
    raise AssertionError


def bar(level: np.ndarray, bare: np.ndarray, region: str, background: Any) -> dict[str, Any]:
    """One of the three bars: thud, knock or click.

    level, bare : (28,) [dB] with and without the ceiling. The level over threshold is the largest
    of the region's bands from 20 Hz up.
    """
    part = bands.between(REGIONS[region])
    over = np.nanmax(hearing.over_threshold(level)[part])
    excess = np.nanmax(hearing.audible_excess(level, background)[part])
    change = float(levels.add(level[part]) - levels.add(bare[part]))
    return {
        "level_db": _plain(levels.add(level[part])),
        "over_threshold_db": _plain(over),
        "over_threshold_and_background_db": _plain(excess),
        "grade": grade(float(excess)),
        "change_db": _plain(change),
        "change": hearing.change_words(change),
    }


def _plain(value: Any) -> float:
    return round(float(value), 2)


def people(joined: Joined) -> dict[str, Any]:
    """What people above sound like below, ready for JSON: source -> summary.

    LAFmax in the middle of its spread, at 90 % of steps and places, bare and with perfect hangers;
    LAE of one step; three bars with level over threshold, over background, grade and words for the
    change (4.7 dB is the least that is noticed); the room's jump and ISO 16283-2's low-frequency
    procedure in rooms below 25 m3. Speech is not predicted.
    """
    squares = {variant: in_room(joined, variant) for variant in ("design", "bare", "best")}
    return {name: _summary(joined, who, squares) for name, who in SOURCES.items()}


def _summary(joined: Joined, who: str, squares: Mapping[str, Any]) -> dict[str, Any]:
    design = joined.assembly.design
    found = {variant: _heard(joined, who, s["average"]) for variant, s in squares.items()}
    decibel = {v: levels.decibel(f.fast, levels.PRESSURE**2) for v, f in found.items()}
    spread = statistics(joined, who)
    loud = {v: _level(f.a_fast) for v, f in found.items()}
    bars = {
        region: bar(decibel["design"], decibel["bare"], region, design.room.background or None)
        for region in REGIONS
    }
    worst = max(bars.values(), key=lambda one: one["over_threshold_and_background_db"])
    return {
        "LAFmax_db": loud["design"],
        "LAFmax_median_db": _plain(spread["LAFmax_median"]),
        "LAFmax_90_percent_db": _plain(spread["LAFmax_90"]),
        "LAFmax_bare_db": loud["bare"],
        "LAFmax_best_case_db": loud["best"],
        "LAE_db": _level(found["design"].a_exposure),
        "thud_over_threshold_db": bars["thud"]["over_threshold_db"],
        "grade": worst["grade"],
        "bars": bars,
        "low_frequency_procedure_db": _procedure(joined, who, squares["design"]),
        "room_jump_db": [_plain(v) for v in jump_db(joined)],
    }


def _level(square: Any) -> float:
    return _plain(levels.decibel(square, levels.PRESSURE**2))


def _procedure(joined: Joined, who: str, squares: Mapping[str, Any]) -> dict[str, float] | None:
    """50, 63, 80 Hz as ISO 16283-2 would have them measured; None from 25 m3 up."""
    if joined.assembly.design.room.volume >= room.SMALL:
        return None
    both = room.low_frequency_procedure(squares["corner"], squares["inside"])
    level = levels.decibel(_heard(joined, who, both).fast, levels.PRESSURE**2)
    return {f"{label:g}": _plain(level[bands.index(label)]) for label in (50.0, 63.0, 80.0)}

"""People above, heard in the real room below: fast maxima, LAFmax, and their spread.

From band energies alone, so that a prediction costs milliseconds: exposure of one step's force,
what floor, ceiling and room make of it, and how a meter sees it pass (`impact.heard.course`).

A floor that yields takes something from the walker's force (`impact.motion.underfoot`). In the low
bands the room is a box with its own modes (`impact.sound.room`), above it is diffuse;
over the three bands about the crossover of floor and ceiling one blends into the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtri

from impact.base import air, bands, levels
from impact.design.parts import Design
from impact.heard import course, strikes
from impact.heard.joined import BLEND, Joined, blend
from impact.motion.underfoot import Impedance, Underfoot
from impact.rating.weighting import a_weighting
from impact.sound import hearing, room
from impact.source import people as persons

CENTRES = np.array(bands.CENTRES)
A_GAIN = levels.square(a_weighting(CENTRES))


@dataclass(frozen=True, eq=False)
class Heard:
    """One step heard below, mean squares [Pa²] and exposures [Pa² s]; leading axes as asked.

    fast : (…, 28) fast maximum per band; exposure : (…, 28); a_fast, a_slow, a_exposure : (…)
    A-weighted whole, the maximum of the sum and not the sum of maxima.
    """

    fast: np.ndarray
    exposure: np.ndarray
    a_fast: np.ndarray
    a_slow: np.ndarray
    a_exposure: np.ndarray


def heard(one: persons.Source, square: np.ndarray, reverberation: course.Times) -> Heard:
    """One step through `square` (…, 28), mean-square pressure per mean-square force [Pa²/N²].

    reverberation : T [s], as in `course.drawn_out`.
    """
    fast, slow = course.fast_and_slow(one, reverberation)
    exposure = np.asarray(square, float) * course.onset(one)[1]
    weighted = exposure * A_GAIN
    return Heard(
        fast=exposure * fast.max(axis=-1),
        exposure=exposure,
        a_fast=np.max(weighted @ fast, axis=-1),
        a_slow=np.max(weighted @ slow, axis=-1),
        a_exposure=weighted.sum(axis=-1),
    )


def yielding(joined: Joined, variant: str, one: persons.Source | None) -> np.ndarray:
    """What the walker of `one` loses to a floor that yields, (28,) [-] of the sound power per
    squared force on a rigid floor; ones for None.

    In the modes' bands from single places of the foot (`impact.motion.underfoot`), above from the
    mean mobility, where it is under 1 dB.
    """
    walker = None if one is None else persons.impedance(one)
    if walker is None:
        return np.ones(len(CENTRES))
    out = lost(walker, joined.mobility)
    low = joined.underfoot[variant].ratio("power", walker)
    out[: len(low)] = low
    return out


def diffuse(joined: Joined, variant: str, one: persons.Source | None = None) -> np.ndarray:
    """4 rho c W/A of the room described as diffuse (28,) [Pa²/N²].

    one : whose own impedance counts; None for a force that does not mind the floor.
    """
    power = joined.power[variant] * yielding(joined, variant, one)
    return into_diffuse(joined.assembly.design, power, ceiling=variant != "bare")


def lost(walker: Impedance, mobility: np.ndarray, part: slice = slice(None)) -> np.ndarray:
    """|1/(1 + Z Y)|² of a force through the walker's impedance Z [N s/m] on a floor of `mobility` Y
    [m/(N s)] in the bands of `part`, of its shape [-]."""
    return np.asarray(np.abs(1 / (1 + walker(CENTRES[part]) * mobility)) ** 2)


def into_diffuse(design: Design, power: np.ndarray, ceiling: bool = True) -> np.ndarray:
    """4 rho c W/A of a power W [W/N²] in the room described [Pa²/N²], same shape; ceiling : whether
    the new one takes its depth from the room."""
    area = strikes.absorption(room.volume(design, ceiling), design.room.reverberation_time)
    return np.asarray(4 * air.IMPEDANCE * power / area)


def in_room(
    joined: Joined, variant: str = "design", one: persons.Source | None = None,
    place: str = "average",
) -> np.ndarray:  # fmt: skip
    """Mean-square pressure (28,) per mean-square force on a rigid floor in the real room [Pa²/N²].

    place : "average" (over the volume), "inside" (usual microphones), "corner" (loudest of eight),
    "middle", "pillow", all for the mean over the floor; or "positions" (P, 28), the average for P
    single places of the foot. Diffuse above the blend, where all places are alike. one : as in
    `diffuse`. Raises ValueError for a place that `joined` was not asked to listen at.
    """
    feet, far = joined.underfoot[variant], diffuse(joined, variant, one)
    walker = None if one is None else persons.impedance(one)
    known = joined.heard[variant]
    if place == "positions":
        modal = feet.means("average", walker)
    elif place in known:
        modal = known[place] if walker is None else known[place] * _taken(feet, place, walker)
    else:
        raise ValueError(f"place {place!r}: join(design, places=True) listens there")
    return blend(modal, far, joined.crossover)[0]


def _taken(feet: Underfoot, place: str, walker: Impedance) -> np.ndarray:
    """Share (bands,) that a yielding floor leaves of the mean square at a place of the room."""
    if place != "corner":
        return feet.ratio(place, walker)
    loaded, free = (feet.means("corners", each).sum(axis=-2).max(axis=0) for each in (walker, None))
    return loaded / free


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
    return levels.decibel(one_step(joined, who, variant, place).fast, levels.PRESSURE**2)


def one_step(joined: Joined, who: str, variant: str = "design", place: str = "average") -> Heard:
    """One step of `who` heard at a place of `in_room`, the floor yielding under the walker."""
    design = joined.assembly.design
    one = persons.person(design, who)
    times = room.dies_away(design, variant != "bare")
    return heard(one, in_room(joined, variant, one, place), times)


def statistics(joined: Joined, who: str) -> dict[str, Any]:
    """Median and 90 % of the fast maxima over steps and places of the foot, with the ceiling.

    Places differ as the low bands make them; at each, steps scatter log-normally by
    `people.scatter_db`. Returns "bands_median", "bands_90" (28,) and "LAFmax_median", "LAFmax_90"
    [dB].
    """
    found = one_step(joined, who, "design", "positions")
    scatter = persons.scatter_db(joined.assembly.design)
    # 15 steps of equal likelihood at every place
    quantile = (np.arange(15) + 0.5) / 15
    steps = scatter * ndtri(quantile)
    by_band = levels.decibel(found.fast, levels.PRESSURE**2)[None] + steps[:, None, None]
    whole = levels.decibel(found.a_fast, levels.PRESSURE**2)[None] + steps[:, None]
    return {
        "bands_median": np.percentile(by_band, 50, axis=(0, 1)),
        "bands_90": np.percentile(by_band, 90, axis=(0, 1)),
        "LAFmax_median": float(np.percentile(whole, 50)),
        "LAFmax_90": float(np.percentile(whole, 90)),
    }


def bar(level: np.ndarray, bare: np.ndarray, region: str, background: Any) -> dict[str, Any]:
    """One of the three bars: thud, knock or click.

    level, bare : (28,) [dB] with and without the ceiling. Level over threshold, and loudness level
    [phon, ISO 226, 0 below threshold], are those of the region's foremost band from 20 Hz up; the
    change is that of what is heard of the region, `hearing.heard_level`.
    """
    part = bands.between(bands.REGIONS[region])
    over = np.nanmax(hearing.over_threshold(level)[part])
    excess, before = (
        np.nanmax(hearing.audible_excess(one, background)[part]) for one in (level, bare)
    )
    phon = np.nan_to_num(hearing.loudness_level(level)[part]).max()
    was, now = (hearing.heard_level(one, bands.REGIONS[region]) for one in (bare, level))
    return {
        "level_db": plain(levels.add(level[part])),
        "over_threshold_db": plain(over),
        "over_threshold_and_background_db": plain(excess),
        "bare_over_threshold_and_background_db": plain(before),
        "loudness_level_phon": plain(phon),
        "grade": hearing.grade(float(excess)),
        "change_db": plain(now - was),
        "change": hearing.heard_words(now - was, bool(before > 0), bool(excess > 0)),
    }


def plain(value: Any) -> float:
    """A number ready for JSON, to 0.01."""
    return round(float(value), 2)

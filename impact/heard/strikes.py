"""From sound power per force to the level that each source makes below.

tapping machine : normalized level Ln re A0 = 10 m2, mean square of the continuous blow.
rubber ball : fast maximum in the reference room of ISO 16283-2 (50 m3, T = 0.5 s).
people : fast maximum in the room described, diffuse average, of one step.

All of them are force spectra; the structure does not know which it is. People's are those on a
rigid floor: what a floor that yields takes from them is the caller's
(`impact.heard.walking.yielding`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from impact.base import air, bands, levels
from impact.design.parts import Design
from impact.heard import course
from impact.rating import onsite
from impact.sound import radiation, room
from impact.source import ball, people, surface, tapping

CENTRES = np.array(bands.CENTRES)
TAPPING = "tapping_machine"  # the source that ratings are of; people: `people.BAREFOOT` and others


@dataclass(frozen=True)
class Source:
    """A source in the output.

    name : key in JSON. label : as printed. kind : "normalized level", "fast maximum, reference
    room" or "fast maximum, this room". force : design, mobility (28,) -> (28,) mean-square force
    [N2] or exposure [N2 s] per band. rerun with another mobility for another floor.
    """

    name: str
    label: str
    kind: str
    force: Callable[[Design, np.ndarray], np.ndarray]


def tapping_machine(design: Design, mobility: np.ndarray) -> tuple[float, np.ndarray]:
    """Rebound of the tapping machine's hammers [-] and its mean-square force (28,) [N2].

    mobility : (28,) complex [m/(N s)]. The rebound is the design's, as far as the floor leaves it:
    see `impact.source.tapping.on_floor`. On a covering whose stiffness has a range both are means
    over it, of the force in decibels: any one covering has a gap in its spectrum, from 3 times its
    frequency on, but where it lies is not known. Slopes stay as they are in the middle.
    """
    given = design.tapping.rebound
    found = [
        tapping.on_floor(
            CENTRES, given, surface.under_hammer(one), mobility, surface.covering_loss(one)
        )
        for one in surface.floors_like(design)
    ]
    square = np.exp(np.mean([np.log(force) for _, force in found], axis=0))
    return float(np.mean([rebound for rebound, _ in found])), square


def _ball(design: Design, mobility: np.ndarray) -> np.ndarray:
    return levels.square(ball.third_octave_exposure_levels().level)


def _person(who: str) -> Callable[[Design, np.ndarray], np.ndarray]:
    return lambda design, mobility: people.exposure(people.person(design, who), CENTRES)


SOURCES: dict[str, Source] = {
    s.name: s
    for s in (
        Source(TAPPING, "tapping machine", "normalized level",
               lambda design, mobility: tapping_machine(design, mobility)[1]),
        Source("rubber_ball", "rubber ball", "fast maximum, reference room", _ball),
        Source(people.BAREFOOT, "walker, barefoot", "fast maximum, this room",
               _person("barefoot")),
        Source("walker_hard_heel", "walker, hard heels", "fast maximum, this room",
               _person("hard")),
        Source("child_running", "running child", "fast maximum, this room", _person("child")),
    )
}  # fmt: skip


def absorption(volume: float, reverberation_time: float) -> float:
    """Equivalent absorption area A = 0.16 V/T [m2] (Sabine, as in ISO 16283-2)."""
    return onsite.SABINE * volume / reverberation_time


def band_levels(
    source: Source, power: np.ndarray, design: Design, mobility: np.ndarray, ceiling: bool = True
) -> np.ndarray:
    """Levels (28,) [dB] of `source` for sound power per mean-square force `power` (28,) [W/N²].

    ceiling : whether the room described ends at its new ceiling or is as high as without it.
    For events an exposure E of force gives the exposure 4 rho c W E / A of pressure; its fast
    maximum as `impact.heard.course` draws it out, the ball's as that of a short blow: 10 lg(g(C)/
    (0.125 C)) above the exposure (ISO 16283-2:2020), less what the low bands' filters ring.
    """
    force = source.force(design, mobility)
    if source.kind == "normalized level":
        square = radiation.normalized_pressure_square(power * force)
        return levels.decibel(square, levels.PRESSURE**2)
    if source.kind == "fast maximum, reference room":
        area, fast = absorption(ball.VOLUME, ball.REVERBERATION), course.of_blow(ball.REVERBERATION)
    else:
        area = absorption(room.volume(design, ceiling), design.room.reverberation_time)
        one = people.person(design, people.SOURCES[source.name])
        fast = course.fast_and_slow(one, room.dies_away(design, ceiling))[0].max(axis=-1)
    square = 4 * air.IMPEDANCE * power * force / area
    return levels.decibel(square * fast, levels.PRESSURE**2)

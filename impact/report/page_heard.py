"""What will still be heard: the kinds of steps of a prediction, and two more for the client's list.

Socks and a dropped block are computed here from the same transfer as all other sources; chairs are
not, since no force of a dragged chair has been published.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from impact import strikes, walking
from impact.sound import hearing
from impact.source import blow, events

if TYPE_CHECKING:
    from impact.chain import Prediction
    from impact.design.parts import Design

REGIONS = ("thud", "knock", "click")
TOY, HEIGHT, REBOUND = events.TOYS["wooden block"], 1.0, 0.5  # 0.1 kg from 1 m: our choice
DISCS = ("○", "◔", "◑", "◕", "●", "●●")  # one for each of hearing.GRADES


@dataclass(frozen=True)
class Heard:
    """One source over the three regions. grades : words; excess : dB over threshold and background;
    source : key in the JSON's `people`, or "" where the JSON has none."""

    name: str
    source: str
    grades: dict[str, str]
    excess: dict[str, float]


def rows(prediction: Prediction, people: dict[str, Any]) -> list[Heard]:
    """Everything of the list; `people` is that of the prediction's JSON."""
    made = [
        _person("Bare feet", "walker_barefoot", people),
        _computed("Socks", prediction, _socks(prediction)),
        _person("Hard heels", "walker_hard_heel", people),
        _person("Running child", "child_running", people),
        _computed("Dropped toy", prediction, _toy(prediction)),
    ]
    return [row for row in made if row is not None]


def mark(excess: float) -> str:
    """A disc that fills with loudness, for eyes that do not tell colours apart."""
    words = [word for _, word in hearing.GRADES]
    return DISCS[min(words.index(hearing.grade(excess)), len(DISCS) - 1)]


def _person(name: str, source: str, people: dict[str, Any]) -> Heard | None:
    if source not in people:
        return None
    bars = people[source]["bars"]
    return Heard(
        name, source, {r: bars[r]["grade"] for r in REGIONS},
        {r: bars[r]["over_threshold_and_background_db"] for r in REGIONS},
    )  # fmt: skip


def _computed(name: str, prediction: Prediction, levels: tuple[Any, Any] | None) -> Heard | None:
    if levels is None:
        return None
    background = prediction.design.room.background or None
    bars = {r: walking.bar(levels[0], levels[1], r, background) for r in REGIONS}
    return Heard(
        name, "", {r: bars[r]["grade"] for r in REGIONS},
        {r: bars[r]["over_threshold_and_background_db"] for r in REGIONS},
    )  # fmt: skip


def _socks(prediction: Prediction) -> tuple[Any, Any] | None:
    if not prediction.joined.power:
        return None
    both = (walking.band_levels(prediction.joined, "socks", v) for v in ("design", "bare"))
    return next(both), next(both)


def _toy(prediction: Prediction) -> tuple[Any, Any] | None:
    """Fast maxima (28,) [dB] of the first blow of `TOY`, with and without the ceiling."""
    joined = prediction.joined
    if not joined.power:
        return None
    source = strikes.Source("toy", "dropped toy", "fast maximum, this room", toy_exposure)
    design = prediction.design
    with_it, without = (
        strikes.band_levels(source, joined.power[v], design, joined.mobility)
        for v in ("design", "bare")
    )
    return with_it, without


def toy_exposure(design: Design, mobility: np.ndarray) -> np.ndarray:
    """Force exposure (28,) [N² s] of the dropped toy: 2 I² |H|² B, see `impact.source.blow`.

    mobility : (28,) of the floor at the point [m/(N s)]. On carpet the toy presses the covering
    over the circle of its own radius (judgement).
    """
    floor = design.floor
    if floor.layers:
        top = floor.layers[-1].material
        modulus, poisson = top.youngs_modulus_across, top.poisson
        if top.density < strikes.WOOD_BELOW:
            modulus = min(modulus, strikes.WOOD_THROUGH)
    else:
        slab = floor.slab
        assert slab is not None
        poisson = slab.poisson
        modulus = 12 * slab.bending_stiffness_along * (1 - poisson**2) / slab.thickness**3
    soft = floor.covering
    under = soft.contact_stiffness * np.pi * TOY.radius**2 if soft else np.inf
    struck = events.dropped(TOY, HEIGHT, modulus, poisson, REBOUND, under)
    impedance = 1 / np.maximum(np.real(mobility), 1e-12)

    def square(frequency: Any) -> Any:
        return np.abs(blow.transfer(frequency, TOY.mass, struck.stiffness, impedance[:, None])) ** 2

    centres = walking.CENTRES
    return np.asarray(
        2 * struck.impulse**2 * blow.band_mean(square, centres) * blow.bandwidth(centres)
    )


def loudest(people: dict[str, Any], region: str) -> str:
    """Key of the kind of step that stands out most in a region with the ceiling."""
    return max(people, key=lambda k: people[k]["bars"][region]["over_threshold_and_background_db"])


def excess_of(levels: Any, background: Any, region: str) -> float:
    """Largest level of a region over threshold and background [dB]; levels (28,) [dB]."""
    from impact.base import bands

    part = bands.between(walking.REGIONS[region])
    return float(np.nanmax(hearing.audible_excess(levels, background or None)[part]))

"""What will still be heard: people and events of a prediction, for the client's list.

Socks are computed here as all other steps are, since the JSON does not hold them; a dragged chair
is not, since no force of it has been published.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base import bands
from impact.heard import walking
from impact.sound import hearing
from impact.source import people as persons

if TYPE_CHECKING:
    from impact.chain import Prediction

MORE_THAN_HALF = 10 * np.log10(2)  # dB that the sum lies above the ceiling alone
EXCESS = "over_threshold_and_background_db"  # of a bar: how far it stands out
DISCS = ("○", "◔", "◑", "◕", "●", "●●")  # one for each of hearing.GRADES
# Name in the list -> where its bars stand in the JSON, or whose step it is.
LIST: tuple[tuple[str, tuple[str, str]], ...] = (
    ("Bare feet", ("people", "walker_barefoot")),
    ("Socks", ("computed", "socks")),
    ("Hard heels", ("people", "walker_hard_heel")),
    ("Running child", ("people", "child_running")),
    ("Jumping child", ("events", "child_jumping")),
    ("Dropped toy", ("events", "dropped_toy")),
)


@dataclass(frozen=True)
class Heard:
    """One source. bars : region -> its bar as in the JSON, `walking.bar`."""

    name: str
    bars: dict[str, dict[str, Any]]


def rows(prediction: Prediction, answer: Mapping[str, Any]) -> list[Heard]:
    """Everything of the list that `answer`, the prediction's JSON, holds, and socks."""
    made = []
    for name, (part, key) in LIST:
        if part == "computed":
            bars = _steps(prediction, key)
        else:
            bars = answer.get(part, {}).get(key, {}).get("bars")
        if bars is not None:
            made.append(Heard(name, bars))
    return made


def _steps(prediction: Prediction, who: str) -> dict[str, Any] | None:
    """Bars of one more kind of step; None where the prediction was put together by hand."""
    if not prediction.joined.power:
        return None
    levels = [walking.band_levels(prediction.joined, who, v) for v in ("design", "bare")]
    background = prediction.design.room.background
    return {r: walking.bar(levels[0], levels[1], r, background) for r in bands.REGIONS}


def graded(grade: str) -> str:
    """A word of `hearing.GRADES` after a disc that fills with loudness."""
    return f"{DISCS[[word for _, word in hearing.GRADES].index(grade)]}\N{NO-BREAK SPACE}{grade}"


def loudest(people: Mapping[str, Any], region: str) -> str:
    """Key of the kind of step that stands out most in a region with the ceiling."""
    return max(people, key=lambda who: people[who]["bars"][region][EXCESS])


def walls_carry(prediction: Prediction) -> dict[str, str]:
    """Regions of which the walls carry more than the ceiling -> how loud they are with the walls.

    Asked of the step that stands out most with the walls, in its most audible band: there the sum
    is heard, and is over 3.0 dB above the ceiling alone. Empty where no walls were computed.
    """
    background, found = prediction.design.room.background, {}
    walkers = [key for key in persons.SOURCES if key in prediction.building]
    for region, span in bands.REGIONS.items():
        part = bands.between(span)
        cases = []
        for key in walkers:
            excess = hearing.audible_excess(prediction.building[key], background)[part]
            if np.isfinite(excess).any():
                at = int(np.nanargmax(excess))
                more = (prediction.building[key] - prediction.levels[key])[part][at]
                cases.append((float(excess[at]), float(more)))
        if cases and max(cases)[0] > 0 and max(cases)[1] > MORE_THAN_HALF:
            found[region] = hearing.grade(max(cases)[0])
    return found

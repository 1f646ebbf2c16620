"""Who walks above: the people of the output, with what the design's [footsteps] says of them.

What is published about their steps, and what is not, stands in `source.step` and `source.gait`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from impact.design.parts import Design
from impact.errors import DesignError, Fault
from impact.source import body, events, gait, step

WHO: dict[str, step.Step] = {
    "barefoot": step.Step(),
    "socks": step.Step(footwear=step.SOCKS),
    "soft": step.Step(footwear=step.SOFT_SHOE),
    "hard": step.Step(footwear=step.HARD_HEEL),
    "child": events.running_child(),
}
SOURCES = {"walker_barefoot": "barefoot", "walker_hard_heel": "hard", "child_running": "child"}
# What people ask for and no level is given of, with the reason; shown wherever people are.
LEFT_OUT = {
    "dragged chair": "stick-slip of chair and floor together; no published force was found",
    "speech and music": "airborne; nothing here predicts them",
}


def given(design: Design) -> dict[str, Any]:
    """The design's [footsteps] in SI: walker_mass, child_mass, pace, running_pace, step_variation,
    seed; only the keys that stand in the file."""
    found: Any = design.options.get("footsteps", {})
    return dict(found)


def walker(design: Design, who: str) -> step.Step:
    """The step of `who` (a key of WHO) with what the design's [footsteps] changes.

    Raises KeyError for another name, DesignError where a pace suits no such walker.
    """
    one = WHO[who]
    own = given(design)
    mass, pace = ("child_mass", "running_pace") if one.running else ("walker_mass", "pace")
    low, high = step.RUNNING_PACE if one.running else step.WALKING_PACE
    if pace in own and not low <= own[pace] <= high:
        what = f"{own[pace]:g} Hz; must be {low:g} to {high:g} Hz, else it is no such gait"
        raise DesignError(design.path, [Fault(f"footsteps.{pace}", what)])
    return replace(one, mass=own.get(mass, one.mass), pace=own.get(pace, one.pace))


def scatter_db(design: Design) -> float:
    """Standard deviation of one person's steps [dB]: `gait.STEP_SCATTER_DB`, or the design's own
    step_variation s (relative) as 20 lg(1 + s)."""
    own = given(design)
    if "step_variation" in own:
        return 20 * math.log10(1 + own["step_variation"])
    return gait.STEP_SCATTER_DB


def impedance(one: step.Step) -> Callable[[np.ndarray], np.ndarray]:
    """Impedance of the walker of `one` as a function of frequency: Hz (n,) -> N s/m (n,)."""
    return lambda frequency: body.walker_impedance(frequency, one.mass)

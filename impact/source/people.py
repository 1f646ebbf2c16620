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
from impact.source import blow, body, events, gait, step, surface

WHO: dict[str, step.Step] = {
    "barefoot": step.Step(),
    "socks": step.Step(footwear=step.SOCKS),
    "soft": step.Step(footwear=step.SOFT_SHOE),
    "hard": step.Step(footwear=step.HARD_HEEL),
    "child": events.running_child(),
}
BAREFOOT = "walker_barefoot"  # the walker of warnings, levers and answers in a word
SOURCES = {BAREFOOT: "barefoot", "walker_hard_heel": "hard", "child_running": "child"}
# Single events, likewise; see `person`.
EVENTS = {"child_jumping": "child jumps off 0.3 m", "dropped_toy": "steel toy car from 1 m"}
TOY, TOY_HEIGHT = "steel toy car", 1.0  # m
Source = step.Step | events.Jump | blow.Blow
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

    A shoe's heel meets the design's surface and covering, which soften its click. The strike of the
    foot itself is left as on a hard floor: under the body's weight a carpet is pressed flat, and
    what it still gives is not known; carpet is known to leave the thud (common practice). Raises
    KeyError for another name, DesignError where a pace suits no such walker.
    """
    one = WHO[who]
    own = given(design)
    mass, pace = ("child_mass", "running_pace") if one.running else ("walker_mass", "pace")
    low, high = step.RUNNING_PACE if one.running else step.WALKING_PACE
    if pace in own and not low <= own[pace] <= high:
        what = f"{own[pace]:g} Hz; must be {low:g} to {high:g} Hz, else it is no such gait"
        raise DesignError(design.path, [Fault(f"footsteps.{pace}", what)])
    radius = one.footwear.cap_radius
    soft = surface.stiffness(design.floor, radius) if radius else math.inf
    return replace(
        one, mass=own.get(mass, one.mass), pace=own.get(pace, one.pace), surface_stiffness=soft
    )


def person(design: Design, who: str) -> Source:
    """Who or what strikes the floor of `design`: a key of WHO, or of EVENTS.

    child_jumping : `events.Jump` with the design's child_mass; dropped_toy : first blow of TOY
    from TOY_HEIGHT onto the design's surface and covering.
    """
    if who in WHO:
        return walker(design, who)
    if who == "child_jumping":
        return events.Jump(mass=given(design).get("child_mass", events.Jump.mass))
    toy = events.TOYS[TOY]
    cover = surface.covering(design.floor, toy.radius)
    return events.dropped(toy, TOY_HEIGHT, *surface.modulus(design.floor), covering_stiffness=cover)


def spectrum(one: Source, frequencies: Any) -> Any:
    """Complex transform of the force [N s] on a rigid floor; frequencies in Hz, any shape."""
    if isinstance(one, step.Step):
        return step.spectrum(one, frequencies)
    if isinstance(one, events.Jump):
        return events.jump_spectrum(one, frequencies)
    return blow.spectrum(one, frequencies)


def exposure(one: Source, centres: Any) -> Any:
    """Force exposure in third octaves [N2 s], shape of `centres` [Hz]; see `step`."""
    if isinstance(one, step.Step):
        return step.third_octave_exposure(one, centres)
    lasts = one.contact if isinstance(one, events.Jump) else blow.duration(one)
    found = [
        step.band_exposure(lambda f: spectrum(one, f), lasts, float(centre))
        for centre in np.ravel(centres)
    ]
    return np.array(found).reshape(np.shape(centres))


def scatter_db(design: Design) -> float:
    """Standard deviation of one person's steps [dB]: `gait.STEP_SCATTER_DB`, or the design's own
    step_variation s (relative) as 20 lg(1 + s)."""
    own = given(design)
    if "step_variation" in own:
        return 20 * math.log10(1 + own["step_variation"])
    return gait.STEP_SCATTER_DB


def impedance(one: Source) -> Callable[[np.ndarray], np.ndarray] | None:
    """Impedance of who strikes as a function of frequency: Hz (n,) -> N s/m (n,).

    None for a thing that is dropped: it is off the floor again before the floor answers.
    """
    if isinstance(one, blow.Blow):
        return None
    legs = 2 if isinstance(one, events.Jump) else 1  # both feet land, as its pulse has it
    return lambda frequency: body.walker_impedance(frequency, one.mass, legs)

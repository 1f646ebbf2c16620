"""What a person below makes of people above: three bars, words, and what a meter would show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from impact.base import bands, levels
from impact.heard import strikes, walking
from impact.heard.joined import VARIANTS, Joined
from impact.heard.walking import bar, plain
from impact.rating import onsite
from impact.sound import room
from impact.source.people import EVENTS, SOURCES, walker


def people(joined: Joined) -> dict[str, Any]:
    """What people above sound like below, ready for JSON: source -> summary.

    LAFmax in the middle of its spread, at 90 % of steps and places, bare and with perfect hangers;
    slow maximum and LAE of one step; three bars with level over threshold, over background,
    loudness level, grade and words for the change (4.7 dB is the least that is noticed); what the
    yielding floor takes from the step (largest of the thud's bands, under the design); the room's
    jump and ISO 16283-2's low-frequency procedure in rooms below 25 m3. What is left out:
    `source.people.LEFT_OUT`.
    """
    return {name: _summary(joined, who) for name, who in SOURCES.items()}


def events(joined: Joined) -> dict[str, Any]:
    """Single events, ready for JSON: name -> label, LAFmax, levels in bands, grade and bars.

    A child that jumps, a dropped toy (`source.people.EVENTS`); their forces are partly from memory,
    see `impact.source.events`.
    """
    return {name: _event(joined, name, label) for name, label in EVENTS.items()}


@dataclass(frozen=True)
class _Heard:
    """One source by variant: `steps`, band levels (28,) [dB], LAFmax; the bars and their grade."""

    steps: dict[str, walking.Heard]
    decibel: dict[str, Any]
    loud: dict[str, float]
    bars: dict[str, dict[str, Any]]
    grade: str


def _heard(joined: Joined, who: str) -> _Heard:
    background = joined.assembly.design.room.background
    steps = {variant: walking.one_step(joined, who, variant) for variant in VARIANTS}
    decibel = {v: levels.decibel(one.fast, levels.PRESSURE**2) for v, one in steps.items()}
    bars = {
        region: bar(decibel["design"], decibel["bare"], region, background)
        for region in bands.REGIONS
    }
    worst = max(bars.values(), key=lambda one: one["over_threshold_and_background_db"])
    loud = {v: _level(one.a_fast) for v, one in steps.items()}
    return _Heard(steps, decibel, loud, bars, worst["grade"])


def _event(joined: Joined, name: str, label: str) -> dict[str, Any]:
    heard = _heard(joined, name)
    return {
        "label": label,
        "LAFmax_db": heard.loud["design"],
        "LAFmax_bare_db": heard.loud["bare"],
        "LAFmax_best_case_db": heard.loud["best"],
        "grade": heard.grade,
        "bars": heard.bars,
        "levels_db": [plain(x) for x in heard.decibel["design"]],
        "levels_bare_db": [plain(x) for x in heard.decibel["bare"]],
    }


def _summary(joined: Joined, who: str) -> dict[str, Any]:
    design = joined.assembly.design
    heard = _heard(joined, who)
    spread = walking.statistics(joined, who)
    taken = levels.decibel(walking.yielding(joined, "design", walker(design, who)))
    return {
        "LAFmax_db": heard.loud["design"],
        "LAFmax_median_db": plain(spread["LAFmax_median"]),
        "LAFmax_90_percent_db": plain(spread["LAFmax_90"]),
        "LAFmax_bare_db": heard.loud["bare"],
        "LAFmax_best_case_db": heard.loud["best"],
        "LASmax_db": _level(heard.steps["design"].a_slow),
        "LAE_db": _level(heard.steps["design"].a_exposure),
        "thud_over_threshold_db": heard.bars["thud"]["over_threshold_db"],
        "grade": heard.grade,
        "bars": heard.bars,
        "yielding_floor_db": plain(taken[bands.between(bands.THUD)].min()),
        "low_frequency_procedure_db": _procedure(joined, who),
        "room_jump_db": [plain(v) for v in walking.jump_db(joined)],
    }


def small_room(joined: Joined) -> dict[str, Any] | None:
    """ISO 16283-2's low-frequency procedure as it would be measured; None from 25 m3 up.

    "bands_hz" 50, 63 and 80; for the tapping machine, bare and with the ceiling, the corner level
    (loudest of eight), the usual level away from surfaces, their mean (corner + 2 usual)/3 and the
    standardized L'nT = that - 10 lg(T/0.5 s), dB. All of the room described, with its own modes.
    """
    design = joined.assembly.design
    if room.volume(design) >= onsite.SMALL_ROOM:
        return None
    force = strikes.SOURCES[strikes.TAPPING].force(design, joined.mobility)
    three = slice(bands.index(50.0), bands.index(80.0) + 1)
    to_standard = float(levels.decibel(design.room.reverberation_time, onsite.REFERENCE_TIME))
    told: dict[str, Any] = {"bands_hz": [50.0, 63.0, 80.0]}
    for key, variant in (("bare", "bare"), ("ceiling", "design")):
        corner, usual = (
            walking.in_room(joined, variant, place=place)[three] * force[three]
            for place in ("corner", "inside")
        )
        both = onsite.small_room_square(corner, usual)
        told[key] = {
            "corner_db": [_level(x) for x in corner], "usual_db": [_level(x) for x in usual],
            "procedure_db": [_level(x) for x in both],
            "LnT_db": [plain(_level(x) - to_standard) for x in both],
        }  # fmt: skip
    return told


def _level(square: Any) -> float:
    return plain(levels.decibel(square, levels.PRESSURE**2))


def _procedure(joined: Joined, who: str) -> dict[str, float] | None:
    """50, 63, 80 Hz as ISO 16283-2 would have them measured; None from 25 m3 up."""
    if room.volume(joined.assembly.design) >= onsite.SMALL_ROOM:
        return None
    corner, inside = (walking.one_step(joined, who, "design", place).fast
                      for place in ("corner", "inside"))  # fmt: skip
    level = levels.decibel(onsite.small_room_square(corner, inside), levels.PRESSURE**2)
    return {f"{label:g}": plain(level[bands.index(label)]) for label in (50.0, 63.0, 80.0)}

"""How one level or rating came about: force, structure, room, and which method had the word."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np

from impact.base import bands, levels
from impact.base.units import feet_and_inches, show
from impact.chain import levels_of
from impact.design.axes import shown_place
from impact.design.fixings import said_of
from impact.design.parts import Design
from impact.energy import paths
from impact.heard import course, joined, strikes, walking
from impact.heard.joined import Joined
from impact.motion import stack
from impact.rating import summary
from impact.report.explain_chain import Chain, Share, Step, keys_of, number
from impact.sound import hearing, radiation
from impact.sound import room as rooms
from impact.source import ball, people, step, tapping
from impact.spread import expansion
from impact.spread.inputs import inputs
from impact.spread.result import UNCALIBRATED

# As asked for -> the name of the solved variant, and as printed.
CASES = {
    "ceiling": ("design", "below the new ceiling"),
    "bare": ("bare", "below the same floor without the new ceiling"),
    "perfect": ("best", "below the ceiling on perfect hangers"),
}
FORCES: dict[str, Any] = {
    "tapping_machine": tapping.on_floor, "rubber_ball": ball.third_octave_exposure_levels,
}  # fmt: skip
HOLDS = (
    "Third octaves from 10 Hz to 5 kHz, rectangular rooms and floors, the ceiling's path alone "
    "(no flanking walls), good workmanship. Below 100 Hz expect about 5 dB or more of error "
    "(judgement, no source). The tapping machine is outside its standards below 50 Hz."
)


def source_levels(solved: Joined, source: str, case: str) -> np.ndarray:
    """Levels (28,) [dB] of `source` for a case of CASES, as `impact.predict` gives them."""
    return levels_of(solved, CASES[case][0])[source]


def level(solved: Joined, source: str, band_hz: float, case: str) -> Chain:
    """Chain of the level of `source` in the nominal band `band_hz` [Hz].

    Raises KeyError for an unknown source or case, ValueError for a band that is none.
    """
    b = bands.index(band_hz)
    label, words = strikes.SOURCES[source].label, CASES[case][1]
    steps = [*structure(solved, b, case), *blow(solved, source, b, case)]
    value = float(source_levels(solved, source, case)[b])
    ends, shares, method = spread(solved, source, b) if case == "ceiling" else (None, (), "")
    return Chain(
        f"{source}@{band_hz:g}", f"{label} in the {band_hz:g} Hz band, {words}", value, "dB",
        tuple(steps), HOLDS, ends, shares, method,
    )  # fmt: skip


def spread(
    solved: Joined, source: str, b: int
) -> tuple[tuple[float, float], tuple[Share, ...], str]:
    """90 % band of a level below the ceiling in band b, what makes it, and how it was found.

    Ends [dB] with model error; shares : what each input alone does at its low and high end [dB].
    """
    items = inputs(solved.assembly.design)
    effects = expansion.structure(solved, items)
    found = expansion.spread(solved, levels_of(solved, "design"), items, effects)
    ends = expansion.of_source(solved, items, effects.ends, source)
    shares = [Share(item.label, *(float(x) for x in ends[i, :, b]))
              for i, item in enumerate(items)]  # fmt: skip
    shares = [one for one in shares if max(abs(one.low), abs(one.high)) >= 0.05]
    shares.sort(key=lambda one: -max(abs(one.low), abs(one.high)))
    method = f"90 % band; {found.method}"
    if not found.calibrated_below_50 and bands.NOMINAL[b] < 50:
        method += f"; {UNCALIBRATED}"
    return (float(found.low[source][b]), float(found.high[source][b])), tuple(shares), method


def region(solved: Joined, source: str, name: str, case: str) -> Chain:
    """Chain of thud, knock or click as heard: energies of the bands over the threshold of hearing
    added. KeyError for another name."""
    values = source_levels(solved, source, case)
    part, limit = hearing.heard_part(bands.REGIONS[name]), hearing.threshold()
    labels, over = bands.NOMINAL[part], (values - limit)[part]
    rows = tuple(
        (f"{band:g} Hz", f"{x:.1f} - {least:.1f} dB")
        for band, x, least in zip(labels, values[part], limit[part], strict=True)
    )
    value = hearing.heard_level(values, bands.REGIONS[name])
    label, words = strikes.SOURCES[source].label, CASES[case][1]
    strongest = labels[int(np.argmax(over))]
    inside = [*structure(solved, bands.index(strongest), case),
              *blow(solved, source, bands.index(strongest), case)]  # fmt: skip
    what = f"{name}: sum of {labels[0]:g} to {labels[-1]:g} Hz, level less hearing threshold"
    last = Step(what, f"{value:.1f} dB", hearing.heard_level, rows)
    first = dataclasses.replace(
        inside[0], what=f"at {strongest:g} Hz, most over threshold: {inside[0].what}"
    )
    return Chain(f"{source}@{name}", f"{name} of the {label} as heard, {words}", value,
                 "dB", (first, *inside[1:], last), HOLDS)  # fmt: skip


def structure(solved: Joined, b: int, case: str) -> list[Step]:
    """Steps to the sound power per mean-square force in band b, by the method that counts there."""
    variant = CASES[case][0]
    power, middle = solved.power[variant][b], solved.crossover
    what = "sound power per mean-square force"
    value = f"{levels.decibel(power):.1f} dB re 1 W/N2 ({power:.2e} W/N2)"
    if b < middle - 1:
        return [Step(f"{what}, from modes", value, stack, _modes(solved))]
    rows = _paths(solved, b) if variant == "design" else ()
    if b > middle + 1:
        return [Step(f"{what}, from energies", value, paths, rows)]
    share = float(joined.BLEND[b - middle + 1])
    three = (
        ("share of the energy method", f"{share:.0%}"),
        ("energy method minus modes", f"{solved.mismatch_db[variant][b - middle + 1]:+.1f} dB"),
    )
    return [Step(f"{what}, modes and energies blended", value, joined, three + rows)]


def _modes(solved: Joined) -> tuple[tuple[str, str], ...]:
    parts = solved.assembly
    rows = [(f"modes of the {leaf.name}", str(len(leaf.omega))) for leaf in parts.whole.leaves]
    joints = [(f"motions of the {joint.name}", str(joint.count)) for joint in parts.whole.joints]
    return (*rows, *joints)


def _paths(solved: Joined, b: int) -> tuple[tuple[str, str], ...]:
    total = sum(float(values[b]) for values in solved.paths.values())
    return tuple(
        (f"by the path '{name}'", f"{float(values[b]) / total:.0%}")
        for name, values in solved.paths.items()
    )


def blow(solved: Joined, source: str, b: int, case: str) -> list[Step]:
    """Steps from the source's force to its level in band b."""
    if source in people.SOURCES:
        return _person(solved, people.SOURCES[source], b, case)
    design, variant = solved.assembly.design, CASES[case][0]
    found = strikes.SOURCES[source]
    force = float(found.force(design, solved.mobility)[b])
    exposure = source == "rubber_ball"
    rows = [("driving-point mobility", f"{abs(solved.mobility[b]):.2e} m/(N s)")]
    if source == strikes.TAPPING:
        rows.append(("tapping.rebound", f"{design.tapping.rebound:g}"))
        left = strikes.tapping_machine(design, solved.mobility)[0]
        rows.append(("of it this floor leaves", f"{left:.2g}"))
        if (cover := design.floor.covering) is not None:
            over = "; mean in dB over its range of stiffness" if cover.spread else ""
            rows.append(("floor.covering", cover.name + over))
    value = strikes.band_levels(found, solved.power[variant], design, solved.mobility)[b]
    by = strikes.band_levels if exposure else radiation.normalized_pressure_square
    return [
        Step("force of the source in the band",
             f"{force:.3g} {'N2 s (exposure)' if exposure else 'N2 (mean square)'}",
             FORCES[source], tuple(rows)),
        Step(f"level, {found.kind}", f"{value:.1f} dB", by),
    ]  # fmt: skip


def _person(solved: Joined, who: str, b: int, case: str) -> list[Step]:
    variant, design = CASES[case][0], solved.assembly.design
    one = people.walker(design, who)
    parts = person_parts(solved, who, b, case)
    room, system = design.room, design.units
    volume = rooms.volume(design, ceiling=variant != "bare")
    taken = float(levels.decibel(walking.yielding(solved, variant, one)[b]))
    value = 10 * np.log10(float(np.prod(list(parts.values()))) / levels.PRESSURE**2)
    return [
        Step("force exposure of one step in the band", f"{parts['exposure']:.3g} N2 s",
             step.third_octave_exposure,
             (("mass of the walker", show(one.mass, "mass", system)),
              ("pace", f"{one.pace:g} Hz"))),
        Step("mean-square pressure in the room per mean-square force",
             f"{parts['room']:.3g} Pa2/N2", walking.in_room,
             (("room.reverberation_time", f"{room.reverberation_time:g} s"),
              ("volume of the room", f"{volume:.1f} m3"),
              ("what the yielding floor takes from the step", f"{taken:+.1f} dB"))),
        Step("fast maximum per exposure", f"{parts['fast']:.3g} 1/s", course.drawn_out),
        Step("level, fast maximum, average over the room", f"{value:.1f} dB", walking.heard),
    ]  # fmt: skip


def person_parts(solved: Joined, who: str, b: int, case: str) -> dict[str, float]:
    """Factors whose product is the mean square of one step's fast maximum in band b [Pa2]."""
    variant, design = CASES[case][0], solved.assembly.design
    one = people.walker(design, who)
    times = rooms.dies_away(design, variant != "bare")
    square = walking.in_room(solved, variant, one)[b]
    return {
        "exposure": float(course.onset(one)[1][b]), "room": float(square),
        "fast": float(course.fast_and_slow(one, times)[0][b].max()),
    }  # fmt: skip


def rating(solved: Joined, key: str, case: str) -> Chain:
    """Chain of a single number, such as "Ln_w"; KeyError when there is none of that name."""
    row = next((row for row in summary.ROWS if row.key == key), None)
    if row is None:
        raise KeyError(key)
    source = "rubber_ball" if row.heavy else strikes.TAPPING
    values = source_levels(solved, source, case)
    rated = summary.rate(bands.NOMINAL, values, kind="heavy" if row.heavy else "normalized")
    rows = tuple((f"{band:g} Hz", f"{x:.1f} dB")
                 for band, x in zip(bands.NOMINAL, values, strict=True)
                 if band in row.needs)  # fmt: skip
    found = rated[key]
    value = float("nan") if found is None else float(found)
    levels_step = Step(f"levels of the {strikes.SOURCES[source].label}, {CASES[case][1]}",
                       f"{len(rows)} bands", strikes.band_levels, rows)  # fmt: skip
    rate_step = Step(f"{row.symbol}, {row.clause}", number(value, "", ""), row.function)
    return Chain(key, f"{row.symbol} {CASES[case][1]}", value, "",
                 (levels_step, rate_step), HOLDS)  # fmt: skip


def load(design: Design) -> Chain:
    """Chain of the greatest load on one hanger at rest [N]; NaN without hangers."""
    from impact import gravity
    from impact.gravity import rest, weights

    found = gravity.loads(design, coupled=False)
    system, worst = design.units, found.worst
    value = worst.load if worst else float("nan")
    rows = [("all that hangs", show(found.weight, "force", system)),
            (said_of(design.hangers, "hangers"), str(len(found.hangers)))]  # fmt: skip
    steps = [Step("weights", rows[0][1], weights.weigh, tuple(rows))]
    if worst is not None:
        steps.append(Step(
            said_of(design.hangers, "greatest load on one hanger"),
            show(value, "force", system), rest,
            (("place from the room's south-west corner",
              ", ".join(feet_and_inches(s) if system == "imperial" else show(s, "length", system)
                        for s in shown_place(design, worst.x, worst.y))),
             ("by tributary area it would be", show(worst.tributary, "force", system)),
             ("rated", worst.verdict))))  # fmt: skip
    what = said_of(design.hangers, "greatest load on one hanger at rest")
    return Chain("hanger_load", what, value, "N", tuple(steps),
                 "A calculation, not an approval: a licensed engineer must check hangers, "
                 "fasteners and joists. The perimeter carries nothing.",
                 keys=(*keys_of(design, "ceiling_mass"), "room.bulkheads",
                       "room.fixtures"))  # fmt: skip

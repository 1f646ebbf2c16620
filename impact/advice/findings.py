"""What the numbers mean for the people below: warnings graded by level, and levers with their gain.

A resonance in the footfall range is the rule, not the exception: practical ceilings resonate at 20
to 35 Hz. So the warning is always there and its severity does the work. The grading is our own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from impact.advice.resonance import Resonances
from impact.base import bands
from impact.base.units import show
from impact.design.parts import Design, Fill, Layer
from impact.leaf.build import split_layers
from impact.link.gaps import lowest_gap
from impact.sound import hearing

SEVERITIES = ("low", "moderate", "high", "severe")
FOOTFALL = bands.between(bands.FOOTFALL)
THUD = bands.between(bands.THUD)
# Where a resonance counts as one of the footfall range: to the outer edges of its bands, 8.9 and
# 112 Hz.
LOWEST, HIGHEST = (
    bands.edges(bands.CENTRES[bands.index(band)])[end] for end, band in enumerate(bands.FOOTFALL)
)
LEAST_BUILT = 3.0  # Hz, a floor's fundamental: below, walkers' own pace shakes it; common practice
HEAVES = 0.02  # a coupled mode whose lowest leaf moves less as one is not heard as a resonance
AMPLIFIES = 1.0  # dB: a smaller rise over the bare floor is not called amplification
# Over threshold and background, dB: from not heard to faint, from there to clear or loud, and to
# very loud, as `hearing.GRADES` has the words; and the rise over the bare floor that is one step.
STEPS = (0.0, 10.0, 30.0)
STEP_UP = 3.0
# Louder thud than under the bare floor, dB: no amplification, less than one step, not noticed.
THUD_STEPS = (AMPLIFIES, STEP_UP, hearing.NOTICED)


@dataclass(frozen=True)
class Warning:
    """One finding. band_hz and amplification_db are None where they do not apply."""

    code: str
    severity: str
    message: str
    band_hz: float | None = None
    amplification_db: float | None = None


@dataclass(frozen=True)
class Lever:
    """A change to the design and what it gains: `gain_db` less thud as it is heard (`heard_thud` of
    the walker) and, in its best band, `band_hz`, `band_gain_db`. target_value : the quantity of a
    missed target with it, estimated; None where it is not."""

    kind: str  # a key of `variants`
    change: str
    gain_db: float
    band_hz: float
    band_gain_db: float
    target_value: float | None = None


def heard_thud(level: np.ndarray) -> float:
    """`hearing.heard_level` of the thud: 20 to 80 Hz."""
    return hearing.heard_level(level, bands.THUD)


def severity(excess: float, amplification: float) -> str:
    """Grade of a resonance in the footfall range.

    excess : largest audible excess of the walker in 16-80 Hz [dB]; amplification : largest rise
    over the bare floor in the bands of the footfall range where it is heard [dB]. Not heard: low;
    faint: moderate; clear or loud: high; more than STEPS[2]: severe; one step up where the ceiling
    amplifies by STEP_UP or more.
    """
    grade = int(np.searchsorted(STEPS, excess, side="left"))
    if amplification >= STEP_UP and excess > 0:
        grade += 1
    return SEVERITIES[min(grade, len(SEVERITIES) - 1)]


def thud_severity(rise: float) -> str:
    """Grade of a ceiling under which the thud, as `heard_thud` has it, is louder than under the
    bare floor by `rise` [dB]: one of SEVERITIES for each of THUD_STEPS reached."""
    return SEVERITIES[int(np.searchsorted(THUD_STEPS, rise, side="right"))]


def footfall_warning(
    found: Resonances, walker: np.ndarray, walker_bare: np.ndarray,
    background: tuple[float, ...], levers: list[Lever], held_by: str = "hangers",
    beside: str = "the bare floor",
) -> list[Warning]:  # fmt: skip
    """The warning `resonance_in_footfall_range`, and another where the ceiling amplifies.

    walker, walker_bare : fast maxima (28,) [dB] with and without the new ceiling. held_by : what
    the ceiling hangs on, in a sentence. beside : what stands there without the new ceiling.
    """
    rise = walker - walker_bare
    excess = hearing.audible_excess(walker, background)
    amplified = float(np.max(rise[FOOTFALL], where=excess[FOOTFALL] > 0, initial=0.0))
    told = rise[FOOTFALL].copy()
    if amplified >= AMPLIFIES:  # a larger rise that nobody hears is not what counts
        told[~(excess[FOOTFALL] > 0)] = -np.inf
    worst = FOOTFALL.start + int(np.argmax(told))
    thud = excess[THUD]
    most = THUD.start + int(np.nanargmax(thud))
    heaving = [mode.frequency for mode in found.coupled if mode.heave > HEAVES]
    resonant = [found.floor_fundamental, found.mass_spring_mass, *heaving]
    out: list[Warning] = []
    if any(LOWEST <= frequency <= HIGHEST for frequency in resonant):
        grade = severity(float(thud[most - THUD.start]), amplified)
        out.append(Warning(
            "resonance_in_footfall_range", grade,
            _resonance_text(found, rise, worst, excess, most, levers, held_by, beside),
            bands.NOMINAL[worst], float(rise[worst]),
        ))  # fmt: skip
    louder = heard_thud(walker) - heard_thud(walker_bare)
    if louder >= 0.05:  # what is not printed as 0.0 dB
        words = hearing.change_words(louder)
        if louder >= AMPLIFIES:  # said to be no matter only where it is none
            words = words if louder >= hearing.NOTICED else "it should be quieter"
            words += f"; change depth, mass or {held_by} before building"
        silent = not np.nanmax(excess[hearing.heard_part(bands.THUD)]) > 0
        if silent:
            words = "it stays below hearing threshold and background"
        out.append(Warning(
            "thud_worse_than_bare_floor", SEVERITIES[0] if silent else thud_severity(louder),
            f"The ceiling makes the thud as it is heard (20-80 Hz) {louder:.1f} dB louder than"
            f" {beside}: {words}.",
            bands.NOMINAL[worst], float(rise[worst]),
        ))  # fmt: skip
    return out


def _resonance_text(
    found: Resonances, rise: np.ndarray, worst: int, excess: np.ndarray, most: int,
    levers: list[Lever], held_by: str, beside: str,
) -> str:  # fmt: skip
    known = {"mass-spring-mass": found.mass_spring_mass, "floor": found.floor_fundamental}
    inside = [name for name, one in known.items() if LOWEST <= one <= HIGHEST]
    named = ", ".join(f"{name} {known[name]:.1f} Hz" for name in inside)
    text = "Floor and ceiling resonate in the footfall range (bands 10-100 Hz)"
    text += f": {named}." if named else ", in modes of both together."
    for name, one in known.items():
        if name not in inside and np.isfinite(one):
            text += f" The {name} resonance lies outside it, at {one:.1f} Hz."
            if name == "floor" and one < LEAST_BUILT:
                text += " Floors that are built lie above: check its span and thickness."
    if rise[worst] >= AMPLIFIES:
        text += (
            f" At {bands.NOMINAL[worst]:g} Hz barefoot steps are {rise[worst]:.1f} dB louder than"
            f" under {beside}{'' if excess[worst] > 0 else ', though not heard'}."
        )
    else:
        text += f" No footfall band is louder than under {beside}."
    if excess[most] > 0:
        text += (
            f" A barefoot walker stands {excess[most]:.0f} dB above what can just be heard in the"
            f" room, most at {bands.NOMINAL[most]:g} Hz."
        )
    else:
        text += " A barefoot walker stays below hearing threshold and background."
    useful = [lever for lever in levers if lever.gain_db >= 0.5]
    if found.governing_spring == "air":
        text += " The air in the cavity carries most of the stiffness."
    else:
        text += f" The {held_by} carry most of the stiffness."
    if useful:
        best = useful[0]
        text += f" Largest lever: {best.change}, {best.gain_db:.1f} dB less thud."
    else:
        text += " No single change of the ceiling gains 0.5 dB of thud: look at the floor above."
    return text


def variants(design: Design) -> dict[str, tuple[str, Design]]:
    """Changes worth trying: kind -> (words, changed design)."""
    out: dict[str, tuple[str, Design]] = {}
    layers = design.ceiling.layers
    more = replace(design.ceiling, layers=(*layers, replace(layers[-1], bond="nailed")))
    feet = design.units == "imperial"
    millimetres = f"{round(layers[-1].thickness * 1000, 1):g} mm"
    inches = f"{show(layers[-1].thickness, 'length', 'imperial')}, " if feet else ""
    name = layers[-1].material.name
    known = millimetres in name and not feet
    out["mass"] = (
        f"one more layer of {name}" + ("" if known else f" ({inches}{millimetres})"),
        replace(design, ceiling=more),
    )
    cavity, hangers = design.cavity, design.hangers
    if hangers is None or hangers.kind != "direct":  # boards on the joists have no depth to give
        out["depth"] = (
            f"{'2 in (50 mm)' if feet else '50 mm (2 in)'} more cavity depth",
            replace(design, cavity=replace(cavity, clear_depth=cavity.clear_depth + 0.05)),
        )
    if hangers is not None and hangers.kind == "hanger":
        soft = replace(
            hangers,
            dynamic_stiffness=hangers.dynamic_stiffness / 2,
            static_stiffness=hangers.static_stiffness / 2,
        )
        out["stiffness"] = ("hangers half as stiff", replace(design, hangers=soft))
    gap = lowest_gap(design)
    free = gap.bay + gap.clear  # between the joists, too
    if cavity.fill is None and free >= 0.04:
        wool = Fill("mineral wool", min(0.1, free), 10e3, 30.0)
        thick = f"{wool.thickness * 1000:.0f} mm"
        if feet:
            thick = f"{show(wool.thickness, 'length', 'imperial')} ({thick})"
        out["fill"] = (
            f"{thick} of mineral wool in the cavity",
            replace(design, cavity=replace(cavity, fill=wool)),
        )
    if design.old_ceiling is not None:
        joists = design.floor.joists
        fill = design.cavity.fill or design.old_ceiling.fill
        if joists is not None:
            out["old ceiling"] = (
                "take the old ceiling down",
                replace(design, old_ceiling=None, cavity=replace(cavity, fill=fill)),
            )
    heavier = "4 psf (20 kg/m2)" if feet else "20 kg/m2 (4 psf)"
    out["floor"] = (f"{heavier} more mass on the floor above", _heavier(design, 20.0))
    return out


def _heavier(design: Design, mass: float) -> Design:
    """A limp layer of `mass` [kg/m2] lying on the floor, below what floats."""
    top = design.floor.layers[-1] if design.floor.layers else design.ceiling.layers[-1]
    limp = replace(
        top.material, name="added mass", youngs_modulus=1e6, youngs_modulus_across=1e6,
        shear_modulus=4e5, density=mass / 0.02,
    )  # fmt: skip
    place = len(split_layers(design.floor.layers)[0])
    added = Layer(limp, 0.02, "loose", "along")
    layers = (*design.floor.layers[:place], added, *design.floor.layers[place:])
    return replace(design, floor=replace(design.floor, layers=layers))


def levers(
    changes: Mapping[str, tuple[str, Design]],
    walker: np.ndarray,
    changed: Sequence[np.ndarray],
    reached: Mapping[str, float | None] | None = None,
) -> list[Lever]:
    """Every one of `variants` with what it gains, best first.

    walker : the design's own levels (28,) [dB]; changed : those of the same source for each change
    (28,) [dB], wanted over the thud bands only; reached : kind -> `Lever.target_value`.
    """
    found = []
    for (kind, (words, _)), level in zip(changes.items(), changed, strict=True):
        gain = heard_thud(walker) - heard_thud(level)
        by_band = (walker - level)[THUD]
        best = int(np.argmax(by_band))
        found.append(
            Lever(
                kind,
                words,
                gain,
                bands.NOMINAL[THUD.start + best],
                float(by_band[best]),
                (reached or {}).get(kind),
            )
        )
    return sorted(found, key=lambda lever: -lever.gain_db)

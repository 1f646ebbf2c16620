"""Low bands: what each input does to the sound, and all together, on the modes already solved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from impact.base import bands, levels
from impact.base.parallel import in_parallel
from impact.design.parts import Design
from impact.energy.paths import MODES
from impact.leaf.plate import Leaf, Plate
from impact.link import cavity
from impact.link.gaps import lowest_gap
from impact.motion import lowband, sizes, striking
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, ceiling_plate, floor_plates, permitted
from impact.motion.sizes import Size
from impact.motion.stack import Stack
from impact.motion.striking import Area
from impact.spread import condensed, together
from impact.spread.draws import variance
from impact.spread.inputs import END, Input, changed
from impact.spread.shift import Frame
from impact.spread.together import OUTSIDE, SMALL
from impact.spread.values import VALUES
from impact.spread.variants import Extra, Variants, added_by, variants

# Band to which modes serve at least, and farther where a floor has few (`expansion.structure`);
# above, modes overlap and the energy balance serves.
TOP = bands.index(100.0)
LINES = 4  # frequencies per third octave; differences of levels need fewer than levels
SIZE = Size(1.2, 0.7)  # of the stack: differences of levels need less than levels
# The same where single effects come from the energy balance and only their sum is corrected.
LINES_ABOVE, SIZE_ABOVE = 3, Size(1.0, 0.5)
MANY = 3 * MODES  # modes of the floor in a band from which no single one counts: effects add
POINTS = 150  # hangers from which it costs too much to move all at once: effects add
ANEW = ("link", "boards")  # kinds solved in full where their slope is steep
STEEP = 0.2  # of the logarithm of power, 0.9 dB: smaller slopes are taken as they are
FARTHEST = 3.0  # 13 dB: slopes of what is never solved in full are not followed farther
ALONE = 1.25  # dB, standard deviation below which boards, air and old fixings add to the rest
LARGE = 300  # motions of links beyond which they always add: solving them again costs too much


@dataclass(frozen=True, eq=False)
class _Case:
    """One input at one end: what it changes of the small system."""

    item: Input
    design: Design
    factor: float  # of the part it scales, for kinds that go by the adjoint
    extra: Extra | None  # of its leaf's stiffness and mass


@dataclass(frozen=True, eq=False)
class _State:
    """Floors of the runs, at places `mine`, whose boards, air and old fixings are alike."""

    mine: np.ndarray
    design: Design
    boards: Extra | None


@dataclass(frozen=True, eq=False)
class Changes:
    """Changes of the radiated power [dB].

    ends : (inputs, 2, top + 1) with each input at its low and at its high end, from 10 Hz on; zero
    for inputs of the kinds "blow" and "room", which do not touch the structure. runs : (runs,
    last + 1) of the floors of `together.runs`, NaN where the floor has MANY modes; of no band with
    POINTS hangers and more. whole :
    (last + 1,) whether boards, air and old fixings were moved too in them.
    """

    ends: np.ndarray
    runs: np.ndarray
    whole: np.ndarray


@dataclass(frozen=True, eq=False)
class _Work:
    """What all bands share: cases of single inputs, and the floors of the runs."""

    assembly: Assembly
    area: Area
    items: Sequence[Input]
    cases: Sequence[_Case]
    floors: Variants  # cases of the floor, and of its points and edge
    points: Variants
    runs: Variants
    states: Sequence[_State]
    top: int
    last: int
    loud: np.ndarray


def changes(
    assembly: Assembly, items: Sequence[Input], top: int = TOP, last: int = -1,
    loud: np.ndarray | None = None,
) -> Changes:  # fmt: skip
    """What each input does alone, in bands up to place `top`, and all do together, up to `last`.

    loud : bands (28,) above `top` in which boards, air and old fixings move the level by more than
    ALONE; below it is found here.
    """
    if not any(item.kind not in OUTSIDE for item in items):
        ends = np.zeros((len(items), 2, top + 1))
        runs = np.full((2**together.RUNS, last + 1), np.nan)
        return Changes(ends, runs, np.zeros(last + 1, bool))
    wanted = np.zeros(len(bands.CENTRES), bool) if loud is None else loud
    if len(assembly.placement.points) >= POINTS:
        last = -1
    work = _work(assembly, items, top, last, wanted)
    places = range(max(top, last), -1, -1)
    found = in_parallel(lambda place: _band(work, place), places)[::-1]
    ends = np.stack([one[0] for one in found[: top + 1]], axis=-1)
    runs = np.stack([one[1] for one in found], axis=-1)[:, : last + 1]
    whole = np.array([one[2] for one in found], bool)[: last + 1]
    return Changes(ends.reshape(len(items), 2, top + 1), runs, whole)


def _work(
    assembly: Assembly, items: Sequence[Input], top: int, last: int, loud: np.ndarray
) -> _Work:
    design, leaves = assembly.design, assembly.whole.leaves
    floor = next(leaf for leaf in leaves if leaf.name == "floor")
    above = np.flatnonzero(loud[: last + 1]).max(initial=top)
    frames = frame(floor, max(top, last)), frame(leaves[-1], int(above))
    cases = []
    for item in items:
        for end in (-END, END):
            moved, extra = item.change(design, end), None
            if item.kind == "floor" and item.part != "damping":
                extra = frames[0].difference(_plate(design, moved))
            if item.kind == "boards" and item.part != "damping":
                extra = frames[1].diagonal(ceiling_plate(moved, assembly.placement))
            cases.append(_Case(item, moved, _factor(item, design, moved), extra))
    count = frames[0].shapes.shape[2]
    floors, points = (
        variants(design, [case.design for case in some], [case.extra for case in some], count)
        for some in ([case for case in cases if case.item.kind == kind] for kind in SMALL)
    )
    z = together.runs(items)
    designs = [changed(design, items, row) for row in z]
    pairs = [(cases[2 * i].extra, cases[2 * i + 1].extra) for i in range(len(items))]
    floor_by_run = added_by(items, "floor", pairs, design, z) if last >= 0 else []
    runs = variants(design, designs, floor_by_run, count if last >= 0 else 0)
    boards, kind = added_by(items, "boards", pairs, design, z), together.states(items, z)
    states = []
    for number in range(kind.max() + 1):
        mine = np.flatnonzero(kind == number)
        states.append(_State(mine, designs[mine[0]], boards[mine[0]]))
    area = permitted(design)
    return _Work(assembly, area, items, cases, floors, points, runs, states, top, last, loud)


def _plate(design: Design, moved: Design) -> Plate:
    """The floor of `moved`, its joists carrying what its loose fill weighs more than the design's:
    fill on boards goes with the joists below the boards' own resonance."""
    plate = floor_plates(moved)[-1]
    more = moved.floor.fill_mass - design.floor.fill_mass
    if plate.ribs_x is None or more == 0 or moved.floor.joists is None:
        return plate
    mass = plate.ribs_x.mass + more * moved.floor.joists.spacing
    return replace(plate, ribs_x=replace(plate.ribs_x, mass=mass))


def frame(leaf: Leaf, top: int = TOP) -> Frame:
    """The modes of a leaf that move in some band up to that at place `top`."""
    highest = bands.edges(bands.CENTRES[top])[1]
    return Frame(leaf, sizes.moving(leaf, highest, SIZE))


def _factor(item: Input, design: Design, moved: Design) -> float:
    """By how much the part of an input that only scales is larger than in the design."""
    if item.kind not in ANEW:
        return 1.0
    value = VALUES[item.key]
    base = value(design)
    return float(value(moved) / base) if base else 1.0


def _lines(
    stack: Stack, centre: float, area: Area, lines: int, size: Size = SIZE
) -> Iterator[tuple[float, stacks.Reduced, stacks.Line]]:
    """Weight in the band at exact `centre` [Hz], the stack cut down, and each line of it."""
    reduced = stacks.reduce(stack, *bands.edges(centre), size)
    struck = striking.over_area(reduced, *area)
    for frequency, weight in zip(*lowband.frequencies(centre, lines), strict=True):
        yield float(weight), reduced, stacks.line(reduced, 2 * np.pi * frequency, struck)


def prepared(
    stack: Stack, centre: float, area: Area, lines: int = LINES
) -> list[tuple[float, stacks.Reduced, condensed.Condensed]]:
    """One band at exact `centre` [Hz]: weight, the stack cut down and the small system by line.

    area : where the force may stand, ((x low, high), (y low, high)) [m, floor coordinates].
    """
    return [
        (weight, reduced, condensed.condense(reduced, at))
        for weight, reduced, at in _lines(stack, centre, area, lines)
    ]


def _band(work: _Work, place: int) -> tuple[np.ndarray, np.ndarray, bool]:
    """In one band the changes [dB] of all cases and of all runs, and whether these are whole."""
    if place > work.top:
        return np.zeros(len(work.cases)), *_band_above(work, place)
    stack, centre = work.assembly.whole, bands.CENTRES[place]
    lines = [
        (weight, reduced, at, condensed.condense(reduced, at))
        for weight, reduced, at in _lines(stack, centre, work.area, LINES)
    ]
    power = sum(weight * one.power for weight, _, _, one in lines)
    large = [case for case in work.cases if case.item.kind not in SMALL]
    anew = np.array([[_other(reduced, at, one, case) for case in large]
                     for _, reduced, at, one in lines])  # fmt: skip
    alone = levels.decibel(anew / np.array([[line[3].power] for line in lines]))
    spread = variance(alone.reshape(len(lines), -1, 2)).sum(axis=1)
    loud, wanted = bool(spread.mean() > ALONE**2), _wanted(work, place)
    whole = loud and len(lines[0][1].joint_of) <= LARGE
    floors, points = (np.array([case.item.kind == kind for case in work.cases], bool)
                      for kind in SMALL)  # fmt: skip
    by_case, by_run = np.zeros(len(work.cases)), np.full(len(work.runs), 0.0 if wanted else np.nan)
    for own, (weight, reduced, at, one) in zip(anew, lines, strict=True):
        by_case[~(floors | points)] += weight * own
        small = condensed.heard_at(one, one.audible)
        by_case[floors] += weight * _powers(reduced, small, work.floors)
        by_case[points] += weight * _powers(reduced, small, work.points)
        if wanted:
            by_run += weight * _together(work, reduced, at, one, whole)
    return levels.decibel(by_case / power), levels.decibel(by_run / power), whole


def _band_above(work: _Work, place: int) -> tuple[np.ndarray, bool]:
    """The runs alone, in a band whose single effects come from the energy balance."""
    if not _wanted(work, place):
        return np.full(len(work.runs), np.nan), False
    whole, power, by_run = bool(work.loud[place]), 0.0, np.zeros(len(work.runs))
    stack, centre = work.assembly.whole, bands.CENTRES[place]
    lines = _lines(stack, centre, work.area, LINES_ABOVE, SIZE_ABOVE)
    for weight, reduced, at in lines:
        whole = whole and len(reduced.joint_of) <= LARGE
        one = condensed.condense(reduced, at)
        power += weight * one.power
        by_run += weight * _together(work, reduced, at, one, whole)
    return np.asarray(levels.decibel(by_run / power)), whole


def _wanted(work: _Work, place: int) -> bool:
    """Whether the runs are wanted in a band: the floor has few modes there."""
    floor = next(leaf for leaf in work.assembly.whole.leaves if leaf.name == "floor")
    low, high = (2 * np.pi * edge for edge in bands.edges(bands.CENTRES[place]))
    modes = int(np.sum((floor.omega >= low) & (floor.omega < high)))
    return place <= work.last and modes <= MANY


def _powers(reduced: stacks.Reduced, one: condensed.Small, some: Variants) -> np.ndarray:
    """Power [W/N²] of variants of floor, points and edge (V,)."""
    return condensed.powers(one, some.dynamic(reduced, one), some.compliance(reduced, one))


def _together(
    work: _Work, reduced: stacks.Reduced, at: stacks.Line, one: condensed.Condensed, whole: bool
) -> np.ndarray:
    """Power [W/N²] of all runs; whole : also with their own boards, air and old fixings."""
    if not whole:
        return _powers(reduced, condensed.heard_at(one, one.audible), work.runs)
    out = np.zeros(len(work.runs))
    for state in work.states:
        own = _other_links(work, reduced, at.omega, state.design)
        loss = state.design.ceiling.loss_factor - work.assembly.design.ceiling.loss_factor
        other = condensed.eliminate(reduced, _other_boards(reduced, at, state.boards, loss), own)
        small = condensed.heard_at(other, one.audible)
        out[state.mine] = _powers(reduced, small, work.runs.some(state.mine))
    return out


def _other_links(work: _Work, reduced: stacks.Reduced, omega: float, design: Design) -> np.ndarray:
    """(L,) compliances with the air and the fixings of another design."""
    out = stacks.compliances(reduced, omega)
    for item in work.items:
        if item.kind == "link":
            factor = _factor(item, work.assembly.design, design)
            out = np.where(np.char.startswith(reduced.names, item.part), out / factor, out)
        elif item.kind == "air":
            out = out + _air(reduced, omega, design)
    return out


def _other(
    reduced: stacks.Reduced, at: stacks.Line, one: condensed.Condensed, case: _Case
) -> float:
    """Power [W/N²] with a case that the small system does not hold: from its slope as a power law
    where that is small, else solved in full, since slopes mislead where a resonance passes."""
    nepers = _by_slope(reduced, one, case) / one.power
    if abs(nepers) > STEEP and case.item.kind in ANEW and case.item.part != "damping":
        return _anew(reduced, at, case)
    return float(one.power * np.exp(np.clip(nepers, -FARTHEST, FARTHEST)))


def _anew(reduced: stacks.Reduced, at: stacks.Line, case: _Case) -> float:
    """Power [W/N²] with a link or the boards of a case changed, solved in full."""
    own = stacks.compliances(reduced, at.omega)
    if case.item.kind == "link":
        own = np.where(np.char.startswith(reduced.names, case.item.part), own / case.factor, own)
    else:
        at = _other_boards(reduced, at, case.extra)
    return float(stacks.answer(reduced, at, own).power.sum())


def _other_boards(
    reduced: stacks.Reduced, at: stacks.Line, extra: Extra | None, loss: float = 0.0
) -> stacks.Line:
    """The line with other boards, their loss factor larger by `loss`; their modes keep their
    shapes."""
    place = reduced.stack.radiating
    leaf, old = reduced.stack.leaves[place], at.inverse[place]
    more = 1j * loss * leaf.omega[reduced.keep[place]] ** 2
    if extra is not None:
        stiffness, mass = (part[: len(old)] for part in extra)
        more = more + stiffness * (1 + 1j * (leaf.loss_factor + loss)) - at.omega**2 * mass
    new = 1 / (1 / old + more)
    shapes = reduced.shapes[place]
    inverse = (*at.inverse[:place], new, *at.inverse[place + 1 :])
    return replace(
        at, inverse=inverse, gram=at.gram + (shapes * (new - old)) @ shapes.T,
        radiate=(at.pattern.rows * new) @ shapes.T,
    )  # fmt: skip


def _by_slope(reduced: stacks.Reduced, one: condensed.Condensed, case: _Case) -> float:
    """Change of power [W/N²] of a part that only scales, from its slope: a power law of it."""
    item, stack = case.item, reduced.stack
    steps = np.log(case.factor)
    if item.kind == "boards":
        leaf = stack.leaves[stack.radiating]
        squares = leaf.omega[reduced.keep[stack.radiating]] ** 2
        slope: Any = 1j * squares * leaf.loss_factor * steps
        if case.extra is not None:
            stiffness, mass = (part[: len(squares)] for part in case.extra)
            slope = stiffness * (1 + 1j * leaf.loss_factor) - one.omega**2 * mass
            slope = slope * (steps / (case.factor - 1) if steps else 1.0)
        return float(np.real(np.sum(one.boards * slope)))
    if item.kind == "link":
        own = stacks.compliances(reduced, one.omega)
        mine = np.char.startswith(reduced.names, item.part)
        return float(np.real(np.sum(one.links[mine] * -own[mine]))) * steps
    if item.kind == "air":
        return float(np.real(np.sum(one.links * _air(reduced, one.omega, case.design))))
    return 0.0


def _air(reduced: stacks.Reduced, omega: float, design: Design) -> np.ndarray:
    """(L,) change of the lowest cavity's compliances with the fill of another design."""
    out = np.zeros(len(reduced.joint_of), complex)
    for number, joint in enumerate(reduced.stack.joints):
        if joint.name == "air" and joint.waves is not None:
            rows = reduced.joint_of == number
            which = reduced.motion_of[rows]
            kx, ky = joint.waves
            new = cavity.compliance(lowest_gap(design), omega, kx[which], ky[which])
            out[rows] = new - joint.compliance(omega)[which]
    return out

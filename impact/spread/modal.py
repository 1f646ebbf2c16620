"""Low bands: what each input does to the sound, and all together, on the modes already solved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import bands, levels
from impact.base.parallel import in_parallel
from impact.design.parts import Design
from impact.energy.crowding import MODES
from impact.leaf.plate import Leaf
from impact.motion import lowband, mirror, sizes
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, ceiling_plate, permitted
from impact.motion.sizes import Size
from impact.motion.stack import Stack
from impact.motion.striking import Area
from impact.spread import condensed, elimination, states, together
from impact.spread.condensed import Condensed
from impact.spread.draws import variance
from impact.spread.elimination import Lines, Small
from impact.spread.inputs import END, Input, changed
from impact.spread.shift import Frame
from impact.spread.states import Extra, State
from impact.spread.together import OUTSIDE, SMALL
from impact.spread.variants import Variants, added, at_once, by_end, plate_of, variants

# Band to which modes serve at least, and farther where a floor has few (`expansion.structure`);
# above, modes overlap and the energy balance serves.
TOP = bands.index(100.0)
LINES = 4  # frequencies per third octave; differences of levels need fewer than levels
SIZE = Size(1.2, 0.7)  # of the stack: differences of levels need less than levels
# The same where single effects come from the energy balance and only their sum is corrected. Modes
# just above the band count in the level as predicted, from which the floors' levels count.
LINES_ABOVE, SIZE_ABOVE = 3, Size(1.2, 0.5)
MANY = 3 * MODES  # modes of the floor in a band from which no single one counts: effects add
POINTS = 150  # hangers from which it costs too much to move all at once: effects add
ANEW = ("link", "boards")  # kinds solved in full where their slope is steep
STEEP = 0.2  # of the logarithm of power, 0.9 dB: smaller slopes are taken as they are
FARTHEST = 3.0  # 13 dB: slopes of what is never solved in full are not followed farther
ALONE = 1.25  # dB, standard deviation below which boards, air, edge and fixings add to the rest
AT_ONCE = 2e6  # entries of the systems that are solved together: 32 MB
LARGE = 600  # motions of links beyond which they always add: eliminating them again costs too much


@dataclass(frozen=True, eq=False)
class _Case:
    """One input at one end: what it changes of the small system or of what is eliminated."""

    item: Input
    design: Design
    factor: float  # of the part it scales
    extra: Extra | None  # of its leaf's stiffness and mass
    state: State  # of what is eliminated


@dataclass(frozen=True, eq=False)
class _Moved:
    """Floors of the runs, at places `mine`, whose boards, air, edge and old fixings are alike."""

    mine: np.ndarray
    state: State


@dataclass(frozen=True, eq=False)
class Changes:
    """Changes of the radiated power [dB].

    ends : (inputs, 2, top + 1) with each input at its low and at its high end, from 10 Hz on; zero
    for inputs of the kinds "blow" and "room", which do not touch the structure. runs : (runs,
    last + 1) of the floors of `together.runs`, NaN where the floor has MANY modes, and of those
    beyond `together.floors`; of no band with POINTS hangers and more. whole : (last + 1,)
    whether boards, air, edge and old fixings were moved too in them. power : (last + 1,) [W/N²] of
    the design, in the few frequencies that all changes are told from.
    """

    ends: np.ndarray
    runs: np.ndarray
    whole: np.ndarray
    power: np.ndarray


@dataclass(frozen=True, eq=False)
class _Work:
    """What all bands share: cases of single inputs, and the floors of the runs."""

    assembly: Assembly
    area: Area
    cases: Sequence[_Case]
    floors: Variants  # cases of the floor, and of its points
    points: Variants
    runs: Variants
    moved: Sequence[_Moved]
    top: int
    last: int
    loud: np.ndarray

    def of(self, *kinds: str) -> np.ndarray:
        """(cases,) whether a case is of one of some kinds."""
        return np.array([case.item.kind in kinds for case in self.cases], bool)


def changes(
    assembly: Assembly, items: Sequence[Input], top: int = TOP, last: int = -1,
    loud: np.ndarray | None = None,
) -> Changes:  # fmt: skip
    """What each input does alone, in bands up to place `top`, and all do together, up to `last`.

    loud : bands (28,) above `top` in which boards, air, edge and old fixings move the level by more
    than ALONE; below it is found here.
    """
    if not any(item.kind not in OUTSIDE for item in items):
        ends = np.zeros((len(items), 2, top + 1))
        runs = np.full((together.COUNT, last + 1), np.nan)
        return Changes(ends, runs, np.zeros(last + 1, bool), np.ones(last + 1))
    wanted = np.zeros(len(bands.CENTRES), bool) if loud is None else loud
    if len(assembly.placement.points) >= POINTS:
        last = -1
    work = _work(assembly, items, top, last, wanted)
    places = range(max(top, last), -1, -1)
    found = in_parallel(lambda place: _band(work, place), places)[::-1]
    ends = np.stack([one[0] for one in found[: top + 1]], axis=-1)
    runs = np.stack([one[1] for one in found], axis=-1)[:, : last + 1]
    whole = np.array([one[2] for one in found], bool)[: last + 1]
    power = np.array([one[3] for one in found])[: last + 1]
    return Changes(ends.reshape(len(items), 2, top + 1), runs, whole, power)


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
                extra = frames[0].difference(plate_of(design, moved))
            if item.kind == "boards" and item.part != "damping":
                extra = frames[1].diagonal(ceiling_plate(moved, assembly.placement))
            factor = states.factor(item, design, moved) if item.kind in ANEW else 1.0
            cases.append(_Case(item, moved, factor, extra,
                               states.state(design, moved, (item,), extra)))  # fmt: skip
    count = frames[0].shapes.shape[2]
    floors, points = (
        variants(design, [case.design for case in some], [case.extra for case in some], count)
        for some in ([case for case in cases if case.item.kind == kind] for kind in SMALL)
    )
    z, own = together.runs(items), together.others(items)
    of_floor, of_boards = (
        [case.extra if case.item.kind == kind else None for case in cases]
        for kind in ("floor", "boards")
    )
    runs = at_once(design, items, z, of_floor, count)
    share, kind = by_end(items, "boards", design, z), together.states(items, z)
    others = tuple(item for item, one in zip(items, own, strict=True) if one)
    moved_to = []
    for number in range(kind.max() + 1):
        mine = np.flatnonzero(kind == number)
        there = changed(design, items, np.where(own, z[mine[0]], 0.0))
        boards = added(of_boards, share[mine[0]])
        moved_to.append(_Moved(mine, states.state(design, there, others, boards)))
    area = permitted(design)
    return _Work(assembly, area, cases, floors, points, runs, moved_to, top, last, loud)


def frame(leaf: Leaf, top: int = TOP) -> Frame:
    """The modes of a leaf that move in some band up to that at place `top`."""
    highest = bands.edges(bands.CENTRES[top])[1]
    return Frame(leaf, sizes.moving(leaf, highest, SIZE))


@dataclass(frozen=True, eq=False)
class Chunk:
    """Some lines of one band, solved for the design: their weights (F,) in the band, each group of
    the stack's mirrored parts, and the power (F,) of all."""

    weight: np.ndarray
    groups: tuple[Condensed, ...]
    power: np.ndarray

    def audible(self) -> list[np.ndarray]:
        """Of each group the rows to the ear that count."""
        return [one.audible(self.power) for one in self.groups]


def prepared(
    stack: Stack, centre: float, area: Area, lines: int = LINES, size: Size = SIZE
) -> list[Chunk]:
    """One band at exact `centre` [Hz] in some lines, several at once.

    area : where the force may stand, ((x low, high), (y low, high)) [m, floor coordinates].
    """
    reduced = stacks.reduce(stack, *bands.edges(centre), size)
    groups = mirror.split(reduced, elimination.FREE, area)
    struck = mirror.over_area(groups, area, np.zeros((0, 2))).columns
    frequency, weight = lowband.frequencies(centre, lines)
    out = []
    for some in mirror.at_once(groups, lines):
        omega = 2 * np.pi * frequency[some]
        found = tuple(
            condensed.condense([
                elimination.lines(part.reduced, omega, column)
                for part, column in zip(group, columns, strict=True)
            ]) for group, columns in zip(groups, struck, strict=True)
        )  # fmt: skip
        power = np.sum([one.power for one in found], axis=0)
        out.append(Chunk(weight[some], found, power))
    return out


def powers(stack: Stack, chunk: Chunk, some: Variants) -> np.ndarray:
    """Power (V, F) [W/N²] of variants of floor and points."""
    each = zip(chunk.groups, chunk.audible(), strict=True)
    found = [_powers(stack, one.small.heard_at(rows), some) for one, rows in each]
    return np.asarray(np.sum(found, axis=0))


def _powers(
    stack: Stack, small: Small, some: Variants, state: np.ndarray | None = None
) -> np.ndarray:
    """Power (V, F) [W/N²] of variants in one group; state : as of `condensed.powers`."""
    each = len(small.omega) * small.dynamic.shape[-1] ** 2
    parts = max(1, int(np.ceil(len(some) * each / AT_ONCE)))
    out = np.empty((len(some), len(small.omega)))
    for mine in np.array_split(np.arange(len(some)), parts) if len(some) else ():
        few = some.some(mine)
        there = None if state is None else state[mine]
        out[mine] = condensed.powers(small, few.dynamic(stack, small), few.compliance(small), there)
    return out


def _band(work: _Work, place: int) -> tuple[np.ndarray, np.ndarray, bool, float]:
    """In one band the changes [dB] of all cases and of all runs, whether these are whole, and the
    power [W/N²] of the design."""
    if place > work.top:
        return np.zeros(len(work.cases)), *_band_above(work, place)
    stack = work.assembly.whole
    chunks = prepared(stack, bands.CENTRES[place], work.area)
    power = sum(float(chunk.weight @ chunk.power) for chunk in chunks)
    large = [case for case in work.cases if case.item.kind not in SMALL]
    anew = [_others(chunk, large) for chunk in chunks]
    base = np.concatenate([chunk.power for chunk in chunks])
    alone = levels.decibel(np.hstack(anew) / base)
    spread = variance(alone.T.reshape(len(base), len(large) // 2, 2)).sum(axis=1)
    loud, wanted = bool(spread.mean() > ALONE**2), _wanted(work, place)
    whole = loud and _links(chunks) <= LARGE
    by_case = np.zeros(len(work.cases))
    for own, chunk in zip(anew, chunks, strict=True):
        by_case[~work.of(*SMALL)] += own @ chunk.weight
        for kind, some in zip(SMALL, (work.floors, work.points), strict=True):
            by_case[work.of(kind)] += powers(stack, chunk, some) @ chunk.weight
    by_run = _together(work, chunks, whole) if wanted else np.full(len(work.runs), np.nan)
    return levels.decibel(by_case / power), levels.decibel(by_run / power), whole, power


def _links(chunks: Sequence[Chunk]) -> int:
    """Motions of links, those that several parts share as often."""
    return sum(len(at.reduced.joint_of) for one in chunks[0].groups for at in one.parts)


def _band_above(work: _Work, place: int) -> tuple[np.ndarray, bool, float]:
    """The runs alone, in a band whose single effects come from the energy balance."""
    if not _wanted(work, place):
        return np.full(len(work.runs), np.nan), False, np.nan
    chunks = prepared(
        work.assembly.whole, bands.CENTRES[place], work.area, LINES_ABOVE, SIZE_ABOVE
    )  # fmt: skip
    whole = bool(work.loud[place]) and _links(chunks) <= LARGE
    power = sum(float(chunk.weight @ chunk.power) for chunk in chunks)
    return levels.decibel(_together(work, chunks, whole) / power), whole, power


def _wanted(work: _Work, place: int) -> bool:
    """Whether the runs are wanted in a band: the floor has few modes there."""
    floor = next(leaf for leaf in work.assembly.whole.leaves if leaf.name == "floor")
    low, high = (2 * np.pi * edge for edge in bands.edges(bands.CENTRES[place]))
    modes = int(np.sum((floor.omega >= low) & (floor.omega < high)))
    return place <= work.last and modes <= MANY


def _together(work: _Work, chunks: Sequence[Chunk], whole: bool) -> np.ndarray:
    """Power (runs,) [W/N²] of all runs in a band, NaN where not solved; whole : also with their own
    boards, air, edge and old fixings."""
    solved = np.arange(together.floors([len(one.small.floor) for one in chunks[0].groups]))
    out = np.full(len(work.runs), np.nan)
    solve = _as_they_are if whole else _small
    out[solved] = sum(solve(work, chunk, solved) @ chunk.weight for chunk in chunks)
    return out


def _small(work: _Work, chunk: Chunk, solved: np.ndarray) -> np.ndarray:
    """Power (V, F) [W/N²] of runs with boards, air, edge and old fixings as designed."""
    return powers(work.assembly.whole, chunk, work.runs.some(solved))


def _as_they_are(work: _Work, chunk: Chunk, solved: np.ndarray) -> np.ndarray:
    """Power (V, F) [W/N²] of runs with their own boards, air, edge and old fixings."""
    out = np.zeros((len(work.runs), len(chunk.power)))
    audible = chunk.audible()
    for some in _few_at_once(chunk, len(work.moved)):
        moved = work.moved[some]
        which = [np.intersect1d(one.mine, solved) for one in moved]
        mine = np.concatenate(which)
        state = np.repeat(np.arange(len(moved)), [len(one) for one in which])
        few = work.runs.some(mine)
        for group, rows in zip(chunk.groups, audible, strict=True):
            small = _elsewhere(group, [one.state for one in moved]).heard_at(rows)
            out[mine] += _powers(work.assembly.whole, small, few, state)
    return out[solved]


def _few_at_once(chunk: Chunk, count: int) -> list[slice]:
    """How many of `count` states are eliminated together."""
    size = max(at.receptance.size for one in chunk.groups for at in one.parts)
    several = max(1, int(AT_ONCE // size))
    return [slice(start, start + several) for start in range(0, count, several)]


def _elsewhere(group: Condensed, those: Sequence[State]) -> Small:
    """The small system of a group with what is eliminated in other states."""
    parts = []
    for at in group.parts:
        own = np.stack([one.compliance(at) for one in those])
        boards = None
        if not at.radiates:
            stiffer = np.stack([one.stiffened(at) for one in those])
            boards = at.boards / (1 + at.boards * stiffer)
        parts.append(elimination.eliminate(at, own, boards))
    return elimination.joined(parts)


def _others(chunk: Chunk, cases: Sequence[_Case]) -> np.ndarray:
    """Power (cases, F) [W/N²] with cases that the small system does not hold: from their slopes as
    power laws where these are small, else eliminated in full, since slopes mislead where a
    resonance passes."""
    nepers = np.zeros((len(cases), len(chunk.power)))
    for case, own in zip(cases, nepers, strict=True):
        own += _by_slope(chunk, case) / chunk.power
    out = chunk.power * np.exp(np.clip(nepers, -FARTHEST, FARTHEST))
    steep = np.array([
        i for i, case in enumerate(cases)
        if case.item.kind in ANEW and case.item.part != "damping" and (abs(nepers[i]) > STEEP).any()
    ], int)  # fmt: skip
    for some in _few_at_once(chunk, len(steep)):
        mine = steep[some]
        found = [_elsewhere(group, [cases[i].state for i in mine]) for group in chunk.groups]
        anew = np.zeros((len(mine), len(chunk.power)))
        for small, rows in zip(found, chunk.audible(), strict=True):
            anew += _as_designed(small.heard_at(rows))
        out[mine] = anew
    return out


def _as_designed(small: Small) -> np.ndarray:
    """Power (S, F) [W/N²] of floor and hangers as designed, in all states."""
    count, modes = len(small.fixed), small.dynamic.shape[-1]
    dynamic = np.zeros((count, len(small.omega), modes, modes), complex)
    place = np.arange(modes)
    dynamic[..., place, place] = small.dynamic
    own = np.broadcast_to(small.compliance, (count, *small.compliance.shape))
    return condensed.powers(small, dynamic, own, np.arange(count))


def _by_slope(chunk: Chunk, case: _Case) -> np.ndarray:
    """Change of power (F,) [W/N²] of a part that only scales, from its slope: a power law of it."""
    out = np.zeros(len(chunk.power))
    kind = case.item.kind
    for one in chunk.groups:
        for at, boards, links in zip(one.parts, one.boards, one.links, strict=True):
            if kind == "boards" and not at.radiates:
                out += np.real(np.sum(boards * _stiffened(at, case), axis=-1))
            elif kind in ("link", "air"):
                other = case.state.compliance(at)
                moved = other - at.own if kind == "air" else at.own * np.log(other / at.own)
                out += np.real(np.sum(links * moved, axis=-1))
    return out


def _stiffened(at: Lines, case: _Case) -> np.ndarray:
    """(F, n) what a case of the boards adds to D, per proportion of the quantity that moves."""
    steps = np.log(case.factor)
    if case.item.part == "damping":
        reduced = at.reduced
        place = reduced.stack.radiating
        leaf, keep = reduced.stack.leaves[place], reduced.keep[place]
        one = 1j * leaf.omega[keep] ** 2 * leaf.loss_factor * steps
        return np.broadcast_to(one, at.boards.shape)
    return case.state.stiffened(at) * (steps / (case.factor - 1) if steps else 1.0)

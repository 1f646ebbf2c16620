"""Low bands: what each input does to the sound, found on the modes already solved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from impact.base import bands, levels
from impact.base.parallel import in_parallel
from impact.design.parts import Design
from impact.leaf.plate import Leaf
from impact.link import cavity, springs
from impact.link.gaps import lowest_gap
from impact.motion import lowband, sizes, striking
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, ceiling_plate, floor_plates, permitted
from impact.motion.sizes import Size
from impact.motion.stack import Stack
from impact.motion.striking import Area
from impact.spread import condensed
from impact.spread.inputs import END, Input
from impact.spread.shift import Frame
from impact.spread.values import VALUES

# Band to which modes serve at least, and farther where a floor has few (`expansion.structure`);
# above, modes overlap and the energy balance serves.
TOP = bands.index(100.0)
LINES = 4  # frequencies per third octave; differences of levels need fewer than levels
SIZE = Size(1.2, 0.7)  # of the stack: differences of levels need less than levels
OUTSIDE = ("blow", "room")  # kinds that do not touch the structure
SMALL = ("floor", "points")  # kinds for which the small system is solved again
ANEW = ("link", "boards")  # kinds solved in full where their slope is steep
STEEP = 0.2  # of the logarithm of power, 0.9 dB: smaller slopes are taken as they are
FARTHEST = 3.0  # 13 dB: slopes of what is never solved in full are not followed farther


@dataclass(frozen=True, eq=False)
class _Case:
    """One input at one end: what it changes of the small system."""

    item: Input
    design: Design
    factor: float  # of the part it scales, for kinds that go by the adjoint
    extra: tuple[np.ndarray, np.ndarray] | None  # of its leaf's stiffness and mass


def changes(assembly: Assembly, items: Sequence[Input], top: int = TOP) -> np.ndarray:
    """Change of the radiated power [dB] with each input at its low and at its high end.

    Returns (inputs, 2, top + 1) over the bands from 10 Hz to that at place `top`; zero for inputs
    of the kinds "blow" and "room", which do not touch the structure.
    """
    design = assembly.design
    centres = bands.CENTRES[: top + 1]
    if not any(item.kind not in OUTSIDE for item in items):
        return np.zeros((len(items), 2, len(centres)))
    cases = _cases(assembly, items, top)
    area = permitted(design)

    def solve(centre: float) -> np.ndarray:
        return _band(assembly, centre, cases, area)

    found = in_parallel(solve, centres[::-1])[::-1]
    return np.stack(found, axis=-1).reshape(len(items), 2, len(centres))


def _cases(assembly: Assembly, items: Sequence[Input], top: int) -> list[_Case]:
    floor = next(leaf for leaf in assembly.whole.leaves if leaf.name == "floor")
    frames = frame(floor, top), frame(assembly.whole.leaves[-1], top)
    out = []
    for item in items:
        for z in (-END, END):
            changed = item.change(assembly.design, z)
            extra = None
            if item.kind == "floor" and item.part != "damping":
                extra = frames[0].difference(floor_plates(changed)[-1])
            if item.kind == "boards" and item.part != "damping":
                extra = frames[1].diagonal(ceiling_plate(changed, assembly.placement))
            out.append(_Case(item, changed, _factor(item, assembly.design, changed), extra))
    return out


def frame(leaf: Leaf, top: int = TOP) -> Frame:
    """The modes of a leaf that move in some band up to that at place `top`."""
    highest = bands.edges(bands.CENTRES[top])[1]
    return Frame(leaf, sizes.moving(leaf, highest, SIZE))


def _factor(item: Input, design: Design, changed: Design) -> float:
    """By how much the part of an input that only scales is larger than in the design."""
    if item.kind not in ANEW:
        return 1.0
    value = VALUES[item.key]
    return float(value(changed) / value(design))


def _lines(
    stack: Stack, centre: float, area: Area, lines: int
) -> Iterator[tuple[float, stacks.Reduced, stacks.Line]]:
    """Weight in the band at exact `centre` [Hz], the stack cut down, and each line of it."""
    reduced = stacks.reduce(stack, *bands.edges(centre), SIZE)
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


def _band(assembly: Assembly, centre: float, cases: Sequence[_Case], area: Area) -> np.ndarray:
    """(cases,) change [dB] in one band."""
    power, by_case = 0.0, np.zeros(len(cases))
    small = [i for i, case in enumerate(cases) if case.item.kind in SMALL]
    others = [i for i, case in enumerate(cases) if case.item.kind not in SMALL]
    for weight, reduced, at in _lines(assembly.whole, centre, area, LINES):
        one = condensed.condense(reduced, at)
        power += weight * one.power
        if small:
            systems = [_system(assembly, reduced, one, cases[i]) for i in small]
            dynamic, compliance = (np.stack(part) for part in zip(*systems, strict=True))
            by_case[small] += weight * condensed.powers(one, dynamic, compliance)
        for i in others:
            by_case[i] += weight * _other(reduced, at, one, cases[i])
    return np.asarray(levels.decibel(by_case / power))


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
        at = _other_boards(reduced, at, case)
    return float(stacks.answer(reduced, at, own).power.sum())


def _other_boards(reduced: stacks.Reduced, at: stacks.Line, case: _Case) -> stacks.Line:
    """The line with other boards; their modes keep their shapes."""
    assert case.extra is not None
    place = reduced.stack.radiating
    old = at.inverse[place]
    stiffness, mass = (part[: len(old)] for part in case.extra)
    loss = reduced.stack.leaves[place].loss_factor
    new = 1 / (1 / old + stiffness * (1 + 1j * loss) - at.omega**2 * mass)
    shapes = reduced.shapes[place]
    inverse = (*at.inverse[:place], new, *at.inverse[place + 1 :])
    return replace(
        at, inverse=inverse, gram=at.gram + (shapes * (new - old)) @ shapes.T,
        radiate=(at.pattern.rows * new) @ shapes.T,
    )  # fmt: skip


def _system(
    assembly: Assembly, reduced: stacks.Reduced, one: condensed.Condensed, case: _Case
) -> tuple[np.ndarray, np.ndarray]:
    """The floor's modal dynamic stiffness (n, n) and the point links' compliances (R,)."""
    if case.item.kind == "points":
        return np.diag(one.dynamic), _compliance(reduced, one, case.design)
    loss = _loss(case.design) - _loss(assembly.design)
    return floor_system(reduced, one, case.extra, loss), one.compliance


def _loss(design: Design) -> float:
    return design.floor.loss_factor + design.floor.infill_loss_factor


def floor_system(
    reduced: stacks.Reduced, one: condensed.Condensed,
    extra: tuple[np.ndarray, np.ndarray] | None, loss: float,
) -> np.ndarray:  # fmt: skip
    """Modal dynamic stiffness (n, n) of the kept leaves with another floor.

    extra : stiffness and mass added to the floor's modes, see `Frame.difference`; loss : added to
    its loss factor.
    """
    dynamic = np.diag(one.dynamic)
    start = 0
    for i in one.kept:
        leaf, count = reduced.stack.leaves[i], len(reduced.keep[i])
        if leaf.name == "floor":
            block = np.diag(1j * loss * leaf.omega[:count] ** 2)
            if extra is not None:
                stiffness, mass = (part[:count, :count] for part in extra)
                block = block + stiffness * (1 + 1j * (leaf.loss_factor + loss))
                block = block - one.omega**2 * mass
            dynamic[start : start + count, start : start + count] += block
        start += count
    return dynamic


def _compliance(reduced: stacks.Reduced, one: condensed.Condensed, design: Design) -> np.ndarray:
    """(R,) compliances of hangers and edge as they are in a changed design."""
    names = reduced.names[one.rows]
    out = one.compliance.copy()
    if design.hangers is not None:
        out[names == "hangers"] = 1 / springs.fixing(design)
    edge = design.ceiling.perimeter
    spring = edge.touching_stiffness
    if edge.kind == "sealed":
        spring = springs.bead_stiffness(edge.bead_modulus, edge.bead_depth, edge.gap)
    if edge.kind != "free":
        out[names == "perimeter"] = 1 / (spring * (1 + 1j * edge.bead_loss_factor))
    return out


def _by_slope(reduced: stacks.Reduced, one: condensed.Condensed, case: _Case) -> float:
    """Change of power [W/N²] of a part that only scales, from its slope: a power law of it."""
    item, stack = case.item, reduced.stack
    if case.factor == 1 and item.kind in ANEW:
        return 0.0
    steps = np.log(case.factor)
    if item.kind == "boards":
        leaf = stack.leaves[stack.radiating]
        squares = leaf.omega[reduced.keep[stack.radiating]] ** 2
        slope: Any = 1j * squares * leaf.loss_factor * steps
        if case.extra is not None:
            stiffness, mass = (part[: len(squares)] for part in case.extra)
            slope = stiffness * (1 + 1j * leaf.loss_factor) - one.omega**2 * mass
            slope = slope * (steps / (case.factor - 1))
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

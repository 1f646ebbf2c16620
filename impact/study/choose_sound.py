"""Levels of thousands of ceilings from few solutions: what only springs tell apart is shared."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import bands, levels
from impact.base.parallel import as_they_come
from impact.design.parts import Design
from impact.heard import walking
from impact.motion import lowband
from impact.motion.assemble import Assembly, assemble
from impact.sound import hearing, room
from impact.source import people
from impact.source.people import BAREFOOT
from impact.study import choose_solver
from impact.study.choose_axes import Axes
from impact.study.choose_cases import (
    HIGHEST,
    STIFFNESS_NODES,
    Case,
    air_nodes,
    cases,
    spring_nodes,
)

THUD = bands.between(bands.THUD)
CENTRES = bands.CENTRES[THUD]
# Frequencies per third octave in a large search: so many that two stand within a resonance's width,
# RESOLVED over the least loss factor of a leaf. A small search and what is shown in the end take as
# many as a prediction.
RESOLVED, FEWEST = 0.24, 5
SMALL = 64  # cavities times stacks up to which a search is small
Progress = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class Sound:
    """Walker -> mean-square pressure in the room per mean-square force on a rigid floor [Pa²/N²] in
    the bands 16 to 80 Hz, mean over floor and room, the floor yielding under that walker.

    square : (hangers, channel, hanger spacings, layers, depths, fills, 8), NaN where the fill does
    not fit. perfect : the same without the hangers' springs (channel spacings, layers, depths,
    fills, 8)."""

    square: dict[str, np.ndarray]
    perfect: dict[str, np.ndarray]


def band_levels(design: Design, square: np.ndarray, source: str = BAREFOOT) -> np.ndarray:
    """Fast maxima (..., 8) [dB] of a person, bands 16 to 80 Hz, as `impact.heard.walking` has them.

    square : (..., 8) mean-square pressure per mean-square force [Pa²/N²]. source : a key of
    `source.people.SOURCES`.
    """
    one = people.walker(design, people.SOURCES[source])
    unit = np.zeros(len(bands.NOMINAL))
    unit[THUD] = 1.0
    fast = walking.heard(one, unit, room.dies_away(design)).fast[THUD]
    return np.asarray(levels.decibel(square * fast, levels.PRESSURE**2))


def thud(level: np.ndarray) -> np.ndarray:
    """Energy sum over the bands (..., 8) -> (...) [dB]."""
    return 10 * np.log10(np.sum(10 ** (level / 10), axis=-1))


def heard(level: np.ndarray) -> np.ndarray:
    """Thud weighted by hearing (..., 8) -> (...) [dB], as `advice.heard_thud` has it: energy sum
    over the threshold of ISO 226, from 20 Hz up. What a search ranks by: the plain sum is ruled by
    16 and 20 Hz, which are hardly heard."""
    return thud((level - hearing.threshold()[THUD])[..., 1:])


def exact(design: Design) -> lowband.Transfers:
    """The bands of one design, solved like a prediction."""
    made = assemble(design, HIGHEST)
    below = room.ears(design, made.whole.leaves[-1], highest=HIGHEST)
    return lowband.transfers(made, made.whole, CENTRES, ears=below)


def exact_levels(design: Design, found: lowband.Transfers, source: str = BAREFOOT) -> np.ndarray:
    """Levels (8,) [dB] as `impact predict` prints them for the average of the room."""
    one = people.walker(design, people.SOURCES[source])
    taken = found.underfoot["design"].ratio("average", people.impedance(one))
    return band_levels(design, found.heard["design"]["average"] * taken, source)


def search(
    design: Design, axes: Axes, progress: Progress | None = None,
    stiffness_nodes: int = STIFFNESS_NODES, walkers: Sequence[str] = (BAREFOOT,),
) -> Sound:  # fmt: skip
    """Every combination solved for all `walkers`; up to `stiffness_nodes` stiffnesses are taken one
    by one."""
    air = air_nodes(design, axes)
    springs, spread = spring_nodes(axes, stiffness_nodes)
    stacks = cases(design, axes, [node for group in air for node in group[0]])
    nodes = sum(len(group[0]) for group in air)
    lines = line_counts(stacks[0].assembly, nodes * len(stacks))
    level = np.full((len(walkers), *axes.shape[:4], nodes, len(CENTRES)), np.nan)
    perfect = np.full((len(walkers), *axes.shape[1:4:2], nodes, len(CENTRES)), np.nan)
    wanted = [np.array([(spread[mine] != 0).any(axis=0) for mine in case.members.T])
              for case in stacks]  # fmt: skip
    who = [people.impedance(people.walker(design, people.SOURCES[name])) for name in walkers]
    tasks = [(group, b) for b in range(len(CENTRES))[::-1] for group in _together(stacks)]

    def solve(task: tuple[list[int], int]) -> list[choose_solver.Solved]:
        group, b = task
        return choose_solver.solve(choose_solver.Task(
            [stacks[i] for i in group], CENTRES[b], lines[b], springs, [wanted[i] for i in group],
            who,
        ))  # fmt: skip

    done = 0
    for (group, b), found in zip(tasks, as_they_come(solve, tasks), strict=True):
        for i, (square, lone) in zip(group, found, strict=True):
            case = stacks[i]
            own = levels.decibel(square)  # (walkers, K, spacings, nodes)
            for s, spacing in enumerate(case.spacings):
                mine, used = np.flatnonzero(case.members[:, s]), wanted[i][s]
                value = spread[np.ix_(mine, used)] @ own[:, used, s]
                for w, each in enumerate(value):
                    level[w, mine, case.channel, spacing, case.layers, :, b] = each
            perfect[:, case.channel, case.layers, :, b] = levels.decibel(lone)
        done += len(group)
        if progress:
            progress(done, len(stacks) * len(CENTRES))

    def over_depths(values: np.ndarray) -> np.ndarray:
        return levels.square(_over_depths(values, air, axes))

    return Sound(
        {name: over_depths(_with_own_mass(level[w], axes, stacks))
         for w, name in enumerate(walkers)},
        {name: over_depths(perfect[w]) for w, name in enumerate(walkers)},
    )  # fmt: skip


def _together(stacks: Sequence[Case]) -> list[list[int]]:
    """Places of the cases that hang from the same points: they share all that is above them."""
    groups: dict[tuple, list[int]] = {}
    for number, case in enumerate(stacks):
        groups.setdefault(case.assembly.placement.points, []).append(number)
    return list(groups.values())


def line_counts(assembly: Assembly, solutions: int) -> tuple[int, ...]:
    """Frequencies in each of the eight bands, for so many cavities and stacks in all."""
    full = lowband.LINES[0]
    if solutions > SMALL:
        sharpest = min(leaf.loss_factor for leaf in assembly.whole.leaves)
        full = int(np.clip(np.ceil(RESOLVED / sharpest), FEWEST, full))
    return (full,) * len(CENTRES)


def _with_own_mass(values: np.ndarray, axes: Axes, stacks: list[Case]) -> np.ndarray:
    """Levels (hangers, channel, spacings, layers, N, 8) with the mass of each one's own hangers.

    A case is solved with one mass for all its hangers; what is over, a few hundredths of the
    ceiling, moves the level along the slope between one layer more and less (20 lg of the mass
    where only one count is tried).
    """
    mass, over = np.ones(values.shape[:4]), np.zeros(values.shape[:4])
    for case in stacks:
        room, kind = case.assembly.design.room, case.assembly.design.hangers
        assert kind is not None
        shared = kind.mass * len(case.assembly.placement.points)
        for i, (spacing, chosen) in enumerate(zip(case.spacings, case.chosen, strict=True)):
            mine = np.flatnonzero(case.members[:, i])
            where = (mine, case.channel, spacing, case.layers)
            mass[where] = case.assembly.ceiling_mass
            own = np.array([axes.hangers[h].mass for h in mine]) * len(chosen)
            over[where] = 0.5 * (own - shared) / (room.length * room.width)
    slope = np.full_like(values, -20 / np.log(10))
    if len(axes.layers) > 1:
        for at in np.ndindex(values.shape[:3]):
            slope[at] = np.gradient(values[at], np.log(mass[at]), axis=0)
    return values + slope * np.log(1 + over / mass)[..., None, None]


def _over_depths(values: np.ndarray, air: list, axes: Axes) -> np.ndarray:
    """From nodes (..., N, 8) to (..., depths, fills, 8)."""
    out = np.full((*values.shape[:-2], len(axes.depths), len(axes.fills), len(CENTRES)), np.nan)
    start = 0
    for number, (nodes, fits, matrix) in enumerate(air):
        part = values[..., start : start + len(nodes), :]
        out[..., fits, number, :] = np.einsum("dn,...nb->...db", matrix, part)
        start += len(nodes)
    return out

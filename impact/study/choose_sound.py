"""Levels of thousands of ceilings from few solutions: what only springs tell apart is shared."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from impact import lowband, strikes
from impact.assemble import Assembly, assemble
from impact.base import bands, levels
from impact.design.parts import Design
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
# Frequencies per third octave in a large search, low bands first: DAMPED over the floor's loss
# factor, as sharp resonances want more, times SHARE, as high bands hold many modes. A small search
# and what is shown in the end take as many as a prediction.
DAMPED, FEWEST = 0.36, 5
SHARE = (1.0, 1.0, 1.0, 1.0, 0.67, 0.67, 0.5, 0.5)
SMALL = 64  # cavities times stacks up to which a search is small
WALKER = "walker_barefoot"
Progress = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class Sound:
    """power : (hangers, channel, hanger spacings, layers, depths, fills, 8) sound power per
    mean-square force [W/N²] in the bands 16 to 80 Hz; NaN where the fill does not fit. perfect :
    the same without the first three axes' springs, (channel spacings, layers, depths, fills, 8)."""

    power: np.ndarray
    perfect: np.ndarray


def band_levels(design: Design, power: np.ndarray, source: str = WALKER) -> np.ndarray:
    """Levels (..., 8) [dB] of a person in the bands 16 to 80 Hz for power (..., 8) [W/N²]."""
    whole = np.full(len(bands.NOMINAL), 1.0)
    flat = strikes.band_levels(
        strikes.SOURCES[source], whole, design, np.ones(len(whole), complex)
    )  # the level of unit power: levels of people add the power's own
    return flat[THUD] + levels.decibel(power)


def thud(level: np.ndarray) -> np.ndarray:
    """Energy sum over the bands (..., 8) -> (...) [dB]."""
    return 10 * np.log10(np.sum(10 ** (level / 10), axis=-1))


def exact(design: Design) -> np.ndarray:
    """Power (8,) of one design, solved like a prediction."""
    made = assemble(design, HIGHEST)
    return lowband.transfers(made, made.whole, CENTRES).power["design"]


def search(
    design: Design, axes: Axes, progress: Progress | None = None,
    stiffness_nodes: int = STIFFNESS_NODES,
) -> Sound:  # fmt: skip
    """Power of every combination; up to `stiffness_nodes` stiffnesses are solved one by one."""
    air = air_nodes(design, axes)
    springs, spread = spring_nodes(axes, stiffness_nodes)
    stacks = cases(design, axes, [node for group in air for node in group[0]])
    nodes = sum(len(group[0]) for group in air)
    lines = line_counts(stacks[0].assembly, nodes * len(stacks))
    tasks = [(case, b) for b in range(len(CENTRES))[::-1] for case in stacks]
    level = np.full((*axes.shape[:4], nodes, len(CENTRES)), np.nan)
    perfect = np.full((*axes.shape[1:4:2], nodes, len(CENTRES)), np.nan)

    def solve(task: tuple[Case, int]) -> tuple[np.ndarray, np.ndarray]:
        case, b = task
        return choose_solver.solve(case, CENTRES[b], springs, lines[b])

    with ThreadPoolExecutor(min(2, os.cpu_count() or 1)) as pool:
        for done, (power, lone) in enumerate(pool.map(solve, tasks), 1):
            case, b = tasks[done - 1]
            own = np.tensordot(spread, levels.decibel(power), axes=1)  # (hangers, spacings, nodes)
            for i, spacing in enumerate(case.spacings):
                mine = np.flatnonzero(case.members[:, i])
                level[mine, case.channel, spacing, case.layers, :, b] = own[mine, i]
            perfect[case.channel, case.layers, :, b] = levels.decibel(lone)
            if progress:
                progress(done, len(tasks))
    level = _with_own_mass(level, axes, stacks)
    return Sound(
        levels.square(_over_depths(level, air, axes)),
        levels.square(_over_depths(perfect, air, axes)),
    )


def line_counts(assembly: Assembly, solutions: int) -> tuple[int, ...]:
    """Frequencies in each of the eight bands, for so many cavities and stacks in all."""
    full = lowband.LINES[0]
    if solutions <= SMALL:
        return (full,) * len(CENTRES)
    count = DAMPED / assembly.whole.leaves[assembly.whole.walked].loss_factor
    most = int(np.clip(np.ceil(count), FEWEST, full))
    return tuple(int(np.ceil(share * most)) for share in SHARE)


def _with_own_mass(values: np.ndarray, axes: Axes, stacks: list[Case]) -> np.ndarray:
    """Levels (hangers, channel, spacings, layers, N, 8) with the mass of each one's own hangers.

    A case is solved with one mass for all its hangers; what is over, a hundredth of the ceiling,
    moves the level along the slope between one layer more and less (20 lg of the mass where only
    one count is tried).
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

"""Levels of thousands of ceilings from few solutions: what differs only by springs shares the rest.

Leaves, perimeter and radiated sound are alike for all ceilings of one board count and channel
layout, so they are eliminated once per frequency. What is left is the air, whose depth and fill
change only the diagonal of its compliance, and then the hangers: a system of their own count
(Woodbury), one small solution for each stiffness and each spacing. Levels run smoothly with depth
and stiffness; where an axis is long they are computed at Chebyshev points of its logarithm and
interpolated by their polynomial.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from impact import lowband, strikes
from impact import stack as stacks
from impact.assemble import Assembly, assemble, lowest_gap, permitted
from impact.base import bands, levels
from impact.design.parts import Design
from impact.link import cavity
from impact.link.placing import place
from impact.study.choose_axes import Axes, bay, variant

HIGHEST = bands.edges(bands.CENTRES[bands.index(100.0)])[1]  # Hz
THUD = bands.between(bands.THUD)
CENTRES = bands.CENTRES[THUD]
# Frequencies per third octave in the search, low bands first: there a floor has few modes and a
# band is cheap. What is shown in the end is computed like a prediction.
LINES = (6, 6, 6, 6, 4, 4, 3, 3)
NEGLIGIBLE = 1e-7  # share of the sound's power, or of the drive's square, that is left out
DEPTH_NODES, STIFFNESS_NODES = 5, 8  # the latter also at least 5.3 a decade
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


@dataclass(frozen=True, eq=False)
class _Case:
    """One board count and channel layout: stack with every hanger any spacing wants."""

    channel: int
    layers: int
    spacings: tuple[int, ...]
    assembly: Assembly
    chosen: tuple[np.ndarray, ...]  # per spacing: places among all hangers
    gaps: tuple[cavity.Gap, ...]


def search(
    design: Design, axes: Axes, progress: Progress | None = None,
    stiffness_nodes: int = STIFFNESS_NODES,
) -> Sound:  # fmt: skip
    """Power of every combination; up to `stiffness_nodes` stiffnesses are solved one by one."""
    air = _air_nodes(design, axes)
    springs, spread = _spring_nodes(axes, stiffness_nodes)
    cases = _cases(design, axes, [node for group in air for node in group[0]])
    shape = (len(springs), *axes.shape[1:4], sum(len(group[0]) for group in air), len(CENTRES))
    power, perfect = np.zeros(shape), np.zeros((shape[1], *shape[3:]))
    tasks = [(case, b) for b in range(len(CENTRES))[::-1] for case in cases]

    def solve(task: tuple[_Case, int]) -> tuple[_Case, int, np.ndarray, np.ndarray]:
        return (*task, *_band(task[0], task[1], springs))

    with ThreadPoolExecutor(min(2, os.cpu_count() or 1)) as pool:
        for done, (case, b, found, lone) in enumerate(pool.map(solve, tasks), 1):
            for place_in, spacing in enumerate(case.spacings):
                power[:, case.channel, spacing, case.layers, :, b] = found[:, place_in]
            perfect[case.channel, case.layers, :, b] = lone
            if progress:
                progress(done, len(tasks))
    along = np.tensordot(spread, levels.decibel(power), axes=1)
    along = _with_own_mass(along, axes, cases)
    return Sound(
        levels.square(_over_depths(along, air, axes)),
        levels.square(_over_depths(levels.decibel(perfect), air, axes)),
    )


def _with_own_mass(values: np.ndarray, axes: Axes, cases: list[_Case]) -> np.ndarray:
    """Levels (hangers, channel, spacings, layers, N, 8) with the mass of each one's own hangers.

    A case is solved with its hangers' mass on average; what is over is less than a board layer and
    moves the level along the slope between one layer more and less (20 lg of the mass where only
    one count is tried).
    """
    out = values.copy()
    mass = np.zeros(values.shape[1:4])
    over = np.zeros(values.shape[:4])
    for case in cases:
        room, kind = case.assembly.design.room, case.assembly.design.hangers
        assert kind is not None
        area = room.length * room.width
        shared = kind.mass * len(case.assembly.placement.points)
        for spacing, chosen in zip(case.spacings, case.chosen, strict=True):
            where = case.channel, spacing, case.layers
            mass[where] = case.assembly.ceiling_mass
            own = np.array([h.mass for h in axes.hangers]) * len(chosen)
            over[(slice(None), *where)] = 0.5 * (own - shared) / area
    change = np.log(1 + over / mass)[..., None, None]
    for channel, spacing in np.ndindex(mass.shape[:2]):
        part = values[:, channel, spacing]
        slope = -20 / np.log(10) * np.ones_like(part)
        if len(axes.layers) > 1:
            slope = np.gradient(part, np.log(mass[channel, spacing]), axis=1)
        out[:, channel, spacing] += slope * change[:, channel, spacing]
    return out


def _over_depths(values: np.ndarray, air: list, axes: Axes) -> np.ndarray:
    """From nodes (..., N, 8) to (..., depths, fills, 8)."""
    out = np.full((*values.shape[:-2], len(axes.depths), len(axes.fills), len(CENTRES)), np.nan)
    start = 0
    for number, (nodes, fits, matrix) in enumerate(air):
        part = values[..., start : start + len(nodes), :]
        out[..., fits, number, :] = np.einsum("dn,...nb->...db", matrix, part)
        start += len(nodes)
    return out


def lagrange(nodes: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Matrix (len(at), len(nodes)) of the polynomial through the nodes."""
    out = np.ones((len(at), len(nodes)))
    for i, own in enumerate(nodes):
        for j, other in enumerate(nodes):
            if i != j:
                out[:, i] *= (at - other) / (own - other)
    return out


def _chebyshev(values: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Nodes over the range of positive values, and the matrix from nodes to values; the values
    themselves where they are few."""
    if len(values) <= count:
        return values, np.eye(len(values))
    logs = np.log(values)
    middle, half = (logs.min() + logs.max()) / 2, np.ptp(logs) / 2
    nodes = middle - half * np.cos(np.pi * np.arange(count) / (count - 1))
    return np.exp(nodes), lagrange(nodes, logs)


def _air_nodes(design: Design, axes: Axes) -> list[tuple[list[tuple[float, float]], np.ndarray,
                                                         np.ndarray]]:  # fmt: skip
    """For each fill: (depth, fill) nodes, places of the depths that hold it, matrix to them."""
    out: list[tuple[list[tuple[float, float]], np.ndarray, np.ndarray]] = []
    for fill in axes.fills:
        fits = np.flatnonzero(np.array(axes.depths) + bay(design) >= fill - 1e-6)
        if not len(fits):
            out.append(([], fits, np.zeros((0, 0))))
            continue
        nodes, matrix = _chebyshev(np.array(axes.depths)[fits], DEPTH_NODES)
        out.append(([(float(depth), fill) for depth in nodes], fits, matrix))
    return out


def _spring_nodes(axes: Axes, least: int = STIFFNESS_NODES) -> tuple[np.ndarray, np.ndarray]:
    """Complex compliances (K,) solved for, and the matrix (hangers, K) from them."""
    stiffness = np.array([h.dynamic_stiffness for h in axes.hangers])
    loss = np.array([h.loss_factor for h in axes.hangers])
    nodes, columns = [], []
    for value in np.unique(loss):
        mine = np.flatnonzero(loss == value)
        family, where = np.unique(stiffness[mine], return_inverse=True)
        decades = np.log10(family.max() / family.min())
        at, matrix = _chebyshev(family, max(least, int(np.ceil(5.3 * decades))))
        block = np.zeros((len(stiffness), len(at)))
        block[mine] = matrix[where]
        nodes.append(1 / (at * (1 + 1j * value)))
        columns.append(block)
    return np.concatenate(nodes), np.hstack(columns)


def _cases(design: Design, axes: Axes, air: list[tuple[float, float]]) -> list[_Case]:
    """On joists every spacing's hangers are some of those on every joist, and share a case."""
    nested = design.floor.joists is not None
    groups = [range(len(axes.hanger_spacings))] if nested else [
        [s] for s in range(len(axes.hanger_spacings))]  # fmt: skip
    out = []
    for layers in range(len(axes.layers)):
        for channel in range(len(axes.channel_spacings)):
            out += [_case(design, axes, channel, layers, tuple(g), air) for g in groups]
    return out


def _case(
    design: Design, axes: Axes, channel: int, layers: int, spacings: tuple[int, ...],
    air: list[tuple[float, float]],
) -> _Case:  # fmt: skip
    joists = design.floor.joists
    lines, count = axes.channel_spacings[channel], axes.layers[layers]
    deepest = max(axes.depths)

    def made(spacing: float) -> Design:
        return variant(design, axes.hangers[0], lines, spacing, count, deepest, 0.0)

    closest = made(joists.spacing if joists else axes.hanger_spacings[spacings[0]])
    every = np.array(place(closest).points)
    chosen = []
    for spacing in spacings:
        own = np.array(place(made(axes.hanger_spacings[spacing])).points)
        gaps = np.abs(own[:, None] - every[None]).max(axis=2)
        if gaps.min(axis=1).max() > 1e-6:
            raise AssertionError("a hanger stands where no joist offers a place")
        chosen.append(np.argmin(gaps, axis=1))
    # all ceilings of the case share one mass: that of its hangers on average
    mean = np.mean([h.mass for h in axes.hangers]) * np.mean([len(c) for c in chosen]) / len(every)
    assert closest.hangers is not None
    shared = replace(closest, hangers=replace(closest.hangers, mass=float(mean)))
    gaps_of = tuple(
        lowest_gap(variant(design, axes.hangers[0], lines, axes.hanger_spacings[0], count, *node))
        for node in air
    )
    return _Case(channel, layers, spacings, assemble(shared, HIGHEST), tuple(chosen), gaps_of)


def plan_wavenumbers(design: Design, wavenumber: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """kx and ky (L,) of the air's cosines over the room's plan, from their joint's `wavenumber`,
    whose order is that of the joint: all pairs up to the largest, y fastest."""
    reach = wavenumber.max() * (1 + 1e-9)
    room = design.room
    sides = [np.arange(int(reach * side / np.pi) + 2) * np.pi / side
             for side in (room.length, room.width)]  # fmt: skip
    kx, ky = (k.ravel() for k in np.meshgrid(*sides, indexing="ij"))
    chosen = np.hypot(kx, ky) <= reach
    if not np.allclose(np.hypot(kx, ky)[chosen], wavenumber):
        raise AssertionError("the air's motions are not the cosines of the plan")
    return kx[chosen], ky[chosen]


def _band(case: _Case, b: int, springs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Power of one band: (K, spacings, N) for each spring, and (N,) without any."""
    design, stack = case.assembly.design, case.assembly.whole
    reduced = stacks.reduce(stack, *bands.edges(CENTRES[b]))
    struck = stacks.over_area(reduced, *permitted(design))
    names = np.array([joint.name for joint in stack.joints])[reduced.joint_of]
    air_joint = next(joint for joint in stack.joints if joint.name == "air")
    kx, ky = plan_wavenumbers(design, air_joint.wavenumber)
    motions = reduced.motion_of[names == "air"]
    power = np.zeros((len(springs), len(case.spacings), len(case.gaps)))
    perfect = np.zeros(len(case.gaps))
    for frequency, weight in zip(*lowband.frequencies(CENTRES[b], LINES[b]), strict=True):
        omega = 2 * np.pi * frequency
        shared = _Shared(reduced, stacks.line(reduced, omega, struck), names)
        for n, gap in enumerate(case.gaps):
            air = cavity.compliance(gap, omega, kx[motions], ky[motions])
            hung = shared.with_air(air)
            perfect[n] += weight * hung.alone
            for i, chosen in enumerate(case.chosen):
                power[:, i, n] += weight * hung.power(chosen, springs)
    return power, perfect


class _Shared:
    """One frequency with all but air and hangers eliminated."""

    def __init__(self, reduced: stacks.Reduced, at: stacks.Line, names: np.ndarray) -> None:
        own = stacks.compliances(reduced, at.omega)
        open_ends = (names == "air") | (names == "hangers")
        matrix, right = stacks._system(
            reduced, at, np.where(open_ends, 0, own), np.arange(len(own))
        )
        left = np.flatnonzero(open_ends)
        rest = np.r_[np.flatnonzero(~open_ends), np.arange(len(own), len(matrix))]
        sound = len(matrix) - len(own)
        beside = matrix[np.ix_(rest, left)]
        solved = np.linalg.solve(
            matrix[np.ix_(rest, rest)], np.hstack([beside, right[rest]])
        )
        air, hangers = (np.flatnonzero(names[left] == name) for name in ("air", "hangers"))
        reduced_all = np.hstack([matrix[np.ix_(left, left)], right[left]]) - beside.T @ solved
        system, push = reduced_all[:, : len(left)], reduced_all[:, len(left) :]
        # power is sum |reaction|² / weight
        heard = solved[-sound:] / np.sqrt(at.pattern.weight)[:, None]
        push, heard = _fewer_columns(push, heard, len(left))
        heard = _fewer_rows(heard)
        # single precision is enough for a hundredth of a decibel and half the work
        few = (system, push, heard[:, : len(left)], heard[:, len(left) :])
        system, push, by_link, self.lone = (part.astype(np.complex64) for part in few)
        self.air_system, self.beside = system[np.ix_(air, air)], system[np.ix_(air, hangers)]
        self.hanger_system = system[np.ix_(hangers, hangers)]
        self.air_columns = np.hstack([self.beside, push[air]])
        self.hanger_push = push[hangers]
        self.heard_air, self.heard_hangers = by_link[:, air], by_link[:, hangers]

    def with_air(self, compliance: np.ndarray) -> _Hung:
        """The hangers' own system above this air."""
        matrix = self.air_system.copy()
        matrix[np.diag_indices_from(matrix)] += compliance.astype(np.complex64)
        solved = np.linalg.solve(matrix, self.air_columns)
        inner, sound = self.beside.T @ solved, self.heard_air @ solved
        split = self.beside.shape[1]
        return _Hung(
            self.hanger_system - inner[:, :split], self.hanger_push - inner[:, split:],
            self.heard_hangers - sound[:, :split], self.lone - sound[:, split:],
        )


def _fewer_columns(
    push: np.ndarray, heard: np.ndarray, links: int
) -> tuple[np.ndarray, np.ndarray]:
    """The forces' columns turned, and those left out that drive next to nothing: sums of squares
    over all columns stay the same."""
    lone = heard[:, links:]
    scale = np.linalg.norm(push), np.linalg.norm(lone) or 1.0
    both = np.vstack([push / scale[0], lone / scale[1]])
    squares, turn = np.linalg.eigh(both.conj().T @ both)
    turn = turn[:, squares > NEGLIGIBLE * squares[-1]]
    return push @ turn, np.hstack([heard[:, :links], lone @ turn])


def _fewer_rows(heard: np.ndarray) -> np.ndarray:
    """The sound's coordinates turned, and those left out that nothing moves: each column counts by
    its own size, so that no link is lost."""
    size = np.linalg.norm(heard, axis=0)
    scaled = heard / np.where(size > 0, size, 1)
    squares, turn = np.linalg.eigh(scaled @ scaled.conj().T)
    return np.asarray(turn[:, squares > NEGLIGIBLE * squares[-1]].conj().T @ heard)


class _Hung:
    """Hangers between floor and ceiling: (S + 1/k) force = right; sound = lone - heard force."""

    def __init__(
        self, system: np.ndarray, right: np.ndarray, heard: np.ndarray, lone: np.ndarray
    ) -> None:
        self.system, self.right = system, right
        self.square = heard.conj().T @ heard
        self.cross = (heard.conj().T @ lone).conj()
        self.alone = float(np.sum(np.abs(lone) ** 2))

    def power(self, chosen: np.ndarray, springs: Sequence[complex] | np.ndarray) -> np.ndarray:
        """Power (K,) for hangers at `chosen` with each compliance of `springs` (K,)."""
        system = self.system[np.ix_(chosen, chosen)]
        diagonal = np.eye(len(chosen), dtype=np.complex64)
        stacked = system + np.asarray(springs, np.complex64)[:, None, None] * diagonal
        force = np.linalg.solve(stacked, np.broadcast_to(
            self.right[chosen], (len(stacked), *self.right[chosen].shape)))  # fmt: skip
        square = self.square[np.ix_(chosen, chosen)] @ force
        return (
            self.alone
            - 2 * np.sum((self.cross[chosen] * force).real, axis=(1, 2))
            + np.sum((force.conj() * square).real, axis=(1, 2))
        )

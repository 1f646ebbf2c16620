"""What a search solves: points of its long axes, and stacks that many ceilings share.

Levels run smoothly with depth and stiffness; where an axis is long they are computed at Chebyshev
points of its logarithm and interpolated by their polynomial (any textbook of numerical analysis).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from impact.base import bands
from impact.design.parts import Design
from impact.design.placing import place
from impact.link import cavity
from impact.link.gaps import lowest_gap
from impact.motion.assemble import Assembly, assemble
from impact.study.choose_axes import Axes, bay, variant

HIGHEST = bands.edges(bands.CENTRES[bands.index(100.0)])[1]  # Hz
DEPTH_NODES, STIFFNESS_NODES = 5, 8  # the latter also at least 5.3 a decade
# Share of the boards' mass by which hangers of one case may differ in mass: in searches of up to
# FEW combinations, and in larger ones (0.2 dB in trials).
MASS_STEP, FEW = (0.005, 0.06), 256


@dataclass(frozen=True, eq=False)
class Case:
    """One board count and channel layout: a stack with every hanger that its spacings want.

    channel, layers, spacings : places on the axes. members : (hangers, spacings) bool, those that
    the case stands for, alike in the mass of their hangers. chosen : per spacing, places among all
    hangers. gaps : the cavities to solve.
    """

    channel: int
    layers: int
    spacings: tuple[int, ...]
    members: np.ndarray
    assembly: Assembly
    chosen: tuple[np.ndarray, ...]
    gaps: tuple[cavity.Gap, ...]


def cases(design: Design, axes: Axes, air: list[tuple[float, float]]) -> list[Case]:
    """On joists every spacing's hangers are some of those on every joist, and share a stack."""
    every = tuple(range(len(axes.hanger_spacings)))
    groups = [every] if design.floor.joists is not None else [(s,) for s in every]
    out = []
    for layers in range(len(axes.layers)):
        for channel in range(len(axes.channel_spacings)):
            for group in groups:
                out += _alike(design, axes, (channel, layers), group, air)
    return out


def _alike(
    design: Design, axes: Axes, at: tuple[int, int], spacings: tuple[int, ...],
    air: list[tuple[float, float]],
) -> list[Case]:  # fmt: skip
    """Cases of one board count and channel layout, one for each step of their hangers' mass."""
    joists, room = design.floor.joists, design.room
    lines, count = axes.channel_spacings[at[0]], axes.layers[at[1]]

    def made(spacing: float) -> Design:
        return variant(design, axes.hangers[0], lines, spacing, count, max(axes.depths), 0.0)

    closest = made(joists.spacing if joists else axes.hanger_spacings[spacings[0]])
    points = np.array(place(closest).points)
    chosen = [_among(points, np.array(place(made(axes.hanger_spacings[s])).points))
              for s in spacings]  # fmt: skip
    area = room.length * room.width
    mass = np.outer([h.mass for h in axes.hangers], [len(c) for c in chosen]) / 2 / area
    step = MASS_STEP[axes.count > FEW] * closest.ceiling.mass_per_area
    gaps = tuple(
        lowest_gap(variant(design, axes.hangers[0], lines, axes.hanger_spacings[0], count, *node))
        for node in air
    )
    out = []
    for members in steps(mass, step):
        kept = np.flatnonzero(members.any(axis=0))
        own = 2 * area * (mass[members].min() + mass[members].max()) / 2 / len(points)
        assert closest.hangers is not None
        shared = replace(closest, hangers=replace(closest.hangers, mass=float(own)))
        out.append(Case(
            *at, tuple(spacings[i] for i in kept), members[:, kept], assemble(shared, HIGHEST),
            tuple(chosen[i] for i in kept), gaps,
        ))  # fmt: skip
    return out


def steps(values: np.ndarray, step: float) -> list[np.ndarray]:
    """Values parted into groups that span at most `step` each: bool arrays of the same shape."""
    out, low = [], -np.inf
    for value in np.unique(values):
        if value - low > step:
            low = value
            out.append((values >= low) & (values <= low + step))
    return out


def _among(points: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Places of the wanted points (W, 2) among all points (P, 2)."""
    apart = np.abs(wanted[:, None] - points[None]).max(axis=2)
    if apart.min(axis=1).max() > 1e-6:
        raise AssertionError("a hanger stands where no joist offers a place")
    return np.argmin(apart, axis=1)


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


def air_nodes(design: Design, axes: Axes) -> list[tuple[list[tuple[float, float]], np.ndarray,
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


def spring_nodes(axes: Axes, least: int = STIFFNESS_NODES) -> tuple[np.ndarray, np.ndarray]:
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

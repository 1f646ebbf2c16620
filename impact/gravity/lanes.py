"""What every run of channel carries: the boards of its lane, fixtures, bulkheads, itself."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from impact.base.air import GRAVITY
from impact.design.lines import SAME
from impact.design.parts import Design, Patch
from impact.design.placing import Placement
from impact.gravity.weights import Rectangle, clipped, cuts, flat_cells, hung_mass

END = 0.03  # m: the gap between a channel's end and the wall belongs to the channel


@dataclass(frozen=True)
class Load:
    """Force [N] spread evenly over low to high [m along y], or at one place where these are equal.
    flat : of boards and channel, not of a fixture, bulkhead or opening."""

    low: float
    high: float
    force: float
    flat: bool


def lanes(design: Design, placement: Placement) -> tuple[tuple[Load, ...], ...]:
    """Loads of every run of channel, in the order of `placement.segments`.

    Each piece of the plan goes whole to the nearest run that passes beside it (common practice, no
    source): halfway to the next run there, and all the way to a wall. Bulkheads and openings hang
    on the runs that end at them or pass them; between two free edges at these, where one of them is
    a wall as far out as they are.
    """
    hangers = design.hangers
    if hangers is None or hangers.channel is None:
        return ()
    own = GRAVITY * hangers.channel.mass_per_length
    found = [[Load(y0, y1, own * (y1 - y0), True)] for _, y0, y1 in placement.segments]
    boards = GRAVITY * design.hung_per_area
    for cell in flat_cells(design):
        for number, low, high, area in _shared(placement, cell):
            found[number].append(Load(low, high, boards * area, True))
    for patch in design.room.fixtures:
        for number, low, high, share in _shares(design, placement, patch):
            found[number].append(Load(low, high, GRAVITY * patch.mass * share, False))
    for patch in design.room.bulkheads + design.room.openings:
        weight = GRAVITY * hung_mass(design, patch)
        both = patch.y > SAME and patch.y + patch.width < design.room.width - SAME
        for number, low, high, share in _shares(design, placement, patch):
            if both:
                _, y0, y1 = placement.segments[number]
                low, high = (min(max(y, y0), y1) for y in (low, high))
            found[number].append(Load(low, high, weight * share, False))
    return tuple(tuple(load for load in run if load.force > 0) for run in found)


def _shares(
    design: Design, placement: Placement, patch: Patch
) -> list[tuple[int, float, float, float]]:
    """Run, low, high [m] and share of a patch for every piece of it."""
    x0, x1, y0, y1 = clipped(design, patch)
    halves = [(x0, x1, a, b) for a, b in itertools.pairwise((y0, (y0 + y1) / 2, y1))]
    pieces = [piece for half in halves for piece in _shared(placement, half)]
    whole = sum(area for *_, area in pieces) or 1.0
    return [(number, low, high, area / whole) for number, low, high, area in pieces]


def _shared(placement: Placement, cell: Rectangle) -> list[tuple[int, float, float, float]]:
    """Run, low, high [m] and area [m2] of the pieces of a cell, cut halfway between the runs."""
    lines, ends = placement.channels, [y for _, a, b in placement.segments for y in (a, b)]
    halves = [(a + b) / 2 for i, a in enumerate(lines) for b in lines[i + 1 : i + 4]]
    xs, ys = cuts(cell[0], cell[1], halves), cuts(cell[2], cell[3], ends)
    return [
        (_nearest(placement, (a + b) / 2, (c + d) / 2), c, d, (b - a) * (d - c))
        for a, b in itertools.pairwise(xs) for c, d in itertools.pairwise(ys)
    ]  # fmt: skip


def _nearest(placement: Placement, x: float, y: float) -> int:
    """Run beside a place; leaving its lane along y costs a run four times the distance."""
    at, y0, y1 = np.array(placement.segments).T
    beyond = np.maximum(np.maximum(y0 - END - y, y - y1 - END), 0)
    return int(np.argmin(np.round(np.abs(at - x) + 4 * beyond, 7)))

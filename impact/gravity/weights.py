"""What hangs and where: boards, channels, hangers, bulkheads, fixtures, as modal forces at rest.

A plan of rectangles is cut into cells along all edges, so that areas are exact.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from impact.base.air import GRAVITY
from impact.design.boxes import area_between_walls, face_area, faces, open_edges
from impact.design.carried import held_fill
from impact.design.parts import Design, Patch
from impact.design.placing import Placement, blocked, inside
from impact.leaf.plate import Leaf

Rectangle = tuple[float, float, float, float]  # x low, x high, y low, y high [m]


@dataclass(frozen=True, eq=False)
class Weights:
    """Modal forces on the ceiling leaf (n,) [N kg^-1/2] and total weights [N], part by part.

    boards : the flat boards as hung, with a fill that lies on them; layer : one more layer like the
    last one hung, on bulkheads too (not in total). other : channels, hangers, bulkheads, openings
    and fixtures; of these bare : channels and hangers, which hang before the boards, late :
    fixtures, which come after them.
    """

    boards: np.ndarray
    boards_total: float
    other: np.ndarray
    other_total: float
    layer: np.ndarray
    bare: np.ndarray
    late: np.ndarray

    @property
    def total(self) -> float:
        """Everything that hangs [N]."""
        return self.boards_total + self.other_total


def cuts(low: float, high: float, inner: Sequence[float]) -> list[float]:
    """Rising places from low to high, with the inner ones that lie between. In m."""
    return sorted({low, high, *(round(v, 9) for v in inner if low < v < high)})


def flat_cells(design: Design) -> list[Rectangle]:
    """The flat ceiling as rectangles, without notches, openings and bulkheads."""
    room, patches = design.room, blocked(design.room)
    xs = cuts(0.0, room.length, [v for p in patches for v in (p.x, p.x + p.length)])
    ys = cuts(0.0, room.width, [v for p in patches for v in (p.y, p.y + p.width)])
    return [
        (x0, x1, y0, y1)
        for x0, x1 in itertools.pairwise(xs)
        for y0, y1 in itertools.pairwise(ys)
        if not any(inside(patch, (x0 + x1) / 2, (y0 + y1) / 2) for patch in patches)
    ]


def weigh(design: Design, placement: Placement, leaf: Leaf) -> Weights:
    """Weights of a design on its ceiling leaf."""
    unit, area = np.zeros((leaf.x.count, leaf.y.count)), 0.0
    for cell in flat_cells(design):
        unit += over(leaf, cell)
        area += (cell[1] - cell[0]) * (cell[3] - cell[2])
    boards = GRAVITY * design.hung_per_area
    spare = GRAVITY * design.ceiling.layers[-1].mass_per_area
    parts = [_grid(design, placement, leaf), _boxes(design, leaf), _fixtures(design, leaf)]
    sums = [np.sum([force for force, _ in part], axis=0) if part else 0 * unit for part in parts]
    faced = unit + sum(_boarded(design, leaf, patch)[0] for patch in design.room.bulkheads)
    modal = np.stack([each.ravel() for each in (unit, *sums, faced)]) @ leaf.flat()  # once for all
    total = sum(weight for part in parts for _, weight in part)
    return Weights(modal[0] * boards, area * boards, modal[1:4].sum(axis=0), total,
                   modal[4] * spare, modal[1], modal[3])  # fmt: skip


Found = list[tuple[np.ndarray, float]]  # force on products of side functions (Mx, My), weight [N]


def _grid(design: Design, placement: Placement, leaf: Leaf) -> Found:
    """Hangers and channels."""
    hangers = design.hangers
    if hangers is None or not placement.points:
        return []
    each = hangers.mass * GRAVITY
    at_x, at_y = np.array(placement.points).T
    found = [(each * leaf.x.values(at_x).T @ leaf.y.values(at_y), each * len(placement.points))]
    if hangers.channel is not None:
        per_metre = hangers.channel.mass_per_length * GRAVITY
        found += [
            (per_metre * over(leaf, (x, x, y0, y1)), per_metre * (y1 - y0))
            for x, y0, y1 in placement.segments
        ]
    return found


def _fixtures(design: Design, leaf: Leaf) -> Found:
    found = []
    for patch in design.room.fixtures:
        weight, cell = patch.mass * GRAVITY, clipped(design, patch)
        if weight > 0:
            found.append((over(leaf, cell) * weight / _size(cell), weight))
    return found


def _boxes(design: Design, leaf: Leaf) -> Found:
    """Openings by their edges; bulkheads where their parts are, so that one at a wall pulls its
    edge down."""
    board, found = GRAVITY * design.ceiling.mass_per_area, []
    for patch in design.room.openings:
        weight = GRAVITY * patch.mass
        if weight > 0:
            found.append((weight * _round_edges(design, leaf, patch), weight))
    for patch in design.room.bulkheads:
        cell = clipped(design, patch)
        inside_it = GRAVITY * (patch.mass + _lying_mass(design) * _size(cell))
        force, area = _boarded(design, leaf, patch)
        found.append((board * force + inside_it * over(leaf, cell) / _size(cell),
                      board * area + inside_it))  # fmt: skip
    return found


def _boarded(design: Design, leaf: Leaf, patch: Patch) -> tuple[np.ndarray, float]:
    """A bulkhead's soffit and free faces under a unit weight per area (Mx, My), and their area."""
    cell = clipped(design, patch)
    force = over(leaf, cell)
    for x0, x1, y0, y1, height in faces(design.room, patch):
        force = force + height * over(leaf, (x0, x1, y0, y1))
    return force, _size(cell) + face_area(design.room, patch)


def at_points(leaf: Leaf, points: Sequence[tuple[float, float]]) -> np.ndarray:
    """Mode shapes (P, n) at room coordinates (P, 2) [m]."""
    return leaf.shapes(np.asarray(points, float) + np.asarray(leaf.plate.origin))


def over(leaf: Leaf, cell: Rectangle) -> np.ndarray:
    """Integral of the products of side functions (Mx, My) over a rectangle [m], or along a line
    where two of its sides fall together [-]."""
    x0, x1, y0, y1 = cell
    left = _along(leaf.x.cosines, leaf.x.values, x0, x1)
    right = _along(leaf.y.cosines, leaf.y.values, y0, y1)
    return left.T @ right


def _along(
    cosines: Callable[..., np.ndarray], values: Callable[..., np.ndarray], low: float, high: float
) -> np.ndarray:
    """Integral of the functions of one side (1, M), or their value where the length is zero."""
    if high - low <= 0:
        return values(np.array([low]))
    return cosines(1, low, high - low) * np.sqrt(high - low)


def _size(cell: Rectangle) -> float:
    return (cell[1] - cell[0] or 1.0) * (cell[3] - cell[2] or 1.0)


def clipped(design: Design, patch: Patch) -> Rectangle:
    """A patch as far as it lies in the room."""
    room = design.room
    return (patch.x, min(patch.x + patch.length, room.length),
            patch.y, min(patch.y + patch.width, room.width))  # fmt: skip


def hung_mass(design: Design, patch: Patch) -> float:
    """What a bulkhead or opening weighs [kg]: the mass given, a bulkhead's boards, and the fill on
    its soffit where that lies on boards."""
    if patch not in design.room.bulkheads:
        return patch.mass
    soffit = _size(clipped(design, patch))
    upright = design.ceiling.mass_per_area * face_area(design.room, patch)
    return patch.mass + design.hung_per_area * soffit + upright


def _lying_mass(design: Design) -> float:
    """Of a fill that lies on the boards [kg/m2]."""
    return design.hung_per_area - design.ceiling.mass_per_area


def _round_edges(design: Design, leaf: Leaf, patch: Patch) -> np.ndarray:
    """Unit weight spread evenly along the open edges of a patch (Mx, My)."""
    edges = [edge[:4] for edge in open_edges(design.room, patch)] or [clipped(design, patch)]
    total = np.sum([over(leaf, edge) for edge in edges], axis=0)
    return np.asarray(total / sum(_size(edge) for edge in edges))


def added(design: Design, weight: float) -> tuple[float, float]:
    """What joists or slab bear more, over the plan without its notches, and what of it is a fill
    that they hold up [kg/m2]. weight : of all that hangs [N]."""
    wool = held_fill(design)
    return weight / GRAVITY / area_between_walls(design.room) + wool, wool


def tributary(design: Design, placement: Placement) -> np.ndarray:
    """Load of every hanger by tributary area (H,) [N], for comparison only.

    Each piece of flat ceiling goes to the nearest run of channel beside it and there to the nearest
    hanger: halfway to its neighbours and all the way to a wall (common practice, no source).
    Channel and hanger are added where they are; fixtures and bulkheads are left out.
    """
    hangers = design.hangers
    points = np.array(placement.points)
    if hangers is None or not len(points):
        return np.zeros(0)
    run = np.array(placement.segment_of_point)
    cells = _tributary_cells(design, placement, points)
    middle = np.array([((a + b) / 2, (c + d) / 2) for a, b, c, d in cells])
    size = np.array([(b - a) * (d - c) for a, b, c, d in cells])
    area = np.zeros(len(points))
    np.add.at(area, _nearest(placement, points, run, middle), size)
    mass = area * design.hung_per_area + hangers.mass
    if hangers.channel is not None:
        for number, (_, y0, y1) in enumerate(placement.segments):
            mine = np.flatnonzero(run == number)
            mass[mine] += hangers.channel.mass_per_length * _shares(points[mine, 1], y0, y1)
    return mass * GRAVITY


def _tributary_cells(design: Design, placement: Placement, points: np.ndarray) -> list[Rectangle]:
    """The flat ceiling, cut halfway between lines and rows of hangers and at the ends of runs."""
    lines = sorted({x for x, _, _ in placement.segments}) or sorted(set(points[:, 0]))
    rows = sorted({round(y, 6) for y in points[:, 1]})
    halves_x = [(a + b) / 2 for i, a in enumerate(lines) for b in lines[i + 1 : i + 4]]
    halves_y = [(a + b) / 2 for i, a in enumerate(rows) for b in rows[i + 1 :]]
    ends = [v for _, y0, y1 in placement.segments for v in (y0, y1)]
    out = []
    for x0, x1, y0, y1 in flat_cells(design):
        xs, ys = cuts(x0, x1, halves_x), cuts(y0, y1, halves_y + ends)
        out += [(a, b, c, d) for a, b in itertools.pairwise(xs) for c, d in itertools.pairwise(ys)]
    return out


def _nearest(
    placement: Placement, points: np.ndarray, run: np.ndarray, places: np.ndarray
) -> np.ndarray:
    """Hanger that each place (K, 2) goes to (K,)."""
    across = np.abs(places[:, None, 1] - points[None, :, 1])
    along = np.abs(places[:, None, 0] - points[None, :, 0])
    if not placement.segments:
        return np.argmin(np.hypot(along, across), axis=1)
    ends = np.array([(y0, y1) for _, y0, y1 in placement.segments])
    margin = 0.03  # m: the gap between a channel's end and the wall belongs to the channel
    low, high = ends[run, 0] - margin, ends[run, 1] + margin
    beyond = np.maximum(np.maximum(low - places[:, None, 1], places[:, None, 1] - high), 0)
    lane = np.round(along + 4 * beyond, 7)  # leaving its lane costs a run more than distance
    return np.argmin(lane * 1e4 + across, axis=1)


def _shares(at: np.ndarray, low: float, high: float) -> np.ndarray:
    """Length of a run that each of its hangers holds (h,) [m], halfway to the next."""
    order = np.argsort(at)
    rising = at[order]
    bounds = np.concatenate([[low], (rising[1:] + rising[:-1]) / 2, [high]])
    out = np.empty(len(at))
    out[order] = np.diff(bounds)
    return out

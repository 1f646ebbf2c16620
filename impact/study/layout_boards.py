"""Boards on the plan: area and outline, rows, joints on channels and staggered, counts.

Board sizes, staggering by at least one channel line and the row order are common practice, no
source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from impact.design.lines import SAME
from impact.design.parts import Patch, Room
from impact.design.placing import inside
from impact.study.layout_pieces import stock_count

STAGGER = 0.3  # m: end joints of neighbouring rows and of the layer before keep this apart

SHORTEST = 0.4  # m: no shorter piece of a board where it can be helped
NARROWEST = 0.3  # m: no narrower row along a wall where it can be helped


@dataclass(frozen=True)
class Row:
    """One row of boards from y0 to y1; its pieces (x0, x1) lie end to end except over gaps."""

    y0: float  # m
    y1: float  # m
    pieces: tuple[tuple[float, float], ...]  # m

    @property
    def joints(self) -> tuple[float, ...]:
        """x of the end joints [m]."""
        ends = {round(end, 6) for _, end in self.pieces}
        return tuple(sorted(ends & {round(start, 6) for start, _ in self.pieces}))


@dataclass(frozen=True)
class BoardLayer:
    """The boards of one layer of the ceiling; `rows` in the room's axes, or turned when
    `turned` (rows then run along y and x0, x1 of a piece are its y)."""

    rows: tuple[Row, ...]
    turned: bool
    across: bool  # long edges across the channels (or joists)
    boards: int  # full boards to buy, offcuts reused, before any allowance


def outline(room: Room, holes: Sequence[Patch]) -> tuple[float, float]:
    """Area [m2] and length of edge [m] of the room's plan without `holes` (they may overlap)."""
    xs, ys, free = cells(room, holes)
    area = sum(
        (xs[i + 1] - xs[i]) * (ys[j + 1] - ys[j])
        for i, column in enumerate(free)
        for j, is_free in enumerate(column)
        if is_free
    )
    edges = outline_edges(room, holes)
    return area, sum(abs(x1 - x0) + abs(y1 - y0) for (x0, y0), (x1, y1) in edges)


def cells(room: Room, holes: Sequence[Patch]) -> tuple[list[float], list[float], list[list[bool]]]:
    """Break lines x and y [m] of the plan and, per cell [i][j], whether it is outside all holes."""
    xs = _breaks([0.0, room.length], [(p.x, p.x + p.length) for p in holes], room.length)
    ys = _breaks([0.0, room.width], [(p.y, p.y + p.width) for p in holes], room.width)
    free = [
        [not any(inside(p, (x0 + x1) / 2, (y0 + y1) / 2) for p in holes) for y0, y1 in pairwise(ys)]
        for x0, x1 in pairwise(xs)
    ]
    return xs, ys, free


def outline_edges(
    room: Room, holes: Sequence[Patch]
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Edges between ceiling and no ceiling as ((x0, y0), (x1, y1)) [m], straight runs joined."""
    xs, ys, free = cells(room, holes)
    edges = []
    for i, x in enumerate(xs):
        runs = [j for j in range(len(ys) - 1) if _is(free, i - 1, j) != _is(free, i, j)]
        edges += [((x, ys[a]), (x, ys[b])) for a, b in _joined(runs)]
    for j, y in enumerate(ys):
        runs = [i for i in range(len(xs) - 1) if _is(free, i, j - 1) != _is(free, i, j)]
        edges += [((xs[a], y), (xs[b], y)) for a, b in _joined(runs)]
    return edges


def _joined(steps: Sequence[int]) -> list[tuple[int, int]]:
    """Neighbouring unit steps as (start, end) runs."""
    runs: list[tuple[int, int]] = []
    for step in steps:
        if runs and runs[-1][1] == step:
            runs[-1] = (runs[-1][0], step + 1)
        else:
            runs.append((step, step + 1))
    return runs


def board_layers(
    room: Room, holes: Sequence[Patch], lines: Sequence[float], lines_along_x: bool,
    strong_axes: Sequence[str], board_length: float, board_width: float,
) -> tuple[BoardLayer, ...]:  # fmt: skip
    """Lay every layer: long edges across the lines, unless its stronger axis runs along them.

    lines : where the boards are screwed to, x of channels or, with `lines_along_x`, y of joists.
    End joints stand on a line where one is in reach; rows of the second, fourth ... layer start
    with half a board, and all with less of one where a sliver would be left at the far wall or the
    edges would lie on those of the layer before. All lengths [m]; `strong_axes` one of "across",
    "along" each.
    """
    layers: list[BoardLayer] = []
    for number, axis in enumerate(strong_axes):
        across = axis != "along"
        turned = across == lines_along_x
        plan, cut = (_turn(room), [_turn_patch(p) for p in holes]) if turned else (room, holes)
        below = layers[-1].rows if layers and layers[-1].turned == turned else ()
        first = _first_row(_ends(plan, cut), board_width, number, below)
        rows = _rows(plan, cut, lines if across else (), board_length, board_width, first, below)
        layers.append(BoardLayer(rows, turned, across, _count(rows, board_length, board_width)))
    return tuple(layers)


def _first_row(ends: tuple[float, float], width: float, number: int, below: Sequence[Row]) -> float:
    """Width of the first row of a layer between `ends` [m]: the usual one, or some quarters of a
    board."""
    across = ends[1] - ends[0]

    def poor(first: float) -> tuple[bool, bool]:
        last = (across - first) % width
        sliver = across > first + SAME and SAME < last < NARROWEST
        apart = (first - (below[0].y1 - ends[0])) % width if below else width / 2
        return sliver, min(apart, width - apart) < STAGGER - SAME

    usual = 4 if number % 2 == 0 else 2
    return min((width * quarters / 4 for quarters in (usual, 3, 2, 1)), key=poor)


def _count(rows: Sequence[Row], length: float, width: float) -> int:
    """Boards to buy: pieces cut from lengths; two rows of half a width or less share a board."""
    lengths: dict[bool, list[float]] = {True: [], False: []}
    for row in rows:
        narrow = row.y1 - row.y0 <= width / 2 + 1e-6
        lengths[narrow] += [end - start for start, end in row.pieces]
    narrow_lengths = stock_count(lengths[True], length)
    return stock_count(lengths[False], length) + math.ceil(narrow_lengths / 2)


def _rows(
    room: Room, holes: Sequence[Patch], channels: Sequence[float], length: float, width: float,
    first: float, below: Sequence[Row],
) -> tuple[Row, ...]:  # fmt: skip
    rows: list[Row] = []
    y0, north = _ends(room, holes)
    y1 = min(y0 + first, north)
    while y0 < north - 1e-6:
        avoid = list(rows[-1].joints) if rows else []
        avoid += [x for row in below if row.y0 < y1 and row.y1 > y0 for x in row.joints]
        pieces: list[tuple[float, float]] = []
        for start, end in _stretches(room, holes, y0, y1):
            pieces += _lay(start, end, channels, length, avoid)
        rows.append(Row(y0, y1, tuple(pieces)))
        y0, y1 = y1, min(y1 + width, north)
    return tuple(rows)


def _ends(room: Room, holes: Sequence[Patch]) -> tuple[float, float]:
    """South and north end of the ceiling, less holes that take a whole side of the room."""
    south, north = 0.0, room.width
    for hole in sorted(holes, key=lambda p: p.y):
        if hole.x <= 1e-6 and hole.x + hole.length >= room.length - 1e-6:
            if hole.y <= south + 1e-6:
                south = max(south, hole.y + hole.width)
            elif hole.y + hole.width >= north - 1e-6:
                north = min(north, hole.y)
    return south, north


def _lay(
    start: float, end: float, channels: Sequence[float], length: float, avoid: Sequence[float]
) -> list[tuple[float, float]]:
    """Pieces from start to end: joints off those in `avoid`, no slivers, few boards."""
    firsts = [x - start for x in channels if 0.3 < x - start < length - 1e-6]
    tries = [length, *firsts] if channels else [length * k / 4 for k in (4, 2, 3, 1)]
    best: tuple[tuple[bool, bool, int, float], list[tuple[float, float]]] | None = None
    for first in tries:
        joints = _joints(start, end, channels, length, first)
        ends = [start, *joints, end]
        apart = min((abs(a - b) for a in joints for b in avoid), default=math.inf)
        sliver = min(b - a for a, b in pairwise(ends)) < min(SHORTEST, end - start)
        key = (apart < STAGGER, sliver, len(ends), -min(apart, 2 * STAGGER))
        if best is None or key < best[0]:
            best = (key, list(pairwise(ends)))
    assert best is not None
    return best[1]


def _joints(
    start: float, end: float, channels: Sequence[float], length: float, first: float
) -> list[float]:
    joints: list[float] = []
    reach = min(start + first, start + length)
    if first < length and reach < end - 1e-6:
        joints.append(reach)
    while end - (joints[-1] if joints else start) > length + 1e-6:
        here = joints[-1] if joints else start
        on = [x for x in channels if here + 0.3 < x <= here + length + 1e-6]
        joints.append(max(on) if on else here + length)
    return joints


def _stretches(
    room: Room, holes: Sequence[Patch], y0: float, y1: float
) -> list[tuple[float, float]]:
    """Runs of x where a row has any ceiling at all."""
    runs = [(0.0, room.length)]
    for hole in holes:
        if hole.y <= y0 + 1e-6 and hole.y + hole.width >= y1 - 1e-6:
            parts = [(low, min(high, hole.x)) for low, high in runs]
            parts += [(max(low, hole.x + hole.length), high) for low, high in runs]
            runs = sorted((low, high) for low, high in parts if high - low > 1e-3)
    return runs


def _breaks(ends: list[float], spans: list[tuple[float, float]], limit: float) -> list[float]:
    """Rising places where the plan changes [m]; what ends at a wall up to rounding ends there."""
    cuts = {round(v, 9) for span in spans for v in span if SAME < v < limit - SAME}
    return sorted(cuts | set(ends))


def _is(free: list[list[bool]], i: int, j: int) -> bool:
    return 0 <= i < len(free) and 0 <= j < len(free[0]) and free[i][j]


def _turn(room: Room) -> Room:
    return replace(room, length=room.width, width=room.length)


def _turn_patch(patch: Patch) -> Patch:
    return replace(patch, x=patch.y, y=patch.x, length=patch.width, width=patch.length)

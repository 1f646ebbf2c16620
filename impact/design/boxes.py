"""Bulkheads and openings on the plan: which of their edges have ceiling beside them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from impact.design.parts import Patch, Room
from impact.design.placing import inside

# x0, x1, y0, y1 of a straight edge [m] (two of them equal) and a height [m].
Edge = tuple[float, float, float, float, float]
NEAR = 0.001  # m: patches and walls closer than this touch


def open_edges(room: Room, patch: Patch) -> tuple[Edge, ...]:
    """Edges of a patch that lie at no wall, neither of the room nor of a notch, each with how far
    below the ceiling it is beside them [m]: 0, or the drop of a bulkhead that adjoins.

    Each side is cut wherever another patch begins or ends. Plain geometry of rectangles.
    """
    x0, x1 = patch.x, min(patch.x + patch.length, room.length)
    y0, y1 = patch.y, min(patch.y + patch.width, room.width)
    others = (*room.notches, *room.bulkheads)
    xs = _cuts(x0, x1, [v for p in others for v in (p.x, p.x + p.length)])
    ys = _cuts(y0, y1, [v for p in others for v in (p.y, p.y + p.width)])
    sides = [(x, x, a, b, x + out, (a + b) / 2) for x, out in ((x0, -NEAR), (x1, NEAR))
             for a, b in itertools.pairwise(ys)]  # fmt: skip
    sides += [(a, b, y, y, (a + b) / 2, y + out) for y, out in ((y0, -NEAR), (y1, NEAR))
              for a, b in itertools.pairwise(xs)]  # fmt: skip
    found = []
    for a0, a1, b0, b1, x, y in sides:
        beside = [p.drop for p in room.bulkheads if inside(p, x, y)]
        walled = any(inside(notch, x, y) for notch in room.notches)
        if 0 < x < room.length and 0 < y < room.width and not walled:
            found.append((a0, a1, b0, b1, max(beside, default=0.0)))
    return tuple(found)


def faces(room: Room, patch: Patch) -> tuple[Edge, ...]:
    """Upright faces of a bulkhead, as its open edges with each face's own height [m]: the drop, or
    by how much that is more than the drop of a bulkhead beside it."""
    return tuple(
        (x0, x1, y0, y1, patch.drop - beside)
        for x0, x1, y0, y1, beside in open_edges(room, patch)
        if patch.drop > beside
    )


def face_area(room: Room, patch: Patch) -> float:
    """Area of a bulkhead's upright faces [m2]."""
    return sum((x1 - x0 + y1 - y0) * height for x0, x1, y0, y1, height in faces(room, patch))


def area_between_walls(room: Room) -> float:
    """Area of the plan without its notches [m2]."""
    xs = _cuts(0.0, room.length, [v for p in room.notches for v in (p.x, p.x + p.length)])
    ys = _cuts(0.0, room.width, [v for p in room.notches for v in (p.y, p.y + p.width)])
    return sum(
        (x1 - x0) * (y1 - y0)
        for x0, x1 in itertools.pairwise(xs)
        for y0, y1 in itertools.pairwise(ys)
        if not any(inside(notch, (x0 + x1) / 2, (y0 + y1) / 2) for notch in room.notches)
    )


def _cuts(low: float, high: float, inner: Sequence[float]) -> list[float]:
    return sorted({low, high, *(v for v in inner if low + NEAR < v < high - NEAR)})

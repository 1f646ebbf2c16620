"""Where joists and ribs stand: parallel lines at their spacing, and a ceiling's own joists.

Plain geometry, deterministic, no numpy. Lines run along x; their places are y [m]. The rules are
common practice, no source, unless said otherwise.
"""

from __future__ import annotations

import math

from impact.design.parts import Design, Floor, Room

CLEARANCE = 0.05  # m: nearest a hanger comes to a wall or the edge of an opening (room to fix it)
LINE_GAP = 0.10  # m: nearest two channel lines come to each other (hangers must not overlap)
OWN_GAP = 0.02  # m: between a ceiling's own outermost joist and the wall beside it
SAME = 1e-6  # m: equal up to rounding


def joist_lines(floor: Floor, room: Room | None = None) -> tuple[float, ...]:
    """Centre lines of the joists, y in FLOOR coordinates [m], rising.

    Rule: joists stand at their spacing, symmetric about the middle of the floor, none at its very
    edge: as many as leave more than half a spacing and at most one spacing to either edge. Where
    one of them is known (`Joists.first`) all stand at their spacing from it. With a `room` only the
    lines over its clear width are returned. A slab has none.
    """
    if floor.joists is None:
        return ()
    spacing, first = floor.joists.spacing, floor.joists.first
    if first is None:
        lines = _symmetric(floor.width, spacing)
    else:
        start = first - math.floor((first - SAME) / spacing) * spacing
        count = max(0, math.ceil((floor.width - start - SAME) / spacing))
        lines = tuple(start + i * spacing for i in range(count))
    if room is None:
        return lines
    south = room.offset_y
    return tuple(y for y in lines if south + SAME < y < south + room.width - SAME)


def rib_lines(floor: Floor) -> tuple[float, ...]:
    """Centre lines of a slab's ribs, y in FLOOR coordinates [m], rising, symmetric about its
    middle, as many as strips of their spacing come nearest to its width; none without ribs."""
    if floor.slab is None or floor.slab.ribs is None:
        return ()
    spacing = floor.slab.ribs.spacing
    count = max(1, round(floor.width / spacing))
    start = (floor.width - (count - 1) * spacing) / 2
    return tuple(start + i * spacing for i in range(count))


def own_joist_lines(design: Design) -> tuple[float, ...]:
    """Centre lines of the ceiling's own joists, y in the room [m], rising: the outermost 20 mm
    clear of the walls at the sides, so that the boards' edges are held, the others evenly between,
    nowhere wider than their spacing (common practice, no source). None for a ceiling that hangs.
    """
    if design.independent is None:
        return ()
    joists, width = design.independent.joists, design.room.width
    edge = max(CLEARANCE, joists.width / 2 + OWN_GAP)
    return tuple(even(0.0, width, edge, joists.spacing)) or (width / 2,)


def own_joist_spacing(design: Design) -> float:
    """How far the ceiling's own joists stand apart [m]; ValueError for a ceiling that hangs."""
    if design.independent is None:
        raise ValueError("the ceiling has no joists of its own")
    lines = own_joist_lines(design)
    return lines[1] - lines[0] if len(lines) > 1 else design.independent.joists.spacing


def own_joists_reach_up(design: Design) -> bool:
    """Whether the ceiling's own joists are as deep as the clear depth, or deeper."""
    own = design.independent
    return own is not None and own.joists.depth >= design.cavity.clear_depth - SAME


def _symmetric(width: float, spacing: float) -> tuple[float, ...]:
    """The rule of `joist_lines` over a `width` [m]."""
    count = max(1, math.ceil(width / spacing - SAME) - 1)
    start = (width - (count - 1) * spacing) / 2
    return tuple(start + i * spacing for i in range(count))


def even(low: float, high: float, edge: float, spacing: float) -> list[float]:
    """From low + edge to high - edge, evenly, no wider than `spacing`; the middle if short."""
    clear = high - low - 2 * edge
    if clear <= LINE_GAP:
        return [(low + high) / 2] if high - low > 2 * CLEARANCE else []
    count = math.ceil(clear / spacing - SAME)
    return [low + edge + clear * i / count for i in range(count + 1)]

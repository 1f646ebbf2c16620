"""The air of a design: what lies above its old ceiling and above its new one.

Modes and energy balance both take their cavities from here. Depths and shares follow from the
design's own dimensions: plain geometry, no source needed.
"""

from __future__ import annotations

from impact.design.axes import WALLS, wall_lengths
from impact.design.parts import Design, Fill, Joists
from impact.link.cavity import Gap

ALONG_SPAN = ("south", "north")  # inside, x runs along the span; slabs on two sides are free there


def lowest_gap(design: Design) -> Gap:
    """The cavity above the new ceiling: below an old one if it stays, else with the joist bays as
    far as no loose fill takes their depth."""
    cavity, floor = design.cavity, design.floor
    if design.old_ceiling is not None:
        return _gap(cavity.clear_depth, None, 0.0, cavity.fill)
    return _gap(cavity.clear_depth, floor.joists, floor.bay_depth, cavity.fill)


def old_gap(design: Design) -> Gap:
    """The bays above an old ceiling, whose boards lie straight on the joists, below a loose fill
    on boards or above one that lies on the old ceiling.

    Raises ValueError where there is none.
    """
    if design.old_ceiling is None:
        raise ValueError("the design has no old ceiling")
    floor = design.floor
    return _gap(0.0, floor.joists, floor.bay_depth, design.old_ceiling.fill)


def fill_gap(design: Design) -> Gap:
    """The air between the deck and a loose fill on boards between the joists.

    Raises ValueError where there is none.
    """
    infill = design.floor.infill
    if infill is None or infill.boards is None:
        raise ValueError("the design has no fill on boards between its joists")
    return _gap(0.0, design.floor.joists, infill.below_deck, None)


def open_walls(design: Design) -> tuple[str, ...]:
    """Walls along which the ceiling's gap is open: all with a free edge, or those that it does not
    touch (all, where none is named); none where it is sealed or has no gap."""
    edge = design.ceiling.perimeter
    if edge.kind == "sealed" or edge.gap <= 0:
        return ()
    touched = (edge.touching_walls or WALLS) if edge.kind == "touching" else ()
    return tuple(wall for wall in WALLS if wall not in touched)


def open_length(design: Design) -> float:
    """Length of the walls along which the ceiling's edge is open [m]."""
    sides = wall_lengths(design.room)
    return sum(sides[wall] for wall in open_walls(design))


def free_share(design: Design) -> float:
    """Share [-] of `open_length` along which the leaf above the lowest cavity has free edges.

    All of it below an old ceiling or a fill on boards, the walls along the span below a slab on two
    sides, none below others; 0 where no edge is open.
    """
    walls, sides = open_walls(design), wall_lengths(design.room)
    if not walls:
        return 0.0
    if design.old_ceiling is not None or design.floor.fill_hangs:
        return 1.0
    slab = design.floor.slab
    if slab is None or slab.edges != "two sides":
        return 0.0
    return sum(sides[wall] for wall in walls if wall in ALONG_SPAN) / sum(sides[w] for w in walls)


def _gap(clear: float, joists: Joists | None, depth: float, fill: Fill | None) -> Gap:
    thickness, resistivity = (fill.thickness, fill.flow_resistivity) if fill else (0.0, 0.0)
    if joists is None:
        return Gap(clear, 0.0, 1.0, False, thickness, resistivity)
    blocks = joists.kind != "open-web"
    return Gap(clear, depth, joists.open_share, blocks, thickness, resistivity)

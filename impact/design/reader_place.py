"""Whether a design has a ceiling at all, something that holds it, and air above it."""

from __future__ import annotations

from impact.design.boxes import area_between_walls
from impact.design.fixings import called, table_of
from impact.design.parts import Design
from impact.design.placing import place
from impact.errors import DesignError, Fault

AREA = 0.01  # m2 of ceiling that must be left between walls
GAP = 0.001  # m of air that must be left above boards below an old ceiling or a slab


def check(design: Design) -> None:
    """Raise DesignError, all at once, for a ceiling that is none, hangs on nothing or on no gap."""
    faults = []
    if area_between_walls(design.room) < AREA:
        faults.append(Fault("room.notches", "leave nothing of the ceiling; make them smaller"))
    elif design.hangers is not None and not place(design).points:
        faults.append(Fault(table_of(design.hangers), _homeless(design)))
    if design.cavity.clear_depth < GAP and design.old_ceiling is not None:
        what = (
            "has no gap below it: boards straight on old ones are one ceiling with them. Write its "
            "boards as the first [[ceiling.layers]] and leave [old_ceiling] out"
        )
        faults.append(Fault("old_ceiling", what))
    elif design.cavity.clear_depth < GAP and design.floor.joists is None:
        what = "leaves no gap below the slab; plaster on it goes into floor.slab.mass_per_area"
        faults.append(Fault("cavity.clear_depth", what))
    if faults:
        raise DesignError(design.path, faults)


def _homeless(design: Design) -> str:
    """Why no point finds a place, and what to do."""
    beside = [name for name in ("notches", "openings", "bulkheads") if getattr(design.room, name)]
    holes = f"; {', '.join(beside)} of [room] leave it none" if beside else ""
    lines = "" if design.floor.joists is None else " on a joist over the room"
    return (
        f"none of the {called(design.hangers)} finds a place{lines}{holes}. Make these smaller, "
        "give other spacings, or [hangers] positions"
    )

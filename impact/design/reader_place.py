"""Whether a design has a ceiling at all, something that holds it, and air above and below it."""

from __future__ import annotations

from impact.base.units import show
from impact.design.boxes import area_between_walls
from impact.design.fixings import called, table_of
from impact.design.parts import Design
from impact.design.placing import place
from impact.errors import DesignError, Fault

AREA = 0.01  # m2 of ceiling that must be left between walls
GAP = 0.001  # m of air that must be left above boards below an old ceiling or a slab
LEFT = 0.3  # m of the room that must be left below: sound has it no lower


def check(design: Design) -> None:
    """Raise DesignError, all at once, for a ceiling that is none, hangs on nothing or on no gap, or
    leaves no room below."""
    faults = _low(design)
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


def _low(design: Design) -> list[Fault]:
    """A ceiling, or a bulkhead of it, that reaches down to the floor of the room."""
    left = design.room.height - design.taken

    def told(value: float) -> str:
        return show(value, "length", design.units)

    if left < LEFT:
        high = told(design.room.height)
        what = (f"takes {told(design.taken)} with the boards, of a room {high} high; at least "
                f"{told(LEFT)} must be left below")  # fmt: skip
        return [Fault("cavity.clear_depth", what)]
    return [
        Fault(f"room.bulkheads[{i}].drop", f"{told(patch.drop)} is all the height that the ceiling "
              f"leaves, {told(left)}, or more; where nothing is left write it as a notch")
        for i, patch in enumerate(design.room.bulkheads) if patch.drop >= left
    ]  # fmt: skip


def _homeless(design: Design) -> str:
    """Why no point finds a place, and what to do."""
    beside = [name for name in ("notches", "openings", "bulkheads") if getattr(design.room, name)]
    holes = f"; {', '.join(beside)} of [room] leave it none" if beside else ""
    lines = "" if design.floor.joists is None else " on a joist over the room"
    return (
        f"none of the {called(design.hangers)} finds a place{lines}{holes}. Make these smaller, "
        "give other spacings, or [hangers] positions"
    )

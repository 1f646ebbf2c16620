"""How large a design may be: what a prediction can solve on an ordinary computer.

The modes that matter grow with the floor's area, and the work faster than its square: timber
floors of 14, 30 and 56 m2 took 2, 9 and 33 s of one core for all modes to 300 Hz. Large rooms are
solved by modes only low down (`impact.heard.joined`), but a slip of the pen ("60 m" for "60 ft")
would still run for very long, the load check first of all (160 m2 with 300 hangers: 14 s, 200 m2
with 420: 35 s). Such a design is refused when it is read, with what to do instead.
"""

from __future__ import annotations

import math

from impact.design.fixings import table_of
from impact.design.parts import Design
from impact.errors import DesignError, Fault

AREA = 400.0  # m2 of floor or room
POINTS = 1000  # hangers, fixings or screws


def check(design: Design) -> None:
    """Raise DesignError, all at once, where `design` is larger than AREA or POINTS."""
    faults = []
    for what, part in (("floor", design.floor), ("room", design.room)):
        area = part.length * part.width
        if area > AREA:
            faults.append(
                Fault(what, f"{part.length:.1f} x {part.width:.1f} m is {area:.0f} m2; at most "
                f"{AREA:g} m2 can be solved. Describe one bay, or one room, of it")
            )  # fmt: skip
    count = points(design)
    if count > POINTS:
        table = table_of(design.hangers)
        faults.append(
            Fault(table, f"about {count:.0f} points in this room; at most {POINTS} can be solved. "
                  "Wider spacings, or a part of the room")
        )  # fmt: skip
    if faults:
        raise DesignError(design.path, faults)


def points(design: Design) -> int:
    """About how many hangers or fixings `design` has: as given, or from spacings and area."""
    hangers, room = design.hangers, design.room
    if hangers is None:
        return 0
    if hangers.positions is not None:
        return len(hangers.positions)
    lines = math.ceil(room.length / hangers.channel_spacing) + 1
    return lines * (math.ceil(room.width / hangers.hanger_spacing) + 1)

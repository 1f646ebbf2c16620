"""Places and walls as the design file means them, and as people read them.

Inside, x runs along the joists, or as a slab spans (`design.parts`). In the design file, and in
all that is printed, drawn or written, x is the distance from the west wall along the room's length.
With joists along the room's width the two differ: the plan is turned over its diagonal, west for
south.
"""

from __future__ import annotations

from impact.design.parts import Design, Room

WALLS = ("west", "east", "south", "north")
TURNED = {"west": "south", "south": "west", "east": "north", "north": "east"}


def wall_lengths(room: Room) -> dict[str, float]:
    """Length of each of WALLS [m]."""
    return {"west": room.width, "east": room.width, "south": room.length, "north": room.length}


def is_turned(design: Design) -> bool:
    """Whether x and y change places between the design file and the inside."""
    return design.floor.along == "width"


def shown_wall(design: Design, wall: str) -> str:
    """A wall (one of WALLS, by the axes inside) by the name that the design file gives it."""
    return TURNED[wall] if is_turned(design) else wall


def shown_place(design: Design, x: float, y: float) -> tuple[float, float]:
    """A place (x, y) [m] inside, as distances [m] from the west and the south wall of the file."""
    return (y, x) if is_turned(design) else (x, y)

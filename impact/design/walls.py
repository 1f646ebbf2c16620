"""Flanking walls of a design that describes none: those round the room, by the kind of floor."""

from __future__ import annotations

from impact.design.axes import TURNED, wall_lengths
from impact.design.parts import Flank, Floor, Room

STUD = 25.0  # kg/m2: studs with a gypsum board on each side; common practice, no source
MASONRY = 200.0  # kg/m2: 115 mm of dense masonry; common practice, no source
HEAVY_SLABS = ("concrete", "lightweight", "hollow", "ribbed")
WHY = (
    "no [[flanking]] given; only what is said 'in the building' uses them. Common practice, no "
    "source; T-junctions, the values of ISO 12354-1 Annex E"
)


def default_walls(room: Room, floor: Floor) -> tuple[Flank, ...]:
    """Four walls from floor to ceiling round the room, T-junctions along its four sides.

    Stud walls below joists and timber slabs, masonry below concrete ones. Mass [kg/m2], area [m2],
    length [m]. Names are those of the design file's walls.
    """
    heavy = floor.slab is not None and floor.slab.kind in HEAVY_SLABS
    mass = MASONRY if heavy else STUD
    turned = floor.along == "width"
    return tuple(
        Flank(f"{TURNED[name] if turned else name} wall", mass, side * room.height, side, "T", None)
        for name, side in wall_lengths(room).items()
    )

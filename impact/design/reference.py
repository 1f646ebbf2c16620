"""Every table and key that a design file may have, as text: `impact init --keys`.

Made from the rows that the reader checks with (`schema_*.py`), so that both say the same.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from impact.base import units
from impact.base.units import DIMENSIONS
from impact.design import schema_ceiling, schema_floor, schema_room
from impact.design.catalogue import PROPERTIES
from impact.design.materials import OWN_TABLES, may_have
from impact.design.schema import Key

WIDTH = 80
# Header of a table in the file -> what stands before it, its rows.
TABLES: dict[str, tuple[str, tuple[Key, ...]]] = {
    "[project]": ("", schema_room.PROJECT),
    "[room]": ("The room below.", schema_room.ROOM),
    "[[room.openings]]": ("So are [[room.notches]] (no ceiling there), [[room.bulkheads]], "
                          "[[room.fixtures]], [[room.obstructions]].", schema_room.PATCH),
    "[floor]": ("The structure walked on: either joists or a slab.", schema_floor.FLOOR),
    "[floor.joists]": ("Solid ones need material, width and depth; others a class.",
                       schema_floor.JOISTS),
    "[floor.slab]": ("Instead of joists. concrete, lightweight, hollow: thickness; ribbed, "
                     "composite: the ribs as well; cross-laminated: layup.", schema_floor.SLAB),
    "floor.slab.layup": ("One lamella after the other, lowest first: [{thickness = , direction = },"
                         " ...].", schema_floor.LAMELLA),
    "[floor.infill]": ("Loose fill between the joists.", schema_floor.INFILL),
    "[[floor.layers]]": ("From joists or slab up; [[ceiling.layers]] and [[old_ceiling.layers]] "
                         "have these keys too, but for floating ones.", schema_floor.LAYER),
    "mat": ("Under a floating layer: a name, or {stiffness_per_area = , ...}.", schema_floor.MAT),
    "[floor.covering]": ("A soft finish.", schema_floor.COVERING),
    "[old_ceiling]": ("One that stays; its boards are [[old_ceiling.layers]].",
                      schema_ceiling.OLD_CEILING),
    "[cavity]": ("", schema_ceiling.CAVITY),
    "[cavity.fill]": ("", schema_ceiling.CAVITY_FILL),
    "[hangers]": ("One of four ways to hold the ceiling.", schema_ceiling.HANGERS),
    "[resilient_channels]": ("Instead of hangers.", schema_ceiling.RESILIENT_CHANNELS),
    "[direct_fixing]": ("Instead of hangers: boards straight on the joists.",
                        schema_ceiling.DIRECT_FIXING),
    "[independent_joists]": ("Instead of hangers: the ceiling on joists of its own.",
                             schema_floor.INDEPENDENT),
    "[ceiling]": ("The new boards are [[ceiling.layers]].", schema_ceiling.CEILING),
    "[ceiling.perimeter]": ("", schema_ceiling.PERIMETER),
    "[[flanking]]": ("Walls of the room below; without any, usual ones are taken.",
                     schema_room.FLANK),
    "[target]": ("", schema_room.TARGET),
    "[limits]": ("For the load check and `impact choose`.", schema_room.LIMITS),
    "[prices]": ("Numbers in one currency.", schema_room.PRICES),
    "[footsteps]": ("Who walks.", schema_room.FOOTSTEPS),
    "[tapping]": ("", schema_room.TAPPING),
}  # fmt: skip


# Examples of other size, for keys whose range the usual one of the dimension does not meet.
OTHER_SIZES = {
    "length": ('"2.4 m" or "8 ft"', '"40 mm" or "1 5/8 in"', '"10 mm" or "3/8 in"'),
    "mass": ('"75 kg" or "165 lb"', '"25 kg" or "55 lb"'),
    "density": ('"40 kg/m3" or "2.5 pcf"',), "modulus": ('"0.5 MPa" or "72 psi"',),
    "area": ('"50 cm2" or "8 in2"',), "force": ('"3 MN" or "670 kip"',),
    "frequency": ('"1.2 kHz"',),
}  # fmt: skip
# Of entries of one's own, whose properties have no range.
OF_PROPERTIES = {
    "own_resonance": '"1.2 kHz"', "axial_stiffness": '"80 MN"', "shear_stiffness": '"3 MN"',
    "volume_per_length": '"50 cm2" or "8 in2"',
}  # fmt: skip


def reference(part: str = "") -> str:
    """The tables whose header holds `part`, all for "", in lines of 80 columns; "" if none does."""
    blocks = ["\n".join(_block(header)) for header in TABLES if part.lower() in header.lower()]
    blocks += ["\n".join(_own(name)) for name in OWN_TABLES if part.lower() in f"[{name}]"]
    return "\n\n".join(blocks)


def _block(header: str) -> Iterable[str]:
    intro, rows = TABLES[header]
    yield header
    yield from textwrap.wrap(intro, WIDTH)
    for key in rows:
        if key.holds not in ("table", "tables") or f"[{key.name}]" not in " ".join(TABLES):
            yield from _row(key)


def _row(key: Key) -> list[str]:
    parts = [key.help + (" (needed)" if key.required else "")]
    if key.choices:
        parts.append("one of " + ", ".join(key.choices))
    if key.kinds:
        parts.append("a name from `impact materials`")
    if key.dimension:
        parts.append(f"like {_example(key)}")
    if key.hard is not None:
        parts.append(f"{key.hard[0]} to {key.hard[1]}")
    if key.default is not None:
        parts.append(f"else {str(key.default).lower() if key.holds == 'flag' else key.default}")
    return _hang(key.name, "; ".join(parts))


def _own(name: str) -> Iterable[str]:
    """Entries of one's own, with what each kind may have."""
    usual, kinds = OWN_TABLES[name]
    yield f'[{name}."a name of your own"]'
    yield from _hang("based_on", "an entry of `impact materials` whose values serve for the rest")
    yield from _hang("kind", f"one of {', '.join(kinds)}; else {usual}")
    for key in dict.fromkeys(each for kind in kinds for each in may_have(kind)):
        dimension, words = PROPERTIES[key]
        yield from _hang(
            key, words + (f"; like {_of_property(key, dimension)}" if dimension else "")
        )


def _of_property(name: str, dimension: str) -> str:
    return OF_PROPERTIES.get(name, DIMENSIONS[dimension][1])


def _example(key: Key) -> str:
    """The first example of the key's dimension within its range."""
    usual = DIMENSIONS[key.dimension][1]
    for shown in (usual, *OTHER_SIZES.get(key.dimension, ())):
        if key.hard is None or all(_within(one, key) for one in shown.split(" or ")):
            return shown
    return usual


def _within(shown: str, key: Key) -> bool:
    low, high = (units.parse(str(end), key.dimension) for end in key.hard or ())
    return low <= units.parse(shown.strip('"'), key.dimension) <= high


def _hang(name: str, text: str) -> list[str]:
    return textwrap.wrap(f"  {name:<24} {text}", WIDTH, subsequent_indent=" " * 27)

"""Rows of [cavity], [old_ceiling], the four ways of fixing, [ceiling] and its perimeter."""

from __future__ import annotations

from impact.design.schema import (
    Key,
    anything,
    choice,
    named,
    number,
    quantity,
    table,
    tables,
)

CAVITY: tuple[Key, ...] = (
    quantity("clear_depth", "length", ("0 mm", "3 m"),
             "underside of joists, slab or old ceiling to the back of the new boards",
             usual=("8 mm", "800 mm", "hung ceilings, common practice")),
    table("fill", "porous absorber"),
)  # fmt: skip

FILL: tuple[Key, ...] = (
    named("material", ("fill",), "porous fill of the catalogue", required=True),
    quantity("thickness", "length", ("5 mm", "2 m"), "of the fill", required=True),
    quantity("flow_resistivity", "flow resistivity", ("0.5 kPa s/m2", "200 kPa s/m2"),
             "of the fill", usual=("2 kPa s/m2", "60 kPa s/m2", "wools of the trade, from memory")),
    quantity("density", "density", ("5 kg/m3", "250 kg/m3"), "of the fill"),
)  # fmt: skip
CAVITY_FILL: tuple[Key, ...] = (
    *FILL,
    choice("carried_by", ("floor", "boards"),
           "bears its weight: the floor (between joists, or pinned up), or the new boards"),
)  # fmt: skip

OLD_CEILING: tuple[Key, ...] = (
    tables("layers", "from the joists down"),
    choice("fixing", ("nailed", "lath"), "how it is held", default="nailed",
           why="boards nailed or screwed to the joists"),
    quantity("fixing_spacing", "length", ("50 mm", "1 m"), "along each joist", default="200 mm",
             why="common practice, no source"),
    quantity("fixing_stiffness", "stiffness", ("10 kN/m", "1000000 kN/m"), "of one nail or screw"),
    table("fill", "porous absorber above it, between the joists"),
)  # fmt: skip

_STIFFNESS = ("0.5 kN/m", "1000000 kN/m")

_SPRING: tuple[Key, ...] = (
    quantity("dynamic_stiffness", "stiffness", _STIFFNESS, "of one point, 10-50 Hz, under load",
             usual=("2 kN/m", "60000 kN/m", "points of the trade, common practice")),
    number("loss_factor", (0.0005, 1), "of the spring",
           usual=(0.002, 0.5, "steel to damped rubber, from memory")),
    quantity("static_stiffness", "stiffness", _STIFFNESS, "of one point under slow load"),
    number("dynamic_to_static", (1, 5), "dynamic over static stiffness",
           usual=(1, 2.5, "steel 1, rubber 1.2 to 2, from memory")),
    anything("load_deflection", 'rising pairs, like [["100 N", "1.2 mm"], ["200 N", "2.2 mm"]]'),
    quantity("load_minimum", "force", ("0 N", "20 kN"), "least rated load of one point"),
    quantity("load_maximum", "force", ("1 N", "50 kN"), "greatest rated load of one point"),
    number("creep_factor", (1, 5), "long-term over short-term deflection"),
    number("cold_factor", (0.5, 5), "stiffness in the cold over that at 20 C"),
    quantity("withdrawal_capacity", "force", ("1 N", "50 kN"),
             "of one fixing into the joist: your own, from its approval"),
    quantity("mass", "mass", ("0 kg", "20 kg"), "of one point"),
    quantity("own_resonance", "frequency", ("500 Hz", "100 kHz"),
             "first wave inside: half of one in its rubber, a leg bent with held ends",
             usual=("500 Hz", "6 kHz", "estimates from rubber and legs of the trade")),
)  # fmt: skip

_LINES: tuple[Key, ...] = (
    quantity("edge_distance", "length", ("0 mm", "600 mm"),
             "first row and first point from the wall, at most"),
    named("channel", ("channel",), "furring channel of the catalogue or of [channels]"),
    quantity("allowable_moment", "moment", ("0.1 N m", "10000 N m"),
             "of the channel: your own, from its data"),
    quantity("height", "length", ("0 mm", "3 m"), "joist to the back of the boards, with channel"),
)  # fmt: skip

_CHANNEL_SPACING = quantity(
    "channel_spacing", "length", ("150 mm", "2 m"), "between channel lines, along the joists",
    usual=("300 mm", "625 mm", "boards sag beyond, common practice"),
)  # fmt: skip

HANGERS: tuple[Key, ...] = (
    named("class", ("hanger",), "hanger class of the catalogue or of [hanger_classes]",
          required=True),
    _CHANNEL_SPACING,
    quantity("hanger_spacing", "length", ("150 mm", "3 m"),
             "between hangers on one channel: a multiple of the joist spacing",
             usual=("300 mm", "1.3 m", "channels bend beyond, common practice")),
    anything("positions", 'every hanger by itself, [["6 in", "8 in"], ...], from the south-west '
             "corner along length and width"),
    *_SPRING, *_LINES,
)  # fmt: skip

RESILIENT_CHANNELS: tuple[Key, ...] = (
    named("class", ("resilient channel",), "class of the catalogue or of [hanger_classes]",
          required=True),
    _CHANNEL_SPACING, *_SPRING, *_LINES,
)  # fmt: skip

DIRECT_FIXING: tuple[Key, ...] = (
    named("class", ("direct fixing",), "screws or nails", required=True),
    quantity("spacing", "length", ("50 mm", "1 m"), "of screws along each joist", default="300 mm",
             why="common practice, no source"),
    *(key for key in _SPRING if key.name in ("dynamic_stiffness", "loss_factor",
                                             "withdrawal_capacity")),
    quantity("edge_distance", "length", ("0 mm", "600 mm"), "first screw from the wall, at most"),
)  # fmt: skip

CEILING: tuple[Key, ...] = (
    number("loss_factor", (0.001, 0.5), "of the boards, in place", default=0.03,
           spread=(0.01, 0.08), why="boards screwed in place; Bies/Hansen/Howard Table C.1 has "
           "0.006 internal and 0.05 in place, Vigran 2008 0.010-0.015",
           usual=(0.005, 0.2, "boards in place, from memory")),
    tables("layers", "nearest to the cavity first"),
    table("perimeter", "how the edge meets the walls"),
)  # fmt: skip

PERIMETER: tuple[Key, ...] = (
    choice("kind", ("free", "sealed", "touching"), "free gap, gap with a sealant bead, touching",
           default="sealed", why="gap closed with sealant, common practice"),
    quantity("gap", "length", ("0 mm", "200 mm"), "between boards and wall",
             usual=("3 mm", "25 mm", "about 1/4 in, common practice")),
    quantity("bead_depth", "length", ("1 mm", "200 mm"), "of sealant into the gap"),
    named("sealant", ("sealant",), "sealant of the catalogue"),
    quantity("bead_modulus", "modulus", ("1 kPa", "5 GPa"), "shear modulus of the cured bead"),
    number("bead_loss_factor", (0.001, 2), "of the sealant"),
    quantity("touching_stiffness", "stiffness per length", ("0.01 MN/m2", "100000 MN/m2"),
             "per metre of touching edge"),
    anything("touching_walls", 'of "west", "east", "south", "north"; along the others the gap is '
             "open; all four where left out"),
)  # fmt: skip

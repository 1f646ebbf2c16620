"""The commented design file to begin with, made from the schema so that it cannot go stale."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from impact.base import units
from impact.design import schema_ceiling, schema_floor, schema_room
from impact.design.schema import Key

WIDTH = 80


@dataclass(frozen=True)
class Part:
    """One table of the starter: its lines in use, and further keys shown as comments."""

    header: str  # "[room]" or "[[floor.layers]]"
    intro: str
    rows: tuple[Key, ...]
    used: dict[str, tuple[str, str]]  # key -> (imperial, metric) as written
    further: tuple[str, ...] = ()
    asleep: bool = False  # the whole table is a comment


def both(text: str) -> tuple[str, str]:
    """The same writing in both systems of units."""
    return text, text


SCREEN: tuple[Part, ...] = (
    Part("[project]", "", schema_room.PROJECT, {
        "name": both('"My room"'), "units": ('"imperial"', '"metric"'),
    }, ("note",)),
    Part("[room]", "The room below.", schema_room.ROOM, {
        "length": ('"14 ft"', '"4.3 m"'), "width": ('"12 ft 6 in"', '"3.8 m"'),
        "height": ("\"8' 0-1/2\\\"\"", '"2.45 m"'),
    }, ("reverberation_time", "background", "headroom_minimum")),
    Part("[floor.joists]", "The floor above. True sizes: a 2 x 10 is 1 1/2 in x 9 1/4 in. "
         "A slab goes into [floor.slab] instead.",
         schema_floor.JOISTS, {
        "material": ('"spruce-pine-fir No. 2"', '"softwood C24"'),
        "width": ('"1 1/2 in"', '"60 mm"'), "depth": ('"9 1/4 in"', '"220 mm"'),
        "spacing": ('"16 in"', '"600 mm"'), "span": ('"12 ft 6 in"', '"3.8 m"'),
    }, ("first_from_wall", "along", "blocking_rows", "deck_fastening", "edge_fixity")),
    Part("[[floor.layers]]", "Layers above the joists, lowest first; repeat the table for each.",
         schema_floor.LAYER, {
        "material": ('"softwood plywood"', '"particleboard"'),
        "thickness": ('"23/32 in"', '"22 mm"'),
    }, ("bond", "strong_axis", "mat")),
    Part("[floor.covering]", "A soft finish, if there is one.", schema_floor.COVERING, {
        "material": both('"carpet and pad"'),
    }, asleep=True),
    Part("[old_ceiling]", "An old ceiling that stays; its boards follow as [[old_ceiling.layers]].",
         schema_ceiling.OLD_CEILING, {"fixing": both('"nailed"')}, asleep=True),
    Part("[[old_ceiling.layers]]", "", schema_floor.LAYER, {
        "material": both('"gypsum board"'), "thickness": ('"1/2 in"', '"12.5 mm"'),
    }, asleep=True),
    Part("[cavity]", "The air between the joists' underside and the new boards.",
         schema_ceiling.CAVITY, {"clear_depth": ('"4 in"', '"100 mm"')}),
    Part("[cavity.fill]", "Remove this table for an empty cavity.", schema_ceiling.FILL, {
        "material": both('"mineral wool"'), "thickness": ('"6 in"', '"150 mm"'),
    }, ("flow_resistivity",)),
    Part("[hangers]", "How the ceiling is held. Instead of [hangers]: [resilient_channels], "
         "[direct_fixing] or [independent_joists]. Test data of your own part go in here.",
         schema_ceiling.HANGERS, {
        "class": both('"rubber-in-shear clip"'), "channel_spacing": ('"24 in"', '"600 mm"'),
        "hanger_spacing": ('"48 in"', '"1200 mm"'),
    }, ("dynamic_stiffness", "loss_factor", "dynamic_to_static", "load_deflection",
        "load_minimum", "load_maximum", "edge_distance", "channel")),
    Part("[ceiling]", "", schema_ceiling.CEILING, {}, ("loss_factor",)),
    Part("[[ceiling.layers]]", "The new boards, nearest to the cavity first.", schema_floor.LAYER, {
        "material": both('"fire-type gypsum board"'), "thickness": ('"5/8 in"', '"15.9 mm"'),
        "count": both("2"),
    }),
    Part("[ceiling.perimeter]", "Where the boards meet the walls.", schema_ceiling.PERIMETER, {
        "kind": both('"sealed"'), "gap": ('"1/4 in"', '"6 mm"'),
    }, ("sealant", "bead_depth", "touching_walls")),
    Part("[target]", "What is wanted: a rating, or the band level of a source.",
         schema_room.TARGET, {"quantity": ('"IIC"', '"Ln_w"'), "limit": ("55", "48")}, asleep=True),
    Part("[prices]", "Your own prices, pure numbers.", schema_room.PRICES, {
        "currency": ('"USD"', '"EUR"'), "hanger": both("6.0"),
    }, asleep=True),
)  # fmt: skip

# Values shown for keys that have no default to show: imperial, metric.
SHOWN: dict[str, tuple[str, str]] = {
    "note": both('"what to remember"'), "background": both('"NC 25"'),
    "headroom_minimum": ('"7 ft"', '"2.2 m"'),
    "first_from_wall": ('"9 1/2 in"', '"240 mm"'),
    "along": both('"width"'), "bond": both('"nailed"'), "strong_axis": both('"across"'),
    "mat": both('"rebond foam mat 64 kg/m3, 20 mm"  # with bond = "floating"'),
    "flow_resistivity": both('"12 kPa s/m2"'), "reverberation_time": both('"0.5 s"'),
    "dynamic_stiffness": ('"570 lbf/in"', '"100 N/mm"'),
    "loss_factor": both("0.1"), "dynamic_to_static": both("1.4"),
    "load_deflection": (
        '[["22 lb", "0.055 in"], ["36 lb", "0.085 in"]]',
        '[["100 N", "1.4 mm"], ["160 N", "2.2 mm"]]',
    ),
    "load_minimum": ('"10 lb"', '"45 N"'), "load_maximum": ('"36 lb"', '"160 N"'),
    "deck_fastening": both('"nailed"'), "edge_distance": ('"8 in"', '"200 mm"'),
    "channel": both('"furring channel 7/8 in, 18 mil"'), "sealant": both('"acoustical sealant"'),
    "bead_depth": ('"5/8 in"', '"16 mm"'), "touching_walls": both('["north"]'),
}  # fmt: skip

HEAD = """\
# Design file of impact: a floor, a ceiling hung below it, the room under both.
# Fill in your own numbers; they stand for no real building.
#
# Quantities are strings with their unit: "23/32 in", "9 1/4 in", "12 ft 6 in",
# "120 N/mm", "40 lbf/in", "2.2 psf", "16 kg/m^2". Ratios, counts and loss
# factors are plain numbers. Any of them may give its spread as well:
#   {value = "100 N/mm", low = "50 N/mm", high = "200 N/mm"}
# Lines behind a '#' are optional; what is left out gets a default, and every
# default used is listed in the results.
# `impact materials` lists the names of materials, hanger classes and channels,
# `impact init --keys` every table and key: slabs, openings, walls, limits, ...
"""


def starter(system: str) -> str:
    """Text of a design file in "imperial" or "metric" units that reads without a fault."""
    place = ("imperial", "metric").index(system)
    parts = [_part(part, place) for part in SCREEN]
    return HEAD + "\n" + "\n".join(parts)


def _part(part: Part, place: int) -> str:
    rows = {key.name: key for key in part.rows}
    lines = [f"# {line}" for line in textwrap.wrap(part.intro, WIDTH - 2)]
    mark = "# " if part.asleep else ""
    lines.append(mark + part.header)
    for name, written in part.used.items():
        lines += _line(mark + f"{name} = {written[place]}", rows[name])
    for name in part.further:
        lines += _line(f"# {name} = {_sample(rows[name], place)}", rows[name])
    return "\n".join(lines) + "\n"


def _sample(key: Key, place: int) -> str:
    if key.name in SHOWN and not (key.name == "loss_factor" and key.default is not None):
        return SHOWN[key.name][place]
    if key.default is not None:
        return f'"{key.default}"' if isinstance(key.default, str) else str(key.default).lower()
    metric, *imperial = units.DIMENSIONS[key.dimension][1].split(" or ")
    return imperial[0] if imperial and place == 0 else metric


def _line(written: str, key: Key) -> Iterable[str]:
    help = key.help
    if key.choices:
        help += f": {', '.join(key.choices)}" if len(key.choices) <= 5 else ""
    joined = f"{written:<38}# {help}"
    if "  #" in written or len(joined) > WIDTH:
        return [*(f"# {line}" for line in textwrap.wrap(f"{key.name}: {help}", WIDTH - 2)), written]
    return [joined]

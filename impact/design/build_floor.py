"""The floor: joists or slab, layers above, covering, and where the room lies under it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from impact.design.build_infill import build_infill
from impact.design.build_joists import build_joists
from impact.design.build_slab import build_slab
from impact.design.carried import of_steel
from impact.design.checks import Ledger, join, read_table, read_tables
from impact.design.materials import choose, layers, note
from impact.design.origin import END
from impact.design.parts import Covering, Floor, Joists, Layer, Slab
from impact.design.schema_floor import COVERING, FLOOR, JOISTS, LAYER, SLAB
from impact.design.soft_layers import soft

# Loss factor of a joist floor in place: value, low, high, why. On steel with concrete twice the
# damping ratios of SCI P354: 1.1 % of critical of a bare floor, 3 furnished, 4.5 with partitions.
_MEASURE = "damping is the first thing to measure"
_LOSS = {
    "timber": (0.06, 0.03, 0.12, f"timber joist floors in place, from memory; {_MEASURE}"),
    "steel": (0.06, 0.03, 0.12, "as of timber joists, since boards on them rub alike: of steel "
              f"joists no source; {_MEASURE}"),
    "steel and concrete": (0.06, 0.022, 0.09, "steel joists with concrete, furnished: 3 % of "
                           f"critical (SCI P354, from memory); {_MEASURE}"),
}  # fmt: skip

DEEPEST = 1.5  # m, layers above joists or a slab together; our own bound, far above any floor's


def build_floor(
    raw: Any, room: dict[str, Any], ledger: Ledger
) -> tuple[Floor | None, str, tuple[float, float]]:
    """The floor, the room dimension its joists run along, and the room's offset on it [m].

    raw : the table [floor]; room : checked values of [room]. The floor is None after a fault.
    """
    values = read_table(raw, FLOOR, "floor", ledger)
    if not isinstance(raw, dict):
        return None, "length", (0.0, 0.0)
    rows = read_tables(values["layers"], LAYER, "floor.layers", ledger)
    on_slab = values["slab"] is not None
    made = layers(rows, "floor.layers", ledger, floor=True, on_slab=on_slab)
    deep = sum(layer.thickness for layer in made)
    if deep > DEEPEST:
        ledger.fault("floor.layers", f"are {ledger.show(deep, 'length')} thick in all; at most"
                     f" {ledger.show(DEEPEST, 'length')}")  # fmt: skip
    covering = _covering(values["covering"], ledger)
    if values["joists"] is not None and values["slab"] is not None:
        ledger.fault("floor", "has joists and a slab; keep one of [floor.joists] and [floor.slab]")
    if values["joists"] is None and values["slab"] is None:
        ledger.fault("floor.joists", "missing; write [floor.joists], or [floor.slab] for a plate")
    if rows and rows[0]["bond"] == "floating" and values["joists"] is not None:
        ledger.fault("floor.layers[0].bond", "'floating' needs a deck below it")
    beams, plate, along = None, None, "length"
    if values["joists"] is not None:
        if not rows and ledger.clean("floor.layers"):
            ledger.fault(
                "floor.layers", "missing; a joist floor needs its deck as [[floor.layers]]"
            )
        beams, along = _joists(values["joists"], room, made[0].material if made else None, ledger)
    if values["slab"] is not None:
        slab_values = read_table(values["slab"], SLAB, "floor.slab", ledger)
        if values["joists"] is None:  # both are a fault already
            along = slab_values["along"] or "length"
        span = values["length"] or room[along] or 5.0
        if ledger.clean("floor.slab"):
            plate = build_slab(slab_values, "floor.slab", ledger, span)
    extent, offset = _extent(values, room, beams, along, ledger)
    if beams is not None and beams.first is not None:
        beams = replace(beams, first=offset[1] + beams.first)
    if beams is None and values["joists"] is not None:
        infill = None  # the joists' own faults, or the room's, are told
    else:
        infill = build_infill(values["infill"], beams, ledger)
    if beams is not None:
        _unused(rows, ledger)
    loss = _loss(values, beams, made[0] if made else None, plate, ledger)
    if not ledger.clean("floor", "room"):
        return None, along, offset
    if plate is not None and values["loss_factor"] is not None:
        plate = replace(plate, in_situ_loss=False)  # the floor as a whole, edges and all
    for place, stiffness, frequency in soft(made, covering):
        spring = ledger.show(stiffness, "stiffness per area")
        ledger.warnings.append(
            f"floor.layers, {made[place].material.name}: so soft that what lies on it moves by "
            f"itself from about {frequency:.0f} Hz on; but for the blow on it, it is taken to "
            f'move with the rest. As a mat of {spring}, and bond = "floating" for the layer on '
            "it, it is predicted"
        )
    return Floor(beams, plate, made, covering, infill, loss, *extent), along, offset


def _joists(raw: Any, room: dict[str, Any], deck: Any, ledger: Ledger) -> tuple[Joists | None, str]:
    path = "floor.joists"
    values = read_table(raw, JOISTS, path, ledger)
    along, span = values["along"], values["span"]
    sides = {key: room[key] for key in ("length", "width")}
    if None in sides.values() or span is None:
        return None, along or "width"
    if along is None:
        fitting = [side for side in sides if sides[side] <= span + 1e-3] or list(sides)
        along = min(fitting, key=lambda side: (abs(sides[side] - span), side == "length"))
        ledger.default(join(path, "along"), along, "room dimension nearest to the span")
    if sides[along] > span + 1e-3:
        ledger.fault(
            join(path, "span"),
            f"{ledger.show(span, 'length')} is shorter than the room's "
            f"{along} of {ledger.show(sides[along], 'length')} that the joists run along; "
            "give the span from bearing to bearing, set 'along', or describe one bay",
        )
    if not ledger.clean(path):
        return None, along
    beams, first = build_joists(values, path, ledger, deck, along, span), _first(values, ledger)
    return replace(beams, first=first) if beams is not None else None, along


def _unused(rows: list[dict[str, Any]], ledger: Ledger) -> None:
    """Say where a board of the deck has a loss factor of its own, which nothing asks for."""
    for i, row in enumerate(rows):
        if row["bond"] == "floating":
            return
        if row["loss_factor"] is not None and row["material"] and row["material"].kind != "slab":
            ledger.warnings.append(f"floor.layers[{i}].loss_factor: not used; floor.loss_factor is"
                                   " that of joists and boards together")  # fmt: skip


def _first(values: dict[str, Any], ledger: Ledger) -> float | None:
    """Distance [m] of the first joist over the room from the room's wall, where it is known."""
    path, first = "floor.joists.first_from_wall", values["first_from_wall"]
    if first is None:
        ledger.default(path, "not given", "joists stand symmetric about the floor's middle")
    elif first > values["spacing"] + 1e-6:
        ledger.fault(
            path,
            f"{ledger.show(first, 'length')} is more than their spacing of "
            f"{ledger.show(values['spacing'], 'length')}, so that another would stand before it; "
            "give the one nearest to the wall",
        )
    return None if first is None else float(first)


def _extent(
    values: dict[str, Any], room: dict[str, Any], beams: Joists | None, along: str, ledger: Ledger
) -> tuple[tuple[float, float], tuple[float, float]]:
    across = "length" if along == "width" else "width"
    x, y = room[along], room[across]
    if x is None or y is None:
        return (0.0, 0.0), (0.0, 0.0)
    length, width = values["length"], values["width"]
    if beams is not None:
        if length is not None and abs(length - beams.span) > 1e-3:
            shown = [ledger.show(size, "length") for size in (length, beams.span)]
            what = f"{shown[0]} differs from the joists' span of {shown[1]}; leave it out"
            ledger.fault("floor.length", what)
        length = beams.span
    elif length is None:
        length = x
        ledger.default("floor.length", ledger.show(x, "length"), f"the room's {along}")
    if width is None:
        width = max(y, (room["offset_across"] or 0.0) + y)
        ledger.default("floor.width", ledger.show(width, "length"), f"the room's {across}")
    offsets = []
    for key, floor_size, room_size in (("along", length, x), ("across", width, y)):
        offset = room[f"offset_{key}"]
        if offset is None:
            offset = max(0.0, (floor_size - room_size) / 2)
            if offset > 1e-3:
                ledger.default(
                    f"room.offset_{key}",
                    ledger.show(offset, "length"),
                    "room under the middle of the floor",
                )
        if offset + room_size > floor_size + 2e-3 and ledger.clean("floor.joists.span"):
            where = (
                f"room.offset_{key}"
                if room[f"offset_{key}"] is not None
                else ("floor.length" if key == "along" else "floor.width")
            )
            shown = [ledger.show(size, "length") for size in (offset + room_size, floor_size)]
            what = f"the room reaches to {shown[0]}, beyond the floor of {shown[1]}"
            ledger.fault(where, f"{what}; enlarge the floor, or describe less of the room")
        offsets.append(offset)
    return (length, width), (offsets[0], offsets[1])


def _covering(raw: Any, ledger: Ledger) -> Covering | None:
    if raw is None:
        return None
    path = "floor.covering"
    values = read_table(raw, COVERING, path, ledger)
    if not ledger.clean(path) or values["material"] is None:
        return None
    keys = ("contact_stiffness", "loss_factor", "mass_per_area", "thickness")
    chosen = choose(values["material"], values, keys, path, ledger)
    note(chosen, keys, path, ledger)
    range_ = chosen.properties["contact_stiffness"]
    spread = math.log(range_.high / range_.low) / (2 * END)
    stiffness, loss, mass, thickness = (chosen.value(key) for key in keys)
    return Covering(chosen.name, stiffness, loss, mass, thickness, spread)


def _loss(
    values: dict[str, Any], beams: Joists | None, deck: Layer | None, plate: Slab | None,
    ledger: Ledger,
) -> float:  # fmt: skip
    if values["loss_factor"] is not None:
        return float(values["loss_factor"])
    if plate is not None:
        ledger.default(
            "floor.loss_factor",
            f"{plate.loss_factor:g}",
            "the slab's internal losses; those at its edges are added",
        )
        return plate.loss_factor
    kind = "timber"
    if beams is not None and of_steel(beams):
        kind = "steel and concrete" if deck is not None and deck.material.poured else "steel"
    loss, low, high, why = _LOSS[kind]
    ledger.default("floor.loss_factor", f"{loss:g}", why)
    ledger.spread("floor.loss_factor", low, high, why)
    return loss

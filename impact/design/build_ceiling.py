"""The ceiling's boards and edge, the cavity above it, an old ceiling left in place."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from impact.design.axes import TURNED, WALLS
from impact.design.checks import Ledger, join, read_table, read_tables
from impact.design.materials import choose, layers, layers_loss, note
from impact.design.parts import Cavity, Ceiling, Fill, Floor, Layer, OldCeiling, Perimeter
from impact.design.schema import Key
from impact.design.schema_ceiling import (
    CAVITY,
    CAVITY_FILL,
    CEILING,
    FILL,
    OLD_CEILING,
    PERIMETER,
)
from impact.design.schema_floor import LAYER

_BEAD_DEPTH = 0.016  # m, at most


def build_fill(raw: Any, path: str, ledger: Ledger, keys: tuple[Key, ...] = FILL) -> Fill | None:
    """`Fill` of a table naming a porous material, or None. keys : that the table may have."""
    if raw is None:
        return None
    values = read_table(raw, keys, path, ledger)
    if not ledger.clean(path) or values["material"] is None:
        return None
    numbers = ("flow_resistivity", "density")
    chosen = choose(values["material"], values, numbers, path, ledger)
    note(chosen, numbers, path, ledger)
    return Fill(
        chosen.name, values["thickness"], chosen.value("flow_resistivity"),
        chosen.value("density"), values.get("carried_by") == "boards",
    )  # fmt: skip


def on_boards(thickness: float, between: float) -> bool:
    """Whether a fill [m] lies on the new boards: no, where it fits `between` the joists [m]."""
    return thickness > between + 1e-6


def _carried(fill: Fill, raw: Any, between: float, ledger: Ledger) -> Fill:
    """The fill with what bears its weight, by default where it has room; between : joists [m]."""
    if isinstance(raw, dict) and "carried_by" in raw:
        return fill
    lies = on_boards(fill.thickness, between)
    room = (
        "no room for all of it between joists" if between else "no joists are open to it from below"
    )
    words = (
        ("boards", room)
        if lies
        else ("floor", "fits between the joists and is held up there: common practice")
    )
    ledger.default("cavity.fill.carried_by", *words)
    return replace(fill, on_boards=lies)


def build_cavity(
    raw: Any, needed: float | None, bay_depth: float, old: OldCeiling | None, ledger: Ledger
) -> Cavity | None:
    """The cavity; `needed` [m], the height of the fixing, is its depth when none is given.

    bay_depth : of the air between the joists [m]. Boards straight on the joists (0) have no usual
    range.
    """
    keys = CAVITY if needed != 0 else tuple(replace(key, usual=None) for key in CAVITY)
    values = read_table(raw if raw is not None else {}, keys, "cavity", ledger)
    fill = build_fill(values["fill"], "cavity.fill", ledger, CAVITY_FILL)
    if not ledger.clean("cavity"):
        return None
    depth = values["clear_depth"]
    if depth is None and needed is None:
        ledger.fault(
            "cavity.clear_depth",
            "missing; from the underside of the structure to the back of "
            'the new boards, like "120 mm"',
        )
        return None
    if depth is None:
        depth = needed or 0.0
        ledger.default("cavity.clear_depth", ledger.show(depth, "length"), "height of the fixing")
    between = 0.0 if old is not None else bay_depth
    room = depth + between
    if fill:
        fill = _carried(fill, values["fill"], between, ledger)
    if fill and fill.thickness > room + 1e-6:
        ledger.fault(
            "cavity.fill.thickness",
            f"{ledger.show(fill.thickness, 'length')} does not fit into "
            f"the cavity of {ledger.show(room, 'length')}",
        )
    return Cavity(depth, fill)


def build_old_ceiling(raw: Any, floor: Floor | None, ledger: Ledger) -> OldCeiling | None:
    """`OldCeiling` of [old_ceiling], or None when there is none or after a fault."""
    if raw is None:
        return None
    path = "old_ceiling"
    values = read_table(raw, OLD_CEILING, path, ledger)
    if not isinstance(raw, dict):
        return None
    rows = read_tables(values["layers"], LAYER, join(path, "layers"), ledger)
    made = layers(rows, join(path, "layers"), ledger, floor=False)
    if not rows and ledger.clean(join(path, "layers")):
        ledger.fault(join(path, "layers"), "missing; write its boards as [[old_ceiling.layers]]")
    fill = build_fill(values["fill"], join(path, "fill"), ledger)
    if floor and floor.slab:
        what = "needs joists that hold it; under a slab take it down or leave it out"
        ledger.fault(path, f"{what}, and plaster on the slab goes into floor.slab.mass_per_area")
    if floor and floor.joists and fill and fill.thickness > floor.bay_depth + 1e-6:
        shown = [ledger.show(size, "length") for size in (fill.thickness, floor.bay_depth)]
        beside = " left beside the loose fill" if floor.infill else ""
        what = f"{shown[0]} is more than the depth of the joists{beside}, {shown[1]}"
        ledger.fault(join(path, "fill.thickness"), what)
    if not ledger.clean(path):
        return None
    stiffness = values["fixing_stiffness"]
    if stiffness is None:
        nails = ledger.find("nails", "direct fixing")
        assert nails is not None
        stiff = nails.properties["dynamic_stiffness"]
        stiffness = stiff.value
        where = join(path, "fixing_stiffness")
        ledger.default(where, ledger.show(stiffness, "stiffness"), "catalogue entry 'nails'")
        ledger.spread(where, stiff.low, stiff.high, stiff.source)
    return OldCeiling(made, values["fixing"], values["fixing_spacing"], stiffness, fill)


def build_ceiling(raw: Any, along: str, ledger: Ledger) -> Ceiling | None:
    """`Ceiling` of [ceiling]; None after a fault."""
    values = read_table(raw, CEILING, "ceiling", ledger)
    if not isinstance(raw, dict):
        return None
    rows = read_tables(values["layers"], LAYER, "ceiling.layers", ledger)
    if not rows and ledger.clean("ceiling.layers"):
        ledger.fault("ceiling.layers", "missing; write the new boards as [[ceiling.layers]]")
    made = layers(rows, "ceiling.layers", ledger, floor=False)
    rim = {} if values["perimeter"] is None else values["perimeter"]
    edge = read_table(rim, PERIMETER, "ceiling.perimeter", ledger)
    thickness = sum(layer.thickness for layer in made)
    perimeter = (
        _perimeter(edge, thickness, along, ledger) if ledger.clean("ceiling.perimeter") else None
    )
    if not ledger.clean("ceiling") or perimeter is None:
        return None
    return Ceiling(made, perimeter, _loss(raw, rows, made, values["loss_factor"], ledger))


def _loss(
    raw: dict[str, Any], rows: list[dict[str, Any]], made: tuple[Layer, ...], usual: float,
    ledger: Ledger,
) -> float:  # fmt: skip
    """Loss factor of the boards in place: the file's own, else the `usual` one, or the boards' own
    where that is more."""
    path, own = "ceiling.loss_factor", layers_loss(made)
    if "loss_factor" in raw:
        for i, row in enumerate(rows):
            if row["loss_factor"] is not None:
                ledger.warnings.append(f"ceiling.layers[{i}].loss_factor: not used; {path} is that"
                                       " of all boards in place")  # fmt: skip
        return usual
    if own <= usual:
        return usual
    ledger.defaults = [default for default in ledger.defaults if default.path != path]
    why = "the boards' own, more than boards in place usually lose"
    ledger.default(path, f"{own:.2g}", why)
    ledger.spread(path, own / 2, min(2 * own, 1.0), f"{why}: half to twice (estimate)")
    return own


def _perimeter(values: dict[str, Any], thickness: float, along: str, ledger: Ledger) -> Perimeter:
    path, kind = "ceiling.perimeter", values["kind"]
    gap, depth, modulus, loss = 0.0, 0.0, 0.0, 0.0
    walls = _walls(values, kind, ledger)
    if kind != "touching" or set(walls) != set(WALLS):  # what touches no wall is open there
        gap = _gap(values, ledger)
    elif values["gap"]:
        ledger.warnings.append(f"{path}.gap: not used, as all four walls are touched")
    if kind == "sealed":
        depth, modulus, loss = _bead(values, thickness, ledger)
    for key in ("bead_depth", "bead_modulus", "bead_loss_factor", "sealant"):
        if kind != "sealed" and values[key] is not None:
            ledger.fault(join(path, key), f"is for kind 'sealed'; this perimeter is '{kind}'")
    for key in ("touching_walls", "touching_stiffness"):
        if kind != "touching" and values[key] is not None:
            ledger.warnings.append(f"{path}.{key}: not used; it is for kind 'touching', and this"
                                   f" perimeter is '{kind}'")  # fmt: skip
    stiffness = values["touching_stiffness"]
    if walls and stiffness is None:
        stiffness = 1e8
        why = "board pressed on board or lath, per metre (estimate, no source)"
        shown = ledger.show(stiffness, "stiffness per length")
        ledger.default(join(path, "touching_stiffness"), shown, why)
        ledger.spread_unless_given(join(path, "touching_stiffness"), 1e7, 1e9, why)
    if along == "width":
        walls = tuple(TURNED[wall] for wall in walls)
    return Perimeter(kind, gap, depth, modulus, loss, stiffness or 0.0, walls)


def _gap(values: dict[str, Any], ledger: Ledger) -> float:
    gap = values["gap"]
    path = "ceiling.perimeter.gap"
    if gap is None:
        gap = 0.00635
        ledger.default(path, ledger.show(gap, "length"), "1/4 in, common practice")
        ledger.spread(path, 0.003, 0.012, "workmanship, common practice")
    elif gap <= 0:
        ledger.fault(path, 'no gap; write kind = "touching"')
    return float(gap)


def _bead(values: dict[str, Any], thickness: float, ledger: Ledger) -> tuple[float, float, float]:
    path = "ceiling.perimeter"
    depth = values["bead_depth"]
    if depth is None:
        depth = min(thickness or _BEAD_DEPTH, _BEAD_DEPTH)
        ledger.default(
            join(path, "bead_depth"),
            ledger.show(depth, "length"),
            "thickness of the boards, at most 16 mm; common practice",
        )
    entry = values["sealant"]
    if entry is None:
        entry = ledger.find("acoustical sealant", "sealant")
        assert entry is not None
        if values["bead_modulus"] is None:
            ledger.default(join(path, "sealant"), entry.name, "common practice")
    wanted = {"shear_modulus": values["bead_modulus"], "loss_factor": values["bead_loss_factor"]}
    for name, key in (("bead_modulus", "shear_modulus"), ("bead_loss_factor", "loss_factor")):
        found = entry.properties[key]
        if wanted[key] is None:
            wanted[key] = found.value
            dimension = "modulus" if key == "shear_modulus" else ""
            ledger.default(
                join(path, name),
                ledger.show(found.value, dimension),
                f"'{entry.name}': {found.source}",
            )
            ledger.spread(join(path, name), found.low, found.high, found.source)
    return depth, wanted["shear_modulus"], wanted["loss_factor"]


def _walls(values: dict[str, Any], kind: str, ledger: Ledger) -> tuple[str, ...]:
    path, raw = "ceiling.perimeter.touching_walls", values["touching_walls"]
    if raw is None:
        if kind != "touching":
            return ()
        ledger.default(path, "all four", "kind is 'touching'")
        return WALLS
    if not isinstance(raw, list) or any(wall not in WALLS for wall in raw):
        ledger.fault(path, f'{raw!r} is no list of "west", "east", "south", "north"')
        return ()
    if not raw and kind == "touching":
        ledger.fault(
            path,
            "empty list: name the walls that boards touch, leave the key out where they"
            ' touch all four, or set kind to "sealed" or "free" where they touch none',
        )
    return tuple(dict.fromkeys(raw))

"""Materials and layers: from catalogue entries and the file's own words to `parts`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from impact.design import catalogue
from impact.design.catalogue import Entry, Property
from impact.design.checks import Ledger, join, read_property, read_table
from impact.design.parts import Layer, Mat, Material
from impact.design.schema_floor import MAT

# Kinds that a file's own table may define: what they need, and what is used for the rest.
_SOLID = (("density", "youngs_modulus"), {"poisson": 0.3, "loss_factor": 0.02})
_POINT = (
    ("dynamic_stiffness",),
    {
        "loss_factor": 0.1,
        "dynamic_to_static": 1.4,
        "mass": 0.1,
        "creep_factor": 1.3,
        "cold_factor": 1.3,
        "height": 0.041,
        "own_resonance": 1040.0,
    },
)
MAT_DENSITY = 64.0  # kg/m3, of mats that do not say: median of MAT_SOURCE
MAT_FLOW = 51e3  # Pa s/m2, of such mats: fibres of 6 um at MAT_DENSITY, see data/mats.toml
MAT_SOURCE = "median of the mats of Hopkins 2007 Table A3"
_STIFF = {
    "loss_factor": 0.05,
    "dynamic_to_static": 1.0,
    "mass": 0.0,
    "creep_factor": 1.0,
    "cold_factor": 1.0,
}
NEEDS: dict[str, tuple[tuple[str, ...], dict[str, float]]] = {
    "board": _SOLID, "timber": _SOLID, "slab": _SOLID,
    "fill": (("flow_resistivity",), {"density": 40.0}),
    "loose fill": (("density",), {"loss_factor": 0.05}),
    "mat": (("stiffness_per_area", "thickness"),
            {"loss_factor": 0.1, "density": MAT_DENSITY, "flow_resistivity": MAT_FLOW}),
    "covering": (("contact_stiffness",),
                 {"loss_factor": 0.2, "mass_per_area": 2.0, "thickness": 0.007}),
    "sealant": (("shear_modulus",), {"loss_factor": 0.2}),
    "hanger": _POINT, "direct fixing": (("dynamic_stiffness",), _STIFF),
    "resilient channel": (("dynamic_stiffness",),
                          {**_STIFF, "height": 0.013, "own_resonance": 1730.0}),
    "channel": (("bending_stiffness", "mass_per_length", "height"), {"torsional_stiffness": 0.3}),
}  # fmt: skip
OWN_TABLES = {
    "materials": ("board", ("board", "timber", "slab", "fill", "loose fill", "mat", "covering",
                            "sealant")),
    "hanger_classes": ("hanger", ("hanger", "resilient channel", "direct fixing")),
    "channels": ("channel", ("channel",)),
}  # fmt: skip


def may_have(kind: str) -> tuple[str, ...]:
    """Keys of the properties that an entry of one's own of this kind may have, the needed first."""
    needed, rest = NEEDS[kind]
    more: tuple[str, ...] = ()
    if kind in ("board", "timber", "slab"):
        more = ("youngs_modulus_across", "modulus_through", "shear_modulus")
    if kind in ("hanger", "resilient channel"):
        more = ("load_minimum", "load_maximum")
    return (*needed, *rest, *more)


def own_entries(raw: dict[str, Any], ledger: Ledger) -> None:
    """Read [materials], [hanger_classes] and [channels] into `ledger.own`."""
    for section, (usual_kind, kinds) in OWN_TABLES.items():
        table = raw.get(section, {})
        if not isinstance(table, dict):
            ledger.fault(section, f'is no table; write [{section}."name of your own"]')
            continue
        for name, body in table.items():
            _own_entry(name, body, usual_kind, kinds, join(section, name), ledger)


def _own_entry(
    name: str, body: Any, usual_kind: str, kinds: tuple[str, ...], path: str, ledger: Ledger
) -> None:
    if not isinstance(body, dict):
        ledger.fault(path, "is no table; write its properties one by one")
        return
    base: Entry | None = None
    if "based_on" in body:
        base = catalogue.find(str(body["based_on"]), *kinds)
        if base is None:
            near = catalogue.suggest(str(body["based_on"]), *kinds)
            hint = f"; did you mean '{near}'?" if near else ""
            ledger.fault(join(path, "based_on"), f"{body['based_on']!r} is not known{hint}")
    kind = body.get("kind", base.kind if base else usual_kind)
    if "kind" not in body and base is None:
        ledger.default(join(path, "kind"), usual_kind, f"usual in [{path.split('.')[0]}]")
    if kind not in kinds:
        ledger.fault(join(path, "kind"), f"{kind!r} is none of {', '.join(kinds)}")
        return
    needed, rest = NEEDS[kind]
    allowed = set(may_have(kind))
    properties = dict(base.properties) if base else {}
    for key, value in body.items():
        if key in allowed:
            found = read_property(value, key, join(path, key), ledger)
            if found is not None:
                properties[key] = found
        elif key not in ("kind", "based_on", "about", "source", "channel"):
            near = catalogue.nearest(key, sorted(allowed | {"kind", "based_on", "about", "source"}))
            hint = (
                f"did you mean '{near}'?" if near else f"known here: {', '.join(sorted(allowed))}"
            )
            ledger.fault(join(path, key), f"unknown key; {hint}")
    for key in needed:
        if key not in properties and key not in body:
            ledger.fault(join(path, key), f"missing; a {kind} needs {', '.join(needed)}")
        # at fault here or above; a stand-in, so that the faults of its users are still found
        properties.setdefault(key, Property(1.0, 1.0, 1.0, "", "", "design file"))
    for key, value in rest.items():
        if key not in properties:
            properties[key] = Property(value, value, value, "", "", "not given")
            ledger.default(
                join(path, key),
                ledger.show(value, catalogue.PROPERTIES[key][0]),
                "common practice, no source",
            )
    channel = str(body.get("channel", base.channel if base else "furring channel 7/8 in, 18 mil"))
    ledger.own[catalogue.plain(name)] = Entry(
        name, kind, str(body.get("about", "of the file's own")), properties, channel
    )


@dataclass(frozen=True)
class Chosen:
    """An entry with the properties that the table naming it has changed."""

    entry: Entry
    name: str
    properties: dict[str, Property]

    def value(self, key: str, otherwise: float | None = None) -> float:
        """SI value of a property; `otherwise` where there is none."""
        found = self.properties.get(key)
        if found is not None:
            return found.value
        if otherwise is None:
            raise KeyError(f"{self.name} has no {key}")
        return otherwise


def choose(
    entry: Entry, values: dict[str, Any], keys: tuple[str, ...], path: str, ledger: Ledger
) -> Chosen:
    """Merge the entry with what the table at `path` says itself about the properties `keys`."""
    properties, changed = dict(entry.properties), False
    for key in keys:
        value = values.get(key)
        if value is None:
            continue
        spread = ledger.spreads.pop(join(path, key), None)
        low, high = (spread.low, spread.high) if spread else (value, value)
        source = spread.source if spread else "design file"
        properties[key], changed = Property(value, low, high, "", "", source), True
    name = f"{entry.name} ({path})" if changed else entry.name
    return Chosen(entry, name, properties)


def note(chosen: Chosen, keys: tuple[str, ...], path: str, ledger: Ledger) -> None:
    """Note spreads of `keys` below `path`, and one line of defaults for what the catalogue gave."""
    shown = []
    for key in keys:
        found = chosen.properties.get(key)
        if found is None:
            continue
        ledger.spread(join(path, key), found.low, found.high, found.source)
        if found.source not in ("design file", "not given"):
            label = catalogue.PROPERTIES[key][1].split(",")[0]
            shown.append(f"{label} {ledger.show(found.value, catalogue.PROPERTIES[key][0])}")
    if shown and not any(default.path == path for default in ledger.defaults):
        ledger.default(path, "; ".join(shown), f"catalogue entry '{chosen.entry.name}'")


_SOLID_KEYS = (
    "density",
    "youngs_modulus",
    "youngs_modulus_across",
    "modulus_through",
    "shear_modulus",
    "poisson",
    "loss_factor",
)


def solid(
    entry: Entry, values: dict[str, Any], path: str, ledger: Ledger, noted: str | None = None
) -> Material:
    """Material of a layer, joist or slab; spreads are noted under materials.<name> or `noted`."""
    chosen = choose(entry, values, _SOLID_KEYS, path, ledger)
    if values.get("mass_per_area") is not None and values.get("thickness"):
        scale = values["thickness"]
        spread = ledger.spreads.pop(join(path, "mass_per_area"), None)
        mass = values["mass_per_area"]
        low, high = (spread.low, spread.high) if spread else (mass, mass)
        chosen.properties["density"] = Property(
            mass / scale, low / scale, high / scale, "", "", "design file"
        )
        chosen = Chosen(entry, f"{entry.name} ({path})", chosen.properties)
        if values.get("density") is not None:
            ledger.fault(join(path, "density"), "stands beside mass_per_area; leave one out")
    where = noted or f"materials.{chosen.name}"
    note(chosen, _SOLID_KEYS, where, ledger)
    modulus, poisson = chosen.value("youngs_modulus"), chosen.value("poisson", 0.3)
    across = chosen.value("youngs_modulus_across", modulus)
    if (
        "youngs_modulus" in values
        and values["youngs_modulus"]
        and not values.get("youngs_modulus_across")
    ):  # a changed modulus keeps the ratio of the two directions
        known = entry.value("youngs_modulus", modulus) or modulus
        across *= modulus / known if "youngs_modulus_across" in entry.properties else 1.0
    twist = chosen.value("shear_modulus", (modulus * across) ** 0.5 / (2 * (1 + poisson)))
    through = chosen.properties.get("modulus_through")
    return Material(
        chosen.name,
        chosen.value("density"),
        modulus,
        across,
        poisson,
        chosen.value("loss_factor", 0.02),
        twist,
        through.value if through else None,
        entry.kind == "slab",
    )


def layers(
    rows: list[dict[str, Any]], path: str, ledger: Ledger, floor: bool, on_slab: bool = False
) -> tuple[Layer, ...]:
    """Layers of a leaf, `count` expanded; first layer nearest to the joists, or to the slab, to
    which it is bonded."""
    made: list[Layer] = []
    for i, row in enumerate(rows):
        where = f"{path}[{i}]"
        if not ledger.clean(where):
            if row["bond"] == "floating":
                _mat(row, where, ledger, floor)  # its own faults in the same message
            continue
        material = solid(row["material"], row, where, ledger)
        bond = row["bond"]
        if bond is None:
            bond = "nailed"
            if made or on_slab:
                ledger.default(join(where, "bond"), bond, "common practice, no source")
        elif bond == "screwed":
            bond = "nailed"  # neither makes two boards bend as one
            ledger.default(join(where, "bond"), bond, "screwed counts as nailed")
        axis = row["strong_axis"]
        if axis is None:
            axis = "across"
            if material.youngs_modulus != material.youngs_modulus_across:
                what = "joists" if floor else "channels"
                ledger.default(
                    join(where, "strong_axis"), axis, f"boards are laid across the {what}"
                )
        mat = _mat(row, where, ledger, floor) if bond == "floating" else None
        if bond != "floating" and (row["mat"] is not None or row["batten_spacing"] is not None):
            ledger.fault(where, 'has a mat but is not floating; write bond = "floating"')
        made.extend([Layer(material, row["thickness"], bond, axis, mat)] * (row["count"] or 1))
    return tuple(made)


def layers_loss(layers: Sequence[Layer]) -> float:
    """Loss factor [-] of layers that bend together unglued: the mean of their own by the energy
    each holds, that is by its bending stiffness E t^3 (Ungar, Kerwin, see `build.deck_loss`)."""
    weights = [x.material.youngs_modulus * x.thickness**3 for x in layers]
    total = sum(w * x.material.loss_factor for w, x in zip(weights, layers, strict=True))
    return total / sum(weights)


def _mat(row: dict[str, Any], path: str, ledger: Ledger, floor: bool) -> Mat | None:
    if not floor:
        ledger.fault(join(path, "bond"), "'floating' is for layers of the floor")
        return None
    if row["count"] and row["count"] > 1:
        ledger.fault(
            join(path, "count"), "a floating layer stands alone; the next is 'glued' to it"
        )
    raw, rest = row["mat"], NEEDS["mat"][1]
    if raw is None:
        ledger.fault(join(path, "mat"), 'missing; a floating layer needs mat = "name of a mat"')
        return None
    where = join(path, "mat")
    body = raw if isinstance(raw, dict) else {"material": raw}
    values = read_table(body, MAT, where, ledger)
    if not ledger.clean(where):
        return None
    entry = values["material"]
    if entry is None:
        missing = [k for k in ("stiffness_per_area", "thickness") if values[k] is None]
        for key in missing:
            ledger.fault(join(where, key), "missing; give it, or the name of a mat as material")
        if missing:
            return None
        entry = Entry("mat", "mat", "of the file's own", {}, "")
    keys = ("stiffness_per_area", "loss_factor", "thickness", "density", "flow_resistivity")
    chosen = choose(entry, values, keys, where, ledger)
    note(chosen, keys, where, ledger)
    spacing = row["batten_spacing"]
    density, flow = (chosen.value(key, rest[key]) for key in ("density", "flow_resistivity"))
    if spacing is not None:
        density, flow = 0.0, 0.0  # how much strip there is, and so its mass, is not known
    else:
        for key, value, dimension in (
            ("density", density, "density"), ("flow_resistivity", flow, "flow resistivity"),
        ):  # fmt: skip
            if key not in chosen.properties:
                text = f"{ledger.show(value, dimension)}, a fibre mat"
                ledger.default(join(where, key), text, MAT_SOURCE)
    if "loss_factor" not in chosen.properties:
        loss = f"{rest['loss_factor']:g}"
        ledger.default(join(where, "loss_factor"), loss, "common practice, no source")
    return Mat(
        chosen.name,
        chosen.value("stiffness_per_area"),
        chosen.value("loss_factor", rest["loss_factor"]),
        chosen.value("thickness"),
        spacing,
        density,
        flow,
        where,
    )

"""What is uncertain about a design: each input with its range and how the design changes with it.

An input is one standard normal variable z. z = 0 is the design as it stands, z = -END and END are
the low and high ends of its catalogue range, which count as its 5 % and 95 % points. Between and
beyond them a positive quantity moves in equal ratios, one that may be zero in equal steps, with a
slope of its own on either side. Properties that go together (all moduli of one deck, the mass of
all boards) move together; inputs are taken as independent of each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from operator import attrgetter
from typing import Any

from impact.design.fixings import called, said_of, table_of
from impact.design.parts import Design, Layer, Material, Spread

END = 1.6449  # standard deviations from the median of a normal variable to an end of its 90 % band
FAR = 2.5  # draws beyond this many standard deviations are drawn in to it: ranges are not endless

# How an input acts, which decides how its effect is found: see `impact.spread.modal`.
KINDS = ("floor", "points", "boards", "air", "link", "blow", "room")


@dataclass(frozen=True)
class Input:
    """One uncertain input.

    key : short name in JSON. label : as printed. kind : one of KINDS. change : design and z -> the
    design with this input moved. measure : how somebody would find its true value.
    part : what of its kind it moves ("mass", "stiffness", "damping", or a joint's name).
    """

    key: str
    label: str
    kind: str
    change: Callable[[Design, float], Design]
    measure: str
    part: str = ""


def moved(value: float, low: float, high: float, z: float) -> float:
    """`value` moved by z: low at -END, high at END, itself at 0; never below 0.

    In equal ratios where value and the end in question are positive, else in equal steps. A value
    that lies outside its own range is taken to be the end of it.
    """
    end = max(high, value) if z > 0 else min(low, value)
    share = abs(z) / END
    if value > 0 and end > 0:
        return float(value * (end / value) ** share)
    return float(max(0.0, value + (end - value) * share))


def inputs(design: Design) -> tuple[Input, ...]:
    """The inputs of `design` whose range is known (`design.spreads`), in a fixed order."""
    known = {spread.path: spread for spread in design.spreads}
    found: list[Input] = []
    for part in (_joists, _slab, _deck, _floor, _hangers, _edge, _air, _boards, _old, _mat, _blow):
        found += part(design, known)
    return tuple(found)


def _scaled(design: Design, z: float, path: str, names: Sequence[str], nominal: float,
            spread: Spread) -> Design:  # fmt: skip
    """Fields `names` of the part at attribute path `path`, all scaled as one property moves."""
    factor = moved(nominal, spread.low, spread.high, z) / nominal
    part = attrgetter(path)(design)
    return _put(design, path, {name: getattr(part, name) * factor for name in names})


def _put(part: Any, path: str, values: dict[str, Any]) -> Any:
    """`part` with fields `values` of the part at attribute path `path` replaced."""
    if not path:
        return replace(part, **values)
    first, _, rest = path.partition(".")
    return replace(part, **{first: _put(getattr(part, first), rest, values)})


def _set(design: Design, z: float, path: str, name: str, spread: Spread, limit: float) -> Design:
    value = moved(attrgetter(f"{path}.{name}")(design), spread.low, spread.high, z)
    return _put(design, path, {name: min(value, limit)})


def _plain(
    known: dict[str, Spread], at: str, path: str, name: str, limit: float = float("inf")
) -> Callable[[Design, float], Design] | None:
    """Change of one field with a range of its own; None when the range is not known."""
    spread = known.get(at)
    if spread is None:
        return None
    return lambda design, z: _set(design, z, path, name, spread, limit)


def _made(
    key: str, label: str, kind: str, change: Any, measure: str, part: str = ""
) -> list[Input]:
    return [] if change is None else [Input(key, label, kind, change, measure, part)]


STIFF = ("bending_stiffness", "axial_stiffness", "shear_stiffness", "torsional_stiffness",
         "lateral_stiffness")  # fmt: skip


def _joists(design: Design, known: dict[str, Spread]) -> list[Input]:
    joists = design.floor.joists
    if joists is None:
        return []
    found: list[Input] = []
    modulus = known.get("floor.joists.youngs_modulus")
    section = joists.width * joists.depth
    if modulus is not None:
        nominal = (modulus.low * modulus.high) ** 0.5
        if joists.kind == "solid":
            nominal = 12 * joists.bending_stiffness / (section * joists.depth**2)
        change = partial(_scaled, path="floor.joists", names=STIFF, nominal=nominal, spread=modulus)
        found += _made("joist_stiffness", "stiffness of the joists", "floor", change,
                       "floor's lowest resonance from a heel drop", "stiffness")  # fmt: skip
    whole = known.get("floor.joists.bending_stiffness")
    if whole is not None:
        change = partial(_scaled, path="floor.joists", names=STIFF,
                         nominal=joists.bending_stiffness, spread=whole)  # fmt: skip
        found += _made("joist_stiffness", "stiffness of the joists", "floor", change,
                       "floor's lowest resonance from a heel drop", "stiffness")  # fmt: skip
    found += _made(
        "deck_fastening", "hold of the deck on the joists", "floor",
        _plain(known, "floor.joists.slip_modulus_per_length", "floor.joists",
               "slip_modulus_per_length"),
        "look for glue and fastener spacing from below", "stiffness",
    )  # fmt: skip
    found += _made(
        "edge_fixity", "fixity of the joists' ends", "floor",
        _plain(known, "floor.joists.edge_fixity", "floor.joists", "edge_fixity", 1.0),
        "look how the joists bear; floor's lowest resonance", "stiffness",
    )  # fmt: skip
    found += _made(
        "blocking", "stiffness of the blocking", "floor",
        _plain(known, "floor.joists.blocking_stiffness", "floor.joists", "blocking_stiffness"),
        "look whether the blocking is tight", "stiffness",
    )  # fmt: skip
    return found


def _slab(design: Design, known: dict[str, Spread]) -> list[Input]:
    slab = design.floor.slab
    if slab is None:
        return []
    found: list[Input] = []
    modulus = known.get(_first(known, "floor.slab.", "youngs_modulus"))
    if modulus is not None:
        names = ("bending_stiffness_along", "bending_stiffness_across", "twisting_stiffness")
        change = partial(_scaled, path="floor.slab", names=names,
                         nominal=(modulus.low * modulus.high) ** 0.5, spread=modulus)  # fmt: skip
        found += _made("slab_stiffness", "stiffness of the slab", "floor", change,
                       "floor's lowest resonance from a heel drop", "stiffness")  # fmt: skip
    found += _made(
        "edge_fixity", "fixity of the slab's edges", "floor",
        _plain(known, "floor.slab.edge_fixity", "floor.slab", "edge_fixity", 1.0),
        "floor's lowest resonance from a heel drop", "stiffness",
    )  # fmt: skip
    return found


def _first(known: dict[str, Spread], start: str, end: str) -> str:
    """The first path with this start and end, "" without one."""
    return next((path for path in known if path.startswith(start) and path.endswith(end)), "")


def _material(material: Material, known: dict[str, Spread], names: Sequence[str], z: float
              ) -> Material:  # fmt: skip
    """The material with those of its properties moved that have a range."""
    values: dict[str, Any] = {}
    for name in names:
        spread = known.get(f"materials.{material.name}.{name}")
        if spread is not None:
            values[name] = moved(getattr(material, name), spread.low, spread.high, z)
    return replace(material, **values)


def _with_layers(known: dict[str, Spread], names: Sequence[str], path: str, design: Design,
                 z: float) -> Design:  # fmt: skip
    part = attrgetter(path)(design)
    layers = tuple(
        replace(layer, material=_material(layer.material, known, names, z)) for layer in part.layers
    )
    return _put(design, path, {"layers": layers})


MODULI = ("youngs_modulus", "youngs_modulus_across", "shear_modulus")


def _any(layers: Sequence[Layer], known: dict[str, Spread], names: Sequence[str]) -> bool:
    return any(f"materials.{x.material.name}.{name}" in known for x in layers for name in names)


def _deck(design: Design, known: dict[str, Spread]) -> list[Input]:
    if not _any(design.floor.layers, known, MODULI):
        return []
    change = partial(_with_layers, known, MODULI, "floor")
    return _made("deck_stiffness", "stiffness of the deck's boards", "floor", change,
                 "look which boards and how they lie", "stiffness")  # fmt: skip


def _heavier(known: dict[str, Spread], design: Design, z: float) -> Design:
    """Joists or slab and all layers above them, by density."""
    out = _with_layers(known, ("density",), "floor", design, z)
    joists, slab = design.floor.joists, design.floor.slab
    if joists is not None and (spread := known.get("floor.joists.density")):
        nominal = (spread.low * spread.high) ** 0.5
        if joists.kind == "solid":
            nominal = joists.mass_per_length / (joists.width * joists.depth)
        out = _scaled(out, z, "floor.joists", ("mass_per_length",), nominal, spread)
    if slab is not None and (spread := known.get(_first(known, "floor.slab.", "density"))):
        nominal = (spread.low * spread.high) ** 0.5
        out = _scaled(out, z, "floor.slab", ("mass_per_area",), nominal, spread)
    return out


def _floor(design: Design, known: dict[str, Spread]) -> list[Input]:
    found: list[Input] = []
    dense = "floor.joists.density" in known or _first(known, "floor.slab.", "density")
    if dense or _any(design.floor.layers, known, ("density",)):
        found += _made("floor_mass", "mass of the floor", "floor", partial(_heavier, known),
                       "weigh a piece of deck; list what lies on it", "mass")  # fmt: skip
    loss = "floor.loss_factor" if "floor.loss_factor" in known else "floor.slab.loss_factor"
    found += _made(
        "floor_damping", "damping of the floor", "floor",
        _plain(known, loss, "floor", "loss_factor"),
        "let the floor ring after a heel drop and read its decay", "damping",
    )  # fmt: skip
    return found


def _hangers(design: Design, known: dict[str, Spread]) -> list[Input]:
    points = design.hangers
    if points is None:
        return []
    table, names = table_of(points), called(points)
    return _made(
        "hanger_stiffness", f"dynamic stiffness of the {names}", "points",
        _plain(known, f"{table}.dynamic_stiffness", "hangers", "dynamic_stiffness"),
        said_of(points, "load one hanger on a bench and let it ring"), "hangers",
    ) + _made(
        "hanger_damping", f"damping of the {names}", "points",
        _plain(known, f"{table}.loss_factor", "hangers", "loss_factor"),
        said_of(points, "load one hanger on a bench and read its decay"), "hangers",
    )  # fmt: skip


def _edge(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.independent is not None:
        return []
    at, path = "ceiling.perimeter.", "ceiling.perimeter"
    field = {"sealed": "bead_modulus", "touching": "touching_stiffness"}
    name = field.get(design.ceiling.perimeter.kind)
    if name is None:
        return []
    return _made(
        "edge_stiffness", "stiffness of the ceiling's edge", "points",
        _plain(known, at + name, path, name), "pull a cured bead of the sealant", "perimeter",
    ) + _made(
        "edge_damping", "damping of the ceiling's edge", "points",
        _plain(known, at + "bead_loss_factor", path, "bead_loss_factor"),
        "pull a cured bead of the sealant", "perimeter",
    )  # fmt: skip


def _air(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.cavity.fill is None:
        return []
    return _made(
        "fill", "flow resistivity of the fill", "air",
        _plain(known, "cavity.fill.flow_resistivity", "cavity.fill", "flow_resistivity"),
        "ask for its ISO 9053-1 test",
    )  # fmt: skip


def _boards(design: Design, known: dict[str, Spread]) -> list[Input]:
    layers = design.ceiling.layers
    found: list[Input] = []
    if _any(layers, known, ("density",)):
        change = partial(_with_layers, known, ("density",), "ceiling")
        found += _made("ceiling_mass", "mass of the boards", "boards", change, "weigh a board",
                       "mass")  # fmt: skip
    if _any(layers, known, MODULI):
        change = partial(_with_layers, known, MODULI, "ceiling")
        found += _made("ceiling_stiffness", "stiffness of the boards", "boards", change,
                       "load a strip of board", "stiffness")  # fmt: skip
    return found + _made(
        "ceiling_damping", "damping of the ceiling", "boards",
        _plain(known, "ceiling.loss_factor", "ceiling", "loss_factor"),
        "tap the finished ceiling and read its decay", "damping",
    )  # fmt: skip


def _old(design: Design, known: dict[str, Spread]) -> list[Input]:
    if design.old_ceiling is None:
        return []
    return _made(
        "old_fixings", "stiffness of the old ceiling's fixings", "link",
        _plain(known, "old_ceiling.fixing_stiffness", "old_ceiling", "fixing_stiffness"),
        "look how the old ceiling is fixed", "old fixings",
    )  # fmt: skip


def _softer(spreads: dict[int, Spread], design: Design, z: float) -> Design:
    layers = list(design.floor.layers)
    for place, spread in spreads.items():
        mat = layers[place].mat
        assert mat is not None
        stiff = moved(mat.stiffness_per_area, spread.low, spread.high, z)
        layers[place] = replace(layers[place], mat=replace(mat, stiffness_per_area=stiff))
    return replace(design, floor=replace(design.floor, layers=tuple(layers)))


def _mat(design: Design, known: dict[str, Spread]) -> list[Input]:
    spreads = {}
    for place, layer in enumerate(design.floor.layers):
        spread = known.get(f"floor.layers[{place}].mat.stiffness_per_area")
        if layer.mat is not None and spread is not None:
            spreads[place] = spread
    if not spreads:
        return []
    return _made("mat_stiffness", "dynamic stiffness of the mat", "link",
                 partial(_softer, spreads), "ask for its ISO 9052-1 test", "mat")  # fmt: skip


def _blow(design: Design, known: dict[str, Spread]) -> list[Input]:
    found = _made(
        "rebound", "rebound of the hammers", "blow",
        _plain(known, "tapping.rebound", "tapping", "rebound", 1.0),
        "film or record a hammer's second blow",
    )  # fmt: skip
    if design.floor.covering is not None:
        found += _made(
            "covering", "contact stiffness of the covering", "blow",
            _plain(known, "floor.covering.contact_stiffness", "floor.covering",
                   "contact_stiffness"),
            "ask for the covering's ISO 10140 test",
        )  # fmt: skip
    return found + _made(
        "reverberation", "reverberation time of the room", "room",
        _plain(known, "room.reverberation_time", "room", "reverberation_time"),
        "measure it by ISO 3382-2",
    )  # fmt: skip

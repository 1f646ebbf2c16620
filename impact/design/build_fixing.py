"""How the ceiling hangs: hangers, resilient channels, direct fixing, joists of its own."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from impact.base import units
from impact.design import build_spacing
from impact.design.build_joists import build_joists
from impact.design.build_spacing import Place, is_pair
from impact.design.catalogue import PROPERTIES
from impact.design.checks import Ledger, join, read_table
from impact.design.fixings import KIND
from impact.design.materials import Chosen, choose
from impact.design.parts import Channel, Hangers, IndependentJoists
from impact.design.schema_ceiling import DIRECT_FIXING, HANGERS, RESILIENT_CHANNELS
from impact.design.schema_floor import INDEPENDENT

FIXINGS = ("hangers", "resilient_channels", "direct_fixing", "independent_joists")
_INCH = units.INCH
_POINT_KEYS = (
    "dynamic_stiffness",
    "loss_factor",
    "dynamic_to_static",
    "load_minimum",
    "load_maximum",
    "creep_factor",
    "cold_factor",
    "mass",
    "own_resonance",
)


def only_fixing(raw: dict[str, Any], ledger: Ledger) -> str | None:
    """The one table of `FIXINGS` that the file has; a fault when there is none or more."""
    found = [name for name in FIXINGS if name in raw]
    listed = ", ".join(f"[{name}]" for name in FIXINGS)
    if not found:
        ledger.fault("hangers", f"missing; how the ceiling is held, one of {listed}")
    for name in found[1:]:
        ledger.fault(name, f"stands beside [{found[0]}]; keep exactly one of {listed}")
    return found[0] if len(found) == 1 else None


def read_fixing(name: str, raw: Any, ledger: Ledger) -> dict[str, Any]:
    """Checked values of the fixing's table."""
    rows = {
        "hangers": HANGERS,
        "resilient_channels": RESILIENT_CHANNELS,
        "direct_fixing": DIRECT_FIXING,
        "independent_joists": INDEPENDENT,
    }
    values = read_table(raw, rows[name], name, ledger)
    curve = values.get("load_deflection")
    values["load_deflection"] = _curve(curve, join(name, "load_deflection"), ledger)
    values["positions"] = build_spacing.pairs(values.get("positions"), ledger)
    return values


def build_independent(
    values: dict[str, Any], place: Place, ledger: Ledger
) -> IndependentJoists | None:
    """Ceiling joists of their own, wall to wall."""
    path = "independent_joists"
    span = values["span"]
    if span is None:
        span = place.width if place.along == "width" else place.length
        ledger.default(join(path, "span"), ledger.show(span, "length"), f"the room's {place.along}")
    made = build_joists(values, path, ledger, None, place.along, span)
    return None if made is None else IndependentJoists(made)


def build_hangers(
    name: str, values: dict[str, Any], place: Place, ledger: Ledger
) -> Hangers | None:
    """Point supports of [hangers], [resilient_channels] or [direct_fixing]; None after a fault."""
    chosen = choose(values["class"], values, _POINT_KEYS, name, ledger)
    spring = _spring(values, chosen, name, ledger)
    height = _height(values, chosen, name, place, ledger)
    channel = None if name == "direct_fixing" else _channel(values, chosen, name, ledger)
    _fits(channel, name, place, ledger)
    across = build_spacing.hanger_spacing(values, name, place, ledger)
    lines = build_spacing.channel_spacing(values, name, across, ledger)
    positions = build_spacing.positions(values["positions"], place, ledger)
    edge = values["edge_distance"]
    if edge is None:
        edge = 8 * _INCH if name == "hangers" else 6 * _INCH
        ledger.default(
            join(name, "edge_distance"),
            ledger.show(edge, "length"),
            "first row 6 to 8 in from the wall, common practice, no source",
        )
    if not ledger.clean(name) or spring is None:
        return None
    return Hangers(
        kind=KIND[name],
        name=chosen.entry.name,
        **spring,
        channel_spacing=lines,
        hanger_spacing=across,
        edge_distance=edge,
        channel=channel,
        height=height,
        mass=chosen.value("mass", 0.0),
        creep_factor=chosen.value("creep_factor", 1.0),
        cold_factor=chosen.value("cold_factor", 1.0),
        withdrawal_capacity=values["withdrawal_capacity"],
        positions=positions,
        own_resonance=chosen.value("own_resonance", math.inf),
    )


def check_alone(name: str, values: dict[str, Any], place: Place, ledger: Ledger) -> None:
    """What can be told of a fixing that other faults keep from being built: its spacing against the
    joists', its rated loads against each other."""
    least, most = values.get("load_minimum"), values.get("load_maximum")
    if least is not None and most is not None and least >= most:
        _crossed(name, least, most, ledger)
    spaced = name != "hangers" or values["hanger_spacing"] is not None
    if spaced and ledger.clean(join(name, "hanger_spacing"), join(name, "positions")):
        build_spacing.hanger_spacing(values, name, place, ledger)


def _crossed(path: str, least: float, most: float, ledger: Ledger) -> None:
    ledger.fault(
        join(path, "load_minimum"),
        f"{ledger.show(least, 'force')} is not below load_maximum, {ledger.show(most, 'force')}",
    )


def _spring(
    values: dict[str, Any], chosen: Chosen, path: str, ledger: Ledger
) -> dict[str, Any] | None:
    curve = values["load_deflection"]
    if not ledger.clean(path):
        return None
    ratio = chosen.value("dynamic_to_static", 1.0)
    dynamic, static = values["dynamic_stiffness"], values.get("static_stiffness")
    if static is None and curve:
        static = _middle_slope(curve)
        ledger.default(
            join(path, "static_stiffness"),
            ledger.show(static, "stiffness"),
            "slope in the middle of load_deflection",
        )
    if static is not None and dynamic is not None and values.get("dynamic_to_static") is not None:
        ledger.fault(
            join(path, "dynamic_to_static"),
            "follows from dynamic_stiffness and the static stiffness; leave one of the three out",
        )
    if dynamic is None and static is not None:
        dynamic = static * ratio
        why = f"static stiffness times {ratio:g}"
        if own := chosen.properties.get("dynamic_stiffness"):
            why += f", in place of the class's {ledger.show(own.value, 'stiffness')}"
        ledger.default(join(path, "dynamic_stiffness"), ledger.show(dynamic, "stiffness"), why)
        spread = chosen.properties["dynamic_to_static"]
        ledger.spread(
            join(path, "dynamic_stiffness"), static * spread.low, static * spread.high, why
        )
        unused: tuple[str, ...] = ("dynamic_stiffness",)
    else:
        unused = ("dynamic_to_static",) if static is not None or path == "direct_fixing" else ()
    _note_points(chosen, unused, path, ledger)
    dynamic = chosen.value("dynamic_stiffness") if dynamic is None else dynamic
    if static is None:
        static = dynamic / ratio
    elif static > dynamic * (1 + 1e-6):
        ledger.warnings.append(
            f"{path}: static stiffness above dynamic stiffness; rubber and steel "
            "springs have it the other way round"
        )
    least, most = (chosen.properties.get(key) for key in ("load_minimum", "load_maximum"))
    if least and most and least.value >= most.value:
        _crossed(path, least.value, most.value, ledger)
    return {
        "dynamic_stiffness": dynamic,
        "static_stiffness": static,
        "load_deflection": curve,
        "loss_factor": chosen.value("loss_factor", 0.05),
        "load_minimum": least.value if least else None,
        "load_maximum": most.value if most else None,
    }


def _note_points(chosen: Chosen, unused: tuple[str, ...], path: str, ledger: Ledger) -> None:
    """Each property of a hanger class that was used is a default of its own, for all to see."""
    plain = ("creep_factor", "cold_factor", "mass") if path == "direct_fixing" else ()
    for key in _POINT_KEYS:
        found = chosen.properties.get(key)
        if found is None or key in unused or key in plain:
            continue
        ledger.spread(join(path, key), found.low, found.high, found.source)
        if found.source not in ("design file", "not given"):
            ledger.default(
                join(path, key),
                ledger.show(found.value, PROPERTIES[key][0]),
                f"class '{chosen.entry.name}': {found.source}",
            )


def _curve(raw: Any, path: str, ledger: Ledger) -> tuple[tuple[float, float], ...]:
    if raw is None:
        return ()
    if not isinstance(raw, list) or not raw or not all(is_pair(point) for point in raw):
        ledger.fault(path, 'is no list of pairs; write [["100 N", "1.2 mm"], ["200 N", "2.2 mm"]]')
        return ()
    points = []
    for i, (load, deflection) in enumerate(raw):
        try:
            points.append((units.parse(load, "force"), units.parse(deflection, "length")))
        except units.UnitError as fault:
            ledger.fault(f"{path}[{i}]", str(fault))
    if points and points[0] == (0.0, 0.0):
        points = points[1:]
    before = (0.0, 0.0)
    for i, point in enumerate(points):
        if point[0] <= before[0] or point[1] <= before[1]:
            ledger.fault(f"{path}[{i}]", "loads and deflections must both rise from zero on")
        before = point
    return tuple(points)


def _middle_slope(curve: tuple[tuple[float, float], ...]) -> float:
    points = ((0.0, 0.0), *curve)
    middle = points[-1][0] / 2
    for (load, deflection), (load2, deflection2) in pairwise(points):
        if load2 >= middle:
            return (load2 - load) / (deflection2 - deflection)
    raise ValueError("empty load-deflection curve")


def _height(
    values: dict[str, Any], chosen: Chosen, path: str, place: Place, ledger: Ledger
) -> float:
    if path == "direct_fixing":
        return 0.0
    height = values["height"]
    if height is None and place.clear_depth is not None:
        height = place.clear_depth
        ledger.default(
            join(path, "height"), ledger.show(height, "length"), "the clear depth of the cavity"
        )
        usual = chosen.entry.properties.get("height")
        if usual is not None and height < usual.low - 1e-3:
            ledger.warnings.append(
                f"{path}: '{chosen.entry.name}' mostly needs {ledger.show(usual.low, 'length')} or "
                f"more, the clear depth is {ledger.show(height, 'length')}; give {path}.height if "
                "yours is lower, or make the cavity deeper"
            )
    elif height is None:
        height = chosen.value("height", 0.041)
        ledger.default(
            join(path, "height"), ledger.show(height, "length"), f"class '{chosen.entry.name}'"
        )
    elif place.clear_depth is not None and height > place.clear_depth + 1e-3:
        ledger.warnings.append(
            f"{path}.height: more than the clear depth of the cavity; the hanger must "
            "then sit beside the joist"
        )
    return float(height)


def _channel(values: dict[str, Any], chosen: Chosen, path: str, ledger: Ledger) -> Channel | None:
    entry = values["channel"]
    where = join(path, "channel")
    if entry is None:
        entry = ledger.find(chosen.entry.channel, "channel")
        if entry is None:
            what = f"'{chosen.entry.channel}', usual with the class, is not known"
            what = what if chosen.entry.channel else "missing; the class names none"
            ledger.fault(where, f"{what}; name one: `impact materials --kind channel`")
            return None
        ledger.default(where, entry.name, f"usual with '{chosen.entry.name}'")
    picked = Chosen(entry, entry.name, entry.properties)
    for key in ("bending_stiffness", "torsional_stiffness"):
        found = picked.properties.get(key)
        if found:
            ledger.spread(join(where, key), found.low, found.high, found.source)
    return Channel(
        entry.name,
        picked.value("bending_stiffness"),
        picked.value("torsional_stiffness", 0.3),
        picked.value("mass_per_length"),
        picked.value("height"),
        values["allowable_moment"],
    )


def _fits(channel: Channel | None, name: str, place: Place, ledger: Ledger) -> None:
    depth = place.clear_depth
    if depth is None:
        return
    if name == "direct_fixing" and depth > 1e-3:
        ledger.fault(
            "cavity.clear_depth",
            f"{ledger.show(depth, 'length')} of gap cannot be with boards "
            "fixed to the joists; leave it out, or use [hangers] with a 'rigid bracket'",
        )
    if channel is not None and depth < channel.height - 1e-3:
        ledger.fault(
            "cavity.clear_depth",
            f"{ledger.show(depth, 'length')} is less than the channel's own "
            f"height of {ledger.show(channel.height, 'length')}",
        )

"""How one number came about: what a chain of steps is, and the chains of masses and springs.

A step names the function that computed it. Equation, source and range are that function's own
docstring and its module's: there is no second copy of a method to go stale.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from impact.advice import resonance
from impact.advice.resonance import frequency, pair_frequency
from impact.base.units import show
from impact.design.fixings import KIND, said_of
from impact.design.parts import Design
from impact.leaf.plate import Plate
from impact.link import cavity
from impact.motion.assemble import Assembly, assemble, hanger_spring
from impact.motion.fundamental import of_bare
from impact.spread.inputs import END, Input, inputs

WHOLE_MASS: Any = vars(Plate)["whole_mass"].fget  # the function behind the property
# Modes above it are not needed for masses, springs, or the lowest floor mode; Hz.
LOW = 85.0


MOVED_ALONE = (
    "about the 5 % and 95 % points, from the inputs below, each moved alone to the ends of its "
    "range; model error is not in it"
)


@dataclass(frozen=True)
class Step:
    """One number on the way: what it is, as printed, and the function or module that made it.

    inputs : (key of the design file or name, value as printed), what goes in.
    """

    what: str
    value: str
    by: Any
    inputs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Share:
    """What one uncertain input does to the number: change at its low and at its high end."""

    label: str
    low: float
    high: float


@dataclass(frozen=True)
class Chain:
    """A number with everything behind it.

    value : in `unit`. steps : in the order of computation. holds : range of the model, in words.
    spread : 5 % and 95 % ends from the inputs, or None where they were not computed; shares :
    by input, largest first; method : how it was found. keys : where in the design file its inputs
    stand ("" : everywhere).
    """

    quantity: str
    what: str
    value: float
    unit: str
    steps: tuple[Step, ...]
    holds: str
    spread: tuple[float, float] | None = None
    shares: tuple[Share, ...] = ()
    method: str = MOVED_ALONE
    keys: tuple[str, ...] = ("",)


def floor_fundamental(parts: Assembly) -> float:
    """Lowest mode of the floor without the new ceiling [Hz]; NaN when it lies too high."""
    return of_bare(parts.bare)


def hanger_only(parts: Assembly) -> float:
    """Ceiling on its hangers alone [Hz]; NaN without hangers."""
    spring = parts.hanger_spring
    return frequency(spring, parts.ceiling_mass) if spring > 0 else math.nan


def air_only(parts: Assembly) -> float:
    """Floor and ceiling on the air between them [Hz]."""
    spring = resonance.air_stiffness(parts)
    return pair_frequency(spring, parts.floor_mass, parts.ceiling_mass)


def mass_spring_mass(parts: Assembly) -> float:
    """Floor and ceiling on air and hangers [Hz]."""
    spring = resonance.air_stiffness(parts) + parts.hanger_spring
    return pair_frequency(spring, parts.floor_mass, parts.ceiling_mass)


# Name -> (what it is, unit, how it is had from the parts, names of the numbers it rests on).
VALUES: dict[str, tuple[str, str, Callable[[Assembly], float], tuple[str, ...]]] = {
    "floor_mass": ("all that lies above the lowest cavity", "kg/m2", lambda a: a.floor_mass, ()),
    "ceiling_mass": ("boards, channels and hangers", "kg/m2", lambda a: a.ceiling_mass, ()),
    "air_spring": ("air of the lowest cavity, near 25 Hz", "N/m3", resonance.air_stiffness, ()),
    "hanger_spring": ("hangers, spread over the room", "N/m3", lambda a: a.hanger_spring, ()),
    "hanger_only": ("ceiling on its hangers, no air", "Hz", hanger_only,
                    ("hanger_spring", "ceiling_mass")),
    "air_only": ("floor and ceiling on the air, no hangers", "Hz", air_only,
                 ("air_spring", "floor_mass", "ceiling_mass")),
    "mass_spring_mass": ("floor and ceiling on air and hangers", "Hz", mass_spring_mass,
                         ("air_spring", "hanger_spring", "floor_mass", "ceiling_mass")),
    "floor_fundamental": ("lowest mode of the floor without the new ceiling", "Hz",
                          floor_fundamental, ("floor_mass",)),
}  # fmt: skip

TWO_MASSES = (
    "One-dimensional: both masses move as wholes and the air stays in its place. A floor that "
    "bends below some 40 Hz shifts the pair; the coupled modes of `impact predict` say where it "
    "really lies."
)
SUM = "Sum of what the design file describes, without furniture and people."
HOLDS = {
    "floor_mass": SUM, "ceiling_mass": SUM,
    "air_spring": "Depth small against the wavelength: below c/(6 d), 190 Hz for 300 mm.",
    "hanger_spring": "All points alike, evenly spread, at their dynamic stiffness of 10 to 50 Hz "
    "under load.",
    "hanger_only": TWO_MASSES, "air_only": TWO_MASSES, "mass_spring_mass": TWO_MASSES,
    "floor_fundamental": "Rectangular floor, thin plate with beams bonded to it, supported at its "
    "edges. What stands on the floor is left out; damping and edge fixity are the inputs known "
    "least.",
}  # fmt: skip
# Where in the design file the inputs of a number stand, but for the materials of its layers.
KEYS = {
    "floor_mass": ("floor", "old_ceiling"),
    "ceiling_mass": ("ceiling.layers", *KIND, "independent_joists"),
    "air_spring": ("cavity", "floor.joists", "fills"),
    "hanger_spring": tuple(KIND),
}


def keys_of(design: Design, name: str) -> tuple[str, ...]:
    """Where in the design file the inputs of a number of KEYS stand."""
    old = design.old_ceiling.layers if design.old_ceiling else ()
    layers = {
        "floor_mass": (*design.floor.layers, *old), "ceiling_mass": design.ceiling.layers,
    }.get(name, ())  # fmt: skip
    return (*KEYS[name], *(f"materials.{layer.material.name}" for layer in layers))


def chain(design: Design, quantity: str) -> Chain:
    """Chain of one of VALUES, with its spread from the inputs of `design`.

    Raises KeyError for another name.
    """
    what, unit, value_of, needs = VALUES[quantity]
    what = said_of(design.hangers, what)
    parts = assemble(design, LOW)
    low_high, shares = spread(design, value_of)
    own = needs or (quantity,)
    steps = [_step(name, parts) for name in own]
    if needs:
        steps.append(_last(quantity, value_of(parts), parts))
    return Chain(
        quantity, what, value_of(parts), unit, tuple(steps),
        HOLDS[quantity], low_high, shares,
        keys=tuple(dict.fromkeys(key for name in own for key in keys_of(design, name))),
    )  # fmt: skip


def spread(
    design: Design, value_of: Callable[[Assembly], float]
) -> tuple[tuple[float, float], tuple[Share, ...]]:
    """5 % and 95 % ends of a number, from each input's ends by itself, added as squares.

    Inputs are taken as independent (`impact.spread.inputs`); each is moved alone to the low and
    the high end of its range and the number is computed anew.
    """
    middle = value_of(assemble(design, LOW))
    shares = []
    for item in inputs(design):
        ends = [_moved(design, item, z, value_of) - middle for z in (-END, END)]
        if max(map(abs, ends)) > 1e-6 * abs(middle):
            shares.append(Share(item.label, ends[0], ends[1]))
    shares.sort(key=lambda one: -max(abs(one.low), abs(one.high)))
    down = math.sqrt(sum(min(one.low, one.high, 0.0) ** 2 for one in shares))
    up = math.sqrt(sum(max(one.low, one.high, 0.0) ** 2 for one in shares))
    return (middle - down, middle + up), tuple(shares)


def _moved(design: Design, item: Input, z: float, value_of: Callable[[Assembly], float]) -> float:
    return value_of(assemble(item.change(design, z), LOW))


def _step(name: str, parts: Assembly) -> Step:
    what, unit, value_of, _ = VALUES[name]
    value = number(value_of(parts), unit, parts.design.units)
    by, given = _MADE[name](parts)
    return Step(f"{name}: {said_of(parts.design.hangers, what)}", value, by, tuple(given))


def _last(quantity: str, value: float, parts: Assembly) -> Step:
    what = said_of(parts.design.hangers, VALUES[quantity][0])
    by: Any = pair_frequency
    if quantity == "hanger_only":
        by = frequency
    elif quantity == "floor_fundamental":
        by = of_bare
    return Step(f"{quantity}: {what}", number(value, "Hz", parts.design.units), by)


def _floor(parts: Assembly) -> tuple[Any, list[tuple[str, str]]]:
    rows = [row for leaf in parts.bare.leaves
            for row in _plate(leaf.plate, ("joists", "blocking"), parts.design.units)]  # fmt: skip
    return WHOLE_MASS, rows


def _plate(plate: Plate, ribs: tuple[str, str], system: str) -> list[tuple[str, str]]:
    """Mass per area of a plate, and its ribs along x and y by their names."""
    rows = [(f"{plate.name}, over its area", show(plate.mass, "mass per area", system))]
    for name, held, side in zip(
        ribs, (plate.ribs_x, plate.ribs_y), (plate.width, plate.length), strict=True
    ):
        if held is not None and held.mass > 0:
            one, over = show(held.mass, "mass per length", system), show(side, "length", system)
            rows.append((name, f"{len(held.positions)} of {one}, side by side in {over}"))
    return rows


def _ceiling(parts: Assembly) -> tuple[Any, list[tuple[str, str]]]:
    design, system = parts.design, parts.design.units
    rows = [(f"ceiling.layers[{i}]", f"{layer.material.name}, "
             f"{show(layer.thickness, 'length', system)}, "
             f"{show(layer.mass_per_area, 'mass per area', system)}")
            for i, layer in enumerate(design.ceiling.layers)]  # fmt: skip
    if design.hangers is not None:
        one = show(design.hangers.mass, "mass", system)
        what = said_of(design.hangers, "hangers")
        rows.append((what, f"{len(parts.placement.points)} of {one}, half of each"))
    rows += _plate(parts.whole.leaves[-1].plate, ("joists", "channels"), system)
    return WHOLE_MASS, rows


def _air(parts: Assembly) -> tuple[Any, list[tuple[str, str]]]:
    gap, system = parts.gap, parts.design.units
    rows = [("cavity.clear_depth", show(gap.clear, "length", system))]
    if gap.bay:
        rows += [("depth between the joists", show(gap.bay, "length", system)),
                 ("share of the plan open", f"{gap.open_share:.3f}")]  # fmt: skip
    rows.append(("depth, volume over area", show(gap.depth, "length", system)))
    if gap.fill:
        rows += [("cavity.fill.thickness", show(gap.fill, "length", system)),
                 ("cavity.fill.flow_resistivity",
                  show(gap.flow_resistivity, "flow resistivity", system))]  # fmt: skip
    return cavity.static_stiffness, rows


def _hangers(parts: Assembly) -> tuple[Any, list[tuple[str, str]]]:
    hangers, system = parts.design.hangers, parts.design.units
    room = parts.design.room
    if hangers is None:
        return hanger_spring, [("hangers", "none")]
    return hanger_spring, [
        (said_of(hangers, "hangers placed"), str(len(parts.placement.points))),
        ("dynamic_stiffness of each", show(hangers.dynamic_stiffness, "stiffness", system)),
        ("area of the room", show(room.length * room.width, "area", system)),
    ]


_MADE: dict[str, Callable[[Assembly], tuple[Any, list[tuple[str, str]]]]] = {
    "floor_mass": _floor, "ceiling_mass": _ceiling, "air_spring": _air, "hanger_spring": _hangers,
}  # fmt: skip


def number(value: float, unit: str, system: str) -> str:
    """A value with its unit, as the design's reader writes it."""
    if not math.isfinite(value):
        return "not found"
    dimension = {
        "kg/m2": "mass per area", "N": "force", "N/m3": "stiffness per area",
    }.get(unit)  # fmt: skip
    if dimension:
        return show(value, dimension, system)
    return f"{value:.1f} {unit}" if unit else f"{value:g}"

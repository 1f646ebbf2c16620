"""How one property of a design moves within its range, and the parts of a design that have it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from operator import attrgetter
from typing import Any

from impact.design.origin import END as END
from impact.design.origin import Spread
from impact.design.parts import Design, Layer, Material
from impact.design.walked import CROSS_LAMINATED
from impact.source import surface

INF = float("inf")
BEAMS = ("bending_stiffness", "axial_stiffness", "shear_stiffness", "torsional_stiffness",
         "lateral_stiffness")  # fmt: skip
FAR = 2.5  # draws beyond this many standard deviations are drawn in to it: ranges are not endless


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


def scaled(design: Design, z: float, path: str, names: Sequence[str], nominal: float,
           spread: Spread) -> Design:  # fmt: skip
    """Fields `names` of the part at attribute path `path`, numbers or several of them, all scaled
    as one property moves."""
    factor = moved(nominal, spread.low, spread.high, z) / nominal
    part = attrgetter(path)(design)

    def scale(value: Any) -> Any:
        return tuple(map(scale, value)) if isinstance(value, tuple) else value * factor

    return put(design, path, {name: scale(getattr(part, name)) for name in names})


def stiffer_slab(design: Design, z: float, nominal: float, spread: Spread) -> Design:
    """All that a slab's modulus makes stiff, its own ribs too; lamellae of cross-laminated timber
    roll by a modulus of their own, ribs of a composite are of another material."""
    slab = design.floor.slab
    assert slab is not None
    names = ["bending_stiffness_along", "bending_stiffness_across", "twisting_stiffness"]
    if slab.kind != CROSS_LAMINATED:
        names.append("shear")
    out = scaled(design, z, "floor.slab", names, nominal, spread)
    if slab.ribs is not None and slab.kind == "ribbed":
        out = scaled(out, z, "floor.slab.ribs", BEAMS, nominal, spread)
    return out


def put(part: Any, path: str, values: dict[str, Any]) -> Any:
    """`part` with fields `values` of the part at attribute path `path` replaced."""
    if not path:
        return replace(part, **values)
    first, _, rest = path.partition(".")
    return replace(part, **{first: put(getattr(part, first), rest, values)})


def set_one(design: Design, z: float, path: str, name: str, spread: Spread, limit: float) -> Design:
    """The field `name` of the part at attribute path `path` moved within its range, at most to
    `limit`; in the field's own unit."""
    value = moved(attrgetter(f"{path}.{name}")(design), spread.low, spread.high, z)
    return put(design, path, {name: min(value, limit)})


def plain(
    known: dict[str, Spread], at: str, path: str, name: str, limit: float = INF
) -> Callable[[Design, float], Design] | None:
    """Change of one field with a range of its own; None when the range is not known."""
    spread = known.get(at)
    if spread is None:
        return None
    return lambda design, z: set_one(design, z, path, name, spread, limit)


def material(material: Material, known: dict[str, Spread], names: Sequence[str], z: float
             ) -> Material:  # fmt: skip
    """The material with those of its properties moved that have a range."""
    values: dict[str, Any] = {}
    for name in names:
        spread = known.get(f"materials.{material.name}.{name}")
        if spread is not None:
            values[name] = moved(getattr(material, name), spread.low, spread.high, z)
    return replace(material, **values)


def softer_covering(spread: Spread, design: Design, z: float) -> Design:
    """The design with the covering's contact stiffness moved, and no longer a range of it."""
    assert design.floor.covering is not None
    value = design.floor.covering.contact_stiffness
    return surface.with_covering(design, moved(value, spread.low, spread.high, z))


def with_layers(known: dict[str, Spread], names: Sequence[str], path: str, design: Design,
                z: float) -> Design:  # fmt: skip
    """The design with the materials of all layers of the part at attribute path `path` moved."""
    part = attrgetter(path)(design)
    layers = tuple(
        replace(layer, material=material(layer.material, known, names, z)) for layer in part.layers
    )
    return put(design, path, {"layers": layers})


MODULI = ("youngs_modulus", "youngs_modulus_across", "shear_modulus")


def any_known(layers: Sequence[Layer], known: dict[str, Spread], names: Sequence[str]) -> bool:
    """Whether any of the layers' materials has a range of one of these properties."""
    return any(f"materials.{x.material.name}.{name}" in known for x in layers for name in names)

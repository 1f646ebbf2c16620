"""What is walked on: whether a hammer strikes wood, and on a floor of timber or of concrete."""

from __future__ import annotations

import math

from impact.design.parts import Floor, Material

WOOD_BELOW = 1000.0  # kg/m3: lighter walked surfaces are taken as wood
# Under a hammer wood gives way through its thickness, where it is far softer than in its plane. Of
# materials that do not say how soft (`Material.modulus_through`): E90,mean of C24 (EN 338, from
# memory, check the standard).
WOOD_THROUGH = 0.37e9  # Pa
FIRMER = 10.0  # times as stiff through as what counts as soft between or below boards; our own
CROSS_LAMINATED = "cross-laminated"  # `Slab.kind` of timber


def softer_through(material: Material) -> bool:
    """Whether a layer of it gives way through its thickness more than in its plane, as wood does:
    it says so, or is light."""
    return material.modulus_through is not None or material.density < WOOD_BELOW


def through(material: Material) -> float:
    """Young's modulus through the thickness of a layer [Pa]."""
    if material.modulus_through is not None:
        return material.modulus_through
    across = material.youngs_modulus_across
    return min(across, WOOD_THROUGH) if softer_through(material) else across


def afloat(floor: Floor) -> bool:
    """Whether what is walked on lies on a mat."""
    return any(layer.bond == "floating" for layer in floor.layers)


def boards(floor: Floor, bent: bool = False) -> list[tuple[float, float, float]]:
    """What lies on each other without a mat between, from the walked layer down, slab or joists
    left aside: Young's modulus through it [Pa], Poisson's ratio and thickness [m]. Of one material
    several layers are one. bent : the modulus in its plane instead, the mean sqrt(Ex Ey) of both
    ways, as the mobility of a plate has it."""
    found: list[tuple[float, float, float]] = []
    last = None
    for layer in reversed(floor.layers):
        made = layer.material
        here = through(made), made.poisson
        own = math.sqrt(made.youngs_modulus * made.youngs_modulus_across) if bent else here[0]
        thick = found.pop()[2] if here == last else 0.0
        found.append((own, made.poisson, thick + layer.thickness))
        last = here
        if layer.bond == "floating":
            break
    return found


def wooden(floor: Floor) -> bool:
    """Whether hammers strike wood, through a covering or not: the uppermost layer, or without any a
    cross-laminated slab itself."""
    if floor.layers:
        return softer_through(floor.layers[-1].material)
    return floor.slab is not None and floor.slab.kind == CROSS_LAMINATED


def concrete(floor: Floor) -> bool:
    """Whether the structure is a slab of concrete, for which ISO 12354-2 Annex B is made, and
    neither joists nor cross-laminated timber."""
    return floor.slab is not None and floor.slab.kind != CROSS_LAMINATED

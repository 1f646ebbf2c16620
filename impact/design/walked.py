"""What is walked on: whether a hammer strikes wood, and on a floor of timber or of concrete."""

from __future__ import annotations

from impact.design.parts import Floor, Material

WOOD_BELOW = 1000.0  # kg/m3: lighter walked surfaces are taken as wood
CROSS_LAMINATED = "cross-laminated"  # `Slab.kind` of timber


def softer_through(material: Material) -> bool:
    """Whether a layer of it gives way through its thickness more than in its plane, as wood does:
    it says so, or is light."""
    return material.modulus_through is not None or material.density < WOOD_BELOW


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

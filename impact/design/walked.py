"""What is walked on: whether a hammer strikes wood."""

from __future__ import annotations

from impact.design.parts import Floor, Material

WOOD_BELOW = 1000.0  # kg/m3: lighter walked surfaces are taken as wood


def softer_through(material: Material) -> bool:
    """Whether a layer of it gives way through its thickness more than in its plane, as wood does:
    it says so, or is light."""
    return material.modulus_through is not None or material.density < WOOD_BELOW


def wooden(floor: Floor) -> bool:
    """Whether hammers strike wood, through a covering or not."""
    top = floor.layers[-1:]
    return bool(top) and softer_through(top[0].material)

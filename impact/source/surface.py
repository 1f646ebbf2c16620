"""The walked surface as a striking face feels it: how stiff it is right under the contact."""

from __future__ import annotations

import math

from impact.design.parts import Design, Floor
from impact.design.walked import softer_through, wooden
from impact.source import tapping

# Under a hammer wood gives way through its thickness, where it is far softer than in its plane. Of
# materials that do not say how soft (`Material.modulus_through`): E90,mean of C24 (EN 338, from
# memory, check the standard).
WOOD_THROUGH = 0.37e9  # Pa


def modulus(floor: Floor) -> tuple[float, float]:
    """Young's modulus [Pa] and Poisson's ratio [-] of what is struck, covering left aside."""
    if floor.layers:
        material = floor.layers[-1].material
        through = material.modulus_through
        if through is None:
            across = material.youngs_modulus_across
            through = min(across, WOOD_THROUGH) if softer_through(material) else across
        return through, material.poisson
    slab = floor.slab
    assert slab is not None
    found = slab.surface_modulus
    if found is None:  # taken from its bending as a plain plate
        found = 12 * slab.bending_stiffness_along * (1 - slab.poisson**2) / slab.thickness**3
    return found, slab.poisson


def covering(floor: Floor, radius: float) -> float:
    """Stiffness of the covering under a face of `radius` [m], N/m; inf without one."""
    if floor.covering is None:
        return math.inf
    return tapping.covering_stiffness(floor.covering.contact_stiffness, radius)


def stiffness(floor: Floor, radius: float = tapping.RADIUS) -> float:
    """Contact stiffness under a face of `radius` [m], covering and what it lies on in series [N/m].

    Hopkins, Sound Insulation (2007), ch. 3.6, as in `impact.source.tapping`.
    """
    hard = tapping.contact_stiffness(*modulus(floor), radius)
    return tapping.in_series(covering(floor, radius), hard)


def under_hammer(design: Design) -> float:
    """Stiffness that a hammer of the tapping machine strikes [N/m]: as `stiffness`, on wood with
    that of `tapping.hammer_stiffness`, dented as `Tapping.dented` has it."""
    if not wooden(design.floor):
        return stiffness(design.floor)
    hard = tapping.hammer_stiffness(*modulus(design.floor), design.tapping.dented)
    return tapping.in_series(covering(design.floor, tapping.RADIUS), hard)

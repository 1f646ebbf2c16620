"""Bending stiffness of built-up sections: what is glued, and what a joint that slips adds. SI.

Per width B [N m2/m = N m], of a beam EI [N m2]. Without numpy of its own: the reader of design
files and the leaves share it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


def bonded_bending(thicknesses: Sequence[float], moduli: Sequence[float]) -> float:
    """Bending stiffness per width [N m] of glued layers about their common neutral axis.

    sum E (t^3/12 + t (z - z0)^2), z0 = sum(E t z) / sum(E t) (Steiner; any textbook of strength of
    materials); no Poisson factor, shear and rolling shear left out. thicknesses [m] and moduli [Pa]
    from one face to the other.
    """
    middles, low = [], 0.0
    for thickness in thicknesses:
        middles.append(low + thickness / 2)
        low += thickness
    axial = [e * t for e, t in zip(moduli, thicknesses, strict=True)]
    neutral = sum(a * z for a, z in zip(axial, middles, strict=True)) / sum(axial)
    return sum(
        e * (t**3 / 12 + t * (z - neutral) ** 2)
        for e, t, z in zip(moduli, thicknesses, middles, strict=True)
    )


def joined_bending(k2: Any, axial: tuple[float, float], arm: float, joint: float) -> Any:
    """EI [N m2] that two parts gain together, over the sum of their own, by a joint that slips.

    gamma EA1 EA2 / (gamma EA1 + EA2) a^2 with gamma = 1/(1 + k^2 EA1/K); EN 1995-1-1:2004 eq. (B.1)
    to (B.6), where k = pi/L for a span L and pi over half a wave of a vibration.

    k2 : k^2 [1/m2], a number or an array, as is the result. axial : EA of the two parts [N], the
    joint held to the first. arm : a, between their centroids [m]. joint : slip modulus per length K
    [N/m2], above 0; inf when rigid.
    """
    held = axial[0] / (1 + k2 * axial[0] / joint)
    return held * axial[1] / (held + axial[1]) * arm**2

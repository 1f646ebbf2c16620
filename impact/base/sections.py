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
    return joined(parts(thicknesses, moduli))


def parts(
    thicknesses: Sequence[float], moduli: Sequence[float]
) -> list[tuple[float, float, float]]:
    """Layers from one face on as `joined` takes them: own B = E t^3/12 [N m], EA = E t [N/m] and
    depth of the middle [m]. thicknesses [m], moduli [Pa]."""
    return [
        (e * t**3 / 12, e * t, sum(thicknesses[:i]) + t / 2)
        for i, (t, e) in enumerate(zip(thicknesses, moduli, strict=True))
    ]


def stretched(thicknesses: Sequence[float], moduli: Sequence[float]) -> tuple[float, float]:
    """EA per width [N/m] of glued layers, sum E t, and the depth of their neutral axis from the
    first face [m], sum(E t z) / sum(E t). thicknesses [m], moduli [Pa]; any textbook."""
    return _axis(parts(thicknesses, moduli))


def _axis(made: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    """EA of all and the depth of their neutral axis."""
    whole = sum(axial for _, axial, _ in made)
    return whole, sum(axial * z for _, axial, z in made) / whole


def shear_stiffness(
    thicknesses: Sequence[float], moduli: Sequence[float], shear_moduli: Sequence[float]
) -> float:
    """Transverse shear stiffness per width [N/m] of glued layers, B²/∫ Q²/G dz.

    Q(z) = ∫ E (z0 - z) dz from one face, z0 the neutral axis: the energy of the shear stresses of a
    bent section (Timoshenko; any textbook of strength of materials; 5/6 G h of one layer).
    thicknesses [m], moduli and shear_moduli [Pa] from one face to the other.
    """
    _, neutral = stretched(thicknesses, moduli)
    static, energy, top = 0.0, 0.0, 0.0
    for t, e, g in zip(thicknesses, moduli, shear_moduli, strict=True):
        ends = [static + e * z * (neutral - top - z / 2) for z in (0.0, t / 2, t)]
        middle = [static + e * z * (neutral - top - z / 2) for z in (t / 4, 3 * t / 4)]
        # Boole's rule, exact for the square of a parabola
        squares = [7, 32, 12, 32, 7], [ends[0], middle[0], ends[1], middle[1], ends[2]]
        energy += t / 90 * sum(w * q**2 for w, q in zip(*squares, strict=True)) / g
        static, top = ends[2], top + t
    return bonded_bending(thicknesses, moduli) ** 2 / energy


def joined(made: Sequence[tuple[float, float, float]]) -> float:
    """Bending stiffness of parts that act as one, each (own B, EA, depth of its axis [m]).

    sum B + EA (z - z0)^2 about the common neutral axis z0 (Steiner). Per width [N m, N/m], or of
    beams [N m2, N].
    """
    _, neutral = _axis(made)
    return sum(own + axial * (z - neutral) ** 2 for own, axial, z in made)


def joined_bending(k2: Any, axial: tuple[float, float], arm: float, joint: float) -> Any:
    """EI [N m2] that two parts gain together, over the sum of their own, by a joint that slips.

    gamma EA1 EA2 / (gamma EA1 + EA2) a^2 with gamma = 1/(1 + k^2 EA1/K); EN 1995-1-1:2004 eq. (B.1)
    to (B.6), where k = pi/L for a span L and pi over half a wave of a vibration.

    k2 : k^2 [1/m2], a number or an array, as is the result. axial : EA of the two parts [N], the
    joint held to the first. arm : a, between their centroids [m]. joint : slip modulus per length K
    [N/m2], above 0; inf when rigid.
    """
    held = held_by_joint(k2, axial[0], joint)
    return held * axial[1] / (held + axial[1]) * arm**2


def held_by_joint(k2: Any, axial: float, joint: float) -> Any:
    """gamma EA of the part that a joint holds, EA/(1 + k^2 EA/K): EN 1995-1-1:2004 eq. (B.5).

    As in `joined_bending`; EA [N] and K [N/m2], or both per width. The result has the shape of k2.
    """
    return axial / (1 + k2 * axial / joint)

"""Bending stiffness of built-up sections: layers, ribs, holes, joints that slip. Plain numbers, SI.

Stiffness per width B [N m2/m = N m], of a beam EI [N m2]. The layers of a section are given from
one
face to the other and may differ: positions follow from the running sum of thicknesses.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

ROLLING_SHEAR_RATIO = 0.1  # G_R / G of softwood: common practice, EN 16351 gives 50 MPa for G_R
LAYER_CROSS_RATIO = 1 / 30  # E across / E along of a softwood layer (EN 338 classes: E90 = E0/30)


@dataclass(frozen=True)
class Ply:
    """One layer of a section.

    thickness : [m].
    modulus : Young's modulus in the direction looked at [Pa].
    """

    thickness: float
    modulus: float


@dataclass(frozen=True)
class OrthotropicPlate:
    """Plate stiffnesses per width [N m] and mass [kg/m2].

    along, across : bending in the two directions.
    twisting : D_66, D (1 - nu)/2 for an isotropic plate.
    """

    along: float
    across: float
    twisting: float
    mass_per_area: float


def neutral_axis(plies: Sequence[Ply]) -> float:
    """Distance of the neutral axis from the first face [m]: sum(E t z) / sum(E t)."""
    stretch = moment = low = 0.0
    for ply in plies:
        stretch += ply.modulus * ply.thickness
        moment += ply.modulus * ply.thickness * (low + ply.thickness / 2)
        low += ply.thickness
    return moment / stretch


def bonded_bending(plies: Sequence[Ply]) -> float:
    """Bending stiffness per width of plies that act as one section [N m].

    Steiner: sum E (t^3/12 + t (z - z0)^2) about the common neutral axis; no Poisson factor.
    Raises ValueError for no plies or one that is not positive.
    """
    _check(plies)
    centre, low, total = neutral_axis(plies), 0.0, 0.0
    for ply in plies:
        arm = low + ply.thickness / 2 - centre
        total += ply.modulus * (ply.thickness**3 / 12 + ply.thickness * arm**2)
        low += ply.thickness
    return total


def sliding_bending(plies: Sequence[Ply]) -> float:
    """Bending stiffness per width of plies that slide on each other [N m]: sum E t^3/12."""
    _check(plies)
    return sum(ply.modulus * ply.thickness**3 / 12 for ply in plies)


def _check(plies: Sequence[Ply]) -> None:
    if not plies:
        raise ValueError("a section needs at least one layer")
    for ply in plies:
        if ply.thickness <= 0 or ply.modulus <= 0:
            raise ValueError(f"thickness and modulus of {ply} must be above 0")


def gamma(half_wave: float, axial_stiffness: float, joint_stiffness: float) -> float:
    """Share of composite action of a part held by a joint that slips, 0..1.

    gamma = 1 / (1 + pi^2 EA / (K L^2)); EN 1995-1-1:2004 eq. B.5.
    half_wave : L [m], span of a simply supported beam or half a wave of vibration.
    axial_stiffness : EA of the part [N].
    joint_stiffness : slip modulus per length K/s [N/m2]; inf = glued.
    """
    if math.isinf(joint_stiffness):
        return 1.0
    return 1 / (1 + math.pi**2 * axial_stiffness / (joint_stiffness * half_wave**2))


def slipping_composite(
    bending: tuple[float, float], axial: tuple[float, float], arm: float,
    joint_stiffness: float, half_wave: float,
) -> float:  # fmt: skip
    """EI of two parts held by a joint that slips [N m2]; EN 1995-1-1:2004 eq. B.1 to B.6.

    bending : own EI of flange and web [N m2]; axial : their EA [N].
    arm : distance between their centroids [m].
    joint_stiffness : [N/m2]; half_wave : [m], as in `gamma`, which applies to the first part.
    For a timber-concrete slab: flange = concrete per rib, web = rib.
    """
    flange = gamma(half_wave, axial[0], joint_stiffness) * axial[0]
    return sum(bending) + flange * axial[1] / (flange + axial[1]) * arm**2


def cross_laminated(
    layers: Sequence[tuple[float, bool]], modulus: float, shear_modulus: float,
    density: float, half_wave: float,
) -> OrthotropicPlate:  # fmt: skip
    """Cross-laminated timber from its layup.

    layers : (thickness [m], whether the boards run along x), from one face to the other; any number
        and any thicknesses.
    modulus, shear_modulus : E along the boards and G [Pa]; density [kg/m3].
    half_wave : length L over which the section bends [m] (the span at low frequency).

    Each direction: bonded section (boards across carry E/30) in series with the shear flexibility
    of
    the layers, EI_eff = EI / (1 + pi^2 EI / (S L^2)), where S is the shear-stiff sandwich of the
    layers
    S = a^2 / sum(t_i / G_i), a = thickness between the mid-planes of the outer layers (shear
    analogy,
    EN 16351 / Kreuzinger; from memory, check the standard). Layers across roll: G/10. For three
    layers this gives the gamma method within a few per cent (EN 1995-1-1 Annex B). Twist: D_66 = G
    h^3/12
    with the layers bonded.
    """
    total = sum(t for t, _ in layers)
    stiffness = []
    for direction in (True, False):
        ratios = [1.0 if way is direction else LAYER_CROSS_RATIO for _, way in layers]
        plies = [Ply(t, modulus * r) for (t, _), r in zip(layers, ratios, strict=True)]
        rigid = bonded_bending(plies)
        stiffness.append(rigid * _shear_share(layers, direction, rigid, shear_modulus, half_wave))
    return OrthotropicPlate(
        along=stiffness[0], across=stiffness[1],
        twisting=shear_modulus * total**3 / 12, mass_per_area=density * total,
    )  # fmt: skip


def _shear_share(
    layers: Sequence[tuple[float, bool]], direction: bool, rigid: float, shear: float, wave: float
) -> float:
    """1 / (1 + pi^2 EI / (S L^2)) of `cross_laminated`; 1 for a single layer in its own
    direction."""
    own = [i for i, (_, way) in enumerate(layers) if way is direction]
    if len(own) < 2:
        return 1.0
    first, last = own[0], own[-1]
    compliance = 0.0
    for i in range(first, last + 1):
        thickness, way = layers[i]
        part = 0.5 if i in (first, last) else 1.0
        rolling = 1.0 if way is direction else ROLLING_SHEAR_RATIO
        compliance += part * thickness / (shear * rolling)
    middle = sum(layers[i][0] for i in range(first, last + 1))
    arm = middle - (layers[first][0] + layers[last][0]) / 2
    return 1 / (1 + math.pi**2 * rigid * compliance / (arm**2 * wave**2))


def ribbed(
    flange_thickness: float, rib_width: float, rib_depth: float, spacing: float,
    modulus: float, poisson: float, density: float,
) -> OrthotropicPlate:  # fmt: skip
    """Slab with ribs below it, running along x, one material.

    T-section per spacing (Steiner) along; flange alone across, thickened over the rib in series:
    D_y = D_flange / (1 - w/s + (w/s)(t/h)^3) (Troitsky, Stiffened Plates, 1976; from memory).
    Twist: plate
    D(1 - nu)/2 plus the rib's torsion G J / (4 s) with J = rib_depth rib_width^3/3 (slender
    rectangle).
    All lengths [m], rib_depth below the flange; modulus [Pa]; density [kg/m3].
    """
    flange, rib = flange_thickness * spacing, rib_width * rib_depth
    z_flange, z_rib = flange_thickness / 2, flange_thickness + rib_depth / 2
    centre = (flange * z_flange + rib * z_rib) / (flange + rib)
    inertia = (
        spacing * flange_thickness**3 / 12 + flange * (z_flange - centre) ** 2
        + rib_width * rib_depth**3 / 12 + rib * (z_rib - centre) ** 2
    )  # fmt: skip
    plate = modulus * flange_thickness**3 / 12 / (1 - poisson**2)
    share = rib_width / spacing
    whole = (flange_thickness / (flange_thickness + rib_depth)) ** 3
    shear = modulus / 2 / (1 + poisson)
    wide, narrow = max(rib_width, rib_depth), min(rib_width, rib_depth)
    return OrthotropicPlate(
        along=modulus * inertia / spacing,
        across=plate / (1 - share + share * whole),
        twisting=plate * (1 - poisson) / 2 + shear * wide * narrow**3 / 3 / (4 * spacing),
        mass_per_area=density * (flange + rib) / spacing,
    )


def hollow(
    thickness: float, core_diameter: float, core_spacing: float,
    modulus: float, poisson: float, density: float,
) -> OrthotropicPlate:  # fmt: skip
    """Slab with round cores along x in its middle plane.

    Along: full section less the circles, E (s h^3/12 - pi d^4/64)/s. Across: strips of changing
    depth
    in series, mean of 1/D over the core spacing, each strip D = E (h^3 - o(y)^3)/12 with o the
    opening
    (exact for bending of slender strips; shear of the webs left out). Twist: geometric mean of
    the two, times (1 - nu)/2 (Huber). All lengths [m].
    """
    full = modulus / 12 / (1 - poisson**2)
    area = math.pi * core_diameter**2 / 4
    along = full * (thickness**3 - 12 * math.pi * core_diameter**4 / 64 / core_spacing)
    steps, compliance = 200, 0.0
    for i in range(steps):
        y = ((i + 0.5) / steps - 0.5) * core_spacing
        inside = core_diameter**2 / 4 - y**2
        opening = 2 * math.sqrt(inside) if inside > 0 else 0.0
        compliance += 1 / (full * (thickness**3 - opening**3)) / steps
    across = 1 / compliance
    return OrthotropicPlate(
        along=along, across=across, twisting=math.sqrt(along * across) * (1 - poisson) / 2,
        mass_per_area=density * (thickness - area / core_spacing),
    )  # fmt: skip

"""Slabs: bending stiffness and mass of plates, also hollow, ribbed, composite, cross-laminated."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from impact.base import sections
from impact.design import hollow
from impact.design.build_joists import rectangle_torsion
from impact.design.checks import Ledger, join, read_tables
from impact.design.materials import solid
from impact.design.parts import Joists, Material, Slab
from impact.design.schema_floor import LAMELLA

_MATERIAL = {
    "concrete": "concrete",
    "lightweight": "lightweight concrete",
    "hollow": "concrete",
    "ribbed": "concrete",
    "cross-laminated": "cross-laminated spruce",
    "composite": "concrete",
}
# Shear moduli of spruce lamellae in a panel bent along and across their grain; from memory, check
# EN 16351 and EN 14080.
ROLLING_SHEAR, GRAIN_SHEAR = 65e6, 650e6  # Pa
# Of a whole slab: with these ribs are not followed one by one, since the file does not say whose
# these are.
AS_MEASURED = (
    "mass_per_area", "bending_stiffness_along", "bending_stiffness_across", "twisting_stiffness",
)  # fmt: skip


@dataclass(frozen=True)
class _Made:
    """Bending stiffness along and across, twisting stiffness [N m], mass per area [kg/m2]; stretch
    and axis as in `Slab`."""

    along: float
    across: float
    twist: float
    mass: float
    stretch: tuple[float, float] = (1.0, 1.0)
    axis: tuple[float, float] = (0.5, 0.5)
    shear: tuple[float, float] = (math.inf, math.inf)
    ribs: Joists | None = None


def ribbed_stiffness(
    plate: tuple[float, float, float], rib: tuple[float, float, float], slip: float, span: float
) -> float:
    """EI [N m2] of one plate strip with the rib below it, by the gamma method.

    plate, rib : (E [Pa], width [m], depth [m]); slip : N/m2, slip modulus over fastener spacing,
    inf when rigid; span [m]. EN 1995-1-1:2004 Annex B, two parts (`sections.joined_bending`).
    """
    axial = (plate[0] * plate[1] * plate[2], rib[0] * rib[1] * rib[2])
    own = plate[0] * plate[1] * plate[2] ** 3 / 12 + rib[0] * rib[1] * rib[2] ** 3 / 12
    if slip <= 0:
        return own
    arm = (plate[2] + rib[2]) / 2
    return own + float(sections.joined_bending((math.pi / span) ** 2, axial, arm, slip))


def build_slab(values: dict[str, Any], path: str, ledger: Ledger, span: float) -> Slab | None:
    """`Slab` from the values of [floor.slab]; None after a fault. span [m] along the floor."""
    kind = values["kind"]
    layup = read_tables(values["layup"], LAMELLA, join(path, "layup"), ledger)
    if not ledger.clean(path):
        return None
    thickness = _thickness(values, layup, path, ledger)
    entry = values["material"]
    if entry is None:
        name = _MATERIAL[kind]
        entry = ledger.find(name, "slab")
        ledger.default(join(path, "material"), name, f"usual for kind '{kind}'")
    if thickness is None or entry is None:
        return None
    only_own = {k: v for k, v in values.items() if k not in ("mass_per_area", "thickness")}
    material = solid(entry, only_own, path, ledger, noted=path)
    made = _section(values, layup, thickness, material, path, ledger, span)
    if not ledger.clean(path):
        return None
    weighed = any(values[key] for key in AS_MEASURED)
    edges = values["edges"]
    if edges is None:
        edges = "four sides" if kind in ("concrete", "lightweight") else "two sides"
        ledger.default(join(path, "edges"), edges, f"usual for kind '{kind}'")
    if values["along"] is None and edges == "two sides":
        why = 'it spans the room\'s length from edge to edge; say "width" where it spans that'
        ledger.default(join(path, "along"), "length", why)
    return Slab(
        kind=kind,
        thickness=thickness,
        mass_per_area=values["mass_per_area"] or made.mass,
        bending_stiffness_along=values["bending_stiffness_along"] or made.along,
        bending_stiffness_across=values["bending_stiffness_across"] or made.across,
        twisting_stiffness=values["twisting_stiffness"] or made.twist,
        poisson=material.poisson,
        loss_factor=material.loss_factor,
        edge_fixity=values["edge_fixity"],
        edges=edges,
        in_situ_loss=values["in_situ_loss"],
        surface_modulus=material.youngs_modulus_across,  # timber: across the grain
        along=values["along"] or "length",
        stretch=made.stretch,
        axis=made.axis,
        shear=made.shear,
        ribs=None if weighed else made.ribs,
    )


def _thickness(
    values: dict[str, Any], layup: list[dict[str, Any]], path: str, ledger: Ledger
) -> float | None:
    if layup and values["kind"] != "cross-laminated":
        ledger.fault(join(path, "layup"), "is for kind 'cross-laminated' only")
        return None
    total = sum(lamella["thickness"] for lamella in layup)
    given: float | None = values["thickness"]
    if values["kind"] == "cross-laminated" and not layup:
        ledger.fault(join(path, "layup"), f"missing; write its lamellae as [[{path}.layup]]")
        return None
    if layup and given and abs(given - total) > 1e-3:
        shown = [ledger.show(size, "length") for size in (given, total)]
        what = f"{shown[0]} is not the sum of the layup, {shown[1]}; leave it out"
        ledger.fault(join(path, "thickness"), what)
        return None
    if not layup and given is None:
        ledger.fault(join(path, "thickness"), 'missing; like "140 mm"')
    return total or given


def _shear(thick: list[float], moduli: list[float], strong: float) -> float:
    """Transverse shear stiffness [N/m] of lamellae: those across the bending roll."""
    shear = [GRAIN_SHEAR if each == strong else ROLLING_SHEAR for each in moduli]
    return sections.shear_stiffness(thick, moduli, shear)


def _section(
    values: dict[str, Any],
    layup: list[dict[str, Any]],
    thickness: float,
    material: Material,
    path: str,
    ledger: Ledger,
    span: float,
) -> _Made:
    if layup:
        strong, weak = material.youngs_modulus, material.youngs_modulus_across
        thick = [lamella["thickness"] for lamella in layup]
        along = [strong if lamella["direction"] == "along" else weak for lamella in layup]
        across = [weak if lamella["direction"] == "along" else strong for lamella in layup]
        rolls = f"{ROLLING_SHEAR / 1e6:g} MPa, {GRAIN_SHEAR / 1e6:g} MPa along the grain"
        ledger.default(join(path, "rolling_shear"), rolls, "spruce; from memory, check EN 16351")
        bent = [sections.bonded_bending(thick, each) for each in (along, across)]
        (ea, height), (ea_across, height_across) = (
            sections.stretched(thick, each) for each in (along, across)
        )
        plain = thickness**2 / 12
        return _Made(
            bent[0], bent[1], material.shear_modulus * thickness**3 / 12,
            material.density * thickness, (ea * plain / bent[0], ea_across * plain / bent[1]),
            (1 - height / thickness, 1 - height_across / thickness),
            (_shear(thick, along, strong), _shear(thick, across, strong)),
        )  # fmt: skip
    if values["kind"] in ("ribbed", "composite"):
        return _ribbed(values, thickness, material, path, ledger, span)
    full = thickness**3 / 12 / (1 - material.poisson**2)
    share = values["hollow_share"]
    if values["kind"] == "hollow" and share is None:
        share = 0.35
        ledger.default(
            join(path, "hollow_share"), "0.35", "hollow-core units, common practice, no source"
        )
    void = share or 0.0
    left = hollow.left_along(void), hollow.left_across(void)
    along_d, across_d = material.youngs_modulus * full, material.youngs_modulus_across * full
    twist, g = material.shear_modulus * thickness**3 / 12, material.shear_modulus
    return _Made(
        along_d * left[0], across_d * left[1], twist * left[0],
        material.density * thickness * (1 - void), ((1 - void) / left[0], (1 - void) / left[1]),
        shear=(hollow.shear_along(void, thickness, g),
               hollow.shear_across(void, thickness, g, material.poisson)),
    )  # fmt: skip


def _ribbed(
    values: dict[str, Any],
    thickness: float,
    plate: Material,
    path: str,
    ledger: Ledger,
    span: float,
) -> _Made:
    missing = [key for key in ("rib_width", "rib_depth", "rib_spacing") if values[key] is None]
    for key in missing:
        ledger.fault(join(path, key), f"missing; needed for kind '{values['kind']}'")
    if missing:
        return _Made(0.0, 0.0, 0.0, 0.0)
    width, depth, spacing = values["rib_width"], values["rib_depth"], values["rib_spacing"]
    deck = thickness - depth
    if deck < 0.02 or width > spacing:
        ledger.fault(
            join(path, "rib_depth"),
            "leaves no plate: thickness is the overall depth, plate "
            "and rib, and rib_width less than rib_spacing",
        )
        return _Made(0.0, 0.0, 0.0, 0.0)
    rib = plate
    if values["rib_material"] is not None:
        rib = solid(values["rib_material"], {}, join(path, "rib_material"), ledger)
    elif values["kind"] == "composite":
        wood = ledger.find("glued laminated timber", "timber")
        assert wood is not None
        ledger.default(join(path, "rib_material"), wood.name, "timber-concrete composite")
        rib = solid(wood, {}, join(path, "rib_material"), ledger)
    slip = values["slip_modulus_per_length"]
    strip = ribbed_stiffness(
        (plate.youngs_modulus, spacing, deck),
        (rib.youngs_modulus, width, depth),
        math.inf if slip is None else slip,
        span,
    )
    across = plate.youngs_modulus * deck**3 / 12 / (1 - plate.poisson**2)
    twist = plate.shear_modulus * deck**3 / 12
    # 4 D_66 is the torsional stiffness of a strip of unit width (isotropic: 2 D (1 - nu))
    twist += rib.shear_modulus * rectangle_torsion(width, depth) / (4 * spacing)
    mass = plate.density * deck + rib.density * width * depth / spacing
    # along: plate and ribs, as far as the joint lets them act together
    axial = plate.youngs_modulus * deck, rib.youngs_modulus * width * depth / spacing
    joint = math.inf if slip is None else slip / spacing
    held = sections.held_by_joint((math.pi / span) ** 2, axial[0], joint)
    below = (held * deck / 2 + axial[1] * (deck + depth / 2)) / (held + axial[1])
    stretch = (held + axial[1]) * thickness**2 / 12 / (strip / spacing)
    return _Made(
        strip / spacing, across, twist, mass,
        (stretch, (thickness / deck) ** 2), (below / thickness, deck / 2 / thickness),
        (math.inf, 5 / 6 * plate.shear_modulus * deck),
        _beams(values, rib, span),
    )  # fmt: skip


def _beams(values: dict[str, Any], rib: Material, span: float) -> Joists:
    """One rib as a beam below the plate, held to it as stiffly as its joint is."""
    width, depth = values["rib_width"], values["rib_depth"]
    area, slip = width * depth, values["slip_modulus_per_length"]
    return Joists(
        kind="rib", width=width, depth=depth, spacing=values["rib_spacing"], span=span,
        along=values["along"] or "length",
        bending_stiffness=rib.youngs_modulus * area * depth**2 / 12,
        axial_stiffness=rib.youngs_modulus * area,
        shear_stiffness=5 / 6 * rib.shear_modulus * area,
        torsional_stiffness=rib.shear_modulus * rectangle_torsion(width, depth),
        lateral_stiffness=rib.youngs_modulus * area * width**2 / 12,
        mass_per_length=rib.density * area, loss_factor=rib.loss_factor, volume_per_length=area,
        edge_fixity=values["edge_fixity"], blocking_rows=0, blocking_stiffness=0.0,
        deck_fastening="none" if slip == 0 else "glued",
        slip_modulus_per_length=math.inf if slip is None else slip,
    )  # fmt: skip

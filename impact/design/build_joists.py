"""Joists of every kind: stiffnesses and mass of one joist, and its slip against the deck."""

from __future__ import annotations

import math
from typing import Any

from impact.base.air import GRAVITY
from impact.base.units import INCH, POUND
from impact.design.carried import steel
from impact.design.catalogue import Entry
from impact.design.checks import Ledger, join
from impact.design.materials import choose, note, solid
from impact.design.parts import Joists, Material

_CLASS_KEYS = (
    "bending_stiffness",
    "axial_stiffness",
    "shear_stiffness",
    "torsional_stiffness",
    "lateral_stiffness",
    "mass_per_length",
    "volume_per_length",
    "loss_factor",
)
_FASTENER = {"nailed": 0.0033, "screwed": 0.0042}  # m
_FASTENER_SPACING = 0.2  # m
SHEET = 0.00076  # m, 22 gauge: of steel deck below concrete; common practice, no source
_SHEET_SPACING = 0.3  # m, of its welds or screws along a joist: each second flute of 6 in
_SHEET_FLEXIBILITY = {"welded": 1.15e-3, "nailed": 1.25e-3, "screwed": 1.30e-3}  # in/kip sqrt(in)
STEEL_DENSITY = 7850.0  # kg/m3


def rectangle_torsion(width: float, depth: float) -> float:
    """Torsion constant J [m4] of a solid rectangle, sides in m.

    J = a b^3 (1/3 - 0.21 (b/a)(1 - b^4 / (12 a^4))), a the longer side; Young and Budynas,
    Roark's Formulas for Stress and Strain, 7th ed., Table 10.1 case 4; within 0.5 %.
    """
    short, long = sorted((width, depth))
    ratio = short / long
    return long * short**3 * (1 / 3 - 0.21 * ratio * (1 - ratio**4 / 12))


def slip_modulus(density: float, diameter: float, fastening: str) -> float:
    """Slip modulus K_ser of one nail or screw, N/m; EN 1995-1-1:2004 Table 7.1.

    Nails without pre-drilling rho^1.5 d^0.8 / 30, screws rho^1.5 d / 23, in N/mm with d in mm and
    rho the mean density in kg/m3, sqrt(rho1 rho2) for two materials (clause 7.1(2)).
    """
    millimetres = 1000 * diameter
    if fastening == "nailed":
        return 1000 * density**1.5 * millimetres**0.8 / 30
    return 1000 * density**1.5 * millimetres / 23


def sheet_stiffness(thickness: float, fastening: str) -> float:
    """Shear stiffness of one fastener of a steel deck to steel below, N/m.

    Flexibility 1.15e-3 / sqrt(t) of an arc spot weld, 1.25e-3 / sqrt(t) of a driven pin ("nailed"),
    1.30e-3 / sqrt(t) of a screw, in in/kip with the sheet's thickness t in inches; Steel Deck
    Institute, Diaphragm Design Manual, 3rd ed., section 4 (from memory). thickness : m.
    """
    flexibility = _SHEET_FLEXIBILITY[fastening] / math.sqrt(thickness / INCH)
    return 1000 * POUND * GRAVITY / (flexibility * INCH)


def build_joists(
    values: dict[str, Any],
    path: str,
    ledger: Ledger,
    deck: Material | None,
    along: str,
    span: float,
) -> Joists | None:
    """`Joists` from the values of a joists table; None after a fault. `deck` is the first layer."""
    kind = _kind(values, path, ledger)
    if kind is None:
        return None
    section = (
        _solid(values, path, ledger) if kind == "solid" else _other(values, kind, path, ledger)
    )
    if section is None or not _bays_stay(values, section, path, ledger):
        return None
    iron = steel(kind, section["mass_per_length"], section["volume_per_length"])
    fastening = _fastening(values, path, ledger, deck, kind, iron)
    if iron and deck is not None and deck.poured:
        slip = _sheet_slip(values, path, ledger, fastening)
    else:
        slip = _slip(values, path, ledger, deck, section["density"], fastening, iron)
    rows = values["blocking_rows"]
    blocking = values["blocking_stiffness"]
    if rows and blocking is None:
        blocking = 0.1 * section["bending_stiffness"]
        ledger.default(
            join(path, "blocking_stiffness"),
            ledger.show(blocking, "bending stiffness"),
            "a tenth of a joist's: pieces cut between joists and nailed (estimate)",
        )
        ledger.spread_unless_given(
            join(path, "blocking_stiffness"), 0.2 * blocking, 5 * blocking, "estimate"
        )
    del section["density"]
    return Joists(
        kind=kind,
        spacing=values["spacing"],
        span=span,
        along=along,
        edge_fixity=values["edge_fixity"],
        blocking_rows=rows,
        blocking_stiffness=(blocking or 0.0) if rows else 0.0,
        deck_fastening=fastening,
        slip_modulus_per_length=slip,
        **section,
    )


def _bays_stay(values: dict[str, Any], section: dict[str, Any], path: str, ledger: Ledger) -> bool:
    """Whether joists leave air between them; a fault where they stand face to face."""
    spacing, width = values["spacing"], section["width"]
    shown = ledger.show(spacing, "length")
    if width >= spacing:
        ledger.fault(
            join(path, "spacing"),
            f"{shown} leaves nothing between joists {ledger.show(width, 'length')} wide; it is "
            "from centre to centre"
            + (". Timber side by side is a [floor.slab]" if path == "floor.joists" else ""),
        )
    elif section["volume_per_length"] >= section["depth"] * spacing:
        ledger.fault(
            join(path, "volume_per_length"),
            f"{ledger.show(section['volume_per_length'], 'area')} fills the whole depth of "
            f"{ledger.show(section['depth'], 'length')} at a spacing of {shown}; it is the air "
            "that one joist displaces, its section",
        )
    else:
        return True
    return False


def _kind(values: dict[str, Any], path: str, ledger: Ledger) -> str | None:
    entry: Entry | None = values["class"]
    kind = values["kind"] or (entry.kind if entry else "solid")
    if values["kind"] is None and entry is None:
        ledger.default(join(path, "kind"), kind, "plain rectangular joists are the commonest")
    if entry and kind != entry.kind:
        ledger.fault(join(path, "class"), f"'{entry.name}' is of kind '{entry.kind}', not '{kind}'")
        return None
    if kind != "solid" and values["material"] is not None:
        ledger.fault(
            join(path, "material"), f"is for solid joists; a joist of kind '{kind}' has a class"
        )
        return None
    return str(kind)


def _need(
    values: dict[str, Any], keys: tuple[str, ...], path: str, ledger: Ledger, why: str
) -> bool:
    missing = [key for key in keys if values[key] is None]
    for key in missing:
        ledger.fault(join(path, key), f"missing; {why}")
    return not missing


def _solid(values: dict[str, Any], path: str, ledger: Ledger) -> dict[str, Any] | None:
    if not _need(
        values, ("width", "depth"), path, ledger, 'the true size, like "1 1/2 in" or "60 mm"'
    ):
        return None
    entry = values["material"]
    if entry is None:
        entry = ledger.find("softwood", "timber")
        ledger.default(join(path, "material"), "softwood", "no timber named")
    wood = solid(entry, values, path, ledger, noted=path)
    width, depth, modulus = values["width"], values["depth"], wood.youngs_modulus
    if depth < width:
        ledger.warnings.append(f"{path}: joists wider than deep; width and depth may be swapped")
    area = width * depth
    section = {
        "bending_stiffness": modulus * width * depth**3 / 12,
        "axial_stiffness": modulus * area,
        "shear_stiffness": 5 / 6 * wood.shear_modulus * area,
        "torsional_stiffness": wood.shear_modulus * rectangle_torsion(width, depth),
        "lateral_stiffness": modulus * depth * width**3 / 12,
        "mass_per_length": wood.density * area,
        "volume_per_length": area,
    }
    for key in section:
        if values[key] is not None:
            section[key] = values[key]
    return {
        **section,
        "width": width,
        "depth": depth,
        "loss_factor": wood.loss_factor,
        "density": wood.density,
    }


def _other(values: dict[str, Any], kind: str, path: str, ledger: Ledger) -> dict[str, Any] | None:
    entry: Entry | None = values["class"]
    if entry is None:
        if not _need(
            values,
            ("width", "depth", "bending_stiffness", "mass_per_length"),
            path,
            ledger,
            f"needed for joists of kind '{kind}' without a class",
        ):
            return None
        entry = Entry(kind, kind, "of the file's own", {}, "")
    chosen = choose(entry, values, ("width", "depth", *_CLASS_KEYS), path, ledger)
    note(chosen, _CLASS_KEYS, path, ledger)
    depth, bending = chosen.value("depth"), chosen.value("bending_stiffness")
    mass = chosen.value("mass_per_length")
    rest = {
        "axial_stiffness": (bending / (0.45 * depth) ** 2, "flanges 0.9 depth apart (estimate)"),
        "shear_stiffness": (math.inf, "not given: shear neglected, too stiff for deep joists"),
        "torsional_stiffness": (100.0, "small in open sections (estimate)"),
        "lateral_stiffness": (bending / 40, "a fortieth of EI (estimate)"),
        "volume_per_length": (
            mass / (STEEL_DENSITY if kind == "steel" else 550.0),
            "mass by density",
        ),
        "loss_factor": (0.01 if kind == "steel" else 0.03, "common practice, no source"),
    }
    units = {
        "axial_stiffness": "force",
        "shear_stiffness": "force",
        "volume_per_length": "area",
        "loss_factor": "",
    }
    section: dict[str, Any] = {
        "bending_stiffness": bending,
        "mass_per_length": mass,
        "depth": depth,
        "width": chosen.value("width"),
        "density": 450.0,
    }
    for key, (value, why) in rest.items():
        if key not in chosen.properties:
            ledger.default(
                join(path, key), ledger.show(value, units.get(key, "bending stiffness")), why
            )
        section[key] = chosen.value(key, value)
    return section


def _fastening(
    values: dict[str, Any], path: str, ledger: Ledger, deck: Material | None, kind: str, iron: bool
) -> str:
    """How the deck is held; where nothing is said as is usual on such joists: nailed to timber,
    screwed to steel sections, and a steel deck below concrete welded to bar joists. A ceiling's
    own joists hold none."""
    if "deck_fastening" not in values or deck is None:
        return "none"
    on_sheet = iron and deck.poured
    given: str | None = values["deck_fastening"]
    if given == "welded" and not on_sheet:
        what = "'welded' is of a steel deck below concrete on steel joists; write 'nailed', "
        ledger.fault(join(path, "deck_fastening"), f"{what}'screwed', 'glued' or 'none'")
        return "none"
    if given is not None:
        return given
    usual = "nailed" if not iron else "welded" if on_sheet and kind != "steel" else "screwed"
    ledger.default(join(path, "deck_fastening"), usual, "common practice, no source")
    return usual


def _sheet_slip(values: dict[str, Any], path: str, ledger: Ledger, fastening: str) -> float:
    """Slip modulus per length of joist of what is poured on a steel deck, N/m2: of the deck's
    fasteners, since the concrete is keyed to its flutes."""
    if fastening in ("glued", "none"):
        return math.inf if fastening == "glued" else 0.0
    spacing = values["fastener_spacing"]
    if values["fastener_diameter"] is not None:
        where = join(path, "fastener_diameter")
        ledger.warnings.append(f"{where}: not used; what gives is the sheet of the steel deck")
    if spacing is None:
        spacing = _SHEET_SPACING
        shown = ledger.show(spacing, "length")
        ledger.default(join(path, "fastener_spacing"), shown, "common practice, no source")
    slip = sheet_stiffness(SHEET, fastening) / spacing
    why = ("steel deck of 0.76 mm by its fasteners (Diaphragm Design Manual, from memory); at the "
           "small motions of steps friction holds too, and AISC Design Guide 11 takes such floors "
           "as one with their slab (from memory)")  # fmt: skip
    ledger.spread(join(path, "slip_modulus_per_length"), 0.5 * slip, 20 * slip, why)
    return slip


def _slip(
    values: dict[str, Any],
    path: str,
    ledger: Ledger,
    deck: Material | None,
    density: float,
    fastening: str,
    iron: bool,
) -> float:
    """Slip modulus of the fasteners per length of joist, N/m2 (EN 1995-1-1 7.1)."""
    if fastening == "glued":
        return math.inf
    if fastening == "none" or deck is None:
        return 0.0
    diameter, spacing = values["fastener_diameter"], values["fastener_spacing"]
    if diameter is None:
        diameter = _FASTENER[fastening]
        shown = ledger.show(diameter, "length")
        ledger.default(join(path, "fastener_diameter"), shown, "common practice, no source")
    if spacing is None:
        spacing = _FASTENER_SPACING
        shown = ledger.show(spacing, "length")
        ledger.default(join(path, "fastener_spacing"), shown, "common practice, no source")
    if iron:  # clause 7.1(3): twice the value, with the density of the timber part
        slip = 2 * slip_modulus(deck.density, diameter, fastening) / spacing
    else:
        slip = slip_modulus(math.sqrt(deck.density * density), diameter, fastening) / spacing
    path = join(path, "slip_modulus_per_length")
    ledger.spread(
        path,
        0.5 * slip,
        5 * slip,
        "EN 1995-1-1 Table 7.1 is for service loads; small "
        "motions meet stiffer fasteners and friction (estimate)",
    )
    return slip

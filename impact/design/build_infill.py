"""Sand or other loose fill between the joists, and the boards that carry it."""

from __future__ import annotations

from typing import Any

from impact.design.checks import Ledger, join, read_table
from impact.design.materials import choose, note, solid
from impact.design.parts import Floor, Infill, Joists, Layer
from impact.design.schema_floor import INFILL

PATH = "floor.infill"
_LOSS = 0.05
_DENSITY = 1600.0  # kg/m3, dry sand: common practice, no source
_BOARDS = 0.022  # m
_LEAST = 0.005  # m of air above the fill: nearer it would touch the deck when it bends


def build_infill(raw: Any, joists: Joists | None, ledger: Ledger) -> Infill | None:
    """`Infill` of [floor.infill]; None without one or after a fault. joists : of the floor."""
    if raw is None:
        return None
    values = read_table(raw, INFILL, PATH, ledger)
    if joists is None:
        if ledger.clean("floor.joists"):
            ledger.fault(PATH, "lies between joists; this floor has none")
        return None
    if not ledger.clean(PATH):
        return None
    share = joists.clear_share
    mass, loss, density = _fill(values, ledger)
    thickness = values["thickness"]
    if mass is None:
        if thickness is None or values["material"] is None:
            ledger.fault(PATH, "needs material and thickness, or mass_per_area")
            return None
        mass = density * thickness * share
    elif thickness is None:
        thickness = mass / density / share
        ledger.default(
            join(PATH, "thickness"), ledger.show(thickness, "length"), "its mass by its density"
        )
    boards = _boards(values, ledger)
    below = _below_deck(values, thickness, boards, joists, ledger)
    return None if below is None else Infill(mass, loss, thickness, boards, below)


def _fill(values: dict[str, Any], ledger: Ledger) -> tuple[float | None, float, float]:
    """Mass per area of the floor where it is given [kg/m2], loss factor, density [kg/m3]."""
    entry, mass = values["material"], values["mass_per_area"]
    if entry is not None:
        chosen = choose(entry, values, ("loss_factor",), PATH, ledger)
        loss = chosen.value("loss_factor", _LOSS)
        note(chosen, ("density", "loss_factor") if mass is None else ("loss_factor",), PATH, ledger)
        return mass, loss, chosen.value("density")
    loss = values["loss_factor"]
    if loss is None:
        loss = _LOSS
        where = join(PATH, "loss_factor")
        ledger.default(where, f"{loss:g}", "dry loose fill (estimate, no source)")
        ledger.spread(where, 0.02, 0.15, "estimate, no source")
    return mass, loss, _DENSITY


def _boards(values: dict[str, Any], ledger: Ledger) -> Layer | None:
    """The boards below the fill, across the joists; None where it lies on the old ceiling."""
    thickness = values["board_thickness"]
    if values["carried_by"] == "old ceiling":
        if thickness is not None:
            what = 'is of boards between the joists; leave it out, or write carried_by = "boards"'
            ledger.fault(join(PATH, "board_thickness"), what)
        return None
    if thickness is None:
        thickness = _BOARDS
        ledger.default(
            join(PATH, "board_thickness"), ledger.show(thickness, "length"),
            "softwood boards, common practice, no source",
        )  # fmt: skip
    wood = ledger.find("softwood", "timber")
    assert wood is not None
    return Layer(solid(wood, {}, PATH, Ledger()), thickness, "nailed", "across")


def _below_deck(
    values: dict[str, Any], thickness: float, boards: Layer | None, joists: Joists, ledger: Ledger
) -> float | None:
    """Air between deck and fill [m]: as given, or half of what is left of the joists' depth."""
    below = values["below_deck"]
    solid_depth = thickness + (boards.thickness if boards else 0.0)
    left = joists.depth - solid_depth
    with_boards = f" on {ledger.show(boards.thickness, 'length')} of boards" if boards else ""
    depth = ledger.show(joists.depth, "length")
    if left < _LEAST:
        given = values["thickness"] is not None
        what = (
            f"{ledger.show(thickness, 'length')}{with_boards} is more than the depth of the "
            f"joists, {depth}, less {ledger.show(_LEAST, 'length')} of air under the deck"
        )
        ledger.fault(join(PATH, "thickness" if given else "mass_per_area"), what)
        return None
    where = join(PATH, "below_deck")
    if boards is None:
        if below is not None and abs(below - left) > 1e-3:
            what = (
                f"{ledger.show(below, 'length')} does not follow from a fill on the old ceiling, "
                f"which leaves {ledger.show(left, 'length')}; leave it out"
            )
            ledger.fault(where, what)
        return left
    if below is None:
        below = left / 2
        why = "boards half-way down the joists (estimate); look where their battens are"
        ledger.default(where, ledger.show(below, "length"), why)
    elif below > left + 1e-6:
        what = (
            f"{ledger.show(below, 'length')} and {ledger.show(solid_depth, 'length')} of fill and "
            f"boards are more than the depth of the joists, {depth}"
        )
        ledger.fault(where, what)
    return float(below)


def check_carrier(floor: Floor | None, old: Any, ledger: Ledger) -> None:
    """A fault where a fill lies on an old ceiling that the design does not have (old : its raw
    table)."""
    infill = floor.infill if floor else None
    if infill is not None and infill.boards is None and old is None:
        what = 'the design has no [old_ceiling]; describe it, or write carried_by = "boards"'
        ledger.fault(join(PATH, "carried_by"), what)

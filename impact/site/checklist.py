"""What to look at before the ceiling is closed, with the numbers of the design where there is one.

Points and order are common practice, no source; they are the faults that undo a hung ceiling.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from impact.base.units import show
from impact.design.axes import shown_wall
from impact.design.fixings import said_under, yields
from impact.gravity.parts import deflection
from impact.site.document import Document, Section
from impact.study.layout import READING, SAME_DEFLECTION
from impact.study.layout_rules import gap_to_keep

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.gravity import Loads

SIGN = "Checked by: ____________________   Date: ____________   Photographs: ______"


def checklist(design: Design | None = None, loads: Loads | None = None) -> Document:
    """The checklist; design and loads (of `gravity.loads`) fill in counts, sizes, deflections."""
    name = design.name if design else "____________________"
    head = (
        "One sheet for each room. Tick what was seen, photograph what will be hidden. Nothing is "
        "closed while a point is open.",
        f"Room: {name}",
    )
    sections = (
        Section("1. Before the boards", (*_hangers(design), *_through(design), *_above())),
        Section("2. Fill", _fill(design)),
        Section("3. Boards", _boards(design)),
        Section("4. Edge", _edge(design)),
        Section("5. Services", _services()),
        Section("6. After loading, before taping", _after(design, loads)),
    )
    worded: tuple[Section, ...] = sections
    if design is not None:
        worded = tuple(
            replace(part, items=tuple(said_under(design, item) for item in part.items))
            for part in sections
        )
    foot = (
        "Overhead load: hangers, fasteners and joists are checked by a licensed engineer. Fire "
        "rating, seismic bracing, height and ways out follow the local code.",
        SIGN,
    )
    return Document("CHECKS BEFORE CLOSING", head, worded, foot)


def _size(value: float, design: Design) -> str:
    return show(value, "length", design.units)


def _hangers(design: Design | None) -> tuple[str, ...]:
    from impact.design.placing import place

    if design is not None and design.hangers is None:
        return (
            "The ceiling's own joists bear on walls alone, as drawn, and touch nothing above",
            "They stand still when someone walks above: no strut, hook or pipe joins them to it",
        )
    if design is not None and not _yields(design):
        return ("The joists are even and sound; no old nail or hook is left in them",)
    count = "as on the drawing"
    kind = "of the kind on the drawing, none exchanged"
    if design is not None and design.hangers is not None:
        where = place(design)
        count = f"{len(where.points)} in all, on {len(where.channels)} channel lines"
        kind = f"{design.hangers.name}, none exchanged for another"
    return (
        f"Hangers counted: {count}. Counted on site: ______",
        f"Hangers are {kind}; no mark of crushing, tearing or slipping",
        "Each is fixed into solid joist, screw tight, head seated, not overdriven",
        "Channel clicked or screwed in at every hanger; none rides on an edge",
        "Channels level, spliced as drawn and not at a hanger, no end touches a wall",
        "Every hanger moves a little when pushed by hand; one that does not is bridged",
    )


def _through(design: Design | None) -> tuple[str, ...]:
    if design is None or design.old_ceiling is None:
        return ()
    return (
        "The old ceiling that stays is sound: nothing loose, hollow or sagging that could fall on "
        "the new one; all that hangs below it is fixed into joists, not into lath or board",
    )


def _yields(design: Design | None) -> bool:
    """Whether the ceiling hangs on points that yield, as it does where no design is named."""
    return design is None or yields(design.hangers)


def _above() -> tuple[str, ...]:
    return (
        "Gaps in the floor above, at pipes and along walls are closed",
        "No old nail, hook, strap or rest of the old ceiling reaches the new one",
    )


def _fill(design: Design | None) -> tuple[str, ...]:
    fill = design.cavity.fill if design else None
    if design is not None and fill is None:
        return ("The design has no fill: none is packed in",)
    thick = f"{_size(fill.thickness, design)} of {fill.name}" if design and fill else "as drawn"
    return (
        f"Fill: {thick}, everywhere, no bare bays",
        (
            "Fill is held up by the floor, none of it lies on the ceiling"
            if fill and not fill.on_boards
            else "Fill lies loose: not pressed between boards and joists"
        )
        + (", not over hangers" if _yields(design) else ""),
    )


def _boards(design: Design | None) -> tuple[str, ...]:
    out = ["Joints of one layer are staggered against those of the next"]
    if design is not None:
        layers = design.ceiling.layers
        sizes = [_size(layer.thickness, design) for layer in layers]
        names = ", then ".join(
            name if size in name else f"{size} {name}"  # some materials have theirs in the name
            for size, name in zip(sizes, (layer.material.name for layer in layers), strict=True)
        )
        out.insert(0, f"Layers, from the cavity down: {names}")
    out += _screws(design)
    if _yields(design):
        out.append("No screw stands in a joist: where one went in hard, take it out and close the "
                   "hole")  # fmt: skip
    return tuple(out)


def _screws(design: Design | None) -> tuple[str, ...]:
    from impact.study.layout import screw_table

    if design is None:
        return ("Screws of each layer are the length on the drawing: longer ones bridge",)
    found = []
    for screw in screw_table(design):
        size = f"screws {_size(screw.size, design)}" if screw.size else "NO SOLD SCREW FITS, ask"
        line = f"Layer {screw.layer}: {size}"
        if screw.most is not None:
            line += f", never over {_size(screw.most, design)}: longer ones reach the joist"
        found.append(line)
    return tuple(found)


def _edge(design: Design | None) -> tuple[str, ...]:
    gap = "the gap on the drawing"
    if design is not None:
        edge = design.ceiling.perimeter
        gap = f"{gap_to_keep(edge.gap, design.units)} gap"
        if edge.kind == "touching":
            walls = ", ".join(shown_wall(design, wall) for wall in edge.touching_walls)
            return (f"The ceiling touches {walls or 'all walls'} as designed, and nothing else",)
    return (
        f"{gap.capitalize()} at every wall, column and pipe: a feeler gauge goes all round",
        "No board, channel, screw or compound touches a wall",
        "Sealant only after the boards hang with their full weight; it stays soft, no tape over it",
        "Trim is fixed to the wall or to the ceiling, never to both",
    )


def _services() -> tuple[str, ...]:
    return (
        "Wires hang loose, pipes pass through sleeves, ducts hang from the structure",
        "Lights are surface-mounted or in listed covers; boxes do not touch joists",
        "Nothing heavy was added that the design does not hold",
    )


def _after(design: Design | None, loads: Loads | None) -> tuple[str, ...]:
    last = (
        "The gap is still open all round; boards level",
        "Someone walked and jumped above while another listened below along the walls",
    )
    if not _yields(design):
        return last
    expected, gauge = "as on the installation sheet", ""
    if design is not None and loads is not None and loads.hangers:
        low = min(hanger.by_boards for hanger in loads.hangers)
        high = max(hanger.by_boards for hanger in loads.hangers)
        expected = f"{deflection(low, design.units)} to {deflection(high, design.units)}"
        gauge = "; by dial gauge, a ruler is too coarse" if SAME_DEFLECTION * low < READING else ""
    return (
        "Read at every hanger before lamps and the like hang: how much farther it gave from the"
        f" channels alone to all boards. Expected {expected}, each within"
        f" {100 * SAME_DEFLECTION:.0f} % of its own{gauge}",
        "Readings written down as 'number, deflection' and checked: impact field DESIGN "
        "--deflections FILE",
        "The ceiling gives a little to a push, in the field and near each wall, and springs back",
        *last,
    )

"""The installation sheet: plain text, 80 columns, for the people who build the ceiling.

Order of work and hold points are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from impact import __version__
from impact.base.cautions import CAUTIONS_LONG
from impact.base.units import factor, show
from impact.design.axes import shown_place, shown_wall
from impact.design.fixings import said_of, said_under
from impact.design.parts import Design
from impact.gravity import stops
from impact.report import installation_hangers, installation_steps
from impact.report.drawing_shapes import finished_height
from impact.report.installation_hangers import bullets
from impact.report.lines import WIDTH, numbers, wrapped
from impact.study import quantities
from impact.study.layout import Layout
from impact.study.layout_pieces import LAP
from impact.study.layout_rules import at, length


def sheet(layout: Layout) -> str:
    """The whole sheet, ending in a line feed; no line is over 80 characters."""
    design = layout.design
    lines = [
        f"INSTALLATION SHEET: {design.name}",
        f"impact {__version__}, design {design.digest[:12] or 'without digest'}",
        f"{layout.held_by}, finished height "
        f"{length(finished_height(design), design.units)} before load",
    ]
    if not layout.loads:
        lines.append("LOADS NOT CHECKED: do not hang boards before an engineer has checked them.")
    if layout.held is not None:
        lines += stops.stopping(layout.held)
    if layout.held is not None and layout.held.fragile:
        lines.append("THIS CEILING CANNOT LOSE A HANGER: see the load check below.")
    for title, body in (
        ("CAUTIONS", bullets(said_under(layout.design, text) for text in CAUTIONS_LONG)),
        ("LOAD CHECK, A CALCULATION AND NO APPROVAL", _load_check(layout)),
        ("RULES OF THE LAYOUT", _findings(layout)),
        ("STEPS AND HOLD POINTS", installation_steps.numbered(layout)),
        ("HANGERS", installation_hangers.table(layout)),
        ("SCREWS", _screws(layout)),
        ("CHANNEL, CUTTING LIST", _channel(layout)),
        ("BOARDS", _boards(layout)),
        ("ZONES", _zones(layout)),
        ("QUANTITIES", _quantities(layout)),
    ):
        if body:
            title = said_of(design.hangers, title.capitalize()).upper()
            lines += ["", title, "-" * len(title), *body]
    fitted = (part for line in lines for part in (
        wrapped(line, "", " " * 6) if len(line) > WIDTH else [line]))  # fmt: skip
    return "\n".join(line.rstrip() for line in fitted) + "\n"


def _load_check(layout: Layout) -> list[str]:
    return bullets(layout.held.lines_of_text()) if layout.held else []


def _findings(layout: Layout) -> list[str]:
    if not layout.findings:
        return ["  All kept."]
    words = {"broken": "BROKEN", "note": "note"}
    return bullets(f"{words[f.kind]}, {f.rule}: {f.text}" for f in layout.findings)


def _screws(layout: Layout) -> list[str]:
    units = layout.design.units
    if not layout.screws:
        return []
    found = ["  layer   through   at least   at most   use"]
    for screw in layout.screws:
        size = length(screw.size, units) if screw.size else "NONE FITS: ask"
        sizes = (screw.through, screw.least, screw.most)
        cells = ("-" if v is None else length(v, units) for v in sizes)
        found.append(f"  {screw.layer:5}" + "".join(f"{cell:>11}" for cell in cells) + f"   {size}")
    if any(screw.most is not None for screw in layout.screws):
        what = ("A screw longer than 'at most' reaches the joist and bridges the hangers: steps go"
                " down the screw.")  # fmt: skip
        if any(screw.most is None for screw in layout.screws):
            what += " Where a layer has '-' no usual screw reaches so far."
    else:
        what = "No usual screw reaches the joist here. Longer ones than those named gain nothing."
    return found + bullets([said_under(layout.design, what)])


def _channel(layout: Layout) -> list[str]:
    units, hangers = layout.design.units, layout.design.hangers
    lines: dict[float, dict[int, list[str]]] = {}
    for piece in layout.pieces:
        runs = lines.setdefault(piece.x, {})
        runs.setdefault(piece.run, []).append(at(piece.length, units))
    if not lines or hangers is None or hangers.channel is None:
        return []
    west, south = (shown_wall(layout.design, wall) for wall in ("west", "south"))
    of = f"{hangers.name}: " if hangers.kind == "resilient channel" else ""
    found = [f"  {of}{hangers.channel.name}"]
    found += [
        f"  at {at(x, units):>12} from {west}: "
        + "; ".join(" + ".join(run) for run in runs.values())
        for x, runs in lines.items()
    ]
    texts = [f"Pieces in their order from the {south} wall; ';' parts runs that do not meet."]
    if layout.splices:
        texts.append(f"'+' is a splice, {len(layout.splices)} in all, each lapped "
                     f"{length(LAP, units)} and tied, where the plan has it.")  # fmt: skip
    return found + bullets(texts)


def _boards(layout: Layout) -> list[str]:
    units, options = layout.design.units, layout.options
    size = f"{at(options.board_width, units)} x {at(options.board_length, units)}"
    found: list[str] = []
    for number, (layer, laid) in enumerate(
        zip(layout.design.ceiling.layers, layout.boards, strict=True), 1
    ):
        way = "across" if laid.across else "along"
        found.append(
            f"  layer {number}: {layer.material.name}, {size}, long edges {way} "
            f"{installation_steps.carriers(layout)}"
        )
        origin = shown_wall(layout.design, "west" if laid.turned else "south")
        for row in laid.rows:
            ends = ", ".join(at(x, units) for x in row.joints) or "none"
            side = f"{at(row.y0, units)} to {at(row.y1, units)}"
            found.append(f"     row {side} from {origin}: end joints at {ends}")
    return found


def _zones(layout: Layout) -> list[str]:
    units = layout.design.units
    found = []
    for zone in layout.zones:
        area, mass = show(zone.area, "area", units), show(zone.mass, "mass", units)
        near = "" if zone.kind == "field" else _numbers(layout.design, zone.hangers)
        found.append(f"  {zone.kind} {zone.name if zone.kind != 'field' else ''}".rstrip()
                     + f": {area}, {mass}{near}")  # fmt: skip
    places = _places(layout.design)
    return found + (["", *places] if places else [])


def _places(design: Design) -> list[str]:
    """Where everything on the plan lies that is neither hanger nor channel."""
    room, units = design.room, design.units
    kinds = (
        ("no ceiling", room.notches), ("bulkhead", room.bulkheads), ("opening", room.openings),
        ("fixture", room.fixtures), ("duct or beam above", room.obstructions),
    )  # fmt: skip
    texts = []
    for kind, patches in kinds:
        for patch in patches:
            x0, y0 = shown_place(design, patch.x, patch.y)
            x1, y1 = shown_place(design, patch.x + patch.length, patch.y + patch.width)
            text = (f"{kind} '{patch.name}': {at(x0, units)} to {at(x1, units)} from the west"
                    f" wall, {at(y0, units)} to {at(y1, units)} from the south wall")  # fmt: skip
            if kind == "bulkhead":
                text += f", {length(patch.drop, units)} below the ceiling"
            if kind == "duct or beam above":
                below = said_under(design, "below the joists")  # of ours alone: names are theirs
                text += f", down to {length(patch.drop, units)} {below}"
            texts.append(text)
    return bullets(texts)


def _numbers(design: Design, near: Sequence[int]) -> str:
    text = f", at hangers {numbers(near)}" if near else ", no hanger beside it"
    return said_of(design.hangers, text)


def _quantities(layout: Layout) -> list[str]:
    found = []
    money = str(layout.design.options.get("currency", ""))
    kind = layout.design.hangers.kind if layout.design.hangers else ""
    for item in layout.items:
        cost = "" if item.cost is None else f"{item.cost:12,.2f} {money}"
        name = said_of(layout.design.hangers, item.name)
        row = f"  {name:27}{_count(item, layout.design.units):>13}{cost}"
        found.append(row.rstrip())
        detail = item.detail
        if item.name == "hanger" and kind == "resilient channel":
            detail = "fasteners of the channel, one at every numbered place"
        if detail:
            found.append(f"      {detail}")
    waste = f"{100 * layout.options.waste:.0f} %"
    texts = [f"Counts to buy, with {waste} for waste on boards, screws, sealant, fill."]
    if layout.design.room.bulkheads:
        texts.append("Bulkheads: their boards are counted; their frames and screws come on top.")
    found += bullets(texts)
    total, missing = quantities.total(layout.items)
    if total is not None:
        left_out = f", without {', '.join(missing)}" if missing else ""
        found += bullets([f"Sum at the prices given: {total:,.2f} {money}".rstrip() + left_out])
    return found


def _count(item: quantities.Item, units: str) -> str:
    if item.unit == "pieces":
        return f"{item.count:.0f}"
    if units == "metric":
        return f"{item.count:.1f} {item.unit}"
    unit, dimension = {"m": ("ft", "length"), "m2": ("ft2", "area")}[item.unit]
    return f"{item.count / factor(unit, dimension):.0f} {unit}"

"""The installation sheet: plain text, 80 columns, for the people who build the ceiling.

Order of work and hold points are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from impact import __version__
from impact.base.cautions import CAUTIONS_LONG
from impact.base.units import factor, show
from impact.design import fixings
from impact.design.axes import shown_place, shown_wall
from impact.design.fixings import said_of, said_under
from impact.design.lines import own_joist_lines, own_joist_spacing
from impact.design.parts import Design
from impact.gravity import stops
from impact.report import installation_hangers
from impact.report.drawing_shapes import finished_height
from impact.report.installation_hangers import bullets, sinks
from impact.report.lines import WIDTH, numbers, wrapped
from impact.study import quantities
from impact.study.layout import Layout
from impact.study.layout_pieces import LAP
from impact.study.layout_rules import at, gap_to_keep, length


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
        ("STEPS AND HOLD POINTS", _steps(layout)),
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


Step = tuple[str, bool]  # what is done, and whether work stops until it is checked


def _steps(layout: Layout) -> list[str]:
    found: list[str] = []
    steps = [*_before(layout), *_hanging_steps(layout), *_boarding(layout)]
    for number, (text, hold) in enumerate(steps, 1):
        head = f" {number:2}. {'[ ] HOLD: ' if hold else ''}"
        found += wrapped(said_under(layout.design, text), head, "     ")
    return found


def _before(layout: Layout) -> list[Step]:
    """What comes before the ceiling: cautions, an old ceiling, joists, a fill between them."""
    design, units = layout.design, layout.design.units
    steps: list[Step] = [
        ("Read the cautions. Find joists, pipes, cables; mark every joist line on the walls.",
         False)
    ]  # fmt: skip
    if design.old_ceiling is not None:
        steps.append(
            ("Old ceiling: have it tested, and check that it holds the new fixings.", True)
        )
    joists, fill = design.floor.joists, design.cavity.fill
    if joists is not None:
        steps.append(
            (f"Joists are taken at {length(joists.spacing, units)}, the first at "
             f"{_first_joist(layout)}. Measure. If one is off by more than half"
             " its width, stop: the plan must be drawn again with the true lines"
             " (floor.joists.first_from_wall in the design).", True)
        )  # fmt: skip
    if fill is not None and not fill.on_boards:
        on = "channels or boards" if layout.pieces else "the boards"
        steps.append(
            (f"Put in {fill.name} {length(fill.thickness, units)}: held up by the floor above, so "
             f"that none of it lies on {on}. No packing.", False)
        )  # fmt: skip
    return steps


def _boarding(layout: Layout) -> list[Step]:
    """From the first board to the last picture."""
    design, units = layout.design, layout.design.units
    fill, edge = design.cavity.fill, design.ceiling.perimeter
    steps: list[Step] = []
    if fill is not None and fill.on_boards:
        steps.append(
            (f"Lay {fill.name} {length(fill.thickness, units)} on the boards of the first layer as "
             "they go up, loose and evenly: its weight is counted in the loads. No packing.", False)
        )  # fmt: skip
    steps += _boxes(design)
    steps.append(
        (f"Boards, layer by layer, joints staggered, end joints on {_carriers(layout)}."
         f"{_screwing(layout)}", True)
    )  # fmt: skip
    if edge.gap > 0:
        where = "at the walls it is not to touch" if edge.kind == "touching" else "all round"
        steps.append(
            (f"Keep the gap of {gap_to_keep(edge.gap, units)} open {where} and at every bulkhead "
             "and pipe, in every layer. Feel it with a gauge before it is filled.", True)
        )  # fmt: skip
    if sinks(layout):
        steps.append(
            (f"After all boards, before lamps and the like: measure {_above(design)} to channel"
             " again at every hanger. It must have grown by the range in the hanger table; one that"
             " moved far less or more is a wrong, loose or touching hanger.", True)
        )  # fmt: skip
    held = layout.pieces or fixings.yields(design.hangers)
    what = "hangers and screws" if held else "screws"
    return [
        *steps, (_edge(layout), False),
        (f"Photograph every stage with a ruler in the picture. Count {what} against this sheet.",
         True),
    ]  # fmt: skip


def _hanging_steps(layout: Layout) -> list[Step]:
    design = layout.design
    if design.hangers is None:
        return _own_joists(design)
    hangers, count = design.hangers, len(layout.placement.points)
    middle = "each in the middle of its joist, with the fasteners the engineer named"
    if design.old_ceiling is not None:
        through = sum(layer.thickness for layer in design.old_ceiling.layers)
        middle += f" (they pass {length(through, design.units)} of old ceiling before they hold)"
    if hangers.kind == "hanger":
        steps = [
            (f"Fix {count} x {hangers.name} at the numbered places, {middle}.", False),
            ("All hangers there, tight, none tilted, none missing. Count them.", True),
        ]
        if layout.pieces:
            steps += [
                (f"Hang the {hangers.channel.name if hangers.channel else 'channel'} from the "
                 f"cutting list, its underside at {_back(design)} above the floor before any board "
                 "hangs; lap and tie every splice; stop short of the walls.", False),
                ("Channel level and free: no contact with joists, walls, pipes, ducts, cables.",
                 True),
            ]  # fmt: skip
    elif layout.pieces:
        steps = [
            (f"Cut the channel by the cutting list and fix it at the {count} numbered places, "
             f"{middle}; lap every splice; stop short of the walls.", False),
            ("All fixings there, tight, none missing. Count them. Channel level; no contact with "
             "walls, pipes, ducts, cables.", True),
        ]  # fmt: skip
    else:
        return []  # boards straight on joists: their screws are those of the boards
    if sinks(layout):
        steps.append(
            (f"Before boards: write down the distance {_above(design)} to channel at every hanger.",
             True)
        )  # fmt: skip
    return steps


def _above(design: Design) -> str:
    """What a ruler is held to above the channel."""
    return "joist" if design.old_ceiling is None else "old ceiling"


def _back(design: Design) -> str:
    """Height of the boards' back above the room's floor, before load."""
    return length(design.room.height - design.cavity.clear_depth, design.units)


def _own_joists(design: Design) -> list[Step]:
    units, lines = design.units, own_joist_lines(design)
    if design.independent is None or not lines:
        return []
    joists = design.independent.joists
    size = f"{length(joists.width, units)} x {length(joists.depth, units)}"
    return [
        (f"Set {len(lines)} joists {size} for the ceiling alone, wall to wall, at "
         f"{length(own_joist_spacing(design), units)}, the first at {at(lines[0], units)} from the "
         f"{shown_wall(design, 'south')} wall; each end on a bearing that the engineer named.",
         False),
        ("Nothing of them touches the floor above: where they pass its joists, pipes or ducts, see "
         "daylight. Count them.", True),
    ]  # fmt: skip


def _boxes(design: Design) -> list[Step]:
    """Bulkheads, where the ceiling hangs; fixtures go by the zones."""
    if not design.room.bulkheads or not fixings.yields(design.hangers):
        return []
    boxes = ", ".join(
        f"'{patch.name}' {length(patch.drop, design.units)} below the ceiling"
        for patch in design.room.bulkheads
    )
    return [
        (f"Frame the bulkheads from the channels: {boxes}. They hang with the ceiling, stiffly "
         "joined to the channels that end at them; nothing of them is fixed to joists or walls or "
         "touches what they hide. How the frame is joined is the engineer's to say.", True),
    ]  # fmt: skip


def _carriers(layout: Layout) -> str:
    return "channels" if layout.placement.channels else "joists"


def _screwing(layout: Layout) -> str:
    if not layout.screws:
        direct = layout.design.hangers is not None
        return " Screws as the maker of the boards says" + (
            ", and no fewer than at the places of the table." if direct else "."
        )
    return (
        " Only the screws of the table, never at a hanger. After the first board look above it:"
        " no screw may touch a joist."
    )


def _edge(layout: Layout) -> str:
    edge = layout.design.ceiling.perimeter
    if edge.kind == "sealed":
        bead = length(edge.bead_depth, layout.design.units)
        return (
            f"Fill the gap with sealant that stays soft, {bead} deep. No tape or plaster over it."
        )
    if edge.kind == "touching":
        return "The ceiling touches walls as designed; nothing else may touch it."
    return (
        "Nothing stiff in the gap; a trim is fixed to the wall only. Left open the gap lets sound"
        " through: better fill it with sealant that stays soft."
    )


def _first_joist(layout: Layout) -> str:
    lines = layout.placement.joists
    if not lines:
        return "no joist"
    wall = shown_wall(layout.design, "south")
    return f"{at(lines[0], layout.design.units)} from the {wall} wall"


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
            f"  layer {number}: {layer.material.name}, {size}, long edges {way} {_carriers(layout)}"
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

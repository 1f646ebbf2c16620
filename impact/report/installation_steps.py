"""The steps of the installation sheet and the hold points between them.

The order of work is common practice, no source.
"""

from __future__ import annotations

from impact.design import fixings
from impact.design.axes import shown_wall
from impact.design.fixings import said_under
from impact.design.lines import own_joist_lines, own_joist_spacing
from impact.design.parts import Design
from impact.report.installation_hangers import sinks
from impact.report.lines import wrapped
from impact.study.layout import Layout
from impact.study.layout_rules import at, gap_to_keep, length

Step = tuple[str, bool]  # what is done, and whether work stops until it is checked


def numbered(layout: Layout) -> list[str]:
    """All steps in their order, numbered and broken at the edge, a box before each that stops work
    until it is checked."""
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
        (f"Boards, layer by layer, joints staggered, end joints on {carriers(layout)}."
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


def carriers(layout: Layout) -> str:
    """What boards are screwed to."""
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

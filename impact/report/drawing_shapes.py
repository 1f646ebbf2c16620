"""What is on the plan and the section, as plain shapes; the picture and the CAD file draw these.

Plan shapes are in the axes of the design file [m]: x from the west wall, y from the south wall.
Section: across the joists, heights z up from the underside of joists, slab or old ceiling [m].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from impact.base.units import show
from impact.design.axes import is_turned, shown_place
from impact.design.fixings import said_of
from impact.design.lines import own_joist_lines, own_joist_spacing, own_joists_reach_up
from impact.design.parts import Design, Layer, Patch
from impact.study.layout import Layout
from impact.study.layout_boards import outline_edges
from impact.study.layout_rules import FIT, gap_to_keep, length

Point = tuple[float, float]
UNCHECKED = "not checked"
JOISTS = {
    "solid": "solid joists",
    "i-joist": "I-joists",
    "open-web": "open-web trusses",
    "steel": "steel joists",
}
LABEL = 0.2  # m, from the middle of a label on the plan to what it must not hide


@dataclass(frozen=True)
class Stroke:
    """A line through points, on one layer of the drawing."""

    layer: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Mark:
    """One hanger: number as printed, place, load [N] or None, verdict (UNCHECKED, or one of the
    words of `impact.gravity.parts`)."""

    number: int
    at: Point
    load: float | None
    verdict: str


@dataclass(frozen=True)
class Band:
    """One layer of the section from `bottom` to `top` [m]; `kind` selects how it is filled."""

    kind: str  # "layer", "joist", "own", "fill", "carrier", "slab", "old", "space", "board"
    top: float
    bottom: float
    text: str


def plan_strokes(layout: Layout) -> list[Stroke]:
    """Walls, joist lines, channels with splices, bulkheads, openings, fixtures, obstructions."""
    design = layout.design
    return [
        Stroke(stroke.layer, tuple(shown_place(design, x, y) for x, y in stroke.points))
        for stroke in _strokes(layout)
    ]


def plan_size(design: Design) -> Point:
    """Length and width of the room [m] as the design file has them."""
    return shown_place(design, design.room.length, design.room.width)


def plan_dimensions(layout: Layout) -> tuple[list[float], list[float]]:
    """Distances from the west and from the south wall [m]: channels, hangers, far wall."""
    design, placement = layout.design, layout.placement
    lines = placement.channels or [x for x, _ in placement.points]
    rows = [y for _, y in placement.points] or own_joist_lines(design)
    xs = [0.0, *distances(lines), design.room.length]
    ys = [0.0, *distances(rows), design.room.width]
    return (ys, xs) if is_turned(design) else (xs, ys)


def _strokes(layout: Layout) -> list[Stroke]:
    """The same in the axes inside, x along the joists."""
    room = layout.design.room
    strokes = [Stroke("walls", edge) for edge in outline_edges(room, room.notches)]
    for y in layout.placement.joists:
        strokes += [
            Stroke("joists", ((x0, y), (x1, y))) for x0, x1 in _under_room(layout.design, y)
        ]
    for y in own_joist_lines(layout.design):
        strokes += [
            Stroke("own joists", ((x0, y), (x1, y))) for x0, x1 in _under_room(layout.design, y)
        ]
    strokes += [Stroke("channels", ((p.x, p.y0), (p.x, p.y1))) for p in layout.pieces]
    for x, y in layout.splices:
        strokes.append(Stroke("splices", ((x - 0.04, y - 0.076), (x - 0.04, y + 0.076))))
    for patch in room.bulkheads:
        strokes.append(Stroke("bulkheads", _corners(patch)))
    for patch in room.openings:
        strokes.append(Stroke("openings", _corners(patch)))
        strokes += [Stroke("openings", line) for line in _diagonals(patch)]
    for patch in room.fixtures:
        strokes.append(Stroke("fixtures", _corners(patch)))
    for patch in room.obstructions:
        strokes.append(Stroke("obstructions", _corners(patch)))
    return strokes


def patch_labels(design: Design, taken: Sequence[Point] = ()) -> list[tuple[Point, str]]:
    """Where and what to write on each zone of the plan: in its middle, or, where a mark `taken`
    [m, axes of the file] or another label is, a little below or above."""
    units, room = design.units, design.room
    texts = [(patch, f"{patch.name} (no ceiling)") for patch in room.notches]
    texts += [(patch, f"bulkhead {patch.name}, {length(patch.drop, units)} lower")
              for patch in room.bulkheads]  # fmt: skip
    texts += [(patch, f"opening {patch.name}") for patch in room.openings]
    texts += [
        (patch, f"{patch.name}, {show(patch.mass, 'mass', units)}") for patch in room.fixtures
    ]
    texts += [(patch, f"{patch.name} above") for patch in room.obstructions]
    labels: list[tuple[Point, str]] = []
    for patch, text in texts:
        x, y = shown_place(design, *_middle(patch))
        half = shown_place(design, patch.length / 2, patch.width / 2)[1]
        steps = (0.0, -0.4 * half, 0.4 * half, -half - LABEL, half + LABEL,
                 -0.9 * LABEL, 0.9 * LABEL, -2 * LABEL, 2 * LABEL)  # fmt: skip
        busy = [*taken, *(at for at, _ in labels)]
        places = [(x, y + step) for step in steps]
        labels.append((max(places, key=lambda at: round(min(_room_at(at, busy), LABEL), 6)), text))
    return labels


def _room_at(at: Point, busy: Sequence[Point]) -> float:
    """How far a label is from the next mark or label [m], above or below it."""
    near = [abs(at[1] - y) for x, y in busy if abs(at[0] - x) < 3 * LABEL]
    return min(near, default=LABEL)


def marks(layout: Layout) -> list[Mark]:
    """Every hanger with number (from 1), load and verdict."""
    count = len(layout.placement.points)
    loads: Sequence[float | None] = layout.loads or [None] * count
    words = layout.verdicts or [UNCHECKED] * count
    places = [shown_place(layout.design, *point) for point in layout.placement.points]
    found = zip(places, loads, words, strict=True)
    return [Mark(i, *each) for i, each in enumerate(found, 1)]


def distances(values: Sequence[float]) -> list[float]:
    """Different values, rising; within half a millimetre counts as one [m]."""
    found: list[float] = []
    for value in sorted(values):
        if not found or value - found[-1] > 0.0005:
            found.append(value)
    return found


def spread(values: Sequence[float], gap: float) -> list[float]:
    """Rising values moved apart as little as needed to stand `gap` from each other."""
    groups: list[tuple[float, int]] = []  # (middle, members)
    for value in values:
        groups.append((value, 1))
        while len(groups) > 1:
            (m0, n0), (m1, n1) = groups[-2:]
            if m1 - m0 >= gap * (n0 + n1) / 2 - 1e-12:
                break
            groups[-2:] = [((m0 * n0 + m1 * n1) / (n0 + n1), n0 + n1)]
    return [middle + gap * (i - (n - 1) / 2) for middle, n in groups for i in range(n)]


def section_bands(design: Design) -> list[Band]:
    """Every layer from the walking surface to the underside of the ceiling, top first."""
    units, floor = design.units, design.floor
    old = design.old_ceiling.layers if design.old_ceiling else ()
    below = _layers(old, 0.0, "old", units)
    bottom = sum(layer.thickness for layer in old)
    bands = _between_joists(design, bottom)
    if floor.joists is not None:
        joists = floor.joists
        size = f"{length(joists.width, units)} x {length(joists.depth, units)}"
        text = f"{JOISTS[joists.kind]} {size} at {length(joists.spacing, units)}"
        bands.append(Band("joist", bottom + joists.depth, bottom, text))
    if floor.slab is not None:
        text = f"{floor.slab.kind} slab {length(floor.slab.thickness, units)}"
        bands.append(Band("slab", bottom + floor.slab.thickness, bottom, text))
    top = bands[-1].top if bands else bottom
    for layer in floor.layers:
        if layer.mat is not None:
            text = _sized(layer.mat.name, layer.mat.thickness, units)
            bands.append(Band("layer", top + layer.mat.thickness, top, text))
            top += layer.mat.thickness
        bands.append(Band("layer", top + layer.thickness, top, _name(layer, units)))
        top += layer.thickness
    if floor.covering is not None:
        text = f"{floor.covering.name} {length(floor.covering.thickness, units)}"
        bands.append(Band("layer", top + floor.covering.thickness, top, text))
    return bands[::-1] + below + _hung(design)


def _between_joists(design: Design, bottom: float) -> list[Band]:
    """Loose fill and what carries it, lowest first; the joists' underside is at `bottom` [m]."""
    infill, joists, units = design.floor.infill, design.floor.joists, design.units
    if infill is None or joists is None:
        return []
    text = f"loose fill {length(infill.thickness, units)}"
    if infill.boards is None:
        return [Band("fill", bottom + infill.thickness, bottom, text)]
    top = bottom + joists.depth - infill.below_deck
    low = top - infill.thickness
    name, thick = infill.boards.material.name, infill.boards.thickness
    under = f"boards under it: {name} {length(thick, units)}"
    return [Band("carrier", low, low - thick, under), Band("fill", top, low, text)]


def section_boxes(design: Design) -> list[tuple[str, float, float, float, float]]:
    """All that is solid in the section: kind (of `Band`, "channel" or "hanger"), left, bottom,
    right, top [m], the joists' underside at 0."""
    wide, joists, own = section_width(design), design.floor.joists, design.independent
    found = []
    for band in section_bands(design):
        spans = [(0.0, wide - design.ceiling.perimeter.gap if band.kind == "board" else wide)]
        if band.kind == "space":
            spans = []
        elif band.kind == "joist" and joists is not None:
            spans = _about(section_joists(design), joists.width)
        elif band.kind == "own" and own is not None:
            spans = _about(section_own_joists(design), own.joists.width)
        elif band.kind in ("fill", "carrier"):
            spans = section_bays(design)
        found += [(band.kind, left, band.bottom, right, band.top) for left, right in spans]
    if design.hangers is not None:
        below, high = -design.cavity.clear_depth, section_channel(design)
        if high:  # it runs across the joists, so along the section
            found.append(("channel", 0.02, below, wide - 0.01, below + high))
        hung = _about(section_joists(design), 0.04)
        found += [("hanger", left, below + high, right, 0.0) for left, right in hung]
    return found


def _about(middles: Sequence[float], width: float) -> list[tuple[float, float]]:
    return [(middle - width / 2, middle + width / 2) for middle in middles]


def section_bays(design: Design) -> list[tuple[float, float]]:
    """What the joists leave of the section's width, from the open end to the wall [m]."""
    half = design.floor.joists.width / 2 if design.floor.joists else 0.0
    sides = [side for middle in sorted(section_joists(design))
             for side in (middle - half, middle + half)]  # fmt: skip
    places = [0.0, *sides, section_width(design)]
    return list(zip(places[::2], places[1::2], strict=True))


def section_width(design: Design) -> float:
    """Width of the section, from its open end on the left to the wall [m]."""
    bands = section_bands(design)
    return max(1.3 * (bands[0].top - bands[-1].bottom), 1.6 * _spacing(design))


def section_joists(design: Design) -> tuple[float, float]:
    """Middles of the two joists, and of what hangs from them, from the section's left end [m]."""
    wide = section_width(design)
    return wide - 0.35 * _spacing(design), wide - 1.35 * _spacing(design)


def section_own_joists(design: Design) -> list[float]:
    """Middles of the ceiling's own joists in the section [m]: below the floor's, or midway between
    them where they reach up to them; none for a ceiling that hangs."""
    if design.independent is None:
        return []
    first, spacing = section_joists(design)[0], own_joist_spacing(design)
    half = design.independent.joists.width / 2
    aside = 0.5 if own_joists_reach_up(design) else 0.0
    places = [first - (i + aside) * spacing for i in range(20)]
    return [y for y in places if half < y < section_width(design) - half]


def _spacing(design: Design) -> float:
    return design.floor.joists.spacing if design.floor.joists else 0.6


def section_fill(design: Design) -> float:
    """Height of a fill's underside in the section, from the joists' [m]: on the boards, or held up
    between the joists, or below the slab or old ceiling."""
    fill, depth = design.cavity.fill, design.cavity.clear_depth
    if fill is None or fill.on_boards:
        return -depth
    between = design.floor.bay_depth if design.old_ceiling is None else 0.0
    return min(0.0, max(between - fill.thickness, -depth))


def section_channel(design: Design) -> float:
    """Height of the channel as it fits into the section [m]; 0 without one."""
    channel = design.hangers.channel if design.hangers else None
    return min(channel.height, design.cavity.clear_depth) if channel else 0.0


def finished_height(design: Design) -> float:
    """Floor of the room to the underside of the new ceiling [m], unloaded, without bulkheads."""
    return design.room.height - design.taken


def section_labels(design: Design) -> list[tuple[float, str]]:
    """(height [m], text) of everything named in the section, lowest first."""
    units, depth = design.units, design.cavity.clear_depth
    labels = [((b.top + b.bottom) / 2, b.text) for b in section_bands(design) if b.kind != "space"]
    labels.append((-0.3 * depth, f"clear depth {length(depth, units)}"))
    fill, hangers = design.cavity.fill, design.hangers
    if hangers is not None:
        own = "" if hangers.height > depth - FIT else f", {length(hangers.height, units)} high"
        labels.append((-0.5 * depth, hangers.name + own))
        if hangers.channel is not None:
            labels.append((hangers.channel.height / 2 - depth, hangers.channel.name))
    if fill is not None:
        height = section_fill(design) + fill.thickness / 2
        if fill.on_boards:
            height = min(-0.15 * depth, height)
        labels.append((height, f"{fill.name} {length(fill.thickness, units)}"))
    return sorted(labels)


def layout_title(design: Design) -> str:
    """What the sheet shows, after what holds the ceiling."""
    return said_of(design.hangers, "hanger layout") if design.hangers else "ceiling layout"


def edge_note(design: Design) -> str:
    """How the ceiling's edge ends, in words."""
    edge, units = design.ceiling.perimeter, design.units
    note = f"edge {edge.kind}, gap {gap_to_keep(edge.gap, units)}"
    if edge.kind == "sealed":
        note += f",\nbead {length(edge.bead_depth, units)} deep"
    return note


def _hung(design: Design) -> list[Band]:
    """Clear depth and boards."""
    depth = design.cavity.clear_depth
    units = design.units
    bands = [Band("space", 0.0, -depth, f"clear depth {length(depth, units)}")]
    if design.independent is not None:
        own = design.independent.joists
        size = f"{length(own.width, units)} x {length(own.depth, units)}"
        apart = length(own_joist_spacing(design), units)
        text = f"the ceiling's own joists {size} at {apart}"
        bands.append(Band("own", own.depth - depth, -depth, text))
    return bands + _layers(design.ceiling.layers, -depth, "board", design.units)


def _layers(layers: Sequence[Layer], start: float, kind: str, units: str) -> list[Band]:
    """Layers downwards; an old ceiling ends at z = 0, new boards start at `start`."""
    top = start + (sum(layer.thickness for layer in layers) if kind == "old" else 0.0)
    bands = []
    for layer in layers:
        word = "old ceiling: " if kind == "old" else ""
        name = _name(layer, units)
        if kind == "board":  # screwed to what holds them, as all ceilings are
            name = name.removesuffix(", nailed")
        bands.append(Band(kind, top, top - layer.thickness, word + name))
        top -= layer.thickness
    return bands


def _name(layer: Layer, units: str) -> str:
    return f"{_sized(layer.material.name, layer.thickness, units)}, {layer.bond}"


def _sized(name: str, thickness: float, units: str) -> str:
    """A name with a thickness, once where the name ends in it."""
    size = length(thickness, units)
    return name if name.endswith(size) else f"{name} {size}"


def _under_room(design: Design, y: float) -> list[Point]:
    """Runs of x where a joist line is over the room and not over a notch."""
    runs = [(0.0, design.room.length)]
    for notch in design.room.notches:
        if notch.y < y < notch.y + notch.width:
            parts = [(low, min(high, notch.x)) for low, high in runs]
            parts += [(max(low, notch.x + notch.length), high) for low, high in runs]
            runs = [(low, high) for low, high in parts if high - low > 1e-6]
    return runs


def _corners(patch: Patch) -> tuple[Point, ...]:
    x0, y0, x1, y1 = patch.x, patch.y, patch.x + patch.length, patch.y + patch.width
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))


def _diagonals(patch: Patch) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
    a, b, c, d, _ = _corners(patch)
    return (a, c), (b, d)


def _middle(patch: Patch) -> Point:
    return patch.x + patch.length / 2, patch.y + patch.width / 2

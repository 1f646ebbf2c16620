"""Where the points are that carry a ceiling: joist lines, channel lines, hangers.

Plain geometry, deterministic, no numpy. Room coordinates: x along the joists, y across them, from
the room's south-west corner [m]. The rules are common practice, no source, unless said otherwise.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from impact.design.lines import CLEARANCE, LINE_GAP, SAME, even, joist_lines
from impact.design.parts import Design, Hangers, Patch, Room

END_GAP = 0.006  # m: a channel stops at least 1/4 in short of a wall

Segment = tuple[float, float, float]
Interval = tuple[float, float]


@dataclass(frozen=True)
class Placement:
    """Everything about where a ceiling is held; numbers start at 0, drawings add 1.

    points : (x, y) of every hanger or fixing [m], channel by channel from the west, each from the
        south; explicit positions keep the order of the design file.
    channels : x of every channel line [m], rising. Empty for boards fixed straight to joists.
    segments : (x, y0, y1) of every continuous run of channel [m], after notches and openings.
    joists : y of the joist lines over the room [m], rising; empty under a slab.
    channel_of_point, segment_of_point : place in `channels`, `segments`; -1 without a channel.
    joist_of_point : place in `joists` of the nearest joist; -1 under a slab.
    unsupported : runs (x, y0, y1) [m] left out, as no joist crosses them: the board hangs from
        its neighbours only, so blocking between joists is needed.
    """

    points: tuple[tuple[float, float], ...]
    channels: tuple[float, ...]
    segments: tuple[Segment, ...]
    joists: tuple[float, ...]
    channel_of_point: tuple[int, ...]
    segment_of_point: tuple[int, ...]
    joist_of_point: tuple[int, ...]
    unsupported: tuple[Segment, ...] = ()


def place(design: Design) -> Placement:
    """Place hangers, resilient-channel fixings or direct fixings of a design by its rules.

    Channels run across the joists; the first and last line stand `edge_distance` from the walls,
    the lines between evenly, nowhere wider than `channel_spacing`; a wall of a notch gets its own
    line. Hangers stand on joists only: on the outermost joist of each run of channel and between
    evenly, nowhere wider than `hanger_spacing` (every joist when that is less than the joist
    spacing). Resilient channels are fixed at every joist. Direct fixings stand along every joist at
    `channel_spacing`. Under a slab the hangers of a line are spaced evenly from `edge_distance`.
    Nothing stands inside notches, openings and bulkheads; beside openings and bulkheads a short
    channel is added where no line passes within `edge_distance`, in the middle of a strip too
    narrow for that. Explicit positions are kept.
    A ceiling on its own joists has no points.
    """
    room, hangers = design.room, design.hangers
    lines = tuple(y - room.offset_y for y in joist_lines(design.floor, room))
    if hangers is None:
        return Placement((), (), (), lines, (), (), ())
    if hangers.positions is not None:
        return _given(design, hangers, lines)
    if hangers.kind == "direct" and hangers.channel is None:
        return _direct(room, hangers, lines, design.floor.joists is None)
    on_slab = design.floor.joists is None
    gap = max(END_GAP, design.ceiling.perimeter.gap)
    segments = _segments(room, hangers, lines, gap, on_slab)
    joist_spacing = design.floor.joists.spacing if design.floor.joists else 0.0
    step = _joists_per_hanger(hangers, joist_spacing)
    points: list[tuple[float, float]] = []
    held: list[Segment] = []
    for segment in segments:
        x, y0, y1 = segment
        if on_slab:
            ys = tuple(even(y0 - gap, y1 + gap, hangers.edge_distance, hangers.hanger_spacing))
        else:
            ys = _on_joists(lines, y0 - gap, y1 + gap, _margin(hangers), step)
        if ys:
            points.extend((x, y) for y in ys)
            held.append(segment)
    placement = _finish(tuple(points), tuple(held), lines)
    return replace(placement, unsupported=tuple(run for run in segments if run not in held))


def blocked(room: Room) -> tuple[Patch, ...]:
    """Notches, openings and bulkheads: the parts of the plan where no hanger may stand."""
    return room.notches + room.openings + room.bulkheads


def inside(patch: Patch, x: float, y: float, margin: float = 0.0) -> bool:
    """Whether (x, y) [m] lies inside a patch widened by `margin` [m]; its edge is outside."""
    return (
        patch.x - margin + SAME < x < patch.x + patch.length + margin - SAME
        and patch.y - margin + SAME < y < patch.y + patch.width + margin - SAME
    )


def _joists_per_hanger(hangers: Hangers, joist_spacing: float) -> int:
    """Joists from one hanger to the next; 2 % over the wanted spacing counts as equal (rounding
    of inch sizes in a design file, 16 in = 0.4 m)."""
    if hangers.kind in ("resilient channel", "direct") or joist_spacing <= 0:
        return 1
    return max(1, math.floor(1.02 * hangers.hanger_spacing / joist_spacing))


def _margin(hangers: Hangers) -> float:
    """Nearest a hanger comes to a wall or the edge of an opening [m]."""
    return min(CLEARANCE, hangers.edge_distance)


def _every(values: tuple[float, ...], step: int) -> tuple[float, ...]:
    """First, last and evenly between, never more than `step` places apart."""
    if len(values) < 2:
        return values
    last = len(values) - 1
    gaps = math.ceil(last / step)
    return tuple(values[(2 * i * last + gaps) // (2 * gaps)] for i in range(gaps + 1))


@lru_cache(maxsize=64)  # runs are often alike
def _on_joists(
    lines: tuple[float, ...], low: float, high: float, margin: float, step: int
) -> tuple[float, ...]:
    """Joists of a run that hangers stand on, one in `step`."""
    return _every(_usable(lines, low, high, margin), step)


def _usable(lines: tuple[float, ...], low: float, high: float, margin: float) -> tuple[float, ...]:
    """Joist lines at least `margin` from both ends of a free run."""
    return tuple(y for y in lines if low + margin - SAME <= y <= high - margin + SAME)


def _runs(side: float, patches: Sequence[Patch], x: float, margin: float) -> list[Interval]:
    """Runs of y from 0 to `side` along the line x that no patch blocks; patches are widened along x
    by `margin`."""
    runs = [(0.0, side)]
    for patch in patches:
        if patch.x - margin + SAME < x < patch.x + patch.length + margin - SAME:
            south, north = patch.y, patch.y + patch.width
            cut = []
            for low, high in runs:
                cut += [(low, min(high, south)), (max(low, north), high)]
            runs = [(low, high) for low, high in cut if high - low > 2 * margin]
    return runs


def _free(room: Room, x: float, margin: float) -> list[Interval]:
    """Runs of y along the line x that are not blocked, walls to walls."""
    return _runs(room.width, blocked(room), x, margin)


def free_along(room: Room, y: float, margin: float) -> list[Interval]:
    """Runs of x [m] along the line y that are not blocked and wider than twice `margin`, walls to
    walls; patches are widened along y by `margin`."""
    turned = [replace(p, x=p.y, y=p.x, length=p.width, width=p.length) for p in blocked(room)]
    return _runs(room.length, turned, y, margin)


def _fences(room: Room, edge: float) -> list[float]:
    """x of the lines that walls demand: one at `edge` from the two end walls and from every wall
    of a notch that faces along x, unless a line already stands close enough to that wall."""
    if room.length - 2 * edge <= LINE_GAP:
        return [room.length / 2]
    fences = [edge, room.length - edge]
    for notch in room.notches:
        for wall, side in ((notch.x, -1), (notch.x + notch.length, 1)):
            if not 2 * CLEARANCE < wall < room.length - 2 * CLEARANCE:
                continue
            if any(CLEARANCE - SAME <= side * (x - wall) <= edge + SAME for x in fences):
                continue
            near, far = (0.0, wall) if side < 0 else (wall, room.length)
            tries = _in_strip(near, far, edge) or [_apart(wall, side, edge, fences)]
            fences += [x for x in tries if all(abs(x - y) > LINE_GAP - SAME for y in fences)][:1]
    return sorted(fences)


def _in_strip(near: float, far: float, edge: float) -> list[float]:
    """Where a line may stand in a strip too narrow for the edge distance, best first; none in a
    wider one."""
    if far - near >= edge + CLEARANCE:
        return []
    return [(near + far) / 2, near + CLEARANCE, far - CLEARANCE]


def _apart(wall: float, side: int, edge: float, lines: list[float]) -> float:
    """A line at most `edge` from a wall, drawn nearer to it where another line would crowd it."""
    distance = edge
    for other in lines:
        ahead = side * (other - wall)
        if edge < ahead < edge + LINE_GAP:
            distance = min(distance, max(CLEARANCE, ahead - LINE_GAP))
    return wall + side * distance


def _channel_lines(room: Room, hangers: Hangers) -> list[float]:
    """x of all full channel lines: fences, and evenly between them within the spacing."""
    fences = _fences(room, hangers.edge_distance)
    lines = fences[:1]
    for low, high in itertools.pairwise(fences):
        count = max(1, math.ceil((high - low) / hangers.channel_spacing - SAME))
        lines += [low + (high - low) * i / count for i in range(1, count + 1)]
    return lines


def _segments(
    room: Room, hangers: Hangers, joists: tuple[float, ...], gap: float, on_slab: bool
) -> list[Segment]:
    """All runs of channel, sorted by line and start."""
    segments = [
        (x, low + gap, high - gap)
        for x in _channel_lines(room, hangers)
        for low, high in _free(room, x, _margin(hangers))
    ]
    for patch in room.openings + room.bulkheads:
        for edge_x, side in ((patch.x, -1), (patch.x + patch.length, 1)):
            trimmer = _trimmer(room, hangers, patch, edge_x, side, segments, joists, gap, on_slab)
            if trimmer:
                segments.append(trimmer)
    return sorted(segments)


def _trimmer(
    room: Room, hangers: Hangers, patch: Patch, edge_x: float, side: int,
    segments: list[Segment], joists: tuple[float, ...], gap: float, on_slab: bool,
) -> Segment | None:  # fmt: skip
    """A short channel beside one side of an opening, from the joist before it to the joist after;
    None where a channel passes within the edge distance or there is no ceiling on that side."""
    middle = patch.y + patch.width / 2
    beside = [x for x, y0, y1 in segments if y0 < middle < y1]
    edge = hangers.edge_distance
    if any(CLEARANCE - SAME <= side * (x - edge_x) <= edge + SAME for x in beside):
        return None
    tries = [_apart(edge_x, side, edge, beside)]
    for near, far in free_along(room, middle, _margin(hangers)):
        if abs((near if side > 0 else far) - edge_x) < SAME:
            tries = _in_strip(near, far, edge) or tries
    short = (_short(room, hangers, patch, x, segments, joists, gap, on_slab) for x in tries)
    return next((each for each in short if each), None)


def _short(
    room: Room, hangers: Hangers, patch: Patch, x: float,
    segments: list[Segment], joists: tuple[float, ...], gap: float, on_slab: bool,
) -> Segment | None:  # fmt: skip
    """The short channel at x; None where there is no room for it."""
    edge, middle = hangers.edge_distance, patch.y + patch.width / 2
    if not CLEARANCE - SAME <= x <= room.length - CLEARANCE + SAME:
        return None
    runs = [(low, high) for low, high in _free(room, x, _margin(hangers)) if low <= middle <= high]
    if not runs:
        return None
    low, high = runs[0]
    south, north = patch.y, patch.y + patch.width
    if on_slab:
        start, end = south - edge, north + edge
    else:
        start = max((y for y in joists if low < y <= south - CLEARANCE), default=low)
        end = min((y for y in joists if high > y >= north + CLEARANCE), default=high)
        start, end = start - CLEARANCE, end + CLEARANCE
    start, end = max(low + gap, start), min(high - gap, end)
    crowded = any(
        abs(x - line) < LINE_GAP - SAME and y0 < end and y1 > start for line, y0, y1 in segments
    )
    return None if crowded else (x, start, end)


def _direct(room: Room, hangers: Hangers, lines: tuple[float, ...], on_slab: bool) -> Placement:
    """Boards fixed straight to the joists (or a slab): fixings along every line, no channels."""
    rows = _usable(lines, 0.0, room.width, _margin(hangers))
    if on_slab:
        rows = tuple(even(0.0, room.width, hangers.edge_distance, hangers.hanger_spacing))
    points = [
        (x, y)
        for y in rows
        for low, high in free_along(room, y, _margin(hangers))
        for x in even(low, high, hangers.edge_distance, hangers.channel_spacing)
    ]
    return _finish(tuple(sorted(points)), (), lines)


def _given(design: Design, hangers: Hangers, lines: tuple[float, ...]) -> Placement:
    """Explicit positions, as they are; channels through every x that occurs, cut as usual."""
    points = hangers.positions or ()
    segments: list[Segment] = []
    if hangers.channel is not None:
        gap = max(END_GAP, design.ceiling.perimeter.gap)
        for x in sorted({round(x, 3) for x, _ in points}):
            for low, high in _free(design.room, x, _margin(hangers)):
                if any(round(px, 3) == x and low <= py <= high for px, py in points):
                    segments.append((x, low + gap, high - gap))
    return _finish(points, tuple(segments), lines)


@lru_cache(maxsize=64)  # the spread of a prediction places the same points for each input
def _finish(
    points: tuple[tuple[float, float], ...], segments: tuple[Segment, ...], lines: tuple[float, ...]
) -> Placement:
    """Number the points by channel, run and joist."""
    channels = tuple(sorted({x for x, _, _ in segments}))
    runs = tuple(_run_of(point, segments) for point in points)
    return Placement(
        points=points,
        channels=channels,
        segments=segments,
        joists=lines,
        channel_of_point=tuple(
            channels.index(segments[run][0]) if run >= 0 else -1 for run in runs
        ),
        segment_of_point=runs,
        joist_of_point=tuple(
            min(range(len(lines)), key=lambda i: abs(lines[i] - y)) if lines else -1
            for _, y in points
        ),
    )


def _run_of(point: tuple[float, float], segments: tuple[Segment, ...]) -> int:
    """Place of the run that carries a point, -1 when none does."""
    x, y = point
    for i, (line, y0, y1) in enumerate(segments):
        if abs(line - x) < 1e-3 and y0 - END_GAP <= y <= y1 + END_GAP:
            return i
    return -1

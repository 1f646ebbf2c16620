"""The rules of a layout, each a function that tells what breaks it; none of them places anything.

A rule looks at the finished placement only, so that positions given by hand are judged like those
placed by rule. Limits are common practice, no source, unless the design file gives them.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

from impact.base.units import feet_and_inches, show
from impact.design import catalogue
from impact.design.axes import shown_wall
from impact.design.fixings import said_of, table_of
from impact.design.lines import CLEARANCE, LINE_GAP, SAME
from impact.design.parts import Design, Hangers, Patch
from impact.design.placing import Placement, blocked, free_along, inside
from impact.gravity.beside import off_joists

OVER_SPACING = 1.02  # 16 in written as 0.4 m counts as equal
FIT = 0.003  # m: hanger height and clear depth agree within this


@dataclass(frozen=True)
class Finding:
    """What one rule found. `kind`: "broken" (must be mended) or "note" (look at it)."""

    rule: str
    kind: str
    text: str


def length(value: float, units: str) -> str:
    """A length [m] as on a drawing: whole millimetres (tenths below 30 mm, hundredths below 10 mm,
    halves away from nought: 1/4 in is 6.35 mm), or feet and sixteenths of an inch."""
    if units != "metric":
        return show(value, "length", "imperial")
    millimetres = 1000 * value * (1 + 1e-9)  # 6.35 is 6.3499... in binary
    if abs(millimetres) < 29.95:
        return f"{round(millimetres, 1 if abs(millimetres) >= 9.995 else 2):g} mm"
    return f"{millimetres:.0f} mm"


def gap_to_keep(value: float, units: str) -> str:
    """An edge's gap [m] as it is to be kept on site: whole millimetres, as nobody sets it finer
    (6 mm for 1/4 in), unless it is written in halves; in inches as `length`."""
    halves = 2000 * value
    if units != "metric" or halves < 1 or abs(halves - round(halves)) < 1e-6:
        return length(value, units)
    return f"{1000 * value:.0f} mm"


def at(value: float, units: str) -> str:
    """A place, or the length of a piece [m], on a drawing or sheet: as `length`, in feet and inches
    from one foot on. Sizes and spacings are told by `length`: joists at 16 in."""
    return length(value, units) if units == "metric" else feet_and_inches(value)


def check(design: Design, placement: Placement) -> tuple[Finding, ...]:
    """All findings of all rules, in the order of RULES. Empty without points (own joists)."""
    if design.hangers is None:
        return ()
    return tuple(
        Finding(said_of(design.hangers, name), kind, said_of(design.hangers, text))
        for name, rule in RULES.items()
        for kind, text in rule(design, placement, design.hangers)
    )


Found = list[tuple[str, str]]


def _on_joists(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Each point within half a joist's width of a joist's centre line."""
    alike: dict[str, list[str]] = {}
    for i, away in off_joists(design, placement):
        off = "no joist here" if away is None else length(away, design.units) + " off"
        alike.setdefault(off, []).append(str(i + 1))
    return [
        ("broken", f"{'hangers' if which[1:] else 'hanger'} {', '.join(which)}"
         f" {'are' if which[1:] else 'is'} not on a joist ({off})")
        for off, which in alike.items()
    ]  # fmt: skip


def _in_the_clear(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Each point inside the room and outside notches, openings and bulkheads."""
    room = design.room
    margin = min(CLEARANCE, hangers.edge_distance)
    found: Found = []
    for i, (x, y) in enumerate(placement.points):
        near_wall = min(x, y, room.length - x, room.width - y)
        if near_wall < margin - SAME:
            found.append(("broken", f"hanger {i + 1} is outside the room or at its wall"))
        for patch in blocked(room):
            if inside(patch, x, y, margin):
                found.append(("broken", f"hanger {i + 1} stands in or at '{patch.name}'"))
    return found


def _apart(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """No two points overlap."""
    room_each = LINE_GAP if hangers.channel is not None else 0.02
    return [
        ("broken", f"hangers {i + 1} and {j + 1} overlap")
        for (i, a), (j, b) in itertools.combinations(enumerate(placement.points), 2)
        if max(abs(a[0] - b[0]), abs(a[1] - b[1])) < room_each - SAME
    ]


def _channel_spacing(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Where a line of channel crosses the room, the next one is no farther than the spacing, but
    where a bulkhead or the like lies between them from wall to wall: it has a frame of its own."""
    limit = hangers.channel_spacing * OVER_SPACING
    found: Found = []
    for low, high in itertools.pairwise(placement.channels):
        if high - low > limit and _ceiling_between(design, low, high):
            gap, wanted = length(high - low, design.units), length(limit, design.units)
            found.append(("broken", f"channel lines {gap} apart, at most {wanted}"))
    return found


def _ceiling_between(design: Design, low: float, high: float) -> bool:
    """Whether ceiling anywhere runs on from x = low to high [m]."""
    room = design.room
    sides = {v for p in blocked(room) for v in (p.y, p.y + p.width) if 0 < v < room.width}
    return any(
        start <= low and high <= end
        for y0, y1 in itertools.pairwise(sorted({0.0, room.width, *sides}))
        if y1 - y0 > SAME
        for start, end in free_along(room, (y0 + y1) / 2, 0.0)
    )


def _hanger_spacing(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Along each run of channel, or along each joist for direct fixings."""
    along_joists = not placement.segments
    limit = hangers.channel_spacing if along_joists else hangers.hanger_spacing
    if hangers.kind == "resilient channel" and design.floor.joists:
        limit = max(limit, design.floor.joists.spacing)
    found: Found = []
    for numbers in _rows(placement, along_joists):
        for i, j in itertools.pairwise(numbers):
            axis = 0 if along_joists else 1
            gap = placement.points[j][axis] - placement.points[i][axis]
            between = _hole_between(design, placement.points[i], placement.points[j])
            if gap > limit * OVER_SPACING + SAME and not between:
                text = f"hangers {i + 1} and {j + 1} are {length(gap, design.units)} apart, at most"
                found.append(("broken", f"{text} {length(limit, design.units)}"))
    return found


def _rows(placement: Placement, along_joists: bool) -> list[list[int]]:
    """Points in order along each run of channel, or along each joist (x) without channels."""
    rows: dict[float, list[int]] = {}
    for i, (_, y) in enumerate(placement.points):
        key = round(y, 4) if along_joists else placement.segment_of_point[i]
        rows.setdefault(key, []).append(i)
    axis = 0 if along_joists else 1
    return [sorted(row, key=lambda i: placement.points[i][axis]) for row in rows.values()]


def _hole_between(design: Design, a: tuple[float, float], b: tuple[float, float]) -> bool:
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    return any(inside(patch, *middle) for patch in blocked(design.room))


def _edge_rows(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """A line of channel within the edge distance of every wall that faces along it."""
    room = design.room
    west, east = shown_wall(design, "west"), shown_wall(design, "east")
    walls: list[tuple[str, float, int, float]] = [
        (f"{west} wall", 0.0, 1, room.width / 2),
        (f"{east} wall", room.length, -1, room.width / 2),
    ]
    for notch in room.notches:
        middle = notch.y + notch.width / 2
        walls.append((f"{west} side of '{notch.name}'", notch.x, -1, middle))
        walls.append((f"{east} side of '{notch.name}'", notch.x + notch.length, 1, middle))
    lines = placement.channels or tuple(sorted({x for x, _ in placement.points}))
    return [
        ("broken", f"no row within {length(hangers.edge_distance, design.units)} of the {name}")
        for name, wall, side, y in walls
        if _room_beside(design, wall + side * hangers.edge_distance, y)
        and not _boxed(design, wall)
        and not any(-SAME <= side * (x - wall) <= hangers.edge_distance + SAME for x in lines)
    ]


def _boxed(design: Design, wall: float) -> bool:
    """Whether one bulkhead runs along the whole of a wall at x: `_beside_openings` looks there."""
    room = design.room
    return any(
        patch.x - SAME <= wall <= patch.x + patch.length + SAME and patch.width > room.width - SAME
        for patch in room.bulkheads
    )


def _room_beside(design: Design, x: float, y: float) -> bool:
    room = design.room
    if not 0 < x < room.length:
        return False
    return not any(inside(patch, x, y) for patch in room.notches)


def _overhang(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """The end hanger stands on the joist nearest to the channel's end; a long end is noted."""
    found: Found = []
    long_ends = 0
    worst = 0.0
    for numbers in _rows(placement, False) if placement.segments else []:
        x, y0, y1 = placement.segments[placement.segment_of_point[numbers[0]]]
        low, high = placement.points[numbers[0]][1], placement.points[numbers[-1]][1]
        reach = [y for y in placement.joists if y0 + CLEARANCE <= y <= y1 - CLEARANCE]
        if reach and (low > reach[0] + SAME or high < reach[-1] - SAME):
            text = f"{_channel_at(design, x)}: a joist nearer to its end is unused"
            found.append(("broken", text))
        for end in (low - y0, y1 - high):
            long_ends += end > hangers.edge_distance + SAME
            worst = max(worst, end)
    if long_ends:
        text = (
            f"{long_ends} channel ends reach up to {length(worst, design.units)} beyond their last"
            f" hanger, more than {length(hangers.edge_distance, design.units)}: no joist is nearer;"
            " set blocking there or let the load check judge it"
        )
        found.append(("note", text))
    return found


def _beside_openings(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Beside each side of an opening or bulkhead that has ceiling, a hanger within reach."""
    joists = design.floor.joists
    reach = hangers.edge_distance + (joists.spacing if joists else hangers.hanger_spacing)
    found: Found = []
    for patch in design.room.openings + design.room.bulkheads:
        for side in (-1, 1):
            edge = patch.x if side < 0 else patch.x + patch.length
            near = edge + side * hangers.edge_distance
            if not _room_beside(design, near, patch.y + patch.width / 2):
                continue
            if not any(
                _close(patch, edge, side, point, hangers, reach) for point in placement.points
            ):
                where = shown_wall(design, "west" if side < 0 else "east")
                text = f"no hanger within {length(hangers.edge_distance, design.units)} {where} of"
                found.append(("broken", f"{text} '{patch.name}'"))
    return found


def _close(
    patch: Patch, edge: float, side: int, point: tuple[float, float], hangers: Hangers, reach: float
) -> bool:
    x, y = point
    ahead = side * (x - edge)
    if not -SAME <= ahead <= hangers.edge_distance + SAME:
        return False
    return patch.y - reach <= y <= patch.y + patch.width + reach


def _strips(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Every strip of ceiling between walls, openings and bulkheads has a channel in it; ends that a
    channel may leave free are not looked at."""
    room = design.room
    sides = {v for p in blocked(room) for v in (p.y, p.y + p.width) if 0 < v < room.width}
    empty: list[tuple[float, float]] = []
    for y0, y1 in itertools.pairwise(sorted({0.0, room.width, *sides})):
        middle = (y0 + y1) / 2
        lines = [x for x, a, b in placement.segments if a < middle < b]
        if placement.segments and y1 - y0 > hangers.edge_distance:
            empty += [(low, high) for low, high in free_along(room, middle, 0.0)
                      if high - low > SAME and not any(low < x < high for x in lines)]  # fmt: skip
    wall = shown_wall(design, "west")
    return [
        ("note", f"the strip from {at(low, design.units)} to {at(high, design.units)} from"
                 f" the {wall} wall, {length(high - low, design.units)} wide, has no room for a"
                 " channel: the frame of what adjoins must carry its boards")
        for low, high in dict.fromkeys(empty)
    ]  # fmt: skip


def _held(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Every run of channel has a hanger, better two."""
    found: Found = [
        ("broken", f"{_channel_at(design, x)}, {at(y0, design.units)} to"
                   f" {at(y1, design.units)} from the {shown_wall(design, 'south')} wall,"
                   " crosses no joist: set blocking to hang it from")
        for x, y0, y1 in placement.unsupported
    ]  # fmt: skip
    for i, (x, y0, y1) in enumerate(placement.segments):
        if placement.segment_of_point.count(i) == 1:
            text = f"{_channel_at(design, x)}, {at(y1 - y0, design.units)} long,"
            found.append(("note", f"{text} hangs from one hanger; the boards must carry its ends"))
    loose = [i + 1 for i, run in enumerate(placement.segment_of_point) if run < 0]
    if loose and hangers.channel is not None:
        found.append(("broken", f"hangers {_some(loose)} hold no channel"))
    return found


def _obstructions(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """Points under a duct, pipe or beam below the joists cannot reach the joist."""
    found: Found = []
    for patch in design.room.obstructions:
        hit = [i + 1 for i, (x, y) in enumerate(placement.points) if inside(patch, x, y)]
        if hit:
            text = f"'{patch.name}' runs over hangers {_some(hit)}: move them or frame round it"
            found.append(("note", text))
    return found


def _fits(design: Design, placement: Placement, hangers: Hangers) -> Found:
    """The hanger's own height against the clear depth it has to fill; where it is not given, the
    greatest usual one of its class."""
    clear, units, height = design.cavity.clear_depth, design.units, hangers.height
    if height > clear + FIT:
        text = f"hanger needs {length(height, units)}, the clear depth is"
        return [("broken", f"{text} {length(clear, units)}: hang lower or use a lower one")]
    whose = "the hanger's"
    entry = catalogue.find(hangers.name)
    usual = entry.properties.get("height") if entry else None
    if usual and f"{table_of(hangers)}.height" in [each.path for each in design.defaults]:
        height = min(height, usual.high)
        whose = f"a {hangers.name} mostly spans,"
    if clear > height + FIT:
        text = f"clear depth {length(clear, units)} is more than {whose} {length(height, units)}:"
        return [("note", f"{text} bridge the rest with a stiff rod, strap or furring")]
    return []


def _channel_at(design: Design, x: float) -> str:
    return f"channel {at(x, design.units)} from the {shown_wall(design, 'west')} wall"


def _some(numbers: list[int]) -> str:
    shown = ", ".join(str(n) for n in numbers[:8])
    return shown if len(numbers) <= 8 else f"{shown} and {len(numbers) - 8} more"


Rule = Callable[[Design, Placement, Hangers], Found]
RULES: dict[str, Rule] = {
    "hangers on joists": _on_joists,
    "clear of walls and openings": _in_the_clear,
    "none overlapping": _apart,
    "channel spacing": _channel_spacing,
    "hanger spacing": _hanger_spacing,
    "first and last row": _edge_rows,
    "channel overhang": _overhang,
    "beside openings": _beside_openings,
    "narrow strips": _strips,
    "every channel hung": _held,
    "obstructions": _obstructions,
    "hanger height": _fits,
}

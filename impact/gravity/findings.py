"""Load findings in words, the gravest first. They are warnings to act on, never an approval."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from impact.base.units import height_left, show
from impact.design.fixings import said_of
from impact.design.lines import SAME, own_joists_reach_up
from impact.gravity.parts import (
    ABOVE,
    BELOW,
    UNRATED,
    Finding,
    boxed,
    deflection,
    limits_of,
    place_of_most,
)

if TYPE_CHECKING:
    from impact.gravity.loads import Loads

Found = list[tuple[str, str]]


def find(loads: Loads) -> tuple[Finding, ...]:
    """All findings of a load check, gravest first."""
    found: Found = []
    for rule in (_own, _steady, _lost, _overload, _underload, _pushed, _margin, _withdrawal,
                 _channels, _across, _deflection, _edge, _floor, _height, _ratings):  # fmt: skip
        found += rule(loads)
    hangers = loads.design.hangers
    return tuple(Finding(code, said_of(hangers, message)) for code, message in found)


def cannot_lose_one(loads: Loads) -> bool:
    """True where one lost hanger takes another beyond its rated maximum or lets the rest fall."""
    return bool(_fatal(loads))


def _fatal(loads: Loads) -> list[int]:
    """Hangers (from 0) whose loss the rest cannot bear."""
    hangers = loads.design.hangers
    most = math.inf
    if hangers is not None and hangers.load_maximum is not None:
        most = hangers.load_maximum
    return [
        i for i, each in enumerate(loads.hangers)
        if math.isnan(each.lost_load) or each.lost_load > most
    ]  # fmt: skip


def _own(loads: Loads) -> Found:
    """A ceiling's own joists that reach up to the floor's underside."""
    design = loads.design
    if design.independent is None or not own_joists_reach_up(design):
        return []
    depth, clear = design.independent.joists.depth, design.cavity.clear_depth
    text = (
        f"The ceiling's own joists are {_length(loads, depth)} deep in a clear depth of"
        f" {_length(loads, clear)}: "
    )
    if design.floor.joists is None or design.old_ceiling is not None:
        return [("own_joists_do_not_fit", text + "they touch what is above. Use flatter ones, or"
                 " more depth.")]  # fmt: skip
    return [("own_joists_between", text + "they stand between the floor's joists and must touch"
             " none. Set them midway between these, not at the places drawn.")]  # fmt: skip


def _force(loads: Loads, value: float) -> str:
    return show(value, "force", loads.design.units)


def _length(loads: Loads, value: float) -> str:
    return show(value, "length", loads.design.units)


def _moved(loads: Loads, value: float) -> str:
    return deflection(value, loads.design.units)


def wanted(value: float, units: str) -> str:
    """A least height [m] as it was asked for, to the millimetre or in fractions of an inch."""
    return f"{1000 * value:.0f} mm" if units == "metric" else show(value, "length", units)


def _some(numbers: list[int]) -> str:
    shown = ", ".join(str(n + 1) for n in numbers[:6])
    return shown if len(numbers) <= 6 else f"{shown} and {len(numbers) - 6} more"


def worst_loss(loads: Loads) -> int:
    """Hanger (from 0) whose loss loads another most, first of all one whose loss lets the rest
    fall; -1 without hangers."""
    after = [each.lost_load for each in loads.hangers]
    return place_of_most([math.inf if math.isnan(load) else load for load in after])


def _lost(loads: Loads) -> Found:
    fatal = _fatal(loads)
    if not fatal:
        return []
    worst = loads.hangers[worst_loss(loads)]
    if math.isnan(worst.lost_load):
        text = "the rest cannot hold the ceiling"
    else:
        assert loads.design.hangers is not None
        assert loads.design.hangers.load_maximum is not None
        text = (
            f"hanger {worst.lost_at + 1} would carry {_force(loads, worst.lost_load)} of at most"
            f" {_force(loads, loads.design.hangers.load_maximum)}"
        )
    return [(
        "cannot_lose_one",
        f"This ceiling cannot lose a hanger: without hanger {worst_loss(loads) + 1} {text}"
        f" ({len(fatal)} of {len(loads.hangers)} hangers cannot be lost). Set them closer or"
        " choose a higher rated load.",
    )]  # fmt: skip


def _steady(loads: Loads) -> Found:
    if loads.steady:
        return []
    return [(
        "turns_over",
        "All hangers stand in one line: nothing but the edge keeps the ceiling from turning about"
        " it. Set a second line of hangers.",
    )]  # fmt: skip


def _overload(loads: Loads) -> Found:
    hangers, worst = loads.design.hangers, loads.worst
    if hangers is None or hangers.load_maximum is None or worst is None:
        return []
    return _outside(
        loads, ABOVE, f"above their rated maximum of {_force(loads, hangers.load_maximum)}, the"
        f" worst with {_force(loads, worst.load)}", "An overloaded hanger bottoms or tears: set"
        " them closer, hang less, or choose a class for more load.", "overloaded",
    )  # fmt: skip


def _underload(loads: Loads) -> Found:
    hangers, least = loads.design.hangers, loads.least
    if hangers is None or hangers.load_minimum is None or least is None:
        return []
    return _outside(
        loads, BELOW, f"below their rated minimum of {_force(loads, hangers.load_minimum)}, the"
        f" least with {_force(loads, least.load)}", "Too light a load leaves a hanger stiff and"
        " unseated: use a class for less load there, or set them farther apart.", "underloaded",
    )  # fmt: skip


def _pushed(loads: Loads) -> Found:
    """Hangers that the ceiling lifts, as beside a heavy box on long free ends."""
    mean = loads.weight / max(len(loads.hangers), 1)
    lifted = [i for i, each in enumerate(loads.hangers) if each.load < -1e-3 * mean]
    if not lifted:
        return []
    return [(
        "pushed_up",
        f"{len(lifted)} of {len(loads.hangers)} hangers are pushed up, by as much as"
        f" {_force(loads, -min(each.load for each in loads.hangers))}: {_some(lifted)}. They must"
        " hold against that too, or others carry it: set hangers nearer to what weighs.",
    )]  # fmt: skip


def _outside(loads: Loads, verdict: str, what: str, remedy: str, code: str) -> Found:
    """One finding on all hangers of this verdict, by number."""
    bad = [i for i, each in enumerate(loads.hangers) if each.verdict == verdict]
    if not bad:
        return []
    return [(code, f"{len(bad)} of {len(loads.hangers)} hangers {what}: {_some(bad)}. {remedy}")]


def _margin(loads: Loads) -> Found:
    hangers = loads.design.hangers
    if hangers is None or hangers.load_maximum is None or loads.worst is None:
        return []
    found: Found = []
    most, wanted = hangers.load_maximum, loads.margin
    spare = max(each.spare_load for each in loads.hangers)
    if wanted.layers and spare > most >= loads.worst.load:
        found.append((
            "no_margin_for_another_layer",
            f"With {wanted.layers} more board layer{'s' * (wanted.layers > 1)} the worst hanger"
            f" would carry {_force(loads, spare)}, above {_force(loads, most)}. Common practice is"
            " to choose hangers for one layer more than is hung.",
        ))  # fmt: skip
    if wanted.factor * loads.worst.load > most >= loads.worst.load:
        found.append((
            "load_factor",
            f"The worst load times your factor {wanted.factor:g} is"
            f" {_force(loads, wanted.factor * loads.worst.load)}, above {_force(loads, most)}.",
        ))  # fmt: skip
    return found


def another_layer(loads: Loads) -> str:
    """What stands in the way of one more layer like the last, a sentence; "" if nothing does."""
    hangers = loads.design.hangers
    most = hangers.load_maximum if hangers else None
    if most is None or not loads.one_more > most:
        return ""
    return said_of(
        hangers, f"With one more layer the worst hanger would carry {_force(loads, loads.one_more)}"
        f" of at most {_force(loads, most)}: choose stronger hangers, or more of them, first.",
    )  # fmt: skip


def _withdrawal(loads: Loads) -> Found:
    hangers = loads.design.hangers
    if hangers is None or loads.worst is None:
        return []
    if hangers.withdrawal_capacity is None:
        if hangers.kind == "direct":  # the boards' own screws, as their maker has them
            return []
        above = "joists" if loads.design.floor.joists else "slab"
        return [(
            "withdrawal_not_checked",
            f"The fasteners into the {above} are not checked: no withdrawal capacity is given"
            " (hangers.withdrawal_capacity, from the approval of the fastener).",
        )]  # fmt: skip
    pulled = loads.margin.factor * loads.worst.load
    if pulled <= hangers.withdrawal_capacity:
        return []
    return [(
        "withdrawal_exceeded",
        f"The worst fixing is pulled with {_force(loads, pulled)}, above the withdrawal capacity"
        f" given, {_force(loads, hangers.withdrawal_capacity)}.",
    )]  # fmt: skip


def _channels(loads: Loads) -> Found:
    found: Found = []
    worst = loads.channels
    if worst is None:
        return found
    if worst.ratio < worst.limit:
        found.append((
            "channel_deflection",
            f"A channel spans {_length(loads, worst.span)} and bends"
            f" {_moved(loads, worst.deflection)} ({worst.spans} span), L/{worst.ratio:.0f} where"
            f" L/{worst.limit:.0f} is wanted: set hangers or channels closer, or use a stiffer"
            " one.",
        ))  # fmt: skip
    if worst.end_ratio < worst.limit:
        nearer = "set blocking and a hanger near the end" if loads.design.floor.joists else (
            "set the last hanger nearer to the end")  # fmt: skip
        found.append((
            "channel_end",
            f"A channel reaches up to {_length(loads, worst.overhang)} beyond its last hanger, and"
            f" a free end bends {_moved(loads, worst.end_deflection)}, L/{worst.end_ratio:.0f} of"
            f" twice its length where L/{worst.limit:.0f} is wanted: {nearer}, or use a stiffer"
            " channel.",
        ))  # fmt: skip
    moment = show(worst.moment, "moment", loads.design.units)
    if worst.allowable is None:
        found.append((
            "channel_strength_not_checked",
            f"The channel's strength is not checked: it must bear {moment} (give"
            " hangers.allowable_moment from its data).",
        ))  # fmt: skip
    elif worst.moment > worst.allowable:
        allowed = show(worst.allowable, "moment", loads.design.units)
        found.append(("channel_moment", f"Moment in the channel {moment}, above {allowed}."))
    return found


def _deflection(loads: Loads) -> Found:
    most = limits_of(loads.design).get("deflection_maximum")
    if most is None or not loads.hangers:
        return []
    moved = max(each.deflection for each in loads.hangers)
    if moved <= most:
        return []
    return [(
        "deflection_maximum",
        f"Hangers deflect by up to {_moved(loads, moved)}, more than {_length(loads, most)}.",
    )]  # fmt: skip


def _edge(loads: Loads) -> Found:
    edge, sag = loads.design.ceiling.perimeter, loads.sag
    found: Found = []
    if edge.kind == "touching":
        found.append((
            "touching_not_counted",
            "The ceiling touches the walls; rubbing there is not counted on to carry it.",
        ))  # fmt: skip
    elif sag is not None and edge.gap > 0 and sag.gap_left < edge.gap / 2:
        found.append((
            "gap_closes",
            f"The edge turns as it sags: of the gap of {_length(loads, edge.gap)}"
            f" {_length(loads, max(sag.gap_left, 0.0))} is left in the long term.",
        ))  # fmt: skip
    return found


def _across(loads: Loads) -> Found:
    """Bulkheads that part the ceiling: the plate is taken as one."""
    room = loads.design.room
    if not loads.hangers:
        return []
    names = [
        f"'{box.name}'" for box in room.bulkheads
        if any(
            start > SAME and start + size < side - SAME and across > wide - SAME
            for start, size, side, across, wide in (
                (box.x, box.length, room.length, box.width, room.width),
                (box.y, box.width, room.width, box.length, room.length),
            )
        )
    ]  # fmt: skip
    if not names:
        return []
    return [(
        "bulkhead_taken_as_stiff",
        f"The ceiling is taken as one plate across {', '.join(names)}. Where the frame there only"
        " hangs and does not hold bending, the hangers beside it carry more: 10 to 20 % in a room"
        " worked out apart.",
    )]  # fmt: skip


def _floor(loads: Loads) -> Found:
    most = limits_of(loads.design).get("floor_load_maximum")
    if most is None or loads.above.added <= most:
        return []
    units = loads.design.units
    return [(
        "floor_load_maximum",
        f"The ceiling adds {show(loads.above.added, 'mass per area', units)} to the joists, more"
        f" than {show(most, 'mass per area', units)}.",
    )]  # fmt: skip


def _height(loads: Loads) -> Found:
    room, found, units = loads.headroom, [], loads.design.units
    low = [("the ceiling", room.ceiling), *room.places]
    for name, height in low:
        if room.minimum is not None and height < room.minimum - 1e-9:
            short = room.minimum - height
            less = _moved(loads, short) if short < 1e-3 else _length(loads, short)
            found.append((
                "headroom",
                f"Below {name} {height_left(height, units)} are left, {less} less than the"
                f" {wanted(room.minimum, units)} wanted.",
            ))  # fmt: skip
    hangers, clear = loads.design.hangers, loads.design.cavity.clear_depth
    above = ("old ceiling" if loads.design.old_ceiling is not None
             else "joists" if loads.design.floor.joists else "slab")  # fmt: skip
    channel = hangers.channel.height if hangers and hangers.channel else 0.0
    for patch in loads.design.room.obstructions:
        if patch.drop <= clear - channel + 1e-9 or boxed(loads.design, patch):
            continue
        than = f"the clear depth of {_length(loads, clear)}"
        if channel:
            than += f" less the channel's {_length(loads, channel)}"
        found.append((
            "obstruction",
            f"'{patch.name}' reaches {_length(loads, patch.drop)} below the {above}, more than"
            f" {than}: box it in, or hang the ceiling lower.",
        ))  # fmt: skip
    return found


def _ratings(loads: Loads) -> Found:
    bad = [each for each in loads.hangers if each.verdict == UNRATED]
    hangers = loads.design.hangers
    if not bad or hangers is None or hangers.kind in ("direct", "resilient channel"):
        return []
    return [(
        "no_rated_load",
        "No rated load is known for these hangers: give hangers.load_minimum and"
        " hangers.load_maximum from their data.",
    )]  # fmt: skip

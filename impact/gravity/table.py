"""A load check as plain data for JSON, and as a few lines for the screen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from impact.base.air import GRAVITY
from impact.base.plain import finite
from impact.base.units import INCH, height_left, show
from impact.design.axes import shown_place, shown_wall
from impact.design.fixings import many, said_of
from impact.gravity import findings
from impact.gravity.findings import wanted
from impact.gravity.parts import ABOVE, BELOW, UNRATED, WITHIN, deflection, place_of_most, sunk

if TYPE_CHECKING:
    from impact.gravity.loads import Loads


def as_dict(loads: Loads) -> dict[str, Any]:
    """Loads in SI (lengths of deflection in mm), keys with their units."""
    kind, hangers = loads.design.hangers, loads.hangers
    worst = place_of_most([hanger.load for hanger in hangers])
    best = place_of_most([-hanger.load for hanger in hangers])
    return {
        "verdict": loads.verdict,
        "findings": [vars(finding) for finding in loads.findings],
        "weight_n": finite(loads.weight),
        "sum_n": finite(loads.reaction),
        "rated_minimum_n": finite(kind.load_minimum) if kind else None,
        "rated_maximum_n": finite(kind.load_maximum) if kind else None,
        "worst": _row(loads, worst),
        "best": _row(loads, best),
        "margin": {
            "layers": loads.margin.layers,
            "load_factor": loads.margin.factor,
            "worst_load_n": finite(max((h.spare_load for h in hangers), default=math.nan)),
            "one_more_layer_n": finite(loads.one_more),
        },
        "hangers": [_row(loads, at) for at in range(len(hangers))],
        "lost_hanger": _lost(loads),
        "sag": _sag(loads),
        "channel": _channel(loads),
        "own_joists": _own_joists(loads),
        "floor": {
            "added_kg_m2": finite(loads.above.added), "fill_kg_m2": finite(loads.above.fill),
            "joist_line_load_n_m": finite(loads.above.line_load),
            "joist_deflection_mm": _milli(loads.above.deflection_formula),
            "floor_deflection_mm": finite(1000 * loads.above.deflection),
            "fundamental_before_hz": finite(loads.above.fundamental_before),
            "fundamental_hz": finite(loads.above.fundamental),
        },
        "headroom": {
            # to 0.1 um: a page rounds them down, and 2.524125 m is 8' 3 3/8", 2.5241 m is less
            "ceiling_m": finite(loads.headroom.ceiling, 7),
            "lowest_m": finite(loads.headroom.lowest, 7),
            "lowest": height_left(loads.headroom.lowest, loads.design.units),
            "minimum_m": finite(loads.headroom.minimum, 7),
            "places": {name: finite(height, 7) for name, height in loads.headroom.places},
        },
    }  # fmt: skip


def _lost(loads: Loads) -> dict[str, Any]:
    """What happens when one hanger, or one line of channel, is lost."""
    hangers = loads.hangers
    lost = [each for each in hangers if not math.isnan(each.lost_load)]
    worst = findings.worst_loss(loads)
    return {
        "cannot_lose_one": findings.cannot_lose_one(loads),
        "fatal": len(hangers) - len(lost),
        "worst_lost": worst + 1 if hangers else None,
        "worst_load_n": finite(hangers[worst].lost_load) if hangers else None,
        "worst_sag_mm": finite(1000 * max((h.lost_sag for h in lost), default=math.nan)),
        "channel_lines": [
            {"from_wall": shown_wall(loads.design, "west"), "distance_m": finite(line.x),
             "worst_load_n": finite(line.load),
             "worst_hanger": line.at + 1 if line.at >= 0 else None,
             "sag_mm": finite(1000 * line.sag)}
            for line in loads.lines
        ],
    }  # fmt: skip


def _sag(loads: Loads) -> dict[str, Any] | None:
    sag = loads.sag
    return None if sag is None else {
        "most_mm": finite(1000 * sag.most), "least_mm": finite(1000 * sag.least),
        "edge_mm": finite(1000 * sag.edge), "edge_slope": finite(sag.slope, 6),
        "perimeter_gap_left_mm": finite(1000 * sag.gap_left),
    }  # fmt: skip


def _channel(loads: Loads) -> dict[str, Any] | None:
    worst = loads.channels
    return None if worst is None else {
        "span_m": finite(worst.span), "spans": worst.spans,
        "deflection_mm": finite(1000 * worst.deflection),
        "span_over_deflection": finite(worst.ratio, 1),
        "limit_span_over_deflection": worst.limit,
        "moment_n_m": finite(worst.moment),
        "allowable_moment_n_m": finite(worst.allowable),
        "with_boards_mm": finite(1000 * worst.elastic_deflection),
        "overhang_m": finite(worst.overhang),
        "end_deflection_mm": finite(1000 * worst.end_deflection),
        "end_span_over_deflection": finite(worst.end_ratio, 1),
    }  # fmt: skip


def _own_joists(loads: Loads) -> dict[str, Any] | None:
    own = loads.own
    return None if own is None else {
        "count": own.count, "span_m": finite(own.span),
        "line_load_n_m": finite(own.line_load),
        "reaction_n": finite(own.reaction), "moment_n_m": finite(own.moment),
        "deflection_mm": finite(1000 * own.deflection),
        "deflection_long_mm": finite(1000 * own.deflection * own.creep),
        "span_over_deflection": finite(own.ratio, 1),
    }  # fmt: skip


def _milli(value: float | None) -> float | None:
    return None if value is None else finite(1000 * value)


def _row(loads: Loads, at: int) -> dict[str, Any] | None:
    """One hanger, counted from 0; None for -1."""
    if at < 0:
        return None
    hanger = loads.hangers[at]
    x, y = shown_place(loads.design, hanger.x, hanger.y)
    return {
        "number": at + 1,
        "x_m": finite(x), "y_m": finite(y),
        "load_n": finite(hanger.load), "verdict": hanger.verdict,
        "deflection_mm": finite(1000 * hanger.deflection),
        "deflection_long_mm": finite(1000 * hanger.deflection_long),
        "deflection_cold_mm": finite(1000 * hanger.deflection_cold),
        "deflection_by_boards_mm": finite(1000 * hanger.by_boards),
        "tributary_n": finite(hanger.tributary), "spare_load_n": finite(hanger.spare_load),
        "if_lost": {
            "worst_load_n": finite(hanger.lost_load),
            "worst_hanger": hanger.lost_at + 1 if hanger.lost_at >= 0 else None,
            "sag_mm": finite(1000 * hanger.lost_sag),
        },
    }  # fmt: skip


GRAVE = ("turns_over", "cannot_lose_one")  # what is said before anything else


def text(loads: Loads) -> list[str]:
    """Lines for the screen: what cannot be lost first, then loads, sag, floor and headroom."""
    lines = [finding.message for finding in loads.findings if finding.code in GRAVE]
    if loads.worst is None:
        lines += _own(loads)
    else:
        lines += [said_of(loads.design.hangers, line) for line in _carried(loads)]
        lines += _bent(loads)
    lines += [_above(loads), _heights(loads)]
    return lines + [f.message for f in loads.findings if f.code not in GRAVE]


def _carried(loads: Loads) -> list[str]:
    """What the hangers carry and how far they move: now, in years, in the cold, one lost."""
    units, kind, low, high = loads.design.units, loads.design.hangers, loads.least, loads.worst
    room = loads.design.room
    assert low is not None
    assert high is not None
    assert kind is not None

    def force(value: float) -> str:
        return show(value, "force", units)

    def length(value: float) -> str:
        return deflection(value, units)

    lines = [
        f"{many(len(loads.hangers), 'hanger')}: {_verdicts(loads)}; load {force(low.load)} to"
        f" {force(high.load)}, by tributary area at most"
        f" {force(max(h.tributary for h in loads.hangers))}"
        + (" without fixtures and bulkheads" if room.fixtures or room.bulkheads else ""),
        f"weight {force(loads.weight)}, sum of the hangers' loads {force(loads.reaction)}; hangers"
        f" deflect {length(low.deflection)} to {length(high.deflection)}",
    ]
    if kind.creep_factor != 1:
        long = length(high.deflection_long)
        lines[-1] += f", with creep (factor {kind.creep_factor:g}) to {long}"
    if kind.cold_factor != 1:
        cold = length(high.deflection_cold)
        lines[-1] += f", hung in the cold ({kind.cold_factor:g} times as stiff) only to {cold}"
    held = [each for each in loads.hangers if not math.isnan(each.lost_load)]
    if held and not loads.fragile:
        worst = max(held, key=lambda each: each.lost_load)
        lines.append(
            f"any one hanger lost: another carries at most {force(worst.lost_load)}, the ceiling"
            f" sinks there by {length(max(each.lost_sag for each in held))} in all"
        )
    lost = [line for line in loads.lines if not math.isnan(line.load)]
    if loads.lines and not lost:
        lines.append("no channel line may be lost: the rest cannot hold the ceiling")
    elif lost:
        worst_line = max(lost, key=lambda line: line.load)
        rated = kind.load_maximum
        lines.append(
            f"any one channel line lost: a hanger carries at most {force(worst_line.load)}"
            + (f", above the rated {force(rated)}" if rated is not None and worst_line.load > rated
               else "")
            + f", sag {length(max(line.sag for line in lost))}"
            + (f"; {len(loads.lines) - len(lost)} lines hold all the rest" if len(lost)
               < len(loads.lines) else "")
        )  # fmt: skip
    return lines


def _verdicts(loads: Loads) -> str:
    """The verdict on all, or how many have which."""
    words = [hanger.verdict for hanger in loads.hangers]
    each = [f"{words.count(word)} {word}" for word in (ABOVE, BELOW, UNRATED, WITHIN)
            if word in words]  # fmt: skip
    return ", ".join(each) if len(each) > 1 else loads.in_words


def _bent(loads: Loads) -> list[str]:
    """Sag of boards and channels, and what is left of the gap at the walls."""
    units, sag, worst = loads.design.units, loads.sag, loads.channels
    lines = []
    if sag is not None:
        gap = loads.design.ceiling.perimeter.gap
        line = (
            f"boards hang {deflection(sag.least, units)} to {deflection(sag.most, units)}"
            f" lower than before loading, slope at the walls {1000 * sag.slope:.1f} in 1000"
        )
        if gap > 0:
            left = max(sag.gap_left, 0.0)  # to a hundredth: sixteenths would hide what is lost
            fine = f"{1000 * left:.1f} mm" if units == "metric" else f"{left / INCH:.2f} in"
            line += (
                f"; of the gap of {show(gap, 'length', units)} left at the perimeter in the long"
                f" term: {fine}"
            )
        lines.append(line)
    if worst is not None:
        spans = (
            f"channel spans {show(worst.span, 'length', units)} ({worst.spans} span), bends"
            f" {deflection(worst.deflection, units)} = L/{worst.ratio:.0f} (limit"
            f" L/{worst.limit:.0f})"
        )
        lines.append(
            (spans if worst.span > 0 else "no channel has two hangers")
            + f", moment {show(worst.moment, 'moment', units)} with what hangs"
            " on it, without the boards' help"
            + (f"; free ends bend up to {deflection(worst.end_deflection, units)}"
               if worst.end_deflection > 0 else "")
        )  # fmt: skip
    return lines


def _own(loads: Loads) -> list[str]:
    """The ceiling's own joists: what each carries, how far it bends."""
    units, own = loads.design.units, loads.own
    lines = ["No hangers: the ceiling hangs on its own joists."]
    if own is not None:
        long = deflection(own.deflection * own.creep, units)
        lines.append(
            f"{own.count} joists of its own at {show(own.spacing, 'length', units)}, span"
            f" {show(own.span, 'length', units)}: each carries"
            f" {show(own.line_load / GRAVITY, 'mass per length', units)},"
            f" {show(own.reaction, 'force', units)} at each end, bends"
            f" {deflection(own.deflection, units)} = L/{own.ratio:.0f}"
            + (f", with creep (factor {own.creep:g}) {long}" if own.creep != 1 else "")
            + f"; moment {show(own.moment, 'moment', units)}. Their strength and their bearings are"
            " not checked; nor is anything else that they may have to carry"
        )  # fmt: skip
        lines.append(f"weight {show(loads.weight, 'force', units)}, without these joists")
    return lines


def _above(loads: Loads) -> str:
    """Dead load on the joists and the floor's new fundamental."""
    units, above = loads.design.units, loads.above
    fill = show(above.fill, "mass per area", units)
    if loads.own is not None:
        load = f"dead load on the floor above: {fill}, of the fill that it holds up"
        return (load if above.fill else "no dead load on the floor above") + _coupled(loads)
    line = f"dead load on the floor above: {show(above.added, 'mass per area', units)} more"
    if above.fill:
        line += f" ({fill} of it the fill that it holds up)"
    if above.line_load is not None and above.deflection_formula is not None:
        line += (
            f", {show(above.line_load / GRAVITY, 'mass per length', units)} of a joist, which"
            f" alone would sink {deflection(above.deflection_formula, units)}, with deck and"
            " neighbours"
        )
    else:
        line += "; it sinks"
    return line + f" {sunk(above.deflection, units)}" + _coupled(loads)


def _coupled(loads: Loads) -> str:
    """What becomes of the floor's fundamental; nothing where it is not known."""
    above, line = loads.above, ""
    if math.isfinite(above.fundamental) and math.isfinite(above.fundamental_before):
        line += (
            f"; the floor's fundamental of {above.fundamental_before:.1f} Hz becomes"
            f" {above.fundamental:.1f} Hz (coupled)"
        )
        if above.fundamental > above.fundamental_before:
            line += ", higher: above its own resonance a ceiling holds the floor like a spring"
    return line


def _heights(loads: Loads) -> str:
    """Finished heights, flat and below everything that hangs lower, with the long-term sag."""
    units, room = loads.design.units, loads.headroom

    def height(value: float) -> str:
        return height_left(value, units)

    line = f"finished height {height(room.ceiling)} with the long-term sag"
    for name, value in room.places:
        line += f"; below '{name}' {height(value)}"
    return line + (f" (wanted: {wanted(room.minimum, units)})" if room.minimum is not None else "")

"""A load check as plain data for JSON, and as a few lines for the screen."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from impact.base.units import show
from impact.gravity import findings

if TYPE_CHECKING:
    from impact.gravity.loads import Loads
    from impact.gravity.parts import Hanger


def _number(value: float | None, digits: int = 4) -> float | None:
    """Rounded; None for what is not finite, as JSON has no such numbers."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits)


def as_dict(loads: Loads) -> dict[str, Any]:
    """Loads in SI (lengths of deflection in mm), keys with their units."""
    kind = loads.design.hangers
    lost = [each for each in loads.hangers if not math.isnan(each.lost_load)]
    hangers = loads.hangers
    worst_loss = max(range(len(hangers)), key=lambda i: _loss(hangers[i]), default=-1)
    return {
        "verdict": loads.verdict,
        "findings": [vars(finding) for finding in loads.findings],
        "weight_n": _number(loads.weight),
        "sum_n": _number(loads.reaction),
        "rated_minimum_n": _number(kind.load_minimum) if kind else None,
        "rated_maximum_n": _number(kind.load_maximum) if kind else None,
        "worst": _row(loads, loads.worst),
        "best": _row(loads, loads.least),
        "margin": {
            "layers": loads.margin.layers,
            "load_factor": loads.margin.factor,
            "worst_load_n": _number(max((h.spare_load for h in loads.hangers), default=math.nan)),
        },
        "hangers": [_row(loads, hanger) for hanger in loads.hangers],
        "lost_hanger": {
            "cannot_lose_one": findings.cannot_lose_one(loads),
            "fatal": len(loads.hangers) - len(lost),
            "worst_lost": worst_loss + 1 if hangers else None,
            "worst_load_n": _number(hangers[worst_loss].lost_load) if hangers else None,
            "worst_sag_mm": _number(1000 * max((h.lost_sag for h in lost), default=math.nan)),
            "channel_lines": [
                {"x_m": _number(line.x), "worst_load_n": _number(line.load),
                 "worst_hanger": line.at + 1 if line.at >= 0 else None,
                 "sag_mm": _number(1000 * line.sag)}
                for line in loads.lines
            ],
        },
        "sag": None if loads.sag is None else {
            "most_mm": _number(1000 * loads.sag.most), "least_mm": _number(1000 * loads.sag.least),
            "edge_mm": _number(1000 * loads.sag.edge), "edge_slope": _number(loads.sag.slope, 6),
            "perimeter_gap_left_mm": _number(1000 * loads.sag.gap_left),
        },
        "channel": None if loads.channels is None else {
            "span_m": _number(loads.channels.span), "spans": loads.channels.spans,
            "deflection_mm": _number(1000 * loads.channels.deflection),
            "span_over_deflection": _number(loads.channels.ratio, 1),
            "limit_span_over_deflection": loads.channels.limit,
            "moment_n_m": _number(loads.channels.moment),
            "allowable_moment_n_m": _number(loads.channels.allowable),
            "with_boards_mm": _number(1000 * loads.channels.elastic_deflection),
            "overhang_m": _number(loads.channels.overhang),
        },
        "floor": {
            "added_kg_m2": _number(loads.above.added),
            "joist_line_load_n_m": _number(loads.above.line_load),
            "joist_deflection_mm": _milli(loads.above.deflection_formula),
            "floor_deflection_mm": _number(1000 * loads.above.deflection),
            "fundamental_before_hz": _number(loads.above.fundamental_before),
            "fundamental_hz": _number(loads.above.fundamental),
        },
        "headroom": {
            "ceiling_m": _number(loads.headroom.ceiling),
            "lowest_m": _number(loads.headroom.lowest),
            "lowest": show(loads.headroom.lowest, "length", loads.design.units),
            "minimum_m": _number(loads.headroom.minimum),
            "places": {name: _number(height) for name, height in loads.headroom.places},
        },
    }  # fmt: skip


def _milli(value: float | None) -> float | None:
    return None if value is None else _number(1000 * value)


def _loss(hanger: Hanger) -> float:
    return math.inf if math.isnan(hanger.lost_load) else hanger.lost_load


def _row(loads: Loads, hanger: Hanger | None) -> dict[str, Any] | None:
    if hanger is None:
        return None
    return {
        "number": loads.hangers.index(hanger) + 1,
        "x_m": _number(hanger.x), "y_m": _number(hanger.y),
        "load_n": _number(hanger.load), "verdict": hanger.verdict,
        "deflection_mm": _number(1000 * hanger.deflection),
        "deflection_long_mm": _number(1000 * hanger.deflection_long),
        "deflection_cold_mm": _number(1000 * hanger.deflection_cold),
        "tributary_n": _number(hanger.tributary), "spare_load_n": _number(hanger.spare_load),
        "if_lost": {
            "worst_load_n": _number(hanger.lost_load),
            "worst_hanger": hanger.lost_at + 1 if hanger.lost_at >= 0 else None,
            "sag_mm": _number(1000 * hanger.lost_sag),
        },
    }  # fmt: skip


def text(loads: Loads) -> list[str]:
    """Lines for the screen: what cannot be lost first, then loads, sag, floor and headroom."""
    units = loads.design.units
    grave = {"turns_over", "cannot_lose_one"}
    lines = [finding.message for finding in loads.findings if finding.code in grave]
    if loads.worst is None or loads.least is None or loads.sag is None:
        lines.append("No hangers: the ceiling hangs on its own joists.")
    else:
        low, high = loads.least, loads.worst
        lines.append(
            f"{len(loads.hangers)} hangers: {loads.verdict}; load {show(low.load, 'force', units)}"
            f" to {show(high.load, 'force', units)}, by tributary area at most"
            f" {show(max(h.tributary for h in loads.hangers), 'force', units)}"
        )
        lines.append(
            f"weight {show(loads.weight, 'force', units)}; hangers deflect"
            f" {show(low.deflection, 'length', units)} to {show(high.deflection, 'length', units)},"
            f" in the long term to {show(high.deflection_long, 'length', units)}"
        )
    above = loads.above
    lines.append(
        f"joists carry {show(above.added, 'mass per area', units)} more and sink"
        f" {show(above.deflection, 'length', units)}"
        + (
            f"; floor {above.fundamental_before:.1f} Hz becomes {above.fundamental:.1f} Hz"
            if math.isfinite(above.fundamental) and math.isfinite(above.fundamental_before)
            else ""
        )
    )
    lines.append(f"finished height {show(loads.headroom.lowest, 'length', units)}")
    return lines + [f.message for f in loads.findings if f.code not in grave]

"""How far apart hangers and channels are, or where each hanger goes, as the file says."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from impact.base import units
from impact.design.checks import Ledger, join
from impact.design.parts import Floor

_INCH = units.INCH


@dataclass(frozen=True)
class Place:
    """Where the fixing goes: room sides as in the file [m], joist direction, floor."""

    length: float
    width: float
    along: str
    floor: Floor
    clear_depth: float | None  # of [cavity], when given


def hanger_spacing(values: dict[str, Any], name: str, place: Place, ledger: Ledger) -> float:
    """Spacing of points along a channel or joist [m]: a multiple of the joists', one where channels
    or boards are fixed to each."""
    beams = place.floor.joists
    spacing = values.get("hanger_spacing")
    path = join(name, "hanger_spacing")
    if beams is None:
        if name == "direct_fixing":
            ledger.fault(
                name, "needs joists to fix to; a slab takes hangers or its own plaster layer"
            )
        if spacing is None:
            spacing = 1.2
            ledger.default(path, ledger.show(spacing, "length"), "common practice, no source")
        return float(spacing)
    if name != "hangers":
        return beams.spacing
    if spacing is None:
        spacing = beams.spacing * max(1, math.floor(48.05 * _INCH / beams.spacing))
        ledger.default(
            path, ledger.show(spacing, "length"), "most joists that fit into 48 in (1.2 m)"
        )
        return float(spacing)
    times = spacing / beams.spacing
    if values["positions"] is None and (
        round(times) < 1 or abs(times - round(times)) * beams.spacing > 0.003
    ):
        low = max(1, math.floor(times)) * beams.spacing
        ledger.fault(
            path,
            f"{ledger.show(spacing, 'length')} is no multiple of the joist spacing "
            f"{ledger.show(beams.spacing, 'length')}; hangers sit on joists: "
            f"{ledger.show(low, 'length')} or {ledger.show(low + beams.spacing, 'length')}",
        )
        return float(spacing)
    return max(1, round(times)) * beams.spacing


def channel_spacing(values: dict[str, Any], name: str, across: float, ledger: Ledger) -> float:
    """Spacing of channel lines, or of screws along a joist [m]; across : of points on it [m]."""
    if name == "direct_fixing":
        return float(values["spacing"])
    spacing = values["channel_spacing"]
    if spacing is None:
        wide = name == "hangers" or across < 16.5 * _INCH
        spacing = 24 * _INCH if wide else 16 * _INCH
        why = (
            "24 in lines, common practice"
            if name == "hangers"
            else ("24 in at joists of 16 in, 16 in at joists of 24 in; common practice")
        )
        ledger.default(join(name, "channel_spacing"), ledger.show(spacing, "length"), why)
    return float(spacing)


def is_pair(raw: Any) -> bool:
    """Whether something in a file is a list of two."""
    return isinstance(raw, list) and len(raw) == 2


def pairs(raw: Any, ledger: Ledger) -> list[tuple[float, float]] | None:
    """Hanger positions as written, in metres."""
    if raw is None:
        return None
    path = "hangers.positions"
    if not isinstance(raw, list) or not raw or not all(is_pair(point) for point in raw):
        ledger.fault(path, 'is no list of pairs; write [["6 in", "8 in"], ["30 in", "8 in"]]')
        return None
    points: list[tuple[float, float]] = []
    for i, (x, y) in enumerate(raw):
        try:
            point = (units.parse(x, "length"), units.parse(y, "length"))
        except units.UnitError as fault:
            ledger.fault(f"{path}[{i}]", str(fault))
            continue
        if point in points:
            ledger.fault(f"{path}[{i}]", f"{x}, {y} stands there twice; leave one out")
        points.append(point)
    return points


def positions(
    points: list[tuple[float, float]] | None, place: Place, ledger: Ledger
) -> tuple[tuple[float, float], ...] | None:
    """Hanger positions with x along the joists; each must lie inside the room."""
    if points is None:
        return None
    for i, (x, y) in enumerate(points):
        if not (0 <= x <= place.length and 0 <= y <= place.width):
            shown = [ledger.show(size, "length") for size in (x, y, place.length, place.width)]
            what = f"{shown[0]}, {shown[1]} lies outside the room of {shown[2]} x {shown[3]}"
            ledger.fault(f"hangers.positions[{i}]", what)
    return tuple((y, x) if place.along == "width" else (x, y) for x, y in points)

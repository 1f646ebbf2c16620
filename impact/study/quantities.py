"""How much of everything a layout takes, and what it costs at the user's own prices.

Prices are never invented: without one an item has no cost, and the sum says what it leaves out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from impact.design.boxes import face_area
from impact.design.lines import own_joist_lines
from impact.design.parts import Design, Patch, Room
from impact.design.placing import Placement
from impact.study.layout_boards import BoardLayer, outline
from impact.study.layout_pieces import Piece, stock_count
from impact.study.layout_rules import gap_to_keep, length

# Item -> key in the design's prices (SI: each, per metre, per m2). Boards, fill and hangers with a
# price under their own name ("by_name: ...") use that one.
PRICE_KEYS: dict[str, str] = {
    "hanger": "hanger",
    "channel": "channel_per_m",
    "own joist": "own_joist_per_m",
    "board": "board_per_m2",
    "fill": "fill_per_m2",
    "sealant": "sealant_per_m",
    "screw": "screw",
    "labour": "labour_per_m2",
    "removal of the old ceiling": "removal_per_m2",
    "fixed costs": "fixed",
}


@dataclass(frozen=True)
class Item:
    """One line of the bill: `net` is what the plan shows, `count` what to buy, both in `unit`."""

    name: str
    net: float
    count: float
    unit: str  # "pieces", "m", "m2"
    detail: str
    price: float | None  # per unit of `count`
    cost: float | None


def quantities(
    design: Design, placement: Placement, pieces: Sequence[Piece], boards: Sequence[BoardLayer],
    *, stock: float, board_area: float, screw_spacing: float, waste: float,
) -> tuple[Item, ...]:  # fmt: skip
    """Bill of the ceiling.

    Hangers are counted as placed; boards straight on joists have none but their screws. Channel is
    cut from stock lengths (first-fit decreasing). Boards are the larger of the laid-out count and
    the area with the waste allowance; bulkhead faces are in the area. Screws stand every
    `screw_spacing` along the channels, or the ceiling's own joists, in every layer. Sealant runs
    round the outline and round openings when the perimeter is sealed. `stock`, `screw_spacing` [m],
    `board_area` [m2], `waste` as a fraction.
    """
    prices, units = design.prices, design.units
    items = []
    if design.hangers is not None and (pieces or design.hangers.kind != "direct"):
        count, name = len(placement.points), design.hangers.name
        items.append(_item("hanger", count, count, "pieces", name, prices, own=name))
    channel = sum(piece.length for piece in pieces)
    if pieces:
        lengths = stock_count((piece.length for piece in pieces), stock)
        detail = f"{lengths} lengths of {length(stock, units)}, {len(pieces)} pieces"
        items.append(_item("channel", channel, lengths * stock, "m", detail, prices))
    if design.independent is not None:
        own, count = design.independent.joists, len(own_joist_lines(design))
        run = count * own.span  # what bears on the walls comes on top
        size = f"{length(own.width, units)} x {length(own.depth, units)}"
        detail = f"{count} joists {size}, clear span {length(own.span, units)}, bearing extra"
        items.append(_item("own joist", run, run, "m", detail, prices))
    items += _board_items(design, boards, board_area, waste)
    items += _screw_items(design, placement, screw_spacing, waste)
    if design.ceiling.perimeter.kind == "sealed":
        edge = outline(design.room, design.room.notches + design.room.openings)[1]
        bead = f"gap {gap_to_keep(design.ceiling.perimeter.gap, units)}"
        items.append(_item("sealant", edge, edge * (1 + waste), "m", bead, prices))
    fill = design.cavity.fill
    if fill is not None:
        area = outline(design.room, design.room.notches + design.room.openings)[0]
        thick = f"{fill.name}, {length(fill.thickness, units)}"
        items.append(_item("fill", area, area * (1 + waste), "m2", thick, prices, own=fill.name))
    return (*items, *_work(design))


def _work(design: Design) -> list[Item]:
    """Labour, removal and fixed costs, each only where it has a price. Labour counts the plan with
    bulkhead faces; the old ceiling is taken down unless the design keeps it."""
    prices, room = design.prices, design.room
    plan = outline(room, room.notches + room.openings)[0]
    faces = sum(face_area(room, patch) for patch in room.bulkheads)
    work = []
    if "labour_per_m2" in prices:
        work.append(_item("labour", plan + faces, plan + faces, "m2", "", prices))
    if "removal_per_m2" in prices and design.old_ceiling is None:
        work.append(_item("removal of the old ceiling", plan, plan, "m2", "", prices))
    if "fixed" in prices:
        work.append(_item("fixed costs", 1, 1, "pieces", "", prices))
    return work


def total(items: Sequence[Item]) -> tuple[float | None, tuple[str, ...]]:
    """Sum of the known costs (None when none is known) and the names of items without a price."""
    known = [item.cost for item in items if item.cost is not None]
    missing = tuple(item.name for item in items if item.cost is None)
    return (sum(known) if known else None), missing


def soffit_area(design: Design) -> float:
    """Boarded area of all bulkheads [m2]: their soffits and their upright faces."""
    return sum(boarded_area(design.room, patch) for patch in design.room.bulkheads)


def boarded_area(room: Room, patch: Patch) -> float:
    """Area of one bulkhead's soffit and upright faces [m2]."""
    return patch.length * patch.width + face_area(room, patch)


def _item(
    name: str, net: float, count: float, unit: str, detail: str, prices: Mapping[str, float],
    own: str = "",
) -> Item:  # fmt: skip
    """One line; `own` is the catalogue name whose price goes before the general one."""
    price = prices.get(f"by_name: {own}", prices.get(PRICE_KEYS[name.split(":")[0]]))
    return Item(name, net, count, unit, detail, price, None if price is None else price * count)


def _board_items(
    design: Design, boards: Sequence[BoardLayer], board_area: float, waste: float
) -> list[Item]:
    room = design.room
    flat = outline(room, room.notches + room.openings + room.bulkheads)[0]
    soffits = soffit_area(design)
    items = []
    for number, (layer, laid) in enumerate(zip(design.ceiling.layers, boards, strict=True), 1):
        net = flat + soffits
        by_plan = laid.boards + math.ceil(soffits * (1 + waste) / board_area - 1e-9)
        count = max(by_plan, math.ceil(net * (1 + waste) / board_area - 1e-9))
        detail = f"layer {number}, {layer.material.name}"
        name = f"board: layer {number}"
        items.append(
            _item(name, net, count * board_area, "m2", f"{detail}, {count} boards", design.prices,
                  own=layer.material.name)
        )  # fmt: skip
    return items


def _screw_items(
    design: Design, placement: Placement, screw_spacing: float, waste: float
) -> list[Item]:
    lines = [y1 - y0 for _, y0, y1 in placement.segments]
    if design.independent is not None:
        lines = [design.independent.joists.span] * len(own_joist_lines(design))
    each = sum(math.ceil(run / screw_spacing - 1e-9) + 1 for run in lines) or len(placement.points)
    if not each:
        return []
    return [
        _item(f"screw: layer {number}", each, math.ceil(each * (1 + waste)), "pieces",
              f"every {length(screw_spacing, design.units)}", design.prices)
        for number in range(1, len(design.ceiling.layers) + 1)
    ]  # fmt: skip

"""Loads, sag and cost of every hanger, spacing and board count of a search.

The same elastic stack at rest as in `impact.gravity`, with one leaf for all that hangs from it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from impact.base.air import GRAVITY
from impact.design.parts import Design, Hangers
from impact.design.placing import Placement, place
from impact.gravity import channel, rest, weights
from impact.gravity.loads import HIGHEST, SPARE_LAYERS, boxes_below, limits_of, most_sag
from impact.leaf.plate import Leaf
from impact.leaf.vented import boards
from impact.motion.assemble import assemble
from impact.study.choose_axes import Axes, variant
from impact.study.layout import lay_out


@dataclass(frozen=True, eq=False)
class Table:
    """Arrays over (hangers, channel spacings, hanger spacings, layers) of N, m; NaN where nothing
    can hang.

    worst, least : load on a hanger [N]; spare : worst with the further layers of the margin;
    lost : worst once any one hanger is lost (inf: the rest falls). deflection : m, short term.
    low : how far the ceiling or a bulkhead of it comes below the flat ceiling before load, in the
    long term [m]. ratio, moment : of the channels, inf and 0 without. added : kg/m2 on the joists.
    count : of hangers. cost, fill_cost : in the currency of [prices], NaN without; missing : items
    without a price.
    """

    worst: np.ndarray
    least: np.ndarray
    spare: np.ndarray
    lost: np.ndarray
    deflection: np.ndarray
    low: np.ndarray
    ratio: np.ndarray
    moment: np.ndarray
    added: np.ndarray
    count: np.ndarray
    cost: np.ndarray
    fill_cost: np.ndarray
    missing: tuple[str, ...]


NUMBERS = ("worst", "least", "spare", "lost", "deflection", "low", "ratio", "moment", "added",
           "count", "cost", "fill_cost")  # fmt: skip


def table(design: Design, axes: Axes) -> Table:
    """Loads and cost of every combination but for depth and fill. Depth changes neither; a fill
    that lies on the boards counts with the thickest tried, on the safe side."""
    shape = axes.shape[:4]
    out = {name: np.full(shape, np.nan) for name in NUMBERS}
    missing: dict[str, None] = {}
    fill = max(axes.fills)
    depth = max(axes.depths)
    for number, layers in enumerate(axes.layers):
        for c, lines in enumerate(axes.channel_spacings):
            light = replace(axes.hangers[0], mass=0.0)
            made = assemble(
                variant(design, light, lines, axes.hanger_spacings[0], layers, depth, 0.0), HIGHEST
            )
            ceiling = boards(made.whole.leaves[-1])
            floor = next(leaf for leaf in made.whole.leaves if leaf.name == "floor")
            for s, spacing in enumerate(axes.hanger_spacings):
                one = variant(design, light, lines, spacing, layers, depth, fill)
                where = place(one)
                if not where.points:
                    continue
                at = (slice(None), c, s, number)
                _hang(one, axes, where, ceiling, floor, out, at)
                missing.update(dict.fromkeys(_price(one, axes, where, out, at)))
    return Table(**out, missing=tuple(missing))


Where = tuple[slice, int, int, int]


def _hang(
    design: Design, axes: Axes, where: Placement, ceiling: Leaf, floor: Leaf,
    out: dict[str, np.ndarray], at: Where,
) -> None:  # fmt: skip
    """Loads of one layout for every kind of hanger."""
    room, limits = design.room, limits_of(design)
    hung = weights.weigh(design, where, ceiling)
    kind = design.hangers
    assert kind is not None
    ready = rest.prepare(kind, where.points, ceiling, floor, (room.offset_x, room.offset_y))
    own_weight = GRAVITY * ready.ceiling_shapes.sum(axis=0)
    layers = int(limits.get("spare_layers", SPARE_LAYERS))
    for h, hangers in enumerate(axes.hangers):
        force = hung.boards + hung.other + hangers.mass * own_weight
        one = replace(ready, curve=rest.curve(hangers))
        solved = rest.solve(one, force)
        spare = rest.solve(one, force + layers * hung.layer)
        moved, _ = rest.displacements(one, solved, force)
        found = {
            "worst": solved.force.max(), "least": solved.force.min(), "spare": spare.force.max(),
            "lost": lost(solved), "count": len(where.points),
            "deflection": one.curve.deflection(solved.force).max(),
            "low": _low(design, hangers, ceiling, rest.surface(ceiling, moved)),
            "added": weights.added(
                design, hung.total + GRAVITY * hangers.mass * len(where.points)
            )[0],
        }  # fmt: skip
        for name, value in found.items():
            out[name][(h, *at[1:])] = value
    beams = channel.worst(design, where, np.zeros(len(where.segments)))
    out["ratio"][at] = beams.worst_ratio if beams else np.inf
    out["moment"][at] = beams.moment if beams else 0.0


def _low(design: Design, hangers: Hangers, ceiling: Leaf, moved: np.ndarray) -> float:
    """`Table.low` of one layout; moved : (Mx, My) of `rest.surface`."""
    w, seen, boxes = most_sag(design, ceiling, moved)
    most, creep = float(w[seen].max()), hangers.creep_factor
    return max(creep * max(0.0, most), *boxes_below(design.room, most, boxes, creep), 0.0)


def lost(solved: rest.Solved) -> float:
    """The most that any hanger carries after any one other is lost [N], from the solved system by
    rank-one updates; inf where the rest falls."""
    count = len(solved.force)
    pivot = np.diag(solved.inverse)[:count]
    with np.errstate(all="ignore"):
        sunk = solved.force / pivot
        after = solved.force - solved.inverse[:count, :count].T * sunk[:, None]
    np.fill_diagonal(after, 0.0)
    if not np.all(np.isfinite(sunk)) or np.abs(sunk).max() > rest.FALLEN:
        return float("inf")
    return float(after.max())


def _price(
    design: Design, axes: Axes, where: Placement, out: dict[str, np.ndarray], at: Where
) -> list[str]:
    """Cost of one layout for every kind of hanger; names of the items without a price."""
    if not design.prices:
        return []
    items = lay_out(design, where).items
    costs = {item.name: item.cost for item in items}
    missing = [name.split(":")[0] for name, cost in costs.items() if cost is None]
    rest_of = sum(cost or 0.0 for name, cost in costs.items() if name not in ("hanger", "fill"))
    for h, hangers in enumerate(axes.hangers):
        out["cost"][(h, *at[1:])] = rest_of + len(where.points) * price_of(design, hangers)
    out["fill_cost"][at] = costs.get("fill") or 0.0
    bare = [each.name for each in axes.hangers
            if not {"hanger", f"by_name: {each.name}"} & design.prices.keys()]  # fmt: skip
    named = [f"hanger '{name}'" for name in bare] if len(bare) < len(axes.hangers) else ["hanger"]
    return [name for name in missing if name != "hanger"] + (named if bare else [])


def price_of(design: Design, hangers: Hangers) -> float:
    """Price of one hanger; 0 where none is given."""
    prices = design.prices
    return prices.get(f"by_name: {hangers.name}", prices.get("hanger", 0.0))

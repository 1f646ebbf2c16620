"""The part of the front that is shown: solved like a prediction, rated, one of them chosen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from impact import chain, resonance, strikes, target
from impact.assemble import assemble, lowest_gap
from impact.design.parts import Design, Target
from impact.joined import join
from impact.link import cavity
from impact.study import choose_sound
from impact.study.choose_axes import Axes, stiffened
from impact.study.choose_parts import Choice, Row, Sweep, band_of, design_at, searched_target
from impact.study.choose_sound import HIGHEST, band_levels, exact, thud

SHOWN = 6  # rows of the front that are solved again and shown
SAME_LEVEL = 0.05  # dB: closer than this is equal, in the search
RATED = 3  # candidates whose rating over the whole range is computed for a target
SWEEP = np.geomspace(1e3, 1e6, 25)  # N/m: stiffness of one hanger, for the picture


def front_of(values: np.ndarray) -> np.ndarray:
    """Places of the rows (n, k) that no other row beats: none is as good in all and better in one.

    Smaller is better; of equal rows the first is kept.
    """
    order = np.lexsort(values.T[::-1])
    kept: list[int] = []
    for i in order:
        best = values[kept]
        if not len(kept) or not np.any(np.all(best <= values[i], axis=1)):
            kept.append(int(i))
    return np.array(kept, int)


def _front(made: Choice, allowed: np.ndarray) -> np.ndarray:
    """Indices (n, 6) of the front of level, height and cost, quietest first."""
    places = np.argwhere(allowed)
    if not len(places):
        return np.zeros((0, 6), int)
    at = tuple(places.T)
    level = np.round(made.thud[at] / SAME_LEVEL) * SAME_LEVEL
    cost = np.nan_to_num(made.cost[at])
    values = np.column_stack([level, np.round(made.drop[at], 6), np.round(cost, 2)])
    kept = places[front_of(values)]
    return kept[np.argsort(made.thud[tuple(kept.T)], kind="stable")]


def finish(made: Choice, prefer: str) -> Choice:
    """Front, shown rows, choice and sweep of a search whose tables are full."""
    notes: list[str] = []
    front = _front(made, made.feasible)
    picked = _spread(made, front) if len(front) else _nearest_misses(made)
    rows = [_row(made, index) for index in picked]
    rows, notes = _rate(made, rows, prefer, notes) if len(front) else (rows, notes)
    chosen = _pick(made, rows, prefer) if rows and len(front) else None
    base = chosen or (rows[0] if rows else None)
    rows.sort(key=lambda row: row.thud)
    return replace(
        made, front=front, shown=tuple(rows), chosen=chosen,
        sweep=_sweep(made, base) if base else None, notes=tuple(notes),
    )  # fmt: skip


def _spread(made: Choice, front: np.ndarray) -> list[tuple[int, ...]]:
    """A few of the front: its ends in level, height and cost, and evenly between in level."""
    at = tuple(front.T)
    ends = [0, int(np.argmin(made.drop[at]))]
    if np.isfinite(made.cost[at]).any():
        ends.append(int(np.nanargmin(made.cost[at])))
    level = made.thud[at]
    for wanted in np.linspace(level.min(), level.max(), SHOWN):
        if len(set(ends)) < SHOWN:
            ends.append(int(np.argmin(np.abs(level - wanted))))
    return [tuple(int(v) for v in front[i]) for i in dict.fromkeys(ends)]


def _nearest_misses(made: Choice) -> list[tuple[int, ...]]:
    """Where nothing is feasible: what breaks fewest limits, and of those the quietest few."""
    broken = sum(values.astype(int) for values in made.failed.values())
    count = np.where(np.isfinite(made.thud), broken, 99)
    places = np.argwhere(count == count.min())
    order = np.argsort(made.thud[tuple(places.T)], kind="stable")[:3]
    return [tuple(int(v) for v in places[i]) for i in order]


def _row(made: Choice, index: tuple[int, ...]) -> Row:
    one = design_at(made, index)
    power = exact(one)
    level = band_levels(one, power)
    loads, small = made.loads, index[:4]
    cost = float(made.cost[index])
    known = searched_target(one)
    reached = None
    if known is not None:
        reached = float(band_levels(one, power, known.quantity)[band_of(known)])
    return Row(
        index, one, level, float(thud(level)), float(made.drop[index]),
        float(made.headroom[index]), cost if np.isfinite(cost) else None,
        float(loads.worst[small]), float(loads.least[small]), float(loads.spare[small]),
        float(loads.lost[small]), _f0(one), reached,
        tuple(name for name, values in made.failed.items() if values[index]),
    )  # fmt: skip


def _f0(design: Design) -> float:
    made = assemble(design, HIGHEST)
    spring = cavity.static_stiffness(lowest_gap(design)) + made.hanger_spring
    return resonance.pair_frequency(spring, made.floor_mass, made.ceiling_mass)


def _order(rows: list[Row], prefer: str) -> list[Row]:
    keys = {
        "quietest": lambda row: (row.thud, row.drop),
        "lowest": lambda row: (row.drop, row.thud),
        "cheapest": lambda row: (np.inf if row.cost is None else row.cost, row.thud),
    }
    return sorted(rows, key=keys[prefer])


def _pick(made: Choice, rows: list[Row], prefer: str) -> Row:
    """The preferred row, of those known to reach the target where any does."""
    wanted = made.design.target
    ordered = _order(rows, prefer)
    if wanted is not None:
        good = [row for row in ordered if _good(wanted, row.reached)]
        return (good or ordered)[0]
    return ordered[0]


def _good(wanted: Target, value: float | None) -> bool:
    margin = target.margin(wanted, value)
    return margin is not None and margin >= 0


def rated(design: Design, perfect: bool = False) -> float | None:
    """Predicted value of the design's target quantity over the whole range; None without one."""
    wanted = design.target
    if wanted is None:
        return None
    solved = join(design)
    power = solved.power["best" if perfect else "design"]
    heard = {name: strikes.band_levels(source, power, design, solved.mobility)
             for name, source in strikes.SOURCES.items()}  # fmt: skip
    return target.result(wanted, chain.rate(heard), heard)


def _rate(
    made: Choice, rows: list[Row], prefer: str, notes: list[str]
) -> tuple[list[Row], list[str]]:
    """Ratings that need the whole range, for a few rows in the order preferred, until one is good.
    Where none is, the heaviest, deepest and softest ceiling is asked with perfect hangers."""
    wanted = made.design.target
    if wanted is None or searched_target(made.design) is not None:
        return rows, notes
    out: list[Row] = []
    left = _order(rows, prefer)
    while left and len(out) < RATED:
        row = left.pop(0)
        out.append(replace(row, reached=rated(row.design)))
        if _good(wanted, out[-1].reached):
            return out + left, notes
    values = [row.reached for row in out if row.reached is not None]
    best = rated(design_at(made, _heaviest(made)), perfect=True)
    what = f"{wanted.quantity} {wanted.sense} {wanted.limit:g}"
    if best is not None and not _good(wanted, best):
        notes.append(
            f"No ceiling here can reach the target {what}: even the heaviest and deepest of them,"
            f" on perfect hangers, comes to {best:.0f}."
        )
    else:
        got = ", ".join(f"{value:.0f}" for value in values)
        notes.append(f"None of the {len(out)} rated reaches the target {what}: they come to {got}.")
    return out + left, notes


def _heaviest(made: Choice) -> tuple[int, ...]:
    """Most layers, greatest depth and most fill that fit below the height limit, first hangers."""
    open_ = ~made.failed["headroom"] & np.isfinite(made.thud)
    places = np.argwhere(open_.any(axis=(0, 1, 2)))  # (layers, depths, fills)
    n, d, f = places[np.lexsort((places[:, 2], places[:, 1], places[:, 0]))[-1]]
    return (0, 0, len(made.axes.hanger_spacings) - 1, int(n), int(d), int(f))


def _sweep(made: Choice, row: Row) -> Sweep:
    """f0 and thud of the row's ceiling for every stiffness of its hangers."""
    hangers, one = row.design.hangers, row.design
    assert hangers is not None
    fill = one.cavity.fill.thickness if one.cavity.fill else 0.0
    line = Axes(
        stiffened(hangers, list(SWEEP)), (hangers.channel_spacing,), (hangers.hanger_spacing,),
        (len(one.ceiling.layers),), (one.cavity.clear_depth,), (fill,),
    )  # fmt: skip
    found = choose_sound.search(one, line, stiffness_nodes=len(SWEEP))
    solved = assemble(one, HIGHEST)
    air = cavity.static_stiffness(lowest_gap(one))
    per_area = len(solved.placement.points) / (one.room.length * one.room.width)
    masses = solved.floor_mass, solved.ceiling_mass
    f0 = np.array([resonance.pair_frequency(air + k * per_area, *masses) for k in SWEEP])
    return Sweep(
        SWEEP, f0, thud(band_levels(one, found.power)).reshape(-1),
        resonance.pair_frequency(air, *masses),
        float(thud(band_levels(one, found.perfect)).reshape(-1)[0]),
    )  # fmt: skip

"""The part of the front that is shown: solved like a prediction, rated, one of them chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from impact.advice import resonance
from impact.design.parts import Design
from impact.link import cavity
from impact.link.gaps import lowest_gap
from impact.motion.assemble import assemble
from impact.source.people import BAREFOOT
from impact.study import choose_rating, choose_sound
from impact.study.choose_axes import Axes, stiffened
from impact.study.choose_front import Place, front, nearest_misses, spread
from impact.study.choose_parts import Choice, Row, Sweep, band_of, design_at, searched_target
from impact.study.choose_sound import (
    HIGHEST,
    band_levels,
    exact,
    exact_levels,
    heard,
    thud,
)

SWEEP = np.geomspace(1e3, 1e6, 25)  # N/m: stiffness of one hanger, for the picture
# What is preferred first, and among equals second.
PREFERENCES: dict[str, Callable[[Row], tuple[float, float]]] = {
    "quietest": lambda row: (row.heard, row.drop),
    "lowest": lambda row: (row.drop, row.heard),
    "cheapest": lambda row: (np.inf if row.cost is None else row.cost, row.heard),
}


def finish(made: Choice, prefer: str) -> Choice:
    """Front, shown rows, choice and sweep of a search whose tables are full."""
    rated = None
    made = replace(made, notes=choose_rating.unjudged(made.design))
    whole = front(made, made.feasible)
    if choose_rating.needed(made.design) is not None and len(whole):
        rated = choose_rating.rate(made, lambda rows: _ordered(made, rows, prefer))
        made = replace(made, failed={**made.failed, "target": rated.short}, notes=rated.notes)
        whole = rated.front
    picked = spread(made, whole) if len(whole) else nearest_misses(made)
    if rated and len(whole):
        picked = list(dict.fromkeys([*_ordered(made, whole, prefer)[:1], *picked]))
    rows = [_row(made, index, rated) for index in picked]
    chosen = _pick(made, rows, prefer) if rows and len(whole) else None
    base = chosen or (rows[0] if rows else None)
    rows.sort(key=lambda row: row.heard)
    return replace(
        made, front=whole, shown=tuple(rows), chosen=chosen,
        sweep=_sweep(base) if base else None,
    )  # fmt: skip


def _ordered(made: Choice, rows: np.ndarray, prefer: str) -> list[Place]:
    """Places of a front (n, 6), the preferred first, by what the search knows."""
    first = {"quietest": made.heard, "lowest": made.drop, "cheapest": made.cost}[prefer]
    second = made.drop if prefer == "quietest" else made.heard
    places = [tuple(int(v) for v in row) for row in rows]
    return sorted(places, key=lambda at: (float(np.nan_to_num(first[at], nan=np.inf)), second[at]))


def _row(made: Choice, index: Place, rated: choose_rating.Rated | None) -> Row:
    one = design_at(made, index)
    found = exact(one)
    level = exact_levels(one, found)
    loads, small = made.loads, index[:4]
    cost = float(made.cost[index])
    known = searched_target(one)
    reached = None
    if known is not None:
        reached = float(exact_levels(one, found, known.quantity)[band_of(known)])
    if rated is not None:
        reached = rated.verified.get(index, rated.screened.get(index))
    return Row(
        index=index, design=one, level=level, thud=float(thud(level)), heard=float(heard(level)),
        drop=float(made.drop[index]), headroom=float(made.headroom[index]),
        cost=cost if np.isfinite(cost) else None, worst=float(loads.worst[small]),
        least=float(loads.least[small]), spare=float(loads.spare[small]),
        lost=float(loads.lost[small]), f0=_f0(one), reached=reached,
        verified=rated is None or index in rated.verified,
        failed=tuple(name for name, values in made.failed.items() if values[index]),
    )  # fmt: skip


def _f0(design: Design) -> float:
    made = assemble(design, HIGHEST)
    spring = cavity.static_stiffness(lowest_gap(design)) + made.hanger_spring
    return resonance.pair_frequency(spring, made.floor_mass, made.ceiling_mass)


def _pick(made: Choice, rows: list[Row], prefer: str) -> Row:
    """The preferred row, of those known to reach the target where any does."""
    wanted = made.design.target
    ordered = sorted(rows, key=PREFERENCES[prefer])
    if wanted is None:
        return ordered[0]
    good = [row for row in ordered if choose_rating.good(wanted, row.reached)]
    sure = [row for row in good if row.verified]
    return (sure or good or ordered)[0]


def _sweep(row: Row) -> Sweep:
    """f0 and thud of the row's ceiling for every stiffness of its hangers."""
    hangers, one = row.design.hangers, row.design
    assert hangers is not None
    fill = one.cavity.fill.thickness if one.cavity.fill else 0.0
    line = Axes(
        stiffened(hangers, list(SWEEP)), (hangers.channel_spacing,), (hangers.hanger_spacing,),
        (len(one.ceiling.layers),), (one.cavity.clear_depth,), (fill,),
    )  # fmt: skip
    found = choose_sound.search(one, line, stiffness_nodes=len(SWEEP))
    level = band_levels(one, found.square[BAREFOOT]).reshape(len(SWEEP), -1)
    alone = band_levels(one, found.perfect[BAREFOOT]).reshape(-1)
    solved = assemble(one, HIGHEST)
    air = cavity.static_stiffness(lowest_gap(one))
    per_area = len(solved.placement.points) / (one.room.length * one.room.width)
    masses = solved.floor_mass, solved.ceiling_mass
    f0 = np.array([resonance.pair_frequency(air + k * per_area, *masses) for k in SWEEP])
    return Sweep(
        SWEEP, f0, thud(level), heard(level), resonance.pair_frequency(air, *masses),
        float(thud(alone)), float(heard(alone)),
    )  # fmt: skip

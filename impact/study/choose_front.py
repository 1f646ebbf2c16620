"""The front of a search: what no other ceiling beats in thud as heard, height and cost at once."""

from __future__ import annotations

import numpy as np

from impact.gravity.parts import limits_of
from impact.study.choose_parts import Choice

SHOWN = 6  # rows of the front that are solved again and shown
SAME_LEVEL = 0.05  # dB: closer than this is equal, in the search
Place = tuple[int, ...]


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


def front(made: Choice, allowed: np.ndarray) -> np.ndarray:
    """Indices (n, 6) of the front of thud as heard, height and cost, quietest first."""
    places = np.argwhere(allowed)
    if not len(places):
        return np.zeros((0, 6), int)
    at = tuple(places.T)
    level = np.round(made.heard[at] / SAME_LEVEL) * SAME_LEVEL
    cost = np.nan_to_num(made.cost[at])
    values = np.column_stack([level, np.round(made.drop[at], 6), np.round(cost, 2)])
    kept = places[front_of(values)]
    return kept[np.argsort(made.heard[tuple(kept.T)], kind="stable")]


def spread(made: Choice, whole: np.ndarray) -> list[Place]:
    """A few of the front `whole`: its ends in level, height and cost, and evenly between in
    level."""
    at = tuple(whole.T)
    ends = [0, int(np.argmin(made.drop[at]))]
    if np.isfinite(made.cost[at]).any():
        ends.append(int(np.nanargmin(made.cost[at])))
    level = made.heard[at]
    for wanted in np.linspace(level.min(), level.max(), SHOWN):
        if len(set(ends)) < SHOWN:
            ends.append(int(np.argmin(np.abs(level - wanted))))
    return [tuple(int(v) for v in whole[i]) for i in dict.fromkeys(ends)]


def _strays(made: Choice) -> np.ndarray:
    """How many times loads lie above their rated maximum or below their minimum, 1 where neither;
    shape of the load table."""
    most, least = (
        np.array([otherwise if limit is None else limit for limit in limits])[:, None, None, None]
        for limits, otherwise in (
            ([hangers.load_maximum for hangers in made.axes.hangers], np.inf),
            ([hangers.load_minimum for hangers in made.axes.hangers], 0.0),
        )
    )
    factor = float(limits_of(made.design).get("load_factor", 1.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        over = np.fmax(made.loads.worst * factor / most, least / made.loads.least)
    return np.fmax(over, 1.0)


def nearest_misses(made: Choice) -> list[Place]:
    """Where nothing is feasible: what breaks fewest limits, and of those the few whose loads stray
    least from the rated ones; the quietest of equals."""
    broken = sum(values.astype(int) for values in made.failed.values())
    count = np.where(np.isfinite(made.thud), broken, 99)
    places = np.argwhere(count == count.min())
    strays = np.round(_strays(made)[tuple(places.T[:4])], 2)
    order = np.lexsort((made.heard[tuple(places.T)], strays))[:3]
    return [tuple(int(v) for v in places[i]) for i in order]

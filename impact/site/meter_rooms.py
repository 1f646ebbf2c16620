"""Symbols of ISO 16283 in a meter's file.

L1 and L2 are levels in the source and the receiving room, Li is the impact level, B2 the background
and T2 the reverberation time in the receiving room.

L1 and L2 are levels exceeded 1 and 2 % of the time where other percentile levels stand beside them,
and B2 or T2 a name where other B or T are counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from impact.site.meter_values import TIMES, Series
from impact.site.meter_words import ROOMS, Metric

SOURCE_ROOM = "source room"
RECEIVING = ("L2", "Li")


def resolve(series: Sequence[Series]) -> list[Series]:
    """The spectra of a whole file with what their symbols stand for."""
    percentiles = any(s.said.metric.kind == "percentile" for s in series)
    symbols = {s.said.symbol for s in series}
    counted = {
        letter for letter in "BT" for n in range(1, 10) if n != 2 and f"{letter}{n}" in symbols
    }
    return [_resolved(s, percentiles, counted) for s in series]


def _resolved(series: Series, percentiles: bool, counted: set[str]) -> Series:
    said, symbol = series.said, series.said.symbol
    if said.role != "level":
        return series
    if symbol in ("L1", "L2") and percentiles and not said.metric.kind:
        metric = replace(said.metric, kind="percentile")
        return replace(series, said=replace(said, metric=metric))
    role = "level"
    if symbol == "L1":
        role = SOURCE_ROOM
    elif symbol == "B2" and "B" not in counted:
        role = "background"
    elif symbol == "T2" and "T" not in counted:
        low, high = TIMES
        times = all(value is None or low <= value <= high for value in series.values)
        role = "reverberation" if times else "level"
    return replace(series, said=replace(said, role=role))


def candidates(series: Sequence[Series]) -> tuple[list[Series], bool]:
    """Spectra that may be the level, in order, and whether L1 makes it a question which one is.

    It does where L1 stands alone, and beside L2, as in a measurement of airborne sound, unless
    another spectrum states a metric.
    """
    levels = [s for s in series if s.said.role == "level"]
    source = any(s.said.role == SOURCE_ROOM for s in series)
    plain = any(s.said.metric.kind and s.said.symbol not in ROOMS for s in levels)
    if source and not plain and (not levels or any(s.said.symbol == "L2" for s in levels)):
        return [s for s in series if s.said.role in ("level", SOURCE_ROOM)], True
    return levels, False


def energy_averages(series: Sequence[Series]) -> tuple[list[Series], list[str]]:
    """Levels with L2 and Li of a tapping machine read as Leq, and the symbols so read.

    Both are energy averages over time and room (ISO 16283-2). Where another spectrum states a
    steady metric nothing changes.
    """
    if any(s.said.metric.kind in ("leq", "normalized", "standardized") for s in series):
        return list(series), []
    symbols = {s.said.symbol for s in series}
    meant = ROOMS if "L2" in symbols else RECEIVING
    read: dict[str, None] = {}
    out = []
    for one in series:
        metric = one.said.metric
        if one.said.symbol in meant and not (metric.kind or metric.time):
            read[one.said.symbol] = None
            metric = Metric("leq", "", metric.weighting)
        out.append(replace(one, said=replace(one.said, metric=metric)))
    return out, list(read)

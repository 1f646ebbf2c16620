"""Columns of a meter's file that are reckoned from others there: means, sums, extremes, corrected
levels. A mean over all profiles leaves them out."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from impact.site.meter_values import Series
from impact.site.meter_words import Metric, meaning

_OF_OTHERS = re.compile(
    r"\b(mean|average|avg|ave|sum|total|overall|maximum|max|minimum|min|highest|lowest)\b", re.I
)
_CORRECTED = re.compile(r"\bcorr(ected)?\b\.?", re.I)
FEWEST_OTHERS = 2


def without_extremes(series: Sequence[Series]) -> tuple[list[Series], set[tuple[str, str]]]:
    """The spectra, where "max" and "min" are no metric of those that are reckoned from at least two
    others alike; and place and label of these."""
    others = Counter(_kind(s.said.role, s.said.metric) for s in series
                     if not _OF_OTHERS.search(s.label))  # fmt: skip
    out, places = [], set[tuple[str, str]]()
    for one in series:
        if _OF_OTHERS.search(one.label):
            plain = meaning(_OF_OTHERS.sub(" ", one.label)).metric
            if others[_kind(one.said.role, plain)] >= FEWEST_OTHERS:
                places.add((one.where, one.label))
                one = replace(one, said=replace(one.said, metric=plain))
        out.append(one)
    return out, places


def _kind(role: str, metric: Metric) -> tuple[str, str, str]:
    return role, metric.kind, metric.time


def corrected(series: Series) -> bool:
    """Whether its label says that its levels are corrected (for the background) already."""
    return bool(_CORRECTED.search(series.label))

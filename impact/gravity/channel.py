"""Channels as beams on hangers that do not yield, without the boards' help.

Span tables of the trade treat a channel the same way: alone, loaded by its lane, within a fraction
of its span. Formulas: any table of beams (e.g. AISC Steel Construction Manual, tables 3-22c, 3-23).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from impact.design.parts import Design
from impact.design.placing import Placement
from impact.gravity.lanes import Load, lanes

RATIO = 240.0  # span over deflection, at least: common practice for furring under boards
PIECES = 24  # single forces that stand for a load over one span
PLACES = 48  # parts of a span at whose ends moments and deflections are looked at
# Largest deflection over w L^4/EI of one span, of two equal ones, and of three, whose end spans
# bend most of all numbers (four 0.0065, five 0.0064).
ONE, TWO, MORE = 5 / 384, 1 / 185, 0.0069


@dataclass(frozen=True)
class Channels:
    """The worst span of all channels.

    span : longest distance between hangers on one run [m]; spans : "single" where that run has
    two hangers, else "multiple". line_load : N/m, mean of that span. deflection : m, by formula.
    ratio : span over deflection. limit : ratio wanted. moment : N m, the largest of all spans and
    free ends. allowable : the user's or None. elastic_deflection : m, between hangers, of the
    channel with the boards screwed to it. overhang : longest free end beyond a last hanger [m].
    end_deflection, end_ratio : of the worst free end [m], twice its length over it.
    """

    span: float
    spans: str
    line_load: float
    deflection: float
    ratio: float
    limit: float
    moment: float
    allowable: float | None
    elastic_deflection: float
    overhang: float
    end_deflection: float
    end_ratio: float

    @property
    def worst_ratio(self) -> float:
        """The smaller of the two ratios."""
        return min(self.ratio, self.end_ratio)


@dataclass(frozen=True)
class Bent:
    """One span or free end: length [m], moment [N m], deflection [m], ratio, mean load [N/m]."""

    length: float
    moment: float
    deflection: float
    ratio: float
    line_load: float


def deflection(line_load: float, span: float, stiffness: float, spans: int) -> float:
    """Largest deflection of one of so many equal `spans` under an even load [m].

    One : 5 w L^4 / (384 EI). Two : w L^4 / (185 EI). Three and more : end span of three, 0.0069 w
    L^4 / EI. line_load [N/m], span [m], stiffness EI [N m2].
    """
    return line_load * span**4 / stiffness * _bends(spans)


def _bends(spans: int) -> float:
    return ONE if spans == 1 else TWO if spans == 2 else MORE


def span_bent(
    loads: tuple[Load, ...], low: float, high: float, stiffness: float, spans: int
) -> Bent:
    """One of the `spans` of a run, from low to high [m], as a simple beam under the loads on it.

    M = F a b / L and the deflection F b x (L² - b² - x²) / (6 EI L) of every single force, summed;
    boards and channel bend one of several spans less, as `deflection` has it. stiffness EI [N m2].
    """
    length = high - low
    t = np.linspace(0, length, PLACES + 1)[:, None]
    moments, bends, total = np.zeros(len(t)), np.zeros(len(t)), 0.0
    for flat in (True, False):
        at, force = _forces(loads, low, high, flat)
        a = at - low
        moments += np.minimum(t, a) * (length - np.maximum(t, a)) / length @ force
        far, x = np.where(t <= a, length - a, a), np.where(t <= a, t, length - t)
        once = far * x * (length**2 - far**2 - x**2) / (6 * stiffness * length) @ force
        bends += once * (_bends(spans) / ONE if flat else 1.0)
        total += float(force.sum()) if flat else 0.0
    most = float(bends.max())
    return Bent(length, float(moments.max()), most, length / most if most > 0 else np.inf,
                total / length)  # fmt: skip


def end_bent(
    loads: tuple[Load, ...], last: float, tip: float, before: float, stiffness: float, spans: int
) -> Bent:
    """The free end of a channel from its last hanger to its tip [m].

    The tip goes down by F l² (3 a - l) / (6 EI) and by the turning of the last hanger's place,
    sum F l L / (3 EI), and up by what the loads on the span L before turn it the other way, F b
    (L² - b²) / (6 EI L); half of that where there are several spans. `before` : y of the hanger
    before the last one, `last` itself where there is none. Ratio : 2 a over it, as for cantilevers.
    """
    a, span = abs(tip - last), abs(last - before)
    beyond = (last, np.inf) if tip > last else (-np.inf, last)
    at, force = (np.concatenate(both) for both in zip(
        *(_forces(loads, *beyond, flat) for flat in (True, False)), strict=True))  # fmt: skip
    lever = np.abs(at - last)
    turned = float(lever @ force)
    most = float((np.minimum(lever, a) ** 2 * (3 * a - np.minimum(lever, a)) / 6) @ force)
    most += turned * span * a / 3
    if span > 0:
        for flat in (True, False):
            inner, weight = _forces(loads, min(last, before), max(last, before), flat)
            b = span - np.abs(inner - last)
            lifts = float(b * (span**2 - b**2) / (6 * span) @ weight) * a
            most -= lifts * (0.5 if spans > 1 else 1.0)
    most = max(most / stiffness, 0.0)
    return Bent(a, turned, most, 2 * a / most if most > 0 else np.inf,
                float(force.sum()) / a if a > 0 else 0.0)  # fmt: skip


def _forces(
    loads: tuple[Load, ...], low: float, high: float, flat: bool
) -> tuple[np.ndarray, np.ndarray]:
    """Places [m] and sizes [N] of single forces (F,) for what lies between low and high."""
    at, force = [np.zeros(0)], [np.zeros(0)]
    middles = (np.arange(PIECES) + 0.5) / PIECES
    for load in loads:
        if load.flat is not flat:
            continue
        if load.high <= load.low:
            if low < load.low <= high:
                at.append(np.array([load.low]))
                force.append(np.array([load.force]))
            continue
        start, end = max(load.low, low), min(load.high, high)
        if end > start:
            at.append(start + (end - start) * middles)
            share = (end - start) / (load.high - load.low)
            force.append(np.full(PIECES, load.force * share / PIECES))
    return np.concatenate(at), np.concatenate(force)


def worst(
    design: Design, placement: Placement, bends: np.ndarray, ratio: float = RATIO
) -> Channels | None:
    """The span whose deflection is the largest part of its length; None without channels.

    bends : (runs,) elastic deflection between hangers of each run [m].
    """
    hangers = design.hangers
    if hangers is None or hangers.channel is None or not placement.segments:
        return None
    stiffness = hangers.channel.bending_stiffness
    inner: list[tuple[Bent, int]] = []
    ends: list[Bent] = []
    for number, loads in enumerate(lanes(design, placement)):
        _, y0, y1 = placement.segments[number]
        ys = runs(placement, number)
        if len(ys) == 0:
            continue
        spans = len(ys) - 1
        inner += [
            (span_bent(loads, low, high, stiffness, spans), spans)
            for low, high in itertools.pairwise(ys)
        ]
        ends.append(end_bent(loads, ys[0], y0, ys[min(1, len(ys) - 1)], stiffness, spans))
        ends.append(end_bent(loads, ys[-1], y1, ys[max(-2, -len(ys))], stiffness, spans))
    if not ends:
        return None
    tightest, spans = min(
        inner, key=lambda each: each[0].ratio, default=(Bent(0.0, 0.0, 0.0, np.inf, 0.0), 1)
    )
    free = min(ends, key=lambda each: each.ratio)
    return Channels(
        tightest.length, "single" if spans == 1 else "multiple", tightest.line_load,
        tightest.deflection, tightest.ratio, ratio,
        max(each.moment for each in [*ends, *(bent for bent, _ in inner)]),
        hangers.channel.allowable_moment, float(np.max(bends, initial=0.0)),
        max(each.length for each in ends), free.deflection, free.ratio,
    )  # fmt: skip


def runs(placement: Placement, number: int) -> np.ndarray:
    """y of the hangers on one run of channel [m], rising. One array (hangers of the run,) each."""
    return np.sort([
        y for (_, y), run in zip(placement.points, placement.segment_of_point, strict=True)
        if run == number
    ])  # fmt: skip

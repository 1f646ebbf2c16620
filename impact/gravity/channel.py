"""Channels as beams: deflection and moment by formula, on the safe side of the boards' help.

Span tables of the trade treat a channel the same way: alone, uniformly loaded, within a fraction of
its span. Formulas: any table of beams (e.g. AISC Steel Construction Manual, table 3-23).
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from impact.base.air import GRAVITY
from impact.design.parts import Design
from impact.design.placing import Placement

RATIO = 240.0  # span over deflection, at least: common practice for furring under boards


@dataclass(frozen=True)
class Channels:
    """The worst span of all channels.

    span : longest distance between hangers on one run [m]; spans : "single" where that run has
    two hangers, else "multiple". line_load : N/m. deflection : m, by formula. ratio : span over
    deflection. limit : ratio wanted. moment : N m, the largest by formula. allowable : the user's
    or None. elastic_deflection : m, between hangers, of the channel with the boards screwed to it.
    overhang : longest free end beyond a last hanger [m].
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


def deflection(line_load: float, span: float, stiffness: float, spans: str) -> float:
    """Largest deflection of one span [m].

    single : 5 w L^4 / (384 EI). multiple : end span of two, w L^4 / (185 EI).
    line_load [N/m], span [m], stiffness EI [N m2].
    """
    return line_load * span**4 / stiffness * (5 / 384 if spans == "single" else 1 / 185)


def moment(line_load: float, span: float) -> float:
    """w L² / 8 [N m]: in the middle of one span, and equally over the support between two."""
    return line_load * span**2 / 8


def lanes(design: Design, placement: Placement) -> dict[float, float]:
    """Width of ceiling that hangs on each channel line [m], halfway to the next, to the wall."""
    lines = list(placement.channels)
    halves = [(a + b) / 2 for a, b in itertools.pairwise(lines)]
    bounds = [0.0, *halves, design.room.length]
    return {x: bounds[i + 1] - bounds[i] for i, x in enumerate(lines)}


def worst(
    design: Design, placement: Placement, bends: np.ndarray, ratio: float = RATIO
) -> Channels | None:
    """The span whose deflection is the largest part of its length; None without channels.

    bends : (runs,) elastic deflection between hangers of each run [m].
    """
    hangers = design.hangers
    if hangers is None or hangers.channel is None or not placement.segments:
        return None
    channel = hangers.channel
    wide = lanes(design, placement)
    found: list[Channels] = []
    for number, (x, y0, y1) in enumerate(placement.segments):
        ys = runs(placement, number)
        if len(ys) == 0:
            continue
        load = GRAVITY * (design.hung_per_area * wide[x] + channel.mass_per_length)
        span = float(np.max(np.diff(ys))) if len(ys) > 1 else 0.0
        spans = "single" if len(ys) == 2 else "multiple"
        moved = deflection(load, span, channel.bending_stiffness, spans)
        over = max(ys[0] - y0, y1 - ys[-1])
        found.append(Channels(
            span, spans, load, moved, span / moved if moved > 0 else np.inf, ratio,
            max(moment(load, span), load * over**2 / 2), channel.allowable_moment,
            float(bends[number]), float(over),
        ))  # fmt: skip
    if not found:
        return None
    tightest = min(found, key=lambda each: each.ratio)
    return Channels(
        tightest.span, tightest.spans, tightest.line_load, tightest.deflection, tightest.ratio,
        ratio, max(each.moment for each in found), channel.allowable_moment,
        max(each.elastic_deflection for each in found), max(each.overhang for each in found),
    )  # fmt: skip


def runs(placement: Placement, number: int) -> np.ndarray:
    """y of the hangers on one run of channel [m], rising. One array (hangers of the run,) each."""
    return np.sort([
        y for (_, y), run in zip(placement.points, placement.segment_of_point, strict=True)
        if run == number
    ])  # fmt: skip

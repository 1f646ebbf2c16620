"""How the cost of one frequency grows: with modes, hangers, room and variants, and by what power.

Every point is the least of several timings of one step of `impact.motion.stack` on the standing
example or a copy of it that is larger, denser or solved with more modes. The exponent is the slope
of a straight line through the upper half of the points on logarithmic axes; small sizes show the
overhead of a step instead.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

import impact
from impact.base import bands
from impact.design.parts import Design
from impact.motion import sizes, striking
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.motion.sizes import Size
from impact.report import style
from impact.study import choose, choose_axes
from validation.speed.measure import STANDING, least

BAND = bands.CENTRES[bands.index(63.0)]


@dataclass(frozen=True)
class Growth:
    """Seconds against size; slope of the upper half on logarithmic axes."""

    what: str
    sizes: np.ndarray
    seconds: np.ndarray

    @property
    def exponent(self) -> float:
        """Power with which the time grows."""
        upper = slice(len(self.sizes) // 2 - 1, None)
        return float(np.polyfit(np.log(self.sizes[upper]), np.log(self.seconds[upper]), 1)[0])


def one_line(design: Design, dynamic: float = sizes.USUAL.dynamic) -> tuple[int, int, float]:
    """Modes that move, motions of the links, and seconds of one frequency of the 63 Hz band."""
    assembly = assemble(design, bands.edges(BAND)[1] * 1.6 * dynamic)
    reduced = stacks.reduce(assembly.whole, *bands.edges(BAND), Size(dynamic, dynamic / 1.5))
    struck = striking.over_area(reduced, *permitted(design))

    def solve() -> None:
        stacks.answer(reduced, stacks.line(reduced, 2 * np.pi * BAND, struck))

    solve()
    moving = sum(len(kept) for kept in reduced.keep)
    return moving, len(reduced.joint_of), least(solve, 3)


def by_modes(design: Design) -> Growth:
    """More modes and motions of the links for the same room."""
    found = [one_line(design, dynamic) for dynamic in (1.0, 1.6, 2.4, 3.6, 5.0, 7.0)]
    return Growth("modes that move", _column(found, 0), _column(found, 2))


def by_hangers(design: Design) -> Growth:
    """Hangers closer and closer in the same room."""
    hangers = design.hangers
    assert hangers is not None
    found = []
    for part in (1.0, 0.7, 0.5, 0.35, 0.25, 0.18):
        closer = replace(
            hangers, channel_spacing=hangers.channel_spacing * part,
            hanger_spacing=hangers.hanger_spacing * part,
        )  # fmt: skip
        changed = replace(design, hangers=closer)
        count = len(assemble(changed, 100.0).placement.points)
        found.append((count, 0, one_line(changed)[2]))
    return Growth("hangers", _column(found, 0), _column(found, 2))


def by_room(design: Design) -> Growth:
    """Longer and longer rooms, joists and hangers spaced the same."""
    found = []
    for factor in (0.5, 1.0, 2.0, 4.0, 6.0):
        longer = replace(
            design, room=replace(design.room, length=design.room.length * factor),
            floor=replace(design.floor, width=design.floor.width * factor)
            if design.floor.width == design.room.length
            else replace(design.floor, length=design.floor.length * factor),
        )  # fmt: skip
        area = longer.room.length * longer.room.width
        found.append((area, 0, one_line(longer)[2]))
    return Growth("room, m2", _column(found, 0), _column(found, 2))


def by_variants(design: Design) -> Growth:
    """Hangers of more and more stiffnesses in one search."""
    own = choose_axes.own_hangers(design)
    found = []
    for count in (10, 40, 160, 640, 2560):
        hangers = [replace(own, dynamic_stiffness=float(k)) for k in np.geomspace(2e4, 2e6, count)]
        axes = choose_axes.axes(
            design, hangers=hangers, channel_spacings=[own.channel_spacing],
            hanger_spacings=[own.hanger_spacing], layers=[2], depths=[0.15], fills=[0.1],
        )  # fmt: skip
        found.append((count, 0, least(partial(choose.choose, design, axes), 1)))
    return Growth("variants in a search", _column(found, 0), _column(found, 2))


def _column(found: list, place: int) -> np.ndarray:
    return np.array([row[place] for row in found], float)


def measured() -> list[Growth]:
    """All four, on the standing example."""
    design = impact.read(STANDING)
    return [by_modes(design), by_hangers(design), by_room(design), by_variants(design)]


def draw(found: list[Growth], path: Path) -> None:
    """Four panels of time against size with the fitted slopes."""
    from matplotlib.figure import Figure

    with style.look():
        figure = Figure(figsize=(8, 5.5), layout="constrained")
        for axes, one in zip(figure.subplots(2, 2).ravel(), found, strict=True):
            axes.loglog(one.sizes, one.seconds, **style.SERIES[0])
            start = one.sizes[len(one.sizes) // 2 - 1 :]
            fitted = one.seconds[-1] * (start / one.sizes[-1]) ** one.exponent
            axes.loglog(start, fitted, **style.REFERENCE)
            axes.set(xlabel=one.what, ylabel="s", title=f"grows with the power {one.exponent:.1f}")
            shown = one.sizes[::2] if len(one.sizes) > 5 else one.sizes
            axes.set_xticks(shown, [f"{size:.0f}" for size in shown])
            axes.set_yticks(one.seconds[::2], [f"{value:.2g}" for value in one.seconds[::2]])
            axes.minorticks_off()
        style.save(figure, path)

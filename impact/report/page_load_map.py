"""The plan of hangers with the load on each, half as broad as a page of the report."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base.units import factor, unit_of
from impact.design.fixings import said_of
from impact.gravity.parts import ABOVE, BELOW
from impact.report import style
from impact.report.page_blocks import Picture, plain
from impact.report.page_pictures import SMALL, WIDTH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from impact.chain import Prediction
    from impact.report.page_blocks import Run

DOT, LEAST = 5.8, 2.5  # points, breadth of a hanger's dot, and where two are closer at least
RING = 9.0  # points, at least, of the ring about the most loaded
NUMBERED = 60  # hangers, at most, whose loads stand beside them where there is room
NUMBER = 5.5  # points, of these numbers; half as broad as (1.75 a digit, room about them)
HALF = (1.75, 0.4)
TALL = 5.8  # points, a number with its room
WALL = 1.0  # points, half a wall's line with its room
ABOVE_DOT = 3.6  # points, its middle over the dot or ring


def load_map(prediction: Prediction, hangers: list[dict[str, Any]], worst: Run) -> Picture:
    """Plan of the hangers with the load on each. hangers : rows of the JSON; worst : as shown."""
    from impact.report.drawing_shapes import plan_size

    units, points = prediction.design.units, prediction.design.hangers
    along, across = plan_size(prediction.design)

    def draw(figure: Figure) -> None:
        draw_load_map(figure.subplots(), hangers, (along, across), units)

    tall = float(np.clip(WIDTH * across / along * 0.78 + 0.4, 1.5, 2.4))
    return Picture(
        draw, WIDTH, tall,
        said_of(points, f"Plan of {len(hangers)} hangers with the load on each at rest; the most "
                f"is {plain((worst,))}. Every load is in the table."),
        (said_of(points, "Load on each hanger at rest, in numbers where there is room; the ring "
                 "marks the largest."),),
    )  # fmt: skip


def draw_load_map(
    ax: Axes, hangers: list[dict[str, Any]], size: tuple[float, float], units: str
) -> Axes:
    """Hangers at their places [m] in the room of `size`, coloured and numbered by load."""
    from matplotlib.patches import Rectangle

    unit = unit_of("force", units)
    loads = np.array([hanger["load_n"] for hanger in hangers]) / factor(unit, "force")
    xs, ys = ([hanger[key] for hanger in hangers] for key in ("x_m", "y_m"))
    ax.add_patch(Rectangle((0, 0), *size, fill=False, edgecolor=style.BLACK, linewidth=1.4))
    symbols = {ABOVE: "^", BELOW: "v"}
    limits: dict[str, Any] = {"vmin": loads.min(), "vmax": loads.max(), "cmap": style.SEQUENTIAL}
    marks = []
    for verdict in dict.fromkeys(hanger["verdict"] for hanger in hangers):
        group = [i for i, hanger in enumerate(hangers) if hanger["verdict"] == verdict]
        marks.append(ax.scatter(
            [xs[i] for i in group], [ys[i] for i in group], c=loads[group], zorder=3,
            marker=symbols.get(verdict, "o"), edgecolors=style.BLACK, linewidths=0.6, **limits,
        ))  # fmt: skip
    most = int(np.argmax(loads))
    ring = ax.scatter([xs[most]], [ys[most]], facecolors="none", edgecolors=style.VERMILION,
                      linewidths=1.3, zorder=4)  # fmt: skip
    if ax.figure is not None:
        bar = ax.figure.colorbar(marks[-1], ax=ax, shrink=0.8, aspect=25, pad=0.02)
        bar.set_label(f"load [{unit}]", fontsize=SMALL)
        bar.ax.tick_params(labelsize=6)
    ax.set_xlim(-0.02 * size[0], 1.02 * size[0])
    ax.set_ylim(-0.06 * size[1], 1.06 * size[1])
    ax.set_aspect("equal")
    ax.set_axis_off()
    places = _in_points(ax, xs, ys)
    wide = max(LEAST, min(DOT, _nearest(places)))
    for each in marks:
        each.set_sizes([wide**2])
    ringed = max(RING, 1.8 * wide)
    ring.set_sizes([ringed**2])
    texts = [f"{load:.0f}" for load in loads] if len(hangers) <= NUMBERED else []
    around = np.where(np.arange(len(places)) == most, ringed, wide)
    corners = _in_points(ax, (0, size[0]), (0, size[1]))
    for i, up in _numbers(places, texts, around, most, corners):
        ax.annotate(texts[i], (xs[i], ys[i]), xytext=(0, up), textcoords="offset points",
                    ha="center", va="center", fontsize=NUMBER, zorder=5,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.3})  # fmt: skip
    return ax


def _in_points(ax: Axes, xs: Sequence[float], ys: Sequence[float]) -> np.ndarray:
    """Places (n, 2) [points] of places [m] on axes whose limits and aspect are set, once the layout
    has found them their place."""
    figure = ax.get_figure(root=True)
    assert figure is not None
    engine = figure.get_layout_engine()
    if engine is not None:
        engine.execute(figure)
    ax.apply_aspect()
    return np.asarray(ax.transData.transform(np.column_stack([xs, ys])) * 72 / figure.dpi)


def _nearest(places: np.ndarray) -> float:
    """Least distance [points] between two places (n, 2); inf for one alone."""
    apart = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
    return float(np.min(apart[~np.eye(len(places), dtype=bool)], initial=np.inf))


def _numbers(
    places: np.ndarray, texts: Sequence[str], around: np.ndarray, first: int, corners: np.ndarray
) -> list[tuple[int, float]]:
    """Which texts find room above or below their place (n, 2) [points], beyond a wall close by if
    need be, on no other text, dot or wall, and how far above it [points]. around : breadth (n,) of
    each dot with its ring [points]; the text of `first` is asked first. corners : (2, 2), of the
    walls, south-west and north-east [points]."""
    taken = [(x, y, wide / 2, wide / 2) for (x, y), wide in zip(places, around, strict=True)]
    middle, half = corners.mean(axis=0), np.diff(corners, axis=0)[0] / 2
    taken += [(middle[0], y, half[0], WALL) for y in corners[:, 1]]
    taken += [(x, middle[1], WALL, half[1]) for x in corners[:, 0]]
    found = []
    for i in sorted(range(len(texts)), key=lambda i: i != first):
        wing, (x, place) = HALF[0] * len(texts[i]) + HALF[1], places[i]
        up = around[i] / 2 + ABOVE_DOT
        outside = [wall + side * (WALL + TALL / 2) for wall, side in zip(corners[:, 1], (-1, 1),
                   strict=True) if abs(wall - place) < up + TALL]  # fmt: skip
        for y in (place + up, place - up, *outside):
            if not any(
                abs(x - ox) < wing + wide and abs(y - oy) < TALL / 2 + tall
                for k, (ox, oy, wide, tall) in enumerate(taken) if k != i
            ):  # fmt: skip
                taken.append((x, y, wing, TALL / 2))
                found.append((i, y - place))
                break
    return found

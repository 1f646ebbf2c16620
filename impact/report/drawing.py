"""Plan and section of a hung ceiling as one sheet, saved as SVG, PDF or PNG.

`draw_plan` and `draw_section` take an axes and return it; `sheet` puts both on paper with the key,
what broke a rule, and the cautions. The CAD file is in `drawing_dxf`.
"""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Any

from impact.base.cautions import CAUTIONS_SHEET
from impact.base.units import factor, show, unit_of
from impact.design.fixings import many, said_of, said_under
from impact.gravity import stops
from impact.gravity.parts import ABOVE, BELOW, UNRATED, WITHIN
from impact.report import style
from impact.report.drawing_shapes import (
    UNCHECKED,
    Band,
    edge_note,
    finished_height,
    layout_title,
    marks,
    patch_labels,
    plan_dimensions,
    plan_size,
    plan_strokes,
    section_bands,
    section_boxes,
    section_fill,
    section_labels,
    section_width,
    spread,
)
from impact.report.lines import numbers
from impact.study.layout import Layout, Screw
from impact.study.layout_rules import at, length

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from impact.design.parts import Design

# What is drawn how on the plan: colour, dash and width all differ, so that it reads in grey.
PLAN: dict[str, dict[str, Any]] = {
    "walls": {"color": style.BLACK, "linewidth": 2.2},
    "joists": {"color": style.GREY, "linewidth": 0.7, "linestyle": (0, (9, 3, 1, 3))},
    "channels": {"color": style.BLUE, "linewidth": 1.5},
    "own joists": {"color": style.BLUE, "linewidth": 2.2, "linestyle": (0, (5, 1.5))},
    "splices": {"color": style.BLUE, "linewidth": 3.5, "solid_capstyle": "butt"},
    "bulkheads": {"color": style.GREEN, "linewidth": 1.2, "linestyle": "--"},
    "openings": {"color": style.VERMILION, "linewidth": 0.9},
    "fixtures": {"color": style.PURPLE, "linewidth": 1.2, "linestyle": ":"},
    "obstructions": {"color": style.ORANGE, "linewidth": 1.0, "linestyle": (0, (2, 3))},
}
LABELS = {
    "walls": "wall", "joists": "joist line", "channels": "channel", "splices": "lapped splice",
    "own joists": "the ceiling's own joist", "bulkheads": "bulkhead", "openings": "opening",
    "fixtures": "fixture on the ceiling", "obstructions": "duct or beam above",
}  # fmt: skip
SYMBOLS = {WITHIN: "o", BELOW: "v", ABOVE: "^", UNRATED: "D", UNCHECKED: "s"}
VERDICTS = {
    WITHIN: "load within its rating", BELOW: "LOAD TOO LOW: stiff, unseated",
    ABOVE: "LOAD TOO HIGH", UNRATED: "no rated loads given", UNCHECKED: "loads not checked",
}  # fmt: skip
FILLS: dict[str, dict[str, Any]] = {
    "layer": {"facecolor": "#efe3c8", "hatch": ""},
    "joist": {"facecolor": "#e6cf9f", "hatch": "////"},
    "own": {"facecolor": "#cfe3f1", "hatch": "\\\\"},
    "fill": {"facecolor": "#e9dcb4", "hatch": "...."},
    "carrier": {"facecolor": "#efe3c8", "hatch": ""},
    "slab": {"facecolor": style.PALE, "hatch": "..."},
    "old": {"facecolor": "#f2f2f2", "hatch": "xxx"},
    "board": {"facecolor": "#cfe3f1", "hatch": ""},
    "channel": {"facecolor": style.SKY, "edgecolor": style.BLUE, "linewidth": 0.9},
    "hanger": {"facecolor": style.VERMILION, "linewidth": 0.8},
}


def draw_plan(layout: Layout, ax: Axes) -> Axes:
    """Reflected plan: what is above, as on the plan of the floor, west on the left.

    Hangers are numbered; colour and symbol show load and verdict when loads are known. Dimensions
    run from the west and the south wall in the units of the design.
    """
    seen: set[str] = set()
    for stroke in plan_strokes(layout):
        name = None if stroke.layer in seen else LABELS[stroke.layer]
        seen.add(stroke.layer)
        xs, ys = zip(*stroke.points, strict=True)
        ax.plot(xs, ys, label=name, zorder=2, **PLAN[stroke.layer])
    for (x, y), text in patch_labels(layout.design, [mark.at for mark in marks(layout)]):
        plate = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
        ax.text(x, y, textwrap.fill(text, 24), ha="center", va="center", fontsize=6.5,
                bbox=plate, zorder=3)  # fmt: skip
    _draw_hangers(layout, ax)
    _dimension(layout, ax)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return ax


def _draw_hangers(layout: Layout, ax: Axes) -> None:
    from matplotlib.colors import Normalize

    found = marks(layout)
    loads = [mark.load for mark in found if mark.load is not None]
    unit = unit_of("force", layout.design.units)
    scale = factor(unit, "force")
    norm = Normalize(min(loads) / scale, max(loads) / scale) if loads else None
    drawn = None
    for word, symbol in SYMBOLS.items():
        group = [mark for mark in found if mark.verdict == word]
        if not group:
            continue
        xs, ys = zip(*(mark.at for mark in group), strict=True)
        look: dict[str, Any] = {"facecolors": "white"}
        if norm is not None:
            values = [mark.load / scale for mark in group if mark.load is not None]
            look = {"c": values, "cmap": style.SEQUENTIAL, "norm": norm}
        edge = style.VERMILION if word in (BELOW, ABOVE) else style.BLACK
        drawn = ax.scatter(
            xs, ys, s=46, marker=symbol, edgecolors=edge, linewidths=1.2, zorder=5,
            label=said_of(layout.design.hangers, f"hanger, {VERDICTS[word]}"), **look,
        )  # fmt: skip
    plate = {"facecolor": "white", "edgecolor": "none", "pad": 0.3, "alpha": 0.8}
    close = 0.035 * max(plan_size(layout.design))  # m: a number above would hide the next mark
    for mark in found:
        under = any(abs(x - mark.at[0]) < close and 0 < y - mark.at[1] < close
                    for x, y in (other.at for other in found))  # fmt: skip
        ax.annotate(
            str(mark.number), mark.at, xytext=(4, -10 if under else 4), fontsize=6.5, zorder=6,
            textcoords="offset points", bbox=plate,
        )  # fmt: skip
    if norm is not None and drawn is not None and ax.figure is not None:
        bar = ax.figure.colorbar(drawn, ax=ax, shrink=0.45, aspect=28, pad=0.01)
        label = said_of(layout.design.hangers, "load on the hanger at rest")
        bar.set_label(f"{label} [{unit}]")


def _dimension(layout: Layout, ax: Axes) -> None:
    """Running dimensions from the west wall (below the plan) and the south wall (left of it)."""
    units = layout.design.units
    along, across = plan_size(layout.design)
    size = max(along, across)
    off, text_off = 0.035 * size, 0.055 * size
    xs, ys = plan_dimensions(layout)
    thin: dict[str, Any] = {"color": style.GREY, "linewidth": 0.6, "zorder": 1}
    for x, place in zip(xs, spread(xs, 0.026 * size), strict=True):
        ax.plot([x, x, place], [-0.01 * size, -off, -text_off], **thin)
        ax.text(place, -text_off, at(x, units), rotation=90, ha="center", va="top", fontsize=7)
    for y, place in zip(ys, spread(ys, 0.02 * size), strict=True):
        ax.plot([-0.01 * size, -off, -text_off], [y, y, place], **thin)
        ax.text(-text_off, place, at(y, units), ha="right", va="center", fontsize=7)
    ax.plot([0, along], [-off, -off], **thin)
    ax.plot([-off, -off], [0, across], **thin)
    below, left = (  # under the longest figure: a letter is some 0.01 of the plan on paper
        max(0.165 * size, text_off + 0.0105 * size * max(len(at(place, units)) for place in places))
        for places in (xs, ys)
    )
    ax.text(along / 2, -below, "from the west wall", ha="center", va="top", fontsize=7.5)
    ax.text(-left - 0.01 * size, across / 2, "from the south wall", ha="center", va="center",
            rotation=90, fontsize=7.5)  # fmt: skip
    ax.set_xlim(-left - 0.035 * size, along + 0.02 * size)
    ax.set_ylim(-below - 0.025 * size, across + 0.02 * size)


def draw_section(layout: Layout, ax: Axes) -> Axes:
    """Section across the joists at a wall: every layer, gap, finished height."""
    from matplotlib.patches import Rectangle

    design = layout.design
    bands = section_bands(design)
    top, bottom = bands[0].top, bands[-1].bottom
    tall, wide = top - bottom, section_width(design)
    _draw_wool(design, ax, wide)
    for kind, left, low, right, high in section_boxes(design):
        look = {"edgecolor": style.BLACK, "linewidth": 0.7, **FILLS[kind]}
        ax.add_patch(Rectangle((left, low), right - left, high - low, **look))
    wall: dict[str, Any] = {
        "facecolor": style.PALE,
        "edgecolor": style.BLACK,
        "hatch": "\\\\\\",
        "linewidth": 0.8,
    }
    ax.add_patch(Rectangle((wide, bottom - 0.2 * tall), 0.06 * wide, 0.2 * tall - bottom, **wall))
    _section_text(layout, ax, bands, wide)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return ax


def _draw_wool(design: Design, ax: Axes, wide: float) -> None:
    """The porous fill, behind all else."""
    from matplotlib.patches import Rectangle

    if design.cavity.fill is None:
        return
    tall = design.cavity.fill.thickness
    if design.floor.joists is None or design.old_ceiling is not None:
        tall = min(tall, design.cavity.clear_depth)
    look: dict[str, Any] = {
        "facecolor": "#fbf3d0", "edgecolor": "#b8a860", "hatch": "oo", "linewidth": 0.3,
    }  # fmt: skip
    low = section_fill(design)
    ax.add_patch(Rectangle((0, low), wide - 0.01, tall, zorder=0.5, **look))


def _section_text(layout: Layout, ax: Axes, bands: list[Band], wide: float) -> None:
    design = layout.design
    units = design.units
    top, bottom = bands[0].top, bands[-1].bottom
    tall = top - bottom
    heights, texts = zip(*section_labels(design), strict=True)
    start, span = wide * 1.1, wide * 2.1
    places = spread(heights, 0.028 * span)
    for height, place, text in zip(heights, places, texts, strict=True):
        bent = [wide * 0.985, wide * 1.07, start]
        ax.plot(bent, [height, place, place], color=style.GREY, linewidth=0.6)
        ax.text(start + 0.01 * wide, place, text, va="center", fontsize=7)
    ends: dict[str, Any] = {"arrowstyle": "<->", "linewidth": 0.8, "shrinkA": 0, "shrinkB": 0}
    ax.annotate("", (0.1 * wide, bottom), xytext=(0.1 * wide, bottom - 0.4 * tall), arrowprops=ends)
    finished = (
        f"finished height {length(finished_height(design), units)}\nto the floor, before load"
    )
    ax.text(0.13 * wide, bottom - 0.32 * tall, finished, va="center", fontsize=7.5)
    below = min(bottom - 0.32 * tall, places[0] - 0.05 * span)
    arrow: dict[str, Any] = {"arrowstyle": "->", "linewidth": 0.7, "relpos": (0, 0.5)}
    ax.annotate(
        edge_note(design), (wide - design.ceiling.perimeter.gap / 2, bottom),
        xytext=(start + 0.01 * wide, below), va="center", fontsize=7,
        arrowprops=arrow,
    )  # fmt: skip
    ax.set_xlim(-0.03 * wide, span)
    ax.set_ylim(below - 0.03 * span, max(top, places[-1]) + 0.05 * tall)


def sheet(layout: Layout) -> Figure:
    """The whole sheet, landscape; call inside `style.look()`."""
    design = layout.design
    drawing = style.figure(16.5, 11.7)
    grid = drawing.add_gridspec(2, 2, width_ratios=(1.9, 1), height_ratios=(1, 1.15))
    plan = drawing.add_subplot(grid[:, 0])
    draw_plan(layout, plan)
    plan.set_title("Reflected ceiling plan", loc="left", fontweight="bold")
    section = drawing.add_subplot(grid[0, 1])
    draw_section(layout, section)
    section.set_title(
        "Section across the joists, at a wall" if design.floor.joists else "Section, at a wall",
        loc="left",
        fontweight="bold",
    )
    text = drawing.add_subplot(grid[1, 1])
    text.set_axis_off()
    handles, names = plan.get_legend_handles_labels()
    text.legend(handles, names, loc="upper left", ncols=2, fontsize=7.5, borderaxespad=0)
    text.text(0, 0.76, "\n".join(_notes(layout)), va="top", fontsize=7.5, transform=text.transAxes,
              linespacing=1.35)  # fmt: skip
    title = layout_title(design)
    style.titled(drawing, design.name, f": {title}", 13, fontweight="bold")
    return drawing


def _notes(layout: Layout) -> list[str]:
    design, placement = layout.design, layout.placement
    lines = [f"{layout.held_by}, {many(len(placement.channels), 'channel line')}."
             if placement.channels else f"{layout.held_by}."]  # fmt: skip
    if not layout.loads:
        lines.append("LOADS NOT CHECKED.")
    else:
        low, high = (show(f(layout.loads), "force", design.units) for f in (min, max))
        load = said_of(design.hangers, "Load on a hanger at rest")
        lines.append(f"{load}: {low} to {high}.")
    if layout.held is not None:
        lines += stops.stopping(layout.held)
    if layout.held is not None and layout.held.fragile:
        lines.append("THIS CEILING CANNOT LOSE A HANGER: see the load check on the sheet.")
    if layout.screws:
        lines.append(f"Screws: {', '.join(_screw(s, design.units) for s in layout.screws)}.")
    for zone in layout.zones:
        if zone.kind != "field" and zone.mass > 0:
            mass = show(zone.mass, "mass", design.units)
            at = f", at hangers {numbers(zone.hangers)}" if zone.hangers else ""
            where = said_of(design.hangers, at)
            lines.append(f"{zone.kind} {zone.name}: {mass}{where}")
    broken = [found for found in layout.findings if found.kind == "broken"]
    lines.append(layout.rules_kept + (":" if layout.findings else "."))
    shown = broken[:5] + [found for found in layout.findings if found.kind == "note"][:4]
    lines += [f"{found.rule}: {found.text}" for found in shown]
    lines += ["", *(said_under(layout.design, text) for text in CAUTIONS_SHEET)]
    return [part for line in lines for part in (textwrap.wrap(line, 74) or [""])]


def _screw(screw: Screw, units: str) -> str:
    """The screw of a layer, and the length from which it bridges where such are sold."""
    size = length(screw.size, units) if screw.size else "NONE FITS"
    above = f" (over {length(screw.most, units)} bridges)" if screw.most is not None else ""
    return f"{size} for layer {screw.layer}{above}"


def save(layout: Layout, path: Path, description: str = "") -> Path:
    """Draw the sheet into `path` (.svg, .pdf, .png); `description` goes into its metadata."""
    with style.look():
        return style.save(sheet(layout), path, description)

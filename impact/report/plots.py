"""Pictures of a prediction: spectra of the bare floor, the ceiling and the best case.

Functions that draw take the axes and return them; `spectra` makes the whole figure.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base import bands
from impact.heard import strikes
from impact.report import style
from impact.report.bandtable import KINDS, bare_name, hung
from impact.report.tables import load_line
from impact.sound import hearing
from impact.source import people
from impact.spread.result import UNCALIBRATED
from impact.study.compare import names

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from impact.chain import Prediction

SHOWN = (people.BAREFOOT, strikes.TAPPING)
BARE = {"color": style.BLACK, "linestyle": ":", "marker": "D"}
CEILING = {"color": style.BLUE, "linestyle": "-", "marker": "o"}
BEST = {"color": style.VERMILION, "linestyle": "--", "marker": "s", "markerfacecolor": "white"}
THRESHOLD = style.REFERENCE
BACKGROUND = {"color": style.GREY, "linestyle": "-.", "linewidth": 1.0}
LOWEST = 0.0  # dB, lower end of the axis
KEY = 40  # letters of a design's name in a key


def spectra(prediction: Prediction, sources: Sequence[str] = SHOWN) -> Figure:
    """One panel for each source, below one another; call inside `style.look()`.

    sources : names of `strikes.SOURCES`. Cautions and "loads not checked" stand at the foot.
    """
    rows = len(sources)
    figure = style.figure(8.0, 1.6 + 3.7 * rows)
    ratios = [0.09, *[1.0] * rows]
    key, *panels = figure.subplots(rows + 1, 1, height_ratios=ratios)
    for ax, source in zip(panels, sources, strict=True):
        spectrum(ax, prediction, source)
        references(ax, prediction)
        resonance_marks(ax, prediction)
        footfall_range(ax)
    key.axis("off")
    key.legend(*panels[0].get_legend_handles_labels(), loc="center", ncols=3)
    design = prediction.design
    style.titled(figure, design.name, f"   (design {design.digest[:12]})")
    figure.supxlabel(foot(prediction), fontsize=7.5)
    return figure


def designs(predictions: Sequence[Prediction], sources: Sequence[str] = SHOWN) -> Figure:
    """Ceilings of several designs over one another, a panel for each source, below the first one's
    bare floor; call inside `style.look()`."""
    first = predictions[0]
    called = [textwrap.shorten(name, KEY, placeholder=" …") for name in names(predictions)]
    figure = style.figure(8.0, 1.6 + 3.7 * len(sources))
    key, *panels = figure.subplots(len(sources) + 1, 1, height_ratios=[0.09, *[1.0] * len(sources)])
    for ax, source in zip(panels, sources, strict=True):
        _line(ax, first.bare[source], f"{bare_name(first)}, {called[0]}", BARE)
        for number, one in enumerate(predictions):
            _line(ax, one.levels[source], f"{number + 1}: {called[number]}", style.series(number))
        titled(ax, source)
        references(ax, first)
        footfall_range(ax)
        top = max(np.max(each[source]) for p in predictions for each in (p.levels, p.bare))
        ax.set_ylim(LOWEST, 10 * np.ceil((top + 8) / 10))
    key.axis("off")
    key.legend(*panels[0].get_legend_handles_labels(), loc="center", ncols=2)
    figure.suptitle("Designs side by side", fontsize=11)
    figure.supxlabel(foot(first), fontsize=7.5)
    return figure


def foot(prediction: Prediction) -> str:
    """The caution lines under a picture."""
    text = " ".join((load_line(prediction), *prediction.cautions))
    return "\n".join(textwrap.wrap(text, 120))


def spectrum(ax: Axes, prediction: Prediction, source: str) -> Axes:
    """Levels of one source with title and axes."""
    levels(ax, prediction, source)
    return titled(ax, source)


def titled(ax: Axes, source: str) -> Axes:
    """Title and axes of a source's levels."""
    described = strikes.SOURCES[source]
    title = f"{described.label}: {KINDS[described.kind]}"
    if described.kind == "normalized level":
        title += " (below 50 Hz outside its standards)"
    ax.set_title(title, loc="left")
    ax.set_ylabel("level [dB re 20 µPa]")
    return style.band_axis(ax)


def levels(ax: Axes, prediction: Prediction, source: str) -> Axes:
    """Levels of one source below bare floor, ceiling and ceiling on perfect hangers."""
    for found, label, look in (
        (prediction.bare, bare_name(prediction), BARE),
        (prediction.levels, "with this ceiling", CEILING),
        *([(prediction.best, "with perfect hangers", BEST)] if hung(prediction) else []),
    ):
        _line(ax, found[source], label, look)
    sure(ax, prediction, source)
    shown = [prediction.bare, prediction.levels, prediction.best]
    if prediction.spread is not None:
        shown.append(prediction.spread.high)
    top = max(np.max(x[source]) for x in shown)
    ax.set_ylim(LOWEST, 10 * np.ceil((top + 8) / 10))
    return ax


def sure(ax: Axes, prediction: Prediction, source: str) -> Axes:
    """The 90 % band of the levels with the ceiling, hatched so that it shows in grey."""
    found = prediction.spread
    if found is None:
        return ax
    label = "90 % band, with this ceiling"
    if not found.calibrated_below_50:
        label += f" ({UNCALIBRATED})"
    ax.fill_between(
        bands.CENTRES, found.low[source], found.high[source], label=label, hatch="////",
        facecolor=style.SKY, edgecolor=style.BLUE, alpha=0.25, linewidth=0.0, zorder=1,
    )  # fmt: skip
    return ax


def references(ax: Axes, prediction: Prediction) -> Axes:
    """Hearing threshold and, if the design gives one, the room's background."""
    _line(ax, hearing.threshold(), "hearing threshold (ISO 226)", THRESHOLD)
    room = prediction.design.room
    if room.background:
        _line(ax, np.array(room.background), f"background, {room.background_name}", BACKGROUND)
    return ax


def resonance_marks(ax: Axes, prediction: Prediction) -> Axes:
    """Lines at the floor's lowest resonance and at mass-spring-mass, with their frequencies."""
    r = prediction.resonances
    marks = [
        (r.floor_fundamental, "floor", "-"),
        (r.mass_spring_mass, "mass-spring-mass", (0, (6, 2))),
    ]
    apart = abs(np.log2(r.mass_spring_mass / r.floor_fundamental)) > 0.3
    higher = max(r.mass_spring_mass, r.floor_fundamental)
    for frequency, name, line in marks:
        if not np.isfinite(frequency) or frequency < bands.CENTRES[0] / 1.12:
            continue
        ax.axvline(frequency, color=style.BLACK, linestyle=line, linewidth=0.9, zorder=1)
        beside = "right" if apart or frequency < higher else "left"
        ax.annotate(
            f" {name} {frequency:.1f} Hz ", (frequency, 0.02), xycoords=ax.get_xaxis_transform(),
            rotation=90, fontsize=7, ha=beside, va="bottom", color=style.BLACK, zorder=1.5,
            bbox={"facecolor": style.PALE, "edgecolor": "none", "pad": 1},
        )  # fmt: skip
    return ax


def footfall_range(ax: Axes) -> Axes:
    """Shade 10-100 Hz, where footsteps are strong."""
    low = bands.edges(bands.CENTRES[bands.index(bands.FOOTFALL[0])])[0]
    high = bands.edges(bands.CENTRES[bands.index(bands.FOOTFALL[1])])[1]
    ax.axvspan(low, high, zorder=0, **style.BAND)
    ax.annotate(
        "footfall range", (low * 1.03, 0.985), xycoords=ax.get_xaxis_transform(), fontsize=7.5,
        ha="left", va="top", zorder=4,
        bbox={"facecolor": style.BAND["color"], "edgecolor": "none", "pad": 0.8},
    )  # fmt: skip
    return ax


def _line(ax: Axes, level: Any, label: str, look: dict[str, Any]) -> None:
    ax.plot(bands.CENTRES, np.asarray(level, float), label=label, **look)

"""Pictures of the report, half as broad as a page so that they are legible on a telephone.

Each function takes what is drawn and returns a `Picture`; its `draw` fills a figure that the web
page or the PDF gives it, in the look of `impact.report.style`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base import bands
from impact.base.units import show
from impact.design.fixings import called, said_of
from impact.heard import strikes
from impact.report import plots, style
from impact.report.bandtable import bare_name, hung
from impact.report.page_blocks import Picture
from impact.sound import hearing
from impact.source import people

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from impact.chain import Prediction

WIDTH, HEIGHT = 3.4, 1.95  # in
LOW, TALL = 1.7, 2.5  # in, of the client's, who has one sheet: in a row, and beside tables
SMALL = 7.0  # points
MARGINS = (0.5, 0.36, 0.04, 0.05)  # in, of spectra: left, bottom, right, top
KEY = (1.5, 0.46)  # in, size of the client's key with its margin: width, height
TICK = 3  # matplotlib's name of a marker that hangs below its point
ZONES = ("#f4f4f4", "#e9e9e9", "#dcdcdc", "#cfcfcf", "#c2c2c2")  # from faint to extreme
OCTAVE_TICKS = (16, 31.5, 63, 125, 250, 500, 1000, 2000, 4000)


def bars(told: dict[str, tuple[float, float]]) -> Picture:
    """Thud, knock and click [dB over what is heard], without and with the ceiling."""
    before, now = zip(*(told[region] for region in bands.REGIONS), strict=True)

    def draw(figure: Figure) -> None:
        draw_bars(style.place(figure, 0.83, 0.62, 0.08, 0.04), before, now)

    said = "; ".join(
        f"{region}: {_over(b)} without, {_over(n)} with the ceiling"
        for region, b, n in zip(bands.REGIONS, before, now, strict=True)
    )
    return Picture(draw, WIDTH, TALL, f"Three bars, how far steps stand out. {said}.")


def _over(excess: float) -> str:
    return f"{excess:.0f} dB above the least level heard" if excess > 0 else "not heard"


def draw_bars(ax: Axes, before: Sequence[float], now: Sequence[float]) -> Axes:
    """Three pairs of bars [dB over what is heard]."""
    top = max(35.0, 5 * np.ceil((max(*before, *now) + 8) / 5))
    low = 0.0
    for number, ((limit, word), shade) in enumerate(zip(hearing.GRADES[1:], ZONES, strict=True)):
        high = min(limit, top)
        ax.axvspan(low, max(low, high), facecolor=shade, zorder=0)
        if high - low > 4:  # words in two rows, so that neighbours do not touch
            place = (-1.0, -0.62)[number % 2]
            ax.text((low + high) / 2, place, word, ha="center", va="center", fontsize=SMALL)
        low = high
    open_bar: dict[str, Any] = {"facecolor": "white", "hatch": "////"}
    full_bar: dict[str, Any] = {"facecolor": style.BLUE}
    looks = ((before, -0.2, "without", open_bar), (now, 0.2, "with the ceiling", full_bar))
    for values, shift, label, look in looks:
        places = np.arange(3) + shift
        ax.barh(places, np.maximum(values, 0), 0.36, linewidth=0.8, label=label,
                edgecolor=style.BLACK, **look)  # fmt: skip
        for place, value in zip(places, values, strict=True):
            if value <= 0:
                ax.plot([0], [place], marker="|", color=style.BLACK, markersize=8)
                ax.text(0.8, place, "not heard", va="center", fontsize=SMALL)
    names = ("thud\ndeep boom", "knock\nhollow", "click\nsharp tap")
    ax.set_yticks(range(3), names, fontsize=8.5)
    ax.set_ylim(2.5, -1.25)
    ax.set_xlim(0, top)
    ax.set_xlabel("dB above the least level heard here", fontsize=SMALL + 0.5)
    ax.tick_params(axis="x", labelsize=SMALL)
    ax.grid(False)
    ax.legend(loc="lower center", bbox_to_anchor=(0.55, -0.02), ncols=2, fontsize=SMALL + 0.5,
              bbox_transform=ax.figure.transFigure)  # fmt: skip
    return ax


def octave_axis(ax: Axes, low: float = 10) -> Axes:
    """Third-octave axis with labels at the octaves and a tick at every band."""
    ax.set_xscale("log")
    ax.minorticks_off()
    ax.set_xlim(low / 1.12, bands.NOMINAL[-1] * 1.12)
    shown = [f for f in OCTAVE_TICKS if f >= low]
    ax.set_xticks(shown, [bands.label(f) for f in shown], rotation=0, fontsize=SMALL)
    at = [f for f in bands.NOMINAL if f >= low]  # as one line: a tick each would take far longer
    ax.plot(at, [0] * len(at), color=style.BLACK, linestyle="", marker=TICK, markersize=2,
            markeredgewidth=0.6, clip_on=False, transform=ax.get_xaxis_transform())  # fmt: skip
    ax.tick_params(axis="y", labelsize=SMALL)
    ax.set_xlabel("third-octave band [Hz]", fontsize=SMALL + 0.5)
    return ax


def thin(ax: Axes) -> None:
    """Lines and markers of a whole page's picture as fine as half its width wants them."""
    for line in ax.lines:
        line.set_markersize(2.6)
        line.set_linewidth(min(line.get_linewidth(), 1.1))


def before_after(prediction: Prediction) -> Picture:
    """The client's spectrum: without and with the ceiling, over what is heard."""
    level, bare = (each[people.BAREFOOT] for each in (prediction.levels, prediction.bare))
    heard = hearing.least_heard(prediction.design.room.background)

    def draw(figure: Figure) -> None:
        ax = style.place(figure, *MARGINS)
        ax.fill_between(bands.CENTRES, heard, level, where=level > heard, interpolate=True,
                        facecolor=style.SKY, alpha=0.45, linewidth=0)  # fmt: skip
        bare_look: dict[str, Any] = {**plots.BARE, "markersize": 3, "linewidth": 1.2}
        with_look: dict[str, Any] = {**plots.CEILING, "markersize": 3, "linewidth": 1.2}
        heard_look: dict[str, Any] = plots.THRESHOLD
        shade: dict[str, Any] = style.BAND
        ax.plot(bands.CENTRES, bare, label="without", **bare_look)
        ax.plot(bands.CENTRES, level, label="with the ceiling", **with_look)
        ax.plot(bands.CENTRES, heard, label="least level heard here", **heard_look)
        octave_axis(ax, 16)
        ax.axvspan(bands.NOMINAL[0], bands.edges(bands.FOOTFALL[1])[1], zorder=0, **shade)
        ax.text(17, 3, "strong in steps", fontsize=SMALL)
        highest = np.maximum.reduce([level, bare, heard])
        ax.set_ylim(0, _top_beside_key(ax, highest[2:], bands.CENTRES[2:]))
        ax.set_ylabel("sound level [dB]", fontsize=SMALL + 0.5)
        ax.legend(loc="upper right", fontsize=SMALL, labelspacing=0.2, borderaxespad=0.1,
                  frameon=True, edgecolor="none", framealpha=0.85)  # fmt: skip

    top = bands.NOMINAL[int(np.argmax(level))]
    return Picture(
        draw, WIDTH, LOW,
        "Sound of a barefoot step from deep to high, without and with the ceiling, and the least "
        f"level that is heard in the room. The step is strongest at {bands.label(top)} Hz.",
        (f"A barefoot step. Shaded: what is heard. Without: the {bare_name(prediction)}.",),
    )  # fmt: skip


def _top_beside_key(ax: Axes, levels: np.ndarray, centres: Sequence[float]) -> float:
    """Upper end of the axis [dB] at which a key of size KEY in the upper right corner hides none of
    the levels (n,) at `centres` (n,) [Hz]."""
    box = ax.get_window_extent()
    wide, tall = box.width / 72, box.height / 72  # in, at the 72 dots of `style.drawn`
    low, high = np.log(ax.get_xlim())
    behind = (np.log(centres) - low) / (high - low) > 1 - KEY[0] / wide
    free = levels.max() + 12
    if behind.any() and tall > KEY[1]:
        free = max(free, levels[behind].max() / (1 - KEY[1] / tall))
    return float(10 * np.ceil(free / 10))


def springs(prediction: Prediction, answer: Mapping[str, Any]) -> Picture:
    """A weight on two springs: masses and stiffnesses of this design to scale, and where it
    bounces."""
    held_by = called(prediction.design.hangers).split()[-1]  # hangers, channels, fixings
    per_area = answer["stiffness_per_area_n_m3"]
    stiff = {"air": per_area["air"] or 0.0, held_by: per_area["hangers"] or 0.0}
    masses = answer["mass_per_area_kg_m2"]
    found = answer["resonances_hz"]
    units = prediction.design.units

    def draw(figure: Figure) -> None:
        draw_springs(style.place(figure, 0.02, 0.03, 1.5, 0.03), stiff, masses, units)
        draw_ruler(style.place(figure, 2.15, 0.06, 0.03, 0.19), found, held_by)

    total = sum(stiff.values())
    share = ", ".join(f"{name} {value / total:.0%}" for name, value in stiff.items() if value > 0)
    points = prediction.design.hangers
    half = said_of(points, ", with half of each hanger's weight") if (
        points and points.mass > 0) else ""  # fmt: skip
    return Picture(
        draw, WIDTH, LOW,
        "A weight on springs. Above, the floor; below, the ceiling; between them the springs, with "
        f"their share of the stiffness: {share}. Together they bounce at "
        f"{found['mass_spring_mass']:.0f} Hz.",
        (f"Blocks: as tall as heavy{half}. Springs: as thick as stiff; softer {held_by} thin one "
         "only." if stiff[held_by] > 0 else
         f"A weight on one spring, the air: no {held_by}. Blocks: as tall as heavy.",),
    )  # fmt: skip


def draw_springs(ax: Axes, stiff: dict[str, float], masses: dict[str, float], units: str) -> Axes:
    """Two blocks whose heights are as their masses, springs whose widths are as their stiffness."""
    from matplotlib.patches import Rectangle

    scale = 2.6 / max(masses.values())
    above, below = masses["floor"] * scale, masses["ceiling"] * scale
    for bottom, tall, name, fill in (
        (6.6, above, "floor", "#e6cf9f"), (3.0 - below, below, "ceiling", "#cfe3f1"),
    ):  # fmt: skip
        ax.add_patch(Rectangle((0.4, bottom), 9.2, tall, edgecolor=style.BLACK, facecolor=fill))
        text = f"{name}, {show(masses[name], 'mass per area', units)}"
        place = bottom + tall + 0.25 if name == "floor" else bottom - 0.25
        ax.text(5, place, text, ha="center", va="bottom" if name == "floor" else "top",
                fontsize=SMALL + 0.5)  # fmt: skip
    most, total = max(stiff.values()), sum(stiff.values())
    for x, name, colour in zip((1.7, 5.9), stiff, (style.BLUE, style.VERMILION), strict=True):
        if stiff[name] <= 0:
            ax.text(x, 4.8, f"no {name}", ha="center", fontsize=SMALL)
            continue
        heights = np.linspace(3.0, 6.6, 15)
        across = np.array([0, 0, *[0.6, -0.6] * 5, 0.6, 0, 0])
        ax.plot(x + across, heights, color=colour, linewidth=6 * stiff[name] / most,
                solid_joinstyle="round", solid_capstyle="butt")  # fmt: skip
        ax.text(x + 1.2, 4.8, f"{name}\n{stiff[name] / total:.0%}", fontsize=SMALL + 0.5,
                va="center", linespacing=1.2)  # fmt: skip
    ax.set_xlim(0, 10)
    ax.set_ylim(-0.6, 10.2)
    ax.set_axis_off()
    return ax


def draw_ruler(ax: Axes, found: dict[str, float | None], held_by: str) -> Axes:
    """Resonances on an upright scale of frequency, with the range of footsteps."""
    from impact.report.drawing_shapes import spread

    ax.set_yscale("log")
    ax.set_ylim(4, 200)
    ax.set_xlim(0, 10)
    low, high = bands.FOOTFALL
    ax.axhspan(low, high, facecolor=style.PALE, alpha=0.6, zorder=0)
    middle = float(np.sqrt(low * high))
    ax.text(9.8, middle, "strong in steps", fontsize=6.2, ha="right", va="center", rotation=90)
    names = {"floor_fundamental": "floor", "hanger_only": f"{held_by} only", "air_only": "air only",
             "mass_spring_mass": "together"}  # fmt: skip
    known = sorted((v, names[k]) for k, v in found.items() if k in names and v and 4 < v < 200)
    tall = ax.get_window_extent().height / 72  # in
    places = spread([float(np.log10(v)) for v, _ in known], 0.105 / tall * np.log10(200 / 4))
    for (value, name), place in zip(known, places, strict=True):
        bold = name == "together"
        ax.plot([0, 1.6], [value, value], color=style.BLACK, linewidth=2 if bold else 1)
        ax.plot([1.6, 2.4], [value, 10**place], color=style.GREY, linewidth=0.6)
        ax.text(2.6, 10**place, f"{name} {value:.0f}", fontsize=6.5, va="center",
                fontweight="bold" if bold else "normal")  # fmt: skip
    ticks = (5, 10, 20, 50, 100, 200)
    ax.set_yticks(ticks, [f"{tick}" for tick in ticks], fontsize=SMALL)
    ax.set_yticks([], minor=True)
    ax.set_xticks([])
    ax.spines["bottom"].set_visible(False)
    ax.grid(False)
    ax.set_title("bounces at [Hz]", fontsize=SMALL + 0.5, loc="left")
    return ax


def spectrum(prediction: Prediction, source: str) -> Picture:
    """The engineer's spectrum of one source, with its spread where that was predicted."""
    described = strikes.SOURCES[source]

    def draw(figure: Figure) -> None:
        left, bottom, right, _ = MARGINS
        ax = style.place(figure, left, bottom, right, 0.2)
        plots.levels(ax, prediction, source)
        plots.references(ax, prediction)
        plots.footfall_range(ax)
        thin(ax)
        octave_axis(ax)
        ax.set_title(described.label, loc="left", fontsize=8.5, fontweight="bold")
        ax.set_ylabel("level [dB re 20 µPa]", fontsize=SMALL + 0.5)

    return Picture(
        draw, WIDTH, HEIGHT,
        f"Spectrum of {described.label}, third octaves: {_lines(prediction, 'with the ')}, over "
        "threshold and background. The values are in the band table.",
        (f"{described.label}: {described.kind}.",),
    )  # fmt: skip


def spectrum_key(prediction: Prediction) -> Picture:
    """What the lines of `spectrum` are, once for all of them."""

    def draw(figure: Figure) -> None:
        ax = style.place(figure, 0, 0, 0, 0)
        plots.levels(ax, prediction, people.BAREFOOT)
        plots.references(ax, prediction)
        handles, labels = ax.get_legend_handles_labels()
        ax.clear()
        ax.set_axis_off()
        broken = [label.replace(" (unc", "\n(unc") for label in labels]  # too wide for a telephone
        ax.legend(handles, broken, loc="center", fontsize=8, handlelength=4, labelspacing=0.9)

    return Picture(draw, WIDTH, HEIGHT, "Key to the spectra: one line and marker for each: "
                   f"{_lines(prediction)}, threshold and background.",
                   ("Key to the spectra.",))  # fmt: skip


def _lines(prediction: Prediction, with_: str = "") -> str:
    """The lines of a spectrum in words: those of `plots.levels`."""
    best = f", {with_.replace('the ', '')}perfect hangers" if hung(prediction) else ""
    return f"{bare_name(prediction)}, {with_}ceiling{best}"

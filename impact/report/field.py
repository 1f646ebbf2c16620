"""A site measurement against the prediction: as text, 80 columns, as CSV and as a picture."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.advice import target
from impact.base import bands
from impact.design.fixings import said_of
from impact.gravity.parts import deflection
from impact.heard import strikes
from impact.report import style
from impact.report.bandtable import KINDS
from impact.report.lines import heading, signed, wrapped
from impact.site import mistaken
from impact.site.deflections import Deflections
from impact.site.field import (
    AGREE,
    BARE,
    HIGHER,
    LOWER,
    OPEN,
    QUIET_ROOM,
    STATES,
    Comparison,
    said_to_be,
)
from impact.study.layout import SAME_DEFLECTION

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from impact.design.parts import Hangers

NEXT = {
    HIGHER: "More on site than predicted: look for a bridge, a touching edge, a packed or missing "
    "fill, or sound that comes by the walls.",
    LOWER: "Less on site than predicted: check the source, its positions and the design's numbers.",
}
BARE_NEXT = (
    "More on site than predicted: check the source and what the design says of the floor; "
    "'impact calibrate' fits it."
)
MARKS = {AGREE: "o", HIGHER: "^", LOWER: "v", OPEN: "D"}


def page(compared: Comparison) -> str:
    """The whole answer: verdict first, then bands, then what was taken for what."""
    measured = compared.measured
    source = strikes.SOURCES[measured.source]
    lines = wrapped(f"Measured against predicted: {compared.design}")
    lines += wrapped(f"{source.label}: {KINDS[source.kind]}")
    lines += wrapped(f"Held against: {STATES[compared.state][2]}.")
    lines += [*heading("Do they agree?"), *_verdict(compared), *heading("Bands"), *_table(compared)]
    if compared.ratings:
        lines += [*heading("Single numbers"), *_ratings(compared)]
    lines += heading("What was taken for what")
    for text in measured.what_was_taken:
        lines += wrapped(text.strip(), "    " if text.startswith(" ") else "  ")
    lines += heading("Remarks")
    for text in (*compared.prediction_remarks, *compared.cautions):
        lines += wrapped(text, "- ", "  ")
    return "\n".join(lines)


def _verdict(compared: Comparison) -> list[str]:
    counts = compared.counts
    judged = counts[AGREE] + counts[HIGHER] + counts[LOWER]
    said = said_to_be(compared.measured.source, compared.state)
    other = mistaken.sentence(compared.nearer, said)
    lines = wrapped(other) if other else []
    within = "both uncertainties (90 %)"
    if compared.predicted_low is None:
        within = "the measurement's uncertainty (90 %); the prediction states none here"
    lines += wrapped(f"{counts[AGREE]} of {judged} bands agree within {within}.")
    for word in (HIGHER, LOWER):
        where = [band for band, verdict in zip(compared.measured.bands_hz, compared.verdict,
                                               strict=True) if verdict == word]  # fmt: skip
        if where:
            shown = ", ".join(bands.label(band) for band in where)
            hint = BARE_NEXT if compared.state == BARE and word == HIGHER else NEXT[word]
            lines += wrapped(f"{word.capitalize()} than predicted at {shown} Hz. {hint}")
    if compared.perhaps_noise:
        shown = ", ".join(bands.label(band) for band in compared.perhaps_noise)
        lines += wrapped(
            f"No background was measured, and at {shown} Hz the level is no higher than that of a "
            f"quiet room by itself (NC {QUIET_ROOM:g}): it may be noise of room or meter rather "
            "than this sound. Measure the background (--background)."
        )
    if counts[OPEN]:
        lines += wrapped(f"Cannot tell in {counts[OPEN]} bands: the background was too close.")
    means = ", ".join(f"{name} {signed(value, 1)}" for name, value in compared.regions.items())
    if means:
        lines += wrapped(f"Mean of measured minus predicted, dB: {means}.")
    return lines


def _table(compared: Comparison) -> list[str]:
    measured = compared.measured
    lines = ["    Hz measured   +-  predicted  low high   differs allowed"]
    for i, band in enumerate(measured.bands_hz):
        mark = "<" if measured.limit[i] else " "
        level = _cell(measured.level_db[i], f"{mark}{measured.level_db[i]:.1f}")
        low, high = (
            "-" if side is None else f"{side[i]:.0f}"
            for side in (compared.predicted_low, compared.predicted_high)
        )
        change = _cell(compared.difference[i], signed(compared.difference[i], 1))
        lines.append(
            f"{bands.label(band):>6}{level:>9}{compared.half_width[i]:>6.1f}"
            f"{compared.predicted[i]:>10.1f}{low:>6}{high:>5}{change:>9}"
            f"{compared.allowed[i]:>8.1f}  {compared.verdict[i]}"
        )
    own = "" if compared.predicted_low is None else (
        " allowed holds the prediction's own spread on that side as well;"
    )  # fmt: skip
    return [*lines, *wrapped(f"+- is 90 % of measurements;{own} < is a limit.", "  ")]


def _cell(value: float, text: str) -> str:
    return text if np.isfinite(value) else "-"


def _ratings(compared: Comparison) -> list[str]:
    lines = [f"  {'':<14}{'measured':>10}{'predicted':>11}"]
    for name, value in compared.ratings.items():
        foreseen = compared.ratings_predicted[name]
        shown = "-" if foreseen is None else f"{foreseen:g}"
        lines.append(f"  {target.named(name):<14}{value:>10g}{shown:>11}")
    if np.any(compared.measured.limit):
        lines += wrapped("Some bands are limits: the measured numbers are upper bounds of level.",
                         "  ")  # fmt: skip
    return lines + wrapped(
        "Measured numbers are of L'n and hold what the walls radiate. Standard uncertainty of Ln,w "
        "in the field about 1 dB (ISO 12999-1, from memory, check the standard).", "  ",
    )  # fmt: skip


def csv_text(compared: Comparison | None, found: Deflections | None = None) -> str:
    """One line for each band, or, without a spectrum, for each hanger."""
    if compared is not None:
        rows = _band_rows(compared)
    else:
        rows = [] if found is None else found.as_dict()["hangers"]
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _band_rows(compared: Comparison) -> list[dict[str, Any]]:
    plain = compared.as_dict()
    columns = {
        "band_hz": [f"{band:g}" for band in compared.measured.bands_hz],
        "limit_only": plain["measured_limit_only"],
        "uncertainty_90_db": [round(float(x), 2) for x in compared.half_width],
    }
    for key in ("measured_db", "predicted_db", "predicted_low_db", "predicted_high_db",
                "difference_db", "allowed_difference_db", "verdict"):  # fmt: skip
        columns[key] = plain[key] or [None] * len(plain["bands_hz"])
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def picture(compared: Comparison) -> Figure:
    """Measured over predicted with both uncertainties, and their difference below."""
    figure = style.figure(8.0, 6.6)
    top, below = figure.subplots(2, 1, height_ratios=[2.2, 1.0], sharex=True)
    overlay(top, compared)
    difference(below, compared)
    top.legend(loc="best", ncols=2)
    source = strikes.SOURCES[compared.measured.source]
    style.titled(figure, compared.design, f": {source.label}")
    style.cautioned(figure, compared.cautions)
    return figure


def overlay(ax: Axes, compared: Comparison) -> Axes:
    """Levels: the prediction with its band, the measurement with its 90 % bars."""
    measured = compared.measured
    x = _centres(measured.bands_hz)
    if compared.predicted_low is not None and compared.predicted_high is not None:
        ax.fill_between(x, compared.predicted_low, compared.predicted_high, color=style.SKY,
                        alpha=0.35, linewidth=0, label="predicted, 90 % band")  # fmt: skip
    ax.plot(
        x,
        compared.predicted,
        label=f"predicted, {compared.state}",
        color=style.BLUE,
        linestyle="-",
        marker="o",
    )
    ax.errorbar(x, measured.level_db, compared.half_width, label="measured, 90 % of measurements",
                color=style.BLACK, linestyle=":", marker="s", markerfacecolor="white",
                capsize=2.5, linewidth=1.2)  # fmt: skip
    if np.any(measured.limit):
        ax.plot(x[measured.limit], measured.level_db[measured.limit], linestyle="none", marker="v",
                markersize=9, color=style.VERMILION, zorder=5,
                label="at most this: background")  # fmt: skip
    ax.set_ylabel("level [dB re 20 µPa]")
    ax.set_title(KINDS[strikes.SOURCES[measured.source].kind], loc="left")
    return ax


def difference(ax: Axes, compared: Comparison) -> Axes:
    """Measured minus predicted; the grey band is what both uncertainties allow."""
    x = _centres(compared.measured.bands_hz)
    ax.fill_between(x, -compared.allowed_below, compared.allowed_above, **style.BAND)
    ax.axhline(0, color=style.BLACK, linewidth=0.8)
    verdicts = np.array(compared.verdict)
    for word, marker in MARKS.items():
        here = verdicts == word
        if np.any(here):
            filled = style.BLUE if word == AGREE else style.VERMILION
            ax.plot(x[here], compared.difference[here], linestyle="none", marker=marker,
                    markersize=6, color=filled, label=word,
                    markerfacecolor="white" if word == OPEN else filled)  # fmt: skip
    ax.set_ylabel("measured - predicted [dB]")
    ax.legend(loc="best", ncols=4)
    low, high = compared.measured.bands_hz[0], compared.measured.bands_hz[-1]
    style.band_axis(ax, low, high)
    if compared.measured.octaves:
        ax.set_xticks(x, [bands.label(b) for b in compared.measured.bands_hz])
        ax.set_xlabel("octave band [Hz]")
    return ax


def _centres(bands_hz: tuple[float, ...]) -> np.ndarray:
    return np.array([bands.CENTRES[bands.index(band)] for band in bands_hz])


def deflection_lines(found: Deflections, units: str, points: Hangers | None = None) -> list[str]:
    """Outliers first, then every hanger. points : what holds the ceiling, for its words."""
    lines = [*heading("Deflections after loading")]
    off = found.outliers
    count = len(found.readings)
    lines += wrapped(said_of(
        points, f"{len(off)} of {count} hangers {'lies' if len(off) == 1 else 'lie'} more than"
        f" {100 * SAME_DEFLECTION:.0f} % from what is expected; in the middle they move"
        f" {found.median_ratio:.2f} times what is expected. Both are from the channels alone to all"
        " boards, before lamps and the like hang."
    ))  # fmt: skip
    sure = [r for r in off if r.sure]
    if len(sure) < len(off):
        lines += wrapped(
            f"{len(off) - len(sure)} of them by no more than a reading,"
            f" {deflection(found.reading, units)}, which tells nothing: read them by dial gauge."
        )
    if sure:
        lines += wrapped("Look at: " + ", ".join(
            f"{r.number} ({signed(100 * (r.ratio - 1))} %)" for r in sure))  # fmt: skip
        lines += wrapped(
            "Too little: bridged, carries too little, or stiffer. Too much: carries too much, "
            "softer, or slipping. Find out which before the ceiling is closed."
        )
    if found.shifted:
        apart = ", ".join(
            f"{r.number} ({signed(100 * (r.ratio / found.median_ratio - 1))} %)"
            for r in found.apart
        )
        which = "less" if found.median_ratio < 1 else "more"
        lines += wrapped(said_of(
            points, f"As a whole they move {which}: hangers of another stiffness, or boards of"
            f" another weight, than drawn. Apart from the middle of all: {apart or 'none'}."
        ))  # fmt: skip
    if found.unread:
        lines += wrapped(f"Not read: {', '.join(map(str, found.unread))}.")
    lines.append(f"{'number':>8}{'expected':>12}{'measured':>12}{'ratio':>8}")
    for r in found.readings:
        wanted, read = deflection(r.expected, units), deflection(r.measured, units)
        row = f"{r.number:>8}{wanted:>12}{read:>12}"
        lines.append(f"{row}{r.ratio:>8.2f}" + (f"  {r.verdict}" if r.outlier else ""))
    for text in found.what_was_taken:
        lines += wrapped(text, "  ")
    return lines


def as_dict(compared: Comparison | None, found: Deflections | None) -> dict[str, Any]:
    """Everything for JSON."""
    out: dict[str, Any] = {} if compared is None else compared.as_dict()
    if found is not None:
        out["deflections"] = found.as_dict()
    if compared is not None:
        out["cautions"] = list(compared.cautions)
    return out

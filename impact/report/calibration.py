"""A fit of the bare floor as a page and as a picture."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from impact import __version__
from impact.advice import findings as advice
from impact.base import bands
from impact.design.fixings import cautions_of
from impact.heard import strikes
from impact.report import style
from impact.report.lines import cautions, heading, signed, wrapped
from impact.report.spread import measure_next
from impact.site import calibrate, mistaken
from impact.source.people import BAREFOOT
from impact.spread.inputs import END
from impact.spread.result import UNCALIBRATED

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from impact.chain import Prediction
    from impact.site.calibrate import Calibration, Fitted

LABEL = 34  # columns for what an input is called; longer ones are broken
POOR_FIT = 4.0  # mean square of differences over u: twice u in the mean; our own
POOR = (
    "THE FIT IS POOR: no floor near this design makes such levels. Was it measured below the bare "
    "floor, with this source, and is the design that floor? What follows rests on it."
)
CAUTION = (
    "A fit finds what is most probable within the catalogue's ranges, not what is true: other "
    "floors may sound the same. Errors of the model are taken as independent from band to band."
)


def page(
    found: Calibration, before: Prediction, after: Prediction, taken: Sequence[str] = ()
) -> str:
    """What moved, whether the data can tell, the fit by band, and the ceiling again."""
    lines = wrapped(f"{found.design.name}: bare floor fitted to a measurement")
    lines += wrapped(f"impact {__version__}, design {found.design.digest[:12]}")
    if taken:
        lines += heading("What was taken for what")
        for sentence in taken:
            lines += wrapped(sentence, "- ")
    lines += _warned(found, before)
    lines += _moved(found)
    lines += _fit(found)
    lines += _again(before, after)
    lines += wrapped(CAUTION)
    if after.spread is not None:
        lines += measure_next(after.spread)
    lines += cautions(after.cautions)
    return "\n".join(line.rstrip() for line in lines)


def _moved(found: Calibration) -> list[str]:
    lines = heading("What moved, and whether the data can tell")
    lines.append(f"{'':<{LABEL}}{'design':>8}{'now':>8}  {'90 % range':<13}{'spread':>6}")
    told = [one for one in found.fitted if one.verdict != "no"]
    for one in sorted(told, key=lambda one: one.ratio):
        low, high = sorted((one.after_low, one.after_high))
        span = f"{_number(low, one)}-{_number(high, one)}"
        *above, last = textwrap.wrap(one.label, LABEL - 1, subsequent_indent="  ")
        lines += above
        lines.append(
            f"{last:<{LABEL}}{_number(one.before, one):>8}{_number(one.after, one):>8}"
            f"  {span:<13}{one.ratio:>6.0%}  {one.verdict}"
        )
    silent = [one.label for one in found.fitted if one.verdict == "no"]
    lines += wrapped(
        "x: as a multiple of the design's. spread: what is left of the catalogue's spread; the "
        "data tell where little is left."
    )
    if silent:
        lines += wrapped(f"The data say nothing of: {', '.join(silent)}.")
    return lines


def _number(value: float, one: Fitted) -> str:
    return f"x{value:.2f}" if one.relative else f"{value:.2g}"


def _fit(found: Calibration) -> list[str]:
    source = strikes.SOURCES[found.source]
    lines = heading(f"Below the bare floor, {source.label}, dB")
    lines.append(f"{'Hz':>6}{'measured':>10}{'u':>6}{'design':>9}{'fitted':>9}{'left':>7}")
    for i, band in enumerate(found.bands_hz):
        left = found.measured[i] - found.after[i]
        lines.append(
            f"{bands.label(band):>6}{found.measured[i]:>10.1f}{found.uncertainty[i]:>6.1f}"
            f"{found.before[i]:>9.1f}{found.after[i]:>9.1f}{signed(float(left), 1):>7}"
        )
    before, after = (value / len(found.bands_hz) for value in found.chi2)
    lines += wrapped(
        "u: standard uncertainty of measurement and model together. left: measured minus fitted. "
        f"Mean square of (measured minus predicted)/u: {before:.1f} before, {after:.1f} after; 1 "
        "is what u expects."
    )
    return lines


def _warned(found: Calibration, before: Prediction) -> list[str]:
    """What stands before everything where the fit is poor or another source was measured."""
    lines = wrapped(POOR) if found.chi2[1] / len(found.bands_hz) > POOR_FIT else []
    said = mistaken.in_words(found.source, mistaken.BARE)
    other = mistaken.sentence(calibrate.nearer(found, before), said)
    lines += wrapped(other) if other else []
    return ["", *lines] if lines else []


def _again(before: Prediction, after: Prediction) -> list[str]:
    lines = heading("The ceiling on that floor: barefoot walker, dB")
    lines.append(f"{'':>6}{'design':>9}{'fitted':>9}{'change':>8}   90 % band, fitted")
    first, second = before.levels[BAREFOOT], after.levels[BAREFOOT]
    for i, band in enumerate(bands.NOMINAL):
        if band > bands.KNOCK[1]:
            break
        span = ""
        if after.spread is not None:
            span = f"{after.spread.low[BAREFOOT][i]:.0f} to {after.spread.high[BAREFOOT][i]:.0f}"
        change = signed(float(second[i] - first[i]), 1)
        row = f"{bands.label(band):>6}{first[i]:>9.1f}{second[i]:>9.1f}{change:>8}   {span}"
        lines.append(row)
    moved = advice.heard_thud(second) - advice.heard_thud(first)
    lines += wrapped(f"Thud as it is heard, 20-80 Hz: {signed(moved, 1)} dB against the design.")
    narrow = [_width(one) for one in (before, after)]
    if None not in narrow:
        lines += wrapped(
            f"Width of its 90 % band: {narrow[0]:.1f} dB before, {narrow[1]:.1f} dB now; "
            f"{UNCALIBRATED}."
        )
    return lines


def _width(prediction: Prediction) -> float | None:
    if prediction.spread is None:
        return None
    thud = prediction.spread.numbers["thud"]
    return thud["high_db"] - thud["low_db"]


def picture(found: Calibration, name: str) -> Figure:
    """Measured with its uncertainty, design and fit, below the bare floor; inside `style.look`."""
    figure = style.figure(8.0, 4.6)
    ax = figure.subplots()
    at = np.array([bands.CENTRES[bands.index(band)] for band in found.bands_hz])
    ax.errorbar(
        at, found.measured, END * found.uncertainty, color=style.BLACK, marker="D",
        linestyle="none", capsize=2.5, label="measured, 90 % with the model's error",
    )  # fmt: skip
    ax.plot(at, found.before, label="design", **style.SERIES[1])
    ax.plot(at, found.after, label="fitted floor", **style.SERIES[0])
    ax.set_ylabel("level [dB re 20 µPa]")
    style.titled(figure, name, f": bare floor, {strikes.SOURCES[found.source].label}")
    ax.legend(loc="best")
    style.band_axis(ax)
    style.cautioned(figure, cautions_of(found.design))
    return figure

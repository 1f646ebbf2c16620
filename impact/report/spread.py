"""How sure a prediction is, as lines: its 90 % band by third octave, and what to measure next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from impact.base import bands
from impact.heard import strikes
from impact.report.lines import heading, signed, wrapped
from impact.spread.result import UNCALIBRATED

if TYPE_CHECKING:
    from impact.chain import Prediction
    from impact.spread.result import Share, Spread

SHORT = {"thud": "thud", "Ln_w_plus_CI": "Ln,w + CI"}  # where a column has no room for NAMES
NAMES = {**SHORT, "thud": "thud of a barefoot walker, as heard"}
SHOWN = 4  # inputs listed for each number
LEAST = 0.02  # share of the variance below which an input is not listed


def sure(prediction: Prediction, sources: Sequence[str]) -> list[str]:
    """The 90 % band with this ceiling, by source and third octave, and what makes it."""
    found = prediction.spread
    if found is None:
        return []
    lines = heading("How sure this is: 90 % of such floors should lie between")
    lines += wrapped(_origin(found))
    lines += ["", *_bands(found, sources)]
    for name, limits in found.numbers.items():
        lines += wrapped(
            f"{NAMES[name]}: {signed(limits['low_db'], 1)} to {signed(limits['high_db'], 1)} dB "
            "about the prediction.", "", "    ",
        )  # fmt: skip
    return lines + measure_next(found)


def _origin(found: Spread) -> str:
    text = f"Levels with this ceiling. Found with {found.method}."
    if found.remark:
        text += f" {found.remark}"
    least, most = min(found.model_db), max(found.model_db)
    span = f"{least:.1f}" if f"{least:.1f}" == f"{most:.1f}" else f"{least:.1f} to {most:.1f}"
    text += (
        f" Standard uncertainty of the model {span} dB: validation/README.md, and judgement where "
        "nothing was measured."
    )
    if not found.calibrated_below_50:
        text += f" The band is {UNCALIBRATED}: too few measured bands stand behind it there."
    return text


def _bands(found: Spread, sources: Sequence[str]) -> list[str]:
    width = 22
    lines = [" " * 7 + "".join(strikes.SOURCES[name].label.center(width) for name in sources)]
    lines.append(f"{'Hz':>6} " + f"{'low':>9}{'high':>8}     " * len(sources))
    for i, band in enumerate(bands.NOMINAL):
        cells = "".join(
            f"{_level(found.low[name][i]):>9}{_level(found.high[name][i]):>8}     "
            for name in sources
        )
        lines.append(f"{bands.label(band):>6} {cells}")
    return [line.rstrip() for line in lines]


def _level(value: float) -> str:
    return f"{value:.0f}" if value >= 0 else "<0"


def measure_next(found: Spread) -> list[str]:
    """Which inputs make most of the spread, and how each is measured."""
    lines = heading("Measure this next: inputs that make most of the spread")
    for name, shares in found.shares.items():
        listed = [share for share in shares[:SHOWN] if share.of_variance >= LEAST]
        if not listed:
            continue
        lines.append(f"for {NAMES[name]}:")
        lines += [line for share in listed for line in _share(share)]
    if len(lines) == 3:
        return []
    return lines + wrapped(
        "Share of the variance that the inputs make, to first order (Sobol' indices of effects "
        "that add); in brackets the change in dB with the input at either end of its range."
    )


def _share(share: Share) -> list[str]:
    ends = f"({signed(share.low_db, 1)} / {signed(share.high_db, 1)})"
    return wrapped(f"{share.label} {ends}: {share.measure}", f"  {share.of_variance:>4.0%}  ")

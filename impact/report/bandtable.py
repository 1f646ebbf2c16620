"""Levels band by band: as columns on the screen, and as CSV."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from impact.advice import target
from impact.base import bands
from impact.heard import strikes
from impact.report.lines import heading, wrapped
from impact.sound import hearing

if TYPE_CHECKING:
    from impact.chain import Prediction

SHOWN = ("tapping_machine", "rubber_ball", "walker_barefoot")  # sources unless others are asked for
# Heads of columns, where there is no room for a source's label.
SHORT = {"tapping_machine": "tapping", "rubber_ball": "ball", "walker_barefoot": "barefoot",
         "walker_hard_heel": "heels", "child_running": "child"}  # fmt: skip
AT_ONCE = 3  # sources side by side in 80 columns
CASES = ("bare", "ceiling", "best case")
MEASURED_FROM = 25.0  # dB: what is left of a tapping machine's sound in buildings; our own
NORMALIZED_FROM = 50.0  # Hz: lowest band of the tapping machine in the standards

LEGEND = (
    "bare: the same floor without the new ceiling. ceil.: with it.{best} over: ceil. above hearing "
    "threshold and background (below 20 Hz no threshold is standardized, and a measured one is "
    "taken). <0: below 0 dB."
)
BEST = " best: with perfect hangers, that is none at all, same boards and depth."
KINDS = {
    "normalized level": "normalized level Ln re 10 m2",
    "fast maximum, reference room": "fast maximum, normalized to a room of 50 m3 with T = 0.5 s",
    "fast maximum, this room": "fast maximum in the room described",
}
BELOW_50 = (
    "* Below 50 Hz the tapping machine is outside its standards, and its lines (10 Hz apart) do "
    "not fill the bands: the level is that of a continuous spectrum of equal density."
)


def too_quiet(prediction: Prediction) -> str:
    """A sentence where the ceiling's path is rated below MEASURED_FROM; "" elsewhere."""
    rated = prediction.ratings.get("Ln_w")
    if rated is None or rated >= MEASURED_FROM:
        return ""
    return (
        f" Below Ln,w {MEASURED_FROM:g} or so a number is of the ceiling's path alone: no meter "
        "finds it, as walls, ducts and background are louder (judgement)."
    )


def hung(prediction: Prediction) -> bool:
    """Whether the ceiling is held by points, which perfect hangers could replace. On joists of its
    own it is its own best case, and what would be shown beside it is left out."""
    return prediction.design.hangers is not None


def bare_name(prediction: Prediction) -> str:
    """What stands without the new ceiling, in words of at most 16 letters."""
    return "bare floor" if prediction.design.old_ceiling is None else "old ceiling only"


def target_name(quantity: str, band_hz: float | None) -> str:
    """What a target speaks of: the symbol of a rating, or a source with its band."""
    if band_hz is None:
        return target.named(quantity)
    return f"{strikes.SOURCES[quantity].label} at {band_hz:g} Hz"


def target_words(wanted: Mapping[str, Any]) -> str:
    """A target, by the fields of `parts.Target`: "IIC at least 55", "walker, barefoot at 63 Hz at
    most 45 dB"."""
    unit = "" if wanted["band_hz"] is None else " dB"
    name = target_name(wanted["quantity"], wanted["band_hz"])
    return f"{name} {wanted['sense']} {wanted['limit']:g}{unit}"


def target_cases(prediction: Prediction) -> dict[str, str]:
    """Cases for which a value of the target is predicted -> in words."""
    names = {"bare": bare_name(prediction), "ceiling": "this ceiling",
             "best_case": "perfect hangers", "in_building": "in the building"}  # fmt: skip
    found = prediction.target["predicted"] if prediction.target else {}
    if not hung(prediction):
        del names["best_case"]
    return {case: name for case, name in names.items() if found.get(case) is not None}


def lever_aim(prediction: Prediction) -> str:
    """What of a missed target is told of each lever, "IIC" say; empty where nothing is."""
    wanted = prediction.design.target
    if wanted is None or all(lever.target_value is None for lever in prediction.levers):
        return ""
    return target.named(wanted.quantity)


def aim_said(prediction: Prediction) -> str:
    """What the column of `lever_aim` holds."""
    wanted = prediction.design.target
    assert wanted is not None
    now = target.result(wanted, prediction.ratings, {})
    return (
        f"{lever_aim(prediction)}: estimated with the change, for {now:g} now and "
        f"{wanted.limit:g} wanted; mostly within 2 of a whole prediction. More mass above is not "
        "told: it depends on what of it is walked on."
    )


def target_path(prediction: Prediction) -> str:
    """What the target's values are of."""
    cases = target_cases(prediction)
    walls = "the walls described" if prediction.design.flanks else "usual walls, which are rough"
    parts = ["the ceiling's path alone"] if "ceiling" in cases else []
    parts += [f"in the building with {walls}"] if "in_building" in cases else []
    return "; ".join(parts)


def band_lines(prediction: Prediction, sources: Sequence[str] = SHOWN) -> list[str]:
    """The band table of `sources` (names of `strikes.SOURCES`), three to a table."""
    lines = heading("Levels in the room below, dB re 20 uPa, by third octave")
    lines += wrapped(LEGEND.format(best=BEST if hung(prediction) else ""))
    for name in sources:
        source = strikes.SOURCES[name]
        lines += wrapped(f"{source.label}: {KINDS[source.kind]}.", "  ")
    if strikes.TAPPING in sources:
        lines += wrapped(BELOW_50)
    for start in range(0, len(sources), AT_ONCE):
        lines += ["", *_block(prediction, sources[start : start + AT_ONCE])]
    return lines


def _block(prediction: Prediction, sources: Sequence[str]) -> list[str]:
    columns = [_columns(prediction, name) for name in sources]
    top, second = " " * 7, f"{'Hz':>6} "
    for name, block in zip(sources, columns, strict=True):
        top += strikes.SOURCES[name].label.center(6 * len(block) + 1).rstrip().ljust(6 * len(block))
        second += "".join(f"{title:>6}" for title in block)
    lines = [top.rstrip(), second]
    for i, band in enumerate(bands.NOMINAL):
        for word, region in bands.REGIONS.items():
            if band == region[0]:
                lines.append(f"  {word}")
        mark = "*" if strikes.TAPPING in sources and band < NORMALIZED_FROM else " "
        cells = "".join(f"{cell:>6}" for block in columns for cell in _row(block, i))
        lines.append(f"{bands.label(band):>6}{mark}{cells}")
    return lines


def _columns(prediction: Prediction, name: str) -> dict[str, list[str]]:
    """Title -> cells of one source."""
    level = prediction.levels[name]
    block = {
        "bare": [_level(x) for x in prediction.bare[name]],
        "ceil.": [_level(x) for x in level],
    }
    if hung(prediction):
        block["best"] = [_level(x) for x in prediction.best[name]]
    if strikes.SOURCES[name].kind != "normalized level":
        over = hearing.audible_excess(level, prediction.design.room.background)
        block["over"] = [_over(x) for x in over]
    return block


def _row(block: dict[str, list[str]], i: int) -> list[str]:
    return [cells[i] for cells in block.values()]


def _level(value: float) -> str:
    return f"{value:.1f}" if value >= 0 else "<0"


def _over(value: float) -> str:
    return f"{value:+.0f}" if round(value) > 0 else "-"


def rows(prediction: Prediction, sources: Sequence[str]) -> list[dict[str, str]]:
    """One row per band: `band_hz`, then `<source>_<bare|ceiling|best_case>_db` and, where known,
    the 90 % band `<source>_ceiling_<low|high>_db` of each source, `threshold_db` and
    `background_db` (empty where there is none)."""
    threshold = hearing.threshold()
    background = prediction.design.room.background or (math.nan,) * len(bands.NOMINAL)
    out = []
    for i, band in enumerate(bands.NOMINAL):
        row = {"band_hz": f"{band:g}"}
        for name in sources:
            for case, levels in zip(
                CASES, (prediction.bare, prediction.levels, prediction.best), strict=True
            ):
                row[f"{name}_{case.replace(' ', '_')}_db"] = f"{levels[name][i]:.2f}"
            if prediction.spread is not None:
                row[f"{name}_ceiling_low_db"] = f"{prediction.spread.low[name][i]:.2f}"
                row[f"{name}_ceiling_high_db"] = f"{prediction.spread.high[name][i]:.2f}"
        row["threshold_db"] = _number(threshold[i])
        row["background_db"] = _number(background[i])
        out.append(row)
    return out


def _number(value: float) -> str:
    return "" if math.isnan(value) else f"{value:.2f}"


def csv_text(prediction: Prediction, sources: Sequence[str] = SHOWN) -> str:
    """`rows` as CSV with a header line; commas between, full stops in numbers."""
    table = rows(prediction, sources)
    out = io.StringIO()
    writer = csv.DictWriter(out, list(table[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(table)
    return out.getvalue()

"""Differences, ours minus theirs: by range of bands, as text, as files and as pictures."""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from impact.base.bands import label
from validation.case import Case, Item

# Nominal third octaves of each range [Hz], both included; octaves fall where their centre lies.
RANGES = ((10.0, 40.0), (50.0, 80.0), (100.0, 315.0), (400.0, 1250.0), (1600.0, 5000.0))
WHOLE = (10.0, 5000.0)
SPAN = 20.0  # dB, least height of a plot: small differences shall look small
NEAR = 0.2  # dB: an example met as near as it is printed
POINT_KEYS = ("case", "item", "kind", "method", "quantity", "band_hz", "ours", "theirs",
              "difference")  # fmt: skip
RANGE_KEYS = ("case", "item", "kind", "method", "quantity", "low_hz", "high_hz", "bands",
              "mean", "mean_absolute", "standard_deviation", "worst", "worst_hz")  # fmt: skip


@dataclass(frozen=True)
class Result:
    """One comparison done; arrays (n,) over the published bands, or (1,) for a rating."""

    case: Case
    item: Item
    bands_hz: np.ndarray  # empty for a rating
    ours: np.ndarray
    theirs: np.ndarray
    rebounds: tuple[float, float] | None = None  # a predicted rating with rebound 0 and 1

    @property
    def difference(self) -> np.ndarray:
        """Ours minus theirs [dB or rating points]."""
        return self.ours - self.theirs

    @property
    def quantity(self) -> str:
        """What is compared, as printed."""
        row = self.item.row
        if "rating" in row:
            return str(row["rating"])
        return "improvement" if "without" in row else str(row.get("quantity", "level"))

    @property
    def method(self) -> str:
        """prediction, formula or rating: how ours came about."""
        row = self.item.row
        return {"design": "prediction", "formula": "formula", "spectrum": "rating"}[
            next(key for key in ("design", "formula", "spectrum") if key in row)
        ]

    @property
    def holds(self) -> bool:
        """Whether every value is as near as the case asks; True where it asks nothing."""
        within = float(self.item.row.get("within", np.inf))
        return bool(np.all(np.abs(self.difference) <= within + 1e-9))

    @property
    def word(self) -> str:
        """The verdict on this comparison."""
        if self.item.kind == "example":
            within = float(self.item.row["within"])
            return ("exact" if within < NEAR else "within") if self.holds else "FAILS"
        if "within" not in self.item.row:
            return "finding"
        return "within" if self.holds else "miss"


def by_range(result: Result) -> list[dict[str, Any]]:
    """Mean, mean absolute, standard deviation and worst of the difference in each range."""
    rows: list[dict[str, Any]] = []
    if not len(result.bands_hz):
        return rows
    for low, high in (*RANGES, WHOLE):
        inside = (result.bands_hz >= low) & (result.bands_hz <= high)
        if not inside.any():
            continue
        found = result.difference[inside]
        worst = int(np.argmax(np.abs(found)))
        rows.append({
            **_about(result), "low_hz": low, "high_hz": high, "bands": int(inside.sum()),
            "mean": found.mean(), "mean_absolute": np.abs(found).mean(),
            "standard_deviation": found.std(ddof=1) if len(found) > 1 else np.nan,
            "worst": found[worst], "worst_hz": result.bands_hz[inside][worst],
        })  # fmt: skip
    return rows


def points(result: Result) -> list[dict[str, Any]]:
    """One row for each band, or the one of a rating (band empty)."""
    band = list(result.bands_hz) if len(result.bands_hz) else [""]
    return [
        {**_about(result), "band_hz": f, "ours": a, "theirs": b, "difference": a - b}
        for f, a, b in zip(band, result.ours, result.theirs, strict=True)
    ]


def _about(result: Result) -> dict[str, Any]:
    return {"case": result.case.folder.name, "item": result.item.name, "kind": result.item.kind,
            "method": result.method, "quantity": result.quantity}  # fmt: skip


def table(rows: Iterable[dict[str, Any]], keys: Sequence[str]) -> str:
    """Rows as CSV text, numbers to three decimals."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(keys)
    for row in rows:
        writer.writerow([
            f"{row[key]:.3f}".rstrip("0").rstrip(".") if isinstance(row[key], float | np.floating)
            else row[key] for key in keys
        ])  # fmt: skip
    return text.getvalue()


def lines(results: Sequence[Result]) -> list[str]:
    """The verdict of all comparisons as text, 80 columns."""
    out: list[str] = []
    for case in dict.fromkeys(result.case.folder for result in results):
        mine = [result for result in results if result.case.folder == case]
        out += title(mine[0].case)
        for result in mine:
            out += one(result)
    return out + all_iic(results)


def title(case: Case) -> list[str]:
    """Head of a case."""
    source = textwrap.wrap(f"{case.folder.name}; {case.source}", 78)
    return ["", case.title, *(f"  {line}" for line in source)]


def one(result: Result) -> list[str]:
    """Verdict of one comparison: a line for a rating, one for each range for levels.

    e 0..1 : the rating with a rebound of 0 and of 1.
    """
    name, word = result.item.name, result.word
    if not len(result.bands_hz):
        a, b = float(result.ours[0]), float(result.theirs[0])
        tail = ""
        if result.rebounds is not None:
            tail = f", e 0..1: {result.rebounds[0]:g}..{result.rebounds[1]:g}"
        return [f"  {name[:28]:<28} {result.quantity[:12]:<12} {a:6.5g} for {b:6.5g} "
                f"{a - b:+5.3g} {word}{tail}"]  # fmt: skip
    out = [f"  {name}, {result.quantity}: {word}"]
    for row in by_range(result):
        out.append(
            f"    {row['low_hz']:>5g}-{row['high_hz']:<5g}Hz {row['bands']:>3} bands  mean "
            f"{row['mean']:+5.1f}  mean absolute {row['mean_absolute']:4.1f}  worst "
            f"{row['worst']:+5.1f} at {row['worst_hz']:g}"
        )
    return out


def all_iic(results: Sequence[Result]) -> list[str]:
    """All predicted IIC together: mean, median absolute error, share within 5."""
    chosen = [
        result for result in results if result.quantity == "IIC" and result.method == "prediction"
    ]
    if len(chosen) < 2:
        return []
    out = ["", f"IIC of {len(chosen)} predicted floors, ours minus theirs:"]
    for name, found in (
        ("as predicted", [result.difference[0] for result in chosen]),
        ("rebound 0", [r.rebounds[0] - r.theirs[0] for r in chosen if r.rebounds]),
        ("rebound 1", [r.rebounds[1] - r.theirs[0] for r in chosen if r.rebounds]),
    ):
        errors = np.array(found)
        out.append(
            f"  {name:<13} mean {errors.mean():+5.1f}, median absolute "
            f"{np.median(np.abs(errors)):4.1f}, {np.mean(np.abs(errors) <= 5):.0%} within 5"
        )
    return out


def plot(results: Sequence[Result], path: Path) -> None:
    """Ours against theirs, all comparisons of one case in one picture."""
    from impact.report import style

    drawn = [result for result in results if len(result.bands_hz)]
    rated = [result for result in results if not len(result.bands_hz)]
    with style.look():
        many = max(len(drawn) + bool(rated), 1)
        columns = min(many, 2)
        rows = -(-many // columns)
        drawing = style.figure(5.2 * columns, 3.4 * rows)
        drawing.suptitle(results[0].case.title)
        grid = drawing.subplots(rows, columns, squeeze=False).ravel()
        for ax, result in zip(grid, drawn, strict=False):
            _bands(ax, result)
        if rated:
            _numbers(grid[len(drawn)], rated)
        for ax in grid[many:]:
            ax.set_visible(False)
        style.save(drawing, path, results[0].case.source)


def _bands(ax: Any, result: Result) -> None:
    from impact.report import style

    low, high = float(result.bands_hz.min()), float(result.bands_hz.max())
    style.band_axis(ax, low, high, 1 if len(result.bands_hz) < 16 else 2)
    if result.item.octaves:
        ax.set_xticks(result.bands_hz, [label(band) for band in result.bands_hz])
        ax.set_xlabel("octave band [Hz]")
    ax.plot(result.bands_hz, result.theirs, **style.series(0), label="theirs")
    ax.plot(result.bands_hz, result.ours, **style.series(1), label="ours")
    middle = (np.concatenate([result.theirs, result.ours]).min()
              + np.concatenate([result.theirs, result.ours]).max()) / 2  # fmt: skip
    bottom, top = ax.get_ylim()
    ax.set_ylim(min(bottom, middle - SPAN / 2), max(top, middle + SPAN / 2))
    ax.set_ylabel(f"{result.quantity} [dB]")
    ax.set_title(f"{result.item.name}: {result.word}")
    ax.legend()


def _numbers(ax: Any, rated: Sequence[Result]) -> None:
    from impact.report import style

    places = np.arange(len(rated))
    for i, (name, values) in enumerate((("theirs", [r.theirs[0] for r in rated]),
                                        ("ours", [r.ours[0] for r in rated]))):  # fmt: skip
        look = {**style.series(i), "linestyle": "none", "markersize": 6}
        ax.plot(values, places, **look, label=name)
    names = [textwrap.fill(f"{r.item.name}, {r.quantity}", 22) for r in rated]
    ax.set_yticks(places, names, fontsize=7)
    ax.invert_yaxis()
    ax.set_xlabel("rating [dB or points]")
    ax.legend()

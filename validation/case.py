"""A published case: what a folder holds, read and checked. The format stands in README.md."""

from __future__ import annotations

import csv
import math
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from impact.base import bands
from impact.errors import Fault, InputError

FILE = "case.toml"
KINDS = ("example", "measured")
OF = ("ceiling", "bare", "best", "building")
WORDS = {
    "name", "design", "without", "of", "source", "quantity", "volume_m3", "rating", "edition",
    "published", "levels", "column", "spectrum", "kind", "formula", "values", "columns",
    "within", "low_hz", "high_hz", "note", "step",
}  # fmt: skip
NUMBERS = ("published", "within", "low_hz", "high_hz", "volume_m3", "step")


@dataclass(frozen=True)
class Item:
    """One comparison of a case; see README.md for what the keys mean."""

    name: str
    row: dict[str, Any]
    table: dict[str, list[float]]  # columns of the file with the published bands, if any
    kind: str  # "example" (must agree) or "measured" (what differs is a finding)

    @property
    def places(self) -> list[int]:
        """Rows of the table that are compared: from low_hz to high_hz, without gaps."""
        low, high = self.row.get("low_hz", 0.0), self.row.get("high_hz", math.inf)
        rows = zip(self.table["band_hz"], self.table[self.row["column"]], strict=True)
        return [i for i, (band, level) in enumerate(rows)
                if low <= band <= high and not math.isnan(level)]  # fmt: skip

    @property
    def published(self) -> list[float]:
        """What the source prints: a column of levels, or one rating."""
        if "published" in self.row:
            return [float(self.row["published"])]
        return [self.table[self.row["column"]][i] for i in self.places]

    @property
    def bands_hz(self) -> list[float]:
        """Nominal bands of the published levels [Hz]; empty for a rating."""
        if "published" in self.row:
            return []
        return [self.table["band_hz"][i] for i in self.places]


@dataclass(frozen=True)
class Case:
    """A folder with its comparisons."""

    folder: Path
    title: str
    source: str
    edition: str
    items: list[Item] = field(default_factory=list)


def read_case(folder: Path) -> Case:
    """The case of a folder; raises InputError with every fault."""
    path = folder / FILE
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError:
        fault = Fault("folder", f"holds no {FILE}; validation/README.md tells the format")
        raise InputError(str(folder), [fault]) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(str(path), [Fault("file", f"no TOML: {error}")]) from None
    faults: list[Fault] = []
    for key in ("title", "source"):
        if not isinstance(raw.get(key), str):
            faults.append(Fault(key, "missing; a text in quotes"))
    rows = raw.get("compare")
    if not isinstance(rows, list) or not rows:
        faults.append(Fault("compare", "missing; write one [[compare]] for each comparison"))
        rows = []
    usual = raw.get("kind", "measured")
    items = []
    for i, row in enumerate(rows):
        items.append(_item(folder, row, usual, f"compare[{i}]", faults))
    if faults:
        raise InputError(str(path), faults)
    edition = str(raw.get("edition", "E989-21"))
    return Case(folder, raw["title"], raw["source"], edition, [x for x in items if x])


def _item(folder: Path, row: Any, usual: str, where: str, faults: list[Fault]) -> Item | None:
    if not isinstance(row, dict):
        faults.append(Fault(where, "is no table; write [[compare]]"))
        return None
    before = len(faults)
    for key in sorted(set(row) - WORDS):
        faults.append(Fault(f"{where}.{key}", f"unknown; known are {', '.join(sorted(WORDS))}"))
    kind = row.get("kind", usual)
    if kind not in KINDS:
        faults.append(Fault(f"{where}.kind", f"{kind!r} is none of {', '.join(KINDS)}"))
    if row.get("of", "ceiling") not in OF:
        faults.append(Fault(f"{where}.of", f"{row['of']!r} is none of {', '.join(OF)}"))
    if kind == "example" and "within" not in row:
        faults.append(Fault(f"{where}.within", "missing; how near an example must be, in dB"))
    ways = [key for key in ("design", "spectrum", "formula") if key in row]
    if len(ways) != 1:
        faults.append(Fault(where, "needs one of design, spectrum, formula"))
    if "rating" in row and "published" not in row:
        faults.append(Fault(f"{where}.published", "missing; the rating's published value"))
    for key in NUMBERS:
        if key in row and (isinstance(row[key], bool) or not isinstance(row[key], int | float)):
            faults.append(Fault(f"{where}.{key}", f"{row[key]!r} is no number"))
    table: dict[str, list[float]] = {}
    name = row.get("levels") or row.get("spectrum")
    if name is not None:
        table = _columns(folder / str(name), f"{where}: {name}", faults)
        if len(faults) == before:
            _check_columns(row, table, where, faults)
    elif "published" not in row:
        faults.append(Fault(where, "needs published, a number, or levels, a CSV, and column"))
    for key in ("design", "without"):
        if key in row and not (folder / str(row[key])).is_file():
            faults.append(Fault(f"{where}.{key}", f"{row[key]!r} does not exist in the folder"))
    if len(faults) > before:
        return None
    return Item(str(row.get("name", where)), row, table, kind)


def _check_columns(
    row: dict[str, Any], table: dict[str, list[float]], where: str, faults: list[Fault]
) -> None:
    """The columns asked for, and bands that can be compared."""
    wanted = ["band_hz"] + ["column"] * ("spectrum" in row or "published" not in row)
    for key in wanted:
        column = row.get("column") if key == "column" else key
        if column not in table:
            there = ", ".join(table) or "none"
            faults.append(Fault(f"{where}.{key}", f"{column!r} is no column; there are {there}"))
            return
    if "design" not in row or "published" in row:
        return
    for band in Item("", row, table, "").bands_hz:
        try:
            bands.index(band)
        except ValueError:
            what = (
                f"{band:g} Hz is no nominal third octave of a prediction, 10 to 5000 Hz; mend it, "
                "or leave it out by low_hz and high_hz"
            )
            faults.append(Fault(f"{where}.levels", what))


def _columns(path: Path, where: str, faults: list[Fault]) -> dict[str, list[float]]:
    """Columns of a CSV; an empty cell is a gap, NaN."""
    try:
        with path.open(encoding="utf-8-sig") as lines:
            rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        return {
            key.strip(): [float(row[key]) if row[key].strip() else math.nan for row in rows]
            for key in rows[0]
        }
    except (OSError, ValueError, TypeError, AttributeError, IndexError) as error:
        faults.append(Fault(where, f"is no table of numbers with a header: {error}"))
        return {}

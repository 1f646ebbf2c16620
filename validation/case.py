"""A published case: what a folder holds, read and checked. The format stands in README.md."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from impact.errors import Fault, InputError

FILE = "case.toml"
KINDS = ("example", "measured")
OF = ("ceiling", "bare", "best", "building")
WORDS = {
    "name", "design", "without", "of", "source", "quantity", "volume_m3", "rating", "edition",
    "published", "levels", "column", "spectrum", "kind", "formula", "values", "columns",
    "within", "low_hz", "high_hz", "note", "step",
}  # fmt: skip


@dataclass(frozen=True)
class Item:
    """One comparison of a case; see README.md for what the keys mean."""

    name: str
    row: dict[str, Any]
    table: dict[str, list[float]]  # columns of the file with the published bands, if any
    kind: str  # "example" (must agree) or "measured" (what differs is a finding)

    @property
    def published(self) -> list[float]:
        """What the source prints: a column of levels, or one rating."""
        if "published" in self.row:
            return [float(self.row["published"])]
        return self.table[self.row["column"]]

    @property
    def bands_hz(self) -> list[float]:
        """Nominal bands of the published levels [Hz]; empty for a rating."""
        return [] if "published" in self.row else self.table["band_hz"]


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
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
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
    table: dict[str, list[float]] = {}
    name = row.get("levels") or row.get("spectrum")
    if name is not None:
        table = _columns(folder / str(name), f"{where}: {name}", faults)
    if "published" not in row and row.get("column") not in table:
        faults.append(Fault(f"{where}.column", f"{row.get('column')!r} is no column; "
                            f"there are {', '.join(table) or 'none'}"))  # fmt: skip
    for key in ("design", "without"):
        if key in row and not (folder / str(row[key])).is_file():
            faults.append(Fault(f"{where}.{key}", f"{row[key]!r} does not exist in the folder"))
    if len(faults) > before:
        return None
    return Item(str(row.get("name", where)), row, table, kind)


def _columns(path: Path, where: str, faults: list[Fault]) -> dict[str, list[float]]:
    try:
        with path.open(encoding="utf-8") as lines:
            rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        return {key: [float(row[key]) for row in rows] for key in rows[0]}
    except (OSError, ValueError, TypeError, IndexError, UnicodeDecodeError) as error:
        faults.append(Fault(where, f"is no table of numbers with a header: {error}"))
        return {}

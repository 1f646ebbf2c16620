"""A published case: what a folder holds, read and checked. The format stands in README.md."""

from __future__ import annotations

import csv
import math
import tomllib
from collections.abc import Collection
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from impact.base import bands
from impact.errors import Fault, InputError
from impact.heard.strikes import SOURCES
from impact.rating.astm import EDITIONS, LATEST
from impact.rating.spectrum import is_octaves
from validation.formulas import FORMULAS
from validation.ratings import OF_IMPROVEMENTS, OF_MAXIMA, OF_SPECTRA, PRINTED_SOURCES, RATINGS

FILE = "case.toml"
KINDS = ("example", "measured")
OF = ("ceiling", "bare", "best", "building")
QUANTITIES = ("Ln", "LnT")
HEAD = {"title", "source", "kind", "edition", "compare"}  # keys of the case itself
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
    def octaves(self) -> bool:
        """Whether the table holds octaves: told by all its bands, not by those gaps leave."""
        return is_octaves(self.table["band_hz"])

    @property
    def spectrum(self) -> tuple[list[float], list[float]]:
        """Bands [Hz] and levels [dB] of the column, as far as they are compared."""
        levels = [self.table[self.row["column"]][i] for i in self.places]
        return [self.table["band_hz"][i] for i in self.places], levels

    @property
    def published(self) -> list[float]:
        """What the source prints: a column of levels, or one rating."""
        if "published" in self.row:
            return [float(self.row["published"])]
        return self.spectrum[1]

    @property
    def bands_hz(self) -> list[float]:
        """Nominal bands of the published levels [Hz]; empty for a rating."""
        if "published" in self.row:
            return []
        return self.spectrum[0]


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
    for key in sorted(set(raw) - HEAD):
        faults.append(Fault(key, f"unknown; known are {', '.join(sorted(HEAD))}"))
    edition = raw.get("edition", LATEST)
    _one_of(edition, EDITIONS, "edition", faults)
    rows = raw.get("compare")
    if not isinstance(rows, list) or not rows:
        faults.append(Fault("compare", "missing; write one [[compare]] for each comparison"))
        rows = []
    usual = raw.get("kind", KINDS[1])
    items = []
    for i, row in enumerate(rows):
        items.append(_item(folder, row, usual, f"compare[{i}]", faults))
    if faults:
        raise InputError(str(path), faults)
    return Case(folder, raw["title"], raw["source"], edition, [x for x in items if x])


def _one_of(value: Any, known: Collection[str], where: str, faults: list[Fault]) -> None:
    if not isinstance(value, str) or value not in known:
        faults.append(Fault(where, f"{value!r} is none of {', '.join(known)}"))


def _item(folder: Path, row: Any, usual: Any, where: str, faults: list[Fault]) -> Item | None:
    if not isinstance(row, dict):
        faults.append(Fault(where, "is no table; write [[compare]]"))
        return None
    before = len(faults)
    for key in sorted(set(row) - WORDS):
        faults.append(Fault(f"{where}.{key}", f"unknown; known are {', '.join(sorted(WORDS))}"))
    kind = row.get("kind", usual)
    _one_of(kind, KINDS, f"{where}.kind", faults)
    for key, known in (("of", OF), ("quantity", QUANTITIES), ("rating", RATINGS),
                       ("formula", FORMULAS), ("edition", EDITIONS)):  # fmt: skip
        if key in row:
            _one_of(row[key], known, f"{where}.{key}", faults)
    if kind == "example" and "within" not in row:
        faults.append(Fault(f"{where}.within", "missing; how near an example must be, in dB"))
    for key in NUMBERS:
        if key in row and (isinstance(row[key], bool) or not isinstance(row[key], int | float)
                           or not math.isfinite(row[key])):  # fmt: skip
            faults.append(Fault(f"{where}.{key}", f"{row[key]!r} is no number"))
    if len(faults) == before:
        _check_ways(row, where, faults)
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


def _check_ways(row: dict[str, Any], where: str, faults: list[Fault]) -> None:
    """One way to our value, and keys that go with it; names and numbers are checked before."""
    ways = [key for key in ("design", "spectrum", "formula") if key in row]
    if len(ways) != 1:
        faults.append(Fault(where, "needs one of design, spectrum, formula"))
        return
    rating, printed = row.get("rating"), ways == ["spectrum"]
    if rating is not None and "published" not in row:
        faults.append(Fault(f"{where}.published", "missing; the rating's published value"))
    if rating is None and ("published" in row or printed):
        faults.append(Fault(f"{where}.rating", f"missing; one of {', '.join(RATINGS)}"))
    if not printed and rating in OF_SPECTRA:
        what = f"{rating} is of a printed spectrum of octaves, none is predicted; write spectrum"
        faults.append(Fault(f"{where}.rating", what))
        return
    if ways == ["design"] and rating is not None:
        if rating in OF_IMPROVEMENTS and "without" not in row:
            what = f"{rating} is of an improvement; name the design without it, under without"
            faults.append(Fault(f"{where}.rating", what))
        elif rating not in OF_IMPROVEMENTS and "without" in row:
            what = f"{rating} is of levels; of an improvement are {', '.join(OF_IMPROVEMENTS)}"
            faults.append(Fault(f"{where}.rating", what))
    known = PRINTED_SOURCES if rating in OF_SPECTRA else tuple(SOURCES)
    source = row.get("source", known[0])
    _one_of(source, known, f"{where}.source", faults)
    tapped = source == "tapping_machine"
    if ways == ["design"] and rating is not None and tapped == (rating in OF_MAXIMA):
        of = "rubber_ball or another fast maximum" if tapped else "the tapping_machine"
        faults.append(Fault(f"{where}.source", f"{source!r}, but {rating} is of {of}"))
    if row.get("quantity") == "LnT" and not (tapped and ways == ["design"]):
        faults.append(Fault(f"{where}.quantity", "LnT is of the tapping machine on a design"))
    for key, least in (("volume_m3", 0), ("step", 0), ("within", -1e-9)):
        if key in row and not row[key] > least:
            faults.append(Fault(f"{where}.{key}", f"{row[key]!r} is too small"))
    if isinstance(row.get("step", 1), float):
        faults.append(Fault(f"{where}.step", f"{row['step']!r} is no whole number"))
    for key in ("values", "columns"):
        if not isinstance(row.get(key, {}), dict):
            faults.append(Fault(f"{where}.{key}", "is no table; write {name = value, ...}"))
        elif key in row and ways != ["formula"]:
            faults.append(Fault(f"{where}.{key}", "goes with formula alone"))


def _check_columns(
    row: dict[str, Any], table: dict[str, list[float]], where: str, faults: list[Fault]
) -> None:
    """The columns asked for, and bands that can be compared."""
    wanted: dict[str, Any] = {"band_hz": "band_hz"}
    if "spectrum" in row or "published" not in row:
        wanted["column"] = row.get("column")
    wanted |= {f"columns.{key}": column for key, column in row.get("columns", {}).items()}
    there = ", ".join(table) or "none"
    lost = {key: column for key, column in wanted.items() if column not in table}
    for key, column in lost.items():
        faults.append(Fault(f"{where}.{key}", f"{column!r} is no column; there are {there}"))
    if lost or "column" not in wanted:
        return
    item = Item("", row, table, "")
    found = item.spectrum[0]
    if not found:
        faults.append(Fault(where, "no band is left between low_hz and high_hz, gaps left out"))
    if "spectrum" in row and is_octaves(found) and not item.octaves:
        what = "gaps leave octave bands of these third octaves alone, which rate as neither"
        faults.append(Fault(f"{where}.spectrum", what))
    if "design" not in row:
        return
    for band in found:
        try:
            bands.index(band)
        except ValueError:
            what = (
                f"{band:g} Hz is no nominal third octave of a prediction, 10 to 5000 Hz; mend it, "
                "or leave it out by low_hz and high_hz"
            )
            faults.append(Fault(f"{where}.levels", what))


def _columns(path: Path, where: str, faults: list[Fault]) -> dict[str, list[float]]:
    """Columns of a CSV: the first line names them, # begins a remark, an empty cell is a gap, NaN.

    Told with their lines: cells too few or too many, words for numbers, bands twice.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        faults.append(Fault(where, f"cannot be read as text: {error}"))
        return {}
    lines = [(number, [cell.strip() for cell in next(csv.reader([line]))])
             for number, line in enumerate(text.splitlines(), 1)
             if line.strip() and not line.startswith("#")]  # fmt: skip
    if not lines:
        faults.append(Fault(where, "is empty; a first line band_hz,... and numbers below"))
        return {}
    names = lines[0][1]
    if len(names) < 2 or len(set(names)) < len(names):
        what = f"line {lines[0][0]}: names {', '.join(names)}; two or more, each once, with commas"
        faults.append(Fault(where, what))
        return {}
    before = len(faults)
    table: dict[str, list[float]] = {name: [] for name in names}
    for number, cells in lines[1:]:
        if len(cells) != len(names):
            what = f"{len(cells)} cells for {len(names)} columns; decimals take a point"
            faults.append(Fault(f"{where}, line {number}", what))
            continue
        for name, cell in zip(names, cells, strict=True):
            try:
                value = float(cell or "nan")
            except ValueError:
                value = math.inf
            if math.isinf(value) or (cell and math.isnan(value)):
                what = f"{name} {cell!r} is no number; an empty cell is a gap"
                faults.append(Fault(f"{where}, line {number}", what))
            table[name].append(value)
    seen = table.get("band_hz", [])
    for band in dict.fromkeys(seen):
        if math.isnan(band) or seen.count(band) > 1:
            what = "a line without a band" if math.isnan(band) else f"{band:g} Hz stands twice"
            faults.append(Fault(where, f"{what}; keep one line for each band"))
    return table if len(faults) == before else {}

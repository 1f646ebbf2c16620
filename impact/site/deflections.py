"""Deflections read at the hangers after loading, against those of the ceiling at rest.

Read from the channels alone to all boards up, before lamps and the like hang: a ruler shows no more
than that of what a hanger moves.

A hanger that moves too little carries too little or is bridged; one that moves too much carries too
much, is softer than thought, or slips. The limit of 20 % is common practice, no source. Where all
of them move less or more, as a batch of other stiffness does, the one that differs shows against
the middle of all.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base.units import factor
from impact.errors import Fault, InputError
from impact.site import meter_cells
from impact.site.meter import MARKS, Question
from impact.site.meter_words import is_gap, number
from impact.study.layout import READING, SAME_DEFLECTION

if TYPE_CHECKING:
    from impact.gravity import Loads

LARGEST = 0.2  # m, no hanger moves more
STEPS = (0.0254 / 4, 0.0254 / 8, 0.0254 / 16, 0.01, 0.005, 0.002)  # m, of coarse rulers
SHIFTED = 0.1  # of the middle off what is expected: from there on all are said to move otherwise
SHOWN = 20  # faults, at most
ENOUGH = 5  # readings that tell in what steps they were read
UNITS = ("mm", "cm", "in")
_NAMES = {
    "mm": {"mm", "millimetres", "millimeters", "millimetre", "millimeter"},
    "cm": {"cm", "centimetres", "centimeters", "centimetre", "centimeter"},
    "in": {"in", "inch", "inches"},
}
_SURE = ("too little", "too much")
_HASHED = re.compile(r"^\s*#(?=\d+\s*[;,|\t])")
# Parts of a unit that gauges and rulers count in: "1/32 in", "0.01 mm", "mm/100".
_PART = re.compile(
    r"(?P<over>\d+)\s*/\s*(?P<under>[1-9]\d*)\s*(?:mm|cm|in\b|inch|\")"
    r"|(?P<decimal>\b0[.,]0*1)\s*(?:mm|cm|in\b|inch|\")|(?:mm|cm|in)\s*/\s*(?P<of>[1-9]\d*)"
)
_NUMBERED = re.compile(r"\b(hangers?|fixings?|no|nr|number)\b|#", re.I)


@dataclass(frozen=True)
class Reading:
    """One hanger: its number as on the drawing (from 1), deflections [m], and what it shows.

    verdict : "as expected", "too little", "too much", or "too little (within a ruler's reading)".
    """

    number: int
    expected: float
    measured: float
    verdict: str

    @property
    def ratio(self) -> float:
        """Measured over expected."""
        return self.measured / self.expected

    @property
    def outlier(self) -> bool:
        """Whether it lies more than the limit from what is expected."""
        return self.verdict != "as expected"

    @property
    def sure(self) -> bool:
        """Whether it does by more than a ruler's reading."""
        return self.verdict in _SURE


@dataclass(frozen=True)
class Deflections:
    """All readings, hangers that were not read, and the median of measured over expected.

    reading : half the step that was read in, at least a ruler's reading [m].
    """

    readings: tuple[Reading, ...]
    unread: tuple[int, ...]
    median_ratio: float
    what_was_taken: tuple[str, ...]
    reading: float = READING

    @property
    def outliers(self) -> tuple[Reading, ...]:
        """Readings more than 20 % off, the farthest first."""
        off = [reading for reading in self.readings if reading.outlier]
        return tuple(sorted(off, key=lambda reading: -abs(np.log(max(reading.ratio, 1e-6)))))

    @property
    def shifted(self) -> bool:
        """Whether their middle lies off what is expected, by more than so many readings together
        can be off: a single one over the square root of their number."""
        off = abs(self.median_ratio - 1)
        expected = float(np.median([one.expected for one in self.readings]))
        return off > SHIFTED and off * expected > self.reading / math.sqrt(len(self.readings))

    @property
    def apart(self) -> tuple[Reading, ...]:
        """Readings more than 20 % off what the middle of all would have there, and more than a
        ruler's reading; the farthest first."""
        middle = max(self.median_ratio, 1e-6)
        off = [
            one
            for one in self.readings
            if _verdict(middle * one.expected, one.measured, self.reading) in _SURE
        ]
        return tuple(sorted(off, key=lambda one: -abs(np.log(max(one.ratio, 1e-6) / middle))))

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON, deflections in mm."""
        return {
            "limit": SAME_DEFLECTION,
            "reading_mm": round(1000 * self.reading, 3),
            "median_ratio": round(self.median_ratio, 3),
            "apart_from_the_middle": [r.number for r in self.apart],
            "hangers": [
                {"number": r.number, "expected_mm": round(1000 * r.expected, 3),
                 "measured_mm": round(1000 * r.measured, 3), "ratio": round(r.ratio, 3),
                 "verdict": r.verdict}
                for r in self.readings
            ],
            "outliers": [r.number for r in self.outliers],
            "not_read": list(self.unread),
            "what_was_taken": list(self.what_was_taken),
        }  # fmt: skip


def against(
    loads: Loads, measured: dict[int, float], taken: tuple[str, ...] = (), path: str = "deflections"
) -> Deflections:
    """Hold deflections (number -> m, short after loading) against those of `gravity.loads`.

    Raises InputError for a number that no hanger has.
    """
    count = len(loads.hangers)
    _some(path, count)
    if wrong := [Fault(f"hanger {n}", what) for n in measured if (what := _absent(n, count))]:
        raise InputError(path, wrong)
    readings, reading = [], max(READING, _step(measured.values()) / 2)
    for n, value in sorted(measured.items()):
        expected = loads.hangers[n - 1].by_boards
        readings.append(Reading(n, expected, value, _verdict(expected, value, reading)))
    unread = tuple(n for n in range(1, count + 1) if n not in measured)
    median = float(np.median([reading.ratio for reading in readings]))
    return Deflections(tuple(readings), unread, median, taken, reading)


def _step(values: Collection[float]) -> float:
    """The coarsest of STEPS [m] that all of them are multiples of; 0 where none is, or few tell."""
    read = np.array(list(values))
    if len(read) < ENOUGH:
        return 0.0
    off = (float(np.abs(read / step - np.round(read / step)).max()) for step in STEPS)
    found = [step for step, most in zip(STEPS, off, strict=True) if most < 1e-3]
    return max(found, default=0.0)


def _verdict(expected: float, value: float, reading: float) -> str:
    if abs(round(value / expected, 2) - 1) <= SAME_DEFLECTION + 1e-9:  # as printed
        return "as expected"
    word = "too little" if value < expected else "too much"
    return word + (" (within a ruler's reading)" if abs(value - expected) <= reading else "")


def _some(path: str, count: int | None) -> None:
    """InputError for a ceiling without hangers."""
    if count == 0:
        raise InputError(path, [Fault("hangers", "this ceiling hangs on none; leave the file out")])


def _absent(number: int, count: int) -> str:
    """What is wrong with a hanger's number in a design of `count`; empty where nothing is."""
    return "" if 1 <= number <= count else f"no such hanger; the design has 1 to {count}"


def read(
    path: str, unit: str | None = None, decimal: str | None = None, count: int | None = None
) -> tuple[dict[int, float], tuple[str, ...]]:
    """Hanger number -> deflection [m] of a table, and how it was read.

    Two columns: number and deflection, with its unit in the header, in the cells, or as `unit` of
    UNITS. Where there are more the header tells: "hanger", "no" or "number", and "deflection"; one
    that leaves several columns of numbers open is a `Question`, and so is a unit that is nowhere.
    count : how many hangers the design has; numbers beyond are then told with all other faults.
    """
    _some(path, count)
    raw = _unhashed(meter_cells.load(path))
    rows = [row for _, rows in raw.sheets for row in rows] if raw.sheets else _rows(path, raw)
    mark = "." if raw.sheets else _mark(path, rows, decimal)
    body = [row for row in rows if not row.remark]
    first = next((i for i, row in enumerate(body) if _values(row, mark)), 0)
    header = next((row.cells for row in reversed(body[:first]) if len(row.cells) > 1), ())
    body = body[first:]
    columns = _columns(path, header, body, mark)
    over = header[columns[1] : columns[1] + 1]
    unit, part = (unit, 1.0) if unit else _unit_said(over) or _unit_said(header) or (None, 1.0)
    found: dict[int, float] = {}
    faults: list[Fault] = []
    asked = ""
    for row in body:
        hanger, metres, wrong, of_what = _row(row, columns, mark, unit, part)
        asked = asked or of_what
        if hanger is not None and hanger in found:
            wrong.append(f"hanger {hanger} stands twice; keep one")
        elif hanger is not None and count and (absent := _absent(hanger, count)):
            wrong.append(f"hanger {hanger}: {absent}")
        if hanger is not None:
            found.setdefault(hanger, metres)
        faults += [Fault(row.where, what) for what in wrong]
    if found and not asked and not any(found.values()):
        what = (
            f"every deflection is 0 ({len(found)} read): a ceiling sinks on what it hangs on;"
            " give what the boards made of it, and leave hangers that were not read out"
        )
        faults.append(Fault("deflection", what))
    if asked and not faults:
        raise Question(path, "unit", asked)
    if asked:
        faults.insert(0, Fault("unit", asked))
    if not found and not faults:
        what = "holds no rows 'hanger number, deflection', like 1, 2.5 mm"
        faults.append(Fault("file", what))
    if faults:
        more = (
            [Fault("file", f"and {len(faults) - SHOWN} more faults")] if len(faults) > SHOWN else []
        )
        raise InputError(path, faults[:SHOWN] + more)
    said = "in each cell" if unit is None else unit if part == 1 else f"{part:.4g} {unit}"
    shown = ", ".join((*raw.said, MARKS[mark], f"unit {said}"))
    return found, (f"{len(found)} deflections, {shown}",)


def _unhashed(raw: meter_cells.Raw) -> meter_cells.Raw:
    """The file with "#45; 9 mm" as hanger 45, which would else be a remark."""
    bare = tuple((number, _HASHED.sub("", line)) for number, line in raw.lines)
    return replace(raw, lines=bare)


def _rows(path: str, raw: meter_cells.Raw) -> list[meter_cells.Row]:
    for name, separator in meter_cells.SEPARATORS.items():
        rows = meter_cells.cut(raw, separator)
        body = [row for row in rows if not row.remark]
        if sum(len(row.cells) >= 2 for row in body) > len(body) / 2:
            wide = {len(row.cells) for row in body if len(row.cells) >= 2}
            if name == "comma" and len(wide) > 1:
                what = "rows of unlike length; decimal commas between commas? Use semicolons"
                raise InputError(path, [Fault("file", what)])
            return list(rows)
    raise InputError(path, [Fault("file", "is no table; two columns: hanger number, deflection")])


def _values(row: meter_cells.Row, mark: str) -> list[int]:
    """Columns of a row that hold a number, with or without a unit, or a fraction."""
    return [at for at, cell in enumerate(row.cells) if _number(_parted(cell)[0], mark) is not None]


def _columns(
    path: str, header: Sequence[str], body: Sequence[meter_cells.Row], mark: str
) -> tuple[int, int]:
    """Columns of the hanger's number and of its deflection."""
    deflected = ["deflect" in cell.lower() for cell in header]
    named = [at for at, cell in enumerate(header) if _NUMBERED.search(cell) and not deflected[at]]
    at = named[0] if len(named) == 1 else 0
    there = sorted({column for row in body for column in _values(row, mark)} - {at})
    said = [column for column in there if column < len(header) and deflected[column]]
    if len(said) == 1 or len(there) < 2:
        return at, (said or there or [1 if at == 0 else 0])[0]
    what = (
        "several columns of numbers; which one is the deflection? Write 'deflection' over it, or "
        "leave the hanger's number and its deflection alone in the file"
    )
    raise Question(path, "columns", what)


def _parted(cell: str) -> tuple[str, str]:
    """Number and unit of a cell, the unit empty where it has none."""
    found = re.fullmatch(r"(.*?)\s*(mm|cm|in|\")?", cell)
    return (found[1], (found[2] or "").replace('"', "in")) if found else (cell, "")


def _number(text: str, mark: str) -> float | None:
    """A number, or a fraction such as 3/32 and 1 1/8, as rulers in inches show."""
    parts = re.fullmatch(r"(?:(\d+)[ -])?(\d+)/([1-9]\d*)", text.strip())
    if parts:
        return int(parts[1] or 0) + int(parts[2]) / int(parts[3])
    return number(text, mark)


def _mark(path: str, rows: list[meter_cells.Row], decimal: str | None) -> str:
    cells = [cell for row in rows if not row.remark for cell in row.cells[1:]]
    used = [m for m in MARKS if any(re.search(rf"\d{re.escape(m)}\d", cell) for cell in cells)]
    if decimal:
        return decimal
    if len(used) > 1:
        text = "both decimal points and commas; say --decimal . or --decimal ,"
        raise Question(path, "decimal mark", text)
    return used[0] if used else "."


def _unit_said(header: Sequence[str]) -> tuple[str, float] | None:
    """Unit of a header, and the part of it that is counted (1 of "mm", 0.01 of "1/100 mm")."""
    words = {word for cell in header for word in re.findall(r"[a-z]+", cell.lower())}
    said = [unit for unit, names in _NAMES.items() if words & names]
    if len(set(said)) != 1:
        return None
    found = _PART.search(" ".join(header).lower())
    if found is None:
        return said[0], 1.0
    if found["decimal"]:
        return said[0], float(found["decimal"].replace(",", "."))
    return said[0], int(found["over"] or 1) / int(found["under"] or found["of"])


def _whole(cell: str, mark: str) -> int | None:
    value = number(re.sub(r"^[a-zA-Z#. ]+", "", cell), mark)
    return int(value) if value is not None and value == int(value) else None


def _row(
    row: meter_cells.Row, columns: tuple[int, int], mark: str, unit: str | None, part: float
) -> tuple[int | None, float, list[str], str]:
    """Hanger of one row, None for one not read; its deflection [m], nan where it has none; what is
    wrong with either; and what to ask where the unit is open."""
    wrong: list[str] = []
    if len(row.cells) <= max(columns) or is_gap(row.cells[columns[1]]):
        return None, math.nan, wrong, ""
    first, cell = (row.cells[at] for at in columns)
    hanger = _whole(first, mark)
    if hanger is None:
        wrong.append(f"{first[:30]!r} is no hanger number")
    text, own = _parted(cell)
    value, part, own = _number(text, mark), 1.0 if own else part, own or unit or ""
    if value is None:
        return hanger, math.nan, [*wrong, f"{cell[:30]!r} is no deflection"], ""
    if not own:
        asked = f"{cell[:30]} of what? Say --deflection-unit {' or '.join(UNITS)}"
        return hanger, math.nan, wrong, asked
    metres = value * part * factor(own, "length")
    if not 0 <= metres <= LARGEST:
        wrong.append(f"{cell[:30]} {own} lies outside 0 to 200 mm (7.9 in)")
    return hanger, metres, wrong, ""

"""From rows of cells to spectra: bands down the rows, across the columns, or one to a line.

A table is known by its bands: at least three third-octave or octave centres that rise (or fall)
strictly. What stands above a column, before a row, or as the last title says what it holds.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from impact.errors import Fault
from impact.rating.reader import LEVEL_RANGE
from impact.site.meter_cells import Row
from impact.site.meter_words import (
    BandCell,
    Meaning,
    band_cell,
    is_gap,
    like_band,
    like_number,
    meaning,
    number,
    states_metric,
)

FEWEST = 3  # bands that make a table
SURE = 5  # bands without a unit that make a header across the columns
HEADERS = 3  # lines above a table that may label its columns
IN_CELL = re.compile(r"dB\s*\(?[AC]\)?\s*$", re.I)  # "45.2 dB(A)"
NO_BAND = "is no centre of a third octave or octave in Hz"
TIMES = (0.02, 30.0)  # s, reverberation times; beyond it a column was mistaken


@dataclass(frozen=True)
class Series:
    """One spectrum of a file: bands [Hz], levels [dB] or times [s] (None in gaps), where they stand
    and what their labels say."""

    bands: tuple[float, ...]
    values: tuple[float | None, ...]
    said: Meaning
    where: str
    label: str

    @property
    def signature(self) -> tuple[tuple[float, ...], tuple[float | None, ...]]:
        """Bands and values alone, for comparison."""
        return self.bands, self.values


@dataclass
class Found:
    """What one reading of a file brings to light."""

    series: list[Series] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    said: list[str] = field(default_factory=list)  # texts outside the tables


@dataclass(frozen=True)
class _Column:
    """A run of rows whose cell `at` names rising bands."""

    at: int
    first: int
    bands: tuple[BandCell, ...]


def tables(rows: Sequence[Row], decimal: str, title: str = "") -> Found:
    """All spectra in `rows`; `decimal` is the decimal mark, `title` the name of the sheet."""
    found = Found()
    headers: list[Row] = []
    i = 0
    while i < len(rows):
        after = i if rows[i].remark else _read_table(rows, i, decimal, title, headers, found)
        if after == i:
            headers.append(rows[i])
            if len(rows[i].cells) <= 2 or rows[i].remark:  # a title or a remark, no header
                found.said.append(" ".join(rows[i].cells))
            i += 1
        else:
            headers, i = [], after
    return found


def _read_table(
    rows: Sequence[Row], i: int, decimal: str, title: str, headers: Sequence[Row], found: Found
) -> int:
    """Read the table that begins at row `i`; the place after it, or `i` where none begins."""
    across = _across(rows[i], decimal)
    if across:
        return _read_across(rows, i, across, decimal, _heading(headers, title), found)
    down = _down(rows, i, decimal, headers)
    if down:
        return _read_down(rows, i, down, decimal, title, headers, found)
    labelled = _labelled(rows, i, decimal)
    if labelled is not None:
        return _read_labelled(rows, i, decimal, labelled, _heading(headers, title), found)
    numbers = sum(number(cell, decimal) is not None for cell in rows[i].cells)
    if numbers >= FEWEST:
        found.notes.append(f"not taken: {numbers} numbers without bands ({rows[i].where})")
    return i


def _heading(headers: Sequence[Row], title: str) -> str:
    """Title of a table: the last line above it that is one cell or a comment, or the sheet's."""
    lines = [" ".join(row.cells) for row in headers if len(row.cells) == 1 or row.remark]
    last = lines[-1] if lines else title
    return "" if meaning(last).metric.kind and not states_metric(last) else last


def _steady(bands: Sequence[float]) -> bool:
    """Whether bands rise or fall strictly."""
    pairs = list(itertools.pairwise(bands))
    return all(a < b for a, b in pairs) or all(a > b for a, b in pairs)


# ---------------------------------------------------------------- bands across the columns


def _across(row: Row, decimal: str) -> dict[int, BandCell] | None:
    """Column -> band of a header whose cells are bands, or None."""
    cells = {i: band_cell(cell, decimal) for i, cell in enumerate(row.cells)}
    bands = {i: cell for i, cell in cells.items() if cell is not None}
    united = sum(cell.unit for cell in bands.values())
    if len(bands) < FEWEST or (united < FEWEST and len(bands) < SURE):
        return None
    groups: dict[str, list[float]] = {}
    for cell in bands.values():
        groups.setdefault(cell.label, []).append(cell.hz)
    if not all(_steady(group) for group in groups.values()):
        return None
    if not united and len(bands) < len(row.cells) - 2:
        return None  # bare numbers must fill the row, up to a name and a unit
    return bands


def _read_across(
    rows: Sequence[Row], start: int, bands: dict[int, BandCell], decimal: str, title: str,
    found: Found,
) -> int:  # fmt: skip
    """Read the rows below a header of bands; returns the place of the first row after them."""
    header, i = rows[start], start + 1
    wide = len(header.cells)
    found.faults += [
        Fault(header.where, f"{cell[:30]!r} {NO_BAND}")
        for at, cell in enumerate(header.cells) if at not in bands and like_band(cell)
    ]  # fmt: skip
    while i < len(rows) and _across(rows[i], decimal) is None:
        row = rows[i]
        shift = _shift(header, row, bands, decimal)
        cells = {at: row.cells[at + shift] for at in bands if at + shift < len(row.cells)}
        if row.remark or not any(_valued(cell, decimal) for cell in cells.values()):
            break
        if len(row.cells) > wide + shift:
            what = f"{len(row.cells)} cells under a header of {wide}; which column is which?"
            found.faults.append(Fault(row.where, what + _COMMAS))
        words = [
            cell for at, cell in enumerate(row.cells)
            if at - shift not in bands and number(cell, decimal) is None and not is_gap(cell)
        ]  # fmt: skip
        groups: dict[str, list[tuple[float, str]]] = {}
        for at, band in bands.items():
            groups.setdefault(band.label, []).append((band.hz, cells.get(at, "")))
        for label, pairs in groups.items():
            text = " ".join(part for part in (title, *words, label) if part)
            _add(found, text, pairs, decimal, [row.where] * len(pairs), row.where)
        i += 1
    if i == start + 1:
        found.faults.append(Fault(header.where, "bands across, but no levels in the line below"))
    return i


def _valued(cell: str, decimal: str) -> bool:
    """Whether a cell holds a number, or a mark that says there is none."""
    numeric = number(cell, decimal) is not None or like_number(cell)
    return numeric or bool(cell and is_gap(cell))


_COMMAS = (
    " Decimal commas between separating commas cannot be told apart: export with semicolons or"
    " decimal points"
)


def _shift(header: Row, row: Row, bands: dict[int, BandCell], decimal: str) -> int:
    """1 where a row begins with a name and its header does not, else 0."""
    named = number(row.cells[0], decimal) is None and not is_gap(row.cells[0])
    return int(0 in bands and named and len(row.cells) == len(header.cells) + 1)


# ---------------------------------------------------------------- bands down the rows


def _down(rows: Sequence[Row], start: int, decimal: str, headers: Sequence[Row]) -> _Column | None:
    """The run of rows from `start` whose bands stand in one column: the longest, then leftmost."""
    best: _Column | None = None
    for at in range(min(len(rows[start].cells), 6) if start < len(rows) else 0):
        kilo = any(at < len(h.cells) and "khz" in h.cells[at].lower() for h in headers[-HEADERS:])
        run: list[BandCell] = []
        for row in itertools.islice(rows, start, None):
            written = row.cells[at] if at < len(row.cells) and not row.remark else ""
            cell = band_cell(written, decimal, 1000 if kilo else 1)
            if cell is None or cell.label or not _steady([*(b.hz for b in run[-2:]), cell.hz]):
                break
            run.append(cell)
        if len(run) >= FEWEST and (best is None or len(run) > len(best.bands)):
            best = _Column(at, start, tuple(run))
    if best is None or max(len(rows[start + k].cells) for k in range(len(best.bands))) < 2:
        return None
    return best


def _read_down(
    rows: Sequence[Row], start: int, column: _Column, decimal: str, title: str,
    headers: Sequence[Row], found: Found,
) -> int:  # fmt: skip
    """Read a table with bands down a column; returns the place of the first row after it."""
    count = len(column.bands)
    body = rows[start : start + count]
    wide = max(len(row.cells) for row in body)
    if headers and headers[-1].remark and len(headers[-1].cells) == wide:
        headers = [*headers[:-1], Row(headers[-1].where, headers[-1].cells)]  # a header in comments
    labels, named = _labels(headers, wide, column.at, decimal)
    heading = _heading(headers, title)
    if named and wide > named:
        first = next(row for row in body if len(row.cells) > named)
        what = f"{len(first.cells)} cells under a header of {named}; which column is which?"
        found.faults.append(Fault(first.where, what + _COMMAS))
    _one_frequency(body, column, decimal, found)
    _check_neighbours(rows, start, count, column.at, decimal, headers, found)
    for at in range(wide):
        cells = [row.cells[at] if at < len(row.cells) else "" for row in body]
        if at == column.at or _idle(cells, column, decimal, at):
            continue
        where = f"{body[0].where} to {body[-1].where.split()[-1]}, column {at + 1}"
        pairs = [(band.hz, cell) for band, cell in zip(column.bands, cells, strict=True)]
        text = " ".join(part for part in (heading, labels[at]) if part)
        _add(found, text, pairs, decimal, [row.where for row in body], where)
    return start + count


def _one_frequency(body: Sequence[Row], column: _Column, decimal: str, found: Found) -> None:
    """Refuse a second column of other bands: which of the two a value belongs to is not known."""
    main = [band.hz for band in column.bands]
    for at in range(max(len(row.cells) for row in body)):
        cells = [row.cells[at] for row in body if at < len(row.cells) and row.cells[at]]
        bands = [band_cell(cell, decimal) for cell in cells]
        other = [band.hz for band in bands if band is not None and not band.label]
        if len(other) > FEWEST and len(other) == len(cells) and _steady(other) and other != main:
            what = f"column {at + 1} holds bands too, others than column {column.at + 1}; put"
            found.faults.append(Fault(body[0].where, what + " each table below the other"))


def _idle(cells: Sequence[str], column: _Column, decimal: str, at: int) -> bool:
    """Whether a column holds no values: words, a count of lines, or the same bands again."""
    values = [number(cell, decimal) for cell in cells]
    if all(value is None for value in values):
        return not any(like_number(cell) for cell in cells)
    again = [band_cell(cell, decimal) for cell in cells]
    if all(cell is not None and cell.hz == band.hz
           for cell, band in zip(again, column.bands, strict=True)):  # fmt: skip
        return True
    steps = {b - a for a, b in itertools.pairwise(v for v in values if v is not None)}
    return at < column.at and None not in values and steps == {1.0}


def _labels(headers: Sequence[Row], wide: int, at: int, decimal: str) -> tuple[list[str], int]:
    """Label of every column from the lines just above, and how many columns they name (0: none).

    Lines of values between header and bands (overall levels) are passed over.
    """
    above: list[Row] = []
    for row in reversed([row for row in headers if not row.remark]):
        fits = max(1, at) < len(row.cells) <= wide + 1
        if any(number(cell, decimal) is not None for cell in row.cells[at + 1 :]):
            if above or not fits:
                break
        elif fits and len(above) < HEADERS:
            above.insert(0, row)
        else:
            break
    labels = [""] * wide
    for row in above:
        filled = ""
        for i, cell in enumerate(row.cells[:wide]):
            filled = cell or filled if i > at else cell
            labels[i] = " ".join(part for part in (labels[i], filled) if part)
    return labels, max((len(row.cells) for row in above), default=0)


def _check_neighbours(
    rows: Sequence[Row], start: int, count: int, at: int, decimal: str, headers: Sequence[Row],
    found: Found,
) -> None:  # fmt: skip
    """A like row next to a table that does not carry on its bands is a fault: none gets lost."""
    end = start + count
    after = rows[end : end + 1] if _down(rows, end, decimal, ()) is None else []
    for row in (*headers[-HEADERS:], *after):
        follows = row in after  # whatever its width: a separator in a number may have cut it
        if row.remark or not (follows or len(row.cells) == len(rows[start].cells)):
            continue
        cell = row.cells[at] if at < len(row.cells) else ""
        band = band_cell(cell, decimal)
        if band is not None and not band.label:
            what = f"band {band.hz:g} Hz stands twice, out of order, or apart from its spectrum"
            found.faults.append(Fault(row.where, what + "; look at the lines about it"))
        elif number(cell, decimal) is not None or like_band(cell) or (
            follows and _goes_on(rows, end, at, decimal)
        ):  # fmt: skip
            found.faults.append(Fault(row.where, f"{cell[:30]!r} {NO_BAND}"))


def _goes_on(rows: Sequence[Row], end: int, at: int, decimal: str) -> bool:
    """Whether the bands rise on behind the one row `end` that is none."""
    if end + 1 >= len(rows) or len(rows[end + 1].cells) <= at:
        return False
    last, after = (band_cell(rows[i].cells[at], decimal) for i in (end - 1, end + 1))
    return last is not None and after is not None and not after.label and after.hz > last.hz


# ---------------------------------------------------------------- one band and value to a line


def _labelled(rows: Sequence[Row], start: int, decimal: str) -> int | None:
    """Column of cells like "LZeq 50 Hz" in at least three rows from `start`, or None."""
    for at in range(min(len(rows[start].cells) - 1, 4)):
        cells = [band_cell(row.cells[at], decimal) if at < len(row.cells) - 1 else None
                 for row in rows[start : start + FEWEST]]  # fmt: skip
        if len(cells) == FEWEST and all(cell is not None for cell in cells):
            return at
    return None


def _read_labelled(
    rows: Sequence[Row], start: int, decimal: str, at: int, heading: str, found: Found
) -> int:
    groups: dict[str, list[tuple[BandCell, Row]]] = {}
    i = start
    while i < len(rows) and at < len(rows[i].cells) - 1:
        cell = band_cell(rows[i].cells[at], decimal)
        if cell is None:
            break
        groups.setdefault(cell.label, []).append((cell, rows[i]))
        i += 1
    for label, members in groups.items():
        where = f"{members[0][1].where} to {members[-1][1].where.split()[-1]}"
        if len(members) < FEWEST or not _steady([cell.hz for cell, _ in members]):
            what = f"'{label}' names bands that do not rise; is it one spectrum?"
            found.faults.append(Fault(where, what))
            continue
        pairs = [(cell.hz, row.cells[at + 1]) for cell, row in members]
        text = " ".join(part for part in (heading, label) if part)
        _add(found, text, pairs, decimal, [row.where for _, row in members], where)
    return i


# ---------------------------------------------------------------- values


def _add(
    found: Found, label: str, pairs: Sequence[tuple[float, str]], decimal: str,
    wheres: Sequence[str], where: str,
) -> None:  # fmt: skip
    """Note one spectrum: its values, gaps and faults; a column of words is none."""
    weighted = [hit[0] for hit in (IN_CELL.search(cell) for _, cell in pairs) if hit]
    said = meaning(f"{label} {weighted[0]}" if weighted else label)
    values: list[float | None] = []
    faults: list[Fault] = []
    low, high = TIMES if said.role == "reverberation" else LEVEL_RANGE
    for (band, cell), place in zip(pairs, wheres, strict=True):
        value = number(cell, decimal)
        values.append(value)
        if value is None and not is_gap(cell):
            faults.append(Fault(place, f"{cell[:30]!r} at {band:g} Hz is no number"))
        elif value is not None and not low <= value <= high:
            what = f"{cell[:30]!r} at {band:g} Hz lies outside {low:g} to {high:g}"
            faults.append(Fault(place, what))
    nothing = all(value is None for value in values) and not any(like_number(c) for _, c in pairs)
    if said.role == "ignored" or nothing:
        found.notes.append(f"not taken: {label or 'a column without levels'} ({where})")
        return
    found.faults += faults
    order = sorted(range(len(pairs)), key=lambda i: pairs[i][0])
    found.series.append(Series(
        tuple(pairs[i][0] for i in order), tuple(values[i] for i in order), said, where,
        label.strip(),
    ))  # fmt: skip

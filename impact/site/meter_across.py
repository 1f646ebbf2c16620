"""From rows of cells to spectra where the bands stand in a header across the columns."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from impact.errors import Fault
from impact.site.meter_cells import Row
from impact.site.meter_status import Status, governing, is_unit, sentences, spoils, status
from impact.site.meter_values import COMMAS, FEWEST, LACKS, NO_BAND, Found, add, steady
from impact.site.meter_words import (
    BandCell,
    band_cell,
    band_of_the_other_mark,
    is_gap,
    like_band,
    like_number,
    number,
)

SURE = 5  # bands without a unit that make a header across the columns
UNBROKEN = 8  # so many of them side by side, none left out, make one whatever stands beside them
TITLE = 2  # cells of a line that names one value


def across(row: Row, decimal: str) -> dict[int, BandCell] | None:
    """Column -> band of a header whose cells are bands, or None."""
    bands = _band_cells(row, decimal)
    united = sum(cell.unit for cell in bands.values())
    if len(bands) < FEWEST or (united < FEWEST and len(bands) < SURE):
        return None
    groups: dict[str, list[float]] = {}
    for cell in bands.values():
        groups.setdefault(cell.label, []).append(cell.hz)
    if not all(steady(group) for group in groups.values()):
        return None
    if not united and len(bands) < len(row.cells) - 2 and not _unbroken(bands):
        return None  # bare numbers must fill the row, up to a name and a unit
    return bands


def out_of_order(row: Row, decimal: str) -> bool:
    """Of a row that is no header `across`: whether it was meant for one, its cells naming bands in
    Hz that neither rise nor fall strictly under one label."""
    return sum(cell.unit for cell in _band_cells(row, decimal).values()) >= SURE


def _band_cells(row: Row, decimal: str) -> dict[int, BandCell]:
    cells = {i: band_cell(cell, decimal) for i, cell in enumerate(row.cells)}
    return {i: cell for i, cell in cells.items() if cell is not None}


def _unbroken(bands: dict[int, BandCell]) -> bool:
    """Whether bare bands stand side by side and are neighbours, in third octaves or octaves."""
    columns = [b - a for a, b in itertools.pairwise(bands)]
    steps = {round(10 * math.log10(b.hz / a.hz)) for a, b in itertools.pairwise(bands.values())}
    return len(bands) >= UNBROKEN and set(columns) == {1} and steps in ({1}, {-1}, {3}, {-3})


def read_across(
    rows: Sequence[Row], start: int, bands: dict[int, BandCell], decimal: str, title: str,
    found: Found,
) -> int:  # fmt: skip
    """Read the rows below a header of bands; returns the place of the first row after them."""
    header = rows[start]
    wide, first = len(header.cells), start + 1 + _of_units(rows[start + 1 : start + 2], bands)
    i = first
    found.faults += [
        Fault(header.where, f"{cell[:30]!r} {NO_BAND}") for at, cell in enumerate(header.cells)
        if at not in bands and (like_band(cell) or band_of_the_other_mark(cell, decimal))
    ]  # fmt: skip
    lines: list[_Line] = []
    while i < len(rows) and across(rows[i], decimal) is None:
        row = rows[i]
        shift = _shift(header, row, bands, decimal)
        cells = {at: row.cells[at + shift] for at in bands if at + shift < len(row.cells)}
        words = tuple(
            cell for at, cell in enumerate(row.cells)
            if at - shift not in bands and number(cell, decimal) is None and not is_gap(cell)
        )  # fmt: skip
        groups: dict[str, list[tuple[float, str]]] = {}
        for at, band in bands.items():
            groups.setdefault(band.label, []).append((band.hz, cells.get(at, "")))
        line = _Line(row, words, groups)
        if row.remark or not (line.status or any(_valued(c, decimal) for c in cells.values())):
            break
        if row.written and row.written <= TITLE < len(bands):
            break  # a single value with its name below the table
        last = max(bands) + shift
        short = row.written < header.written + shift and len(row.cells) <= last
        if row.written and (row.written <= last or short):
            what = f"{row.written} cells, bands reach to cell {last + 1}"
            found.faults.append(Fault(row.where, what + LACKS))
        if len(row.cells) > wide + shift:
            what = f"{len(row.cells)} cells under a header of {wide}; which column is which?"
            found.faults.append(Fault(row.where, what + COMMAS))
        spoilt = _spoilt(header, row, bands, shift)
        if spoilt:
            found.notes.append(f"not taken, no levels by their status: '{spoilt}' ({row.where})")
        else:
            lines.append(line)
        i += 1
    if i == first:
        found.faults.append(Fault(header.where, "bands across, but no levels in the line below"))
    _add_lines(lines, title, decimal, found)
    return i


def _of_units(rows: Sequence[Row], bands: dict[int, BandCell]) -> bool:
    """Whether a row below the bands holds their units alone."""
    cells = [row.cells[at] for row in rows for at in bands if at < len(row.cells)]
    return len(cells) == len(bands) and all(is_unit(cell) for cell in cells)


def _spoilt(header: Row, row: Row, bands: dict[int, BandCell], shift: int) -> str:
    """Word of a status column outside the bands that says the row is no measurement; or empty."""
    for at, cell in enumerate(row.cells[shift:]):
        label = header.cells[at] if at < len(header.cells) else ""
        if at not in bands and spoils(label, cell):
            return cell[:20]
    return ""


@dataclass(frozen=True)
class _Line:
    """A row under bands: its words, and (band, cell) by the label of the bands."""

    row: Row
    words: tuple[str, ...]
    groups: dict[str, list[tuple[float, str]]]

    @cached_property
    def status(self) -> dict[str, Status]:
        """The groups that are a status of values, by label: as the row says, or they do."""
        own = " ".join(self.words)
        found = {}
        for label, pairs in self.groups.items():
            cells = [cell for _, cell in pairs]
            said = status(own, cells) if own else None
            found[label] = said or status(f"{own} {label}", cells)
        return {label: one for label, one in found.items() if one is not None}

    @property
    def only_status(self) -> bool:
        """Whether it holds no values of its own."""
        others = (pairs for label, pairs in self.groups.items() if label not in self.status)
        return bool(self.status) and all(is_gap(cell) for pairs in others for _, cell in pairs)


def _add_lines(lines: Sequence[_Line], title: str, decimal: str, found: Found) -> None:
    """All spectra of the rows under bands; a row or a group of words about them makes gaps."""
    rows = {k: line.status for k, line in enumerate(lines) if line.only_status}
    for k, line in enumerate(lines):
        where = line.row.where
        beside = {line.groups[label][i][0] for label, one in line.status.items() for i in one.bad}
        for label, pairs in line.groups.items():
            if label in line.status:
                bands = [band for band, _ in pairs]
                found.notes += sentences(line.status[label], bands, where)
                continue
            whole = {at: said[label] for at, said in rows.items() if label in said}
            bad = beside | {pairs[i][0] for i in governing(k, whole)}
            kept = [(hz, "" if hz in bad else cell) for hz, cell in pairs]
            add(found, title, (*line.words, label), kept, decimal, [where] * len(kept), where)


def _valued(cell: str, decimal: str) -> bool:
    """Whether a cell holds a number, or a mark that says there is none."""
    numeric = number(cell, decimal) is not None or like_number(cell)
    return numeric or bool(cell and is_gap(cell))


def _shift(header: Row, row: Row, bands: dict[int, BandCell], decimal: str) -> int:
    """1 where a row begins with a name and its header does not, else 0."""
    named = number(row.cells[0], decimal) is None and not is_gap(row.cells[0])
    return int(0 in bands and named and len(row.cells) == len(header.cells) + 1)

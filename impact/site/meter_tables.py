"""From rows of cells to spectra: bands down the rows, across the columns, or one to a line.

A table is known by its bands: at least three third-octave or octave centres that rise (or fall)
strictly. What stands above a column, before a row, or as the last title says what it holds.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from impact.errors import Fault
from impact.site.meter_across import across, out_of_order, read_across
from impact.site.meter_cells import Row
from impact.site.meter_status import Status, governing, is_unit, sentences, status, words_in
from impact.site.meter_values import (
    COMMAS,
    FEWEST,
    IN_CELL,
    LACKS,
    NO_BAND,
    Found,
    add,
    band_edges,
    steady,
)  # fmt: skip
from impact.site.meter_words import (
    BandCell,
    band_cell,
    band_of_the_other_mark,
    is_gap,
    like_band,
    like_number,
    meaning,
    number,
    settings,
    states_metric,
)

TIMED = {"F": "fast", "S": "slow"}  # as a label says it
HEADERS = 3  # lines above a table that may label its columns
# Words over a column of whole numbers that counts something.
_COUNTED = re.compile(
    r"\b(pos(ition)?|run|no|nr|number|mic(rophone)?|point|room|drop|channel|ch|machine|measurement"
    r"|meas|id|index|repeat|file|set|impact|location|place|floor)\b\.?|#", re.I,
)  # fmt: skip


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
    above = _Above()
    i = 0
    while i < len(rows):
        if not headers and not rows[i].remark and above.goes_on(rows, i, decimal, found):
            headers = above.headers
        after = i if rows[i].remark else _read_table(rows, i, decimal, title, headers, found)
        if after == i:
            headers.append(rows[i])
            if len(rows[i].cells) <= 2 or rows[i].remark:  # a title or a remark, no header
                found.said.append(" ".join(rows[i].cells))
            i += 1
        else:
            above = _Above(i, after, headers)
            headers, i = [], after
    return found


@dataclass
class _Above:
    """The table just read: its first row, the row after it, and what stood over it."""

    first: int = 0
    after: int = 0
    headers: list[Row] = field(default_factory=list)

    def goes_on(self, rows: Sequence[Row], at: int, decimal: str, found: Found) -> bool:
        """Whether a table with bands down begins at row `at` right below the last one, in the same
        columns: the next position of a list. One that takes up in the midst of the last one's bands
        and goes on beyond is a fault: a band stands twice or out of order."""
        if at != self.after or at == 0:
            return False
        one, other = _down(rows, self.first, decimal, self.headers), _down(rows, at, decimal, ())
        if one is None or other is None or one.at != other.at:
            return False
        if len(rows[at].cells) != len(rows[self.first].cells):
            return False
        (a, b), (c, d) = ((run.bands[0].hz, run.bands[-1].hz) for run in (one, other))
        if a < c <= b < d or a > c >= b > d:
            what = f"band {c:g} Hz stands twice or out of order"
            found.faults.append(Fault(rows[at].where, what + "; look at the lines about it"))
        return True


def _read_table(
    rows: Sequence[Row], i: int, decimal: str, title: str, headers: Sequence[Row], found: Found
) -> int:
    """Read the table that begins at row `i`; the place after it, or `i` where none begins."""
    bands = across(rows[i], decimal)
    if bands:
        return read_across(rows, i, bands, decimal, _heading(headers, title), found)
    if out_of_order(rows[i], decimal):
        what = "bands across that stand twice or out of order; is it one spectrum?"
        found.faults.append(Fault(rows[i].where, what))
        return i
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
    """Title of a table: the last line above it that is one cell or a comment, or the sheet's; with
    the line before it where it says the metric alone."""
    titled = [i for i, row in enumerate(headers) if len(row.cells) == 1 or row.remark]
    if not titled:
        return title
    last = " ".join(headers[titled[-1]].cells)
    said = meaning(last)
    if not said.metric.kind:
        return last
    if not states_metric(last):
        return ""
    if said.name or len(titled) == 1 or titled[-2] != titled[-1] - 1:
        return last
    before = " ".join(headers[titled[-2]].cells)
    valued = meaning(before).metric.kind and not states_metric(before)
    return last if valued else f"{before} {last}"


# ---------------------------------------------------------------- bands down the rows


def _down(rows: Sequence[Row], start: int, decimal: str, headers: Sequence[Row]) -> _Column | None:
    """The run of rows from `start` whose bands stand in one column: the longest, then leftmost."""
    best: _Column | None = None
    for at in range(min(len(rows[start].cells), 6) if start < len(rows) else 0):
        kilo = any(at < len(h.cells) and _in_kilohertz(h.cells[at]) for h in headers[-HEADERS:])
        run: list[BandCell] = []
        for row in itertools.islice(rows, start, None):
            written = row.cells[at] if at < len(row.cells) and not row.remark else ""
            cell = band_cell(written, decimal, 1000 if kilo else 1)
            if cell is None or cell.label or not steady([*(b.hz for b in run[-2:]), cell.hz]):
                break
            run.append(cell)
        if len(run) >= FEWEST and (best is None or len(run) > len(best.bands)):
            best = _Column(at, start, tuple(run))
    if best is None or max(len(rows[start + k].cells) for k in range(len(best.bands))) < 2:
        return None
    return best


def _in_kilohertz(header: str) -> bool:
    """Whether a header says that its column is in kHz; a range of frequencies does not."""
    return bool(re.search(r"khz", header, re.I)) and not re.search(r"\d", header)


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
        found.faults.append(Fault(first.where, what + COMMAS))
    _one_frequency(body, column, decimal, found)
    _check_neighbours(rows, start, count, column.at, decimal, headers, found)
    _check_lengths(body, decimal, found)
    hertz = [band.hz for band in column.bands]
    columns = {
        at: [row.cells[at] if at < len(row.cells) else "" for row in body]
        for at in range(wide) if at != column.at
    }  # fmt: skip
    statuses = {at: one for at, cells in columns.items()
                if (one := status(" ".join(labels[at]), cells)) is not None}  # fmt: skip
    names = _names(columns, labels, decimal, column.at, statuses)
    told = list(names.values())
    for at, cells in columns.items():
        where = f"{body[0].where} to {body[-1].where.split()[-1]}, column {at + 1}"
        if at in names:
            continue
        if at in statuses:
            found.notes += sentences(statuses[at], hertz, where)
        elif _idle(cells, column, decimal, at):
            _leave_aside(found, labels[at], cells, decimal, where)
        else:
            bad = governing(at, statuses)
            pairs = [(band, "" if i in bad else cell)
                     for i, (band, cell) in enumerate(zip(hertz, cells, strict=True))]  # fmt: skip
            places = [row.where for row in body]
            add(found, heading, [*told, *labels[at]], pairs, decimal, places, where)
    return start + count


def _names(
    columns: Mapping[int, Sequence[str]], labels: Sequence[Sequence[str]], decimal: str, band: int,
    statuses: Mapping[int, Status],
) -> dict[int, str]:  # fmt: skip
    """Column -> name, of columns that say the same in every row: words ("living room", "LZeq"), and
    whole numbers where they count something ("position" 2) or stand before the bands."""
    found = {}
    for at, cells in columns.items():
        same = cells[0] if len(set(cells)) == 1 and at not in statuses else ""
        label = " ".join(labels[at])
        told = f"{label}: {same}" if re.fullmatch(r"[A-Za-z]+", same) else ""
        weighting, time = (settings(told, of) for of in ("weighting", "time"))
        if len(weighting | time) == 1:
            found[at] = f"dB({weighting.pop()})" if weighting else TIMED.get(time.pop(), same)
            continue
        if is_gap(same) or (is_unit(same) and not IN_CELL.search(same)):
            continue
        if re.fullmatch(r"\d{1,4}", same):
            counted = _COUNTED.search(label) or (not label and at < band)
            if counted and meaning(label).role == "level" and not meaning(label).metric.kind:
                found[at] = f"{label} {same}".strip()
        elif number(same, decimal) is None and not like_number(same):
            found[at] = same
    return found


def _check_lengths(body: Sequence[Row], decimal: str, found: Found) -> None:
    """Refuse a row with fewer cells than the others: which one is missing is not known. What lacks
    may be words behind the values."""
    most = max(row.written for row in body)
    values = [at for row in body for at, cell in enumerate(row.cells)
              if number(cell, decimal) is not None or like_number(cell)]  # fmt: skip
    last = max(values, default=0)
    for row in body:
        if 0 < row.written <= last or (0 < row.written < most and len(row.cells) <= last):
            what = f"{row.written} cells where other lines have {most}"
            found.faults.append(Fault(row.where, what + LACKS))


def _leave_aside(
    found: Found, labels: Sequence[str], cells: Sequence[str], decimal: str, where: str
) -> None:
    """Name a column of words that were not understood; bands and counts again are no such words."""
    words = [word for word in words_in(cells)
             if number(word, decimal) is None and band_cell(word, decimal) is None]  # fmt: skip
    if words:
        shown = ", ".join(f"'{word[:20]}'" for word in words[:3]) + (", ..." if words[3:] else "")
        name = " ".join(part for part in labels if part) or "a column"
        found.notes.append(f"left aside, words not understood: {name}: {shown} ({where})")


def _one_frequency(body: Sequence[Row], column: _Column, decimal: str, found: Found) -> None:
    """Refuse a second column of other bands: which of the two a value belongs to is not known."""
    main = [band.hz for band in column.bands]
    for at in range(max(len(row.cells) for row in body)):
        cells = [row.cells[at] for row in body if at < len(row.cells) and row.cells[at]]
        bands = [band_cell(cell, decimal) for cell in cells]
        other = [band.hz for band in bands if band is not None and not band.label]
        if len(other) > FEWEST and len(other) == len(cells) and steady(other) and other != main:
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
    if band_edges([band.hz for band in column.bands], values):
        return True
    steps = {b - a for a, b in itertools.pairwise(v for v in values if v is not None)}
    return at < column.at and None not in values and steps == {1.0}


def _labels(
    headers: Sequence[Row], wide: int, at: int, decimal: str
) -> tuple[list[list[str]], int]:
    """Labels of every column from the lines just above, and how many columns they name (0: none).

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
    labels: list[list[str]] = [[] for _ in range(wide)]
    for row in above:
        filled = ""
        blank = any(not cell for cell in row.cells[at:])  # one name over several columns
        spans = wide if row.written >= wide or blank else len(row.cells)
        for i, cell in enumerate((*row.cells, *[""] * wide)[: min(spans, wide)]):
            filled = cell or filled if i > at else cell
            labels[i].append(filled)
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
        elif (
            number(cell, decimal) is not None or like_band(cell)
            or band_of_the_other_mark(cell, decimal)
            or (follows and _goes_on(rows, end, at, decimal))
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
        if len(cells) == FEWEST and all(cell and (cell.label or cell.unit) for cell in cells):
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
        if len(members) < FEWEST or not steady([cell.hz for cell, _ in members]):
            what = f"'{label}' names bands that do not rise; is it one spectrum?"
            found.faults.append(Fault(where, what))
            continue
        behind = [row.cells[at + 2] if at + 2 < len(row.cells) else "" for _, row in members]
        said = status("", behind)
        if said is not None:
            found.notes += sentences(said, [cell.hz for cell, _ in members], where)
        else:
            _leave_aside(found, ["after the levels"], behind, decimal, where)
        bad = {} if said is None else said.bad
        pairs = [(cell.hz, "" if i in bad else row.cells[at + 1])
                 for i, (cell, row) in enumerate(members)]  # fmt: skip
        add(found, heading, [label], pairs, decimal, [row.where for _, row in members], where)
    return i

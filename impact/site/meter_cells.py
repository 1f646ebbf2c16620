"""From a file to rows of cells: encodings, separators, workbooks. Nothing is interpreted here."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from impact.base.files import damaged_numbers, read_bytes
from impact.errors import Fault, InputError

LARGEST = 50_000_000  # bytes of a file, and of a workbook when unpacked
LONGEST = 50_000  # lines: a history by the second of half a day
COMMENTS = ("#", "//", "%", "!")
SEPARATORS = {"tab": "\t", "semicolon": ";", "bar": "|", "comma": ",", "space": " "}


@dataclass(frozen=True)
class Row:
    """One line: where it stands ("line 12", "sheet 'Data' row 3"), its cells up to the last that is
    not empty, whether it is marked as a comment, and how many cells were written (0: a workbook's,
    whose places are sure)."""

    where: str
    cells: tuple[str, ...]
    remark: bool = False
    written: int = 0


@dataclass(frozen=True)
class Raw:
    """A file before it is cut into cells.

    lines : number and text of every line that is not empty; sheets : name and rows of a workbook,
    which has no lines. said : what was found out about the file as such.
    """

    path: str
    lines: tuple[tuple[int, str], ...]
    sheets: tuple[tuple[str, tuple[Row, ...]], ...]
    said: tuple[str, ...]


def load(path: str) -> Raw:
    """Read a file of at most 50 MB; InputError for what is missing, too large or no table."""
    data = read_bytes(path, LARGEST)
    if data[:4] == b"PK\x03\x04":
        return _workbook(path, data)
    for start, what in ((b"%PDF", "is a PDF"), (b"\xd0\xcf\x11\xe0", "is an old binary workbook"),
                        (b"RIFF", "is a sound file"), (b"\x1f\x8b", "is compressed")):  # fmt: skip
        if data.startswith(start):
            raise InputError(path, [Fault("file", f"{what}; export the table as CSV or XLSX")])
    text, encoding = _decode(path, data)
    if damaged := damaged_numbers(text):
        raise InputError(path, damaged)
    lines = tuple(
        (number, line.rstrip())
        for number, line in enumerate(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"), 1)
        if line.strip() and not re.fullmatch(r"sep=.", line.strip())  # a hint for spreadsheets
    )
    if not lines:
        raise InputError(path, [Fault("file", "is empty; export bands and levels as CSV")])
    if len(lines) > LONGEST:
        what = f"has {len(lines)} lines, at most {LONGEST}; export spectra, not the whole history"
        raise InputError(path, [Fault("file", what)])
    return Raw(path, lines, (), (f"text in {encoding}",))


def _decode(path: str, data: bytes) -> tuple[str, str]:
    """Text and the name of its encoding; text with control characters is binary."""
    text, encoding = "\0", ""
    for name, shown in _encodings(data):
        try:
            text, encoding = data.decode(name), shown
            break
        except UnicodeDecodeError:
            continue
    if re.search(r"[\x00-\x08\x0e-\x1f\x7f]", text):
        what = "is no text; export the table as CSV (UTF-8 or UTF-16) or XLSX"
        raise InputError(path, [Fault("file", what)])
    return text, encoding


def _encodings(data: bytes) -> list[tuple[str, str]]:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return [("utf-16", "UTF-16")]
    head = data[:2000]
    if len(head) > 3 and len(head) % 2 == 0 and 0.3 < head.count(0) / len(head) <= 0.5:
        little = head[1::2].count(0) > head[::2].count(0)
        return [("utf-16-le" if little else "utf-16-be", "UTF-16 without its mark")]
    return [("utf-8-sig", "UTF-8"), ("cp1252", "Windows-1252, since it is not UTF-8")]


def _workbook(path: str, data: bytes) -> Raw:
    try:
        import openpyxl
    except ImportError:
        what = "is a workbook; save it as CSV, or: pip install openpyxl"
        raise InputError(path, [Fault("file", what)]) from None
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            unpacked = sum(part.file_size for part in packed.infolist())
            if unpacked > LARGEST:
                what = f"unpacks to {unpacked / 1e6:.0f} MB, at most {LARGEST / 1e6:.0f} MB"
                raise InputError(path, [Fault("file", what)])
        book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheets = tuple((sheet.title, _sheet(sheet)) for sheet in book.worksheets)
        book.close()
    except InputError:
        raise
    except Exception as error:  # the library lets through whatever zip and XML parsers raise
        what = f"cannot be read as a workbook ({type(error).__name__}); save it as CSV"
        raise InputError(path, [Fault("file", what)]) from None
    return Raw(path, (), sheets, (f"workbook of {len(sheets)} sheets",))


def _sheet(sheet: Any) -> tuple[Row, ...]:
    rows = []
    for number, values in enumerate(sheet.iter_rows(values_only=True), 1):
        cells = _without_end(["" if value is None else str(value).strip() for value in values])
        if cells:
            rows.append(Row(f"sheet '{sheet.title}' row {number}", cells))
    return tuple(rows)


def comment(line: str) -> str | None:
    """Text of a comment line, or None for a line of data."""
    text = line.strip().strip('"')
    mark = next((mark for mark in COMMENTS if text.startswith(mark)), None)
    return None if mark is None else text.lstrip("".join(COMMENTS)).strip()


def cut(raw: Raw, separator: str) -> tuple[Row, ...]:
    """Rows of a text cut at `separator`; quotes hold a cell together."""
    rows = []
    for number, line in raw.lines:
        remark = comment(line)
        cells = _cells(line if remark is None else remark, separator)
        kept = _without_end(cells)
        if kept:
            rows.append(Row(f"line {number}", kept, remark is not None, len(cells)))
    return tuple(rows)


def _without_end(cells: Sequence[str]) -> tuple[str, ...]:
    """Cells up to the last that is not empty."""
    last = max((i for i, cell in enumerate(cells) if cell), default=-1)
    return tuple(cells[: last + 1])


def _cells(line: str, separator: str) -> list[str]:
    if separator == " ":
        wide = re.split(r"\s{2,}", line.strip())
        cells = wide if len(wide) > 1 else line.split()
    elif '"' in line:
        cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    else:
        cells = line.split(separator)
    return [cell.strip().strip('"').strip() for cell in cells]

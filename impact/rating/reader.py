"""Read a spectrum: a CSV file with the header band_hz,level_db."""

from __future__ import annotations

import math

from impact.base.files import damaged_numbers, read_text
from impact.errors import Fault, InputError

HEADER = ("band_hz", "level_db")
MANTISSAS = (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8)
# Nominal third octaves a file may hold, 1 Hz to 20 kHz (IEC 61260-1); ratings use some of them.
KNOWN_BANDS = tuple(
    float(f"{mantissa * 10**decade:.5g}")
    for decade in range(5)
    for mantissa in MANTISSAS
    if mantissa * 10**decade <= 20000
)
NEAR = 0.016  # exact and nominal centres differ by less: 1.2 % (IEC 61260-1)
LEVEL_RANGE = (-100.0, 200.0)  # dB; beyond it a column was mistaken for a level
LIMIT = 1_000_000  # bytes
SHOWN = 20  # faults; a file with more is not a spectrum


def read_spectrum(path: str) -> tuple[list[float], list[float]]:
    """Nominal bands [Hz], rising, and levels [dB] of a spectrum file.

    The first line that is neither empty nor a comment (#) must read band_hz,level_db. A band is
    known by its nominal or exact centre. Raises InputError with every fault and its line.
    """
    text = read_text(path, LIMIT)
    if damaged := damaged_numbers(text):
        raise InputError(path, damaged)
    lines = [
        (number, line.strip())
        for number, line in enumerate(text.split("\n"), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise InputError(path, [Fault("file", f"is empty; first line {','.join(HEADER)}")])
    number, header = lines[0]
    if tuple(cell.strip().strip('"').lower() for cell in header.split(",")) != HEADER:
        what = f"header reads {header[:60]!r}; must be {','.join(HEADER)} (comma, decimal "
        what += "point); exports of meters are read by impact field"
        raise InputError(path, [Fault(f"line {number}", what)])
    return _read_rows(path, lines[1:])


def _read_rows(path: str, lines: list[tuple[int, str]]) -> tuple[list[float], list[float]]:
    faults: list[Fault] = []
    spectrum: dict[float, float] = {}
    first_line: dict[float, int] = {}
    for number, line in lines:
        row = _read_row(line)
        if isinstance(row, list):
            faults += [Fault(f"line {number}", what) for what in row]
        elif row[0] in spectrum:
            what = f"band {row[0]:g} Hz stands on line {first_line[row[0]]} already; keep one"
            faults.append(Fault(f"line {number}", what))
        else:
            spectrum[row[0]], first_line[row[0]] = row[1], number
    if not lines:
        faults.append(Fault("file", "holds a header but no bands; add band,level lines"))
    if len(faults) > SHOWN:
        more = len(faults) - SHOWN
        faults = [*faults[:SHOWN], Fault("file", f"and {more} more faults; is this a spectrum?")]
    if faults:
        raise InputError(path, faults)
    bands = sorted(spectrum)
    return bands, [spectrum[band] for band in bands]


def _read_row(line: str) -> tuple[float, float] | list[str]:
    """Band and level of one line, or what is wrong with it."""
    cells = [cell.strip().strip('"').strip() for cell in line.split(",")]
    if len(cells) != 2:
        return [f"{line[:60]!r}; must be two cells, band,level, with decimal points"]
    faults = []
    frequency, level = _number(cells[0]), _number(cells[1])
    band = _known_band(frequency)
    if band is None:
        faults.append(
            f"band_hz {cells[0][:30]!r}; must be the centre of a third octave or octave in Hz, "
            "such as 100, 125, 160"
        )
    if level is None or not LEVEL_RANGE[0] <= level <= LEVEL_RANGE[1]:
        low, high = LEVEL_RANGE
        more = "" if cells[1].strip() else "; leave out the line of a band that was not measured"
        what = f"must be a number, {low:g} to {high:g} dB{more}"
        faults.append(f"level_db {cells[1][:30]!r}; {what}")
    if faults or band is None or level is None:
        return faults
    return band, level


def _number(cell: str) -> float | None:
    """A finite number in plain notation, or None."""
    try:
        value = float(cell)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in cell else None


def _known_band(frequency: float | None) -> float | None:
    """Nominal centre nearest to `frequency` when it is that centre, nominal or exact."""
    if frequency is None or frequency <= 0:
        return None
    nearest = min(KNOWN_BANDS, key=lambda band: abs(math.log(band / frequency)))
    return nearest if abs(frequency / nearest - 1) <= NEAR else None

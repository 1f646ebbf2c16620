"""One spectrum of a meter's file: its values, gaps, faults, and what its labels say."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from impact.errors import Fault
from impact.rating.reader import LEVEL_RANGE
from impact.site.meter_words import Meaning, is_gap, like_number, meaning_of, number

IN_CELL = re.compile(r"dB\s*\(?[AC]\)?\s*$", re.I)  # "45.2 dB(A)"
FEWEST = 3  # bands that make a table
NO_BAND = "is no centre of a third octave or octave in Hz"
COMMAS = (
    " Decimal commas between separating commas cannot be told apart: export with semicolons or"
    " decimal points"
)
ABOVE_NOUGHT = 20.0  # dB: a nought between such bands says that nothing was measured, judgement
LACKS = "; which one is missing? Put a separator for every empty cell"
TIMES = (0.02, 30.0)  # s, reverberation times; beyond it a column was mistaken
# Numbers that stand for "no data" in exports (common practice, no source); 99.9 may be a level.
NO_DATA = frozenset(sign * float(nines) for nines in ("999", "999.9", "999.99", "9999", "9999.9")
                    for sign in (-1, 1)) | {-99.0, -99.9, -99.99}  # fmt: skip


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


def band_edges(bands: Sequence[float], values: Sequence[float | None]) -> bool:
    """Whether `values` are the lower or the upper edges of nominal third octaves or octaves [Hz]:
    all of them times one of 10^(±1/20), 10^(±3/20) (IEC 61260-1), nominal for exact centres and
    edges cut to three digits allowed for."""
    ratios = [value / band for band, value in zip(bands, values, strict=True) if value is not None]
    return len(ratios) == len(bands) > 2 * FEWEST and any(
        all(abs(ratio / 10 ** (width / 20) - 1) < 0.03 for ratio in ratios)
        for width in (-3, -1, 1, 3)
    )


def steady(bands: Sequence[float]) -> bool:
    """Whether bands rise or fall strictly."""
    pairs = list(itertools.pairwise(bands))
    return all(a < b for a, b in pairs) or all(a > b for a, b in pairs)


def add(
    found: Found, heading: str, labels: Sequence[str], pairs: Sequence[tuple[float, str]],
    decimal: str, wheres: Sequence[str], where: str,
) -> None:  # fmt: skip
    """Note one spectrum: its values, gaps and faults; a column of words is none.

    labels : what stands over the column or before the row itself, cell by cell. pairs : band [Hz]
    and cell. wheres : the line of each pair.
    """
    label = " ".join(part for part in (heading, *labels) if part)
    weighted = [hit[0] for hit in (IN_CELL.search(cell) for _, cell in pairs) if hit]
    said = meaning_of(heading, [*labels, *weighted[:1]])
    values: list[float | None] = []
    faults: list[Fault] = []
    marks: list[str] = []
    low, high = TIMES if said.role == "reverberation" else LEVEL_RANGE
    for (band, cell), place in zip(pairs, wheres, strict=True):
        value = number(cell, decimal)
        if value in NO_DATA:
            marks.append(f"'{cell.strip()}' at {band:g} Hz")
            value = None
        elif value is None and not is_gap(cell):
            faults.append(Fault(place, f"{cell[:30]!r} at {band:g} Hz is no number"))
        elif value is not None and not low <= value <= high:
            what = f"{cell[:30]!r} at {band:g} Hz lies outside {low:g} to {high:g}"
            faults.append(Fault(place, what))
        values.append(value)
    for i in _noughts(values) if said.role != "reverberation" else ():
        marks.append(f"'{pairs[i][1].strip()}' at {pairs[i][0]:g} Hz")
        values[i] = None
    nothing = all(value is None for value in values) and not any(like_number(c) for _, c in pairs)
    if said.role == "ignored" or nothing:
        found.notes.append(f"not taken: {label or 'a column without levels'} ({where})")
        return
    if marks:
        found.notes.append(f"marks of no data, left as gaps: {', '.join(marks)} ({where})")
    found.faults += faults
    order = sorted(range(len(pairs)), key=lambda i: pairs[i][0])
    found.series.append(Series(
        tuple(pairs[i][0] for i in order), tuple(values[i] for i in order), said, where,
        label.strip(),
    ))  # fmt: skip


def _noughts(values: Sequence[float | None]) -> list[int]:
    """Places of levels of exactly 0 dB whose nearest other levels lie ABOVE_NOUGHT and more."""
    others = [i for i, value in enumerate(values) if value not in (None, 0.0)]
    found = []
    for i, value in enumerate(values):
        near = [*[at for at in others if at < i][-1:], *[at for at in others if at > i][:1]]
        if value == 0.0 and near and all((values[at] or 0.0) >= ABOVE_NOUGHT for at in near):
            found.append(i)
    return found

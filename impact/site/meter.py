"""A meter's export as spectra, and the one spectrum that is wanted: taken openly or asked for.

Every way to read a file (separator, decimal mark) is tried. When more than one makes sense, and
when more than one spectrum fits, the file is refused with the question and the option for it.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from impact.errors import Fault, InputError
from impact.rating.spectrum import is_octaves
from impact.site import meter_cells, meter_rooms, meter_tables
from impact.site.meter_values import FEWEST, Found, Series
from impact.site.meter_words import Metric, meaning, settings, source_of, states_metric

SHOWN = 12  # spectra listed in a question
MOST_FAULTS = 20
LEAP = 15.0  # dB from band to band, in the mean
_ROOM = re.compile(r"\bL_?[12]\b(?!\s*,\s*[ACZFSI]\b)")  # a symbol, see meter_rooms
_OF_BANDS = re.compile(r"spectr|\bbands?\b|octave", re.I)
MARKS = {".": "decimal point", ",": "decimal comma"}


class Question(InputError):
    """A file leaves open what is meant; the option named in `what` settles it.

    numbers : of the choices, where they are not counted from 1.
    """

    def __init__(
        self, path: str, where: str, what: str, choices: Sequence[str] = (),
        numbers: Sequence[int] = (),
    ) -> None:  # fmt: skip
        super().__init__(path, [Fault(where, what)])
        counted = numbers or range(1, len(choices) + 1)
        listed = [f"    {Fault(str(i), one)}"
                  for i, one in zip(counted[:SHOWN], choices[:SHOWN], strict=True)]  # fmt: skip
        if len(choices) > SHOWN:
            listed.append(f"    and {len(choices) - SHOWN} more")
        asked = f"{Fault(path, 'a question, before anything is taken from it')}"
        self.args = ("\n".join([asked, f"  {self.faults[0]}", *listed]),)


@dataclass(frozen=True)
class MeterFile:
    """All spectra of a file. taken : sentences on how it was read; said : texts beside the tables,
    by line."""

    path: str
    series: tuple[Series, ...]
    taken: tuple[str, ...]
    said: tuple[str, ...]

    @property
    def source(self) -> str:
        """The one source of impact that the texts beside the tables name, or empty."""
        return source_of(" | ".join(self.said))

    @property
    def metric(self) -> Metric:
        """The one metric that the texts beside the tables state, or one that says nothing."""
        found = {meaning(_ROOM.sub(" ", text)).metric for text in self.said if states_metric(text)}
        kinds = {metric for metric in found if metric.kind}
        own = kinds.pop() if len(kinds) == 1 else Metric()
        time, weighting = (self.settings(of) for of in ("time", "weighting"))
        return Metric(own.kind, own.time or (time[0] if len(time) == 1 else ""),
                      own.weighting or (weighting[0] if len(weighting) == 1 else ""))  # fmt: skip

    def settings(self, of: str) -> list[str]:
        """What the texts beside the tables say of the meter's "time" constant or "weighting"; those
        that speak of the spectrum go first."""
        ours = [text for text in self.said if _OF_BANDS.search(text) and settings(text, of)]
        return sorted(set().union(*(settings(text, of) for text in ours or self.said)))


def load(path: str, decimal: str | None = None) -> MeterFile:
    """Every spectrum in a file of a meter.

    path : CSV, TSV, TXT (UTF-8, UTF-16, Windows-1252) or XLSX. decimal : "." or "," when the
    file leaves it open. Raises InputError with every fault and its line, or with a question.
    """
    raw = meter_cells.load(path)
    if raw.sheets:
        points = _read_sheets(raw, ".")
        commas = _read_sheets(raw, ",") if points.faults else points  # texts with commas in them
        found, how = (points if commas.faults else commas), ""
    else:
        found, how = _read_text(raw, decimal)
    both = [Fault("file", note) for note in _both_marks(raw)]
    if found.faults:
        raise InputError(path, _few([*both, *found.faults]))
    if not found.series:
        what = ("holds no spectrum: no three rising third-octave or octave bands with levels; "
                "export bands in Hz with one level each, down or across")  # fmt: skip
        why = [Fault("file", note) for note in found.notes]
        raise InputError(path, _few([Fault("file", what), *both, *why]))
    series, twice = _once(meter_rooms.resolve(found.series))
    taken = (", ".join(part for part in (*raw.said, how) if part), *found.notes, *twice)
    return MeterFile(path, tuple(series), taken, tuple(found.said))


def _read_sheets(raw: meter_cells.Raw, decimal: str) -> Found:
    """All sheets of a workbook; their names are titles where there are several."""
    found = Found()
    for title, rows in raw.sheets:
        part = meter_tables.tables(rows, decimal, title if len(raw.sheets) > 1 else "")
        for name in ("series", "faults", "notes", "said"):
            getattr(found, name).extend(getattr(part, name))
    return found


def _few(faults: Sequence[Fault]) -> list[Fault]:
    more = len(faults) - MOST_FAULTS
    rest = [Fault("file", f"and {more} more faults")] if more > 0 else []
    return [*faults[:MOST_FAULTS], *rest]


def _read_text(raw: meter_cells.Raw, decimal: str | None) -> tuple[Found, str]:
    """The reading of a text that makes sense; a question when two do."""
    faulty: list[Found] = []
    empty: list[Found] = []  # tables without a level, with what was said of them
    for name, separator in meter_cells.SEPARATORS.items():
        if not any(separator in line for _, line in raw.lines) and name != "space":
            continue
        rows = meter_cells.cut(raw, separator)
        readings = {}
        for mark in (decimal,) if decimal else MARKS:
            found = meter_tables.tables(rows, mark)
            _look_at_commas(rows, separator, found)
            if found.series or found.faults:
                readings[mark] = found
            elif found.notes:
                empty.append(found)
        whole = {mark: found for mark, found in readings.items() if not found.faults}
        if len({tuple(s.signature for s in found.series) for found in whole.values()}) > 1:
            what = ("makes sense with decimal points and with decimal commas; which is it? Say "
                    "--decimal . or --decimal ,")  # fmt: skip
            raise Question(raw.path, "decimal mark", what)
        if whole:
            mark, found = next(iter(whole.items()))
            return found, f"separator {name}, {_marks(rows, mark)}"
        faulty += readings.values()
    read = [found for found in faulty if _worth(found)[0]]  # numbers, and not bands alone
    return max(read or empty or faulty, key=_worth, default=Found()), ""


def _both_marks(raw: meter_cells.Raw) -> list[str]:
    """What to say of a text whose cells, parted by other than commas, have both decimal marks."""
    cells = [cell.strip() for _, line in raw.lines for cell in re.split(r"[;\t]", line)]
    point, comma = (next((c for c in cells if re.fullmatch(rf"-?\d+{mark}\d+", c)), "")
                    for mark in (r"\.", ","))  # fmt: skip
    if not point or not comma or len(cells) == len(raw.lines):
        return []
    return [f"decimal points ({point}) and decimal commas ({comma}) in one table; write one of"
            " them throughout"]  # fmt: skip


def _worth(found: Found) -> tuple[int, int]:
    """How much of a faulty reading makes sense: numbers read, then few faults."""
    values = sum(value is not None for s in found.series for value in s.values)
    return values, -len(found.faults)


def _marks(rows: Sequence[meter_cells.Row], mark: str) -> str:
    """Decimal mark as said: only when one is there."""
    used = any(mark in cell and any(c.isdigit() for c in cell) for row in rows
               for cell in row.cells if not row.remark)  # fmt: skip
    return MARKS[mark] if used else "no decimals"


def _look_at_commas(rows: Sequence[meter_cells.Row], separator: str, found: Found) -> None:
    """Refuse numbers cut in two at their decimal commas: a column of single digits gives it away,
    or one of whole numbers that leap from band to band.

    Three decibels in 30 are improbable as levels, and as tenths they are what one expects. So are
    neighbouring bands that differ by 15 dB in the mean: hundredths drawn by chance do by 33.
    """
    if separator != "," or any("." in cell for row in rows for cell in row.cells if not row.remark):
        return
    for series in found.series:
        values = [value for value in series.values if value is not None]
        steps = [abs(b - a) for a, b in itertools.pairwise(values)]
        leaping = len(steps) > FEWEST and sum(steps) > LEAP * len(steps)
        if len(values) >= FEWEST and (all(0 <= v <= 9 for v in values) or leaping):
            where = series.where.split(" to ")[0].split(",")[0]
            what = "commas both separate cells and stand for decimals, it seems; export with "
            found.faults.append(Fault(where, what + "semicolons or decimal points"))
            return


def _once(series: Sequence[Series]) -> tuple[list[Series], list[str]]:
    """Series without those that repeat another's label, bands and values."""
    kept: dict[tuple[object, ...], Series] = {}
    said = []
    for one in series:
        key = (one.label, *one.signature)
        if key in kept:
            said.append(f"the same spectrum twice: {kept[key].where} and {one.where}")
        kept.setdefault(key, one)
    return list(kept.values()), said


def is_octave_series(series: Series) -> bool:
    """Whether a spectrum is one of octaves: all its bands are, and no label says thirds."""
    return is_octaves(series.bands) and not series.said.thirds


def named(series: Series) -> str:
    """A spectrum as a question lists it."""
    said = series.said
    kind = "octaves" if is_octave_series(series) else "thirds"
    name = f" '{said.name}'" if said.name else ""
    span = f"{series.bands[0]:g}-{series.bands[-1]:g} Hz"
    what = "time" if said.role == "reverberation" else said.metric
    return f"{what}{name}, {len(series.bands)} {kind} {span}, {series.where}"


def with_metric(series: Series, metric: Metric) -> Series:
    """The spectrum with what its own label leaves open filled from `metric`."""
    own = series.said.metric
    kind = own.kind or metric.kind
    timed = kind in ("", "lmax", "lmin", "standardized")  # an average has no time constant
    filled = Metric(kind, own.time or (metric.time if timed else ""),
                    own.weighting or metric.weighting)  # fmt: skip
    return replace(series, said=replace(series.said, metric=filled))

"""Which spectrum of a meter's file is meant: what the labels settle is taken and said, the rest is
asked for, with the option that answers it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from impact.base import levels
from impact.errors import Fault, InputError
from impact.heard import strikes
from impact.site import meter_reckoned, meter_rooms
from impact.site.meter import SHOWN, MeterFile, Question, is_octave_series, named, with_metric
from impact.site.meter_values import Series
from impact.site.meter_words import Metric, meaning

SOURCES = tuple(strikes.SOURCES)
# What can be asked for by name. A prediction has Leq (of the tapping machine, as L'n) and fast
# maxima (of everything else).
METRICS = {
    "leq": Metric("leq"), "lfmax": Metric("lmax", "F"), "ln": Metric("normalized"),
    "lnt": Metric("standardized"), "lfmaxvt": Metric("standardized", "F"),
}  # fmt: skip
STEADY = ("leq", "ln", "lnt")
ALL = "all"
APART = 20.0  # dB between mean levels of spectra that are averaged: positions differ by less
SOURCE_ROOM = (
    "L1 is the level in a source room (ISO 16283) or one exceeded 1 % of the time; what is wanted "
    "is the level in the room below. Say --profile with the name of the one that is:"
)


@dataclass(frozen=True, eq=False)
class Chosen:
    """One spectrum: bands [Hz], levels [dB] (NaN in gaps), and how it was come by."""

    bands: tuple[float, ...]
    levels: NDArray
    source: str
    metric: str  # key of METRICS
    weighting: str  # "A", "C" or "" (unweighted)
    octaves: bool
    taken: tuple[str, ...]
    corrected: bool = False  # for the background, as its label says


class _Choice:
    """The spectra still in question, narrowed step by step; `taken` says why. Each keeps the number
    that the first question gives it, so that an answer holds whatever is settled beside it."""

    def __init__(self, file: MeterFile, role: str, profile: str | None) -> None:
        self.file, self.role, self.taken = file, role, list[str]()
        meant, open_room = [s for s in file.series if s.said.role == role], False
        if role == "level":
            meant, open_room = meter_rooms.candidates(file.series)
        left, self.reckoned = meter_reckoned.without_extremes(meant)
        self.left = [with_metric(s, file.metric) for s in left]
        self.numbers = {(s.where, s.label): i for i, s in enumerate(self.left, 1)}
        if open_room and profile in (None, ALL):
            raise self.ask("room", SOURCE_ROOM)
        wanted = {id(one) for one in meant}  # histories have thousands
        for other in file.series:
            if id(other) not in wanted:
                self.taken.append(f"not taken as {role}: {_with_role(other)}")
        if not self.left:
            held = "; ".join(_with_role(s) for s in file.series[:SHOWN])
            raise InputError(file.path, [Fault("file", f"holds no {role} spectrum, only: {held}")])

    def keep(self, kept: Sequence[Series], why: str) -> None:
        """Go on with `kept`; say what falls away and why."""
        stay = {id(one) for one in kept}
        gone = [s for s in self.left if id(s) not in stay]
        if gone:
            shown = "; ".join(named(s) for s in gone[:SHOWN])
            more = f" and {len(gone) - SHOWN} more" if len(gone) > SHOWN else ""
            self.taken.append(f"not taken, {why}: {shown}{more}")
        self.left = list(kept)

    def ask(self, where: str, what: str) -> Question:
        """The question, with the spectra it is about."""
        numbers = [self.number(s) for s in self.left]
        return Question(self.file.path, where, what, [named(s) for s in self.left], numbers)

    def number(self, series: Series) -> int:
        """The number by which `series` is asked about."""
        return self.numbers[series.where, series.label]


def _with_role(series: Series) -> str:
    part = series.said.role
    return named(series) if part == "level" else f"{part} {named(series)}"


def choose(
    file: MeterFile, source: str | None = None, metric: str | None = None,
    profile: str | None = None, *, role: str = "level", highest: bool = False,
) -> Chosen:  # fmt: skip
    """The one spectrum of `file` that is meant.

    source : of SOURCES. metric : of METRICS. profile : a name, a number as every question lists
    them, or "all" for the energy mean (with `highest`: the highest of each band). Raises InputError
    with a question where the file leaves it open.
    """
    choice = _Choice(file, role, profile)
    if role == "level":
        _warn(choice)
    source = _source(choice, source)
    if source == strikes.TAPPING and metric is None:
        choice.left, symbols = meter_rooms.energy_averages(choice.left)
        choice.taken += [f"{symbol}: energy average in time and room (ISO 16283-2), taken as Leq"
                         for symbol in symbols]  # fmt: skip
    metric = _metric(choice, source, metric)
    weighting = _weighting(choice)
    thirds = [s for s in choice.left if not is_octave_series(s)]
    if thirds:
        choice.keep(thirds, "third octaves are there as well")
    _profile(choice, profile)
    bands, values = _combined(choice, highest)
    corrected = any(meter_reckoned.corrected(s) for s in choice.left)
    return Chosen(bands, values, source, metric, weighting, not thirds, tuple(choice.taken),
                  corrected)  # fmt: skip


def _warn(choice: _Choice) -> None:
    """Say which lines beside the tables speak of a background or of corners."""
    for text in choice.file.said:
        if meaning(text).role in ("background", "corner"):
            choice.taken.append(f"taken as the level all the same: the file says '{text[:60]}'")


def _source(choice: _Choice, asked: str | None) -> str:
    known = {s.said.source for s in choice.left} - {""} or {choice.file.source} - {""}
    if asked is None:
        if len(known) != 1:
            found = "several sources" if known else "no source"
            what = f"names {found}; what made the sound? Say --source " + " or ".join(SOURCES)
            raise choice.ask("source", what)
        choice.taken.append(f"source {next(iter(known))}, which the file names")
        return known.pop()
    if known and asked not in known:
        what = f"the file names {', '.join(sorted(known))}, not {asked}; which is right?"
        raise choice.ask("source", what)
    choice.keep([s for s in choice.left if s.said.source in ("", asked)], "another source")
    return asked


def metrics_of(source: str) -> tuple[str, ...]:
    """Keys of METRICS that a level of `source` may have to be held against its prediction."""
    if source == strikes.TAPPING:
        return STEADY
    return ("lfmax", "lfmaxvt") if source == "rubber_ball" else ("lfmax",)


def _metric(choice: _Choice, source: str, asked: str | None) -> str:
    if asked is not None:
        want = METRICS[asked]
        timed = [s for s in choice.left if not want.time or s.said.metric.time in (want.time, "")]
        fits = [s for s in timed if s.said.metric.kind == want.kind]
        if not fits:
            fits = [s for s in timed if not s.said.metric.kind]
            if fits:
                choice.taken.append(f"metric not stated, taken as {want} as you say")
        if not fits:
            raise choice.ask("metric", f"none of these is {want}; export it from the meter:")
        choice.keep(fits, f"not {want}")
        return asked
    names = metrics_of(source)
    stated = {
        name: [s for s in choice.left if s.said.metric.kind == METRICS[name].kind
               and (METRICS[name].time in ("", s.said.metric.time))] for name in names
    }  # fmt: skip
    there = [name for name in names if stated[name]]
    if len(there) == 1:
        choice.keep(stated[there[0]], f"{source} goes with {METRICS[there[0]]}")
        choice.taken.append(f"metric {METRICS[there[0]]}, which the file states")
        return there[0]
    if there:
        raise choice.ask("metric", f"several would do; say --metric {' or '.join(there)}:")
    wanted = " or ".join(str(METRICS[name]) for name in names)
    hint = f"; if one of these is, say --metric {' or '.join(names)}:"
    raise choice.ask("metric", f"{source} needs {wanted}, and none is stated" + hint)


def _weighting(choice: _Choice) -> str:
    """Frequency weighting of the spectra kept: none is preferred."""
    plain = [s for s in choice.left if s.said.metric.weighting in ("", "Z")]
    if plain:
        choice.keep(plain, "weighted in frequency")
        if any(not s.said.metric.weighting for s in plain):
            said = choice.file.settings("weighting")
            if len(said) > 1:
                what = (
                    f"the file speaks of weightings {' and '.join(said)}; leave in it the line of "
                )
                raise choice.ask("weighting", what + "that which these bands have:")
            choice.taken.append("frequency weighting not stated, taken as none (Z)")
        return ""
    weights = {s.said.metric.weighting for s in choice.left}
    if len(weights) > 1:
        raise choice.ask("weighting", "both A and C weighted; export unweighted (Z) bands:")
    return weights.pop()


def _profile(choice: _Choice, asked: str | None) -> None:
    left = choice.left
    if asked is None:
        if len(left) > 1:
            what = ("several spectra fit; say --profile with a number or a name of these, or "
                    "--profile all for their energy mean:")  # fmt: skip
            raise choice.ask("profile", what)
        return
    if asked == ALL:
        kept = [s for s in left if (s.where, s.label) not in choice.reckoned]
        choice.keep(kept or left, "reckoned from others")
        if len({meter_reckoned.corrected(s) for s in choice.left}) > 1:
            raise choice.ask("profile", "some of these are corrected, others not; name one:")
        apart = _apart(choice.left)
        if choice.role == "level" and apart > APART:
            what = f"these lie up to {apart:.0f} dB apart in the mean: are all of them this level? "
            raise choice.ask("profile", what + "Name one, or leave in the file what belongs:")
        return
    fits = [s for s in left if s.said.name.lower() == asked.lower()]
    fits = fits or [s for s in left if asked.lower() in s.label.lower()]
    if asked.isdigit() and not any(s.said.name == asked for s in left):
        fits = [s for s in left if choice.number(s) == int(asked)]
    if len(fits) != 1:
        found = "several" if fits else "none"
        raise choice.ask("profile", f"'{asked}' fits {found} of these; name one by its number:")
    choice.keep(fits, f"not profile '{asked}'")


def _apart(series: Sequence[Series]) -> float:
    """How far the quietest lies below the loudest, in the mean over their bands [dB]."""
    known = [[v for v in s.values if v is not None] for s in series]
    means = [sum(values) / len(values) for values in known if values]
    return max(means, default=0.0) - min(means, default=0.0)


def _combined(choice: _Choice, highest: bool) -> tuple[tuple[float, ...], NDArray]:
    """Bands and levels of what is left; several are joined over their energies."""
    left = choice.left
    bands = left[0].bands
    if any(s.bands != bands for s in left):
        raise choice.ask("profile", "these have different bands and cannot be averaged:")
    grid = np.array([[np.nan if v is None else v for v in s.values] for s in left])
    if len(left) == 1:
        choice.taken.append(f"taken: {named(left[0])}")
        values = grid[0]
    else:
        how = "highest of each band" if highest else "energy mean"
        choice.taken.append(
            f"taken: {how} of {len(left)}: {'; '.join(named(s) for s in left[:SHOWN])}"
        )
        squares = levels.square(grid)
        values = levels.decibel(np.max(squares, axis=0) if highest else np.mean(squares, axis=0))
    gaps = [f"{band:g}" for band, value in zip(bands, values, strict=True) if np.isnan(value)]
    if gaps:
        choice.taken.append(f"gaps at {', '.join(gaps)} Hz, left out")
    return bands, values

"""What deflections read at the hangers say of each fault, beside the spectrum.

Hanger i, drawn to give d_i under the boards, is read at

    y_i = d_i exp(g) r_i (1 + OWN n_i) + u n'_i ,    n, n' standard normal,

r_i what the fault makes of it (`site.settled`), u the uncertainty of a reading, and g common to
all: hangers stiffer or boards lighter than drawn. On a floor whose inputs are drawn g is known as
its levels are (`site.diagnose`): kernels of the same width h about mean + a (g_f - mean), beside
what no input tells (STATIC). A share SLIPS of readings is off by a slip and tells nothing, and all
deviations may be CARE times as large.

What a spectrum does not tell, a set of readings does: at which hangers the fault is. The cases of a
fault have random places, and none lies just there. So of all cases of one size the deflections are
held as two lots, at the fault and elsewhere, and with p the share of hangers at fault

    p(y | size, g) = product over hangers of ( p mean over the one lot of N(y_i; ...)
                                               + (1 - p) mean over the other lot of N(y_i; ...) ) :

each hanger by itself. That neighbours give alike is lost, and with it some of what readings know.
A channel that is mis-seated lies in one line: there the mean is taken over all choices of lines.
What a fault does to the spectrum goes with its size, not with where it is. With LATER of the cases
of LATE faults the fault came after the reading. All other faults leave hangers as they are drawn.

g is summed in steps of STEP. Forty springs read by gauge know it to a sixth of that: where it falls
between two steps all explanations lose up to 4 nats of likelihood, nearly alike.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.special import logsumexp

from impact.site.faults import Member
from impact.site.settled import SHOWN_AT_REST, Settled
from impact.study.layout import READING

OWN = 0.10  # of hangers of one lot: 95 % within 20 %; common practice, no source
# Of static over dynamic stiffness, by the catalogue's 1.2 to 2 of rubber, and what a hanger creeps
# between loading and reading.
STATIC = 0.15
ANOTHER = 0.20  # of the same of another type of hanger; judgement
SLIPS = 0.04  # share of readings; judgement
# A reader may be less careful than stated, and hangers less alike: all deviations so many times as
# large, held alike beforehand; the readings tell. Judgement.
CARE = (1.0, 1.7)
SLIP = 3.0  # a slip reads anything from 0 to so many times the largest deflection drawn
LATER = 0.2  # share of screws driven, lines slipped and loads hung after the reading; judgement
LATE = ("bridged", "overloaded", "mis-seated")
SINGLE = ("bridged", "missing", "overloaded", "underloaded")  # hangers by themselves
WRONG = "wrong hanger"
SHOWN = 12.0  # least square by which readings show a case: three bands by two uncertainties

STEP = 0.1  # of the logarithm of deflections
RATIOS = np.arange(-4.0, 3.0 + STEP / 2, STEP)  # logarithms of r
COMMON = np.arange(-3.5, 2.5 + STEP / 2, STEP)  # logarithms of g
NEAR = slice(20, 51)  # of COMMON, -1.5 to 1.5: where the hangers are of the type drawn
AT_ONCE = 250  # sets of readings weighed together


@dataclass(frozen=True)
class Readings:
    """numbers : hangers read, from 0. value : (R,) deflections [m]. error : standard uncertainty of
    each [m]."""

    numbers: tuple[int, ...]
    value: np.ndarray
    error: float = READING


@dataclass(frozen=True, eq=False)
class Floors:
    """What inputs make of all deflections together.

    factor : (floors,) logarithm of deflections over those drawn, on each floor of the search.
    mean, deviation : of that of all floors, of which these are a few.
    """

    factor: np.ndarray = field(default_factory=lambda: np.zeros(1))
    mean: float = 0.0
    deviation: float = 0.0

    def about(self, wide: float) -> tuple[np.ndarray, float]:
        """Middles (floors,) and variance of g about each, for kernels of width `wide`, 0..1."""
        middle = self.mean + np.sqrt(1 - wide**2) * (self.factor - self.mean)
        return middle, (wide * self.deviation) ** 2 + STATIC**2


@dataclass(frozen=True, eq=False)
class AtHangers:
    """What was read, and what is known of it. settled : of the cases of the search."""

    settled: Settled
    readings: Readings
    floors: Floors = field(default_factory=Floors)


@dataclass(frozen=True, eq=False)
class _Lot:
    """Deflections of cases of one size: histograms (RATIOS,) at the fault and elsewhere. share : of
    hangers at fault. sets : (K, H) of which hangers they may be; none where each is by itself."""

    at: np.ndarray
    elsewhere: np.ndarray
    share: float
    sets: np.ndarray | None


class Rest:
    """Everything that sets of readings at the same hangers are weighed with."""

    def __init__(
        self, members: Mapping[str, Sequence[Member]], hangers: AtHangers, wide: float
    ) -> None:
        """members : fault -> cases of the search. wide : width of kernels about floors, 0..1."""
        self.known, self.read, floors = hangers.settled, hangers.readings, hangers.floors
        known, read = self.known, self.read
        self.numbers = list(read.numbers)
        self.drawn = np.maximum(known.drawn[self.numbers], 1e-6)
        self.middle, self.variance = floors.about(wide)
        self.deviation = floors.deviation
        self.lots: dict[tuple[str, float], _Lot] = {}
        self.sizes = {
            key: np.array([case.size for case in members[key]])
            for key in SHOWN_AT_REST if key in known.moved
        }  # fmt: skip
        for key, sizes in self.sizes.items():
            if key != WRONG:
                for size in np.unique(sizes):
                    self.lots[key, float(size)] = self._lot(key, sizes == size, size)

    def _lot(self, key: str, which: np.ndarray, size: float) -> _Lot:
        moved, at = self.known.moved[key][which], self.known.touched[key][which]
        if key == "bridged":  # a screw of each layer, after those before it
            moved = np.concatenate([s + (1 - s) * moved for s in self.known.stages])
            at = np.concatenate([at] * len(self.known.stages))
        sets = None
        if key not in SINGLE:
            lines = np.unique(self.known.lines[self.known.lines >= 0])
            sets = np.array([
                np.isin(self.known.lines, chosen)
                for chosen in itertools.combinations(lines, int(size))
            ])  # fmt: skip
        return _Lot(_histogram(moved[at]), _histogram(moved[~at]), float(np.mean(at)), sets)

    def shows(self, key: str, count: int) -> np.ndarray:
        """Which of the `count` cases of a fault these readings could show: (count,), bool."""
        if key not in self.sizes:
            return np.zeros(count, bool)
        moved = self.known.moved[key][:, self.numbers]
        off = np.where(np.isnan(moved), 1.0, moved - 1) * self.drawn  # a gap shows by itself
        variance = self.read.error**2 + (OWN * self.drawn) ** 2
        wide = self.deviation**2 + STATIC**2  # of g, taken off by Sherman and Morrison
        along = off @ (self.drawn / variance)
        square = np.sum(off**2 / variance, axis=1)
        square -= along**2 / (1 / wide + np.sum(self.drawn**2 / variance))
        return np.asarray(square >= SHOWN)

    def weighed(self, values: np.ndarray) -> Weighed:
        """Sets of readings (S, R) [m], NaN in gaps, weighed against everything."""
        parts = [self._part(values[n : n + AT_ONCE]) for n in range(0, len(values), AT_ONCE)]
        tables = {
            key: np.concatenate([part[key] for part in parts]) for key in parts[0]
        }  # fmt: skip
        return Weighed(self, tables)

    def _part(self, values: np.ndarray) -> dict[tuple[str, float], np.ndarray]:
        """Log likelihood (S, COMMON) of readings for every lot, and as drawn under ("", 0)."""
        each = [self._with(values, times) for times in CARE]
        return {
            place: np.logaddexp.reduce([one[place] for one in each]) - np.log(len(CARE))
            for place in each[0]
        }

    def _with(self, values: np.ndarray, times: float) -> dict[tuple[str, float], np.ndarray]:
        """The same for deviations `times` as large as stated."""
        likely = self._likelihood(values, times)
        count = len(COMMON)
        none = _histogram(np.ones(1))
        drawn = np.log(likely @ _shifted(none, range(count))).sum(axis=1)
        out = {("", 0.0): drawn}
        for place, lot in self.lots.items():
            at, elsewhere = (
                likely @ _shifted(part, range(count)[NEAR]) for part in (lot.at, lot.elsewhere)
            )
            if place[0] == "missing":  # what was read is there
                at = np.broadcast_to(np.isnan(values)[:, :, None], at.shape)
            found = self._of_lot(lot, at, elsewhere)
            if place[0] in LATE:
                found = np.logaddexp(np.log(1 - LATER) + found, np.log(LATER) + drawn[:, NEAR])
            out[place] = np.full(drawn.shape, -np.inf)
            out[place][:, NEAR] = found
        return out

    def _of_lot(self, lot: _Lot, at: np.ndarray, elsewhere: np.ndarray) -> np.ndarray:
        if lot.sets is None:
            return np.log(lot.share * at + (1 - lot.share) * elsewhere).sum(axis=1)
        more = np.log(at) - np.log(elsewhere)
        chosen = lot.sets[:, self.numbers].astype(more.dtype)
        each = np.tensordot(chosen, more, (1, 1)) + np.log(elsewhere).sum(axis=1)
        return np.asarray(logsumexp(each, axis=0) - np.log(len(chosen)))

    @property
    def _places(self) -> np.ndarray:
        """Logarithms of g r at which readings are weighed."""
        return RATIOS[0] + COMMON[0] + STEP * np.arange(len(RATIOS) + len(COMMON) - 1)

    def _likelihood(self, values: np.ndarray, times: float = 1.0) -> np.ndarray:
        """Density [1/m] of each reading (S, R) [m] at all `_places`: (S, R, places); 1 of a gap.
        times : deviations over those stated."""
        middle = self.drawn[:, None] * np.exp(self._places)
        spread = times * np.hypot(self.read.error, OWN * middle)
        off = (values[:, :, None] - middle) / spread
        normal = np.exp(-0.5 * off**2) / (spread * np.sqrt(2 * np.pi))
        slip = 1 / (SLIP * np.max(self.drawn))
        density = (1 - SLIPS) * normal + SLIPS * slip
        return np.where(np.isnan(values)[:, :, None], 1.0, density).astype(np.float32)

    def simulated(
        self, rng: np.random.Generator, key: str, cases: np.ndarray, floors: np.ndarray
    ) -> np.ndarray:
        """Readings (S, R) [m] as the model has them, of case numbers `cases` (S,) of a fault ("" as
        designed) on `floors` (S,)."""
        size = (len(floors), len(self.numbers))
        middle = self.middle[np.minimum(floors, len(self.middle) - 1)]
        g = middle + np.sqrt(self.variance) * rng.standard_normal(len(floors))
        ratio = np.ones(size)
        if key in self.sizes:
            ratio = np.nan_to_num(self.known.moved[key][:, self.numbers][cases], nan=0.0)
            if key == "bridged":
                stage = rng.choice(self.known.stages, len(floors))[:, None]
                ratio = stage + (1 - stage) * ratio
            if key == WRONG:
                ratio = ratio * np.exp(ANOTHER * rng.standard_normal(len(floors)))[:, None]
            if key in LATE:
                ratio[rng.random(len(floors)) < LATER] = 1.0
        care = rng.choice(CARE, len(floors))[:, None]
        own, noise = care * rng.standard_normal(size), care * rng.standard_normal(size)
        values = self.drawn * np.exp(g)[:, None] * ratio * (1 + OWN * own) + self.read.error * noise
        off = rng.random(size) < SLIPS
        values[off] = rng.uniform(0, SLIP * np.max(self.drawn), int(np.sum(off)))
        return np.asarray(np.maximum(values, 0.0))


@dataclass(frozen=True, eq=False)
class Weighed:
    """Sets of readings held against everything: log likelihood (S, COMMON) [1/m^R] of each lot."""

    rest: Rest
    tables: Mapping[tuple[str, float], np.ndarray]

    def of(self, key: str, rows: np.ndarray, floors: np.ndarray) -> np.ndarray:
        """(S, m) logarithm of the likelihood of cases `rows` (m,) of a fault on `floors` (m,)."""
        rest = self.rest
        middle = rest.middle[np.minimum(floors, len(rest.middle) - 1)]
        place, variance = [("", 0.0)] * len(rows), np.full(len(rows), rest.variance)
        if key == WRONG and key in rest.sizes:
            middle = middle - np.log(rest.sizes[key][rows])
            variance = variance + ANOTHER**2
        elif key in rest.sizes:
            place = [(key, float(size)) for size in rest.sizes[key][rows]]
        out = np.empty((len(self.tables["", 0.0]), len(rows)))
        done: dict[tuple[tuple[str, float], float], np.ndarray] = {}
        for n in range(len(rows)):
            which = (place[n], float(middle[n]))
            if which not in done:
                weight = -0.5 * (COMMON - middle[n]) ** 2 / variance[n]
                weight -= logsumexp(weight)
                done[which] = logsumexp(self.tables[place[n]] + weight, axis=1)
            out[:, n] = done[which]
        return out


def _histogram(ratios: np.ndarray) -> np.ndarray:
    """Shares (RATIOS,) of ratios, NaN left out; each divided between the two nearest places."""
    known = ratios[np.isfinite(ratios)]
    out = np.zeros(len(RATIOS))
    if not len(known):
        out[round(-RATIOS[0] / STEP)] = 1.0
        return out
    at = np.clip(np.log(np.maximum(known, 1e-9)) - RATIOS[0], 0, RATIOS[-1] - RATIOS[0]) / STEP
    low = np.minimum(at.astype(int), len(RATIOS) - 2)
    np.add.at(out, low, 1 - (at - low))
    np.add.at(out, low + 1, at - low)
    return np.asarray(out / len(known))


def _shifted(histogram: np.ndarray, common: Sequence[int]) -> np.ndarray:
    """Weights (places, G) that add likelihoods at all g r to those of g: a histogram (RATIOS,) of r
    at each of the places `common` (G,) of g in COMMON."""
    out = np.zeros((len(RATIOS) + len(COMMON) - 1, len(common)), np.float32)
    for column, first in enumerate(common):
        out[first : first + len(histogram), column] = histogram
    return out

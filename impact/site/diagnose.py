"""Which fault explains a measured spectrum best: hypotheses weighed by their likelihood.

r = measured minus predicted level per band. With inputs x of the floor as it is, of which the
prediction knows the ranges only, and the size and place c of a fault,

    r = d(x) + s(x, c) + error ,

d being what inputs make of the level without a fault, s what the fault adds on that floor. Both are
known on floors x_f whose inputs are drawn (`site.diagnose_cases`), d beside with its covariance D
among all inputs (`site.diagnose_errors`). Floors are few, so a kernel stands about each, so wide
that d keeps its mean m and its covariance whatever the width h (M. West, Approximating posterior
distributions by mixtures, Journal of the Royal Statistical Society B 55 (1993) 409-422): the
evidence of a hypothesis is the mean over floors of the mean likelihood about its cases,

    p(r | h) = mean over floors f of mean over cases c on f of
               N(r; m + a (d(x_f) - m) + s(x_f, c), C + h² D + (SHAPE s)²) ,   a² = 1 - h² ,

C the covariance of all other errors. Floors that lie where the measurement does weigh more, and so
do their cases. Within a kernel a change goes with the level by the slope B of
`diagnose_likelihood.follows`, found from the floors: where screws hand on nearly all that comes
through, louder hangers hardly add. So s moves by B of what d is away from d(x_f), and of the
covariance h² D about a floor there is (1 + B)² for this fault. Where D is not known apart, it is
part of C and h = 1: level and change are then taken to be independent.

SHAPE is what the models are wrong about a change, beside the level, band by band. Posterior odds
are evidence times prior (D. J. C. MacKay, Information Theory, Inference, and Learning Algorithms,
2003, ch. 28): a hypothesis that could explain anything is not favoured for it. The prior overlooks
none (`site.diagnose_prior`); what is known of the site multiplies it. Cases that move fewer than
BANDS bands by two standard uncertainties are left out: nothing measured could tell them from "as
designed", which then stands for them too and is said to. A fault none of whose cases does on any
floor may in a building that differs more: it is ranked by those that move as many bands by one
uncertainty.

Two kinds of evidence may stand beside the spectrum: deflections read at the hangers, whose
likelihood multiplies (`site.diagnose_rest`), and levels below the bare floor, which shift what is
to be expected of r, make it surer, and weigh floors (`site.diagnose_bare`). Cases that deflections
show are ranked too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property

import numpy as np
from scipy.special import chdtrc, logsumexp

from impact.base import bands
from impact.site import diagnose_prior, faults
from impact.site.diagnose_bare import BareFloor
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.site.diagnose_likelihood import Cases, follows, kernels
from impact.site.diagnose_rest import AtHangers, Rest
from impact.site.faults import Member
from impact.site.measured import deviations

AS_DESIGNED = "as designed"
BANDS, SIGMAS = 3, 2.0  # a fault shows if it moves so many bands by so many uncertainties
NEARLY = 1.0  # uncertainties by which one moves them that may show in a building unlike the drawing
DECIDED = 20.0  # odds from which one hypothesis is preferred: "strong" on common scales
ALIKE = 10.0  # hypotheses less than this ratio apart are not told apart
# Simulated for each explanation, from which the prior is found: spectra; with sets of readings
SPECTRA, SETS = 800, 300
SPECTRA_SEED = 17


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """One explanation, weighed.

    probability : posterior, 0..1. prior : what it was beforehand. log_evidence : natural logarithm
    [1/dB^n]. best : the case that fits best, None as designed. shift : (n,) its change of level
    [dB]. size_range : 5 to 95 % of the sizes by weight. seen : share of its cases that this
    measurement could show at all.
    """

    key: str
    name: str
    probability: float
    prior: float
    log_evidence: float
    best: Member | None
    shift: np.ndarray
    size_range: tuple[float, float] | None
    seen: float


@dataclass(frozen=True, eq=False)
class Diagnosis:
    """Explanations of one measurement, best first.

    bands_hz (n,), residual (n,) measured minus predicted [dB], less expected (n,), by which the
    bare floor lets expect more than predicted [dB], 0 where it was not measured; uncertainty (n,)
    standard, of model and measurement together [dB]. ranked : all that could show. alike : keys
    that the data do not tell from the first. faint : faults no case of which would show. nearly :
    those of which some nearly would, ranked by these. partly_faint : faults some cases of which
    would not. verdict : the key of a fault, or "cannot tell" where as designed fits best or is not
    clearly beaten: a spectrum alone does not tell it from a faint fault. fit : probability that a
    spectrum lies as far from what it comes from as this one does from the nearest of all cases (chi
    squared with n degrees of freedom): small where no explanation fits.
    """

    bands_hz: tuple[float, ...]
    residual: np.ndarray
    expected: np.ndarray
    uncertainty: np.ndarray
    ranked: tuple[Hypothesis, ...]
    verdict: str
    alike: tuple[str, ...]
    faint: tuple[str, ...]
    nearly: tuple[str, ...]
    partly_faint: tuple[str, ...]
    fit: float


def shows(shift: np.ndarray, uncertainty: np.ndarray, sigmas: float = SIGMAS) -> np.ndarray:
    """Whether changes of level (..., n) [dB] move BANDS bands by `sigmas` uncertainties (n,)."""
    return np.asarray(np.sum(np.abs(shift) >= sigmas * uncertainty, axis=-1) >= BANDS)


def weigh(
    known: Ensemble, bands_hz: Sequence[float], residual_db: np.ndarray,
    deviation_db: np.ndarray | None = None, error: PredictionError | None = None,
    times: Mapping[str, float] | None = None, hangers: AtHangers | None = None,
    bare: BareFloor | None = None,
) -> Diagnosis:  # fmt: skip
    """Weigh every explanation of a residual (n,), measured minus predicted levels [dB]; the rest,
    and what is raised, as for `Scales`."""
    scales = Scales(known, bands_hz, deviation_db, error, times, hangers, bare)
    return scales.weigh(residual_db, None if hangers is None else hangers.readings.value)


class Scales:
    """Everything that measurements in the same bands are weighed with."""

    def __init__(
        self, known: Ensemble, bands_hz: Sequence[float], deviation_db: np.ndarray | None = None,
        error: PredictionError | None = None, times: Mapping[str, float] | None = None,
        hangers: AtHangers | None = None, bare: BareFloor | None = None,
    ) -> None:  # fmt: skip
        """bands_hz : n nominal third octaves, 10 Hz to 5 kHz. deviation_db : (n,) standard
        uncertainty of the measurement [dB]; default ISO 12999-1. error : of the model. times :
        fault -> how many times as likely beforehand as without this, among the faults, from what
        is known of the site; 1 for those not named, 0 leaves one out. hangers : where deflections
        were read, and what is known of them. bare : a measurement below the bare floor.

        Raises ValueError for fewer than BANDS bands, unknown bands or numbers that are not finite.
        """
        self.times = dict(times or {})
        self.bands_hz = tuple(float(band) for band in bands_hz)
        if len(self.bands_hz) < BANDS:
            raise ValueError(f"{len(self.bands_hz)} bands: {BANDS} or more needed")
        spread = deviations(bands_hz) if deviation_db is None else np.asarray(deviation_db)
        if not np.all(np.isfinite(spread)):
            raise ValueError("deviations must be finite numbers")
        places = [bands.index(band) for band in self.bands_hz]
        error = error or PredictionError()
        stated = error.covariance(bands_hz) + np.diag(spread**2)
        # of a residual, from the bare floor [dB]
        self.expected, left = np.zeros(len(self.bands_hz)), stated
        weight = None
        if bare is not None:
            below = bare.known(bands_hz)
            self.expected, left = below.shift[0], stated - below.less
        self.uncertainty = np.sqrt(np.diag(left))
        moved = (known.levels - known.levels[0])[:, places]
        levels, covariance, wide = kernels(moved, error.by_inputs(bands_hz), stated)
        self.rest = None if hangers is None else Rest(known.members, hangers, wide)
        by_inputs = wide**2 * error.by_inputs(bands_hz)

        @cache  # no slope is asked for again and again
        def about(slope: float) -> tuple[np.ndarray, np.ndarray]:
            """Levels (floors, n) and covariance of a fault whose change goes with the level so."""
            middle = levels + slope * (levels - moved) if slope else levels
            spread = covariance + ((1 + slope) ** 2 - 1) * by_inputs
            if bare is None:
                return middle, spread
            told = bare.known(bands_hz, wide, 1 + slope)
            return middle + told.shift, spread - told.less

        if bare is not None:
            weight = bare.known(bands_hz, wide).log_weight
        middle, spread = about(0.0)
        self.none = Cases(
            spread, np.zeros(levels.shape), (), np.arange(len(levels)), middle,
            floor_weight=weight,
        )  # fmt: skip

        def cases(key: str, shifts: np.ndarray, floor: np.ndarray, slope: float) -> Cases:
            middle, spread = about(slope)
            middle = middle.take(floor, axis=0, mode="clip")
            members = known.members[key]
            return Cases(spread, shifts, members, floor, middle, key, floor_weight=weight)

        self.shown: dict[str, Cases] = {}
        self.weak: list[Cases] = []
        self.share: dict[str, float] = {}
        self.nearly: list[str] = []
        self.unraised: set[str] = set()  # that the spectrum does not show: they keep an even share
        self._sort(known, moved, places, wide, cases)

    def _sort(
        self, known: Ensemble, moved: np.ndarray, places: Sequence[int], wide: float,
        cases: Callable[[str, np.ndarray, np.ndarray, float], Cases],
    ) -> None:  # fmt: skip
        """Tell each fault's cases that the measurement would show from those too weak for it.

        moved, wide : as of `kernels`. places : of the measured bands. cases : of a fault's key,
        shifts, floors and slope.
        """
        for key, whole in known.shifts.items():
            if self.times.get(key, 1.0) == 0:
                continue
            shifts = whole[:, places]
            floor = known.floors.get(key, np.zeros(len(shifts), int))
            seen = shows(shifts, self.uncertainty)
            if not seen.any():
                self.unraised.add(key)
            sizes = np.array([one.size for one in known.members[key]])
            loud = 0.0
            if wide < 1:
                loud = follows(shifts[seen], sizes[seen], floor[seen], moved)
            if self.rest is not None:
                seen |= self.rest.shows(key, len(seen))
            self.share[key] = float(np.mean(seen))
            if not seen.all():  # faint beside what comes through as drawn, which goes on
                self.weak.append(cases(key, shifts, floor, 0.0).some(~seen))
            almost = shows(shifts, self.uncertainty, NEARLY)
            if seen.any():
                self.shown[key] = cases(key, shifts, floor, loud).some(seen)
            elif almost.any():
                self.shown[key] = cases(key, shifts, floor, 0.0).some(almost)
                self.nearly.append(key)

    @cached_property
    def prior(self) -> np.ndarray:
        """Logarithm of the weights of "as designed", then of all of `shown`."""
        rng = np.random.default_rng(SPECTRA_SEED)
        every = [self.none, *self.shown.values()]
        told = [one for one in every if one.key not in self.unraised]
        count = SPECTRA if self.rest is None else SETS
        draws = [one.simulated(rng, count) for one in told]
        spectra, floors = (np.concatenate([each[k] for each in draws]) for k in (0, 1))
        read = None
        if self.rest is not None:
            read = self.rest.weighed(np.concatenate([
                self.rest.simulated(rng, one.key, rows, floor)
                for one, (_, floor, rows) in zip(told, draws, strict=True)
            ]))  # fmt: skip
        truth = np.repeat([every.index(one) for one in told], count)
        evidence = np.stack([one.log_evidence(spectra, floors, read) for one in every], axis=1)
        return self._told(diagnose_prior.fair(evidence, truth))

    def _told(self, prior: np.ndarray) -> np.ndarray:
        """Logarithms of weights with what is known of the site; "as designed" keeps its own."""
        if not self.shown:
            return prior
        faulty = prior[1:] + np.log([self.times.get(key, 1.0) for key in self.shown])
        return np.append(prior[0], faulty + logsumexp(prior[1:]) - logsumexp(faulty))

    def weigh(self, residual_db: np.ndarray, read_m: np.ndarray | None = None) -> Diagnosis:
        """Every explanation of a residual (n,), measured minus predicted levels [dB], and of a set
        of readings (R,) [m] where the hangers were told of."""
        residual = np.asarray(residual_db, float)
        if residual.shape != (len(self.bands_hz),):
            raise ValueError(f"{len(self.bands_hz)} bands, {residual.shape} levels")
        return self.weigh_all(residual[None], None if read_m is None else read_m[None])[0]

    def weigh_all(
        self, residuals_db: np.ndarray, read_m: np.ndarray | None = None
    ) -> list[Diagnosis]:
        """The same of several at once (S, n) [dB], (S, R) [m]."""
        if not np.all(np.isfinite(residuals_db)):
            raise ValueError("levels must be finite numbers")
        if (read_m is None) != (self.rest is None):
            raise ValueError("readings go with hangers told of, and the other way round")
        none = self.none.log_likelihood(residuals_db)
        likely = {key: one.log_likelihood(residuals_db) for key, one in self.shown.items()}
        squares = [np.min(self.none.square(none), axis=1)]
        squares += [np.min(self.shown[key].square(each), axis=1) for key, each in likely.items()]
        nearest = np.min(squares, axis=0)
        read = None
        if self.rest is not None and read_m is not None:
            read = self.rest.weighed(read_m)
            none = none + read.of("", self.none.rows, self.none.floors)
            for key, one in self.shown.items():
                likely[key] = likely[key] + read.of(key, one.rows, one.floors)
        size = len(residuals_db)
        hidden = [one.log_evidence(residuals_db, None, read) for one in self.weak] or [
            np.full(size, -np.inf)
        ]
        total = logsumexp(hidden, axis=0)
        return [
            self._found(residuals_db[n], none[n], {key: rows[n] for key, rows in
                        likely.items()}, float(total[n]), float(nearest[n]))
            for n in range(size)
        ]  # fmt: skip

    def _found(
        self, residual: np.ndarray, none: np.ndarray, likely: dict[str, np.ndarray], hidden: float,
        nearest: float,
    ) -> Diagnosis:  # fmt: skip
        """One residual (n,) [dB]. Logarithms: none, the likelihoods about each floor as designed;
        likely, about each case of the faults; hidden, the evidence of all that does not show.
        nearest : least square distance of the spectrum from a case."""
        designed = float(logsumexp(none + self.none.log_weight))
        found = [_designed(designed, len(residual))]
        found += [
            _fault(key, cases, likely[key], self.share[key]) for key, cases in self.shown.items()
        ]
        score = self.prior + [one.log_evidence for one in found]
        chance = np.exp(score - logsumexp(score))
        ranked = tuple(sorted(
            (replace(one, probability=float(p), prior=float(q))
             for one, p, q in zip(found, chance, np.exp(self.prior), strict=True)),
            key=lambda one: -one.probability,
        ))  # fmt: skip
        verdict, alike = _verdict(ranked, hidden)
        return Diagnosis(
            self.bands_hz, residual - self.expected, self.expected, self.uncertainty, ranked,
            verdict, alike,
            faint=tuple(key for key in self.share if key not in self.shown),
            nearly=tuple(self.nearly),
            partly_faint=tuple(
                key for key in self.shown if key not in self.nearly and self.share[key] < 1
            ),
            fit=float(chdtrc(len(residual), nearest)),
        )  # fmt: skip


def _designed(evidence: float, count: int) -> Hypothesis:
    return Hypothesis(
        AS_DESIGNED, "as designed, or a fault too faint to show", 0.0, 0.0, evidence, None,
        np.zeros(count), None, 1.0,
    )  # fmt: skip


def _fault(key: str, cases: Cases, likely: np.ndarray, share: float) -> Hypothesis:
    """A fault weighed by some of its cases, with the log likelihood (m,) about each; share : of all
    of them that show."""
    best = int(np.argmax(likely))
    weights = np.exp(likely - likely[best] + cases.log_weight)
    evidence = float(likely[best] + np.log(np.sum(weights)))
    sizes = np.array([case.size for case in cases.members])
    return Hypothesis(
        key, faults.FAULTS[key].name, 0.0, 0.0, evidence, cases.members[best], cases.shifts[best],
        _range(sizes, weights), share,
    )  # fmt: skip


def _range(sizes: np.ndarray, weights: np.ndarray) -> tuple[float, float]:
    """5 % and 95 % of the sizes by weight."""
    order = np.argsort(sizes, kind="stable")
    share = np.cumsum(weights[order]) / np.sum(weights)
    low, high = np.searchsorted(share, [0.05, 0.95])
    return float(sizes[order][low]), float(sizes[order][min(high, len(sizes) - 1)])


def _verdict(ranked: Sequence[Hypothesis], hidden: float) -> tuple[str, tuple[str, ...]]:
    """What the numbers allow to say, and what they do not tell from the first.

    hidden : log evidence of the same faults with only those cases that do not show. A fault is
    named when all that show together are DECIDED times as likely as none, giving both the same
    weight beforehand, and likelier than all that do not show.
    """
    first = ranked[0]
    alike = tuple(
        one.key for one in ranked[1:]
        if one.probability > first.probability / ALIKE and one.key != AS_DESIGNED
    )  # fmt: skip
    faulty = [one.log_evidence for one in ranked if one.key != AS_DESIGNED]
    if first.key == AS_DESIGNED:
        return "cannot tell", alike
    none = next(one.log_evidence for one in ranked if one.key == AS_DESIGNED)
    decided = logsumexp(faulty) - np.log(len(faulty)) >= none + np.log(DECIDED)
    showing = logsumexp(faulty) > hidden
    return (first.key if decided and showing else "cannot tell"), alike

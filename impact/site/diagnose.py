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
do their cases. Where D is not known apart, it is part of C and h = 1: level and change are then
taken to be independent.

SHAPE is what the models are wrong about a change, beside the level, band by band. Posterior odds
are evidence times prior (D. J. C. MacKay, Information Theory, Inference, and Learning Algorithms,
2003, ch. 28): a hypothesis that could explain anything is not favoured for it. The prior overlooks
none (`site.diagnose_prior`); what is known of the site multiplies it. Cases that move fewer than
BANDS bands by two standard uncertainties are left out: nothing measured could tell them from "as
designed", which then stands for them too and is said to. A fault none of whose cases does on any
floor may in a building that differs more: it is ranked by those that move as many bands by one
uncertainty.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.special import chdtrc, logsumexp

from impact.base import bands
from impact.site import diagnose_prior, faults
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError, width
from impact.site.faults import Member
from impact.site.measured import deviations

AS_DESIGNED = "as designed"
BANDS, SIGMAS = 3, 2.0  # a fault shows if it moves so many bands by so many uncertainties
NEARLY = 1.0  # uncertainties by which one moves them that may show in a building unlike the drawing
DECIDED = 20.0  # odds from which one hypothesis is preferred: "strong" on common scales
ALIKE = 10.0  # hypotheses less than this ratio apart are not told apart
SHAPE = 0.1  # the models know a change of level to this share of it, band by band; judgement
SPECTRA = 800  # simulated for each explanation, from which the prior is found
SPECTRA_SEED = 17
AT_ONCE = 64  # cases about which many spectra are weighed together


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

    bands_hz (n,), residual (n,) measured minus predicted [dB], uncertainty (n,) standard, of model
    and measurement together [dB]. ranked : all that could show. alike : keys that the data do not
    tell from the first. faint : faults no case of which would show. nearly : those of which some
    nearly would, ranked by these. partly_faint : faults some cases of which would not. verdict :
    the key of a fault, or "cannot tell" where as designed fits best or is not clearly beaten: a
    spectrum alone does not tell it from a faint fault. fit : probability that a measurement lies as
    far from what it comes from as this one does from the nearest of all cases (chi squared with n
    degrees of freedom): small where no explanation fits.
    """

    bands_hz: tuple[float, ...]
    residual: np.ndarray
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
    times: Mapping[str, float] | None = None,
) -> Diagnosis:  # fmt: skip
    """Weigh every explanation of a residual (n,), measured minus predicted levels [dB]; the rest,
    and what is raised, as for `Scales`."""
    return Scales(known, bands_hz, deviation_db, error, times).weigh(residual_db)


class Scales:
    """Everything that measurements in the same bands are weighed with."""

    def __init__(
        self, known: Ensemble, bands_hz: Sequence[float], deviation_db: np.ndarray | None = None,
        error: PredictionError | None = None, times: Mapping[str, float] | None = None,
    ) -> None:  # fmt: skip
        """bands_hz : n nominal third octaves, 10 Hz to 5 kHz. deviation_db : (n,) standard
        uncertainty of the measurement [dB]; default ISO 12999-1. error : of the model. times :
        fault -> how many times as likely beforehand as without this, among the faults, from what
        is known of the site; 1 for those not named, 0 leaves one out.

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
        self.uncertainty = np.sqrt(np.diag(stated))
        moved = (known.levels - known.levels[0])[:, places]
        levels, covariance = _kernels(moved, error.by_inputs(bands_hz), stated)
        self.none = _Cases(covariance, np.zeros(levels.shape), (), np.arange(len(levels)), levels)
        self.shown: dict[str, _Cases] = {}
        self.weak: list[_Cases] = []
        self.share: dict[str, float] = {}
        self.nearly: list[str] = []
        for key, whole in known.shifts.items():
            if self.times.get(key, 1.0) == 0:
                continue
            shifts = whole[:, places]
            floor = known.floors.get(key, np.zeros(len(shifts), int))
            about = levels.take(floor, axis=0, mode="clip")
            cases = _Cases(covariance, shifts, known.members[key], floor, about)
            seen = shows(shifts, self.uncertainty)
            self.share[key] = float(np.mean(seen))
            if not seen.all():
                self.weak.append(cases.some(~seen))
            almost = shows(shifts, self.uncertainty, NEARLY)
            if seen.any():
                self.shown[key] = cases.some(seen)
            elif almost.any():
                self.shown[key] = cases.some(almost)
                self.nearly.append(key)

    @cached_property
    def prior(self) -> np.ndarray:
        """Logarithm of the weights of "as designed", then of all of `shown`."""
        rng = np.random.default_rng(SPECTRA_SEED)
        every = [self.none, *self.shown.values()]
        draws = [(0, *self.none.simulated(rng, SPECTRA))]
        draws += [
            (column, *one.simulated(rng, SPECTRA))
            for column, (key, one) in enumerate(self.shown.items(), start=1)
            if key not in self.nearly
        ]
        spectra, floors = (np.concatenate([each[k] for each in draws]) for k in (1, 2))
        truth = np.repeat([column for column, *_ in draws], SPECTRA)
        evidence = np.stack([one.log_evidence(spectra, floors) for one in every], axis=1)
        return self._told(diagnose_prior.fair(evidence, truth))

    def _told(self, prior: np.ndarray) -> np.ndarray:
        """Logarithms of weights with what is known of the site; "as designed" keeps its own."""
        if not self.shown:
            return prior
        faulty = prior[1:] + np.log([self.times.get(key, 1.0) for key in self.shown])
        return np.append(prior[0], faulty + logsumexp(prior[1:]) - logsumexp(faulty))

    def weigh(self, residual_db: np.ndarray) -> Diagnosis:
        """Every explanation of a residual (n,), measured minus predicted levels [dB]."""
        residual = np.asarray(residual_db, float)
        if residual.shape != (len(self.bands_hz),):
            raise ValueError(f"{len(self.bands_hz)} bands, {residual.shape} levels")
        return self.weigh_all(residual[None])[0]

    def weigh_all(self, residuals_db: np.ndarray) -> list[Diagnosis]:
        """The same of several at once (S, n) [dB]."""
        if not np.all(np.isfinite(residuals_db)):
            raise ValueError("levels must be finite numbers")
        none = self.none.log_likelihood(residuals_db)
        likely = {key: one.log_likelihood(residuals_db) for key, one in self.shown.items()}
        size = len(residuals_db)
        hidden = [one.log_evidence(residuals_db) for one in self.weak] or [np.full(size, -np.inf)]
        total = logsumexp(hidden, axis=0)
        return [
            self._found(residuals_db[n], none[n], {key: rows[n] for key, rows in
                        likely.items()}, float(total[n]))
            for n in range(size)
        ]  # fmt: skip

    def _found(
        self, residual: np.ndarray, none: np.ndarray, likely: dict[str, np.ndarray], hidden: float
    ) -> Diagnosis:
        """One residual (n,) [dB]. Logarithms: none, the likelihoods about each floor as designed;
        likely, about each case of the faults; hidden, the evidence of all that does not show."""
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
        squares = [self.none.square(none)]
        squares += [cases.square(likely[key]) for key, cases in self.shown.items()]
        return Diagnosis(
            self.bands_hz, residual, self.uncertainty, ranked, verdict, alike,
            faint=tuple(key for key in self.share if key not in self.shown),
            nearly=tuple(self.nearly),
            partly_faint=tuple(
                key for key in self.shown if key not in self.nearly and self.share[key] < 1
            ),
            fit=float(chdtrc(len(residual), min(float(np.min(each)) for each in squares))),
        )  # fmt: skip


def _kernels(
    moved: np.ndarray, inputs: np.ndarray, whole: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Where kernels about floors stand (floors, n) [dB] and their covariance (n, n) [dB²]; a single
    one at 0 where nothing is known apart of what inputs do.

    moved : (floors, n) what their inputs make of the level [dB]. inputs, whole : (n, n) covariances
    [dB²] of inputs, and of inputs and all else.
    """
    wide = width(len(moved), inputs, whole - inputs)
    if wide == 1.0:
        return np.zeros((1, len(whole))), whole
    middle = np.mean(moved, axis=0)
    levels = middle + np.sqrt(1 - wide**2) * (moved - middle)
    return levels, whole - (1 - wide**2) * inputs


class _Cases:
    """Gaussian likelihood of spectra about cases of one fault, whose changes of level the models
    know to a share SHAPE of their size in each band."""

    def __init__(
        self, covariance: np.ndarray, shifts: np.ndarray, members: Sequence[Member],
        floors: np.ndarray, levels: np.ndarray,
    ) -> None:  # fmt: skip
        """shifts : (m, n) [dB]. members : what they are of. floors : (m,) on which they are.
        levels : (m, n) of these floors without the fault, as `_kernels` puts them [dB]."""
        self.covariance, self.shifts, self.levels = covariance, shifts, levels
        self.members, self.floors = members, floors

    def some(self, which: np.ndarray) -> _Cases:
        """Those chosen by `which` (m,), bool."""
        chosen = [case for case, use in zip(self.members, which, strict=True) if use]
        rows = (self.shifts[which], chosen, self.floors[which], self.levels[which])
        return _Cases(self.covariance, *rows)

    @cached_property
    def log_weight(self) -> np.ndarray:
        """(m,): floors count alike, and the cases on each of them."""
        numbers, place, counts = np.unique(self.floors, return_inverse=True, return_counts=True)
        return -np.log(counts[place] * len(numbers))

    @cached_property
    def _lower(self) -> np.ndarray:
        more = (SHAPE * self.shifts)[:, :, None] ** 2 * np.eye(len(self.covariance))
        return np.linalg.cholesky(self.covariance + more)

    @cached_property
    def _log_scale(self) -> np.ndarray:
        """(m,): minus the logarithm of each density at its middle."""
        size = len(self.covariance)
        spread = np.sum(np.log(np.diagonal(self._lower, axis1=1, axis2=2)), axis=1)
        return np.asarray(spread + size / 2 * np.log(2 * np.pi))

    def square(self, log_likelihood: np.ndarray) -> np.ndarray:
        """(..., m): squared distance from each case, in standard deviations."""
        return np.asarray(-2 * (log_likelihood + self._log_scale))

    @cached_property
    def _inverse(self) -> np.ndarray:
        return np.linalg.inv(self._lower)

    def log_likelihood(self, spectra: np.ndarray) -> np.ndarray:
        """(S, m) about each case of spectra (S, n) [dB]."""
        size = len(self.covariance)
        square = np.empty((len(spectra), len(self.shifts)))
        for start in range(0, len(self.shifts), AT_ONCE):
            part = slice(start, start + AT_ONCE)
            inverse = self._inverse[part]
            white = spectra @ inverse.reshape(-1, size).T - np.ravel(
                inverse @ (self.levels + self.shifts)[part, :, None]
            )
            square[:, part] = np.sum(white.reshape(len(spectra), -1, size) ** 2, axis=2)
        return np.asarray(-0.5 * square - self._log_scale)

    def log_evidence(self, spectra: np.ndarray, but: np.ndarray | None = None) -> np.ndarray:
        """(S,) of spectra (S, n) [dB]: mean likelihood over floors. but : (S,) numbers of floors
        that are left out, where there are others."""
        likely = self.log_likelihood(spectra) + self.log_weight
        left = np.ones(len(spectra))
        if but is not None and np.ptp(self.floors):
            likely[self.floors == but[:, None]] = -np.inf
            left -= np.isin(but, self.floors) / len(np.unique(self.floors))
        return np.asarray(logsumexp(likely, axis=1) - np.log(left))

    def simulated(self, rng: np.random.Generator, count: int) -> tuple[np.ndarray, np.ndarray]:
        """`count` spectra (count, n) [dB] as these cases lead to, and the floor of each."""
        which = rng.choice(len(self.shifts), count, p=np.exp(self.log_weight))
        noise = self._lower[which] @ rng.standard_normal((count, len(self.covariance), 1))
        return (self.levels + self.shifts)[which] + noise[:, :, 0], self.floors[which]


def _designed(evidence: float, count: int) -> Hypothesis:
    return Hypothesis(
        AS_DESIGNED, "as designed, or a fault too faint to show", 0.0, 0.0, evidence, None,
        np.zeros(count), None, 1.0,
    )  # fmt: skip


def _fault(key: str, cases: _Cases, likely: np.ndarray, share: float) -> Hypothesis:
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

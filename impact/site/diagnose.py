"""Which fault explains a measured spectrum best: hypotheses weighed by their likelihood.

r = measured minus predicted level per band. Under hypothesis h, r = s + error, with s the change of
level of one of its members (sizes and places of the fault) and the error Gaussian of covariance C
(`site.diagnose_errors`). Its evidence is the likelihood averaged over its members,

    p(r | h) = mean over members of N(r; s, C) ,

and posterior odds are evidence times prior (D. J. C. MacKay, Information Theory, Inference, and
Learning Algorithms, 2003, ch. 28): a hypothesis that could explain anything is not favoured for it.
Half of the prior lies on "as designed", the other half is shared evenly by the faults. Members that
move fewer than BANDS bands by two standard uncertainties are left out: nothing measured could tell
them from "as designed", which then stands for them too and is said to. A fault none of whose
members does, as drawn, may in a building whose inputs differ: it is ranked by those that move as
many bands by one uncertainty.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from impact.base import bands
from impact.site import faults
from impact.site.bench import Bench
from impact.site.diagnose_errors import PredictionError
from impact.site.faults import Member
from impact.site.measured import deviations
from impact.site.shifts import level_changes

AS_DESIGNED = "as designed"
BANDS, SIGMAS = 3, 2.0  # a fault shows if it moves so many bands by so many uncertainties
NEARLY = 1.0  # uncertainties by which one moves them that may show in a building unlike the drawing
DECIDED = 20.0  # odds from which one hypothesis is preferred: "strong" on common scales
ALIKE = 10.0  # hypotheses less than this ratio apart are not told apart
REPEATS = 8  # random places of each size
PRIOR_DESIGNED = 0.5
SHAPE = 0.1  # a change of level is known to this share of it, band by band; judgement


@dataclass(frozen=True, eq=False)
class Ensemble:
    """What each fault would do to a design's levels.

    members : fault -> cases. shifts : fault -> (cases, 28) [dB].
    """

    hangers: int
    members: Mapping[str, list[Member]]
    shifts: Mapping[str, np.ndarray]


@dataclass(frozen=True, eq=False)
class Hypothesis:
    """One explanation, weighed.

    probability : posterior, 0..1. log_evidence : natural logarithm [1/dB^n]. best : the member that
    fits best, None as designed. shift : (n,) its change of level [dB]. size_range : 5 to 95 % of
    the sizes by weight. seen : share of its members that this measurement could show at all.
    """

    key: str
    name: str
    probability: float
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
    spectrum alone does not tell it from a faint fault.
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


def ensemble(
    at: Bench, seed: int = 0, repeats: int = REPEATS, keys: Sequence[str] = tuple(faults.FAULTS)
) -> Ensemble:
    """Cases of every fault of `keys` and what they do to the levels."""
    rng = np.random.default_rng(seed)
    made = {key: faults.members(at, key, rng, repeats) for key in keys}
    made = {key: cases for key, cases in made.items() if cases}
    return Ensemble(at.hangers, made, levels_moved(at, made))


def levels_moved(at: Bench, made: Mapping[str, Sequence[Member]]) -> dict[str, np.ndarray]:
    """Changes of level (cases, 28) [dB] of the cases of each fault, all solved together."""
    moved = level_changes(at, [one.change for cases in made.values() for one in cases])
    cuts = np.cumsum([len(cases) for cases in made.values()])[:-1]
    return dict(zip(made, np.split(moved, cuts), strict=True))


def shows(shift: np.ndarray, uncertainty: np.ndarray, sigmas: float = SIGMAS) -> np.ndarray:
    """Whether changes of level (..., n) [dB] move BANDS bands by `sigmas` uncertainties (n,)."""
    return np.asarray(np.sum(np.abs(shift) >= sigmas * uncertainty, axis=-1) >= BANDS)


def weigh(
    known: Ensemble, bands_hz: Sequence[float], residual_db: np.ndarray,
    deviation_db: np.ndarray | None = None, error: PredictionError | None = None,
) -> Diagnosis:  # fmt: skip
    """Weigh every explanation of a residual.

    bands_hz : n nominal third octaves, 10 Hz to 5 kHz. residual_db : (n,) measured minus predicted
    levels [dB]. deviation_db : (n,) standard uncertainty of the measurement [dB]; default ISO
    12999-1. error : of the model. Raises ValueError for fewer than BANDS bands, unknown bands or
    numbers that are not finite.
    """
    residual = np.asarray(residual_db, float)
    if len(bands_hz) < BANDS or residual.shape != (len(bands_hz),):
        raise ValueError(f"{len(bands_hz)} bands, {residual.shape} levels: {BANDS} or more needed")
    spread = deviations(bands_hz) if deviation_db is None else np.asarray(deviation_db)
    if not (np.all(np.isfinite(residual)) and np.all(np.isfinite(spread))):
        raise ValueError("levels and deviations must be finite numbers")
    places = [bands.index(float(band)) for band in bands_hz]
    covariance = (error or PredictionError()).covariance(bands_hz) + np.diag(spread**2)
    total = np.sqrt(np.diag(covariance))
    fit = _Fit(covariance, residual)
    seen = {key: shows(shift[:, places], total) for key, shift in known.shifts.items()}
    visible = [key for key, which in seen.items() if which.any()]
    hidden = [key for key, which in seen.items() if not which.all()]
    chosen = {key: seen[key] for key in visible}
    for key in known.shifts:
        almost = shows(known.shifts[key][:, places], total, NEARLY)
        if key not in chosen and almost.any():
            chosen[key] = almost
    share = {key: float(np.mean(which)) for key, which in seen.items()}
    found = [_designed(fit, len(places))]
    found += [_fault(fit, key, known, places, which, share[key]) for key, which in chosen.items()]
    weak = [_fault(fit, key, known, places, ~seen[key], share[key]) for key in hidden]
    ranked = _with_posterior(found, len(chosen))
    verdict, alike = _verdict(ranked, weak)
    return Diagnosis(
        tuple(float(b) for b in bands_hz), residual, total, ranked, verdict, alike,
        faint=tuple(key for key in known.shifts if key not in chosen),
        nearly=tuple(key for key in chosen if key not in visible),
        partly_faint=tuple(key for key in visible if not seen[key].all()),
    )  # fmt: skip


class _Fit:
    """Gaussian likelihood of a residual about given changes of level, which are themselves only
    known to a share SHAPE of their size in each band."""

    def __init__(self, covariance: np.ndarray, residual: np.ndarray) -> None:
        self.covariance, self.residual = covariance, residual

    def log_likelihood(self, shifts: np.ndarray) -> np.ndarray:
        """(m,) for changes of level (m, n) [dB]."""
        size = len(self.residual)
        whole = self.covariance + (SHAPE * shifts)[:, :, None] ** 2 * np.eye(size)
        lower = np.linalg.cholesky(whole)
        white = np.linalg.solve(lower, (self.residual - shifts)[:, :, None])[:, :, 0]
        spread = np.sum(np.log(np.diagonal(lower, axis1=1, axis2=2)), axis=1)
        return np.asarray(-0.5 * np.sum(white**2, axis=1) - spread - size / 2 * np.log(2 * np.pi))


def _designed(fit: _Fit, count: int) -> Hypothesis:
    evidence = float(fit.log_likelihood(np.zeros((1, count)))[0])
    return Hypothesis(
        AS_DESIGNED, "as designed, or a fault too faint to show", 0.0, evidence, None,
        np.zeros(count), None, 1.0,
    )  # fmt: skip


def _fault(
    fit: _Fit, key: str, known: Ensemble, places: list[int], which: np.ndarray, share: float
) -> Hypothesis:
    """A fault weighed by `which` of its members; share : of all of them that show."""
    shifts = known.shifts[key][which][:, places]
    cases = [case for case, chosen in zip(known.members[key], which, strict=True) if chosen]
    likely = fit.log_likelihood(shifts)
    best = int(np.argmax(likely))
    weights = np.exp(likely - likely[best])
    evidence = float(likely[best] + np.log(np.mean(weights)))
    sizes = np.array([case.size for case in cases])
    return Hypothesis(
        key, faults.FAULTS[key].name, 0.0, evidence, cases[best], shifts[best],
        _range(sizes, weights), share,
    )  # fmt: skip


def _range(sizes: np.ndarray, weights: np.ndarray) -> tuple[float, float]:
    """5 % and 95 % of the sizes by weight."""
    order = np.argsort(sizes, kind="stable")
    share = np.cumsum(weights[order]) / np.sum(weights)
    low, high = np.searchsorted(share, [0.05, 0.95])
    return float(sizes[order][low]), float(sizes[order][min(high, len(sizes) - 1)])


def _with_posterior(found: list[Hypothesis], faulty: int) -> tuple[Hypothesis, ...]:
    prior = np.array([
        PRIOR_DESIGNED if one.key == AS_DESIGNED else (1 - PRIOR_DESIGNED) / max(1, faulty)
        for one in found
    ])  # fmt: skip
    score = np.log(prior) + np.array([one.log_evidence for one in found])
    weight = np.exp(score - score.max())
    weight /= weight.sum()
    ranked = [replace(one, probability=float(p)) for one, p in zip(found, weight, strict=True)]
    return tuple(sorted(ranked, key=lambda one: -one.probability))


def _verdict(
    ranked: Sequence[Hypothesis], weak: Sequence[Hypothesis]
) -> tuple[str, tuple[str, ...]]:
    """What the numbers allow to say, and what they do not tell from the first.

    weak : the same faults with only those cases that do not show. A fault is named when all that
    show together are DECIDED times as likely as none, and likelier than all that do not show.
    """
    first = ranked[0]
    alike = tuple(
        one.key for one in ranked[1:]
        if one.probability > first.probability / ALIKE and one.key != AS_DESIGNED
    )  # fmt: skip
    faulty = [one for one in ranked if one.key != AS_DESIGNED]
    if first.key == AS_DESIGNED:
        return "cannot tell", alike
    none = next(one for one in ranked if one.key == AS_DESIGNED).probability
    decided = 1 - none >= DECIDED * none
    showing = np.logaddexp.reduce([one.log_evidence for one in faulty])
    hidden = np.logaddexp.reduce([one.log_evidence for one in weak]) if weak else -np.inf
    return (first.key if decided and showing > hidden else "cannot tell"), alike

"""How well any ranking could do: the trials' own distribution is known to who ranks.

python -m validation.fault_trials.bound                    from the repository's root; an hour
python -m validation.fault_trials.bound --buildings 4 bedroom_clips             a quick look

Buildings are made from each design as the trials make them, each with its faults. Their spectra,
with noise and error of the prediction, are ranked with the true covariance, places and sizes by
two who know more than any search can:

- "others": the mean likelihood about the cases of all other buildings of the design that show,
  buildings alike in weight. More buildings would tell a little more.
- "building": the mean likelihood about the cases of the very building, true one among them, whose
  inputs nobody knows. No search does better.

How often each fault is found depends on the weights. Here they are those by which the fault found
least often, over all designs together, is found as often as can be, while "as designed" comes
first in a given share where nothing is wrong: the frontier. It is attained by ranking by weight
times likelihood; the weights are the multipliers of a linear programme,

    greatest t such that  P_f >= t for all faults f,  P_0 >= sound ,

and are found by raising what falls short, on the spectra themselves: some ten numbers from
thousands of spectra. Beside stands the search, with the evidence from its own floors: with its own
prior, and with the weights of the frontier, which it cannot know.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp
from scipy.stats import multivariate_normal

from impact.base import bands
from impact.design.reader import read
from impact.site import diagnose, diagnose_cases
from impact.site.diagnose import AS_DESIGNED
from impact.site.diagnose_errors import PredictionError
from impact.site.diagnose_measured import error as stated_error
from impact.site.measured import deviations
from validation.fault_trials import trials
from validation.fault_trials.__main__ import DESIGNS, FOLDERS, OWN, errors, scatter
from validation.fault_trials.trials import MEASURED, Count, Truth

SEED = {"trials": 70000, "catalogue": 80000}  # of the first building: none of those of the trials
SHOWING = ("bridged", "overloaded", "mis-seated", "touching", "fill missing", "wrong hanger",
           "fixture", "flanking")  # fmt: skip
KEYS = (AS_DESIGNED, *SHOWING)
PLACES = [bands.index(band) for band in MEASURED]
TOP = 2  # a fault counts as found among so many
SOUNDS = (0.90, 0.93)
STEPS = 600
FARTHEST = 8.0  # log of the largest ratio of weights


@dataclass(frozen=True, eq=False)
class Ranked:
    """Spectra of one design. truth (S,) : places in KEYS. building (S,). evidence : who ranks ->
    (S, H) logarithm of the evidence [1/dB^n], -inf where nothing is known of a fault. prior (H,) :
    logarithm of the search's own."""

    truth: np.ndarray
    building: np.ndarray
    evidence: dict[str, np.ndarray]
    prior: np.ndarray


class Bound:
    """Spectra of the buildings of one design and how likely each fault makes them."""

    def __init__(self, buildings: Sequence[Truth], error: PredictionError | None = None) -> None:
        spread = np.diag(deviations(MEASURED) ** 2)
        self.covariance = (error or PredictionError()).covariance(MEASURED) + spread
        total = np.sqrt(np.diag(self.covariance))
        self.shown = [
            {key: shift[:, PLACES][diagnose.shows(shift[:, PLACES], total)]
             for key, shift in one.shifts.items() if len(shift)}
            for one in buildings
        ]  # fmt: skip

    def spectra(
        self, rng: np.random.Generator, count: int
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Residuals (S, n) [dB], `count` of each fault that shows in a building, and of none;
        truth (S,) as places in KEYS and building (S,) of each."""
        lower = np.linalg.cholesky(self.covariance)
        residuals, told = [], []
        for number, shown in enumerate(self.shown):
            for place, key in enumerate(KEYS):
                cases = shown.get(key, ()) if place else np.zeros((1, len(PLACES)))
                if len(cases):
                    noise = rng.standard_normal((count, len(PLACES))) @ lower.T
                    residuals.append(rng.choice(cases, count) + noise)
                    told += [(place, number)] * count
        truth, building = np.array(told).T
        return np.concatenate(residuals), truth, building

    def evidence(self, residuals: np.ndarray, building: np.ndarray, own: bool) -> np.ndarray:
        """Logarithm (S, H) of the evidence of each of KEYS for residuals (S, n) [dB] of `building`
        (S,): from the cases of that building alone (`own`), or of all others."""
        normal = multivariate_normal(np.zeros(len(PLACES)), self.covariance)
        out = np.full((len(residuals), len(KEYS)), -np.inf)
        out[:, 0] = normal.logpdf(residuals)
        numbers = np.arange(len(self.shown))
        same = building[:, None] == numbers
        for place, key in enumerate(SHOWING, start=1):
            likely = np.full(same.shape, -np.inf)
            for number, shown in enumerate(self.shown):
                cases = shown.get(key, ())
                if len(cases):
                    apart = normal.logpdf(residuals[:, None] - cases).reshape(len(residuals), -1)
                    likely[:, number] = logsumexp(apart, axis=1) - np.log(len(cases))
            likely[~same if own else same] = -np.inf
            known = np.isfinite(likely).sum(axis=1)
            some = known > 0
            out[some, place] = logsumexp(likely[some], axis=1) - np.log(known[some])
        return out


def found(score: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Whether (S,) the true explanation is found by scores (S, H): first for "as designed", among
    the first TOP for a fault."""
    own = score[np.arange(len(truth)), truth]
    return np.asarray(np.sum(score > own[:, None], axis=1) < np.where(truth == 0, 1, TOP))


def frontier(
    evidence: np.ndarray, truth: np.ndarray, group: np.ndarray, sound: float
) -> np.ndarray:
    """Scores (S, H) by which the fault found least often is found as often as can be, "as designed"
    first in at least `sound` of its spectra.

    evidence : (S, H) logarithms. truth : (S,) columns. group : (S,) number of the design. What
    counts is a fault's share over all designs, so its weight in a design goes with how many of its
    spectra are of that design; beside, one weight for each explanation.
    """
    size = np.bincount(truth, minlength=evidence.shape[1])
    share = np.zeros((group.max() + 1, len(size)))
    np.add.at(share, (group, truth), 1)
    with np.errstate(divide="ignore"):
        own = evidence + np.log(share / np.maximum(size, 1))[group]
    faults = np.unique(truth[truth > 0])
    weight = np.where(size > 0, 0.0, -np.inf)
    best, least = weight.copy(), -np.inf
    for step in range(STEPS):
        hits = np.bincount(truth, found(own + weight, truth), len(size)) / np.maximum(size, 1)
        if hits[0] >= sound and hits[faults].min() > least:
            best, least = weight.copy(), hits[faults].min()
        rate = 1 / (1 + step / 40)
        mean = np.exp(weight[faults] - logsumexp(weight[faults])) @ hits[faults]
        weight[faults] += 4 * rate * (mean - hits[faults])
        weight[0] += 3 * rate * (sound - hits[0])
        weight[faults] = np.maximum(weight[faults], weight[faults].max() - FARTHEST)
    return np.asarray(own + best)


def of_search(search: diagnose.Scales, residuals: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Evidence (S, H) and prior (H,) of the search, logarithms; -inf for what it does not rank. A
    fault outside of KEYS is left out: none of the trials is of it."""
    evidence = np.full((len(residuals), len(KEYS)), -np.inf)
    prior = np.full(len(KEYS), -np.inf)
    evidence[:, 0], prior[0] = search.none.log_evidence(residuals), search.prior[0]
    for (key, cases), weight in zip(search.shown.items(), search.prior[1:], strict=True):
        if key in KEYS:
            place = KEYS.index(key)
            evidence[:, place], prior[place] = cases.log_evidence(residuals), weight
    return evidence, prior


def ranked(
    buildings: Sequence[Truth], known: diagnose_cases.Ensemble, error: PredictionError, count: int,
    seed: int,
) -> Ranked:  # fmt: skip
    """Spectra of one design's buildings, weighed by all who rank; faults that show in one building
    alone are left out there, nothing being known of them elsewhere."""
    bound = Bound(buildings, error)
    residuals, truth, building = bound.spectra(np.random.default_rng(seed), count)
    evidence = {
        "others": bound.evidence(residuals, building, own=False),
        "building": bound.evidence(residuals, building, own=True),
    }
    evidence["search"], prior = of_search(
        diagnose.Scales(known, MEASURED, error=error), residuals
    )  # fmt: skip
    use = np.isfinite(evidence["others"][np.arange(len(truth)), truth])
    kept = {who: each[use] for who, each in evidence.items()}
    return Ranked(truth[use], building[use], kept, prior)


def outcomes(several: Sequence[Ranked]) -> tuple[dict[str, np.ndarray], np.ndarray, np.ndarray]:
    """Who ranks and how -> what was found (S,) over all designs; truth (S,), building (S,)."""
    truth = np.concatenate([one.truth for one in several])
    group = np.repeat(np.arange(len(several)), [len(one.truth) for one in several])
    most = 1 + max(int(one.building.max()) for one in several)
    building = most * group + np.concatenate([one.building for one in several])
    own = np.concatenate([one.evidence["search"] + one.prior for one in several])
    hits = {"search": found(own, truth)}
    for who in ("search", "others", "building"):
        evidence = np.concatenate([one.evidence[who] for one in several])
        for sound in SOUNDS:
            name = f"{who} {100 * sound:.0f}"
            hits[name] = found(frontier(evidence, truth, group, sound), truth)
    return hits, truth, building


def table(several: Sequence[Ranked]) -> list[str]:
    """Per cent found of each fault, with standard errors of buildings, and the least of them."""
    hits, truth, building = outcomes(several)
    lines = [f"{'fault':<14}{'buildings':>10}" + "".join(f"{name:>18}" for name in hits)]
    lowest = dict.fromkeys(hits, 100.0)
    for place, key in enumerate(KEYS):
        here = truth == place
        if not here.any():
            continue
        line = f"{key:<14}{len(np.unique(building[here])):>10}"
        for name, hit in hits.items():
            counts = [
                Count(trials=int(np.sum(here & (building == one))),
                      first=int(np.sum(hit & here & (building == one))))
                for one in np.unique(building[here])
            ]  # fmt: skip
            share = 100 * float(np.mean(hit[here]))
            lowest[name] = min(lowest[name], share) if place else lowest[name]
            line += f"{share:>12.1f}{100 * scatter(counts):>6.1f}"
        lines.append(line)
    return [*lines, f"{'least':<24}" + "".join(f"{x:>12.1f}{'':6}" for x in lowest.values())]


def main() -> None:
    """Run the chosen designs and print the tables, one for each group of designs."""
    from impact.chain import predict

    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("designs", nargs="*", help=f"of {', '.join(DESIGNS)}; all when none")
    parser.add_argument("--buildings", type=int, default=6, help="of each design and spread; 6")
    parser.add_argument("--trials", type=int, default=25, help="per fault and building; 25")
    options = parser.parse_args()
    several: dict[tuple[str, str, str], list[Ranked]] = {}
    for name in options.designs or DESIGNS:
        design = read(str(DESIGNS[name]))
        known = diagnose_cases.ensemble(design, trials.SEARCH_SEED, bands_hz=MEASURED)
        whole = stated_error(predict(design), "tapping_machine")
        stated = {of: one for of, one in errors(whole).items() if of != OWN}
        for spread, first in SEED.items():
            made = [
                trials.truth(design, seed, repeats=4, keys=SHOWING, spread=spread)
                for seed in range(first, first + options.buildings)
            ]
            for label, error in stated.items():
                kind = (DESIGNS[name].parent.name, spread, label)
                one = ranked(made, known, error, options.trials, first)
                several.setdefault(kind, []).append(one)
        print(f"{name} done", flush=True)
    for kind in sorted(several, key=lambda of: (FOLDERS.index(of[0]), of[1:])):
        print("\n" + "; ".join(kind))
        print("\n".join(table(several[kind])))


if __name__ == "__main__":
    main()

"""How well any ranking could do: the trials' own distribution is known to who ranks.

python -m validation.fault_trials.bound                    from the repository's root; ten minutes
python -m validation.fault_trials.bound --buildings 4 bedroom_clips             a quick look

Many buildings are made from one design as the trials make them, each with its faults. One is left
out and its spectra, with noise and model error, are ranked by the mean likelihood about the cases
of all other buildings that show, buildings alike in weight: the evidence with the true spread of
inputs, places and sizes and the true covariance. No ranking does better in the mean over faults,
but for what more buildings would tell. The search ranks the same spectra beside it, from its
own floors and with its own prior; here half of the prior lies on "as designed", for the mean.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import multivariate_normal

from impact.base import bands
from impact.design.reader import read
from impact.site import diagnose, diagnose_cases
from impact.site.diagnose import AS_DESIGNED
from impact.site.diagnose_errors import PredictionError
from impact.site.measured import deviations
from validation.fault_trials import trials
from validation.fault_trials.__main__ import DESIGNS, scatter, summed
from validation.fault_trials.trials import MEASURED, Count, Truth

SEED = 50000  # of the buildings: none of those of the trials
SHOWING = ("bridged", "overloaded", "mis-seated", "touching", "fill missing", "wrong hanger",
           "fixture", "flanking")  # fmt: skip
PLACES = [bands.index(band) for band in MEASURED]
EIGHT = [name for name, path in DESIGNS.items() if path.parent.name == "designs"]


@dataclass(frozen=True, eq=False)
class Cases:
    """Cases of one fault that show (cases, n) [dB], each with its weight (cases,), sum 1."""

    shifts: np.ndarray
    weights: np.ndarray


class Bound:
    """Spectra of the buildings of one design and how likely each fault makes them."""

    def __init__(self, buildings: Sequence[Truth]) -> None:
        self.covariance = PredictionError().covariance(MEASURED) + np.diag(
            deviations(MEASURED) ** 2
        )
        total = np.sqrt(np.diag(self.covariance))
        self.shown = [
            {key: shift[:, PLACES][diagnose.shows(shift[:, PLACES], total)]
             for key, shift in one.shifts.items() if len(shift)}
            for one in buildings
        ]  # fmt: skip

    def others(self, number: int) -> dict[str, Cases]:
        """What is known to who ranks the spectra of building `number`."""
        found: dict[str, list[np.ndarray]] = {}
        for other, shown in enumerate(self.shown):
            for key, shifts in shown.items():
                if other != number and len(shifts):
                    found.setdefault(key, []).append(shifts)
        return {
            key: Cases(
                np.concatenate(parts),
                np.concatenate([np.full(len(one), 1 / len(one) / len(parts)) for one in parts]),
            )
            for key, parts in found.items()
        }

    def ranks(self, known: dict[str, Cases], residual: np.ndarray) -> list[str]:
        """Explanations of a residual (n,) [dB], likeliest first."""
        normal = multivariate_normal(np.zeros(len(residual)), self.covariance)
        score = {AS_DESIGNED: len(known) * normal.pdf(residual)}
        for key, cases in known.items():
            score[key] = cases.weights @ np.atleast_1d(normal.pdf(residual - cases.shifts))
        return sorted(score, key=lambda key: -score[key])

    def spectra(self, number: int, rng: np.random.Generator, count: int) -> dict[str, np.ndarray]:
        """Residuals (count, n) [dB] of each fault that shows in a building, and of none."""
        nothing = np.zeros((1, len(PLACES)))
        true = {AS_DESIGNED: nothing, **self.shown[number]}
        lower = np.linalg.cholesky(self.covariance)
        return {
            key: rng.choice(shifts, count) + rng.standard_normal((count, len(PLACES))) @ lower.T
            for key, shifts in true.items() if len(shifts)
        }  # fmt: skip


def _count(ranks: Sequence[str], key: str) -> Count:
    return Count(trials=1, first=int(ranks[0] == key), second=int(ranks[1:2] == [key]))


def study(name: str, buildings: int, count: int) -> dict[tuple[str, str], list[Count]]:
    """(who ranks, fault) -> outcomes by building; and, as (fault, fault), how often one stood
    before another that was missed."""
    design = read(str(DESIGNS[name]))
    known_to_search = diagnose_cases.ensemble(design, trials.SEARCH_SEED, bands_hz=MEASURED)
    search = diagnose.Scales(known_to_search, MEASURED)
    seeds = range(SEED, SEED + buildings)
    bound = Bound([trials.truth(design, seed, repeats=4, keys=SHOWING) for seed in seeds])
    rng = np.random.default_rng(SEED)
    out: dict[tuple[str, str], list[Count]] = {}
    for number in range(buildings):
        known = bound.others(number)
        for key, residuals in bound.spectra(number, rng, count).items():
            if key != AS_DESIGNED and key not in known:
                continue  # shows in no other building: nothing is known of it
            best = [bound.ranks(known, one) for one in residuals]
            ours = [[one.key for one in found.ranked] for found in search.weigh_all(residuals)]
            for who, ranked in (("bound", best), ("search", ours)):
                total = summed([_count(ranks, key) for ranks in ranked])
                out.setdefault((who, key), []).append(total)
            for ranks in best:
                if key not in ranks[:2]:
                    for before in ranks[:2]:
                        out.setdefault((key, before), []).append(Count(trials=1))
    return out


def main() -> None:
    """Run the chosen designs and print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("designs", nargs="*", help=f"of {', '.join(DESIGNS)}; all when none")
    parser.add_argument("--buildings", type=int, default=10, help="of each design; 10")
    parser.add_argument("--trials", type=int, default=25, help="per fault and building; 25")
    options = parser.parse_args()
    total: dict[tuple[str, str], list[Count]] = {}
    for name in options.designs or EIGHT:
        for pair, several in study(name, options.buildings, options.trials).items():
            total.setdefault(pair, []).extend(several)
        print(f"{name} done", flush=True)
    print(f"{'fault':<14}{'buildings':>10}{'search':>8}{'+-':>5}{'bound':>8}{'+-':>5}  missed for")
    for key in (*SHOWING, AS_DESIGNED):
        if ("bound", key) in total:
            print(row(key, total))


def row(key: str, total: dict[tuple[str, str], list[Count]]) -> str:
    """Per cent among the first two, first where nothing is wrong; what stood before it."""
    best = total["bound", key]
    text = f"{key:<14}{len(best):>10}"
    for several in (total["search", key], best):
        one = summed(several)
        hits = one.first + (one.second if key != AS_DESIGNED else 0)
        text += f"{100 * hits / one.trials:>8.1f}{100 * scatter(several):>5.1f}"
    whole = summed(best).trials
    missed = {b: 100 * len(n) / whole for (a, b), n in total.items() if a == key}
    most = sorted(missed.items(), key=lambda item: -item[1])[:3]
    return text + "  " + ", ".join(f"{before} {share:.0f}" for before, share in most)


if __name__ == "__main__":
    main()

"""Runs the trials on the designs of this folder, prints the tables and writes results.csv.

python -m validation.fault_trials              from the repository's root; hours
python -m validation.fault_trials --trials 10 bedroom_clips        a quick look
"""

from __future__ import annotations

import argparse
import csv
import math
from pathlib import Path

from impact.design.reader import read
from impact.site import diagnose
from impact.site.diagnose_errors import PredictionError
from validation.fault_trials import kept, trials
from validation.fault_trials.evidence import KINDS, Kind, Search
from validation.fault_trials.trials import Count

FOLDER = Path(__file__).parent
FOLDERS = ("designs", "designs_held_out", "designs_held_out_2", "designs_held_out_3",
           "designs_held_out_4", "designs_held_out_5", "designs_held_out_6")  # fmt: skip
DESIGNS = {path.stem: path for name in FOLDERS for path in sorted((FOLDER / name).glob("*.toml"))}
GOAL, GOAL_NONE = 0.80, 0.90
BUILDINGS = 4  # built from each design for each spread, each with inputs and places of its own
FIRST = {"trials": 1000, "catalogue": 30000}  # seed of the first building, beyond that given
OF = ("designs", "buildings", "error", "evidence")
OWN = "own level"
# What is assumed, and what is drawn: the models' own error alone; the whole 90 % band of the
# prediction, as `impact diagnose` has it, drawn apart from the building; the same assumed, but
# drawn the models' error alone, what inputs make of the level being that of the building.
ERRORS = ("model", "model and inputs", OWN)
# The same again, counting by the uncertainty of models and measurement alone: fainter faults too.
STRICT = f"{OWN}, counted without inputs"
COLUMNS = (*OF, "fault", "of_buildings", "standard_error_of_first_two", *vars(Count()))

SPECTRUM = KINDS[0]

Outcomes = dict[tuple[str, str, str, str, str], list[Count]]


def study(
    names: list[str], count: int, seed: int, kinds: tuple[Kind, ...] = KINDS,
    folder: Path | None = None,
) -> Outcomes:  # fmt: skip
    """(folder of the designs, spread of the buildings, error, evidence, fault) -> outcomes by
    building, `count` trials of each design in all; errors as ERRORS has them and STRICT, evidence
    beside the spectrum with the building's own level alone. folder : where what is solved is
    kept."""
    total: Outcomes = {}
    places = list(DESIGNS)
    for name in names:
        design, path = read(str(DESIGNS[name])), DESIGNS[name]
        known, stated = kept.searched(path, folder)
        search = Search(design, known, stated, kept.moved_by_inputs(path, folder))
        tried = [(label, assumed, SPECTRUM) for label, assumed in errors(stated).items()]
        tried += [(OWN, stated, kind) for kind in kinds if kind != SPECTRUM]
        tried += [(STRICT, stated, kind) for kind in dict.fromkeys((SPECTRUM, *kinds))]
        scales = {
            label: diagnose.Scales(known, trials.MEASURED, error=error)
            for label, error in errors(stated).items()
        }
        for spread, first in FIRST.items():
            for building in range(BUILDINGS):
                own = seed + first + BUILDINGS * places.index(name) + building
                real = kept.building(path, own, spread, folder)
                for label, error, kind in tried:
                    own_level = label in (OWN, STRICT)
                    weighing, site, beside = scales[OWN if own_level else label], None, None
                    if own_level:
                        beside = real.level - known.levels[0]
                        weighing, site = search.at(kind, real, own)
                    found = trials.run(
                        weighing, real, max(1, count // BUILDINGS), own, error, beside, site,
                        scales["model" if label == STRICT else label].uncertainty,
                    )  # fmt: skip
                    for key, outcome in found.items():
                        of = (path.parent.name, spread, label, kind.name, key)
                        total.setdefault(of, []).append(outcome)
        print(f"{name}: {design.name}, {known.hangers} hangers, done", flush=True)
    return total


def errors(stated: PredictionError) -> dict[str, PredictionError]:
    """What the search assumes for each of ERRORS."""
    return dict(zip(ERRORS, (PredictionError(), stated, stated), strict=True))


def summed(several: list[Count]) -> Count:
    """All buildings together."""
    return sum(several[1:], several[0])


def scatter(several: list[Count]) -> float:
    """Standard error of the share among the first two, from how it scatters between buildings, of
    which each has its own inputs: a ratio of sums over clusters (W. G. Cochran, Sampling
    Techniques, 3rd ed., 1977, sec. 6.4). NaN for fewer than two buildings."""
    shown = [one for one in several if one.trials]
    if len(shown) < 2:
        return math.nan
    hits = [one.first + one.second for one in shown]
    size = sum(one.trials for one in shown)
    share = sum(hits) / size
    off = sum((hit - share * one.trials) ** 2 for hit, one in zip(hits, shown, strict=True))
    return math.sqrt(off * len(shown) / (len(shown) - 1)) / size


def table(total: Outcomes) -> list[str]:
    """Shares as text; a row is short of its goal where it says so."""
    lines = []
    for kind in dict.fromkeys(of[:4] for of in total):
        folder, spread, error, evidence = kind
        lines += ["", f"{folder}; inputs: {spread}; error: {error}; evidence: {evidence}", HEAD]
        for of, several in total.items():
            if of[:4] == kind:
                lines.append(row(of[4], summed(several), scatter(several)))
    return lines


HEAD = (
    f"{'fault':<14}{'trials':>7}{'first':>7}{'top two':>9}{'+-':>5}{'named':>7}{'cannot':>8}"
    f"{'alike':>7}{'faint':>7}{'cannot':>8}"
)


def row(key: str, one: Count, error: float) -> str:
    """One fault: shares in per cent of the trials that show, then of those too faint to; error :
    standard error of the share among the first two."""
    text = f"{key:<14}{one.trials:>7}"
    two = 0.0
    if one.trials:
        two = (one.first + one.second) / one.trials
        text += f"{100 * one.first / one.trials:>7.0f}{100 * two:>9.1f}{100 * error:>5.1f}"
        for share, width in ((one.told, 7), (one.cannot, 8), (one.alike, 7)):
            text += f"{100 * share / one.trials:>{width}.0f}"
    else:
        text += " " * 43
    if one.faint_trials:
        text += f"{one.faint_trials:>7}{100 * one.faint_cannot / one.faint_trials:>8.0f}"
    if key == diagnose.AS_DESIGNED:
        short = one.first < GOAL_NONE * one.trials
    else:
        short = bool(one.trials) and two < GOAL
    return text + ("   short" if short else "")


def write(total: Outcomes, path: Path) -> None:
    """All counts as CSV."""
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(COLUMNS)
        for of, several in total.items():
            wide = "" if math.isnan(scatter(several)) else f"{scatter(several):.3f}"
            out.writerow([*of, len(several), wide, *vars(summed(several)).values()])


def main() -> None:
    """Run the chosen designs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("designs", nargs="*", help=f"of {', '.join(DESIGNS)}; all when none")
    parser.add_argument("--trials", type=int, default=100, help="per fault and design; 100")
    parser.add_argument("--seed", type=int, default=7, help="of the buildings; 7")
    parser.add_argument("--keep", type=Path, help="folder where what is solved slowly is kept")
    parser.add_argument(
        "--evidence", action="append", choices=[kind.name for kind in KINDS],
        help="beside the spectrum; may be given several times; all by default",
    )  # fmt: skip
    parser.add_argument("--out", type=Path, help="CSV of the counts; results.csv for a full run")
    options = parser.parse_args()
    unknown = [name for name in options.designs if name not in DESIGNS]
    if unknown:
        parser.error(f"no design {', '.join(unknown)}; there are {', '.join(DESIGNS)}")
    kinds = tuple(k for k in KINDS if options.evidence is None or k.name in options.evidence)
    names = options.designs or list(DESIGNS)
    total = study(names, options.trials, options.seed, kinds, options.keep)
    own = PredictionError().deviation
    print(f"\nmodels' own error: {own.min():.1f} to {own.max():.1f} dB")
    print("\n".join(table(total)))
    if options.out or not options.designs:
        write(total, options.out or FOLDER / "results.csv")


if __name__ == "__main__":
    main()

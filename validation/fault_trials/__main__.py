"""Runs the trials on the designs of this folder, prints the tables and writes results.csv.

python -m validation.fault_trials                       from the repository's root; some minutes
python -m validation.fault_trials --trials 10 bedroom_clips        a quick look
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

from impact.design.reader import read
from impact.site import diagnose, faults
from impact.site.diagnose_errors import PredictionError
from validation.fault_trials import trials
from validation.fault_trials.trials import Count

FOLDER = Path(__file__).parent
DESIGNS = sorted(path.stem for path in (FOLDER / "designs").glob("*.toml"))
GOAL, GOAL_NONE = 0.80, 0.90
COLUMNS = ("error", "fault", *vars(Count()))


def study(names: list[str], count: int, seed: int) -> dict[tuple[str, str], Count]:
    """(error, fault) -> outcomes over all designs.

    error : "model" draws and assumes the models' own error; "model and inputs" the whole 90 % band
    of each prediction, as `impact diagnose` does.
    """
    from impact.chain import predict
    from impact.site.diagnose_measured import deviation

    total: dict[tuple[str, str], Count] = {}
    for number, name in enumerate(names):
        design = read(str(FOLDER / "designs" / f"{name}.toml"))
        known = diagnose.ensemble(faults.bench(design), seed=seed)
        real = trials.truth(design, seed=seed + 1000 + number, repeats=4)
        band = PredictionError(deviation(predict(design), "tapping_machine"))
        for label, error in (("model", PredictionError()), ("model and inputs", band)):
            found = trials.run(known, real, count, seed + number, error=error)
            for key, outcome in found.items():
                total[label, key] = total.get((label, key), Count()) + outcome
        print(f"{name}: {design.name}, {known.hangers} hangers, done", flush=True)
    return total


def table(total: dict[tuple[str, str], Count]) -> list[str]:
    """Shares as text; a row is short of its goal where it says so."""
    lines = []
    for label in dict.fromkeys(error for error, _ in total):
        lines += ["", f"error drawn and assumed: {label}", HEAD]
        for (error, key), one in total.items():
            if error == label:
                lines.append(row(key, one))
    return lines


HEAD = (
    f"{'fault':<14}{'trials':>7}{'first':>7}{'top two':>9}{'named':>7}{'cannot':>8}"
    f"{'alike':>7}{'faint':>7}{'cannot':>8}"
)


def row(key: str, one: Count) -> str:
    """One fault: shares in per cent of the trials that show, then of those too faint to."""
    text = f"{key:<14}{one.trials:>7}"
    two = 0.0
    if one.trials:
        two = (one.first + one.second) / one.trials
        shares = (one.first / one.trials, two, one.told / one.trials, one.cannot / one.trials,
                  one.alike / one.trials)  # fmt: skip
        for share, width in zip(shares, (7, 9, 7, 8, 7), strict=True):
            text += f"{100 * share:>{width}.0f}"
    else:
        text += " " * 38
    if one.faint_trials:
        text += f"{one.faint_trials:>7}{100 * one.faint_cannot / one.faint_trials:>8.0f}"
    if key == diagnose.AS_DESIGNED:
        short = one.first < GOAL_NONE * one.trials
    else:
        short = bool(one.trials) and two < GOAL
    return text + ("   short" if short else "")


def write(total: dict[tuple[str, str], Count], path: Path) -> None:
    """All counts as CSV."""
    with path.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(COLUMNS)
        for (error, key), one in total.items():
            out.writerow([error, key, *vars(one).values()])


def main() -> None:
    """Run the chosen designs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("designs", nargs="*", help=f"of {', '.join(DESIGNS)}; all when none")
    parser.add_argument("--trials", type=int, default=100, help="per fault and design; 100")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--out", type=Path, help="CSV of the counts; results.csv for a full run")
    options = parser.parse_args()
    unknown = [name for name in options.designs if name not in DESIGNS]
    if unknown:
        parser.error(f"no design {', '.join(unknown)}; there are {', '.join(DESIGNS)}")
    total = study(options.designs or DESIGNS, options.trials, options.seed)
    own = PredictionError().deviation
    print(f"\nmodels' own error: {own.min():.1f} to {own.max():.1f} dB")
    print("\n".join(table(total)))
    if options.out or not options.designs:
        write(total, options.out or FOLDER / "results.csv")


if __name__ == "__main__":
    main()

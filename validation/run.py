"""Published cases against the project: verdict table, statistics and one plot per case.

    python validation/run.py [FOLDER...] [--output FOLDER] [--no-plots]

A FOLDER holds a case.toml (validation/README.md tells the format); without any, all folders here
that hold one are run. Writes verdict.txt, results.csv (differences by range), points.csv (each
band) and plots/<folder>.png into the output folder: validation/ for the cases kept here, else
./verdict. Exit code 0; 1 when a worked example of a standard is missed; 2 for bad input in a
folder, which stops neither its other comparisons nor the other folders.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

HERE = Path(__file__).resolve().parent
if str(HERE.parent) not in sys.path:
    sys.path.insert(0, str(HERE.parent))

import impact  # noqa: E402, F401, I001  before numpy: it keeps the linear algebra to one thread
import numpy as np  # noqa: E402

from impact.base.files import write_whole  # noqa: E402
from impact.errors import InputError  # noqa: E402
from validation import verdict  # noqa: E402
from validation.case import FILE, Case, read_case  # noqa: E402
from validation.ours import ours, over_rebounds  # noqa: E402


def folders_here() -> list[Path]:
    """All folders beside this file that hold a case."""
    return sorted(path.parent for path in HERE.glob(f"*/{FILE}"))


def run(case: Case, faults: list[str]) -> Iterator[verdict.Result]:
    """Each comparison of a case; one whose names or designs are faulty is told in `faults`."""
    for item in case.items:
        try:
            yield verdict.Result(
                case, item, np.array(item.bands_hz), ours(case, item), np.array(item.published),
                over_rebounds(case, item),
            )  # fmt: skip
        except InputError as fault:
            if str(fault) not in faults:  # one design may serve several comparisons
                faults.append(str(fault))
                print(fault, file=sys.stderr, flush=True)


def write(results: Sequence[verdict.Result], folder: Path, plots: bool) -> None:
    """The verdict, both tables and the plots into `folder`, which is made where missing."""
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / "verdict.txt", "\n".join(verdict.lines(results)).lstrip() + "\n")
    ranges = [row for result in results for row in verdict.by_range(result)]
    single = [row for result in results for row in verdict.points(result)]
    write_whole(folder / "results.csv", verdict.table(ranges, verdict.RANGE_KEYS))
    write_whole(folder / "points.csv", verdict.table(single, verdict.POINT_KEYS))
    if not plots:
        return
    (folder / "plots").mkdir(exist_ok=True)
    for case in dict.fromkeys(result.case.folder for result in results):
        mine = [result for result in results if result.case.folder == case]
        verdict.plot(mine, folder / "plots" / f"{case.name}.png")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the cases named; see the module's docstring."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("folders", nargs="*", type=Path, metavar="FOLDER")
    parser.add_argument("--output", type=Path, help="where to write; default see above")
    parser.add_argument("--no-plots", action="store_true", help="tables only")
    chosen = parser.parse_args(arguments)
    folders = [path.resolve() for path in chosen.folders] or folders_here()
    output = chosen.output or (Path("verdict") if chosen.folders else HERE)
    results: list[verdict.Result] = []
    faults: list[str] = []
    for folder in folders:
        try:
            case = read_case(folder)
            print("\n".join(verdict.title(case)), flush=True)
            for result in run(case, faults):
                results.append(result)
                print("\n".join(verdict.one(result)), flush=True)
        except InputError as fault:  # the other folders run all the same
            print(fault, file=sys.stderr)
            faults.append(str(fault))
    if not results:
        return 2
    write(results, output, not chosen.no_plots)
    print("\n".join(verdict.all_iic(results)))
    print(f"written: {output}/verdict.txt, results.csv, points.csv")
    if faults:
        return 2
    return 0 if all(r.holds for r in results if r.item.kind == "example") else 1


if __name__ == "__main__":
    sys.exit(main())

"""Solves the cases on two meshes, prints band values with the change on halving, writes CSV.

python -m validation.finite_elements                     all cases (from the repository's root)
python -m validation.finite_elements hung_ceiling --size 0.2 --lines 4     a quick look
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from validation.finite_elements import bands
from validation.finite_elements.cases import (
    ALL,
    CASES,
    ELEMENT,
    ELEMENT_BY_SCREWS,
    RANGES,
    SOURCES,
)
from validation.finite_elements.reference import Results, solve

FOLDER = Path(__file__).parent / "results"

# What is compared, per line and source, before any mean is taken.
QUANTITIES: dict[str, Callable[[Results], np.ndarray]] = {
    "mobility_real": lambda r: r.mobility.real,
    "mobility_square": lambda r: np.abs(r.mobility) ** 2,
    "floor_velocity_square": lambda r: r.mean_square_velocity[0],
    "ceiling_velocity_square": lambda r: r.mean_square_velocity[-1],
    "radiated_power": lambda r: r.radiated_power,
}


def band_values(result: Results, per_band: int) -> dict[str, np.ndarray]:
    """Mean of each quantity over sources and over the lines of each band."""
    return {
        name: bands.mean(quantity(result).mean(axis=1), per_band)
        for name, quantity in QUANTITIES.items()
    }


def main() -> None:
    """Run the chosen cases."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("cases", nargs="*", help=f"of {', '.join(CASES)}; all when none is named")
    parser.add_argument("--size", type=float, help="coarse element side [m]; 0.15, 0.1 with screws")
    parser.add_argument("--cell", type=float, default=0.2, help="radiation cell, fine [m]; 0.2")
    parser.add_argument("--lines", type=int, default=6, help="frequencies per third octave; 6")
    parser.add_argument("--out", type=Path, default=FOLDER, help="folder for the CSV files")
    options = parser.parse_args()
    unknown = [name for name in options.cases if name not in CASES]
    if unknown:
        parser.error(f"no case {', '.join(unknown)}; there are {', '.join(CASES)}")
    options.out.mkdir(parents=True, exist_ok=True)
    for name in options.cases or CASES:
        _run(name, options)


def _run(name: str, options: argparse.Namespace) -> None:
    assembly = CASES[name]()
    size = options.size or (ELEMENT_BY_SCREWS if name == "old_ceiling" else ELEMENT)
    first, last = (bands.NOMINAL.index(band) for band in RANGES.get(name, ALL))
    frequencies = bands.lines(options.lines, first, last)
    chosen = bands.NOMINAL[first : last + 1]
    # The coarse run also has coarser radiation cells, so the change shows both errors.
    coarse = solve(assembly, frequencies, SOURCES, size, 1.5 * options.cell)
    fine = solve(assembly, frequencies, SOURCES, size / 2, options.cell)
    values, before = (band_values(result, options.lines) for result in (fine, coarse))
    change = {key: 10 * np.log10(values[key] / before[key]) for key in values}
    _print(assembly.name, options.lines, size, (coarse, fine), chosen, values, change)
    _write_bands(options.out / f"{name}_bands.csv", chosen, values, change)
    _write_lines(options.out / f"{name}_lines.csv", fine)


def _print(
    title: str,
    per_band: int,
    coarse_size: float,
    results: tuple[Results, Results],
    chosen: Sequence[float],
    values: dict[str, np.ndarray],
    change: dict[str, np.ndarray],
) -> None:
    coarse, fine = results
    print(f"\n{title}: {len(SOURCES)} forces, {per_band} lines per band, per N2 (rms)")
    for size, result in ((coarse_size, coarse), (coarse_size / 2, fine)):
        print(f"  elements {size:g} m: {result.unknowns} unknowns, {result.seconds:.1f} s")
    print("  in brackets: change in dB when the element side is halved")
    print("   band     Re Y [m/Ns]       |Y|2 [m2/N2s2]     floor v2           last leaf v2"
          "       power [W]")  # fmt: skip
    for row, band in enumerate(chosen):
        cells = [f"{values[k][row]:.4e} ({change[k][row]:+.2f})" for k in QUANTITIES]
        print(f"  {band:5g}  " + "  ".join(cells))
    worst = max(np.abs(change[k]).max() for k in QUANTITIES)
    print(f"  largest change: {worst:.2f} dB", flush=True)


def _write_bands(
    path: Path,
    chosen: Sequence[float],
    values: dict[str, np.ndarray],
    change: dict[str, np.ndarray],
) -> None:
    with path.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["band_hz", *values, *(f"{key}_halving_db" for key in values)])
        for row, band in enumerate(chosen):
            numbers = [f"{values[key][row]:.6e}" for key in values]
            writer.writerow([band, *numbers, *(f"{change[key][row]:.3f}" for key in change)])


def _write_lines(path: Path, result: Results) -> None:
    with path.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["frequency_hz", "source", "mobility_imaginary", *QUANTITIES])
        columns = {key: quantity(result) for key, quantity in QUANTITIES.items()}
        for row, frequency in enumerate(result.frequencies):
            for source in range(result.mobility.shape[1]):
                numbers = [
                    result.mobility[row, source].imag,
                    *(columns[key][row, source] for key in QUANTITIES),
                ]
                writer.writerow([f"{frequency:.6f}", source, *(f"{v:.6e}" for v in numbers)])


if __name__ == "__main__":
    main()

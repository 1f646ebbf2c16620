"""Predict each design of this folder and print what came out.

    python -m validation.constructions [NAME or DESIGN.toml ...]

Nothing published stands behind these: they show that every construction runs, which of its numbers
differ, and how far modes and energy stand apart where they meet.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

import impact
from impact import chain
from impact.advice.resonance import resonances
from impact.heard.joined import join

HERE = Path(__file__).parent


def line(path: Path) -> str:
    """One line on one design."""
    joined = join(impact.read(path))
    levels = chain.band_levels(joined)
    bare, design = chain.rate(levels["bare"]), chain.rate(levels["design"])
    building = chain.rate(chain.in_building(joined, levels["design"])[0])
    found = resonances(joined.assembly)
    apart = {name: np.abs(values).max() for name, values in joined.mismatch_db.items()}
    return (
        f"{path.stem[:19]:<20}{bare['Ln_w']:>5}{design['Ln_w']:>8}"
        f"{building['Ln_w']:>9}{design['IIC']:>5}"
        f"{found.floor_fundamental:>8.1f}{found.mass_spring_mass:>8.1f}"
        f"{apart['bare']:>8.1f}{apart['design']:>8.1f}"
    )


def main(names: list[str]) -> None:
    """Print the table for the designs named, for design files, or for all of this folder."""
    files = [Path(name) for name in names if name.endswith(".toml")]
    print(f"{'':<20}{'Ln,w: bare, ceiling, building':>22}  IIC  {'floor':>5}{'f0 Hz':>8}"
          f"{'apart: bare, design dB':>24}")  # fmt: skip
    for path in [*files, *sorted(HERE.glob("*.toml"))]:
        if not names or path in files or path.stem in names:
            print(line(path), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])

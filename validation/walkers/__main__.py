"""`python -m validation.walkers [DESIGN...]`: prints the table of `SOURCE.md`."""

from __future__ import annotations

import sys
from pathlib import Path

import impact
from impact.heard.joined import join
from validation.walkers.table import HEAD, published, row

EXAMPLES = Path(__file__).parents[2] / "examples"


def main(files: list[str]) -> None:
    """One line for each design without and with its ceiling."""
    print(HEAD)
    for file in files or sorted(str(path) for path in EXAMPLES.glob("0[1-6]*.toml")):
        joined = join(impact.read(file), places=True)
        for variant in ("bare", "design"):
            print(row(joined, variant))
    print(published())


if __name__ == "__main__":
    main(sys.argv[1:])

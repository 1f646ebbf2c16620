"""First-order band against floors drawn at random, on a design.

    python -m validation.spread.samples examples/01_basement_rental.toml [COUNT [SEED]]

Both on the same draws, so that what differs is the method and not chance. Minutes for 80 floors.
"""

from __future__ import annotations

import sys

import numpy as np

import impact
from impact.base import bands
from impact.heard.joined import join
from impact.spread import expansion, samples
from impact.spread.inputs import END, inputs


def main(path: str, count: int = 80, seed: int = 1) -> None:
    """Print half widths of the 90 % band, 1.645 standard deviations, of both by band."""
    design = impact.read(path)
    joined, items = join(design), inputs(design)
    z = samples.draw(count, len(items), seed)
    drawn, _ = samples.changes(design, items, z, joined.crossover)
    first = expansion.summed(expansion.structure(joined, items), z)
    print(f"{path}: {count} floors, seed {seed}; half width of the 90 % band of the inputs, dB")
    print("     Hz   drawn  first order  difference  correlation")
    apart = []
    for i, band in enumerate(bands.NOMINAL):
        wide = [END * float(np.std(x[:, i])) for x in (drawn, first)]
        alike = float(np.corrcoef(drawn[:, i], first[:, i])[0, 1])
        apart.append(abs(wide[1] - wide[0]))
        print(f"{band:7g}{wide[0]:8.1f}{wide[1]:13.1f}{wide[1] - wide[0]:+12.1f}{alike:13.2f}")
    worst = int(np.argmax(apart))
    print(f"mean {np.mean(apart):.1f}, most {apart[worst]:.1f} dB at {bands.NOMINAL[worst]:g} Hz")


if __name__ == "__main__":
    main(sys.argv[1], *(int(number) for number in sys.argv[2:4]))

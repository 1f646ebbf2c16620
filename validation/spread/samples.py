"""Band of a prediction against floors drawn at random, on a design.

    python -m validation.spread.samples examples/01_basement_rental.toml [COUNT [SEED]]

The limits that `impact predict` and `impact predict --samples COUNT` state, model error included,
for a source that neither the machine's rebound nor the room's reverberation concerns; both move all
floors alike. Beside them the standard error by chance of the drawn limits, with and without the
help of the prediction's own, and how well the two go together floor by floor. Minutes for 80
floors.
"""

from __future__ import annotations

import sys

import numpy as np

import impact
from impact.base import bands
from impact.heard.joined import join
from impact.spread import expansion, model_error, samples
from impact.spread.inputs import inputs
from impact.spread.result import limits


def main(path: str, count: int = 80, seed: int = 1) -> None:
    """Print distances of the limits and what chance does to them, by band."""
    design = impact.read(path)
    joined, items = join(design), inputs(design)
    z = samples.draw(count, len(items), seed)
    drawn, _ = samples.changes(design, items, z, joined.crossover)
    effects = expansion.structure(joined, items)
    print(f"{path}: {count} floors, seed {seed}; limits of the 90 % band, dB")
    table(drawn, effects.changes(z), effects.changes(expansion.draws(len(items))))


def table(drawn: np.ndarray, alike: np.ndarray, many: np.ndarray) -> None:
    """Print the table for changes (draws, 28) [dB] of floors, of the prediction's for the same
    floors, and of its own for many."""
    zero, model = np.zeros(drawn.shape[1]), model_error.by_band()
    known = np.array(limits(zero, many, model))
    ends, chance = samples.controlled(zero, drawn, alike, known, model)
    _, alone = samples.controlled(zero, drawn, np.zeros_like(drawn), known, model)
    apart = known - ends
    print("     Hz   predicted - drawn     by chance   drawn alone  correlation")
    for i, band in enumerate(bands.NOMINAL):
        together = float(np.corrcoef(drawn[:, i], alike[:, i])[0, 1])
        text = f"{band:7g}{apart[0, i]:+11.1f}{apart[1, i]:+8.1f}"
        for error in (chance, alone):
            text += f"{error[0, i]:9.1f}{error[1, i]:5.1f}"
        print(f"{text}{together:13.2f}")
    side, worst = np.unravel_index(int(np.argmax(np.abs(apart))), apart.shape)
    over = int(np.sum(np.abs(apart) > 1.0))
    print(
        f"mean {np.mean(np.abs(apart)):.2f}, most {apart[side, worst]:+.1f} dB at "
        f"{bands.NOMINAL[worst]:g} Hz ({('low', 'high')[side]}), chance {chance[side, worst]:.1f}; "
        f"{over} of {apart.size} limits more than 1 dB apart"
    )


if __name__ == "__main__":
    main(sys.argv[1], *(int(number) for number in sys.argv[2:4]))

"""Band of a prediction against floors drawn at random, on a design.

    python -m validation.spread.samples examples/01_basement_rental.toml [COUNT [SEED [BAND...]]]

The limits that `impact predict` and `impact predict --samples COUNT` state, model error included,
for a source that neither the machine's rebound nor the room's reverberation concerns; both move all
floors alike. Beside them the standard error by chance of the drawn limits, with and without the
help of the prediction's own, and how well the two go together floor by floor. Minutes for 80
floors; above the bands of modes three times as many are drawn. With single bands named, of those
that modes alone make, only these are solved: some 0.1 s a floor below 100 Hz, so that thousands
can be drawn where chance is large.
"""

from __future__ import annotations

import sys

import numpy as np

import impact
from impact.base import bands, levels
from impact.design.parts import Design
from impact.heard.joined import join
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.spread import expansion, model_error, samples
from impact.spread.inputs import changed, inputs
from impact.spread.result import limits


def main(path: str, count: int = 80, seed: int = 1, *wanted: float) -> None:
    """Print distances of the limits and what chance does to them, by band; of the nominal bands
    `wanted` [Hz] alone, if any."""
    design = impact.read(path)
    joined, items = join(design), inputs(design)
    effects = expansion.structure(joined, items)
    print(f"{path}: {count} floors, seed {seed}; limits of the 90 % band, dB")
    if not wanted:
        table(samples.floors(joined, items, count, seed), effects)
        return
    places = np.array([bands.index(band) for band in wanted])
    if places.max() > joined.crossover - 2:
        raise SystemExit(f"modes alone up to {bands.NOMINAL[joined.crossover - 2]:g} Hz only")
    z = samples.draw(count, len(items), seed)
    top = bands.edges(bands.CENTRES[joined.crossover + 1])[1]
    top = min(top, 2 * bands.edges(bands.CENTRES[places.max()])[1])
    base = low_levels(design, places, top)
    moved = np.array([low_levels(changed(design, items, row), places, top) for row in z]) - base
    model = model_error.by_band()
    known = np.array(limits(np.zeros(28), effects.changes(expansion.draws(len(items))), model))
    ends, chance = samples.controlled(
        np.zeros(len(places)), moved, effects.changes(z)[:, places], known[:, places],
        model[places],
    )  # fmt: skip
    print("     Hz   predicted - drawn     by chance")
    for n, place in enumerate(places):
        apart = known[:, place] - ends[:, n]
        print(f"{bands.NOMINAL[place]:7g}{apart[0]:+11.2f}{apart[1]:+8.2f}"
              f"{chance[0, n]:9.2f}{chance[1, n]:6.2f}")  # fmt: skip


def low_levels(design: Design, places: np.ndarray, top: float) -> np.ndarray:
    """Level [dB] of the radiated power per mean-square force in bands at `places` of a design whose
    modes are kept up to `top` [Hz]."""
    assembly = assemble(design, top)
    centres = [bands.CENTRES[place] for place in places]
    return levels.decibel(lowband.transfers(assembly, assembly.whole, centres).power["design"])


def table(drawn: tuple[samples.Floors, ...], effects: expansion.Effects) -> None:
    """Print the table for drawn floors and what the prediction says of the same floors."""
    model = model_error.by_band()
    known = np.array(limits(np.zeros(28), effects.changes(expansion.draws(len(effects.items))),
                            model))  # fmt: skip
    helped: list[tuple[np.ndarray, np.ndarray]] = []
    alone: list[tuple[np.ndarray, np.ndarray]] = []
    together: list[float] = []
    for some in drawn:
        mine = some.places
        alike = effects.changes(some.z)[:, mine]
        none = np.zeros(alike.shape[1])
        for found, control in ((helped, alike), (alone, np.zeros_like(alike))):
            found.append(
                samples.controlled(none, some.changes, control, known[:, mine], model[mine])
            )
        both = zip(some.changes.T[some.best], alike.T[some.best], strict=True)
        together += [float(np.corrcoef(*pair)[0, 1]) for pair in both]
    ends, chance = samples.joined_bands(helped, drawn)
    _, lonely = samples.joined_bands(alone, drawn)
    apart = known - ends
    print("     Hz   predicted - drawn     by chance   drawn alone  correlation")
    for i, band in enumerate(bands.NOMINAL):
        text = f"{band:7g}{apart[0, i]:+11.1f}{apart[1, i]:+8.1f}"
        for error in (chance, lonely):
            text += f"{error[0, i]:9.1f}{error[1, i]:5.1f}"
        print(f"{text}{together[i]:13.2f}")
    side, worst = np.unravel_index(int(np.argmax(np.abs(apart))), apart.shape)
    over, surely = (int(np.sum(np.abs(apart) - n * chance > 1.0)) for n in (0, 2))
    print(
        f"mean {np.mean(np.abs(apart)):.2f}, most {apart[side, worst]:+.1f} dB at "
        f"{bands.NOMINAL[worst]:g} Hz ({('low', 'high')[side]}), chance {chance[side, worst]:.1f}; "
        f"{over} of {apart.size} limits more than 1 dB apart, {surely} by more than twice chance"
    )


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:4]), *map(float, sys.argv[4:]))

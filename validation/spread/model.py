"""The models' standard uncertainty from cases with measured bands.

    python -m validation.spread.model

sqrt(mean square of predicted minus measured - variance of the inputs), over all bands of the bare
timber floor, whose construction is not described: the ensemble of floors fixed beforehand stands
for its inputs. The result is copied by hand into impact/spread/data/model_error.toml.
"""

from __future__ import annotations

import numpy as np

from impact.base import bands
from validation.iso12354_2_timber_floor import ensemble

TENTH_TO_NINETIETH = 2 * 1.2816  # standard deviations of a normal distribution
INPUTS = (50.0, 400.0)  # Hz: bands in which the ensemble gives the spread of the inputs


def main() -> None:
    """Print differences by band, their root mean square, and what is left for the models."""
    levels = np.array([ensemble.level(guess) for guess in ensemble.guesses()])
    middle, measured = levels[0], ensemble.published()
    difference = np.array([
        middle[i] - measured[band] for i, band in enumerate(bands.NOMINAL) if band in measured
    ])  # fmt: skip
    shown = [band for band in bands.NOMINAL if band in measured]
    for band, own in zip(shown, difference, strict=True):
        print(f"{band:7g} Hz  {own:+5.1f} dB")
    found = ensemble.compare(levels, *INPUTS)
    spread = float(np.mean(found["high"] - found["low"])) / TENTH_TO_NINETIETH
    square = float(np.mean(difference**2))
    print(
        f"{len(difference)} bands: root mean square {square**0.5:.1f} dB, inputs {spread:.1f} dB, "
        f"models {max(0.0, square - spread**2) ** 0.5:.1f} dB"
    )


if __name__ == "__main__":
    main()

"""Forty plausible timber floors, fixed before they were first run, against the measured one.

    python -m validation.iso12354_2_timber_floor.ensemble

Spreads: loss factor 0.03 to 0.12 (joist floors in place; from memory); joist 45 to 75 mm wide, 200
to 240 mm deep; timber E 9 to 13 GPa, 400 to 480 kg/m3; board E 2.5 to 4 GPa, 650 to 760 kg/m3
(handbook ranges: Hopkins 2007 Table A2, Vigran 2008 Table 3.1); rebound 0 to 0.8. Logarithmic about
the middle for the loss factor, even for the rest; a seeded Latin hypercube.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.stats import qmc

from impact.base import bands
from impact.design.build_room import HALF_DENTED
from impact.design.parts import (
    Cavity,
    Ceiling,
    Design,
    Floor,
    Joists,
    Layer,
    Material,
    Perimeter,
    Room,
    Tapping,
)  # fmt: skip
from impact.energy import paths as energy
from impact.heard import strikes
from impact.motion import lowband
from impact.motion.assemble import assemble

HERE = Path(__file__).parent
COUNT, SEED = 40, 12354


@dataclass(frozen=True)
class Guess:
    """What the source does not say; SI."""

    loss_factor: float = 0.06
    width: float = 0.060
    depth: float = 0.220
    timber_modulus: float = 11e9
    timber_density: float = 440.0
    board_modulus: float = 3.2e9
    board_density: float = 705.0
    rebound: float = 0.4


LOW = Guess(0.03, 0.045, 0.200, 9e9, 400.0, 2.5e9, 650.0, 0.0)
HIGH = Guess(0.12, 0.075, 0.240, 13e9, 480.0, 4.0e9, 760.0, 0.8)


def design(guess: Guess) -> Design:
    """The floor of a guess; the ceiling in it is never used."""
    g, spacing, span = guess, 0.6, 4.0
    shear = g.timber_modulus / 16  # EN 338: G = E/16
    joists = Joists(
        "solid", g.width, g.depth, spacing, span, "length",
        bending_stiffness=g.timber_modulus * g.width * g.depth**3 / 12,
        axial_stiffness=g.timber_modulus * g.width * g.depth,
        shear_stiffness=shear * g.width * g.depth * 5 / 6,
        torsional_stiffness=shear * g.width**3 * g.depth / 3 * (1 - 0.63 * g.width / g.depth),
        lateral_stiffness=g.timber_modulus * g.depth * g.width**3 / 12,
        mass_per_length=g.timber_density * g.width * g.depth, loss_factor=g.loss_factor,
        volume_per_length=g.width * g.depth, edge_fixity=0.0, blocking_rows=0,
        blocking_stiffness=0.0, deck_fastening="screwed", slip_modulus_per_length=5e6,
    )  # fmt: skip
    board = Material("particleboard", g.board_density, g.board_modulus, g.board_modulus, 0.3,
                     0.02, g.board_modulus / 2.6)  # fmt: skip
    gypsum = Material("gypsum board", 760.0, 2.5e9, 2.5e9, 0.25, 0.02, 1e9)
    room = Room(4.0, 5.0, 2.5, 0.5, (), "", None, 0.0, 0.0)
    floor = Floor(joists, None, (Layer(board, 0.022, "nailed", "across"),), covering=None,
                  infill=None, loss_factor=g.loss_factor, length=4.0, width=5.0)  # fmt: skip
    ceiling = Ceiling((Layer(gypsum, 0.0125, "nailed", "across"),),
                      Perimeter("free", 0.006, 0.0, 0.0, 0.0, 0.0, ()), 0.03)  # fmt: skip
    return Design("bare timber floor", "", "metric", room, floor, Cavity(0.05, None), ceiling,
                  None, None, None, None, {}, (), Tapping(g.rebound, HALF_DENTED))  # fmt: skip


def guesses() -> list[Guess]:
    """The ensemble, middle floor first."""
    low, high = (np.array(list(vars(x).values())) for x in (LOW, HIGH))
    shares = qmc.LatinHypercube(d=len(low), rng=np.random.default_rng(SEED)).random(COUNT)
    values = low + shares * (high - low)
    values[:, 0] = low[0] * (high[0] / low[0]) ** shares[:, 0]
    return [Guess(), *(Guess(*(float(v) for v in row)) for row in values)]


def level(guess: Guess, top: float = 400.0) -> np.ndarray:
    """Normalized tapping-machine level of the bare floor (28,) [dB]; modes up to `top` [Hz],
    energy above."""
    built = design(guess)
    count = bands.index(top) + 1
    centres = bands.CENTRES[:count]
    assembly = assemble(built, bands.edges(centres[-1])[1])
    low = lowband.transfers(assembly, assembly.bare, centres, (10, 8))
    high = energy.transfer(built, np.array(bands.CENTRES), ceiling=False, exact=True)
    power = np.array(high.power_per_force)
    power[:count] = low.power["design"]
    mobility = np.array(high.mobility, complex)
    mobility[:count] = low.mobility
    return strikes.band_levels(strikes.SOURCES["tapping_machine"], power, built, mobility)


def published() -> dict[float, float]:
    """Nominal band [Hz] -> measured level [dB]."""
    with (HERE / "published.csv").open() as lines:
        return {float(r["band_hz"]): float(r["Ln_bare_timber_floor_db"])
                for r in csv.DictReader(lines)}  # fmt: skip


def compare(found: np.ndarray, low: float = 50.0, high: float = 400.0) -> dict[str, np.ndarray]:
    """Bands, measured, middle floor, and the 10 and 90 % points of the ensemble [dB].

    found : levels (41, 28) of `guesses` [dB].
    """
    theirs = published()
    chosen = [i for i, b in enumerate(bands.NOMINAL) if low <= b <= high and b in theirs]
    return {
        "band_hz": np.array([bands.NOMINAL[i] for i in chosen]),
        "measured": np.array([theirs[bands.NOMINAL[i]] for i in chosen]),
        "middle": found[0, chosen],
        "low": np.percentile(found[1:, chosen], 10, axis=0),
        "high": np.percentile(found[1:, chosen], 90, axis=0),
    }


def main() -> None:
    """Print the comparison."""
    found = np.array([level(g) for g in guesses()])
    for low, high in ((50.0, 400.0), (50.0, 5000.0)):
        r = compare(found, low, high)
        inside = (r["measured"] >= r["low"]) & (r["measured"] <= r["high"])
        error = r["middle"] - r["measured"]
        print("  band Hz  measured  middle  10 %   90 %")
        for row in zip(*(r[k] for k in ("band_hz", "measured", "middle", "low", "high")),
                       strict=True):  # fmt: skip
            print("  {:7g}  {:8.1f}  {:6.1f}  {:5.1f}  {:5.1f}".format(*row))
        print(
            f"{low:g}-{high:g} Hz: inside {inside.mean():.0%}, mean width"
            f" {np.mean(r['high'] - r['low']):.1f} dB, middle floor: mean error"
            f" {error.mean():+.1f} dB, mean absolute error {np.abs(error).mean():.1f} dB"
        )


if __name__ == "__main__":
    main()

"""Whole floors drawn at random: every input at once, each floor solved anew.

The check on `impact.spread.expansion`, which moves one input at a time on the modes of the design.
It costs seconds a floor.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from impact import lowband
from impact.assemble import assemble
from impact.base import bands, levels
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.joined import blend
from impact.spread.inputs import Input

FAR = 2.5  # draws beyond this many standard deviations are drawn in to it: ranges are not endless


def draw(count: int, size: int, seed: int) -> np.ndarray:
    """Standard normal variables (count, size), each evenly stratified (Latin hypercube)."""
    from scipy.special import ndtri
    from scipy.stats import qmc

    if size == 0:
        return np.zeros((count, 0))
    shares = qmc.LatinHypercube(d=size, rng=np.random.default_rng(seed)).random(count)
    return np.clip(np.asarray(ndtri(shares)), -FAR, FAR)


def changed(design: Design, items: Sequence[Input], z: np.ndarray) -> Design:
    """The design with each input moved by its z (inputs,)."""
    for item, own in zip(items, z, strict=True):
        design = item.change(design, float(own))
    return design


def power(design: Design, middle: int, bare: bool = False) -> np.ndarray:
    """Sound power per mean-square force (28,) [W/N²] of a design on few lines per band.

    middle : place in the bands where modes hand over to the energy balance (`Joined.crossover`).
    bare : without the new ceiling.
    """
    centres = np.array(bands.CENTRES)
    high = energy.transfer(design, centres, ceiling=not bare).power_per_force
    top = middle + 1
    assembly = assemble(design, bands.edges(centres[top])[1])
    stack = assembly.bare if bare else assembly.whole
    lines = lowband.LINES_BARE if bare else lowband.LINES_QUICK
    low = lowband.transfers(assembly, stack, list(centres[: top + 1]), lines)
    return blend(low.power["design"], high, middle)[0]


def changes(
    design: Design, items: Sequence[Input], z: np.ndarray, middle: int
) -> tuple[np.ndarray, list[Design]]:
    """Change of the radiated power [dB] of every drawn floor (count, 28), and the floors.

    z : (count, inputs).
    """
    base = levels.decibel(power(design, middle))
    floors = [changed(design, items, row) for row in z]
    return np.array([levels.decibel(power(floor, middle)) - base for floor in floors]), floors

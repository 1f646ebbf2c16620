"""Whole floors drawn at random: every input at once, each floor solved anew.

The check on `impact.spread.expansion`, which moves one input at a time on the modes of the design.
It costs seconds a floor.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from impact.base import bands, levels
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.heard.joined import blend
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.spread import expansion, model_error
from impact.spread.inputs import FAR, Input, inputs
from impact.spread.result import Spread, limits

if TYPE_CHECKING:
    from impact.heard.joined import Joined

SEED = 1


def sampled(
    joined: Joined, heard: dict[str, np.ndarray], first: Spread, count: int, seed: int = SEED
) -> Spread:
    """The band about `heard` (source -> levels (28,) [dB]) from `count` floors drawn at random.

    first : the band of `expansion.spread`, whose shares stay and from which the distance is told.
    The room's own modes stay as in the design.
    """
    design = joined.assembly.design
    items = inputs(design)
    z = draw(count, len(items), seed)
    structure, floors = changes(design, items, z, joined.crossover)
    model = model_error.by_band()
    by_source = {
        name: structure + np.array([expansion.outside(joined, floor, name) for floor in floors])
        for name in heard
    }
    low, high = {}, {}
    for name, level in heard.items():
        low[name], high[name] = limits(level, by_source[name], model)
    numbers = {}
    for name, source, value in expansion.NUMBERS:
        base = value(heard[source])
        moved = np.array([value(heard[source] + row) - base for row in by_source[source]])
        numbers[name] = expansion.about(value, heard[source], moved, model)
    return replace(
        first, low=low, high=high, numbers=numbers,
        method=f"{count} floors drawn at random from all inputs at once (seed {seed}), each solved "
        "anew; model error in quadrature",
        remark=_distance(first, low, high),
    )  # fmt: skip


def _distance(first: Spread, low: dict[str, np.ndarray], high: dict[str, np.ndarray]) -> str:
    """How far the first-order band lies from the sampled one, at most, and where."""
    apart = {
        name: np.maximum(np.abs(low[name] - first.low[name]), np.abs(high[name] - first.high[name]))
        for name in low
    }
    worst = max(apart, key=lambda name: float(apart[name].max()))
    band = bands.NOMINAL[int(np.argmax(apart[worst]))]
    mean = float(np.mean([a.mean() for a in apart.values()]))
    return (
        f"The limits of the first-order band lie {mean:.1f} dB from these in the mean and "
        f"{apart[worst].max():.1f} dB at most ({worst}, {band:g} Hz)."
    )


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

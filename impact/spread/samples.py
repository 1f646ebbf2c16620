"""Whole floors drawn at random: every input at once, each floor solved anew.

The check on `impact.spread.expansion`, which moves single inputs, and all on some floors, in the
modes of the design and in averages by energy. Floors drawn have their own modes and their own bays.
It costs seconds a floor, so there are few, and chance moves the limits: of N floors, the 5 % point
of a normal variable has a standard error of 2.1 standard deviations over sqrt N (M. G. Kendall,
A. Stuart, The Advanced Theory of Statistics, vol. 1, sec. 10.10). The expansion takes most of it
away: its limits for the very floors drawn are off by nearly the same chance as theirs, and without
chance they are known,

    limit = limit of the floors + b (limit of the expansion - its limit for the floors drawn) ,

with b the slope between the two when floors are drawn again from those drawn (T. C. Hesterberg,
B. L. Nelson, Control variates for probability and quantile estimation, Management Science 44 (1998)
1295-1312). What scatters still, in those draws again, is told. Above the bands of modes a floor
costs a quarter, and more are drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from impact.base import bands, levels
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.heard.joined import blend, blended_from
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.spread import expansion, model_error
from impact.spread.draws import draw
from impact.spread.inputs import Input, changed
from impact.spread.result import Spread, limits

if TYPE_CHECKING:
    from impact.heard.joined import Joined

SEED = 1
ABOVE = 3  # times as many floors above the bands of modes
AGAIN = 100  # times the floors are drawn again from those drawn: the scatter is good to 7 %


def sampled(
    joined: Joined, heard: dict[str, np.ndarray], first: Spread, count: int, seed: int = SEED
) -> Spread:
    """The band about `heard` (source -> levels (28,) [dB]) from `count` floors drawn at random.

    first : the band of `expansion.spread`, whose shares stay and from which the distance is told.
    The room's own modes stay as in the design.
    """
    effects = first.effects
    assert effects is not None
    model = model_error.by_band()
    drawn = floors(joined, effects.items, count, seed)
    by_source: dict[str, np.ndarray] = {}
    found = {}
    for name, level in heard.items():
        known = np.array([first.low[name], first.high[name]])
        parts = []
        for some in drawn:
            own = np.array([expansion.outside(joined, one, name) for one in some.designs])
            own = own[:, some.places]
            moved, alike = some.changes + own, effects.changes(some.z)[:, some.places] + own
            parts.append(controlled(
                level[some.places], moved, alike, known[:, some.places], model[some.places]
            ))  # fmt: skip
            by_source.setdefault(name, moved)  # of the first, in all bands
        found[name] = joined_bands(parts, drawn)
    numbers = {}
    for name, source, value in expansion.NUMBERS:
        base = value(heard[source])
        moved = np.array([value(heard[source] + row) - base for row in by_source[source]])
        numbers[name] = expansion.about(value, heard[source], moved, model)
    low, high = ({name: ends[side] for name, (ends, _) in found.items()} for side in (0, 1))
    return replace(
        first, low=low, high=high, numbers=numbers,
        method=f"{count} floors drawn at random from all inputs at once (seed {seed}), each solved "
        f"anew, {ABOVE * count} above the bands of modes; model error in quadrature",
        remark=_distance(first, found),
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Floors:
    """Floors drawn at random: z (draws, inputs), the designs, the change (draws, n) [dB] of their
    radiated power in the bands `places`, and which of these they serve for, `best`."""

    z: np.ndarray
    designs: list[Design]
    changes: np.ndarray
    places: slice
    best: slice


def floors(
    joined: Joined, items: Sequence[Input], count: int, seed: int = SEED
) -> tuple[Floors, Floors]:
    """`count` floors in all bands, and ABOVE times as many in those above the modes'."""
    design, middle = joined.assembly.design, joined.crossover
    above = slice(middle + 2, len(bands.CENTRES))
    z = draw(count, len(items), seed)
    whole, designs = changes(design, items, z, middle)
    more = draw(ABOVE * count, len(items), seed)
    others = [changed(design, items, row) for row in more]
    centres = np.array(bands.CENTRES[above])
    power = [energy.transfer(one, centres, exact=True).power_per_force for one in (design, *others)]
    moved = levels.decibel(np.array(power[1:]) / power[0])
    return (
        Floors(z, designs, whole, slice(0, len(bands.CENTRES)), slice(0, above.start)),
        Floors(more, others, moved, above, slice(0, None)),
    )


def joined_bands(
    parts: Sequence[tuple[np.ndarray, np.ndarray]], drawn: Sequence[Floors]
) -> tuple[np.ndarray, np.ndarray]:
    """Limits and their standard errors (2, 28) of `controlled`, each band from the floors that
    serve best for it."""
    ends, errors = (
        np.hstack([part[number][:, some.best] for part, some in zip(parts, drawn, strict=True)])
        for number in (0, 1)
    )
    return ends, errors


def controlled(
    level: np.ndarray, drawn: np.ndarray, alike: np.ndarray, known: np.ndarray, model: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Limits of a level (2, n) [dB] from few drawn floors, and their standard error by chance.

    level : (n,) as predicted. drawn : (draws, n) changes of the floors; alike : the same floors
    by the expansion. known : (2, n) its limits without chance. model : (n,) standard
    uncertainty of the model.
    """
    rng = np.random.default_rng(0)
    ends, same = (np.array(limits(level, some, model)) for some in (drawn, alike))
    again = np.empty((2, AGAIN, *ends.shape))
    for number in range(AGAIN):
        rows = rng.integers(0, len(drawn), len(drawn))
        again[0, number] = limits(level, drawn[rows], model)
        again[1, number] = limits(level, alike[rows], model)
    about = again - again.mean(axis=1, keepdims=True)
    together = np.sum(about[0] * about[1], axis=0)
    slope = np.clip(together / np.maximum(np.sum(about[1] ** 2, axis=0), 1e-12), 0.0, 1.0)
    return ends + slope * (known - same), np.std(about[0] - slope * about[1], axis=0)


def _distance(first: Spread, found: dict[str, tuple[np.ndarray, np.ndarray]]) -> str:
    """How far the band without drawn floors lies from the sampled one, at most, and where."""
    apart = {
        name: np.abs(ends - np.array([first.low[name], first.high[name]]))
        for name, (ends, _) in found.items()
    }
    worst = max(apart, key=lambda name: float(apart[name].max()))
    side, place = np.unravel_index(int(np.argmax(apart[worst])), apart[worst].shape)
    mean = float(np.mean([a.mean() for a in apart.values()]))
    return (
        f"The limits of the band without drawn floors lie {mean:.1f} dB from these in the mean and "
        f"{apart[worst].max():.1f} dB at most ({worst}, {bands.NOMINAL[place]:g} Hz), with a "
        f"standard error of {found[worst][1][side, place]:.1f} dB there by chance."
    )


def power(design: Design, middle: int, bare: bool = False) -> np.ndarray:
    """Sound power per mean-square force (28,) [W/N²] of a design.

    middle : place in the bands where modes hand over to the energy balance (`Joined.crossover`).
    bare : without the new ceiling.
    """
    centres = np.array(bands.CENTRES)
    top, blended = middle + 1, blended_from(middle)
    high = energy.transfer(
        design, centres, not bare, exact=True, reach=(blended, blended)
    ).power_per_force
    assembly = assemble(design, bands.edges(centres[top])[1])
    stack = assembly.bare if bare else assembly.whole
    lines = lowband.LINES_BARE if bare else lowband.LINES
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

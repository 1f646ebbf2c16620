"""The band about a prediction: every input to both ends of its range, alone; the effects add.

With z_i the inputs as standard normal variables (`impact.spread.inputs`) and d_i(z_i) what input i
does alone to a level [dB], drawn as a parabola through its two ends,

    change of the level = sum over inputs of d_i(z_i) ,

the first-order part of the high-dimensional representation of the level (I. M. Sobol',
Mathematics and Computers in Simulation 55 (2001) 271-280). Where the energy balance serves, effects
add in each path by itself (`impact.spread.by_path`). In bands that few modes make, one sharp
resonance is moved in and out by several inputs and effects do not add: there the sum is moved,
stretched and bent to the mean, the standard deviation and the skewness that some floors with all
inputs moved at once show (`impact.spread.together`). Few frequencies tell these floors' levels; how
far they miss the design's own level is known and is no part of what inputs do: levels count from
the design's level as predicted. The model's own error joins in quadrature.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.advice import findings as advice
from impact.base import bands, levels
from impact.design.parts import Design
from impact.energy.crowding import MODES
from impact.heard import course, strikes
from impact.sound import room
from impact.source import people
from impact.spread import by_path, modal, model_error, together
from impact.spread.by_path import ByPath
from impact.spread.draws import draw, summed, variance
from impact.spread.in_bays import Known
from impact.spread.inputs import END, Input, inputs
from impact.spread.result import Share, Spread, limits
from impact.spread.together import Curve

if TYPE_CHECKING:
    from impact.heard.joined import Joined

DRAWS = 4096  # of the sum of effects
LOW_BANDS = 50.0  # Hz: below it nothing measured exists to hold a prediction against
SUM_BANDS = (100.0, 2500.0)  # Hz, of CI in ISO 717-2


@dataclass(frozen=True, eq=False)
class Effects:
    """What inputs do to the radiated power.

    items : the inputs. low : (inputs, 2, n) change [dB] with each input at its ends, in the bands
    found from modes. high : the same by path, in the bands above. runs : z (runs, inputs) of floors
    moved in all inputs at once, found : their changes (runs, 28) [dB], NaN where not solved.
    curve : from sums of effects to changes.
    """

    items: tuple[Input, ...]
    low: np.ndarray
    high: ByPath
    runs: np.ndarray
    found: np.ndarray
    curve: Curve

    @property
    def ends(self) -> np.ndarray:
        """Change [dB] with each input at its ends (inputs, 2, 28)."""
        return np.concatenate([self.low, self.high.alone()], axis=-1)

    def changes(self, z: np.ndarray) -> np.ndarray:
        """Change [dB] (draws, 28) with all inputs at z (draws, inputs)."""
        return self.curve(_added(self.low, self.high, z))


def _added(low: np.ndarray, high: ByPath, z: np.ndarray) -> np.ndarray:
    """Sum of effects [dB] (draws, 28) with all inputs at z (draws, inputs)."""
    return np.hstack([summed(low, z), high.changes(z)])


def spread(
    joined: Joined, heard: dict[str, np.ndarray], items: Sequence[Input] | None = None,
    effects: Effects | None = None,
) -> Spread:  # fmt: skip
    """The band about `heard`, source -> levels (28,) [dB] as predicted with `joined`.

    items : in place of the inputs of the design. effects : `structure` of these items, where it is
    already known.
    """
    items = inputs(joined.assembly.design) if items is None else items
    effects = structure(joined, items) if effects is None else effects
    ends = effects.ends
    by_source = {name: of_source(joined, items, ends, name) for name in heard}
    z = draws(len(items))
    alike = effects.changes(z)
    model = model_error.by_band()
    flat = np.array(limits(np.zeros(len(bands.NOMINAL)), alike, model))
    low, high = {}, {}
    for name, level in heard.items():
        own = by_source[name] - ends
        if own.any():
            low[name], high[name] = limits(level, alike + summed(own, z), model)
        else:
            low[name], high[name] = level + flat
    numbers, shares = _numbers(effects, heard, by_source, model, z)
    return Spread(
        low, high, numbers, shares, model,
        f"each of {len(items)} inputs moved alone to both ends of its range, the effects added; in "
        f"bands with few modes all inputs moved at once as well, on up to {len(effects.runs)} "
        "floors; model error added in quadrature",
        model_error.calibrated(LOW_BANDS), effects=effects,
    )  # fmt: skip


def structure(joined: Joined, items: Sequence[Input]) -> Effects:
    """What each input does to the radiated power, and all do together.

    Single effects come from the modes up to 100 Hz, and as long as the floor has fewer modes in a
    band than an energy balance wants, or as far as they are solved; from the energy balance above:
    where modes overlap, both move alike and the energy balance costs less. Together inputs are
    moved in all bands that modes alone make.
    """
    design = joined.assembly.design
    top = min(max(modal.TOP, _sparse(joined)), joined.crossover)
    centres = np.array(bands.CENTRES[top + 1 :])
    known = Known(
        {name: power[top + 1 :] for name, power in joined.paths.items()}, joined.hung[top + 1 :],
        max(joined.crossover - 1 - (top + 1), 0),
    )  # fmt: skip
    high = by_path.effects(design, items, centres, modal.OUTSIDE, known)
    z, many, others = together.runs(items), draws(len(items)), together.others(items)
    loud = np.zeros(len(bands.CENTRES), bool)
    loud[top + 1 :] = np.std(high.changes(np.where(others, many, 0.0)), axis=0) > modal.ALONE
    moved = modal.changes(joined.assembly, items, top, joined.crossover - 2, loud)
    added = _added(moved.ends, high, z)
    found = added.copy()
    rest = _added(moved.ends, high, np.where(others, z, 0.0))
    missed = levels.decibel(moved.power / joined.power["design"][: len(moved.power)])
    for place, whole in enumerate(moved.whole):
        own = moved.runs[:, place] + missed[place] + (0.0 if whole else rest[:, place])
        found[:, place] = added[:, place] if np.isnan(own).all() else own
    curve = together.fitted(added, found, _added(moved.ends, high, many))
    return Effects(tuple(items), moved.ends, high, z, found, curve)


def _sparse(joined: Joined) -> int:
    """Place of the highest band, of those without gap, with fewer floor modes than MODES."""
    floor = next(leaf for leaf in joined.assembly.whole.leaves if leaf.name == "floor")
    frequency = np.asarray(floor.omega) / (2 * np.pi)
    for place in range(modal.TOP + 1, len(bands.CENTRES)):
        low, high = bands.edges(bands.CENTRES[place])
        if np.sum((frequency >= low) & (frequency < high)) >= MODES:
            return place - 1
    return len(bands.CENTRES) - 1


def of_source(joined: Joined, items: Sequence[Input], ends: np.ndarray, name: str) -> np.ndarray:
    """Change of a source's levels [dB] with each input at its ends (inputs, 2, 28): that of the
    structure `ends`, and of blow and room where they concern this source."""
    out = ends.copy()
    for i, item in enumerate(items):
        if item.kind in modal.OUTSIDE:
            for k, z in enumerate((-END, END)):
                out[i, k] = outside(joined, item.change(joined.assembly.design, z), name)
    return out


def outside(joined: Joined, changed: Design, name: str) -> np.ndarray:
    """Change of a source's levels (28,) [dB] that the structure has no part in: the tapping
    machine's blow, and the reverberation of the room described for sources heard in it."""
    design = joined.assembly.design
    out = np.zeros(len(bands.NOMINAL))
    source = strikes.SOURCES[name]
    if name == strikes.TAPPING:
        after, before = (source.force(one, joined.mobility) for one in (changed, design))
        out = out + levels.decibel(after / before)
    elif "this room" in source.kind:
        one = people.person(design, people.SOURCES[name])
        times = [room.dies_away(each) for each in (changed, design)]
        gain = [np.maximum(t, 1e-9) * course.fast_and_slow(one, t)[0].max(axis=-1) for t in times]
        out = out + levels.decibel(gain[0] / gain[1])
    return out


@lru_cache(maxsize=8)
def draws(size: int) -> np.ndarray:
    """Standard normal variables (DRAWS, size), always the same."""
    return draw(DRAWS, size, 0)


def _numbers(
    effects: Effects, heard: dict[str, np.ndarray], by_source: dict[str, np.ndarray],
    model: np.ndarray, z: np.ndarray,
) -> tuple[dict[str, dict[str, float]], dict[str, list[Share]]]:  # fmt: skip
    numbers, shares = {}, {}
    items = effects.items
    outside = np.array([item.kind in modal.OUTSIDE for item in items], bool)
    complete = ~np.isnan(effects.found).any(axis=1)
    for name, source, value in NUMBERS:
        level = heard[source]
        base = value(level)
        ends = np.array([[value(level + end) - base for end in pair] for pair in by_source[source]])
        ends = ends.reshape(len(items), 2)
        found = np.array([value(level + moved) - base for moved in effects.found[complete]])
        added = summed(ends, np.where(outside, 0.0, z))
        curve = together.fitted(summed(ends, effects.runs[complete]), found, added)
        beside = summed(ends, np.where(outside, z, 0.0))
        numbers[name] = about(value, level, curve(added) + beside, model)
        part = variance(ends)
        total = float(part.sum()) or 1.0
        parts = [
            Share(item.key, item.label, item.measure, round(float(v / total), 4),
                  round(float(e[0]), 2), round(float(e[1]), 2))
            for item, v, e in zip(items, part, ends, strict=True)
        ]  # fmt: skip
        shares[name] = sorted(parts, key=lambda share: -share.of_variance)
    return numbers, shares


def about(
    value: Callable[[np.ndarray], float], level: np.ndarray, moved: np.ndarray, model: np.ndarray
) -> dict[str, float]:
    """5 % and 95 % points of a single number about its prediction [dB].

    moved : (draws,) its changes. The model's errors in all bands are taken to go together.
    """
    own = float(_weights(value, level) @ model)
    low, high = limits(np.zeros(()), moved, np.array(own))
    return {"low_db": round(float(low), 2), "high_db": round(float(high), 2)}


def _sum(level: np.ndarray) -> float:
    """Ln,w + CI = 10 lg sum 10^(Ln/10) - 15 over 100-2500 Hz (ISO 717-2:2020 Annex A.2.1)."""
    return float(levels.add(level[bands.between(SUM_BANDS)])) - 15


def _weights(value: Any, level: np.ndarray) -> np.ndarray:
    """(28,) how much a single number moves with each band [dB/dB]."""
    step = 0.01
    base = value(level)
    return np.array([(value(level + step * one) - base) / step for one in np.eye(len(level))])


# Name, source and value of the single numbers whose spread is told.
NUMBERS: tuple[tuple[str, str, Callable[[np.ndarray], float]], ...] = (
    ("thud", people.BAREFOOT, advice.heard_thud), ("Ln_w_plus_CI", strikes.TAPPING, _sum),
)  # fmt: skip

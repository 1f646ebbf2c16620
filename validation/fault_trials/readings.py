"""Deflections read at the hangers of a building with a fault, as the trials have them.

They come from gravity on the building itself, with its own boards, floor and hangers, its own
places of the fault, and chance drawn here. `ASSUMED` is as the search assumes it; `WORSE` is a
careless reader of worse hangers, of which the search knows nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impact.design.parts import Design
from impact.site import diagnose_rest as rest
from impact.site.faults import Member
from impact.site.settled import OVERLOADED, Hung
from impact.study.layout import READING

GAUGE = 0.0001  # m: caliper or dial gauge; common practice, no source


@dataclass(frozen=True)
class Chance:
    """How readings come about. error : standard uncertainty of one over that which is stated. own :
    scatter between hangers of one lot, as a share. static, another : deviation of the logarithm of
    static over dynamic stiffness, of the type drawn and of another. slips : share of readings.
    later : share of screws, lines and loads that came after the reading. overloaded : deflection
    over that drawn."""

    error: float = 1.0
    own: float = rest.OWN
    static: float = rest.STATIC
    another: float = rest.ANOTHER
    slips: float = rest.SLIPS
    later: float = rest.LATER
    overloaded: tuple[float, float] = OVERLOADED


ASSUMED = Chance()
WORSE = Chance(1.6, 0.15, 0.25, 0.35, 0.05, 0.35, (1.1, 2.0))
CHANCES = {"as assumed": ASSUMED, "worse": WORSE}


def read(
    drawn: Design, real: Design, hung: Hung, key: str, case: Member | None, chance: Chance,
    rng: np.random.Generator, error: float = READING,
) -> np.ndarray:  # fmt: skip
    """Deflections (H,) [m] as read, NaN where no hanger is: of building `real` for the design
    `drawn`, whose hangers are `hung`, with one case of a fault; none for "as designed". error :
    stated uncertainty of a reading, and the step it is read in [m]."""
    count = len(hung.drawn)
    assert drawn.hangers is not None
    assert real.hangers is not None
    softer = drawn.hangers.dynamic_stiffness / real.hangers.dynamic_stiffness
    common = softer * np.exp(chance.static * rng.standard_normal())
    ratio = np.ones(count)
    late = key in rest.LATE and rng.random() < chance.later
    if case is not None and key in rest.SHOWN_AT_REST and not late:
        ratio = _moved(real, hung, key, case, chance, rng)
    true = hung.drawn * common * ratio * (1 + chance.own * rng.standard_normal(count))
    values = true + chance.error * error * rng.standard_normal(count)
    slipped = rng.random(count) < chance.slips
    values[slipped] = rng.uniform(0, 2 * np.max(hung.drawn), int(np.sum(slipped)))
    values[np.isnan(ratio)] = np.nan
    return np.asarray(np.maximum(error * np.round(values / error), 0.0))


def _moved(
    real: Design, hung: Hung, key: str, case: Member, chance: Chance, rng: np.random.Generator
) -> np.ndarray:
    """Deflections (H,) over those of the building without the fault."""
    from impact.link.springs import fixing

    own = fixing(real)
    stiffer = np.ones((1, len(hung.drawn)))
    for number, value in case.change.stiffness:
        stiffer[0, number] = (value / own).real
    if key == "overloaded":
        low, high = np.log(chance.overloaded)
        more = np.exp(rng.uniform(low, high, len(hung.drawn)))
        return np.where(stiffer[0] != 1, more, 1.0)
    if key == "underloaded":
        return stiffer[0]
    moved = hung.moved(stiffer)[0]
    if key == "bridged":  # driven with one layer or the next
        stage = rng.choice(hung.stages)
        moved = stage + (1 - stage) * moved
    if key == rest.WRONG:
        moved = moved * np.exp(chance.another * rng.standard_normal())
    return np.asarray(moved)

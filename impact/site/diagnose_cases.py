"""Cases of faults, and what each does to the levels: on floors whose inputs are drawn.

Nobody knows the stiffness of a hanger as built. What a fault does, s(x, c) in dB with x the inputs
and c its size and place, is worked out on FLOORS floors whose inputs are drawn from the ranges the
design states or the catalogue gives (`spread.inputs`, evenly stratified: `spread.draws`), each with
cases of its own. The first floor is the drawing; the only one where the design has no ranges.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from impact.base import bands
from impact.base.parallel import in_parallel
from impact.design.parts import Design
from impact.site import faults
from impact.site.bench import Bench
from impact.site.faults import Member
from impact.site.shifts import level_changes
from impact.spread.draws import draw
from impact.spread.inputs import changed, inputs
from impact.spread.together import OUTSIDE

FLOORS = 12
FLOOR_SEED = 31  # of the drawn inputs
REPEATS_ALONE, REPEATS = 8, 3  # random places of each size: on the drawing alone, on each of many
# So many times as many on each of many where a fault has few sizes or shows in few of its cases:
# three cases on two floors stood for all hangers of another type below one ceiling.
MORE = {"wrong hanger": 4, "mis-seated": 3, "overloaded": 2}
# What costs a solution of its own, or seldom shows, is tried on every so manyth floor only, from
# the first one; of missing fill one case after the other.
EVERY = {"touching": 2, "missing": 3, "underloaded": 3, "fill packed": 4, "level": 4}
IN_TURN = ("fill missing",)


@dataclass(frozen=True, eq=False)
class Ensemble:
    """What each fault would do to a design's levels.

    members : fault -> cases. shifts : fault -> (cases, 28) [dB], NaN in low bands that were not
    asked for. floors : fault -> (cases,) number of the floor that each is on; all on one if empty.
    levels : (floors, 28) of each without a fault [dB re 1 W/N2], NaN as above.
    """

    hangers: int
    members: Mapping[str, list[Member]]
    shifts: Mapping[str, np.ndarray]
    floors: Mapping[str, np.ndarray] = field(default_factory=dict)
    levels: np.ndarray = field(default_factory=lambda: np.zeros((1, len(bands.NOMINAL))))

    @property
    def count(self) -> int:
        """Number of floors."""
        return 1 + max((int(numbers.max()) for numbers in self.floors.values()), default=0)


def drawn(design: Design, count: int, seed: int = FLOOR_SEED) -> list[Design]:
    """The design, and `count` - 1 like it whose inputs are drawn from their ranges; the design
    alone where no input of the structure has a range."""
    items = [item for item in inputs(design) if item.kind not in OUTSIDE]
    if count == 1 or not items:
        return [design]
    others = [changed(design, items, z) for z in draw(count - 1, len(items), seed)]
    return [design] if all(one == design for one in others) else [design, *others]


def ensemble(
    design: Design, seed: int = 0, floors: int = FLOORS, bands_hz: Sequence[float] | None = None
) -> Ensemble:
    """Cases of every fault and what they do to the levels.

    seed : of the places of faults. floors : number of floors, of which the first is the drawing.
    bands_hz : nominal third octaves that are wanted, all by default.
    """
    designs = drawn(design, floors)
    wanted = None if bands_hz is None else [bands.index(float(band)) for band in bands_hz]

    def on(number: int) -> tuple[dict[str, list[Member]], np.ndarray, dict[str, np.ndarray]]:
        at, made = (
            _alone(design, seed) if len(designs) == 1 else _one_of_many(designs, number, seed)
        )
        return made, *levels_moved(at, made, wanted)

    found = in_parallel(on, range(len(designs)))
    keys = [key for key in faults.FAULTS if any(made[key] for made, *_ in found)]
    return Ensemble(
        len(faults.bench(design, 0).assembly.placement.points),
        {key: [case for made, *_ in found for case in made[key]] for key in keys},
        {key: np.concatenate([moved[key] for *_, moved in found]) for key in keys},
        {key: np.repeat(np.arange(len(found)), [len(made[key]) for made, *_ in found])
         for key in keys},
        np.array([level for _, level, _ in found]),
    )  # fmt: skip


def _alone(design: Design, seed: int) -> tuple[Bench, dict[str, list[Member]]]:
    """The drawing with all its cases."""
    at, rng = faults.bench(design), np.random.default_rng(seed)
    return at, {key: faults.members(at, key, rng, REPEATS_ALONE) for key in faults.FAULTS}


def _one_of_many(
    designs: Sequence[Design], number: int, seed: int
) -> tuple[Bench, dict[str, list[Member]]]:
    """A drawn floor with its share of the cases, at places of its own."""
    rng = np.random.default_rng([FLOOR_SEED, seed, number])
    at = faults.bench(designs[number], start=(float(rng.random()), float(rng.random())))
    made = {}
    for key in faults.FAULTS:
        cases = []
        if number % EVERY.get(key, 1) == 0:
            cases = faults.members(at, key, rng, REPEATS * MORE.get(key, 1))
        if key in IN_TURN and cases:
            cases = [cases[number % len(cases)]]
        made[key] = cases
    return at, made


def levels_moved(
    at: Bench, made: Mapping[str, Sequence[Member]], wanted: Sequence[int] | None = None
) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Level without a fault (28,) [dB re 1 W/N2], and changes of level (cases, 28) [dB] of the
    cases of each fault, all solved together. wanted : places in `bands.NOMINAL` of the bands
    needed; of the low ones the others are NaN."""
    changes = [one.change for cases in made.values() for one in cases]
    level, moved = level_changes(at, changes, wanted)
    cuts = np.cumsum([len(cases) for cases in made.values()])[:-1]
    return level, dict(zip(made, np.split(moved, cuts), strict=True))

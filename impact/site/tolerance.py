"""What faults of building cost: loss against the number of bridged hangers, and one line a fault.

Positive losses are louder below. Levels per band change alike for every source; what is heard of
it and single numbers are those of the source named. Rooms are diffuse here. Faults that can be
drawn into a design (all hangers bridged, 5 or 0.3 times as stiff, half of the fill or all of it
missing, edges touching all round), drawn into four designs and predicted in full, in the room with
its modes, move the thud as heard by up to 2.3 dB more or less, knock by 1.5 dB and click by 1 dB,
single bands of a walker by up to 7 dB, all below 80 Hz.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.base import bands, levels
from impact.base.cautions import CAUTIONS
from impact.design.fixings import cautions_of, said_of
from impact.design.parts import Design, Hangers
from impact.energy import paths as energy
from impact.errors import DesignError, Fault
from impact.heard import strikes
from impact.rating import summary
from impact.site import faults
from impact.site.bench import Bench, Change
from impact.site.faults import Member
from impact.site.shifts import total_power
from impact.sound import hearing
from impact.source import people
from impact.study.layout import screw_table

PLACES = 24  # random places of each number of bridged hangers
LIMITS = (3.0, 5.0, 10.0)  # dB: thresholds that are looked for
# region -> (first and last band, source that is heard there)
REGIONS = {
    "thud": (bands.THUD, people.BAREFOOT),
    "knock": (bands.KNOCK, "walker_hard_heel"),
    "click": (bands.CLICK, "walker_hard_heel"),
}
RATED = ("Ln_w", "IIC")
EVERYWHERE = (bands.NOMINAL[0], bands.NOMINAL[-1])


def _loudest(heard_db: Sequence[float], region: tuple[float, float]) -> tuple[float, float]:
    """Nominal band [Hz] of a region, as far as it has a threshold of hearing, with the largest of
    `heard_db` (28,) [dB], and that."""
    part = hearing.heard_part(region)
    at = int(np.argmax(np.array(heard_db)[part])) + part.start
    return bands.NOMINAL[at], float(heard_db[at])


@dataclass(frozen=True)
class Cost:
    """What one case costs.

    change_db : (28,) mean over places; low_db, high_db : (28,) 5 and 95 % of them. regions : loss
    of thud, knock, click as heard [dB] (`_region_loss`). ratings : change of Ln_w and IIC.
    heard_db : (28,) change of what stands over threshold of hearing and background [dB].
    """

    key: str
    words: str
    count: int
    cases: int
    change_db: tuple[float, ...]
    low_db: tuple[float, ...]
    high_db: tuple[float, ...]
    regions: dict[str, float]
    ratings: dict[str, int]
    heard_db: tuple[float, ...]

    @property
    def worst(self) -> tuple[float, float]:
        """Nominal band [Hz] with the largest loss that is heard, from 20 Hz up as all that is said
        of hearing, and that loss [dB]."""
        return _loudest(self.heard_db, EVERYWHERE)

    @property
    def rank(self) -> tuple[float, float]:
        """Falls with what it costs: thud in whole decibels first, then knock or click."""
        return -max(0, round(self.regions["thud"])), -max(self.regions.values())


@dataclass(frozen=True)
class Threshold:
    """The fewest bridged hangers whose mean loss, as heard, reaches `limit_db` in some band."""

    limit_db: float
    count: int
    hangers: int
    band_hz: float
    loss_db: float

    @property
    def sentence(self) -> str:
        """As a contractor reads it."""
        verb = "costs" if self.count == 1 else "cost"
        return (
            f"{self.count} bridged of {self.hangers} {verb} {self.loss_db:.0f} dB at"
            f" {bands.named(self.band_hz)}"
        )


@dataclass(frozen=True)
class Tolerance:
    """hangers : number. curve : costs of 0, 1, 2, ... bridged hangers, empty without hangers that
    yield. thresholds : over all bands and, under each region's name, over its bands. others : one
    cost for the smallest and the largest case of every other fault. chosen : hangers the user named
    as bridged. points : what holds the ceiling, for its words. screws_reach : a sold screw is long
    enough to reach the floor. cautions : of the design."""

    design: str
    digest: str
    hangers: int
    curve: tuple[Cost, ...]
    thresholds: dict[str, tuple[Threshold, ...]]
    others: tuple[Cost, ...]
    chosen: Cost | None
    cases: int
    points: Hangers | None = None
    screws_reach: bool = True
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def costliest(self) -> list[int]:
        """Of each fault of building the place in `others` of its costliest case, by `Cost.rank`;
        walls are none."""
        best: dict[str, int] = {}
        for place, cost in enumerate(self.others):
            known = best.get(cost.key)
            if cost.key != "flanking" and (known is None or cost.rank < self.others[known].rank):
                best[cost.key] = place
        return sorted(best.values(), key=lambda place: self.others[place].rank)

    @property
    def in_order(self) -> list[int]:
        """Places in `others`, all cases of one fault together, in the order of `costliest`; walls
        last."""
        first = [self.others[place].key for place in self.costliest]
        keys = dict.fromkeys((*first, *(cost.key for cost in self.others)))
        return [i for key in keys for i, cost in enumerate(self.others) if cost.key == key]

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON."""
        return {
            "design": self.design,
            "design_sha256": self.digest,
            "bands_hz": [float(band) for band in bands.NOMINAL],
            "hangers": self.hangers,
            "cases": self.cases,
            "bridged": [_plain(cost) for cost in self.curve],
            "thresholds": {
                region: [{**vars(one), "sentence": one.sentence} for one in found]
                for region, found in self.thresholds.items()
            },
            "faults": [_plain(cost) for cost in self.others],
            "chosen": None if self.chosen is None else _plain(self.chosen),
        }


def _plain(cost: Cost) -> dict[str, Any]:
    rounded = {
        name: [round(value, 3) + 0.0 for value in getattr(cost, name)]
        for name in ("change_db", "low_db", "high_db")
    }
    regions = {name: round(value, 2) + 0.0 for name, value in cost.regions.items()}
    return {
        "fault": cost.key, "case": cost.words, "count": cost.count, "cases": cost.cases, **rounded,
        "regions_db": regions, "ratings": cost.ratings,
        "heard_change_db": [round(value, 3) + 0.0 for value in cost.heard_db],
    }  # fmt: skip


def tolerance(
    design: Design, seed: int = 0, places: int = PLACES, bridged: Sequence[int] = ()
) -> Tolerance:
    """What faults cost the ceiling of `design`.

    places : random places of each number of bridged hangers. bridged : numbers of hangers, from 1
    as the layout plan has them, whose bridging is computed as well. Raises DesignError for a number
    that is none.
    """
    at = faults.bench(design)
    _check(design, at, bridged)
    rng = np.random.default_rng(seed)
    groups = [_bridged(at, rng, count, places) for count in _counts(at)]
    singles = [group for key in faults.FAULTS if key != "bridged" for group in _ends(at, key, rng)]
    named = [_named(at, bridged)] if bridged else []
    every = [*groups, *singles, *named]
    states = [Change(), *(one.change for _, cases in every for one in cases)]
    power = total_power(at, states)
    moved = levels.decibel(power[1:]) - levels.decibel(power[0])
    price = _pricer(design, power[0])
    costs, start = [], 0
    for key, cases in every:
        costs.append(price(key, cases, moved[start : start + len(cases)]))
        start += len(cases)
    curve, rest = costs[: len(groups)], costs[len(groups) :]
    chosen = rest.pop() if named else None
    return Tolerance(
        design.name, design.digest, at.hangers, tuple(curve), _thresholds(at, curve), tuple(rest),
        chosen, len(moved), design.hangers,
        any(screw.most is not None for screw in screw_table(design)), cautions_of(design),
    )  # fmt: skip


def _check(design: Design, at: Bench, bridged: Sequence[int]) -> None:
    wrong = [number for number in bridged if not 1 <= number <= at.hangers]
    if bridged and not faults.resilient(at):
        what = "given, but this ceiling hangs on nothing that could be bridged; leave it out"
        raise DesignError(design.path, [Fault("--bridged", what)])
    if wrong:
        shown = ", ".join(str(number) for number in wrong)
        what = f"{shown}; hangers are numbered 1 to {at.hangers} as on the plan of 'impact layout'"
        raise DesignError(design.path, [Fault("--bridged", said_of(design.hangers, what))])


def _counts(at: Bench) -> list[int]:
    """0 to 6, 8, 12, 16, 24, ... up to all hangers."""
    if not faults.resilient(at):
        return []
    return sorted({0, *range(1, min(6, at.hangers)), *faults.how_many(at, 1.0)})


Group = tuple[str, list[Member]]


def _bridged(at: Bench, rng: np.random.Generator, count: int, places: int) -> Group:
    if count == 0:
        return "bridged", [Member(0, "none bridged", Change())]
    repeats = 1 if count == at.hangers else places
    if count == 1:  # every hanger once
        value = faults.screwed(at)
        words = said_of(at.design.hangers, f"1 of {at.hangers} hangers bridged")
        return "bridged", [
            Member(1, words, Change(stiffness=((number, value),))) for number in range(at.hangers)
        ]
    return "bridged", faults.members(at, "bridged", rng, repeats, [count])


def _named(at: Bench, bridged: Sequence[int]) -> Group:
    value = faults.screwed(at)
    numbers = sorted(set(bridged))
    shown = ", ".join(str(number) for number in numbers)
    change = Change(stiffness=tuple((number - 1, value) for number in numbers))
    return "chosen", [Member(len(numbers), f"bridged: {shown}", change)]


def _ends(at: Bench, key: str, rng: np.random.Generator) -> list[Group]:
    """Smallest and largest case of a fault, each with its random places."""
    made = faults.members(at, key, rng, 6)
    if not made:
        return []
    if key == "fixture":
        return [(key, made)]
    if key == "wrong hanger":
        by_size = sorted(made, key=lambda one: one.size)
        return [(key, [by_size[0]]), (key, [by_size[-1]])]
    sizes = sorted({one.size for one in made})
    ends = dict.fromkeys((sizes[0], sizes[-1]))
    return [(key, [one for one in made if one.size == size]) for size in ends]


def _pricer(design: Design, power: np.ndarray) -> Callable[[str, list[Member], np.ndarray], Cost]:
    """Function that turns changes of level (cases, 28) into a cost, with the drawn power (28,).

    The mobility under the source is the energy method's in all bands; it only bears on the blow of
    a hard hammer at high frequency, and differences are told.
    """
    mobility = np.array(energy.transfer(design, bands.CENTRES).mobility, complex)
    drawn = {
        name: strikes.band_levels(strikes.SOURCES[name], power, design, mobility)
        for name in (strikes.TAPPING, *{source for _, source in REGIONS.values()})
    }
    rated, background = _rated(drawn[strikes.TAPPING]), design.room.background

    def price(key: str, cases: list[Member], moved: np.ndarray) -> Cost:
        mean = moved.mean(axis=0)
        low, high = np.percentile(moved, [5, 95], axis=0)
        regions, heard = {}, np.zeros(len(bands.NOMINAL))
        for name, (region, source) in reversed(REGIONS.items()):
            was, now = drawn[source], drawn[source] + mean
            over = [hearing.audible_excess(level, background) for level in (was, now)]
            regions[name] = _region_loss(was, now, over, region)
            end = bands.between(region).stop  # the lowest two bands go with the thud
            heard[:end] = (np.fmax(over[1], 0) - np.fmax(over[0], 0))[:end]
        now = _rated(drawn[strikes.TAPPING] + mean)
        ratings = {name: now[name] - rated[name] for name in RATED}
        words = cases[0].words
        if len({one.words for one in cases}) > 1:
            words = f"{words} and the like (mean of {len(cases)})"
        return Cost(key, words, int(cases[0].size), len(cases), tuple(mean.tolist()),
                    tuple(low.tolist()), tuple(high.tolist()),
                    {name: regions[name] for name in REGIONS}, ratings,
                    tuple(heard.tolist()))  # fmt: skip

    return price


def _region_loss(
    was: np.ndarray, now: np.ndarray, over: Sequence[np.ndarray], region: tuple[float, float]
) -> float:
    """How much louder a region is heard [dB]: `heard_level` (a plain sum is ruled by the lowest
    bands, which are hardly heard), counted only from where a band begins to be heard.

    was, now : levels (28,) [dB] as drawn and as built. over : what of them stands over threshold of
    hearing and background. Nought where no band is heard before or after.
    """
    loss = hearing.heard_level(now, region) - hearing.heard_level(was, region)
    before, after = (float(np.nanmax(one[hearing.heard_part(region)])) for one in over)
    if before <= 0:
        return min(loss, after) if after > 0 else 0.0
    return loss if after > 0 else max(loss, -before)


def _rated(level: np.ndarray) -> dict[str, int]:
    """Ln_w and IIC of the tapping machine's levels (28,) [dB]."""
    found: dict[str, Any] = summary.rate(bands.NOMINAL, level, kind="normalized")
    return {name: int(found[name]) for name in RATED}


def _thresholds(at: Bench, curve: Sequence[Cost]) -> dict[str, tuple[Threshold, ...]]:
    """Per region, the fewest bridged hangers for each limit, where it is reached at all. What is
    heard begins at 20 Hz, in thud as in all bands."""
    regions = {"all bands": EVERYWHERE} | {name: region for name, (region, _) in REGIONS.items()}
    found: dict[str, tuple[Threshold, ...]] = {}
    for name, region in regions.items():
        reached = []
        for limit in LIMITS:
            for cost in curve:
                band, loss = _loudest(cost.heard_db, region)
                if loss >= limit:
                    reached.append(Threshold(limit, cost.count, at.hangers, band, loss))
                    break
        found[name] = tuple(reached)
    return found

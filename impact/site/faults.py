"""What goes wrong on site, as changes of links, with the sign each leaves and the test that tells.

Stiffnesses of what should not be there are estimates of workmanship, no source, unless said. Only
one kind of fault at a time is described: two at once are two states put together by the caller.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from impact.base.units import show
from impact.design.axes import WALLS, shown_wall
from impact.design.fixings import said_of, yields
from impact.design.lines import own_joist_lines
from impact.design.parts import Design, Hangers
from impact.link.gaps import lowest_gap
from impact.site.bench import FIXED_LOSS, Air, Bench, Change, prepare

# A screw through board and channel into the joist: pull-out slip in softwood, some kN/mm; estimate
# between the slip of a laterally loaded screw (EN 1995-1-1 Table 7.1: 1.3 kN/mm for 3.5 mm in C24,
# from memory, check the standard) and the shank's own 30 kN/mm.
SCREW = 3e6  # N/m
SEATED_ON_STEEL = 1e6  # N/m, the channel lies on the clip's steel; bending of thin sheet, estimate
OVERLOADED = (4.0, 20.0)  # stiffness over the drawn one, rubber squashed; estimate
UNDERLOADED = (0.4, 0.75)  # rubber that carries too little is softer; estimate
WRONG_STIFFER, WRONG_SOFTER = (2.0, 12.0), (0.2, 0.5)  # another class of hanger; estimate
PACKED_MODULUS = 100e3 * (1 + 0.1j)  # Pa, frame of stuffed fibre fill; estimate, no source
CONTACTS = 4  # places at most where joists of the ceiling's own meet the floor
OUT_OF_LEVEL = 0.030  # m over the room: one end is so much too high
FLANKING = (-20.0, 5.0)  # dB, walls against the usual ones where the design describes none
FLANKING_DESCRIBED = (5.0, 20.0)  # dB above what the design describes


@dataclass(frozen=True)
class Fault:
    """One kind of fault.

    key : in JSON. name : as printed. test : the cheapest test on site that tells it from the
    others. effort : of that test, 1 a few minutes without tools, 2 with a ladder and a fixture off,
    3 a small hole and an endoscope, 4 instruments. remedy : what ends it.
    """

    key: str
    name: str
    test: str
    effort: int
    remedy: str


@dataclass(frozen=True)
class Member:
    """One case of a fault: its size as a number (for ranges), in words, and the changed links."""

    size: float
    words: str
    change: Change


FAULTS: dict[str, Fault] = {
    fault.key: fault
    for fault in (
        Fault("bridged", "hangers bridged by screw or strap",
              "push test: push the boards up by hand beside each hanger; a bridged one does not "
              "give. Then take out the suspect screw, strap or block and measure or knock again.",
              1, "take away what ties boards or channel to the floor past the hanger; where screws "
              "reach it, use shorter ones"),
        Fault("missing", "hangers missing",
              "endoscope along each channel through a light opening; count against the plan", 3,
              "add the missing hangers before anything else: the load is carried by the others"),
        Fault("overloaded", "hangers overloaded or bottomed",
              "endoscope or inspection hole: measure the hanger's height against its unloaded "
              "height, feeler gauge into the gap that should be left", 3,
              "more hangers or a class for the real load; look for loads hung on the ceiling"),
        Fault("underloaded", "hangers underloaded",
              "measure the deflection of some hangers against the load table", 3,
              "fewer or softer hangers of a class whose least load is reached"),
        Fault("mis-seated", "channel mis-seated in its clips",
              "push test along each channel line: a whole line that does not give; endoscope at "
              "its clips", 1,
              "seat the channel so that it rests on rubber only"),
        Fault("touching", "ceiling edge hard against walls",
              "feeler gauge or a strip of card round the whole edge gap, one wall at a time", 1,
              "cut the gap free and fill it with soft sealant only"),
        Fault("fill missing", "cavity fill missing",
              "endoscope through one small hole in the middle of a joist bay, in two bays", 3,
              "put the fill in; it needs the boards down"),
        Fault("fill packed", "cavity fill packed tight",
              "endoscope: is there a gap between fill and boards or is the fill pressed in", 3,
              "thinner fill, laid so that it does not push on the boards"),
        Fault("level", "ceiling out of level",
              "laser or water level across the boards, gap measured in all corners", 1,
              "set the hangers' height; look for what carried it up or down"),
        Fault("wrong hanger", "another type of hanger than drawn",
              "read the type on one hanger through a light opening against the delivery note; "
              "measure its deflection", 2,
              "replace the hangers, or recalculate with those that are there"),
        Fault("fixture", "light or box fixed through to the floor",
              "loosen the fixture's screws and measure or knock once more", 1,
              "hang the fixture from the ceiling alone, or isolate it"),
        Fault("contact", "ceiling's own joists in contact with the floor",
              "mirror or endoscope through a hole between two joists: a strip of card must pass "
              "between what is the ceiling's and what is the floor's, along each joist", 3,
              "take out the block, wedge, nail or wire that ties them, or plane the joist free"),
        Fault("flanking", "sound radiated by walls",
              "accelerometer on ceiling, walls and joist, or an ear at the walls, while someone "
              "knocks above", 4,
              "linings on the walls that radiate; the ceiling is not at fault"),
    )
}  # fmt: skip


def worded(key: str, hangers: Hangers | None) -> Fault:
    """The fault of this key in words for what holds the ceiling. Raises KeyError for another."""
    one = FAULTS[key]
    name, test, remedy = (said_of(hangers, text) for text in (one.name, one.test, one.remedy))
    return replace(one, name=name, test=test, remedy=remedy)


def bench(design: Design, places: int = 4, start: tuple[float, float] = (0.0, 0.0)) -> Bench:
    """The design with all that its faults may add.

    places : places tried for something fixed through, besides the fixtures of the design; start :
    as of `fixture_places`.
    """
    own = contact_places(design)
    tied = [*fixture_places(design, places, start), *own]
    return prepare(design, tied, cavity_states(design), contacts=len(own))


def contact_places(design: Design) -> list[tuple[float, float]]:
    """Where joists of the ceiling's own may meet the floor (x, y) [m]: on at most CONTACTS of them
    spread over the room, along them as `fixture_places` has it. None for a ceiling that hangs."""
    lines = own_joist_lines(design)
    if not lines:
        return []
    along = [x for x, _ in fixture_places(design, CONTACTS)[-CONTACTS:]]
    taken = np.linspace(0, len(lines) - 1, 2 * min(CONTACTS, len(lines)) + 1)[1::2]
    return [(x, lines[round(at)]) for x, at in zip(along, taken, strict=False)]


def fixture_places(
    design: Design, count: int, start: tuple[float, float] = (0.0, 0.0)
) -> list[tuple[float, float]]:
    """Centres of the design's fixtures, then `count` places spread over the plan [m].

    The same evenly filling sequence as `lowband.standing` uses, kept off the edges. start : shares
    of length and width by which it begins elsewhere.
    """
    room = design.room
    known = [(f.x + f.length / 2, f.y + f.width / 2) for f in room.fixtures]
    plastic = 1.324717957244746
    for n in range(1, count + 1):
        u, v = (
            0.15 + 0.7 * math.fmod(0.5 + start[power - 1] + n / plastic**power, 1)
            for power in (1, 2)
        )
        known.append((u * room.length, v * room.width))
    return known


def cavity_states(design: Design) -> dict[str, Air]:
    """States of the cavity that faults lead to: fill gone, stuffed, the ceiling too high."""
    gap = lowest_gap(design)
    lifted = max(gap.clear - OUT_OF_LEVEL / 2, 0.25 * gap.clear)
    states = {"lifted": Air(replace(gap, clear=lifted, fill=min(gap.fill, gap.bay + lifted)))}
    if gap.fill > 0:
        states["half filled"] = Air(replace(gap, fill=gap.fill / 2))
        states["unfilled"] = Air(replace(gap, fill=0.0))
        # no more absorption than drawn: a fault must not look like a gain
        states["packed"] = Air(gap, PACKED_MODULUS / (gap.bay + gap.clear))
    return states


def members(
    at: Bench, key: str, rng: np.random.Generator, repeats: int, counts: list[int] | None = None
) -> list[Member]:
    """Cases of one kind of fault: sizes from small to large, `repeats` random places each.

    counts : numbers of hangers tried, for faults of single hangers. An empty list means that this
    design cannot have the fault. Raises KeyError for another key.
    """
    held_by = at.design.hangers
    made = _MAKERS[key](at, rng, repeats, counts)
    return [replace(one, words=said_of(held_by, one.words)) for one in made]


def how_many(at: Bench, most: float) -> list[int]:
    """1, 2, 3, 4, 6, 8, 12, ... hangers, up to a share `most` of them."""
    limit = max(1, int(most * at.hangers))
    steps = [n for e in range(12) for n in (2**e, 3 * 2**e // 2) if 1 <= n <= limit]
    return sorted({*steps, limit})


def resilient(at: Bench) -> bool:
    """Whether the ceiling hangs on points that should yield."""
    return at.hangers > 0 and yields(at.design.hangers)


def _hanger_fault(
    most: float, words: str, stiffness: Callable[[Bench, np.random.Generator], complex]
) -> Callable[..., list[Member]]:
    def make(
        at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
    ) -> list[Member]:
        if not resilient(at):
            return []
        found = []
        for count in counts or how_many(at, most):
            for _ in range(repeats):
                value = stiffness(at, rng)
                chosen = sorted(rng.choice(at.hangers, count, replace=False).tolist())
                change = Change(stiffness=tuple((number, value) for number in chosen))
                found.append(Member(count, f"{count} of {at.hangers} {words}", change))
        return found

    return make


def screwed(at: Bench) -> complex:
    """A drawn hanger with a screw beside it [N/m]."""
    return at.own + SCREW * (1 + 1j * FIXED_LOSS)


def _ratio(rng: np.random.Generator, limits: tuple[float, float]) -> float:
    """Anything between two ratios, evenly in the logarithm."""
    low, high = np.log(limits)
    return float(np.exp(rng.uniform(low, high)))


def _mis_seated(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    lines, hangers = np.array(at.assembly.placement.channel_of_point), at.design.hangers
    known = np.unique(lines[lines >= 0])
    if hangers is None or hangers.kind != "hanger" or not len(known):  # channels sit in no clips
        return []
    value = at.own + SEATED_ON_STEEL * (1 + 1j * FIXED_LOSS)
    found = []
    for count in (1, 2) if len(known) > 2 else (1,):
        for _ in range(repeats):
            chosen = rng.choice(known, count, replace=False)
            change = Change(
                stiffness=tuple((int(n), value) for n in np.flatnonzero(np.isin(lines, chosen)))
            )
            found.append(Member(count, f"{count} of {len(known)} channel lines", change))
    return found


def _wrong(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    if not resilient(at):
        return []
    found = []
    for limits in (WRONG_STIFFER, WRONG_SOFTER):
        for _ in range(2 * repeats):
            factor = _ratio(rng, limits)
            change = Change(stiffness=tuple((n, at.own * factor) for n in range(at.hangers)))
            found.append(Member(factor, f"all {at.hangers} hangers {factor:.1f} times as stiff",
                                change))  # fmt: skip
    return found


def _touching(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    if at.design.independent is not None or at.design.ceiling.perimeter.kind == "touching":
        return []
    sets = [[w for i, w in enumerate(WALLS) if n >> i & 1] for n in range(1, 16)]
    found = []
    for walls in sorted(sets, key=len):
        shown = ", ".join(sorted(shown_wall(at.design, wall) for wall in walls))
        words = f"{shown} wall" if len(walls) == 1 else f"{shown} walls"
        found.append(Member(len(walls), words, Change(walls=tuple(walls))))
    return found


def _cavity(*states: tuple[str, float, str]) -> Callable[..., list[Member]]:
    def make(
        at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
    ) -> list[Member]:
        return [
            Member(size, words, Change(air=state))
            for state, size, words in states
            if state in at.airs
        ]

    return make


def _level(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    high = show(OUT_OF_LEVEL, "length", at.design.units)
    make = _cavity(("lifted", OUT_OF_LEVEL, f"one end {high} too high"))
    return make(at, rng, repeats, counts)


def _fixture(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    return [
        Member(1, "one fixture", Change(fixtures=(place,)))
        for place in range(len(at.fixtures) - at.contacts)
    ]


def _contact(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    places = range(len(at.fixtures) - at.contacts, len(at.fixtures))
    found = [Member(1, "at one place", Change(fixtures=(place,))) for place in places]
    if at.contacts > 1:
        words = f"at {at.contacts} places"
        found.append(Member(at.contacts, words, Change(fixtures=tuple(places))))
    return found


def _flanking(
    at: Bench, rng: np.random.Generator, repeats: int, counts: list[int] | None
) -> list[Member]:
    described = bool(at.design.flanks)
    low, high = FLANKING_DESCRIBED if described else FLANKING
    than = "than described" if described else "than usual walls"
    found = []
    for size in np.linspace(low, high, 6):
        words = f"{abs(size):.0f} dB {'more' if size > 0 else 'less'} {than}" if size else (
            f"as much as {than.removeprefix('than ')}")  # fmt: skip
        found.append(Member(float(size), words, Change(flanking_db=float(size))))
    return found


_MAKERS: dict[str, Callable[..., list[Member]]] = {
    "bridged": _hanger_fault(0.5, "hangers bridged", lambda at, rng: screwed(at)),
    "missing": _hanger_fault(0.34, "hangers missing", lambda at, rng: 0j),
    "overloaded": _hanger_fault(0.5, "hangers overloaded",
                                lambda at, rng: at.own * _ratio(rng, OVERLOADED)),
    "underloaded": _hanger_fault(0.5, "hangers underloaded",
                                 lambda at, rng: at.own * _ratio(rng, UNDERLOADED)),
    "mis-seated": _mis_seated,
    "touching": _touching,
    "fill missing": _cavity(("half filled", 0.5, "half of it"), ("unfilled", 1.0, "all of it")),
    "fill packed": _cavity(("packed", 1.0, "stuffed between floor and boards")),
    "level": _level,
    "wrong hanger": _wrong,
    "fixture": _fixture,
    "contact": _contact,
    "flanking": _flanking,
}  # fmt: skip

"""A target that needs more than the thud's bands, over a whole search: screened, then verified.

A rating such as IIC wants the spectrum to 3150 Hz, which for thousands of ceilings is too much to
solve. So each is screened by the energy balance alone, which costs some 20 ms, shifted band by band
by what a full prediction of one ceiling of the search came to differ from it (one with a fill and
one without, as air waves are damped in the one and not in the other). Those that fall short leave
the set, the front of what is left is formed anew, and so on until all of the front pass. What is
chosen is then predicted in full; where that falls short it gives a new shift and the screening
begins again. Which ceilings the screening rated, and which were predicted, is told.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from impact import chain
from impact.advice import target
from impact.base import bands
from impact.design.parts import Design, Target
from impact.energy import paths as energy
from impact.heard import strikes
from impact.heard.joined import join
from impact.study.choose_front import Place, front
from impact.study.choose_parts import Choice, design_at, searched_target

VERIFIED = 4  # ceilings predicted in full at most
SCREENED = 600  # ceilings screened at most
Spectra = dict[str, np.ndarray]


def needed(design: Design) -> Target | None:
    """The target, where a spectrum to 3150 Hz judges it; None without one, and where the search
    does or cannot."""
    wanted = design.target
    if wanted is None or searched_target(design) is not None or not target.of_bands(wanted):
        return None
    return wanted


def unjudged(design: Design) -> tuple[str, ...]:
    """A sentence on a target that the search cannot judge; nothing for others."""
    wanted = design.target
    if wanted is None or target.of_bands(wanted):
        return ()
    what = f"{target.named(wanted.quantity)} {wanted.sense} {wanted.limit:g}"
    why = "is one of the building, walls and all" if wanted.quantity in target.ON_SITE else (
        "is beyond the search: predict the one chosen")  # fmt: skip
    return (f"The target {what} {why}; no ceiling is judged by it here.",)


def good(wanted: Target, value: float | None) -> bool:
    """Whether the value keeps the target."""
    margin = target.margin(wanted, value)
    return margin is not None and margin >= 0


def by_energy(design: Design) -> Spectra:
    """Source -> levels (28,) [dB] by the energy balance alone, in a diffuse room."""
    found = energy.transfer(design, np.array(bands.CENTRES))
    power = np.maximum(found.power_per_force, 1e-30)
    return {name: strikes.band_levels(source, power, design, found.mobility)
            for name, source in strikes.SOURCES.items()}  # fmt: skip


def value_of(wanted: Target, heard: Spectra) -> float | None:
    """The target's quantity [dB or points]."""
    return target.result(wanted, chain.rate(heard), heard)


@dataclass(eq=False)
class Screen:
    """Screening of one search. verified : place -> predicted value. rough : place -> spectra of the
    energy balance. shift : whether filled -> what a prediction differs from them."""

    made: Choice
    wanted: Target
    verified: dict[Place, float] = field(default_factory=dict)
    rough: dict[Place, Spectra] = field(default_factory=dict)
    shift: dict[bool, Spectra] = field(default_factory=dict)

    def verify(self, place: Place) -> float:
        """Predict one ceiling in full; the shift of its kind of fill is then its own."""
        heard = chain.levels_of(join(design_at(self.made, place)), "design")
        rough = self._rough(place)
        self.shift[self._filled(place)] = {name: heard[name] - rough[name] for name in rough}
        value = value_of(self.wanted, heard)
        self.verified[place] = float("nan") if value is None else value
        return self.verified[place]

    def estimate(self, place: Place) -> float | None:
        """Its value as screened, or as predicted where it was."""
        if self._filled(place) not in self.shift:
            self.verify(place)
        if place in self.verified:
            return self.verified[place]
        rough, shift = self._rough(place), self.shift[self._filled(place)]
        return value_of(self.wanted, {name: rough[name] + shift[name] for name in rough})

    def _filled(self, place: Place) -> bool:
        return self.made.axes.fills[place[-1]] > 0

    def _rough(self, place: Place) -> Spectra:
        if place not in self.rough:
            self.rough[place] = by_energy(design_at(self.made, place))
        return self.rough[place]

    def passing(self) -> tuple[np.ndarray, np.ndarray, bool]:
        """Front (n, 6) of ceilings that pass, where others failed (bool), and whether the front is
        whole or the count of screenings ran out."""
        allowed = self.made.feasible.copy()
        short = np.zeros_like(allowed)
        while True:
            rows = front(self.made, allowed)
            places = [tuple(int(v) for v in row) for row in rows]
            bad = []
            for place in places:
                if place not in self.rough and len(self.rough) >= SCREENED:
                    kept = [p for p in places if p in self.rough and p not in bad]
                    return np.array(kept, int).reshape(-1, 6), short, False
                if not good(self.wanted, self.estimate(place)):
                    bad.append(place)
            if not bad:
                return rows, short, True
            for place in bad:
                allowed[place], short[place] = False, True


@dataclass(frozen=True, eq=False)
class Rated:
    """front : indices (n, 6) that pass; short : where the screening found too little (bool).
    verified : place -> predicted value; screened : place -> estimate. notes : for the reader."""

    front: np.ndarray
    short: np.ndarray
    verified: dict[Place, float]
    screened: dict[Place, float | None]
    notes: tuple[str, ...]


def rate(made: Choice, order: Callable[[np.ndarray], list[Place]]) -> Rated:
    """Screen and verify a search against its design's target.

    order : of a front (n, 6) to its places, the one to be chosen first.
    """
    wanted = needed(made.design)
    assert wanted is not None
    screen = Screen(made, wanted)
    places = order(front(made, made.feasible))
    if not places:
        return Rated(np.zeros((0, 6), int), np.zeros(made.drop.shape, bool), {}, {}, ())
    screen.verify(places[0])
    while True:
        rows, short, whole = screen.passing()
        left = order(rows)
        if not left or left[0] in screen.verified or len(screen.verified) >= VERIFIED:
            break
        screen.verify(left[0])
    estimates = {place: screen.estimate(place) for place in screen.rough}
    return Rated(rows, short, dict(screen.verified), estimates, _notes(screen, rows, whole))


def _notes(screen: Screen, rows: np.ndarray, whole: bool) -> tuple[str, ...]:
    made, wanted = screen.made, screen.wanted
    what = f"{target.named(wanted.quantity)} {wanted.sense} {wanted.limit:g}"
    count = (
        f"{len(screen.rough)} of {int(made.feasible.sum())} ceilings that keep every other limit"
    )
    how = (
        f"The target {what} was screened by the energy balance for {count}, shifted to agree with"
        f" {len(screen.verified)} predicted in full."
    )
    if not whole:
        how += " The rest were not rated; none of them was on the front."
    if len(rows):
        return (how,)
    values = [value for value in (screen.estimate(p) for p in screen.rough) if value is not None]
    nearest = (min if wanted.sense == "at most" else max)(values, default=None)
    got = "" if nearest is None else f" They come to {nearest:.0f} at best."
    if not whole:
        return (f"No ceiling rated reaches the target {what}.{got}", how)
    heaviest = value_of(wanted, chain.levels_of(join(design_at(made, _heaviest(made))), "best"))
    if heaviest is None or good(wanted, heaviest):
        return (f"No ceiling here reaches the target {what}.{got}", how)
    return (
        f"No ceiling here can reach the target {what}.{got} The heaviest and deepest of them on"
        f" perfect hangers comes to {heaviest:.0f}.", how,
    )  # fmt: skip


def _heaviest(made: Choice) -> Place:
    """Most layers, greatest depth and most fill that fit below the height limit, first hangers."""
    open_ = ~made.failed["headroom"] & np.isfinite(made.thud)
    places = np.argwhere(open_.any(axis=(0, 1, 2)))  # (layers, depths, fills)
    n, d, f = places[np.lexsort((places[:, 2], places[:, 1], places[:, 0]))[-1]]
    return (0, 0, len(made.axes.hanger_spacings) - 1, int(n), int(d), int(f))

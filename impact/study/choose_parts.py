"""What a search returns, as frozen data, and what of the target it can judge by itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from impact.base import bands
from impact.design.parts import Design, Target
from impact.source import people
from impact.study import choose_loads, choose_sound
from impact.study.choose_axes import Axes, variant


@dataclass(frozen=True, eq=False)
class Row:
    """One combination that is shown, solved like a prediction.

    level : (8,) walker's fast maximum, 16 to 80 Hz [dB]; thud : their energy sum; heard : the same
    over hearing threshold, which ranks. drop, headroom : m, the latter the least anywhere, with the
    long-term sag. cost : None without prices. worst, least, spare, lost : N as in
    `choose_loads.Table`. f0 : mass-spring-mass resonance [Hz]. reached : value of the target's
    quantity, None without one; verified : whether it was predicted in full and not screened.
    failed : limits it breaks.
    """

    index: tuple[int, ...]
    design: Design
    level: np.ndarray
    thud: float
    heard: float
    drop: float
    headroom: float
    cost: float | None
    worst: float
    least: float
    spare: float
    lost: float
    f0: float
    reached: float | None = None
    verified: bool = True
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Sweep:
    """Stiffness of one hanger [N/m] against f0 [Hz], thud and thud as heard [dB], for the chosen
    ceiling; the last three with perfect hangers: the air floor."""

    stiffness: np.ndarray
    f0: np.ndarray
    thud: np.ndarray
    heard: np.ndarray
    f0_air: float
    thud_air: float
    heard_air: float


@dataclass(frozen=True)
class BestCase:
    """Least thud as heard [dB over threshold] of all that fits, whatever its loads and cost.

    perfect : on perfect hangers; found : on the hangers tried, which can be less: a stiff hanger
    may carry the resonance beyond the band that is heard most, or tie the ceiling to the floor.
    """

    perfect: float
    found: float


@dataclass(frozen=True, eq=False)
class Choice:
    """Result of a search. Arrays have the shape of the axes.

    level : (..., 8) [dB]. drop, headroom : m. cost : NaN without prices. failed : limit -> True
    where broken. best_case : None when nothing fits. front : indices (n, 6), quietest first.
    shown : rows of it, or the nearest misses where nothing is feasible.
    """

    design: Design
    axes: Axes
    level: np.ndarray
    drop: np.ndarray
    headroom: np.ndarray
    cost: np.ndarray
    loads: choose_loads.Table
    failed: dict[str, np.ndarray]
    best_case: BestCase | None
    front: np.ndarray = field(default_factory=lambda: np.zeros((0, 6), int))
    shown: tuple[Row, ...] = ()
    chosen: Row | None = None
    sweep: Sweep | None = None
    notes: tuple[str, ...] = ()

    @cached_property
    def thud(self) -> np.ndarray:
        """Energy sum of the bands [dB]; NaN where the fill does not fit."""
        return choose_sound.thud(self.level)

    @cached_property
    def heard(self) -> np.ndarray:
        """The same over hearing threshold [dB]; what ranks."""
        return choose_sound.heard(self.level)

    @property
    def feasible(self) -> np.ndarray:
        """Which combinations keep every limit."""
        out = np.isfinite(self.thud)
        for broken in self.failed.values():
            out = out & ~broken
        return out

    def only(self, name: str) -> int:
        """Combinations that break this limit and no other."""
        others = np.zeros(self.thud.shape, bool)
        for other, broken in self.failed.items():
            if other != name:
                others |= broken
        return int(np.sum(self.failed[name] & ~others))


def searched_target(design: Design) -> Target | None:
    """The target, where the search itself can judge it: a person's level in a band 16 to 80 Hz."""
    wanted = design.target
    if wanted is None or wanted.band_hz is None or wanted.sense != "at most":
        return None
    if wanted.quantity not in people.SOURCES:
        return None
    inside = bands.index(wanted.band_hz)
    return wanted if choose_sound.THUD.start <= inside < choose_sound.THUD.stop else None


def band_of(wanted: Target) -> int:
    """Place of the target's band among those of the thud; ValueError when it is none."""
    assert wanted.band_hz is not None
    return bands.index(wanted.band_hz) - choose_sound.THUD.start


def design_at(made: Choice, index: tuple[int, ...]) -> Design:
    """The design of one combination."""
    h, c, s, n, d, f = index
    a = made.axes
    return variant(
        made.design, a.hangers[h], a.channel_spacings[c], a.hanger_spacings[s], a.layers[n],
        a.depths[d], a.fills[f],
    )  # fmt: skip

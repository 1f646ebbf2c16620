"""What a search returns, as frozen data, and what of the target it can judge by itself."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from impact import chain, strikes
from impact.base import bands
from impact.design.parts import Design, Target
from impact.study import choose_loads, choose_sound
from impact.study.choose_axes import Axes, variant


@dataclass(frozen=True, eq=False)
class Row:
    """One combination that is shown, solved like a prediction.

    level : (8,) walker's fast maximum, 16 to 80 Hz [dB]; thud : their energy sum. drop, headroom :
    m, with the long-term sag in the headroom. cost : None without prices. worst, least, spare,
    lost : N as in `choose_loads.Table`. f0 : mass-spring-mass resonance [Hz]. reached : predicted
    value of the target's quantity, None where it was not computed. failed : limits it breaks.
    """

    index: tuple[int, ...]
    design: Design
    level: np.ndarray
    thud: float
    drop: float
    headroom: float
    cost: float | None
    worst: float
    least: float
    spare: float
    lost: float
    f0: float
    reached: float | None = None
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Sweep:
    """Stiffness of one hanger [N/m] against f0 [Hz] and thud [dB], for the chosen ceiling; the last
    two with perfect hangers: the air floor."""

    stiffness: np.ndarray
    f0: np.ndarray
    thud: np.ndarray
    f0_air: float
    thud_air: float


@dataclass(frozen=True, eq=False)
class Choice:
    """Result of a search. Arrays have the shape of the axes.

    thud : dB. drop, headroom : m. cost : NaN without prices. failed : limit -> True where broken.
    front : indices (n, 6), quietest first. shown : rows of it, or the nearest misses where nothing
    is feasible. best_case : least thud of all that fits and keeps the headroom, whatever its loads
    and cost, with these hangers or perfect ones.
    """

    design: Design
    axes: Axes
    thud: np.ndarray
    level: np.ndarray
    drop: np.ndarray
    headroom: np.ndarray
    cost: np.ndarray
    loads: choose_loads.Table
    failed: dict[str, np.ndarray]
    front: np.ndarray
    shown: tuple[Row, ...]
    chosen: Row | None
    best_case: float
    sweep: Sweep | None
    notes: tuple[str, ...] = field(default=())

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
    people = strikes.SOURCES.get(wanted.quantity)
    inside = bands.index(wanted.band_hz)
    if people is None or people.name == chain.SINGLE:
        return None
    return wanted if choose_sound.THUD.start <= inside < choose_sound.THUD.stop else None


def band_of(wanted: Target) -> int:
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

"""What is compared: fast maxima of a barefoot step at 31.5 and 63 Hz, its foremost band, the ball.

The figures of `PUBLISHED` and where they come from: `SOURCE.md`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from impact.base import bands, levels
from impact.heard import course, walking
from impact.sound import room
from impact.source import ball

if TYPE_CHECKING:
    from impact.heard.joined import Joined

PUBLISHED = {31.5: (60.0, 75.0), 63.0: (50.0, 65.0)}  # dB, fast maximum of walking below joists
FOREMOST = (16.0, 31.5)  # Hz, bands that hold 15 to 30 Hz
HEAD = (
    "dB                                 room average     mid-room      foremost  ball - step\n"
    "design                             31.5   63 Hz   31.5   63 Hz    band Hz   31.5   63 Hz"
)


def walker(joined: Joined, variant: str, place: str) -> np.ndarray:
    """Fast maxima (28,) [dB] of a barefoot step at a place of the room; single places must have
    been asked for of `joined`."""
    return walking.band_levels(joined, "barefoot", variant, place)


def at(level: np.ndarray) -> tuple[float, float]:
    """Levels [dB] at 31.5 and 63 Hz."""
    low, high = (float(level[bands.index(band)]) for band in PUBLISHED)
    return low, high


def foremost(joined: Joined, variant: str) -> float:
    """Nominal band [Hz] in which a barefoot step is loudest."""
    return bands.NOMINAL[int(np.argmax(walker(joined, variant, "average")))]


def ball_over_step(joined: Joined, variant: str) -> tuple[float, float]:
    """Standard ball less a barefoot step, both in the room itself, 31.5 and 63 Hz [dB]."""
    heard = levels.decibel(walking.in_room(joined, variant))
    exposure = np.array(ball.third_octave_exposure_levels().level) + heard
    times = room.dies_away(joined.assembly.design, variant != "bare")
    fast = exposure + levels.decibel(course.of_blow(times), levels.PRESSURE**2)
    return at(fast - walker(joined, variant, "average"))


def row(joined: Joined, variant: str) -> str:
    """A line of the table."""
    name = f"{joined.assembly.design.name[:22]}, {'ceiling' if variant == 'design' else 'bare'}"
    figures = [*at(walker(joined, variant, "average")),
               *at(walker(joined, variant, "middle"))]  # fmt: skip
    over = ball_over_step(joined, variant)
    return (
        f"{name:<32}" + "".join(f"{value:>7.1f}" for value in figures)
        + f"{foremost(joined, variant):>11g}" + "".join(f"{value:>8.1f}" for value in over)
    )  # fmt: skip


def published() -> str:
    """The last line: what is published."""
    ranges = [f"{low:.0f}-{high:.0f}" for low, high in PUBLISHED.values()]
    cells = f"{ranges[0]:>7}{ranges[1]:>7}" + " " * 14 + f"{'15-30':>11}{'well above':>16}"
    return f"{'published, place not stated':<32}{cells}"

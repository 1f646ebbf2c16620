"""Pressure in the lowest cavity of a joist floor at its walls, for what an open edge lets through.

The air presses on the ceiling by p = s_a w1 - s_b w2, w1 and w2 the deflections of the faces above
and below in each wave, s_a and s_b the gap's dynamic stiffnesses across and below (`ribbed`). A gap
along a wall hears of it what runs along the wall faster than sound, whatever it does across: a
line source of slower waves sounds weakly (any textbook of acoustics).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.energy import gap_waves
from impact.energy.bay_parts import Build

if TYPE_CHECKING:
    from impact.energy.ribbed import RowWaves

BINS = 60  # of waves slower than sound; all in one sound alike from the edges
# Walls double what edges sound into a cavity (`gap_waves`). Here it is left out: a wave of a row
# comes with harmonics, which are summed as if each were cut off by itself.
WALLS = 0.5


def at_walls(build: Build, waves: RowWaves, weight: NDArray) -> float:
    """Mean-square pressure times area of the waves that the walls' gaps hear, the mean over all
    walls, per mean-square force [Pa2 m2/N2]. weight (N, 1) of the `waves`."""
    across, below = waves.lowest
    last = len(build.lower)
    free = (across * waves.h[last - 1][0] - below * waves.h[last][0]) * waves.passed
    by_lines = [each[..., None] * waves.held[leaf]
                for each, leaf in ((across, last - 1), (below, last))]  # fmt: skip
    square = waves.mean_square(free, by_lines[0] - by_lines[1])
    return float((weight * square * _heard(build, waves)).sum())


def per_velocity(build: Build, waves: RowWaves) -> NDArray:
    """Mean-square pressure on a hung ceiling, as far as gaps hear it, over its mean-square velocity
    (N,) [Pa2 s2/m2] in the middle wave: what it takes to move it."""
    middle = waves.across.shape[1] // 2
    own = build.lower[-1].sheet.stiffness(waves.kx, waves.across[:, middle], waves.omega)
    load = 1j * waves.omega * air.IMPEDANCE * waves.sigma[:, middle]
    return np.asarray(np.abs(own + load) ** 2 / waves.omega**2 * _heard(build, waves)[:, middle])


def _heard(build: Build, waves: RowWaves) -> NDArray:
    """Share of the walls along which a wave (N, M) is faster than sound."""
    sound, (length, width) = waves.omega / air.SPEED, build.sides
    heard = length * (waves.kx[:, None] < sound) + width * (np.abs(waves.across) < sound)
    return np.asarray(heard / (length + width))


def of_slower(
    build: Build, sound: float, cut: tuple[NDArray, NDArray], grid: tuple[NDArray, NDArray],
    pressed: NDArray,
) -> float:  # fmt: skip
    """Mean-square pressure times area in the gap by what is cut off of waves slower than `sound` k0
    [1/m] in the leaf above, as in `gap_waves`.

    cut : their wavenumbers [1/m] and weighted mean squares, (N, M). grid : of `gap_waves`, with
    what a wave of mean square 1 makes at each of its wavenumbers, `pressed` (Q,).
    """
    fastest = cut[0].max()
    if fastest <= sound:
        return 0.0
    bins = np.linspace(1.0, np.sqrt(fastest / sound), BINS + 1) ** 2 * sound
    part = np.histogram(cut[0], bins, weights=cut[1])[0]
    over = gap_waves.cut_off if build.lower[-1].gap.fill else gap_waves.summed
    values = over((bins[1:] + bins[:-1]) / 2, grid, pressed[None], sound, build.sides, WALLS)
    return float(part @ values[0])

"""How close modes lie to each other: their density, their overlap, and from where averages hold."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from impact.base import air, bands
from impact.energy.leaves import PlateLeaf
from impact.energy.upper import Upper

MODES = 5.0  # in a band, from which averages hold: Craik 1996, Hopkins 2007, from memory


def per_hertz(upper: Upper, leaf: PlateLeaf) -> NDArray:
    """Modal density of a leaf, a deck with its joists [1/Hz] (n,)."""
    density: NDArray = np.full(upper.omega.shape, leaf.modes_per_hertz)
    if upper.beams is not None and leaf is upper.bay:
        density = density + upper.beams.modes_per_hertz(upper.omega)
    return density


def overlap(upper: Upper, leaves: Sequence[PlateLeaf]) -> tuple[dict[str, NDArray], NDArray]:
    """Modal overlap eta f n(f) of every leaf (n,) [-], and the bands that are dense (n,), boolean.

    Dense is a band in which, for all leaves, at least MODES modes lie or overlap into it,
    n f (0.23 + pi/2 eta), a deck bay holds half a wave from joist to joist, and MODES shapes longer
    than the waves of sound, S k0²/4 pi, come.
    """
    f = upper.omega / 2 / np.pi
    good = np.ones(len(f), bool)
    found = {}
    for leaf in leaves:
        sound = 2 * air.IMPEDANCE * leaf.radiation / (upper.omega * leaf.mass)
        judged = found[leaf.name] = f * (leaf.loss + sound) * leaf.modes_per_hertz
        if upper.beams is not None and leaf is upper.bay:
            found["joists"] = f * upper.beams.loss * upper.beams.modes_per_hertz(upper.omega)
            judged = judged + found["joists"]
        good &= per_hertz(upper, leaf) * f * bands.WIDTH + np.pi / 2 * judged >= MODES
    if upper.beams is not None:
        across = (upper.omega**2 * upper.bay.mass / upper.bay.stiffness[1]) ** 0.25
        good &= across * upper.beams.spacing >= np.pi
    longer = upper.bay.area * upper.omega**2 / (2 * np.pi * air.SPEED**2)  # f times their density
    good &= longer * bands.WIDTH >= MODES
    return found, good


def crossover(centres: NDArray, dense: NDArray) -> float:
    """The lowest of the bands at `centres` (n,) [Hz] from which on all are `dense` (n,) [Hz]; the
    last if none is."""
    bad = np.flatnonzero(~dense)
    first = 0 if bad.size == 0 else min(int(bad[-1]) + 1, len(centres) - 1)
    return float(centres[first])

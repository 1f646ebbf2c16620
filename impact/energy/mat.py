"""A resilient mat between two leaves, in averages: what it hands down over a band.

Its waves stand in `impact.link.mat`; between them two masses or two mobilities, as any text on
vibration has them (L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd ed. 2005,
ch. 5, for points).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impact.design.parts import Mat
from impact.energy.radiating import INSIDE
from impact.link.mat import impedances


def inside(omega: NDArray) -> NDArray:
    """Places in each third octave over which resonances are averaged, (n,) to (n, 5) [rad/s]."""
    return np.asarray(omega, float)[:, None] * 10 ** np.array(INSIDE)


def force_handed_down(mat: Mat, struck: float, below: float, omega: NDArray) -> NDArray:
    """|force into `below` / force on `struck`|^2, averaged over each band, (n,).

    Two masses per area [kg/m2] with the mat between, the upper one struck; with a light mat
    H = (mu/m1) s/(s - omega^2 mu), mu = m1 m2/(m1 + m2) (any text on vibration).
    """
    at = inside(omega)
    own, across = impedances(mat, at)
    first, second = 1j * at * struck + own, 1j * at * below + own
    force = 1j * at * below * across / (first * second - across**2)
    return np.asarray(np.mean(np.abs(force) ** 2, axis=1))


def conductance(
    mat: Mat, area: NDArray | float, mobilities: tuple[NDArray, NDArray], omega: NDArray
) -> NDArray:
    """|F2/v1|^2 through a piece of `area` [m2] between two mobilities [m/(N s)], (n,).

    v1 is the free motion above: F2 = Z12 v1/((1 + Z11 Y1)(1 + Z11 Y2) - Z12^2 Y1 Y2), which is
    1/(Y1 + Y2 + i omega/k) for a spring. Averaged over each band.
    """
    at = inside(omega)
    piece = np.broadcast_to(np.asarray(area, float), omega.shape)[:, None]
    own, across = (z * piece for z in impedances(mat, at))
    y1, y2 = (np.broadcast_to(np.asarray(y), omega.shape)[:, None] for y in mobilities)
    force = across / ((1 + own * y1) * (1 + own * y2) - across**2 * y1 * y2)
    return np.asarray(np.mean(np.abs(force) ** 2, axis=1))

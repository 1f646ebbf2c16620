"""Sound power of a vibrating surface in a rigid baffle, by direct quadrature."""

from __future__ import annotations

import numpy as np
from scipy.spatial.distance import cdist

from impact.base.air import DENSITY, SPEED


def gauss_cells(extent: float, size: float, order: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Points and weights [m] of Gauss-Legendre rules on equal cells no longer than `size`."""
    cells = max(1, round(np.ceil(extent / size - 1e-6)))
    points, weights = np.polynomial.legendre.leggauss(order)
    half = extent / cells / 2
    centres = half * (2 * np.arange(cells) + 1)
    return (centres[:, None] + half * points).ravel(), np.tile(half * weights, cells)


class Radiator:
    """Quadrature points [m] (n x 2) and weights [m2] (n) on a flat surface in an endless baffle."""

    def __init__(self, points: np.ndarray, weights: np.ndarray) -> None:
        self.weights = weights
        # on a regular grid many pairs share a distance [m]: each sine is worked out once
        rounded = np.round(cdist(points, points), 9)
        self.distances, pairs = np.unique(rounded, return_inverse=True)
        self.pairs = pairs.reshape(rounded.shape).astype(np.int32)

    def power(self, angular: float, velocity: np.ndarray) -> np.ndarray:
        """Radiated power [W] of rms complex velocities [m/s] (n x cases) at `angular` [rad/s].

        Rayleigh's integral p(r) = (i omega rho / 2 pi) int v(r') exp(-i k R) / R dS', multiplied
        by the conjugate velocity and integrated: W = (omega rho / 2 pi) int int v* v' sin(k R) / R.
        The imaginary unit leaves only sin(k R) / R in the active power, and that has no
        singularity: on the diagonal it is k. (Cremer, Heckl, Petersson, Structure-Borne Sound,
        3rd ed., chapter on radiation.)
        """
        wavenumber = angular / SPEED
        # np.sinc(a) is sin(pi a) / (pi a), one at zero: the self term comes out as k
        kernel = (wavenumber * np.sinc(self.distances * (wavenumber / np.pi)))[self.pairs]
        strength = self.weights[:, None] * velocity
        both = np.hstack([strength.real, strength.imag])
        squares = np.sum(both * (kernel @ both), axis=0).reshape(2, -1).sum(axis=0)
        return angular * DENSITY / (2 * np.pi) * squares

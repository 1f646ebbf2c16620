"""Sound power of a vibrating rectangle in an infinite baffle, from its wavenumber spectrum.

The far-field form of Rayleigh's integral (F. Fahy and P. Gardonio, Sound and Structural Vibration,
2nd ed., 2007, sec. 3.4 and 3.6): with V(kx, ky) = ∫∫ v exp(i kx x + i ky y) dS (rms),

    W = rho c k² / (4 pi²) ∫ over the hemisphere |V(k sin t cos a, k sin t sin a)|² dOmega .

It needs no grid on the plate and no self term, few angles at low frequency, and gives the
resistive part of the radiation matrix as a sum of squares, so power in and power out agree.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impact.base import air
from impact.leaf.plate import Leaf


@dataclass(frozen=True, eq=False)
class Pattern:
    """Radiation of modes: W = sum_q weight_q |rows_q . velocity|² for modal velocities (rms).

    rows : (4Q, n) [m2 kg^-1/2]; weight : (4Q,) [Pa s/m3].
    """

    rows: np.ndarray
    weight: np.ndarray


def pattern(leaf: Leaf, omega: float, keep: np.ndarray | slice, spare: int = 3) -> Pattern:
    """Radiation pattern of the modes `keep` of a leaf at omega [rad/s].

    spare : angles each way beyond the half waves k L / 2 pi that fit on the leaf.
    """
    k = omega / air.SPEED
    longest = max(leaf.plate.length, leaf.plate.width)
    count = int(np.ceil(k * longest / 2 * 0.75)) + spare
    nodes, weights = np.polynomial.legendre.leggauss(count)
    quarter = (nodes + 1) * np.pi / 4
    share = weights * np.pi / 4
    polar, around = np.meshgrid(quarter, quarter, indexing="ij")
    solid = (np.outer(share * np.sin(quarter), share)).ravel()
    kx = (k * np.sin(polar) * np.cos(around)).ravel()
    ky = (k * np.sin(polar) * np.sin(around)).ravel()
    # four combinations of even and odd parts stand for the four quarters of the hemisphere
    x_parts, y_parts = leaf.x.transforms(kx), leaf.y.transforms(ky)
    coefficients = leaf.coefficients[:, :, keep]
    mx, my, n = coefficients.shape
    rows = []
    for part_x in x_parts:
        along = (part_x @ coefficients.reshape(mx, -1)).reshape(len(kx), my, n)
        rows += [np.einsum("qy,qyn->qn", part_y, along, optimize=True) for part_y in y_parts]
    factor = 4 * air.IMPEDANCE * k**2 / (4 * np.pi**2) * solid
    return Pattern(np.vstack(rows), np.tile(factor, 4))


def normalized_pressure_square(power: np.ndarray) -> np.ndarray:
    """Mean-square pressure in a diffuse room of A0 = 10 m2: 4 rho c W / A0 [Pa2].

    The definition behind Ln in ISO 10140-3 and ISO 12354-2; power (…,) [W].
    """
    return 4 * air.IMPEDANCE * power / 10.0

"""Sound power of a vibrating rectangle in an infinite baffle, from its wavenumber spectrum.

The far-field form of Rayleigh's integral (F. Fahy and P. Gardonio, Sound and Structural Vibration,
2nd ed., 2007, sec. 3.4 and 3.6): with V(kx, ky) = ∫∫ v exp(i kx x + i ky y) dS (rms),

    W = rho c k² / (4 pi²) ∫ over the hemisphere |V(k sin t cos a, k sin t sin a)|² dOmega .

It needs no grid on the plate and no self term, few angles at low frequency, and gives the
resistive part of the radiation matrix as a sum of squares, so power in and power out agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import air
from impact.base.quadrature import gauss
from impact.leaf.plate import Leaf

WEAK = 1e-10  # ways to radiate this far below the strongest are left out


@dataclass(frozen=True, eq=False)
class Pattern:
    """Radiation of modes: W = sum_q weight_q |rows_q . velocity|² for modal velocities (rms).

    rows : (…, Q, n) [m2 kg^-1/2 (Pa s/m3)^1/2]; weight : (…, Q) [-]. As few as matter: a plate
    much smaller than the wavelength radiates in few ways.
    """

    rows: np.ndarray
    weight: np.ndarray


def pattern(leaf: Leaf, omega: float, keep: np.ndarray | slice, spare: int = 3) -> Pattern:
    """Radiation pattern of the modes `keep` of a leaf at omega [rad/s].

    spare : angles each way beyond the half waves k L / 2 pi that fit on the leaf.

    The sphere's axis lies along x, so that a ring of directions shares its kx: sin t cos a and
    sin t sin a above are here sin u and cos u sin v, dOmega = cos u du dv.
    See `Pattern` for the shapes.
    """
    k = omega / air.SPEED
    u, du = _quarter(k * leaf.plate.length, spare)
    v, dv = _quarter(k * leaf.plate.width, spare)
    ky = k * np.outer(np.cos(u), np.sin(v)).ravel()
    coefficients = leaf.coefficients[:, :, keep]
    mx, my, n = coefficients.shape
    # four combinations of even and odd parts stand for the four quarters of the hemisphere
    x_parts = np.vstack(leaf.x.transforms(k * np.sin(u)))  # (2 U, Mx)
    y_parts = np.stack(leaf.y.transforms(ky)).reshape(2, len(u), len(v), my)
    along = (x_parts @ coefficients.reshape(mx, -1)).reshape(2, 1, len(u), my, n)
    factor = 4 * air.IMPEDANCE * k**2 / (4 * np.pi**2) * np.outer(du * np.cos(u), dv).ravel()
    rows = (y_parts @ along).reshape(4, -1, n) * np.sqrt(factor)[:, None]
    rows = _fewest(rows)
    return Pattern(rows, np.ones(len(rows)))


def stacked(patterns: Sequence[Pattern]) -> Pattern:
    """Several frequencies as one, (F, Q, n); where one has fewer rows, zeros fill the others."""
    most = max(len(one.rows) for one in patterns)
    rows = np.zeros((len(patterns), most, patterns[0].rows.shape[1]))
    for number, one in enumerate(patterns):
        rows[number, : len(one.rows)] = one.rows
    return Pattern(rows, np.ones((len(patterns), most)))


def _fewest(rows: np.ndarray) -> np.ndarray:
    """As few rows as give the same sum of squares to WEAK of the strongest: (C, Q, n) -> (R, n)."""
    squares, turn = np.linalg.eigh(rows @ rows.transpose(0, 2, 1))
    strong = squares > WEAK * squares.max()
    turned = turn.transpose(0, 2, 1) @ rows
    return np.concatenate([one[kept] for one, kept in zip(turned, strong, strict=True)])


def _quarter(waves: float, spare: int) -> tuple[np.ndarray, np.ndarray]:
    """Angles over a quarter turn and their weights [rad] for a side of k L = `waves` [rad]."""
    points, weights = gauss(int(np.ceil(waves / 2 * 0.75)) + spare)
    return points * np.pi / 2, weights * np.pi / 2


def normalized_pressure_square(power: np.ndarray) -> np.ndarray:
    """Mean-square pressure in a diffuse room of A0 = 10 m2: 4 rho c W / A0 [Pa2].

    The definition behind Ln in ISO 10140-3 and ISO 12354-2; power (…,) [W].
    """
    return 4 * air.IMPEDANCE * power / 10.0

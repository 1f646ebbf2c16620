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
from impact.base.quadrature import gauss
from impact.leaf import mirror
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


def pattern(leaf: Leaf, omega: float | np.ndarray, keep: np.ndarray, spare: int = 4) -> Pattern:
    """Radiation pattern of the modes `keep` of a leaf at omega (…,) [rad/s].

    spare : angles each way beyond the half waves k L / 2 pi that fit on the leaf, k at the upper
    edge of the third octave: all lines of a band are summed over the same angles.

    The sphere's axis lies along x, so that a ring of directions shares its kx: sin t cos a and
    sin t sin a above are here sin u and cos u sin v, dOmega = cos u du dv.
    See `Pattern` for the shapes.
    """
    k = np.atleast_1d(omega) / air.SPEED
    band = np.round(10 * np.log10(np.max(omega) / (2 * np.pi)))
    highest = 2 * np.pi * 10 ** ((band + 0.5) / 10) / air.SPEED
    u, du = _quarter(highest * leaf.plate.length, spare)
    v, dv = _quarter(highest * leaf.plate.width, spare)
    coefficients = leaf.coefficients[:, :, keep]
    mx, my, n = coefficients.shape
    # even and odd parts each way, as far as there are any, stand for the hemisphere's quarters
    x_parts = _parts(leaf, 0, np.outer(k, np.sin(u)), keep)  # (X, F, U, Mx)
    y_parts = _parts(leaf, 1, k[:, None, None] * np.outer(np.cos(u), np.sin(v)), keep)
    along = (x_parts @ coefficients.reshape(mx, -1)).reshape(*x_parts.shape[:-1], my, n)
    factor = 4 * air.IMPEDANCE * k[:, None, None] ** 2 / (4 * np.pi**2)
    rows = y_parts[:, None] @ along[None]  # (Y, X, F, U, V, n)
    rows = rows * np.sqrt(factor * np.outer(du * np.cos(u), dv))[..., None]
    rows = _fewest(np.moveaxis(rows, 2, 0).reshape(len(k), len(x_parts) * len(y_parts), -1, n))
    if np.ndim(omega) == 0:
        rows = rows[0]
    return Pattern(rows, np.ones(rows.shape[:-1]))


def _parts(leaf: Leaf, axis: int, wavenumber: np.ndarray, keep: np.ndarray) -> np.ndarray:
    """Transforms (parts, …, M) of a side's functions: cosines where some modes are even in its
    mirror, sines where some are odd, both where that is unknown."""
    signs = mirror.signs(leaf, axis)
    side = mirror.side(leaf, axis)
    wanted = (1, -1) if signs is None else [s for s in (1, -1) if (signs[keep] == s).any()]
    chosen = [side.transform(wavenumber.ravel(), sign) for sign in wanted]
    return np.reshape(chosen, (len(wanted), *wavenumber.shape, side.count))


def _fewest(rows: np.ndarray) -> np.ndarray:
    """As few rows as give the same sum of squares to WEAK of the strongest: (F, C, Q, n) ->
    (F, R, n). The angles are those of all F frequencies, so one rotation of them serves all."""
    squares, turn = np.linalg.eigh(np.sum(rows @ rows.swapaxes(-1, -2), axis=0))
    strong = squares > WEAK * squares.max(axis=-1, keepdims=True)  # (C, Q)
    turned = turn.swapaxes(-1, -2) @ rows
    return np.asarray(turned[:, strong])


def _quarter(waves: float, spare: int) -> tuple[np.ndarray, np.ndarray]:
    """Angles over a quarter turn and their weights [rad] for a side of k L = `waves` [rad]."""
    points, weights = gauss(int(np.ceil(waves / 2 * 0.75)) + spare)
    return points * np.pi / 2, weights * np.pi / 2


def normalized_pressure_square(power: np.ndarray) -> np.ndarray:
    """Mean-square pressure in a diffuse room of A0 = 10 m2: 4 rho c W / A0 [Pa2].

    The definition behind Ln in ISO 10140-3 and ISO 12354-2; power (…,) [W].
    """
    return 4 * air.IMPEDANCE * power / 10.0

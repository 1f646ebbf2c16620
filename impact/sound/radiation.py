"""Sound power of a vibrating rectangle in an infinite baffle, from its wavenumber spectrum.

The far-field form of Rayleigh's integral (F. Fahy and P. Gardonio, Sound and Structural Vibration,
2nd ed., 2007, sec. 3.4 and 3.6): with V(kx, ky) = ∫∫ v exp(i kx x + i ky y) dS (rms),

    W = rho c k² / (4 pi²) ∫ over the hemisphere |V(k sin t cos a, k sin t sin a)|² dOmega .

It needs no grid on the plate and no self term, few angles at low frequency, and gives the
resistive part of the radiation matrix as a sum of squares, so power in and power out agree.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import product
from typing import Any

import numpy as np

from impact.base import air
from impact.base.quadrature import gauss
from impact.leaf import mirror
from impact.leaf.basis import Basis
from impact.leaf.plate import Leaf
from impact.leaf.vented import Vented

WEAK = 1e-10  # ways to radiate this far below the strongest are left out


@dataclass(frozen=True, eq=False)
class Pattern:
    """Radiation of modes: W = sum_q weight_q |rows_q . velocity|² for modal velocities (rms).

    rows : (…, Q, n) [m2 kg^-1/2 (Pa s/m3)^1/2]; weight : (…, Q) [-]. As few as matter: a plate
    much smaller than the wavelength radiates in few ways.
    """

    rows: np.ndarray
    weight: np.ndarray


def pattern(
    leaf: Leaf, omega: float | np.ndarray, keep: np.ndarray, spare: int = 4, fewest: bool = True
) -> Pattern:  # fmt: skip
    """Radiation pattern of the modes `keep` of a leaf at omega (…,) [rad/s].

    spare : angles each way beyond the half waves k L / 2 pi that fit on the leaf, k at the upper
    edge of the third octave: all lines of a band are summed over the same angles. fewest : with as
    few rows as matter; else one for each angle and quarter.

    See `Pattern` for the shapes.
    """
    modes = np.arange(len(leaf.omega))[keep]
    found = []
    for mine, rows in _by_kind(leaf, np.atleast_1d(omega), modes, spare):
        own = _fewest(rows) if fewest else rows
        whole = np.zeros((*own.shape[:2], len(modes)))
        whole[:, :, mine] = own
        found.append(whole)
    rows = np.concatenate(found, axis=1)
    if np.ndim(omega) == 0:
        rows = rows[0]
    return Pattern(rows, np.ones(rows.shape[:-1]))


def resistances(
    leaf: Leaf, omega: float | np.ndarray, keep: np.ndarray, spare: int = 4
) -> np.ndarray:  # fmt: skip
    """Radiation resistance (…, n) [Pa s m/kg] of the modes `keep` of a leaf, of each by itself, at
    omega (…,) [rad/s]: the sum of squares down each column of a `pattern`."""
    modes = np.arange(len(leaf.omega))[keep]
    out = np.zeros((np.size(omega), len(modes)))
    for mine, rows in _by_kind(leaf, np.atleast_1d(omega), modes, spare):
        out[:, mine] += np.einsum("fqn,fqn->fn", rows, rows)
    return out.reshape(*np.shape(omega), -1)


def _by_kind(
    leaf: Leaf, omega: np.ndarray, modes: np.ndarray, spare: int
) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Which of the `modes` (n,) are of a kind, and their rows of `pattern` (F, Q, n') for one
    quarter of the hemisphere, at omega (F,).

    The sphere's axis lies along x, so that a ring of directions shares its kx: sin t cos a and
    sin t sin a above are here sin u and cos u sin v, dOmega = cos u du dv.
    """
    k = omega / air.SPEED
    band = np.round(10 * np.log10(np.max(omega) / (2 * np.pi)))
    highest = 2 * np.pi * 10 ** ((band + 0.5) / 10) / air.SPEED
    u, du = _quarter(highest * leaf.plate.length, spare)
    v, dv = _quarter(highest * leaf.plate.width, spare)
    factor = 4 * air.IMPEDANCE * k[:, None, None] ** 2 / (4 * np.pi**2)
    root = np.sqrt(factor * np.outer(du * np.cos(u), dv))[..., None]  # of the weights (F, U, V, 1)
    across = k[:, None, None] * np.outer(np.cos(u), np.sin(v))
    # even and odd parts each way, as far as there are any, stand for the hemisphere's quarters
    x_part = lru_cache(partial(_transformed, leaf.x, np.outer(k, np.sin(u))))  # (F, U, Mx)
    y_part = lru_cache(lambda *way: root * _transformed(leaf.y, across, *way))  # (F, U, V, My)
    for kind in mirror.kinds(leaf):
        alike = np.zeros(len(leaf.omega), bool)
        alike[kind.modes] = True
        mine = alike[modes]
        if not mine.any():
            continue
        own: Any = slice(int(mine.sum()))
        if kind.modes[own][-1] != modes[mine][-1]:  # not the lowest of their kind
            own = kind.modes.searchsorted(modes[mine])
        block = kind.block[:, :, own]
        for x, y in product(*((sign,) if sign else (1, -1) for sign in kind.signs)):
            along = x_part(x, bool(kind.signs[0])) @ block.reshape(len(block), -1)
            along = along.reshape(len(k), len(u), *block.shape[1:])
            rows = y_part(y, bool(kind.signs[1])) @ along  # (F, U, V, n)
            rows = rows.reshape(len(k), -1, rows.shape[-1])
            if isinstance(leaf, Vented):
                vents = modes[mine] < leaf.vents
                rows[..., vents] *= leaf.at_walls(k[:, None])[:, None, modes[mine][vents]]
            yield mine, rows


def _transformed(side: Basis, wavenumber: np.ndarray, sign: int, pure: bool) -> np.ndarray:
    """`Basis.transform` (…, M) at wavenumbers (…,) [rad/m]."""
    found = side.transform(wavenumber.ravel(), sign, pure)
    return found.reshape(*wavenumber.shape, -1)


def _fewest(rows: np.ndarray) -> np.ndarray:
    """As few rows as give the same sum of squares to WEAK of the strongest: (F, Q, n) ->
    (F, R, n). The angles are those of all F frequencies, so one rotation of them serves all."""
    lines, count, width = rows.shape
    flat = rows.swapaxes(0, 1).reshape(count, -1)
    squares, turn = np.linalg.eigh(flat @ flat.T)
    strong = turn[:, squares > WEAK * squares[-1]]
    return (strong.T @ flat).reshape(-1, lines, width).swapaxes(0, 1)


def _quarter(waves: float, spare: int) -> tuple[np.ndarray, np.ndarray]:
    """Angles over a quarter turn and their weights [rad] for a side of k L = `waves` [rad]."""
    points, weights = gauss(int(np.ceil(waves / 2 * 0.75)) + spare)
    return points * np.pi / 2, weights * np.pi / 2


def normalized_pressure_square(power: np.ndarray) -> np.ndarray:
    """Mean-square pressure in a diffuse room of A0 = 10 m2: 4 rho c W / A0 [Pa2].

    The definition behind Ln in ISO 10140-3 and ISO 12354-2; power (…,) [W].
    """
    return 4 * air.IMPEDANCE * power / 10.0

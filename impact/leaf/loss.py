"""Total loss factors: inside the material, at the edges, by radiation; of parts that lose unlike
shares."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from impact.leaf.plate import Leaf

SPEED = 340.0  # m/s, as in the examples of ISO 12354
DENSITY = 1.2  # kg/m3, same
REFERENCE = 1000.0  # Hz, f_ref of ISO 12354
CORNER = 5.7  # dB, K_ij of a T-junction of equal masses round the corner: ISO 12354-1:2017 Annex E


def laboratory(frequencies: NDArray, internal: float, mass: float) -> NDArray:
    """Total loss factor of a heavy floor in a laboratory: eta_int + m'/(485 sqrt f).

    ISO 12354-1:2017 eq. C.5; mass m' [kg/m2] below 800. Arrays (n,) over the frequencies.
    """
    return internal + mass / (485 * np.sqrt(np.asarray(frequencies, float)))


def edge_absorption(critical_hz: float) -> float:
    """Absorption coefficient of an edge [-], alpha = sqrt(fc/f_ref) sum_j 10^(-K_ij/10).

    ISO 12354-1:2017 eq. C.2; critical frequency [Hz] that of the walls met there: one above and one
    below the edge of a floor, in a T-junction of equal masses.
    """
    return float(np.sqrt(critical_hz / REFERENCE) * 2 * 10 ** (-CORNER / 10))


def in_situ(
    frequencies: NDArray, internal: float, mass: float, critical_hz: float,
    sides: tuple[float, float], radiation: NDArray,
) -> NDArray:  # fmt: skip
    """Total loss factor in a building, ISO 12354-1:2017 eq. C.1.

    eta = eta_int + 2 rho c sigma/(2 pi f m') + c/(pi^2 S sqrt(f fc)) sum(l alpha).
    sides (l1, l2) [m]; radiation sigma of shape (n,); alpha as of `edge_loss`.
    """
    f = np.asarray(frequencies, float)
    air_loss = 2 * DENSITY * SPEED * radiation / (2 * np.pi * f * mass)
    return internal + air_loss + edge_loss(f, critical_hz, sides)


def edge_loss(
    frequencies: NDArray | float, critical_hz: float, sides: tuple[float, float]
) -> NDArray:
    """Part of the loss factor that goes into walls: c/(pi^2 S sqrt(f fc)) sum(l alpha) [-].

    ISO 12354-1:2017 eq. C.1, third term; frequencies [Hz], sides (l1, l2) [m], alpha of all edges
    as `edge_absorption` has it, with walls of the slab's own kind.
    """
    alpha = edge_absorption(critical_hz)
    area, edge = sides[0] * sides[1], 2 * (sides[0] + sides[1])
    f = np.asarray(frequencies, float)
    return np.asarray(SPEED / (np.pi**2 * area * np.sqrt(f * critical_hz)) * edge * alpha)


def reverberation_time(frequencies: NDArray, loss: NDArray) -> NDArray:
    """Structural reverberation time Ts = 2.2/(f eta) [s]. Arrays (n,) over the frequencies."""
    return 2.2 / (np.asarray(frequencies, float) * loss)


def share_of_plate(leaf: Leaf) -> NDArray:
    """Share of a plate without its ribs in the energy of each mode (n,) [-].

    With it each part's loss factor counts by the energy it holds (C. D. Johnson, D. A. Kienholz,
    AIAA J. 20 (1982) 1284). The energies are those of `leaf.plate`; 2 U = omega^2 of unit mass.
    """
    p, x, y, c = leaf.plate, leaf.x, leaf.y, leaf.coefficients
    terms = (
        (p.bending_x, x.bend, np.eye(y.count)), (p.bending_y, np.eye(x.count), y.bend),
        (2 * p.bending_nu, x.mixed, y.mixed.T), (4 * p.twisting, x.slope, y.slope),
    )  # fmt: skip
    energy = [d * np.sum(np.tensordot(a, c, 1) * np.matmul(b, c), axis=(0, 1)) for d, a, b in terms]
    return np.asarray(np.sum(energy, axis=0) / np.maximum(leaf.omega**2, 1e-9))

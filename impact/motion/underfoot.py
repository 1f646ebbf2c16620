"""What single places of a foot see: their own mobility, and what a force there does elsewhere.

A foot is no ideal force. On a floor of mobility Y a walker of impedance Z presses with F/(1 + Z Y),
F the force on a rigid floor (Norton and Thevenin; Cremer, Heckl & Petersson, Structure-Borne Sound,
ch. 4 in the third edition, from memory). Y belongs to one place and one frequency, so it cannot be
taken from means over the floor: here both are kept, line by line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from impact.base.levels import squared

if TYPE_CHECKING:
    from impact.motion.mirror import Together

Impedance = Callable[[np.ndarray], np.ndarray]  # Hz (n,) -> complex N s/m (n,)


@dataclass(frozen=True, eq=False)
class Underfoot:
    """P places of the foot, each at all n lines of all bands.

    frequency : (n,) Hz. band : (n,) place of the line's band in the centres asked for.
    weight : (n,) share of its band, as `lowband.frequencies` gives it. mobility : (n, P) complex
    driving-point mobility [m/(N s)]. squares : name -> (n, …, P) mean squares per mean-square
    force: "power" [W/N²]; where asked for velocities [m²/s²/N²] beside the "foot" and over all of
    "floor" and "ceiling", the walked and the lowest leaf; places of the room [Pa²/N²].
    """

    frequency: np.ndarray
    band: np.ndarray
    weight: np.ndarray
    mobility: np.ndarray
    squares: dict[str, np.ndarray]

    def yielding(self, impedance: Impedance | None) -> np.ndarray:
        """|1/(1 + Z Y)|² (n, P) [-]: squared force over the squared force on a rigid floor."""
        if impedance is None:
            return np.ones(self.mobility.shape)
        return np.abs(1 / (1 + impedance(self.frequency)[:, None] * self.mobility)) ** 2

    def means(self, name: str, impedance: Impedance | None = None) -> np.ndarray:
        """Band means of `squares[name]` per squared force on a rigid floor, (…, P, bands)."""
        values = self.squares[name]
        part = self.yielding(impedance) * self.weight[:, None]
        part = part.reshape(len(part), *(1,) * (values.ndim - 2), part.shape[1])
        out = np.zeros((self.band.max() + 1, *values.shape[1:]))
        np.add.at(out, self.band, values * part)
        return np.moveaxis(out, 0, -1)

    def ratio(self, name: str, impedance: Impedance | None) -> np.ndarray:
        """What the walker's own impedance does to the mean over the places, (…, bands) [-]."""
        loaded, free = (self.means(name, each).sum(axis=-2) for each in (impedance, None))
        return loaded / free


def seen(
    omega: np.ndarray, answer: Together, local: np.ndarray, moving: bool
) -> dict[str, np.ndarray]:
    """Lines (n, P) of `Underfoot` at omega (n,) [rad/s], for the shared columns of `answer`.

    local : (n, P) of `striking.compliance_at`; what moves beside the foot is without it. moving :
    whether velocities are wanted beside mobility and power.
    """
    stack, first = answer.reduced.stack, answer.own
    mobility = answer.mobility[:, first:]
    heard = {
        "mobility": mobility + 1j * omega[:, None] * local,
        "power": answer.power[:, first:],
    }
    if not moving:
        return heard
    return heard | {
        "foot": squared(mobility),
        "floor": _over_leaf(omega, answer, stack.walked),
        "ceiling": _over_leaf(omega, answer, stack.radiating),
    }


def _over_leaf(omega: np.ndarray, answer: Together, leaf: int) -> np.ndarray:
    """Mean-square velocity (n, P) over a leaf, weighted by mass: w² sum |q|²/M from unit modal
    masses."""
    plate = answer.reduced.stack.leaves[leaf].plate
    mass = plate.whole_mass * plate.length * plate.width
    return np.asarray(omega[:, None] ** 2 * answer.square(leaf) / mass)


def collected(bands: list[list[tuple[float, float, dict[str, np.ndarray]]]]) -> Underfoot:
    """Lines (frequency, weight, what is `seen` and heard) of every band as one `Underfoot`."""
    band = np.repeat(np.arange(len(bands)), [len(lines) for lines in bands])
    flat = [line for lines in bands for line in lines]
    names = flat[0][2]
    stacked = {name: np.stack([line[2][name] for line in flat]) for name in names}
    mobility = stacked.pop("mobility")
    frequency, weight = (np.array([line[i] for line in flat]) for i in (0, 1))
    return Underfoot(frequency, band, weight, mobility, stacked)

"""Power balance of leaves: who feeds whom, and the mean-square velocity that follows.

Statistical energy: what goes into a leaf is lost in it or handed on (R. H. Lyon, R. G. DeJong,
Theory and Application of Statistical Energy Analysis, 2nd ed. 1995; R. J. M. Craik, Sound
Transmission through Buildings using SEA, 1996). Unknown is the mean-square velocity of each leaf
per mean-square force [m2/s2/N2].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray


@dataclass
class Balance:
    """A small linear system per band, filled step by step.

    names : of the leaves; size : number of bands.
    """

    names: list[str]
    size: int
    matrix: NDArray = field(init=False)
    source: NDArray = field(init=False)

    def __post_init__(self) -> None:
        n = len(self.names)
        self.matrix = np.zeros((self.size, n, n))
        self.source = np.zeros((self.size, n))

    def loses(self, leaf: str, conductance: NDArray) -> None:
        """Power lost by a leaf per mean-square velocity [W s2/m2], (n,)."""
        i = self.names.index(leaf)
        self.matrix[:, i, i] += conductance

    def feeds(self, giver: str, taker: str, conductance: NDArray) -> None:
        """One way: power into `taker` per mean-square velocity of `giver` (n,). The giver must
        lose as much by other entries, or the system gains energy."""
        i, j = self.names.index(giver), self.names.index(taker)
        self.matrix[:, j, i] -= conductance

    def couples(self, first: str, second: str, link: NDArray, y1: NDArray, y2: NDArray) -> None:
        """Both ways through points: P = link (v1^2 Re Y2 - v2^2 Re Y1), so that leaves at rest
        with each other hold equal energy per mode (Re Y = pi n / (2 M)). Raises ValueError for a
        mobility with a negative real part."""
        if np.min(np.real(y1)) < 0 or np.min(np.real(y2)) < 0:
            raise ValueError("a passive point has no negative real mobility")
        i, j = self.names.index(first), self.names.index(second)
        out, back = link * np.real(y2), link * np.real(y1)
        self.matrix[:, i, i] += out
        self.matrix[:, j, i] -= out
        self.matrix[:, j, j] += back
        self.matrix[:, i, j] -= back

    def driven(self, leaf: str, power: NDArray) -> None:
        """Power put into a leaf per mean-square force [W/N2], (n,)."""
        self.source[:, self.names.index(leaf)] += power

    def solve(self, held: Mapping[str, NDArray] | None = None) -> dict[str, NDArray]:
        """Mean-square velocity of each leaf per mean-square force (n,) [m2/s2/N2].

        held : leaf -> the same (n,), where it is given.
        """
        matrix, source = self.matrix.copy(), self.source.copy()
        for leaf, square in (held or {}).items():
            i = self.names.index(leaf)
            matrix[:, i, :] = 0.0
            matrix[:, i, i] = 1.0
            source[:, i] = square
        answer = np.linalg.solve(matrix, source[:, :, None])[:, :, 0]
        return {name: answer[:, i] for i, name in enumerate(self.names)}


def points(
    count: float, spacing: tuple[float, float], half_wave: NDArray, stiffness: complex
) -> tuple[NDArray, NDArray]:
    """Points that count as independent, and the stiffness of each, both (n,).

    Points closer than half a bending wave of the softer leaf move together (Craik 1996 ch. 4): in
    each direction the spacing is at least half a wave, and what lies inside acts in parallel. count
    of real points, spacing [m] both ways, stiffness of one [N/m], complex with its loss.
    """
    cell = np.maximum(spacing[0], half_wave) * np.maximum(spacing[1], half_wave)
    together = cell / (spacing[0] * spacing[1])
    return count / together, stiffness * together


def point_link(
    number: NDArray,
    stiffness: NDArray | complex,
    y1: NDArray | float,
    y2: NDArray | float,
    omega: NDArray,
    end: NDArray | None = None,
) -> NDArray:
    """Conductance of `number` springs between two mobilities: N / |Y1 + Y2 + i omega/k|^2.

    The force in one is F = v1/(Y1 + Y2 + i omega/k) with v1 the free motion above, the power
    handed on |F|^2 Re Y2 (Cremer/Heckl/Petersson 2005 ch. 5; Vigran 2008 ch. 8). A spring with
    waves hands `stiffness` k from end to end and feels `end` e at an end whose other is held; by
    the forces on both ends the sum above is then ((1 + Y1 e')(1 + Y2 e') - Y1 Y2 k'^2)/k', with
    k' = k/(i omega) and e' alike.
    Mobilities and the result have the shape (n,) of `omega` or are plain numbers.
    """
    if end is None:
        return np.asarray(number / np.abs(y1 + y2 + 1j * omega / stiffness) ** 2)
    across, own = stiffness / (1j * omega), end / (1j * omega)
    held = (1 + y1 * own) * (1 + y2 * own) - y1 * y2 * across**2
    return np.asarray(number * np.abs(across / held) ** 2)

"""A timber joist across its depth: from some 700 Hz up its lower face does not move as its upper.

Across the grain wood is soft: a quarter of a wave, sqrt(E90/rho)/4d, fits into 235 mm at 0.9 kHz.
For a wave along the joist what opposes motion, bending and shear less inertia, is spread over the
depth d: E90 b w'' = D w/d, D the dynamic stiffness per length of the joist as one beam. So a face
answers as the end of a rod, and the other follows by 1/cos x, x² = -D d/(E90 b). What is held at
its side or lower face, battens, boards, hangers, meets the rod at that height. Derived here; rods:
L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd ed. 2005, ch. 3. Within 1 dB of
the plane elasticity of the same strip, orthotropic, below a deck up to 3 kHz
(`tests/energy/test_depth.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from impact.energy.bay_parts import REACH, Sheet

_LARGEST = 300.0  # of |Im x|: what dies out so fast does not get through
_ALONG = 240  # waves along a joist


@dataclass(frozen=True)
class Rod:
    """A joist as a rod across its depth, per length, in N waves along it.

    dynamic : D (N,) of the joist as one beam [N/m2]; crush : C = E90 b/d from face to face, complex
    with its loss [N/m2], inf where it is stiff. Heights are counted from the upper face down, in
    the depth: 1 is the lower face.
    """

    dynamic: NDArray
    crush: complex

    @cached_property
    def phase(self) -> NDArray:
        """x of the whole depth (N,) [-]."""
        x = np.sqrt(-self.dynamic / self.crush + 0j)
        x = np.real(x) + 1j * np.clip(np.imag(x), -_LARGEST, _LARGEST)
        return np.where(np.abs(x) < 1e-4, 1e-4, x)

    def face(self) -> NDArray:
        """Stiffness at the upper face (N,) [N/m2], with all else free: -C x tan x."""
        if np.isinf(self.crush):
            return self.dynamic
        return np.asarray(-self.crush * self.phase * np.tan(self.phase))

    def at(self, heights: Sequence[float]) -> tuple[NDArray, NDArray]:
        """Motion of A places across the depth per motion of the upper face (N, A) [-], and what
        they give way per force at each other with that face held (N, A, A) [m2/N].

        Of a rod with one end free: cos((1 - h) x)/cos x and, h the upper and l the lower of two
        places, sin(h x) cos((1 - l) x)/(C x cos x).
        """
        count = len(self.dynamic), len(heights)
        if np.isinf(self.crush):
            return np.ones(count, complex), np.zeros((*count, count[1]), complex)
        h, x = np.array(heights), self.phase[:, None]
        above, below = np.minimum.outer(h, h), np.maximum.outer(h, h)
        ratio = np.cos((1 - h) * x) / np.cos(x)
        x = x[..., None]
        give = np.sin(above * x) * np.cos((1 - below) * x) / (self.crush * x * np.cos(x))
        return ratio, give

    def held(
        self, heights: Sequence[float], springs: Sequence[complex | NDArray], shares: NDArray
    ) -> NDArray:
        """A springs [N/m2], numbers or (N,), between places of the joist and sums of R other
        motions, `shares` (N, A, R) [-]: stiffness in its upper face and these (N, 1 + R, 1 + R)
        [N/m2]. A force at one place moves all others and the upper face."""
        ratio, give = self.at(heights)
        apart, give = _on_springs(ratio, give, springs, shares)
        back = np.concatenate([ratio[..., None], -np.conj(shares)], axis=2)
        return np.asarray(np.swapaxes(back, 1, 2) @ np.linalg.solve(give, apart))

    def lower_face(
        self, heights: Sequence[float], springs: Sequence[complex | NDArray], shares: NDArray
    ) -> tuple[NDArray, NDArray]:
        """Motion of the lower face per motion of the upper one and of what `held` ties (N, 1 + R)
        [-], and what it gives way per force on it with these held (N,) [m2/N]."""
        ratio, give = self.at([*heights, 1.0])
        apart, own = _on_springs(ratio[:, :-1], give[:, :-1, :-1], springs, shares)
        across = give[:, -1:, :-1] @ np.linalg.inv(own)
        moved = -(across @ apart)[:, 0]
        moved[:, 0] += ratio[:, -1]
        return moved, (give[:, -1:, -1:] - across @ give[:, :-1, -1:])[:, 0, 0]


def _on_springs(
    ratio: NDArray, give: NDArray, springs: Sequence[complex | NDArray], shares: NDArray
) -> tuple[NDArray, NDArray]:
    """What A springs are drawn apart by per motion of the upper face and of what they tie (N, A,
    1 + R) [-], and what they and the rod between them give way per force in each (N, A, A)."""
    own = give.copy()
    for place, spring in enumerate(springs):
        own[:, place, place] += 1 / np.asarray(spring)
    return np.concatenate([ratio[..., None], -shares], axis=2), own


def under(
    deck: Sheet, omega: NDArray, bending: Callable[[NDArray], NDArray], mass: float, crush: complex
) -> NDArray:
    """Mean-square motion of the lower faces of joists / that of beams behind the softness of half
    their depth, 2C, both below a deck struck above one joist, (n,) over omega [rad/s].

    bending : EI of k² [N m2], as of `leaf.build.joist_bending`; mass [kg/m]; crush as in `Rod`.
    Averages over energy take a joist for such a beam.
    """
    if np.isinf(crush):
        return np.ones(np.shape(omega))
    lossy = 1 + 1j * np.imag(crush) / np.real(crush)
    found = []
    for one in np.ravel(omega):
        step = (np.arange(_ALONG) + 0.5) / _ALONG
        k2 = (REACH * deck.wavenumber(one) * step**1.5) ** 2
        beam = bending(k2) * k2**2 * lossy - one**2 * mass
        above = 1 / deck.under_line(k2, one)
        rod = Rod(beam, crush)
        moved = rod.at([1.0])[0][:, 0] / (above + rod.face())
        behind = 2 * crush / (above * (2 * crush + beam) + 2 * crush * beam)
        squares = np.abs(np.array([moved, behind])) ** 2 @ step**0.5
        found.append(squares[0] / squares[1])
    return np.array(found)

"""A timber joist across its depth: from some 700 Hz up its lower face does not move as its upper.

Across the grain wood is soft: a quarter of a wave, sqrt(E90/rho)/4d, fits into 235 mm at 0.9 kHz.
For a wave along the joist what opposes motion, bending and shear less inertia, is spread over the
depth d: E90 b w'' = D w/d, D the dynamic stiffness per length of the joist as one beam. So a face
answers as the end of a rod, and the other follows by 1/cos x, x² = -D d/(E90 b). Derived here;
rods: L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd ed. 2005, ch. 3. Within 1
dB of the plane elasticity of the same strip, orthotropic, below a deck up to 3 kHz
(`tests/energy/test_depth.py`).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from impact.energy.bay_parts import REACH, Sheet

_LARGEST = 300.0  # of |Im x|: what dies out so fast does not get through
_ALONG = 240  # waves along a joist


def faces(dynamic: NDArray, crush: complex) -> tuple[NDArray, NDArray, NDArray]:
    """A joist moved at one face, per length: stiffness there with the other face free [N/m2],
    motion of the other face per motion of this one [-], stiffness of the other with this one held
    [N/m2]; -C x tan x, 1/cos x, C x/tan x, each of the shape of `dynamic`.

    dynamic : D of the joist as one beam [N/m2]; crush : C = E90 b/d from face to face, complex with
    its loss [N/m2], inf where it is stiff.
    """
    if np.isinf(crush):
        return dynamic, np.ones_like(dynamic), np.full_like(dynamic, np.inf)
    x = np.sqrt(-dynamic / crush + 0j)
    x = np.real(x) + 1j * np.clip(np.imag(x), -_LARGEST, _LARGEST)
    x = np.where(np.abs(x) < 1e-4, 1e-4, x)
    return -crush * x * np.tan(x), 1 / np.cos(x), crush * x / np.tan(x)


def hung(faces: tuple[NDArray, NDArray, NDArray], spring: complex | NDArray) -> NDArray:
    """A spring [N/m2], a number or (N,), between a joist's lower face and another motion, in
    motions of its upper face and of that other (N, 2, 2) [N/m2]; `faces` of the joist (N,)."""
    _, share, seat = faces
    whole = 1 / (1 / np.asarray(spring) + 1 / seat)
    across = -whole * share
    return np.moveaxis(np.array([[whole * share**2, across], [across, whole]]), -1, 0)


def under(
    deck: Sheet, omega: NDArray, bending: Callable[[NDArray], NDArray], mass: float, crush: complex
) -> NDArray:
    """Mean-square motion of the lower faces of joists / that of beams behind the softness of half
    their depth, 2C, both below a deck struck above one joist, (n,) over omega [rad/s].

    bending : EI of k² [N m2], as of `leaf.build.joist_bending`; mass [kg/m]; crush as in `faces`.
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
        face, ratio, _ = faces(beam, crush)
        moved = ratio / (above + face)
        behind = 2 * crush / (above * (2 * crush + beam) + 2 * crush * beam)
        squares = np.abs(np.array([moved, behind])) ** 2 @ step**0.5
        found.append(squares[0] / squares[1])
    return np.array(found)

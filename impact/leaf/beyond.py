"""What gives way under a point beyond the modes of a leaf: the dimple of short waves.

A stiff screw presses a dimple into a board. The board's modes as far as they are solved hold most
of it; the waves shorter than they are missing, each of which would give way by its static
compliance. In an endless plate (Fourier's integral of its static equation; any textbook of plates)

    c = 1/(4 pi²) ∫∫ dkx dky / (Dx kx⁴ + 2 (Dnu + 2 D66) kx² ky² + Dy ky⁴)

over the wavenumbers beyond those of the leaf's functions; of an isotropic plate beyond a circle,
1/(4 pi D k²).
"""

from __future__ import annotations

import numpy as np

from impact.leaf.plate import ELLIPSE, Leaf, Ribs

ANGLES = 64  # of the integral over directions; its integrand is smooth but for two corners
NEAR = 0.005  # m: a point so near a rib's line presses on the rib


def compliance(leaf: Leaf, points: np.ndarray) -> np.ndarray:
    """Complex compliance (P,) [m/N] of a leaf at floor coordinates points (P, 2) [m] that its modes
    lack; 0 where a rib carries the point, since a rib makes no dimple."""
    place = np.asarray(points, float) - np.asarray(leaf.plate.origin)
    on_rib = _on(leaf.plate.ribs_x, place[:, 1]) | _on(leaf.plate.ribs_y, place[:, 0])
    return np.where(on_rib, 0.0, _of_plate(leaf, 0.0))


def on_mat(leaf: Leaf, spring: complex) -> complex:
    """What a plain leaf on a mat of `spring` [N/m3] over a still base lacks under any point [m/N]:
    s'' stands beside D k⁴ (S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd
    ed., 1959, ch. 8, whose whole dimple is 1/(8 sqrt(D s'')))."""
    return _of_plate(leaf, spring)


def _on(ribs: Ribs | None, across: np.ndarray) -> np.ndarray:
    """Whether each place (P,) [m] measured across ribs lies on one of them."""
    if ribs is None or not len(ribs.positions):
        return np.zeros(len(across), bool)
    return np.abs(across[:, None] - np.asarray(ribs.positions)).min(axis=1) < NEAR


def _of_plate(leaf: Leaf, spring: complex) -> complex:
    """The integral of the module's head [m/N] with a spring [N/m3] below, over directions after
    that over wavenumbers: 1/(4 pi sqrt(D s)) atan(sqrt(s/D)/k²), 1/(4 pi D k²) without."""
    plate = leaf.plate
    angle = (np.arange(ANGLES) + 0.5) / ANGLES * np.pi / 2
    c, s = np.cos(angle), np.sin(angle)
    highest = [family.smooth * np.pi / family.length for family in (leaf.x, leaf.y)]
    if plate.edges == "free":
        reach = np.sqrt(ELLIPSE) / np.hypot(c / highest[0], s / highest[1])
    else:
        reach = np.minimum(highest[0] / c, highest[1] / s)
    mixed = 2 * (plate.bending_nu + 2 * plate.twisting)
    bending = plate.bending_x * c**4 + mixed * (c * s) ** 2 + plate.bending_y * s**4
    lossy = bending * (1 + 1j * leaf.loss_factor)
    ratio = np.sqrt(spring / lossy + 0j) / reach**2
    turned = np.arctan(ratio) / ratio if spring else 1.0
    return complex(np.mean(turned / (lossy * reach**2)) / (4 * np.pi))

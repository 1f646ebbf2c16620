"""A leaf that floats on a slab, in each of the slab's own modes.

A topping is coupled to a slab all over, by an even mat: a wave in one moves the other in the same
pattern. So in a mode of the slab both bend alike, at the wavenumbers (kx, ky) that the mode has in
the middle of the slab, two masses on springs,

    (B1 k⁴ - m1 w² + s) u1 - s' u2 = F,    -s' u1 + (m2 z - M2 w² + s) u2 = 0

with s and s' of `mat.impedances`, z the mode's square, m2 the mass that it counts and M2 the slab's
own (half a mat less). So the slab moves most at the wavenumbers of the topping's waves, which often
are slower than sound where its own free waves are not. What a topping's free edges hand on to waves
of another length besides is for averages, `at_free_edge`.
Beside modes of both leaves in `validation/notes/toppings_on_mats_on_slabs.md`.

Two plates on a spring, from their equations (L. Cremer, M. Heckl, B. A. T. Petersson,
Structure-Borne Sound, 3rd ed. 2005, ch. 3); derived here mode by mode.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Mat
from impact.energy import radiating
from impact.energy.leaves import PlateLeaf
from impact.leaf import sheared
from impact.leaf.plate import Leaf, Plate
from impact.link import mat as mats

HALVINGS = 50  # of the interval that holds ky²
SHORTEST = 1e4  # 1/m2: largest ky², waves of 6 cm


def alone(floating: list[tuple[Mat, PlateLeaf]]) -> tuple[Mat, PlateLeaf] | None:
    """The leaf that floats on a slab all over, with its mat, where just one does."""
    return floating[0] if len(floating) == 1 and not floating[0][0].line_spacing else None


def frequency(plate: Plate, wave: float) -> float:
    """Frequency [Hz] of free waves `wave` [1/m] of a slab, in the mean of both its directions."""
    stiff = [
        bending * sheared.left(bending, shear, wave**2)
        for bending, shear in zip((plate.bending_x, plate.bending_y), plate.shear, strict=True)
    ]
    return float(np.sqrt(np.sqrt(np.prod(stiff)) / plate.mass) * wave**2 / (2 * np.pi))


def inside(leaf: Leaf) -> tuple[NDArray, NDArray]:
    """Squared wavenumbers kx², ky² (n,) [1/m2] of a slab's modes in its middle.

    kx of its functions between the supports; ky of the plate's equation, with which a wave of the
    mode's frequency runs, 0 where it would die out. Near free edges a mode bends in other ways.
    """
    plate, share = leaf.plate, np.sum(leaf.coefficients**2, axis=1)
    x2 = np.sqrt(np.diag(leaf.x.bend) @ share / np.sum(share, axis=0))
    low, high = np.zeros_like(x2), np.full_like(x2, SHORTEST)
    for _ in range(HALVINGS):
        y2 = (low + high) / 2
        above = sheared.of_wave(plate.stiffnesses, plate.shear, x2, y2) > leaf.omega**2 * plate.mass
        low, high = np.where(above, low, y2), np.where(above, y2, high)
    return x2, low


@dataclass(frozen=True, eq=False)
class Topping:
    """What floats on a slab: mat, leaf (its arrays (1,) of one band), and kx², ky² of the slab's
    modes (n,) [1/m2]; masses m2 and M2 of the heading [kg/m2]."""

    mat: Mat
    leaf: PlateLeaf
    waves: tuple[NDArray, NDArray]
    counted: float
    slab: float

    def answers(self, omega: float, squares: NDArray, modes: NDArray | slice) -> NDArray:
        """|m2 u2/F|² (m,) [s4] of some `modes`, numbers (m,) or a slice, struck above: in place of
        1/|z - w²|² of a bare slab whose `squares` are z (m,) [rad2/s2], sound's losses in them."""
        own, across = (1j * omega * z for z in mats.impedances(self.mat, np.array(omega)))
        x2, y2 = (each[modes] for each in self.waves)
        bx, by, both = self.leaf.stiffness
        bent = (bx * x2**2 + 2 * both * x2 * y2 + by * y2**2) * (1 + 1j * self.leaf.loss[0])
        sound = 1j * omega * air.IMPEDANCE * self.leaf.radiation[0]
        above = bent - omega**2 * self.leaf.mass + sound + own
        below = self.counted * squares - omega**2 * self.slab + own
        return np.asarray(np.abs(self.counted * across / (above * below - across**2)) ** 2)


def at_free_edge(ratio: NDArray) -> NDArray:
    """What a leaf's free edges hand on to the waves of a slab with held ones / what waves of the
    one length radiate from a held edge into those of the other, as in `upper` (n,) [-].

    ratio : (k2/k1)² (n,), slab over leaf. Waves that meet an edge squarely: (cos kx - sin kx +
    e^(-kx))/sqrt(2) of the leaf holds sqrt(2) q³/(q⁴ - k⁴) of the slab's sin qx at the edge, where
    sin kx of a held leaf holds k/(k² - q²) of waves of sound; the square of a sine counts twice,
    with no cosine beside it; means over q = k2 cos(theta). Near coincidence what both have in
    common is in their modes already: of a wave with free ends its two nearest sines hold 8/pi² each
    way, and the rest is all that is left. Derived here as `radiating.at_free_edge`.
    """
    shorter = np.minimum(np.minimum(ratio, 1 / np.asarray(ratio, float)), 1 - 1e-9)[..., None]
    q2 = shorter * np.cos(radiating.ANGLES) ** 2
    held = np.mean((1 - q2) ** -2, axis=-1)
    free = 4 * np.where(np.asarray(ratio)[..., None] < 1, q2**3, 1.0) / (1 - q2**2) ** 2
    return np.minimum(np.mean(free, axis=-1) / held, 1 - (8 / np.pi**2) ** 2)

"""A resilient mat between two leaves: a spring at low frequency, above it a layer with own waves.

From where half a wave of its frame fits into its thickness, sqrt(s''/m'')/2, its mass counts: it no
longer hands on less and less, but what its wave resistance lets through, with peaks at its own
resonances ("wave effects" in isolators: J. C. Snowdon, Vibration and Shock in Damped Mechanical
Systems, 1968; rods as springs: L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd
ed. 2005, ch. 3). In a porous mat frame and air share the stiffness and carry a wave each, which
drag on each other. Time factor e^{+i omega t}.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Mat
from impact.energy.radiating import INSIDE
from impact.link import porous

_LEAST = 1e-6  # kg/m3: lighter mats are springs
_FRAME = 0.1  # least share of the frame in s'', for it carries the load: our choice, no source


def inside(omega: NDArray) -> NDArray:
    """Places in each third octave over which resonances are averaged, (n,) to (n, 5) [rad/s]."""
    return np.asarray(omega, float)[:, None] * 10 ** np.array(INSIDE)


def impedances(mat: Mat, omega: NDArray) -> tuple[NDArray, NDArray]:
    """Force per area on one face per velocity of the same face, and of the other [N s/m3].

    One wave (flow resistivity 0): Z11 = Z cot(x)/i, Z12 = Z/(i sin x) with Z = sqrt(s'' m''),
    x = omega sqrt(m''/s''), m'' = rho d; both are s''/(i omega) for small x. Porous: two waves of
    C u'' + M u = 0, u = (frame, air), C = diag(E, K), M = omega^2 [[rho + a, -a], [-a, rho0 + a]],
    a = rho_air(omega) - rho0 and K of `link.porous.fluid` (Biot's equations for one direction with
    a frame far denser than air: J. F. Allard, N. Atalla, Propagation of Sound in Porous Media, 2nd
    ed. 2009, ch. 6); both faces move frame and air alike. E is what the air, isothermal where s''
    is measured, leaves of it: E = s'' d - p0 (ISO 9052-1); the loss of the whole is the frame's. Of
    the shape of `omega`.
    """
    at = np.asarray(omega, float)
    density = max(mat.density, _LEAST)
    whole = mat.stiffness_per_area * mat.thickness
    if mat.flow_resistivity <= 0:
        modulus = whole * (1 + 1j * mat.loss_factor)
        wave, x = np.sqrt(density * modulus), at * mat.thickness * np.sqrt(density / modulus)
        return wave / (1j * np.tan(x)), wave / (1j * np.sin(x))
    frame = max(whole - air.PRESSURE, _FRAME * whole) + 1j * mat.loss_factor * whole
    heavy, bulk = porous.fluid(at, mat.flow_resistivity)
    stiff = np.stack([np.full(at.shape, frame), np.asarray(bulk)], axis=-1)
    drag = np.asarray(heavy) - air.DENSITY
    inertia = np.empty((*at.shape, 2, 2), complex)
    inertia[..., 0, 0], inertia[..., 1, 1] = density + drag, air.DENSITY + drag
    inertia[..., 0, 1] = inertia[..., 1, 0] = -drag
    square, shapes = np.linalg.eig(at[..., None, None] ** 2 * inertia / stiff[..., :, None])
    wave = np.sqrt(square)
    # share of each wave: faces move (1, 1); waves are orthogonal with respect to C
    pushed = np.sum(stiff[..., :, None] * shapes, axis=-2) ** 2
    share = pushed / np.sum(stiff[..., :, None] * shapes**2, axis=-2) * wave / (1j * at[..., None])
    x = wave * mat.thickness
    return np.sum(share / np.tan(x), axis=-1), np.sum(share / np.sin(x), axis=-1)


def force_handed_down(mat: Mat, struck: float, below: float, omega: NDArray) -> NDArray:
    """|force into `below` / force on `struck`|^2, averaged over each band, (n,).

    Two masses per area [kg/m2] with the mat between, the upper one struck; with a light mat
    H = (mu/m1) s/(s - omega^2 mu), mu = m1 m2/(m1 + m2) (any text on vibration).
    """
    at = inside(omega)
    own, across = impedances(mat, at)
    first, second = 1j * at * struck + own, 1j * at * below + own
    force = 1j * at * below * across / (first * second - across**2)
    return np.asarray(np.mean(np.abs(force) ** 2, axis=1))


def conductance(
    mat: Mat, area: NDArray | float, mobilities: tuple[NDArray, NDArray], omega: NDArray
) -> NDArray:
    """|F2/v1|^2 through a piece of `area` [m2] between two mobilities [m/(N s)], (n,).

    v1 is the free motion above: F2 = Z12 v1/((1 + Z11 Y1)(1 + Z11 Y2) - Z12^2 Y1 Y2), which is
    1/(Y1 + Y2 + i omega/k) for a spring. Averaged over each band.
    """
    at = inside(omega)
    piece = np.broadcast_to(np.asarray(area, float), omega.shape)[:, None]
    own, across = (z * piece for z in impedances(mat, at))
    y1, y2 = (np.broadcast_to(np.asarray(y), omega.shape)[:, None] for y in mobilities)
    force = across / ((1 + own * y1) * (1 + own * y2) - across**2 * y1 * y2)
    return np.asarray(np.mean(np.abs(force) ** 2, axis=1))

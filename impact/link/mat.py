"""A resilient mat between two leaves: a spring at low frequency, above it a layer with own waves.

From where half a wave of its frame fits into its thickness, sqrt(s''/m'')/2, its mass counts: it no
longer hands on less and less, but what its wave resistance lets through, with peaks at its own
resonances ("wave effects" in isolators: J. C. Snowdon, Vibration and Shock in Damped Mechanical
Systems, 1968; rods as springs: L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd
ed. 2005, ch. 3). In a porous mat frame and air share the stiffness and carry a wave each, which
drag on each other. Time factor e^{+i omega t}.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Mat
from impact.link import porous, springs
from impact.link.joint import EVERY, Joint

_LEAST = 1e-6  # kg/m3: lighter mats are springs
_FRAME = 0.1  # least share of the frame in s'', for it carries the load: our choice, no source


def impedances(mat: Mat, omega: Any) -> tuple[NDArray, NDArray]:
    """Force per area on one face per velocity of the same face, and of the other [N s/m3].

    One wave (flow resistivity 0): Z11 = Z cot(x)/i, Z12 = Z/(i sin x) with Z = sqrt(s'' m''),
    x = omega sqrt(m''/s''), m'' = rho d; both are s''/(i omega) for small x. Porous: two waves of
    C u'' + M u = 0, u = (frame, air), C = diag(E, K), M = omega^2 [[rho + a, -a], [-a, rho0 + a]],
    a = rho_air(omega) - rho0 and K of `link.porous.fluid` (Biot's equations for one direction with
    a frame far denser than air: J. F. Allard, N. Atalla, Propagation of Sound in Porous Media, 2nd
    ed. 2009, ch. 6); both faces move frame and air alike. E is what the air, isothermal where s''
    is measured, leaves of it: E = s'' d - p0 (ISO 9052-1); the loss of the whole is the frame's.
    Where s'' is less than the air alone would be, some of the air gets away. Of the shape of
    `omega`.
    """
    at = np.asarray(omega, float)
    density = max(mat.density, _LEAST)
    whole = mat.stiffness_per_area * mat.thickness
    if mat.flow_resistivity <= 0:
        modulus = whole * (1 + 1j * mat.loss_factor)
        wave, x = np.sqrt(density * modulus), at * mat.thickness * np.sqrt(density / modulus)
        return wave / (1j * np.tan(x)), wave / (1j * np.sin(x))
    carried = max(whole - air.PRESSURE, _FRAME * whole)
    frame = carried + 1j * mat.loss_factor * whole
    heavy, bulk = porous.fluid(at, mat.flow_resistivity)
    held = min((whole - carried) / air.PRESSURE, 1.0)
    stiff = np.stack([np.full(at.shape, frame), held * np.asarray(bulk)], axis=-1)
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


def joint(
    name: str, leaves: tuple[int, int], projections: tuple[NDArray, NDArray], mat: Mat,
    wavenumber: NDArray,
) -> Joint:  # fmt: skip
    """A mat between two leaves, each of which has half of its mass m'' already.

    Its two ports are a spring between the leaves, i omega Z12, and what each feels by itself beside
    that and the half of m'', i omega (Z11 - Z12) + omega^2 m''/2: what a mat whose faces move alike
    weighs more than at rest. projections, wavenumber : as of `springs.area`, (L, n) each and (L,).
    """
    found = springs.area(
        name, leaves, projections, mat.stiffness_per_area, mat.loss_factor, wavenumber
    )
    if mat.density <= 0 and mat.flow_resistivity <= 0:
        return found

    def compliance(omega: float | NDArray, places: slice | NDArray = EVERY) -> NDArray:
        across = 1 / (1j * np.asarray(omega) * impedances(mat, omega)[1])
        return np.repeat(across[..., None], found.count, axis=-1)[..., places]

    def faces(omega: float | NDArray) -> NDArray:
        own, across = impedances(mat, omega)
        at = np.asarray(omega)
        return np.asarray(1j * at * (own - across) + at**2 * mat.density * mat.thickness / 2)

    return replace(found, compliance=compliance, faces=faces)

"""Driving-point mobilities of infinite plates and beams [m/(N s)], time factor e^{+i omega t}.

The mobility of an infinite structure is that of the finite one averaged over frequency and position
(Skudrzyk 1980; L. Cremer, M. Heckl, B. A. T. Petersson, Structure-Borne Sound, 3rd ed., Springer
2005, ch. 5), which is what an energy balance needs.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating] | float


def plate(bending: Array, mass: Array) -> Any:
    """Thin plate driven in its middle: 1 / (8 sqrt(B m'')), real.

    bending : B [N m]; for an orthotropic plate sqrt(Bx By). mass : m'' [kg/m2].
    Cremer/Heckl/Petersson 2005 sec. 5.4.
    """
    return 1 / (8 * np.sqrt(bending * mass))


def orthotropic_plate(bending_x: Array, bending_y: Array, mass: Array) -> Any:
    """1 / (8 sqrt(m'' sqrt(Bx By))); Cremer/Heckl/Petersson 2005, orthotropic plates. [N m,
    kg/m2]"""
    return plate(np.sqrt(bending_x * bending_y), mass)


def plate_on_mat(
    bending: float, mass: float, stiffness: complex | NDArray, omega: Array
) -> NDArray:
    """Plate on a resilient mat over a rigid base, complex, shape of `omega`.

    With a mat of s'' [N/m3] (complex with its loss) the plate's inertia omega^2 m'' becomes
    omega^2 m'' - s'', so that Y = omega / (8 sqrt(B (omega^2 m'' - s''))): spring-like below f0,
    the free plate above. Plate on an elastic foundation, from the plate's equation.
    """
    om = np.asarray(omega, float)
    root = np.sqrt(bending * (om**2 * mass - stiffness + 0j))
    y = om / (8 * root)
    return np.where(y.real < 0, -y, y)


def plates_on_mat(
    bending: tuple[NDArray, NDArray], mass: tuple[float, float], mat: tuple[NDArray, NDArray],
    omega: NDArray,
) -> tuple[NDArray, NDArray]:  # fmt: skip
    """Plate on a mat on another plate, struck: its mobility, complex [m/(N s)], and the mean square
    of the lower one's motion times area per mean-square force [m4/(N s)2], of the shape of `omega`.

    bending, mass : of the upper and the lower, complex B (1 + i eta) [N m] and m'' [kg/m2]; mat :
    force per area on a face per motion of the same face and of the other [N/m3], s'' and s'' of a
    spring; of shapes that fit `omega`. With t = s - m1 w², d = s - m2 w² the upper face answers by
    1/(B1 k⁴ + t - s²/(B2 k⁴ + d)), a sum of 1/(k⁴ - y) over the two y of (B1 y + t)(B2 y + d) = s².
    The integral of k dk/(k⁴ - y) from 0 on is pi/(4 sqrt(-y)), so that

        Y = i w/8 sum over y of (B2 y + d)/(B1 B2 (y - y'))/sqrt(-y)

    with y' the other one. The square of the lower face's answer has their conjugates as well. From
    the plates' equations; over a still base `plate_on_mat`.
    """
    (b1, b2), (own, across) = bending, mat
    t, d = own - mass[0] * omega**2, own - mass[1] * omega**2
    half = (b1 * d + b2 * t) / (2 * b1 * b2)
    apart = np.sqrt(half**2 - (t * d - across**2) / (b1 * b2))
    one, other = apart - half, -apart - half
    top = sum(
        (b2 * y + d) / (b1 * b2) / (y - away) / np.sqrt(-y)
        for y, away in ((one, other), (other, one))
    )
    poles = one, other, one.conj(), other.conj()
    below = sum(
        1 / np.prod([y - away for away in poles if away is not y], axis=0) / np.sqrt(-y)
        for y in poles
    )
    square = omega**2 * np.abs(across / (b1 * b2)) ** 2 / 8 * np.real(below)
    return np.asarray(1j * omega / 8 * top), np.asarray(square)


def beam_wavenumber(bending: Array, mass: Array, omega: Array) -> NDArray:
    """Wavenumber of bending (omega^2 mu/EI)^(1/4) [1/m], shape of `omega`; EI [N m2], mu [kg/m].

    Euler and Bernoulli's beam; shear is for the caller to put into EI (`leaf.build.joist_bending`).
    Cremer/Heckl/Petersson 2005 ch. 3.
    """
    return np.asarray((np.asarray(omega, float) ** 2 * mass / bending) ** 0.25)


def beam(bending: Array, mass: Array, omega: Array) -> NDArray:
    """Long beam driven in its middle: 1 / (2 mu c_B (1 + i)), complex, shape of `omega`.

    c_B = omega / k is the phase speed of `beam_wavenumber`. Cremer/Heckl/Petersson 2005 sec. 5.4.
    In m/(N s).
    """
    om = np.asarray(omega, float)
    speed = om / beam_wavenumber(bending, mass, om)
    return 1 / (2 * mass * speed * (1 + 1j))


def ribbed_floor(
    bay: float, beam_point: NDArray, spacing: float, deck_wavenumber: NDArray, smeared: Array
) -> tuple[NDArray, NDArray]:
    """Deck on joists: mobility on a joist and the share of the floor that feels the joists.

    bay : mobility of the deck alone [m/(N s)]. beam_point : of a joist with its strip of deck,
    complex. spacing : of the joists [m]. deck_wavenumber : free waves of the deck [1/m].
    smeared : mobility of the floor as one orthotropic plate.

    On a joist the impedances of deck and beam add; at low frequency the neighbours help, so the
    beam counts only while it is stiffer than the smeared plate. A line that holds a plate takes
    1/(k s) of its modes (mode count S k^2/4 pi - P k/4 pi with P = 2 L per line; Xie, Thompson,
    Jones, J. Sound Vib. 274 (2004) 621), and mean Re Y = (pi/2) n/M follows the mode count, so this
    is the share of floor that answers as a joist.

    Returns (mobility on the joist, share 0..1), both of the shape of `deck_wavenumber`.
    """
    impedance = 1 / beam_point
    impedance = np.where(np.abs(impedance) > 1 / smeared, impedance, 1 / smeared)
    share = np.minimum(1.0, 1 / (deck_wavenumber * spacing))
    return 1 / (impedance + 1 / bay), share

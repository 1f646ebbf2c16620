"""Plates that give in shear: cross-laminated timber, whose cross layers roll, and thick slabs.

Timoshenko's beam without its rotary inertia: of waves with wavenumber k the bending stiffness is
D/(1 + x), x = D k²/S, S the transverse shear stiffness per width (S. P. Timoshenko, Phil. Mag. 41
(1921) 744; Cremer, Heckl & Petersson, Structure-Borne Sound, 3rd ed., 2005, ch. 3, for thick
plates). Free waves, D k⁴/(1 + x) = m omega², have

    x²/(1 + x) = a²,  a = omega sqrt(m D)/S .

Averages take each way by itself so. Modes are those of Mindlin's plate (`condensed`), where a wave
across the diagonal gives by its whole wavenumber.

Their energy travels slower than that of thin plates of that stiffness, by (2 + x)/(2 + 2 x) of it:
so many more modes there are, and so much more of a force's power goes in (from the plate's equation
in wavenumbers, Re Y = omega k/(2 d(D k⁴/(1 + x))/dk)).
"""

from __future__ import annotations

from typing import Any

import numpy as np

STIFF = 1e6  # times the largest bending, in place of shear that does not give one way
NO_SLOPE = 1e-14  # of the largest stiffness: a shift of the plate has no slope, and holds none

Stiffnesses = tuple[float, float, float, float]
Matrices = tuple[np.ndarray, np.ndarray, np.ndarray]


def give(bending: float, mass: float, shear: float, omega: Any) -> Any:
    """x of free waves [-]; D [N m], m [kg/m2], S [N/m], omega [rad/s] of any shape."""
    a = np.asarray(omega, float) * np.sqrt(mass * bending) / shear
    return a * (a + np.sqrt(a**2 + 4)) / 2


def left(bending: float, shear: float, wave_squared: Any) -> Any:
    """Share 1/(1 + x) of the bending stiffness [-] for squared wavenumbers [1/m2] of any shape."""
    return 1 / (1 + bending * np.asarray(wave_squared, float) / shear)


def condensed(
    bending: Stiffnesses, shear: tuple[float, float], along: Matrices, across: Matrices
) -> np.ndarray:
    """Stiffness (Mx, My, My) [N/m3 times the functions' units] of a plate that gives in shear, one
    function X along x at a time: R. D. Mindlin (J. Appl. Mech. 18 (1951) 31), no rotary inertia.

    Its slopes are unknowns of their own, X' Y a and X Y' b beside the deflection X Y w, and follow
    it at rest. With N the energy of bending and twist in (a, b), and S that of shear in (a - w, b -
    w), the thin plate's N at a = b = w becomes N - N (N + S)^-1 N. Between simple edges that is all
    of Mindlin's plate; elsewhere slopes of that kind are a little too stiff, as Ritz functions are.

    bending : Dx, Dy, Dnu, D66 [N m]. shear : Sx, Sy [N/m], infinite for a thin plate. along : the
    diagonals (Mx,) of ∫ X''X'', X'X', X X''; across : the same across, whole, (My, My).
    """
    (dx, dy, nu, twist), (sx, sy) = bending, shear
    bend_y, slope_y, mixed_y = across
    bend, slope, mixed = (each[:, None, None] for each in along)
    eye = np.eye(len(bend_y))
    if not np.isfinite(shear).any():
        return np.asarray(dx * bend * eye + dy * bend_y + 4 * twist * slope * slope_y
                          + nu * mixed * (mixed_y + mixed_y.T))  # fmt: skip
    twisted = twist * slope * slope_y
    both = nu * mixed * mixed_y + twisted
    bent = np.block([
        [dx * bend * eye + twisted, both], [both.swapaxes(1, 2), dy * bend_y + twisted]
    ])  # fmt: skip
    most = STIFF * max(dx * np.max(bend / slope), dy * bend_y.max() / slope_y.max())
    whole, count = bent.copy(), len(eye)
    whole[:, :count, :count] += min(sx, most) * slope * eye
    whole[:, count:, count:] += min(sy, most) * slope_y
    whole += NO_SLOPE * whole.max() * np.eye(2 * count)
    thin = bent[:, :, :count] + bent[:, :, count:]
    left = thin - bent @ np.linalg.solve(whole, thin)
    stiffness = left[:, :count] + left[:, count:]
    return np.asarray((stiffness + stiffness.swapaxes(1, 2)) / 2)


def of_wave(bending: Stiffnesses, shear: tuple[float, float], x2: Any, y2: Any) -> Any:
    """Stiffness of a plane wave in such a plate [N/m3], m omega² of a free one, of the shape of x2
    and y2: squared wavenumbers kx², ky² [1/m2].

    N and S of `condensed` with slopes along kx and ky, two unknowns: with p = Dx kx² + D66 ky², q =
    Dy ky² + D66 kx², r = (Dnu + D66) kx ky,

        (p kx² + 2 r kx ky + q ky² + (p q - r²)(kx²/Sy + ky²/Sx))
        / ((1 + p/Sx)(1 + q/Sy) - r²/(Sx Sy))
    """
    (dx, dy, nu, twist), (sx, sy) = bending, shear
    p, q, r2 = dx * x2 + twist * y2, dy * y2 + twist * x2, (nu + twist) ** 2 * x2 * y2
    thin = p * x2 + 2 * (nu + twist) * x2 * y2 + q * y2
    gives = (1 + p / sx) * (1 + q / sy) - r2 / sx / sy
    return (thin + (p * q - r2) * (x2 / sy + y2 / sx)) / gives


def shares(bend: np.ndarray, bending: float, shear: float) -> tuple[np.ndarray, np.ndarray]:
    """What shear leaves of curvature and of slope along one side, where functions couple that
    `condensed` takes one at a time: S^(1/2) and S^(1/4), S the share `left` as an operator; two (M,
    M) [-], of ∫ X''m X''n dx, `bend` (M, M) [1/m4].

    The share belongs to a wave, and so to the eigenfunctions of `bend`, whose eigenvalues are k⁴:
    functions of a free edge or with kinks at ribs are no waves of one k. Twist, taken with both
    sides' S^(1/4), keeps the mean of their shares.
    """
    if not np.isfinite(shear):
        return np.eye(len(bend)), np.eye(len(bend))
    fourth, waves = np.linalg.eigh(bend)
    share = left(bending, shear, np.sqrt(np.maximum(fourth, 0.0)))
    return (waves * share**0.5) @ waves.T, (waves * share**0.25) @ waves.T


def slower(x: Any) -> Any:
    """Mobility and modal density over those of a thin plate of stiffness D/(1 + x) [-]."""
    return (2 + 2 * np.asarray(x, float)) / (2 + x)

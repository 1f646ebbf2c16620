"""Plates that give in shear: cross-laminated timber, whose cross layers roll.

Timoshenko's beam without its rotary inertia, each way by itself: of waves with wavenumber k the
bending stiffness is D/(1 + x), x = D k²/S, S the transverse shear stiffness per width (S. P.
Timoshenko, Phil. Mag. 41 (1921) 744; Cremer, Heckl & Petersson, Structure-Borne Sound, 3rd ed.,
2005, ch. 3, for thick plates). Free waves, D k⁴/(1 + x) = m omega², have

    x²/(1 + x) = a²,  a = omega sqrt(m D)/S .

What couples both ways, Poisson's ratio and twist, is taken with the mean of their shares, sqrt((1 +
x)(1 + y)): in a thick plate the curvature of any wave comes with its shear.

Their energy travels slower than that of thin plates of that stiffness, by (2 + x)/(2 + 2 x) of it:
so many more modes there are, and so much more of a force's power goes in (from the plate's equation
in wavenumbers, Re Y = omega k/(2 d(D k⁴/(1 + x))/dk)).
"""

from __future__ import annotations

from typing import Any

import numpy as np


def give(bending: float, mass: float, shear: float, omega: Any) -> Any:
    """x of free waves [-]; D [N m], m [kg/m2], S [N/m], omega [rad/s] of any shape."""
    a = np.asarray(omega, float) * np.sqrt(mass * bending) / shear
    return a * (a + np.sqrt(a**2 + 4)) / 2


def left(bending: float, shear: float, wave_squared: Any) -> Any:
    """Share 1/(1 + x) of the bending stiffness [-] for squared wavenumbers [1/m2] of any shape."""
    return 1 / (1 + bending * np.asarray(wave_squared, float) / shear)


def parts(bend: np.ndarray, bending: float, shear: float) -> tuple[np.ndarray, ...]:
    """What shear leaves of curvatures along one side: ∫ X''m X''n dx with the share `left`, and
    that share's square and fourth roots for what couples both ways; three (M, M), of `bend` (M, M)
    [1/m4], the last two pure numbers.

    The share belongs to a wave, and so to the eigenfunctions of `bend`, whose eigenvalues are k⁴:
    functions of a free edge or with kinks at ribs are no waves of one k, and a share by each one's
    own diagonal lets frequencies fall without end as functions are added. Curvatures are S^(1/2)
    X'', S the share as an operator, and twists S^(1/4) X', so that no energy is below zero.
    """
    if not np.isfinite(shear):
        return bend, np.eye(len(bend)), np.eye(len(bend))
    if not np.any(bend - np.diag(np.diag(bend))):
        share = left(bending, shear, np.sqrt(np.diag(bend)))
        return bend * share, np.diag(share**0.5), np.diag(share**0.25)
    fourth, waves = np.linalg.eigh(bend)
    fourth = np.maximum(fourth, 0.0)
    share = left(bending, shear, np.sqrt(fourth))
    bent, half, quarter = ((waves * kept) @ waves.T
                           for kept in (share * fourth, share**0.5, share**0.25))  # fmt: skip
    return bent, half, quarter


def slower(x: Any) -> Any:
    """Mobility and modal density over those of a thin plate of stiffness D/(1 + x) [-]."""
    return (2 + 2 * np.asarray(x, float)) / (2 + x)

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


def weights(bend: np.ndarray, bending: float, shear: float) -> np.ndarray:
    """What is `left` of a matrix ∫ X''m X''n dx (M, M) [1/m4], (M, M) [-]: sqrt of both functions'
    shares, each with the wavenumber of its own diagonal."""
    share = left(bending, shear, np.sqrt(np.abs(np.diag(bend))))
    return np.sqrt(share[:, None] * share)


def slower(x: Any) -> Any:
    """Mobility and modal density over those of a thin plate of stiffness D/(1 + x) [-]."""
    return (2 + 2 * np.asarray(x, float)) / (2 + x)

"""Published pace harmonics of walking: checks on the step's force, never added to it.

From the design guides that each function names.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

# Fourier coefficients as a share of body weight, against h x pace [Hz]; harmonics 1 to 4
_P354 = ((0.436, -0.95), (0.006, 12.3), (0.007, 5.2), (0.007, 2.0))  # a (h f + b), SCI P354 T. 3.1


def steel_institute(pace: float) -> NDArray[np.float64]:
    """Coefficients of harmonics 1 to 4 [-] at a pace [1/s]: SCI P354 Table 3.1, design values.

    Result (4,).
    """
    return np.array([a * (h * pace + b) for h, (a, b) in enumerate(_P354, start=1)])


def concrete_centre(pace: float) -> NDArray[np.float64]:
    """Coefficients of harmonics 1 to 4 [-] at a pace [1/s]: CCIP-016 = AISC DG11 design values.

    Result (4,).
    """
    x = pace * np.arange(1, 5)
    first = min(0.56, 0.41 * (x[0] - 0.95))
    rest = (0.069 + 0.0056 * x[1], 0.033 + 0.0064 * x[2], 0.013 + 0.0065 * x[3])
    return np.array([first, *rest])

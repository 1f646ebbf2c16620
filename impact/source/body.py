"""The walker as part of the floor: what the foot and leg do to the force they press with.

The histories of `impact.source.step` are forces on a rigid floor. On a floor of point impedance
Zf a walker of impedance Zw presses with F Zf/(Zf + Zw) (Norton and Thevenin; Cremer, Heckl &
Petersson). The walker here is some 0.3 to 2.2 kN s/m between 10 and 100 Hz. So a slab of
100 kN s/m and more does not notice (under 0.3 dB); a light joist floor does, at its resonances,
where its impedance falls to eta w m (a modal mass of 200 kg at 20 Hz with eta 0.05: 1.3 kN s/m):
at the peak of such a one the walker takes 7 dB off, as damping, over a band less. One leg is
taken to stand; in the tenth of a stride in which both do, they take up to twice as many decibels.
Phases matter: use the complex floor impedance at the place of the foot (`impact.motion.underfoot`).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

# Standing body, ISO 5982:1981, two masses each on its own spring and damper side by side, as
# recalled: from memory, check the standard. Its range is 0.5 to 31.5 Hz. Both legs bear it.
_BODY = ((62.0, 62e3, 1.46e3), (13.0, 80e3, 0.93e3))  # kg, N/m, N s/m of a 75 kg man
FOOT_MASS = 0.063  # of the body: effective foot mass at heel strike, walking, Chi & Schmitt,
# J. Biomech. 38 (2005) 1387-1395, from memory
HEEL_STIFFNESS = 150e3  # N/m and loss factor of the heel pad in the living foot, Aerts & De Clercq,
HEEL_LOSS = 0.8  # J. Sports Sci. 11 (1993) 449-461, from memory; excised pads are 6 times stiffer


def standing_impedance(frequencies: Any, mass: float = 75.0, legs: int = 2) -> Any:
    """Complex driving-point impedance of a person standing [N s/m]; frequencies in Hz.

    sum over masses of i w m (k + i w c)/(k - w^2 m + i w c), scaled with body mass [kg]. legs : 2,
    or 1 with half of k and c: the same body on one of two equal springs. Measured, a person's
    resonance falls from 5.5 to 3.75 Hz on one leg, that is k to 0.46 (Matsumoto & Griffin, J. Sound
    Vib. 212, 1998, from memory).
    """
    w = 2 * math.pi * np.asarray(frequencies, float)
    total = np.zeros(w.shape, complex)
    for m, both_k, both_c in _BODY:
        k, c = both_k * legs / 2, both_c * legs / 2
        total += 1j * w * m * (k + 1j * w * c) / (k - w**2 * m + 1j * w * c)
    return total * mass / 75.0


def strike_impedance(frequencies: Any, mass: float = 75.0, softening: float = 1.0) -> Any:
    """Complex impedance of the foot while its heel strikes [N s/m]: foot mass on the heel pad.

    The rest of the leg comes later and is left out. softening : `Footwear.softening`, enters the
    stiffness squared. Same shape as frequencies [Hz].
    """
    w = 2 * math.pi * np.maximum(np.asarray(frequencies, float), 1e-9)
    stiffness = HEEL_STIFFNESS * (1 + 1j * HEEL_LOSS) / softening**2
    return 1 / (1 / (1j * w * FOOT_MASS * mass) + 1j * w / stiffness)


def walker_impedance(frequencies: Any, mass: float = 75.0, legs: int = 1) -> Any:
    """Impedance of a walker during stance [N s/m], one foot down: the body on one leg; legs : 2 for
    who lands on both feet.

    Above 31.5 Hz the body model leaves its range; the heel and foot then lie in its way, and the
    smaller of it and `strike_impedance` of every foot is returned, complex, blended with no step as
    a series of the two weighted by (f/31.5)^4: below 20 Hz the body, above 50 Hz the foot.
    """
    f = np.asarray(frequencies, float)
    foot_share = (f / 31.5) ** 4 / (1 + (f / 31.5) ** 4)
    body = standing_impedance(f, mass, legs)
    foot = legs * strike_impedance(f, mass)
    # blend mobilities: both are passive, so is their weighted mean
    zero = np.abs(body) == 0
    mobility = (1 - foot_share) / np.where(zero, 1.0, body) + foot_share / foot
    return np.where(zero, 0.0, 1 / mobility)

"""The standard tapping machine (ISO 10140-5 Annex E): 0.5 kg, 40 mm, ten blows a second.

Below 50 Hz its lines, 10 Hz apart, are too sparse for third octaves (the bands 12.5, 16 and 25 Hz
hold none): the values here are the equivalent continuous density, outside the standard, and not
comparable with a measurement there.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from impact.source import blow, bounce

MASS = 0.5  # kg, ISO 10140-5 Annex E
DROP = 0.040  # m
RATE = 10.0  # blows a second, of all five hammers
RADIUS = 0.015  # m, of the striking face
ROUNDED = 0.5  # m, radius to which that face is rounded, ISO 10140-5 Annex E
GRAVITY = 9.81  # m/s2; sqrt(2 g h) = 0.886 m/s (Hopkins 2007 p. 276)
SPEED = math.sqrt(2 * GRAVITY * DROP)


def force_density(rebound: float = 0.0) -> float:
    """Mean-square force per hertz 2 f_r (m v0)^2 (1 + e)^2 [N2/Hz]: 3.92 (1 + e)^2.

    rebound : e from 0 (as in the 155 dB formula of ISO 12354-2) to 1. Train of short blows
    (Cremer, Heckl & Petersson; Hopkins 2007 ch. 3.6).
    """
    if not 0 <= rebound <= 1:
        raise ValueError(f"rebound {rebound:g} must lie between 0 and 1")
    return 2 * RATE * (MASS * SPEED * (1 + rebound)) ** 2


def contact_stiffness(youngs_modulus: float, poisson: float, radius: float = RADIUS) -> float:
    """Local stiffness of a surface under a flat face, K = 2 r E/(1 - nu^2) [N/m].

    Pa, -, m. Hopkins (2007) ch. 3.6.
    """
    return 2 * radius * youngs_modulus / (1 - poisson**2)


def round_stiffness(youngs_modulus: float, poisson: float) -> float:
    """Spring [N/m] on which a hammer stays as long as on a whole surface under its round face.

    Pa, -. Hertz: E* = E/(1 - nu^2), pressed in by d^(5/2) = 15 m v^2/(16 E* sqrt R), T = 2.943 d/v
    in contact (K. L. Johnson, Contact Mechanics, 1985, sec. 11.4, from memory); K = m (pi/T)^2.
    """
    stiff = youngs_modulus / (1 - poisson**2)
    deep = (15 * MASS * SPEED**2 / (16 * stiff * math.sqrt(ROUNDED))) ** 0.4
    return MASS * (math.pi * SPEED / (2.943 * deep)) ** 2


def hammer_stiffness(youngs_modulus: float, poisson: float, dented: float) -> float:
    """Contact stiffness of wood under a hammer [N/m], between `round_stiffness` (dented 0) and, of
    a dent that has the hammer's shape, `contact_stiffness` (1), straight in logarithms.

    Pa, -, -. On whole softwood the round face presses with 4 MPa in the mean, about what it bears
    across the grain, so after some blows it is neither; concrete is crushed by as much as it takes.
    """
    whole = round_stiffness(youngs_modulus, poisson)
    return whole ** (1 - dented) * contact_stiffness(youngs_modulus, poisson) ** dented


def covering_stiffness(stiffness_per_area: float, radius: float = RADIUS) -> float:
    """Stiffness of a soft covering under the face, K = (E/d) pi r^2 [N/m].

    stiffness_per_area : E/d, Pa/m. Hopkins (2007) ch. 3.6. No spreading of load beyond the face.
    """
    return stiffness_per_area * math.pi * radius**2


def in_series(*stiffnesses: float) -> float:
    """Springs one on the other [N/m]; inf for none or only rigid ones."""
    flexibility = sum(1 / stiffness for stiffness in stiffnesses)
    return 1 / flexibility if flexibility > 0 else math.inf


def contact_loss(rebound: float) -> float:
    """Loss factor of a contact [-] from which a hammer rebounds with e on a base that stays.

    e = exp(-pi z/sqrt(1 - z^2)), z = loss_factor/2 of critical: half a turn of a damped oscillator
    (any text on vibration; the force of `impact.source.bounce` for Y = 0). 2, critical, for e = 0.
    """
    if not 0 <= rebound <= 1:
        raise ValueError(f"rebound {rebound:g} must lie between 0 and 1")
    if rebound == 0:
        return 2.0
    turned = math.log(rebound)
    return -2 * turned / math.hypot(math.pi, turned)


def on_floor(
    centres: Any, given: float, stiffness: float, mobility: Any, loss_factor: float = 0.0
) -> tuple[float, Any]:
    """Rebound e [-] and mean-square force in third octaves [N2], (n,), on a floor that yields.

    centres : Hz (n,); given : e of contact and surface where nothing yields below them, 0 to 1;
    stiffness : N/m of contact and covering in series; mobility : Y (n,) of the floor [m/(N s)];
    loss_factor : of that spring, which is the covering's where that is soft. The blow is that of
    `impact.source.bounce`: what a light floor has taken of a hammer's energy, and what covering or
    contact (`contact_loss`) has lost, cannot throw it back; of these two the larger loss counts.
    The contact's lowers the impulse and leaves the pulse as long as it is, as in
    `impact.source.blow`; the covering's shapes it.
    """
    hit = bounce.bounce(centres, mobility, MASS, stiffness, loss_factor)
    rebound = 0.0
    if given:
        lost = bounce.bounce(centres, mobility, MASS, stiffness, dashpot=contact_loss(given))
        rebound = min(hit.rebound, lost.rebound)
    return rebound, force_density(rebound) * blow.bandwidth(centres) * hit.square


def transfer_square(
    centres: Any, stiffness: Any, impedance: Any = math.inf, loss_factor: float = 0.0
) -> Any:
    """|H|^2 of the blow averaged over third octaves [-], shape of `centres` [Hz].

    stiffness : N/m, of contact and covering in series; impedance : N s/m, real point
    impedance; both scalar or one per band; loss_factor : of the covering. See `impact.source.blow`.
    """
    centre = np.asarray(centres, float)
    spring, floor = (
        each[..., None] if each.ndim else each
        for each in (np.asarray(stiffness, float), np.asarray(impedance, float))
    )  # fmt: skip

    def square(frequency: Any) -> Any:
        return np.abs(blow.transfer(frequency, MASS, spring, floor, loss_factor)) ** 2

    return blow.band_mean(square, centre)

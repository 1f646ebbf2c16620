"""The standard tapping machine (ISO 10140-5 Annex E): 0.5 kg, 40 mm, ten blows a second.

Below 50 Hz its lines, 10 Hz apart, are too sparse for third octaves (the bands 12.5, 16 and 25 Hz
hold none): the values here are the equivalent continuous density, outside the standard, and not
comparable with a measurement there.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from impact.source import blow

MASS = 0.5  # kg, ISO 10140-5 Annex E
DROP = 0.040  # m
RATE = 10.0  # blows a second, of all five hammers
RADIUS = 0.015  # m, of the striking face
GRAVITY = 9.81  # m/s2; sqrt(2 g h) = 0.886 m/s (Hopkins 2007 p. 276)
SPEED = math.sqrt(2 * GRAVITY * DROP)
_LEAST_MOBILITY = 1e-12  # m/(N s): a floor that does not move


def force_density(rebound: float = 0.0) -> float:
    """Mean-square force per hertz 2 f_r (m v0)^2 (1 + e)^2 [N2/Hz]: 3.92 (1 + e)^2.

    rebound : e from 0 (as in the 155 dB formula of ISO 12354-2) to 1. Train of short blows
    (Cremer, Heckl & Petersson; Hopkins 2007 ch. 3.6).
    """
    if not 0 <= rebound <= 1:
        raise ValueError(f"rebound {rebound:g} must lie between 0 and 1")
    return 2 * RATE * (MASS * SPEED * (1 + rebound)) ** 2


def rebound(
    given: float, centres: Any, stiffness: float, impedance: Any, loss_factor: float = 0.0
) -> float:
    """Rebound of the hammers from a floor that yields [-]: `given`, but no more than it can be.

    given : e of contact and surface, from 0 to 1. centres : Hz (n,), impedance : N s/m (n,), real,
    taken at the contact's own frequency sqrt(K/m)/2pi. The bound is `blow.own_rebound`: a light
    deck takes most of a hammer's energy in one blow (Cremer, Heckl & Petersson; Hopkins 2007
    ch. 3.6), and what was taken cannot also throw the hammer back.

    Joists close to the blow can: they reflect within the contact. Blows followed in time
    (`validation/blows.py`) rebound with 0.66 from boards on joists 0.4 m apart, where this bound
    leaves 0.14: a low estimate there, by 3 dB.
    """
    contact = math.sqrt(stiffness / MASS) / (2 * math.pi)
    centre = np.asarray(centres, float)
    floor = np.broadcast_to(np.asarray(impedance, float), centre.shape)
    place = int(np.argmin(np.abs(np.log(centre / min(contact, centre[-1])))))
    most = blow.own_rebound(MASS, stiffness, floor[place], loss_factor)
    return min(given, float(most))


def contact_stiffness(youngs_modulus: float, poisson: float, radius: float = RADIUS) -> float:
    """Local stiffness of a surface under a flat face, K = 2 r E/(1 - nu^2) [N/m].

    Pa, -, m. Hopkins (2007) ch. 3.6.
    """
    return 2 * radius * youngs_modulus / (1 - poisson**2)


def covering_stiffness(stiffness_per_area: float, radius: float = RADIUS) -> float:
    """Stiffness of a soft covering under the face, K = (E/d) pi r^2 [N/m].

    stiffness_per_area : E/d, Pa/m. Hopkins (2007) ch. 3.6. No spreading of load beyond the face.
    """
    return stiffness_per_area * math.pi * radius**2


def in_series(*stiffnesses: float) -> float:
    """Springs one on the other [N/m]; inf for none or only rigid ones."""
    flexibility = sum(1 / stiffness for stiffness in stiffnesses)
    return 1 / flexibility if flexibility > 0 else math.inf


def on_floor(
    centres: Any, stiffness: float, mobility: Any, floats: bool = False
) -> tuple[Any, Any]:
    """Spring [N/m] and real impedance [N s/m] that the hammer meets, (n,) each.

    stiffness : N/m of contact and covering; mobility : Y (n,) complex of the floor [m/(N s)] at
    centres [Hz]; floats : whether the walked layer lies on a mat. The blow's model has the velocity
    F/Z + i omega F/K under the hammer: 1/Z = Re Y, and on a mat 1/K = 1/stiffness + Im Y/omega
    while that is positive: below its resonance a thin layer is a spring of 8 sqrt(D s'') under a
    point (Timoshenko, Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959, ch. 8), on
    which the hammer bounces as on a covering. Boards between joists are springs too, but throw the
    hammer back, of which `rebound` knows little: there only 1/Z counts.
    """
    y = np.asarray(mobility, complex)
    gives = np.maximum(y.imag, 0.0) / (2 * np.pi * np.asarray(centres, float)) * floats
    return 1 / (1 / stiffness + gives), 1 / np.maximum(y.real, _LEAST_MOBILITY)


def transfer_square(
    centres: Any, stiffness: Any, impedance: Any = math.inf, loss_factor: float = 0.0
) -> Any:
    """|H|^2 of the blow averaged over third octaves [-], shape of `centres` [Hz].

    stiffness : N/m, of contact and covering in series (`on_floor`); impedance : N s/m, real point
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


def band_force(
    centres: Any,
    rebound: float = 0.0,
    stiffness: Any = math.inf,
    impedance: Any = math.inf,
    loss_factor: float = 0.0,
) -> Any:
    """Mean-square force of the machine in third octaves [N2], shape of `centres` [Hz].

    Density times bandwidth times |H|^2; other arguments as in `force_density`, `transfer_square`.
    """
    filtered = transfer_square(centres, stiffness, impedance, loss_factor)
    return force_density(rebound) * blow.bandwidth(centres) * filtered

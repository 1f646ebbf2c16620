"""One blow of a mass through a contact spring onto a floor: its force in time and frequency.

The model. A mass m arrives with speed v0 on a spring K (the contact itself, a covering, a heel
cap) that rests on a floor of point impedance Z, taken as real. With F the force in the spring,

    dF/dt = K (v - F/Z),   m dv/dt = -F   =>   F'' + (K/Z) F' + (K/m) F = 0,  F(0)=0, F'(0)=K v0,

a second-order system of natural frequency w0 = sqrt(K/m) and damping ratio zeta = sqrt(K m)/(2 Z).
It is underdamped while K < 4 Z^2/m (a half-sine-like pulse of length tc = pi/wd that ends when the
mass lifts off) and overdamped above (the mass stays down and its speed decays into the floor). Both
limits are those of Lindblad and of Cremer, Heckl and Petersson, as given by Hopkins, Sound
Insulation (2007), chapter 3.6. Cutting the pulse at lift-off gives the closed form

    F(w) = I H(w),  H = (1 + e_m exp(-i w tc)) / ((1 + e_m) D),  D = 1 - (w/w0)^2 + 2 i zeta w/w0,

with e_m = exp(-zeta w0 tc) the rebound that this two-body model has by itself (0 when overdamped).

How a given rebound e joins without being counted twice. The impulse is I = m v0 (1 + e) with the
*given* e; H is normalised to 1 at zero frequency, so the model's own e_m only shapes the pulse and
never adds impulse. Losses that lower e without lengthening the contact (crushing, waves that come
back late) stay in I alone: taking e = 0 as critical damping of the pulse instead would put the
4 kHz octave of a lightweight slab 5 dB below ISO 12354-2 Table B.2, this form is within 1.5 dB.
Upwards e_m is a bound: a pulse scaled up by more would put in more energy than the mass has lost.
Floors whose mobility differs from band to band are struck in `impact.source.bounce`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.base import bands

_LEAST_DAMPING = 1e-6  # keeps H finite at w0 exactly; its limit there is right to about 1e-6


@dataclass(frozen=True)
class Blow:
    """One mass striking once.

    mass : kg. speed : m/s at contact. stiffness : N/m of the contact (inf: no cut-off).
    impedance : N s/m, real point impedance of the floor (inf: rigid).
    rebound : e, 0 (sticks) to 1 (full rebound). loss_factor : of the contact spring, adds
    loss_factor/2 to the damping ratio of the pulse.
    """

    mass: float
    speed: float
    stiffness: float = math.inf
    impedance: float = math.inf
    rebound: float = 0.0
    loss_factor: float = 0.0

    def __post_init__(self) -> None:
        if not (self.mass > 0 and self.speed >= 0 and self.stiffness > 0 and self.impedance > 0):
            raise ValueError("a blow needs mass, stiffness and impedance above 0 and speed >= 0")
        if not 0 <= self.rebound <= 1:
            raise ValueError(f"rebound {self.rebound:g} must lie between 0 and 1")

    @property
    def impulse(self) -> float:
        """m v0 (1 + e) [N s]."""
        return self.mass * self.speed * (1 + self.rebound)


def damping_ratio(mass: Any, stiffness: Any, impedance: Any, loss_factor: float = 0.0) -> Any:
    """zeta = sqrt(K m)/(2 Z) + loss_factor/2 [-]; below 1 the mass lifts off (K < 4 Z^2/m).

    Arguments in kg, N/m, N s/m, broadcast together. Hopkins (2007) ch. 3.6.
    """
    return np.sqrt(np.asarray(stiffness, float) * mass) / (2 * np.asarray(impedance, float)) + (
        loss_factor / 2
    )


def cutoff(mass: float, stiffness: float, impedance: float = math.inf) -> float:
    """Frequency above which the force spectrum falls [Hz].

    sqrt(K/m)/2pi while K < 4 Z^2/m, else (delta - sqrt(delta^2 - K/m))/2pi with delta = K/(2 Z)
    (Hopkins 2007, ch. 3.6). mass kg, stiffness N/m, impedance N s/m.
    """
    natural = math.sqrt(stiffness / mass)
    if stiffness < 4 * impedance**2 / mass:
        return natural / (2 * math.pi)
    delta = stiffness / (2 * impedance)
    return (delta - math.sqrt(delta**2 - natural**2)) / (2 * math.pi)


def transfer(
    frequencies: Any,
    mass: float,
    stiffness: Any,
    impedance: Any = math.inf,
    loss_factor: float = 0.0,
) -> Any:
    """H(f), complex, 1 at f = 0: spectrum of the blow's force per impulse (module docstring).

    frequencies : Hz, any shape; impedance : N s/m, scalar or broadcastable to frequencies (taken
    as real and, where it varies, as constant around each frequency), and so is stiffness, N/m.
    mass : kg.
    """
    frequency = np.asarray(frequencies, float)
    if np.all(np.isinf(stiffness)):
        # no spring: the mass rides on the floor, H = 1/(1 + i w m / Z)
        return 1 / (1 + 2j * np.pi * frequency * mass / np.asarray(impedance, float))
    natural = np.sqrt(np.asarray(stiffness, float) / mass)
    zeta = np.maximum(damping_ratio(mass, stiffness, impedance, loss_factor), _LEAST_DAMPING)
    ratio = 2 * np.pi * frequency / natural
    under = zeta < 1
    root = np.sqrt(np.where(under, 1 - zeta**2, 1.0))
    # the length of contact runs to infinity at zeta = 1, where the rebound vanishes with it
    length = np.pi / root  # tc w0
    own = np.where(under, np.exp(-zeta * length), 0.0)
    lift_off = (1 + own * np.exp(-1j * ratio * length)) / (1 + own)
    return lift_off / (1 - ratio**2 + 2j * zeta * ratio)


def spectrum(blow: Blow, frequencies: Any) -> Any:
    """F(f) = impulse H(f), complex [N s], contact beginning at t = 0; frequencies in Hz."""
    return blow.impulse * transfer(
        frequencies, blow.mass, blow.stiffness, blow.impedance, blow.loss_factor
    )


def history(blow: Blow, times: Any) -> Any:
    """F(t) [N] at times [s], zero before contact; the inverse transform of `spectrum`.

    Raises ValueError for an infinite stiffness (the force would be an impulse).
    """
    if math.isinf(blow.stiffness):
        raise ValueError("a blow without contact stiffness has no finite force history")
    time = np.asarray(times, float)
    natural = math.sqrt(blow.stiffness / blow.mass)
    zeta = float(damping_ratio(blow.mass, blow.stiffness, blow.impedance, blow.loss_factor))
    zeta = max(zeta, _LEAST_DAMPING)
    after = np.where(time > 0, time, 0.0)
    if zeta < 1:
        damped = natural * math.sqrt(1 - zeta**2)
        own = math.exp(-zeta * natural * math.pi / damped)
        pulse = np.exp(-zeta * natural * after) * np.sin(damped * after) / damped
        pulse = np.where(after < math.pi / damped, pulse, 0.0)
    elif zeta == 1:
        own = 0.0
        pulse = after * np.exp(-natural * after)
    else:
        own = 0.0
        root = natural * math.sqrt(zeta**2 - 1)
        slow = np.exp(-(zeta * natural - root) * after)
        fast = np.exp(-(zeta * natural + root) * after)
        pulse = (slow - fast) / (2 * root)
    return blow.impulse / (1 + own) * natural**2 * pulse


def duration(blow: Blow) -> float:
    """Time [s] after which less than about 1e-9 of the blow's force is left."""
    natural = math.sqrt(blow.stiffness / blow.mass)
    zeta = float(damping_ratio(blow.mass, blow.stiffness, blow.impedance, blow.loss_factor))
    if zeta < 1:
        return min(math.pi / math.sqrt(1 - zeta**2), 21 / zeta if zeta > 0 else math.inf) / natural
    return 21 / (natural * (zeta - math.sqrt(zeta**2 - 1)))


def band_mean(function_of_frequency: Any, centres: Any, points: int = 24) -> Any:
    """Mean of a function of frequency over third octaves of the given exact centres [Hz].

    Midpoint rule, `points` a band, uniform in frequency; shape of `centres`.
    """
    centre = np.asarray(centres, float)
    place = (np.arange(points) + 0.5) / points
    frequency = centre[..., None] * (10**-0.05 + bands.WIDTH * place)
    return np.mean(function_of_frequency(frequency), axis=-1)


def bandwidth(centres: Any) -> Any:
    """Width of the third octaves about `centres` [Hz], same shape (IEC 61260-1)."""
    return np.asarray(centres, float) * bands.WIDTH

"""Single events: jump, running child, dropped toy.

Dragging a chair is left out: no published force for it was found, and it is stick-slip of chair
and floor together, not a force the floor could be given. The heel drop of floor design is left out
as well: its straight front overrates all above some 50 Hz.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.base.air import GRAVITY
from impact.source import blow, gait
from impact.source.step import BAREFOOT, Footwear, Step

LEGS_BELOW_KNEE = 0.122  # of the body, see Jump


def running_child(mass: float = 25.0, pace: float = 3.0, footwear: Footwear = BAREFOOT) -> Step:
    """A step of a running child; use with `impact.source.step`.

    25 kg (about seven to eight years), 3 steps/s, 60 % of a step on the floor, heel at 1.5 m/s:
    from memory, no published force of a running child was found; `step.spread` is wider for it.
    """
    return Step(mass=mass, pace=pace, footwear=footwear, running=True, heel_speed=1.5)


@dataclass(frozen=True)
class Jump:
    """One landing after a jump or a hop off something.

    mass : kg. height : m of fall. contact : s, time over which the landing is caught.
    strike_mass : share of the body that stops with the foot's own pulse.
    Half sine of length `contact` that takes up m (v + g contact), v = sqrt(2 g h), less the pulse
    of the foot, strike_mass m v with the time constant of a heel strike. The half sine and contact
    ratios of 1/4 to 1/2 of the jump's period are usual (ISO 10137, SCI P354, from memory). The
    strike stops feet and shanks of both legs, 12.2 % of the body (segment masses 1.45 and 4.65 %
    each, Winter, Biomechanics of Human Movement, from memory): spread about 5 dB above 20 Hz,
    judgement, since a jumper can land softly or stiffly.
    """

    mass: float = 25.0
    height: float = 0.30
    contact: float = 0.25
    strike_mass: float = LEGS_BELOW_KNEE

    def __post_init__(self) -> None:
        if not (self.mass > 0 and 0 < self.height <= 2 and 0.05 <= self.contact <= 1):
            raise ValueError(
                "a jump needs mass above 0, height 0 to 2 m and contact 0.05 to 1 s, not "
                f"{self.mass:g} kg, {self.height:g} m, {self.contact:g} s"
            )

    @property
    def speed(self) -> float:
        """m/s at touch-down."""
        return math.sqrt(2 * GRAVITY * self.height)

    @property
    def impulse(self) -> float:
        """m (v + g contact) [N s]: stops the fall and carries the body meanwhile."""
        return self.mass * (self.speed + GRAVITY * self.contact)

    @property
    def strike(self) -> float:
        """Impulse of the foot's pulse [N s]."""
        return self.strike_mass * self.mass * self.speed


def jump_spectrum(jump: Jump, frequencies: Any) -> Any:
    """Complex force spectrum of a landing [N s], frequencies in Hz."""
    frequency = np.asarray(frequencies, float)
    phase = 2 * math.pi * frequency * jump.contact
    # sin(pi t/T) = Im exp(i pi t/T), transformed term by term
    both = gait.phase_mean(math.pi - phase) - gait.phase_mean(-math.pi - phase)
    half_sine = both / 2j * math.pi / 2
    foot = gait.gamma_spectrum(gait.STRIKE_ORDER, gait.STRIKE_TIME, frequency)
    return (jump.impulse - jump.strike) * half_sine + jump.strike * foot


def jump_history(jump: Jump, times: Any) -> Any:
    """Force of a landing [N] at times [s], the same as `jump_spectrum`."""
    time = np.asarray(times, float)
    inside = (time >= 0) & (time <= jump.contact)
    half_sine = np.where(inside, np.sin(math.pi * time / jump.contact), 0.0)
    half_sine = half_sine * math.pi / (2 * jump.contact)
    foot = gait.gamma_history(gait.STRIKE_ORDER, gait.STRIKE_TIME, time)
    return (jump.impulse - jump.strike) * half_sine + jump.strike * foot


@dataclass(frozen=True)
class Toy:
    """A hard object that is dropped, round where it strikes.

    mass : kg; radius : m of the striking corner or face; modulus, poisson : of its material, Pa, -.
    """

    name: str
    mass: float
    radius: float
    modulus: float
    poisson: float


# Sizes are ours; moduli as in any materials table.
TOYS = {
    toy.name: toy
    for toy in (
        Toy("steel toy car", 0.10, 0.005, 200e9, 0.29),
        Toy("wooden block", 0.10, 0.010, 11e9, 0.35),
        Toy("plastic brick", 0.03, 0.003, 2.3e9, 0.38),
    )
}


def hertz_contact(
    toy: Toy, speed: float, floor_modulus: float, floor_poisson: float
) -> tuple[float, float]:
    """Contact time [s] and the equal spring [N/m] of a sphere striking a half space.

    t = 2.87 (m^2/(R E*^2 v))^(1/5), 1/E* = (1-nu1^2)/E1 + (1-nu2^2)/E2 (Johnson, Contact
    Mechanics, 1985, sec. 11.4). The spring gives a half sine of the same length: K = m (pi/t)^2.
    """
    plane = (1 - toy.poisson**2) / toy.modulus + (1 - floor_poisson**2) / floor_modulus
    time = 2.87 * (toy.mass**2 * plane**2 / (toy.radius * speed)) ** 0.2
    return time, toy.mass * (math.pi / time) ** 2


def dropped(
    toy: Toy,
    height: float,
    floor_modulus: float,
    floor_poisson: float = 0.3,
    rebound: float = 0.5,
    covering_stiffness: float = math.inf,
    floor_impedance: float = math.inf,
) -> blow.Blow:
    """The first blow of a toy dropped from `height` [m]; use with `impact.source.blow`.

    floor_modulus : Pa of the surface it meets; covering_stiffness : N/m under the contact, in
    series; floor_impedance : N s/m. Later bounces are left out. rebound 0.5: from memory, spread
    0.3 to 0.8, that is 1.2 dB.
    """
    if not 0 < height <= 5:
        raise ValueError(f"height {height:g} m must lie between 0 and 5")
    speed = math.sqrt(2 * GRAVITY * height)
    _, stiffness = hertz_contact(toy, speed, floor_modulus, floor_poisson)
    in_series = 1 / (1 / stiffness + 1 / covering_stiffness)
    return blow.Blow(toy.mass, speed, in_series, floor_impedance, rebound)

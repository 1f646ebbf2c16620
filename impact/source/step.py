"""One step: a single vertical force history from the body's pace to the strike of the heel.

Below about 50 Hz it follows measured ground reaction forces (`impact.source.gait`). Above, the
data end and the base is thin: the heel's pulse goes on with the roll-off of its order, and a shod
foot adds the blow of the shoe's heel (`Footwear`). No third-octave footstep force was found
published there, so `spread` widens with frequency and footwear, and its figures are judgement.

Checks, never addends, live in the tests: pace harmonics, effective impulse.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from impact.base.air import GRAVITY
from impact.source import blow, gait

WALKING_PACE = (1.2, 2.6)  # 1/s accepted; data from 1.69 to 2.20
RUNNING_PACE = (1.8, 4.5)


@dataclass(frozen=True)
class Footwear:
    """What lies between heel and floor.

    softening : time constant of the heel strike relative to barefoot; strike : its impulse
    relative to barefoot; shoe_mass : kg of the shoe's heel that strikes by itself (0: none);
    cap_stiffness : N/m of the heel piece under it; cap_loss : loss factor of that; cap_radius : m
    of a disc as large as the piece;
    high_spread : dB, standard deviation at 500 Hz and above. All "from memory or judgement":
    the order of the four (soft sole < bare foot < hard heel) follows Light, McLellan & Klenerman,
    J. Biomech. 13 (1980) 477-480 and Whittle, Gait & Posture 10 (1999) 264-275, from memory.
    """

    name: str
    softening: float
    strike: float
    shoe_mass: float
    cap_stiffness: float
    cap_loss: float
    high_spread: float
    cap_radius: float = 0.0


BAREFOOT = Footwear("barefoot", 1.0, 1.0, 0.0, math.inf, 0.0, 12.0)
SOCKS = Footwear("socks", 1.1, 1.0, 0.0, math.inf, 0.0, 12.0)
# rubber or foam sole: 5 MPa x 20 cm2 / 20 mm = 0.5 MN/m under 0.15 kg; sole in series with the
# heel pad doubles the give, sqrt(2) in time
SOFT_SHOE = Footwear("soft shoe", 1.4, 1.0, 0.15, 0.5e6, 0.5, 8.0, 0.025)
# hard plastic or leather tip: 0.2 GPa x 3 cm2 / 6 mm = 10 MN/m under 0.2 kg
HARD_HEEL = Footwear("hard heel", 1.0, 1.0, 0.20, 10e6, 0.1, 8.0, 0.0098)


@dataclass(frozen=True)
class Step:
    """One step of one person.

    mass : kg of the body. pace : steps a second. stance : s on the floor, None = 1.24/pace.
    running : whether it is a running step. heel_speed : m/s, vertical speed of the foot at
    touch-down, used for a running strike and for the shoe's heel (walking about 0.2-0.7 m/s,
    Whittle 1999, from memory). surface_stiffness : N/m of floor surface or covering under the
    shoe's heel, inf = hard. floor_impedance : N s/m under the shoe's heel, inf = rigid; these two
    shape only the click (`impact.source.blow`), the rest is a force on a rigid floor.
    """

    mass: float = 76.0
    pace: float = 1.95
    stance: float | None = None
    footwear: Footwear = BAREFOOT
    running: bool = False
    heel_speed: float = 0.5
    surface_stiffness: float = math.inf
    floor_impedance: float = math.inf

    def __post_init__(self) -> None:
        low, high = RUNNING_PACE if self.running else WALKING_PACE
        if not low <= self.pace <= high:
            raise ValueError(f"pace {self.pace:g} 1/s must lie between {low:g} and {high:g}")
        if not 5 <= self.mass <= 200:
            raise ValueError(f"body mass {self.mass:g} kg must lie between 5 and 200")
        if self.stance is not None and not 0.05 <= self.stance <= 1.5:
            raise ValueError(f"stance {self.stance:g} s must lie between 0.05 and 1.5")
        if not 0 < self.heel_speed <= 5:
            raise ValueError(f"heel speed {self.heel_speed:g} m/s must lie between 0 and 5")

    @property
    def stance_time(self) -> float:
        """On the floor [s]; running without a given stance: 60 % of a step, in flight else."""
        if self.stance is not None:
            return self.stance
        return 0.6 / self.pace if self.running else gait.STANCE_STRIDE / self.pace

    @property
    def impulse(self) -> float:
        """m g/pace [N s]: what the steps must carry so that their mean force is the weight."""
        return self.mass * GRAVITY / self.pace


@dataclass(frozen=True)
class _Parts:
    """The step in numbers: humps, and the pulses' impulses [N s] and time constants [s]."""

    base: tuple[float, ...]  # N
    load: float
    strike: float
    strike_time: float
    click: blow.Blow | None


def _parts(step: Step) -> _Parts:
    shape = gait.running(step.heel_speed) if step.running else gait.walking(step.pace)
    weight = step.mass * GRAVITY
    load, strike = shape.load * weight, shape.strike * weight * step.footwear.strike
    click = _click(step)
    rest = step.impulse - load - strike - (click.impulse if click else 0.0)
    scale = rest / gait.base_area(shape.base, step.stance_time)
    base = tuple(scale * value for value in shape.base)
    return _Parts(base, load, strike, gait.STRIKE_TIME * step.footwear.softening, click)


def _click(step: Step) -> blow.Blow | None:
    """The blow of the shoe's heel, None without a shoe; it does not bounce, e = 0."""
    shoe = step.footwear
    if shoe.shoe_mass == 0:
        return None
    stiffness = 1 / (1 / shoe.cap_stiffness + 1 / step.surface_stiffness)
    return blow.Blow(
        shoe.shoe_mass,
        step.heel_speed,
        stiffness,
        step.floor_impedance,
        loss_factor=shoe.cap_loss,
    )


def spectrum(step: Step, frequencies: Any) -> Any:
    """Complex Fourier transform of the step's force [N s], int F exp(-2 pi i f t) dt.

    frequencies : Hz, any shape. Touch-down at t = 0. Closed form, see `impact.source.gait`.
    """
    frequency = np.asarray(frequencies, float)
    parts = _parts(step)
    total = gait.base_spectrum(parts.base, step.stance_time, frequency)
    total = total + parts.load * gait.gamma_spectrum(gait.LOAD_ORDER, gait.LOAD_TIME, frequency)
    total = total + parts.strike * gait.gamma_spectrum(
        gait.STRIKE_ORDER, parts.strike_time, frequency
    )
    if parts.click is not None:
        total = total + blow.spectrum(parts.click, frequency)
    return total


def force(step: Step, times: Any) -> Any:
    """Force of the step [N] at times [s] after touch-down, any shape; the same as `spectrum`."""
    time = np.asarray(times, float)
    parts = _parts(step)
    total = gait.base_history(parts.base, step.stance_time, time)
    total = total + parts.load * gait.gamma_history(gait.LOAD_ORDER, gait.LOAD_TIME, time)
    total = total + parts.strike * gait.gamma_history(gait.STRIKE_ORDER, parts.strike_time, time)
    if parts.click is not None:
        total = total + blow.history(parts.click, time)
    return total


def history(step: Step, rate: float) -> tuple[Any, Any]:
    """Times [s] and force [N] of one step sampled at `rate` [1/s], from touch-down to toe-off.

    A hard heel's click lasts under 1 ms: sample at 20 kHz or more to hold it.
    """
    times = np.arange(math.ceil(max(step.stance_time, 0.35) * rate) + 1) / rate
    return times, force(step, times)


def third_octave_exposure(step: Step, centres: Any) -> Any:
    """Force exposure 2 int |F|^2 df of one step in third octaves [N2 s], shape of `centres` [Hz].

    Ten times its logarithm is the force exposure level, dB re 1 N over 1 s, as a ball's.
    """
    centre = np.asarray(centres, float)
    return np.array([_exposure(step, c) for c in centre.ravel()]).reshape(centre.shape)


@lru_cache(maxsize=4096)
def _exposure(step: Step, centre: float) -> float:
    """Exposure in the one band about `centre`."""
    return band_exposure(lambda place: spectrum(step, place), step.stance_time, centre)


def band_exposure(spectrum_of: Callable[[Any], Any], duration: float, centre: float) -> float:
    """Exposure 2 int |F|^2 df [N2 s] of a transform [N s] in the third octave about `centre` [Hz].

    duration : s that the force lasts; its lobes are 1/duration apart: eight points on each, 48 a
    band at least.
    """
    low, high = centre * 10**-0.05, centre * 10**0.05
    points = max(48, math.ceil(8 * duration * (high - low)))
    place = low + (high - low) * (np.arange(points) + 0.5) / points
    return float(2 * np.mean(np.abs(spectrum_of(place)) ** 2) * (high - low))


def spread(step: Step, centres: Any) -> Any:
    """Standard deviation of a step's band exposure between people [dB], shape of `centres` [Hz].

    10 to 63 Hz: between ten people (`gait.BETWEEN_PEOPLE`), with 2 dB added in square for what
    pace and stance were assumed. Above: rising to the footwear's `high_spread` at 500 Hz
    (judgement). Running has no such data: 2 dB more in square throughout.
    """
    known = 1000 * 10 ** (np.arange(-20, -11) / 10)
    knots = np.log([*known, 500.0])
    values = [math.hypot(value, 2.0) for value in gait.BETWEEN_PEOPLE]
    high = max(step.footwear.high_spread, values[-1])
    result = np.interp(np.log(np.asarray(centres, float)), knots, [*values, high])
    return np.hypot(result, 2.0) if step.running else result

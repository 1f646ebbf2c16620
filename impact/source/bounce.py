"""A blow on a floor whose mobility differs from band to band: what joists and mats throw back.

`impact.source.blow` lets a mass strike a floor of one real impedance. Boards on joists have
several: under the contact they give way as an endless plate, a moment later what they reflect at
the joists comes back, and on a mat a layer bounces. All of it is in the mobility Y(w). A floor
does not move before it is struck, so its velocity after a unit impulse follows from the real part
alone,

    v(t) = (2/pi) integral of Re Y cos(w t) dw,  t > 0

(causal systems, any text on the Fourier integral), and with the contact spring K and a mass m of
speed v0 the force in the contact has the Laplace transform

    F(s) = m v0 / (1 + s m Y(s) + s^2 m/K),

for Y = 1/Z the blow of `impact.source.blow` (Cremer, Heckl and Petersson, Structure-Borne Sound;
Hopkins, Sound Insulation, 2007, chapter 3.6). It ends where F first comes back to zero: the mass
lifts off. Its impulse is m v0 (1 + e), with e the rebound of mass, contact and floor.

A soft covering loses the same share in each cycle, whatever the frequency: a spring of constant
loss factor eta. One that does not answer before it is pressed stiffens with frequency (E.
Kjartansson, J. Geophys. Res. 84 (1979) 4737; from memory),

    K(s) = K sqrt(1 + eta^2) (s/w0)^a,  a = (2/pi) atan eta,  w0 = sqrt(K/m),

with K its real part at w0. So the blow gets shorter with loss, not longer as by a dashpot in line
with the spring, and far above w0 its spectrum falls with the power 2 - a of frequency.

Taken is the mean Y over the places of the source, not each place by itself; what that leaves out
shows `validation/blows.py`, where hammers are followed in time on the modes at sixteen places.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.source import blow

_STEPS, _LONGEST = 48, 1e-5  # steps in a period of the contact's own frequency, or s if less
_PERIODS, _DECAYS = 2.0, 8.0  # followed: periods, and decays of an overdamped contact
_FEWEST, _MOST = 256, 8192  # steps followed
_CIRCLE = 18.0  # radius exp(-18/n): an error of exp(-36) by going round, 1e-8 by rounding
_LINES, _APART = np.arange(2.5, 6000.0, 5.0), 5.0  # Hz, at which Re Y is summed


@dataclass(frozen=True)
class Bounce:
    """A blow on a floor that throws back.

    rebound : e of mass, contact and floor [-], 0 to 1. square : mean |F|^2 in third octaves over
    the square of the impulse, (n,) [-], 1 at low frequency.
    """

    rebound: float
    square: np.ndarray


@functools.lru_cache(maxsize=16)
def _after(step: float, count: int, centres: tuple[float, ...]) -> np.ndarray:
    """Velocity after a unit impulse for Re Y = 1 at one centre, 0 at the others, (count, n) [Hz].

    Re Y goes straight from centre to centre over the logarithm of frequency. Times i step [s].
    """
    at = np.log(centres)
    shares = np.stack([np.interp(np.log(_LINES), at, row) for row in np.eye(len(at))], axis=-1)
    times = np.array_split(step * np.arange(count), count // _FEWEST)  # less memory at once
    turns = 2 * np.pi * _LINES
    return 4 * _APART * np.concatenate([np.cos(np.outer(part, turns)) @ shares for part in times])


@functools.lru_cache(maxsize=16)
def _windows(step: float, count: int, centres: tuple[float, ...]) -> np.ndarray:
    """Mean of cos(w i step) over third octaves about `centres` [Hz], both signs, (n, count) [-].

    Its sum with an autocorrelation is the mean of |F|^2 over the band, exact.
    """
    centre = np.array(centres)[:, None]
    width = blow.bandwidth(centre)
    middle = centre * 10**-0.05 + width / 2
    lags = step * np.arange(count)
    weights = 2 * np.cos(2 * np.pi * middle * lags) * np.sinc(width * lags)
    weights[:, 0] = 1.0
    return np.asarray(weights)


def history(
    centres: Any, mobility: Any, mass: float, stiffness: float, loss_factor: float = 0.0,
    dashpot: float = 0.0,
) -> tuple[float, np.ndarray]:  # fmt: skip
    """Step [s] and force [N] at 0, 1, 2, ... steps of a blow at 1 m/s, up to lift-off.

    centres : Hz (n,), mobility : Y (n,) [m/(N s)], complex or real, of which the real part counts,
    below and above as in the outermost bands. mass : kg, stiffness : N/m of the contact, finite.
    loss_factor : of the spring, constant over frequency (module docstring). dashpot : a loss in
    line with it, dashpot/2 of critical, as `blow.damping_ratio` has it: it lowers the impulse and
    leaves the pulse as long. A mass that never lifts off is followed for eight decays.
    """
    real = np.maximum(np.asarray(mobility).real, 0.0)
    instant, natural = float(real[-1]), math.sqrt(stiffness / mass)
    step = 2.0 ** math.floor(math.log2(min(2 * math.pi / natural / _STEPS, _LONGEST)))
    slow = natural * mass * instant + dashpot  # over natural: the slowest decay's time
    length = (2 * math.pi * _PERIODS + _DECAYS * slow) / natural
    count = min(max(2 ** math.ceil(math.log2(length / step)), _FEWEST), _MOST)
    tail = _after(step, count, _plain(centres)) @ (real - instant)
    tail[0] /= 2  # trapezoidal rule, as the transform below
    # F is a power series in the delay by one step: its values on a circle give its terms
    powers = math.exp(-_CIRCLE / count) ** np.arange(count)
    delay = math.exp(-_CIRCLE / count) * np.exp(-1j * np.pi * np.arange(2 * count) / count)
    laplace = 2 / step * (1 - delay) / (1 + delay)
    floor = instant + dashpot / (mass * natural) + step * np.fft.fft(tail * powers, 2 * count)
    spring = stiffness * _lossy(laplace / natural, loss_factor)
    bonded = mass / (1 + laplace * mass * floor + laplace**2 * mass / spring)
    force = np.fft.ifft(bonded)[:count].real / (powers * step)
    away = np.flatnonzero(force <= 0)
    return step, force[: away[0]] if away.size else force


def _lossy(place: np.ndarray, loss_factor: float) -> np.ndarray:
    """K(s)/K of a spring of constant loss factor at s/w0 (n,) [-]; 1 without loss."""
    power = 2 / math.pi * math.atan(loss_factor)
    return np.asarray(math.hypot(1, loss_factor) * place**power)


def bounce(
    centres: Any, mobility: Any, mass: float, stiffness: float, loss_factor: float = 0.0,
    dashpot: float = 0.0,
) -> Bounce:  # fmt: skip
    """Rebound and band spectrum of a blow; arguments as in `history`, square (n,) at `centres`.

    e is cut to 0 to 1: a floor that runs off from under the mass may take less than m v0 at first.
    """
    real = np.asarray(mobility).real
    return _bounce(_plain(centres), _plain(real), mass, stiffness, loss_factor, dashpot)


@functools.lru_cache(maxsize=256)
def _bounce(
    centres: tuple[float, ...], real: tuple[float, ...], mass: float, stiffness: float,
    loss_factor: float, dashpot: float,
) -> Bounce:  # fmt: skip
    """Found once for all that is heard below one floor."""
    step, force = history(centres, real, mass, stiffness, loss_factor, dashpot)
    impulse = float(force.sum()) * step
    size = 2 ** math.ceil(math.log2(len(force)))
    lags = np.fft.irfft(np.abs(np.fft.rfft(force, 2 * size)) ** 2)[:size] * step**2
    square = _windows(step, size, centres) @ lags / impulse**2
    square.setflags(write=False)
    return Bounce(min(max(impulse / mass - 1, 0.0), 1.0), square)


def _plain(values: Any) -> tuple[float, ...]:
    return tuple(np.asarray(values, float).tolist())

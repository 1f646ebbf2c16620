"""What a foot does to a rigid floor during one stance, as a compact description.

Derived from open data: 600 barefoot stances of ten people at three speeds, vertical ground reaction
force against time, each normalised to 101 points (Pataky, Caravaggi, Savage, Parker, Goulermas,
Sellers and Crompton, J. Biomech. 41 (2008) 1987-1994; distributed with the Python package `spm1d`,
data set uv1d.anova1.SpeedGRFcategorical, package licence GPL-3.0). The numbers below are our own
fit, no data points; `tests/source/test_step.py` fits nothing and compares with the data.

The data hold neither absolute force nor pace nor duration, but the speeds: 1.09, 1.44 and 1.95 m/s
on average. Taken with them: v = 1.67 f^2 - 4.83 f + 4.50 between speed and pace (SCI P354, from
memory, check the source), so 1.69, 1.95 and 2.20 steps a second; stance lasts 62 % of a stride,
1.24/pace; one step carries the body, impulse = m g/pace. Other pairings move single bands by up
to 6 dB.

The force is a sum of three smooth parts, each with a closed Fourier transform:

- the body over the foot, sum_k a_k sin(pi t/T) sin(k pi t/T), 0 <= t <= T;
- the leg taking the load, a gamma pulse of order 3;
- the strike of the heel, a gamma pulse of order 4 that peaks 8 ms after touch-down.

A gamma pulse of order n is J t^(n-1) exp(-t/theta)/((n-1)! theta^n), its transform
J/(1 + i w theta)^n: it starts smoothly and has no spectral zeros. The fit met the mean curve (rms
2-5 % of the body weight) and the energy mean of the 600 spectra, 4 to 50 Hz, within 2.3 dB (1.3 dB
where ours is sampled as coarsely as the data).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.base.air import GRAVITY

RUNNING_FOOT_MASS = 0.068  # of the body mass
LOAD_ORDER, LOAD_TIME = 3, 12.61e-3  # -, s
STRIKE_ORDER, STRIKE_TIME = 4, 2.58e-3
STANCE_STRIDE = 1.24  # stance time x pace: 62 % of a stride of two steps, common in gait texts

# pace [1/s]; a_1..a_8 [body weights]; impulses of loading and of the heel strike [body weight x s]
_WALK = (
    (1.69, (1.5609, -0.0945, 0.9976, -0.0137, 0.3260, -0.0028, 0.0710, 0.0017), 17.42e-3, 2.05e-3),
    (1.95, (1.5342, -0.0321, 1.1872, 0.0811, 0.3833, 0.0326, 0.0841, -0.0010), 21.40e-3, 4.45e-3),
    (2.20, (1.4813, 0.0955, 1.3829, 0.1307, 0.4289, 0.0344, 0.1000, -0.0080), 29.07e-3, 8.73e-3),
)
# Spread between people: standard deviation of the subject mean over ten subjects, dB, third octaves
# 10 to 63 Hz, mean over the three speeds of the same data.
BETWEEN_PEOPLE = (2.4, 2.4, 2.6, 2.8, 2.9, 3.0, 2.9, 3.1, 3.5)
STEP_SCATTER_DB = 0.83  # dB, of one person's steps over 10-63 Hz together, same data


@dataclass(frozen=True)
class Gait:
    """Shape of the force of one stance per body weight.

    base : coefficients a_k, arbitrary scale (the step's impulse sets it); load, strike : impulses
    per body weight [s] of the two pulses.
    """

    base: tuple[float, ...]
    load: float
    strike: float


def walking(pace: float) -> Gait:
    """Gait at a pace [steps/s], linear between 1.69, 1.95, 2.20; constant outside, no data."""
    paces = [row[0] for row in _WALK]
    base = tuple(
        float(np.interp(pace, paces, [row[1][k] for row in _WALK])) for k in range(len(_WALK[0][1]))
    )
    load = float(np.interp(pace, paces, [row[2] for row in _WALK]))
    strike = float(np.interp(pace, paces, [math.log(row[3]) for row in _WALK]))
    return Gait(base, load, math.exp(strike))


def running(heel_speed: float) -> Gait:
    """A running stance: one hump sin^2(pi t/T) and the pulses of a foot landing at `heel_speed`.

    heel_speed : m/s, vertical. Strike impulse = effective mass (6.8 % of the body, barefoot heel
    strike, Lieberman et al., Nature 463 (2010) 531-535, from memory) x heel_speed; the loading
    pulse keeps its ratio to the strike at the fastest walk (our assumption: no data).
    """
    strike = RUNNING_FOOT_MASS * heel_speed / GRAVITY
    return Gait((1.0,), strike * _WALK[-1][2] / _WALK[-1][3], strike)


def base_area(coefficients: tuple[float, ...], stance: float) -> float:
    """Integral over the stance of sum a_k sin(pi t/T) sin(k pi t/T): a_1 T/2 [s]."""
    return coefficients[0] * stance / 2


def base_history(coefficients: tuple[float, ...], stance: float, times: Any) -> Any:
    """The humps at times [s], zero outside 0..stance."""
    tau = np.asarray(times, float) / stance
    inside = (tau >= 0) & (tau <= 1)
    k = np.arange(1, len(coefficients) + 1)
    waves = np.sin(math.pi * tau[..., None] * k) @ np.array(coefficients)
    return np.where(inside, np.sin(math.pi * tau) * waves, 0.0)


def base_spectrum(coefficients: tuple[float, ...], stance: float, frequencies: Any) -> Any:
    """Fourier transform of `base_history` [s], closed form; frequencies in Hz."""
    # sin(pi t/T) sin(k pi t/T) = (cos((k-1) pi t/T) - cos((k+1) pi t/T))/2
    weight = np.zeros(len(coefficients) + 2)
    for k, a in enumerate(coefficients, start=1):
        weight[k - 1] += a / 2
        weight[k + 1] -= a / 2
    # Means of exp(i x s) over 0..1 at x = (m - half) pi and -(m + half) pi, as in `phase_mean`,
    # with exp(-i half pi/2), which they share, in front: i^m [sinc((m - half)/2) + (-1)^m sinc((m +
    # half)/2)], real for even m and imaginary for odd ones, of the same sine but for the sign. So
    # i^m sinc((half - m)/2) 2 half/(half + m), whose limit at half = m is that of sinc.
    waves = 2 * np.asarray(frequencies, float) * stance  # half ones of the stance
    half = np.abs(waves)
    even, odd = weight[0] * 2 * np.sinc(half / 2), np.zeros(half.shape)
    for m, a in enumerate(weight[1:], start=1):
        part = a * (-1) ** (m // 2) * np.sinc((half - m) / 2) * 2 * half / (half + m)
        if m % 2:
            odd += part
        else:
            even += part
    return stance / 2 * np.exp(-0.5j * math.pi * waves) * (even + 1j * np.sign(waves) * odd)


def phase_mean(x: Any) -> Any:
    """Integral over 0..1 of exp(i x s): exp(i x/2) sin(x/2)/(x/2)."""
    return np.exp(0.5j * x) * np.sinc(x / (2 * math.pi))


def gamma_history(order: int, time_constant: float, times: Any) -> Any:
    """Gamma pulse of unit area [1/s] at times [s]."""
    x = np.maximum(np.asarray(times, float), 0.0) / time_constant
    return x ** (order - 1) * np.exp(-x) / (math.factorial(order - 1) * time_constant)


def gamma_spectrum(order: int, time_constant: float, frequencies: Any) -> Any:
    """Its transform (1 + i w theta)^-n [-]; frequencies in Hz."""
    return (1 + 2j * math.pi * np.asarray(frequencies, float) * time_constant) ** -order

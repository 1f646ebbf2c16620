"""The project's closed formulas by the name a case calls them, for worked examples of standards.

Each takes nominal bands [Hz] (n,) and keywords, and returns levels (n,) or (28,) over all bands.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from impact.base.bands import CENTRES
from impact.base.levels import decibel
from impact.energy import radiating
from impact.heard import standard
from impact.leaf import loss
from impact.rating import onsite
from impact.source import tapping


def _exact(bands_hz: np.ndarray) -> np.ndarray:
    """Exact centres of nominal bands [Hz] (IEC 61260-1)."""
    return 1000 * 10 ** (np.round(10 * np.log10(bands_hz / 1000)) / 10)


def slab_in_place(
    bands_hz: np.ndarray, mass: float, loss_factor: np.ndarray, radiation: np.ndarray
) -> np.ndarray:
    """Ln of a concrete slab from mass [kg/m2], total loss factor and radiation factor."""
    return standard.level(bands_hz, mass, loss_factor, radiation)


def slab_from_size(
    bands_hz: np.ndarray, mass: float, thickness: float, speed: float, internal: float,
    length: float, width: float,
) -> np.ndarray:  # fmt: skip
    """Ln of a concrete slab in place from its size alone: radiation and losses computed, edges
    joined to walls of the slab's own mass. SI."""
    f = _exact(bands_hz)
    critical = 340.0**2 / (standard.CRITICAL * speed * thickness)
    sigma = radiating.homogeneous(f, critical, length, width)
    eta = loss.in_situ(f, internal, mass, critical, (length, width), sigma)
    return standard.level(f, mass, eta, sigma)


def slab_in_laboratory(
    bands_hz: np.ndarray, density: float, speed: float, internal: float, mass: float,
    poisson: float = 0.2,
) -> np.ndarray:  # fmt: skip
    """Ln (28,) of a bare homogeneous slab in a laboratory, the blow filtered by its contact. SI."""
    f = np.array(CENTRES)
    modulus = density * speed**2 * (1 - poisson**2)
    contact = tapping.contact_stiffness(modulus, poisson)
    impedance = standard.POINT * speed * mass * mass / density
    rigid = standard.slab_level(f, density, speed, internal, mass)
    return rigid + decibel(tapping.transfer_square(f, contact, impedance))


def radiation_factor(
    bands_hz: np.ndarray, thickness: float, speed: float, length: float, width: float
) -> np.ndarray:
    """10 lg sigma of a homogeneous slab [dB]. SI."""
    critical = 340.0**2 / (standard.CRITICAL * speed * thickness)
    return decibel(radiating.homogeneous(_exact(bands_hz), critical, length, width))


def floating_floor(
    bands_hz: np.ndarray, mass: float, stiffness: float, slope: float = 30.0
) -> np.ndarray:
    """Improvement of a floating floor [dB]; mass [kg/m2], stiffness [MN/m3]."""
    return standard.floating_improvement(_exact(bands_hz), mass, stiffness, slope)


def ball_normalized(
    bands_hz: np.ndarray, volume: float, level: np.ndarray, reverberation: np.ndarray
) -> np.ndarray:
    """L'iFmax,V,T of the rubber ball from measured fast maxima [dB], volume [m3], T [s]."""
    return onsite.ball_standardized(level, volume, reverberation)


FORMULAS: dict[str, Callable[..., Any]] = {
    "slab in place": slab_in_place,
    "slab from size": slab_from_size,
    "slab in laboratory": slab_in_laboratory,
    "radiation factor": radiation_factor,
    "floating floor": floating_floor,
    "ball normalized": ball_normalized,
}

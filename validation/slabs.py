"""Impact sound of bare homogeneous slabs and of what is laid on them: ISO 12354-2:2017.

Formulas for the standard's own examples; no prediction uses them.
Levels [dB re 20 uPa, A0 = 10 m2], forces [N].
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from impact.base import bands
from impact.energy import radiating
from impact.leaf import loss

FORCE_DENSITY = 3.92  # N2/Hz: standard machine without rebound, 2 f_r (m v0)^2 (ISO 10140-5)
POINT = 2.3  # Z = 2.3 c_L rho h^2, 4/sqrt(3) of the thin plate: ISO 12354-2:2017 Annex B
LABORATORY = (2.8, 3.6)  # m: 10 m2, smallest floor opening of ISO 10140-5; Annex B gives none
CRITICAL = 1.8  # f_c = c0^2/(1.8 c_L h): ISO 12354-1:2017 Annex B


def level(frequencies: NDArray, mass: float, loss_factor: NDArray, radiation: NDArray) -> NDArray:
    """Ln per third octave of a bare concrete slab [dB].

    Ln = 155 - 30 lg m' + 10 lg Ts + 10 lg sigma + 10 lg(f/1000 Hz); ISO 12354-2:2017 Annex B.
    The 155 dB hold c_L/rho of concrete (3500 m/s, 2300 kg/m3) and a blow without rebound.
    mass m' [kg/m2]; loss_factor total, radiation sigma, both (n,).
    """
    f = np.asarray(frequencies, float)
    ts = loss.reverberation_time(f, loss_factor)
    return (
        155 - 30 * np.log10(mass) + 10 * np.log10(ts) + 10 * np.log10(radiation)
        + 10 * np.log10(f / 1000)
    )  # fmt: skip


def slab_level(
    frequencies: NDArray, density: float, speed: float, internal: float, mass: float,
    sides: tuple[float, float] = LABORATORY, loss_factor: NDArray | None = None,
) -> NDArray:  # fmt: skip
    """Ln per third octave of a bare homogeneous slab of any material, by ISO 12354-2:2017 Annex B.

    Ln = L_F + 10 lg Re Y - 10 lg m' + 10 lg Ts + 10 lg sigma + 10.6 dB, L_F re 1 uN.
    density [kg/m3], speed c_L [m/s], internal loss factor, mass m' [kg/m2], sides [m].
    loss_factor : total (n,); default the laboratory's (`loss.laboratory`).
    The blow is that of a rigid hammer: what the contact cuts off belongs to the source.
    """
    f = np.asarray(frequencies, float)
    thickness = mass / density
    fc = 340.0**2 / (CRITICAL * speed * thickness)
    sigma = radiating.homogeneous(f, fc, *sides)
    eta = loss.laboratory(f, internal, mass) if loss_factor is None else loss_factor
    force_level = 10 * np.log10(FORCE_DENSITY * bands.WIDTH * f) + 120
    mobility = 1 / (POINT * speed * mass * thickness)
    return (
        force_level + 10 * np.log10(mobility) - 10 * np.log10(mass) + 10.6
        + 10 * np.log10(loss.reverberation_time(f, eta)) + 10 * np.log10(sigma)
    )  # fmt: skip


def floating_resonance(mass: float, stiffness: float) -> float:
    """f0 = 160 sqrt(s'/m') [Hz], s' [MN/m3], m' [kg/m2]; ISO 12354-2:2017 eq. C.2."""
    return 160 * float(np.sqrt(stiffness / mass))


def floating_improvement(
    frequencies: Sequence[float] | NDArray, mass: float, stiffness: float, slope: float = 30.0
) -> NDArray:
    """Delta L of a floating floor [dB]: slope lg(f/f0), 0 below f0; ISO 12354-2:2017 Annex C.

    slope 30 for sand-cement or calcium-sulfate screeds (resonant); 40 for asphalt or dry floors
    (locally reacting). mass m' [kg/m2] of the floating layer, stiffness s' [MN/m3] of the mat.
    Arrays (n,) over the frequencies.
    """
    ratio = np.asarray(frequencies, float) / floating_resonance(mass, stiffness)
    return np.maximum(0.0, slope * np.log10(ratio))

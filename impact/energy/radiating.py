"""How well a vibrating plate radiates: radiation factors sigma, near fields, critical frequency.

sigma = W / (rho c S <v^2>), one side, plate in a rigid baffle unless said otherwise.
"""

from __future__ import annotations

import functools
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import air

ANGLES = np.pi / 2 * (np.arange(12) + 0.5) / 12  # directions of waves in an orthotropic plate
INSIDE = (-0.04, -0.02, 0.0, 0.02, 0.04)  # places inside a third octave, lg(f/fm)
# The same of bands within NEAR of coincidence, lg(f/fc): radiation factors rise there by 10 dB and
# more inside a third octave, and five places miss its mean by up to 1.1 dB.
CLOSER, NEAR = tuple(((np.arange(25) + 0.5) / 250 - 0.05).tolist()), 0.15
EDGES_LARGEST = 2.0  # ISO 12354-1:2017 Annex B: sigma is at most 2


def critical(bending: Any, mass: float, speed: float = air.SPEED) -> Any:
    """Critical frequency c^2/(2 pi) sqrt(m''/B) [Hz] of a thin plate; B [N m], m'' [kg/m2]."""
    return speed**2 / (2 * np.pi) * np.sqrt(mass / bending)


def free_waves(
    frequencies: NDArray,
    critical_hz: float | NDArray,
    short: float,
    long: float,
    speed: float = air.SPEED,
) -> NDArray:
    """Reverberant bending waves of a plate short x long [m], simply supported, in a baffle.

    F. G. Leppington, E. G. Broadbent, K. H. Heron, Proc. R. Soc. Lond. A 382 (1982) 245 (after
    Maidanik 1962), as given in C. Hopkins, Sound Insulation (2007) eq. 2.229 to 2.231, with
    mu = sqrt(fc/f):

    f < fc: P / (2 pi mu k S sqrt(mu^2 - 1)) [ln((mu + 1)/(mu - 1)) + 2 mu/(mu^2 - 1)];
    f = fc: (0.5 - 0.15 short/long) sqrt(k short), which also caps the two others near fc;
    f > fc: 1/sqrt(1 - mu^2).

    Not bounded by the volume flow of a field that is small against the wavelength, 4 S f^2/c^2 (ISO
    12354-1 eq. B.2): below its first mode this may overrate it. frequencies and critical_hz [Hz]
    have shapes that fit together, and the answer both.
    """
    f = np.asarray(frequencies, float)
    k = 2 * np.pi * f / speed
    mu = np.sqrt(critical_hz / f)
    top = (0.5 - 0.15 * short / long) * np.sqrt(k * short)
    below, above = mu > 1, mu < 1
    m = np.where(below, np.maximum(mu, 1 + 1e-9), 2.0)
    root = np.sqrt(m**2 - 1)
    edge = (
        (short + long) / (np.pi * m * k * short * long * root)
        * (np.log((m + 1) / (m - 1)) + 2 * m / root**2)
    )  # fmt: skip
    over = 1 / np.sqrt(np.maximum(1 - np.where(above, mu, 0.0) ** 2, 1e-9))
    sigma = np.where(below, edge, np.where(above, over, top))
    # far above fc the cap must not bite: sigma -> 1
    sigma = np.minimum(sigma, np.where(above, np.maximum(top, 1.0), top))
    return np.asarray(sigma)


def at_free_edge(ratio: NDArray) -> NDArray:
    """Sound of bending waves slower than sound from a free edge / from a supported one [-].

    ratio (...,) : f/fc = (k0/k)^2; 1 from coincidence on. Waves that meet the edge squarely: sin kx
    at a support, cos(kx + pi/4) + e^(-kx)/sqrt(2) at a free edge. What is left of them at
    wavenumbers q of sound is k/(k^2 - q^2) and (k - iq)/sqrt(2) (1/(k^2 + q^2) - 1/(k^2 - q^2));
    sound takes the mean of the squares over q = k0 cos(theta). No force acts at a free edge, so
    that the flow of the whole wave is nil. Derived here from the beam's free end (any text on
    vibration).
    """
    x = np.minimum(np.asarray(ratio, float), 1 - 1e-9)[..., None]
    q2 = x * np.cos(ANGLES) ** 2
    free = 2 * q2**2 / ((1 - q2) ** 2 * (1 + q2))
    return np.asarray(free.mean(axis=-1) / ((1 - q2) ** -2).mean(axis=-1))


Stiffness = tuple[float, float, float]  # Bx, By and Bxy = Dnu + 2 D66 of an orthotropic plate


def in_directions(bending: Stiffness) -> NDArray:
    """Bending stiffness B(phi) = Bx cos^4 + 2 Bxy cos^2 sin^2 + By sin^4 of waves that run in the
    directions ANGLES (12,) [N m]; of bending (Bx, By, Bxy) [N m]. From the plate's equation
    (Cremer/Heckl/Petersson 2005, orthotropic plates)."""
    c, s = np.cos(ANGLES) ** 2, np.sin(ANGLES) ** 2
    return np.asarray(bending[0] * c**2 + 2 * bending[2] * c * s + bending[1] * s**2)


@functools.lru_cache(maxsize=256)
def mean_bending(bending: Stiffness) -> float:
    """The isotropic plate with the same point mobility and density of modes [N m]: both go with the
    mean of 1/sqrt(B) over directions. sqrt(Bx By) where Bxy is the geometric mean too (Huber); of
    bending (Bx, By, Bxy) [N m]."""
    return float(np.mean(1 / np.sqrt(in_directions(bending))) ** -2)


def orthotropic(
    frequencies: NDArray, bending: Stiffness, mass: float, short: float, long: float,
    held: bool = True,
) -> NDArray:  # fmt: skip
    """`free_waves` averaged over directions of an orthotropic plate and over the third octave.

    Directions weigh by their modes, whose density goes with 1/sqrt(B). bending (Bx, By, Bxy)
    [N m], mass [kg/m2], sides [m]. held : whether its edges are; of free ones `at_free_edge`.
    """
    every = tuple(np.asarray(frequencies, float).tolist())
    return _orthotropic(every, bending, mass, short, long, held).copy()


@functools.lru_cache(maxsize=256)
def _orthotropic(
    frequencies: tuple[float, ...], bending: Stiffness, mass: float, short: float, long: float,
    held: bool,
) -> NDArray:  # fmt: skip
    """Found once for all floors with the same plate: of a hundred in a spread most have it."""
    stiff = in_directions(bending)
    limit = critical(stiff[:, None], mass)

    def mean(centres: NDArray, inside: tuple[float, ...]) -> NDArray:
        f = centres * 10 ** np.array(inside)[:, None, None]
        sigma = free_waves(f, limit, short, long)
        if not held:
            sigma = sigma * at_free_edge(f / limit)
        return np.asarray(np.average(sigma.mean(axis=0), axis=0, weights=1 / np.sqrt(stiff)))

    centres = np.array(frequencies)
    found = mean(centres, INSIDE)
    near = (np.abs(np.log10(centres / limit)) < NEAR).any(axis=0)
    if near.any():
        found[near] = mean(centres[near], CLOSER)
    return found


def homogeneous(
    frequencies: NDArray, critical_hz: float, first: float, second: float, speed: float = 340.0
) -> NDArray:
    """Radiation factor for free waves of ISO 12354-1:2017 Annex B (eq. B.1 to B.5; from memory).

    first, second : sides [m]. speed 340 m/s as in the standard's examples.
    """
    f = np.asarray(frequencies, float)
    s1 = 1 / np.sqrt(np.maximum(1 - critical_hz / f, 1e-12))
    s2 = 4 * first * second * (f / speed) ** 2
    s3 = np.sqrt(2 * np.pi * f * (first + second) / (16 * speed))
    f11 = speed**2 / (4 * critical_hz) * (1 / first**2 + 1 / second**2)
    if f11 > critical_hz / 2:
        low = np.where(s2 < s3, s2, s3)
        high = np.where(s1 < s3, s1, s3)
        return np.minimum(np.where(f < critical_hz, low, high), EDGES_LARGEST)
    ratio = np.sqrt(np.minimum(f / critical_hz, 1 - 1e-9))
    rest = 1 - ratio**2
    d1 = (rest * np.log((1 + ratio) / (1 - ratio)) + 2 * ratio) / (4 * np.pi**2 * rest**1.5)
    d2 = (
        8 * speed**2 * (1 - 2 * ratio**2)
        / (critical_hz**2 * np.pi**4 * first * second * ratio * np.sqrt(rest))
    )  # fmt: skip
    d2 = np.where(f > critical_hz / 2, 0.0, d2)
    low = 2 * (first + second) / (first * second) * speed / critical_hz * d1 + d2
    low = np.where((f < f11) & (low > s2), s2, low)
    return np.minimum(np.where(f < critical_hz, low, s1), EDGES_LARGEST)


def near_field(frequencies: NDArray, mass: float, critical_hz: float) -> NDArray:
    """Power radiated to one side by the near field of a point force [W/N2]: rho / (2 pi c m''^2).

    Holds below the critical frequency, where free waves of an infinite plate radiate nothing;
    0 above. Cremer/Heckl/Petersson 2005 sec. 6.6 (also L. L. Beranek, I. L. Ver 2006 ch. 11).
    Arrays (n,) over the frequencies.
    """
    value = air.DENSITY / (2 * np.pi * air.SPEED * mass**2)
    return np.where(np.asarray(frequencies) < critical_hz, value, 0.0)


def strip(frequencies: NDArray, width: float | NDArray) -> NDArray:
    """Long strip that moves as a whole in a baffle, `width` [m]: k w/2, at most 1.

    Low-frequency limit of the line source rho omega w^2/4 per length against rho c w.
    Arrays (n,) over the frequencies.
    """
    k = 2 * np.pi * np.asarray(frequencies, float) / air.SPEED
    return np.minimum(1.0, k * width / 2)

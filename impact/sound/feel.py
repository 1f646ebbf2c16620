"""What feet feel: EN 1995-1-1 floor checks, response factor, ISO 10137 and VC base curves.

Every limit here is a figure of a standard or design guide to compare with, not a verdict.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

BASE_ACCELERATION = 0.005  # m/s2 r.m.s., 4 to 8 Hz, foot to head (ISO 10137, BS 6472:1992)
# Multiplying factors on the base curve, continuous vibration (ISO 10137 Table C.1, BS 6472:1992,
# SCI P354; from memory, check the standard)
RESPONSE_FACTORS = {
    "critical work area": 1.0,
    "residence, night": 1.4,
    "residence, day": 4.0,
    "office": 8.0,
    "workshop": 8.0,
}
# Generic vibration criteria, velocity r.m.s. in third octaves 8 to 80 Hz [m/s] (Gordon 1991; from
# memory, check the source); below 8 Hz A and B follow constant acceleration, C to E stay flat
VIBRATION_CRITERIA = {
    "VC-A": 50e-6,
    "VC-B": 25e-6,
    "VC-C": 12.5e-6,
    "VC-D": 6.25e-6,
    "VC-E": 3.12e-6,
}
_FROM = 8.0  # Hz, corner of the base curve


@dataclass(frozen=True)
class JoistFloor:
    """A rectangular floor on four simple edges as EN 1995-1-1 7.3.3 sees it.

    span : m, along the joists. width : m. stiffness_along, stiffness_across : (EI)_l about the
    axis across the joists and (EI)_b, N m2/m, (EI)_b the smaller. mass_per_area : kg/m2, self
    weight and other permanent load. damping : zeta, 0.01 unless shown otherwise.
    """

    span: float
    width: float
    stiffness_along: float
    stiffness_across: float
    mass_per_area: float
    damping: float = 0.01

    def __post_init__(self) -> None:
        for name in ("span", "width", "stiffness_along", "stiffness_across", "mass_per_area"):
            if getattr(self, name) <= 0:
                raise ValueError(f"{name} {getattr(self, name):g} must be above 0")


def first_frequency(span: float, stiffness: float, mass_per_area: float) -> float:
    """f1 = pi/(2 l^2) sqrt((EI)_l/m) [Hz], EN 1995-1-1 eq. (7.5): simply supported.

    span m; stiffness N m2/m; mass kg/m2. The code's figure for a strip of floor; the fundamental of
    the floor as it is held and coupled is `impact.motion.fundamental`.
    """
    return math.pi / (2 * span**2) * math.sqrt(stiffness / mass_per_area)


def modes_to_40(floor: JoistFloor) -> float:
    """n40, first-order modes up to 40 Hz [-], EN 1995-1-1 eq. (7.7); 0 when f1 is above 40 Hz."""
    f1 = first_frequency(floor.span, floor.stiffness_along, floor.mass_per_area)
    ratio = floor.stiffness_along / floor.stiffness_across
    inside = ((40 / f1) ** 2 - 1) * (floor.width / floor.span) ** 4 * ratio
    return max(inside, 0.0) ** 0.25


def unit_impulse_velocity(floor: JoistFloor) -> float:
    """v = 4 (0.4 + 0.6 n40)/(m b l + 200) [m/(N s2)], EN 1995-1-1 eq. (7.6)."""
    mass = floor.mass_per_area * floor.width * floor.span
    return 4 * (0.4 + 0.6 * modes_to_40(floor)) / (mass + 200)


def velocity_limit(f1: float, damping: float = 0.01, b: float = 100.0) -> float:
    """v <= b^(f1 zeta - 1) [m/(N s2)], EN 1995-1-1 eq. (7.4); b from its Figure 7.2, 50 to 150."""
    if not 50 <= b <= 150:
        raise ValueError(f"b {b:g} must lie between 50 and 150 (EN 1995-1-1 Figure 7.2)")
    return float(b ** (f1 * damping - 1))


def velocity_parameter(deflection_limit: float) -> float:
    """b [-] for a chosen deflection limit a [mm/kN], EN 1995-1-1 Figure 7.2.

    a 0.5 to 4; straight lines through 150 at 0.5, 120 at 1, 80 at 2 (180 - 60 a and 160 - 40 a of
    the UK annex) and 50 at 4; from memory, check the standard.
    """
    if not 0.5 <= deflection_limit <= 4:
        raise ValueError(f"a {deflection_limit:g} mm/kN must lie between 0.5 and 4")
    return float(np.interp(deflection_limit, [0.5, 1, 2, 4], [150, 120, 80, 50]))


def base_acceleration(frequencies: Any) -> Any:
    """Base curve, foot to head [m/s2 r.m.s.] at 1 to 80 Hz: ISO 10137, BS 6472:1992.

    0.01/sqrt(f) to 4 Hz, 0.005 to 8 Hz, 0.005 f/8 above. Any shape; from 8 Hz up constant velocity.
    """
    f = np.asarray(frequencies, float)
    above = BASE_ACCELERATION * f / _FROM
    return np.where(f < 4, 0.01 / np.sqrt(f), np.where(f <= _FROM, BASE_ACCELERATION, above))


def base_velocity(frequencies: Any) -> Any:
    """The base curve as velocity [m/s r.m.s.]: about 0.1 mm/s from 8 to 80 Hz."""
    f = np.asarray(frequencies, float)
    return base_acceleration(f) / (2 * math.pi * f)


def vibration_criterion(name: str, frequencies: Any) -> Any:
    """VC curve as velocity [m/s r.m.s. per third octave] at 4 to 80 Hz; name "VC-A" to "VC-E"."""
    f = np.asarray(frequencies, float)
    flat = VIBRATION_CRITERIA[name]
    if name in ("VC-A", "VC-B"):
        return np.where(f < _FROM, flat * _FROM / f, flat)
    return np.full(f.shape, flat)


def weighting(frequencies: Any, curve: str = "b") -> Any:
    """Weight on acceleration [-], straight-line form (SCI P354 section 2.5, from memory).

    curve "g": 0.5 sqrt(f) to 4 Hz, 1 to 8, 8/f above: the base curve turned over. curve "b" (BS
    6841, BS 6472-1:2008): 0.4 to 2 Hz, f/5 to 5, 1 to 16, 16/f above.
    """
    f = np.asarray(frequencies, float)
    if curve == "g":
        return np.where(f < 4, 0.5 * np.sqrt(f), np.where(f <= 8, 1.0, 8 / f))
    if curve == "b":
        low = np.where(f < 2, 0.4, f / 5)
        return np.where(f < 5, low, np.where(f <= 16, 1.0, 16 / f))
    raise ValueError(f"weighting {curve!r} is unknown; use 'b' or 'g'")


def response_factor(frequencies: Any, band_accelerations: Any, curve: str = "b") -> Any:
    """R = sqrt(sum (W a)^2)/0.005 [-]: weighted acceleration over the base of 0.005 m/s2.

    frequencies : (n,) centres, Hz, 1 to 80 count; band_accelerations : (..., n) m/s2 r.m.s. per
    band (r.m.s. over 1 s for a step, SCI P354: the slow maximum serves). Returns (...).
    """
    f = np.asarray(frequencies, float)
    inside = (f >= 0.9) & (f <= 90)  # third octaves 1 to 80 Hz with their widths
    weighted = np.where(inside, weighting(f, curve), 0.0) * np.asarray(band_accelerations, float)
    return np.sqrt(np.sum(weighted**2, axis=-1)) / BASE_ACCELERATION


@dataclass(frozen=True)
class TimberCheck:
    """Figures of EN 1995-1-1 7.3.3 beside their limits; whether they suffice is the reader's."""

    f1: float  # Hz; the clause is for f1 above 8 Hz
    n40: float
    velocity: float  # m/(N s2)
    velocity_limit: float
    deflection: float | None  # mm/kN, of a joist under 1 kN, when given
    deflection_limit: float
    applies: bool  # f1 above 8 Hz; below, a special investigation is asked for

    @property
    def velocity_within(self) -> bool:
        """Whether v <= its limit."""
        return self.velocity <= self.velocity_limit


def timber_check(
    floor: JoistFloor, deflection: float | None = None, deflection_limit: float = 1.0
) -> TimberCheck:
    """EN 1995-1-1 7.3.3(2) for one floor.

    deflection : mm under 1 kN at mid-span, or None; deflection_limit : a, mm/kN (b follows).
    """
    f1 = first_frequency(floor.span, floor.stiffness_along, floor.mass_per_area)
    return TimberCheck(
        f1=f1,
        n40=modes_to_40(floor),
        velocity=unit_impulse_velocity(floor),
        velocity_limit=velocity_limit(f1, floor.damping, velocity_parameter(deflection_limit)),
        deflection=deflection,
        deflection_limit=deflection_limit,
        applies=f1 > 8,
    )

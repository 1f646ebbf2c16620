"""From sound power per force to the level that each source makes below.

tapping machine : normalized level Ln re A0 = 10 m2, mean square of the continuous blow.
rubber ball : fast maximum in the reference room of ISO 16283-2 (50 m3, T = 0.5 s).
people : fast maximum in the room described, diffuse average, of one step.

All of them are force spectra; the structure does not know which it is. People's are those on a
rigid floor: what a floor that yields takes from them is the caller's (`impact.walking.yielding`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from impact.base import air, bands, levels
from impact.design.parts import Design
from impact.sound import radiation
from impact.source import ball, people, step, tapping

CENTRES = np.array(bands.CENTRES)
# Under a hammer wood gives way through its thickness, where it is far softer than in its plane:
# E90,mean = 0.37 GPa for C24 (EN 338); panels and hardwoods lie between 0.2 and 0.9 (from memory).
WOOD_THROUGH = 0.37e9  # Pa
WOOD_BELOW = 1000.0  # kg/m3: lighter walked surfaces are taken as wood
SABINE = 0.16  # s/m: A = 0.16 V/T as ISO 16283-2 and ISO 717-2 use it


@dataclass(frozen=True)
class Source:
    """A source in the output.

    name : key in JSON. label : as printed. kind : "normalized level", "fast maximum, reference
    room" or "fast maximum, this room". force : design, mobility (28,) -> (28,) mean-square force
    [N2] or exposure [N2 s] per band. rerun with another mobility for another floor.
    """

    name: str
    label: str
    kind: str
    force: Callable[[Design, np.ndarray], np.ndarray]


def _surface(design: Design) -> float:
    """Contact stiffness of the walked surface under the hammer, covering in series [N/m]."""
    floor = design.floor
    if floor.layers:
        material = floor.layers[-1].material
        across = material.youngs_modulus_across
        through = min(across, WOOD_THROUGH) if material.density < WOOD_BELOW else across
        hard = tapping.contact_stiffness(through, material.poisson)
    else:
        slab = floor.slab
        assert slab is not None
        modulus = slab.surface_modulus
        if modulus is None:  # taken from its bending as a plain plate
            modulus = 12 * slab.bending_stiffness_along * (1 - slab.poisson**2) / slab.thickness**3
        hard = tapping.contact_stiffness(modulus, slab.poisson)
    if floor.covering is None:
        return hard
    soft = tapping.covering_stiffness(floor.covering.contact_stiffness)
    return tapping.in_series(soft, hard)


def _tapping(design: Design, mobility: np.ndarray) -> np.ndarray:
    covering = design.floor.covering
    return tapping.band_force(
        CENTRES, design.tapping.rebound, _surface(design), 1 / np.maximum(mobility.real, 1e-12),
        covering.loss_factor if covering else 0.0,
    )  # fmt: skip


def _ball(design: Design, mobility: np.ndarray) -> np.ndarray:
    return levels.square(ball.third_octave_exposure_levels().level)


def _person(who: str) -> Callable[[Design, np.ndarray], np.ndarray]:
    return lambda design, mobility: step.third_octave_exposure(people.walker(design, who), CENTRES)


SOURCES: dict[str, Source] = {
    s.name: s
    for s in (
        Source("tapping_machine", "tapping machine", "normalized level", _tapping),
        Source("rubber_ball", "rubber ball", "fast maximum, reference room", _ball),
        Source("walker_barefoot", "walker, barefoot", "fast maximum, this room",
               _person("barefoot")),
        Source("walker_hard_heel", "walker, hard heels", "fast maximum, this room",
               _person("hard")),
        Source("child_running", "running child", "fast maximum, this room", _person("child")),
    )
}  # fmt: skip


def absorption(volume: float, reverberation_time: float) -> float:
    """Equivalent absorption area A = 0.16 V/T [m2] (Sabine, as in ISO 16283-2)."""
    return SABINE * volume / reverberation_time


def band_levels(
    source: Source, power: np.ndarray, design: Design, mobility: np.ndarray
) -> np.ndarray:
    """Levels (28,) [dB] of `source` for sound power per mean-square force `power` (28,) [W/N²].

    For events an exposure E of force gives the exposure 4 rho c W E / A of pressure, and the fast
    maximum of a decay with T lies 10 lg(g(C)/(0.125 C)) above it (ISO 16283-2:2020).
    """
    force = source.force(design, mobility)
    if source.kind == "normalized level":
        square = radiation.normalized_pressure_square(power * force)
        return levels.decibel(square, levels.PRESSURE**2)
    if source.kind == "fast maximum, reference room":
        volume, time = ball.VOLUME, ball.REVERBERATION
    else:
        volume, time = design.room.volume, design.room.reverberation_time
    square = 4 * air.IMPEDANCE * power * force / absorption(volume, time)
    exposure = levels.decibel(square, levels.PRESSURE**2)
    return exposure + ball.fast_maximum_above_exposure(time)

"""Impact sound of bare homogeneous slabs and of what is laid on them: ISO 12354-2:2017.

The standard's closed formulas, beside the prediction and never in it: a slab and a floating floor
by its mass, stiffness and losses alone, without modes, room or ceiling.
Levels [dB re 20 uPa, A0 = 10 m2], forces [N].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import bands
from impact.base.levels import decibel
from impact.design.parts import Design
from impact.energy import leaves, radiating
from impact.leaf import build, loss
from impact.rating import summary
from impact.source import surface, tapping

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


# ---- a design's own slab --------------------------------------------------------------------

HOMOGENEOUS = ("concrete", "lightweight")  # kinds of slab that Annex B speaks of
SCREED, DRY = 30.0, 40.0  # dB per decade of f/f0: cast screeds, dry floors; Annex C
CAST = 1500.0  # kg/m3, from where a floating layer counts as cast; our judgement
FIRST = bands.index(50)  # the standard's lowest band


@dataclass(frozen=True)
class BySlabFormulas:
    """The floor without a ceiling by the formulas; bands (21,), 50 Hz to 5 kHz.

    level : Ln of the tapping machine [dB], with covering or floating floor. improvement : of the
    floating floor alone [dB], resonance : its f0 [Hz]; None without one.
    """

    level: NDArray
    improvement: NDArray | None
    resonance: float | None

    @property
    def ratings(self) -> dict[str, Any]:
        """Single numbers of `level`, by `rating.summary.rate`."""
        return summary.rate(bands.NOMINAL[FIRST:], self.level, kind="normalized")

    def as_dict(self) -> dict[str, Any]:
        """As `impact predict --format json` prints it: lists (28,), null below 50 Hz."""
        return {
            "levels_db": _listed(self.level),
            "floating_floor_improvement_db": _listed(self.improvement),
            "floating_floor_resonance_hz": self.resonance,
            "ratings": self.ratings,
            "source": "ISO 12354-2:2017 Annexes B and C; floor without ceiling, no modes",
        }


def _listed(values: NDArray | None) -> list[float | None] | None:
    if values is None:
        return None
    return [None] * FIRST + [round(float(x), 4) for x in values]


def by_slab_formulas(design: Design) -> BySlabFormulas | None:
    """The floor of `design` without its ceiling by the standard's formulas, without rebound.

    None where they do not speak of it: no homogeneous slab, an old ceiling left below it, several
    floating floors or a soft covering on one. Losses are those of the prediction: of the material,
    and in place of edges and sound too (ISO 12354-1:2017 eq. C.1), or the total that is stated.
    """
    floor = design.floor
    slab = floor.slab
    if slab is None or slab.kind not in HOMOGENEOUS or design.old_ceiling is not None:
        return None
    held, floating = build.split_layers(floor.layers)
    if len(floating) > 1 or (floating and floor.covering):
        return None
    f = np.array(bands.CENTRES[FIRST:])
    leaf = leaves.slab_leaf(design.floor, f)
    speed = float(np.sqrt(12 * leaf.bending / leaf.mass)) / slab.thickness
    density, sides, internal = leaf.mass / slab.thickness, (leaf.short, leaf.long), floor.whole_loss
    fc = 340.0**2 / (CRITICAL * speed * slab.thickness)
    sigma = radiating.homogeneous(f, fc, *sides)
    eta = np.full(f.shape, internal)
    if slab.in_situ_loss:
        eta = loss.in_situ(f, internal, leaf.mass, fc, sides, sigma)
    if slab.kind == "concrete":  # the standard's own number holds its c_L/rho
        rigid = level(f, leaf.mass, eta, sigma)
    else:
        rigid = slab_level(f, density, speed, internal, leaf.mass, sides, eta)
    bare = rigid + decibel(
        tapping.transfer_square(
            f, surface.stiffness(replace(floor, layers=tuple(held))),
            POINT * speed * leaf.mass * slab.thickness,
            floor.covering.loss_factor if floor.covering else 0.0,
        )
    )  # fmt: skip
    if not floating:
        return BySlabFormulas(bare, None, None)
    mat, above = floating[0]
    mass, stiffness = sum(layer.mass_per_area for layer in above), mat.stiffness_per_area / 1e6
    slope = SCREED if above[0].material.density >= CAST else DRY
    gained = floating_improvement(f, mass, stiffness, slope)
    return BySlabFormulas(bare - gained, gained, floating_resonance(mass, stiffness))

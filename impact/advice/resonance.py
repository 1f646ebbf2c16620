"""Resonances, each kept apart, and which spring governs them.

One-dimensional: floor and ceiling as masses per area m1, m2 with the air s_a and the hangers s_h
between them,

    hanger only       (1/2 pi) sqrt(s_h / m2)
    air only          (1/2 pi) sqrt(s_a (1/m1 + 1/m2))
    mass-spring-mass  (1/2 pi) sqrt((s_a + s_h) (1/m1 + 1/m2))

(ISO 12354-1 for the last with air alone; any vibration textbook). A floor that is itself a spring
shifts the pair: the coupled modes of the whole stack say where they really lie.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impact.link import cavity
from impact.motion import whole
from impact.motion.assemble import Assembly
from impact.motion.fundamental import of_bare

COUPLED = 100.0  # Hz: coupled modes are listed to here


@dataclass(frozen=True)
class Resonances:
    """Frequencies [Hz], springs per area [N/m3], masses [kg/m2]; None where a part is absent.

    coupled : modes of the whole up to `coupled_to` [Hz].
    """

    floor_fundamental: float
    hanger_only: float | None
    air_only: float
    mass_spring_mass: float
    air_spring: float
    hanger_spring: float
    floor_mass: float
    ceiling_mass: float
    coupled: tuple[whole.CoupledMode, ...]
    leaf_names: tuple[str, ...]
    coupled_to: float = COUPLED

    @property
    def governing_spring(self) -> str:
        """Whichever carries the larger part of the stiffness: "air" or "hangers"."""
        return "hangers" if self.hanger_spring > self.air_spring else "air"


def frequency(stiffness: float, mass: float) -> float:
    """(1/2 pi) sqrt(s/m) [Hz]; stiffness N/m3 and mass kg/m2, or N/m and kg."""
    return float(np.sqrt(stiffness / mass) / (2 * np.pi))


def pair_frequency(stiffness: float, mass_above: float, mass_below: float) -> float:
    """(1/2 pi) sqrt(s (1/m1 + 1/m2)) [Hz]: two masses on one spring."""
    return frequency(stiffness * (1 / mass_above + 1 / mass_below), 1.0)


def resonances(assembly: Assembly) -> Resonances:
    """All resonances of a design.

    Coupled modes are listed to COUPLED; in a large room only as far as `assembly` reaches, as its
    leaves are not solved beyond and their modes there are many hundreds.
    """
    reach = min(COUPLED, assembly.highest)
    floor, ceiling = assembly.floor_mass, assembly.ceiling_mass
    air_spring, hangers = air_stiffness(assembly), assembly.hanger_spring
    return Resonances(
        floor_fundamental=of_bare(assembly.bare),
        hanger_only=frequency(hangers, ceiling) if hangers > 0 else None,
        air_only=pair_frequency(air_spring, floor, ceiling),
        mass_spring_mass=pair_frequency(air_spring + hangers, floor, ceiling),
        air_spring=air_spring, hanger_spring=hangers, floor_mass=floor, ceiling_mass=ceiling,
        coupled=tuple(whole.coupled_modes(assembly.whole, reach)),
        leaf_names=tuple(leaf.name for leaf in assembly.whole.leaves), coupled_to=reach,
    )  # fmt: skip


def air_stiffness(assembly: Assembly) -> float:
    """Spring of the lowest cavity's air per area [N/m3], near 25 Hz, fill included."""
    return cavity.static_stiffness(assembly.gap)

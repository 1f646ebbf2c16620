"""Sound from one leaf to the next through the air between them, by layers across the depth.

The leaf above is a source of motion. Its part that radiates is taken as motion with all wavenumbers
of sound (uniform over the disk k < k0 sin 78 deg, the customary limit of field incidence), as waves
cut up by joists, edges and blows are; it is normalized to the power the leaf would radiate into
free space. Waves of a slab are whole: `gap_waves`. For each wavenumber, air and fill are layers
with complex wavenumber and impedance (transfer matrices; J. F. Allard, N. Atalla, Propagation of
Sound in Porous Media, 2nd ed. 2009, ch. 11). One expression then holds the air spring at low
frequency, the cross resonances and the absorbed field above: nothing switches over.

The leaf below answers twice: as a limp mass, which goes on radiating (forced), and with its own
free bending waves, fed by the blocked pressure (reciprocity of radiation; R. H. Lyon, R. G. DeJong,
Theory and Application of Statistical Energy Analysis, 2nd ed. 1995).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache, reduce
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.energy.gap_waves import Waves, accepted, below_slab
from impact.energy.radiating import INSIDE
from impact.link import cavity
from impact.link.cavity import Gap

LIMIT = np.radians(78.0)  # largest angle of incidence, customary for field incidence
TURNS = np.pi / 2 * (np.arange(6) + 0.5) / 6  # directions in plan, from along the joists to across
STEPS = 24  # angles, equal steps of cos(theta): weights of radiated power
SPEED, DENSITY = air.SPEED, air.DENSITY


@dataclass(frozen=True)
class Passage:
    """What the air does, per third octave (n,).

    forced : power radiated on by the limp leaf below / power the leaf above would radiate free [-];
    with hangers beside the air, what is more than by hangers alone.
    blocked : mean-square blocked pressure times area at the leaf below per that power [Pa2 m2/W].
    pressed : as blocked, at the leaf below as it yields, a limp mass.
    taken : power that a thin gap takes from the edges of a slab above, per mean-square velocity and
    area [Pa s/m].
    accepted : what free waves of the leaf below take up of `blocked`, that times their radiation
    factor where it comes from all directions alike; None there: the leaf is to multiply.
    """

    forced: NDArray
    blocked: NDArray
    pressed: NDArray
    taken: NDArray
    accepted: NDArray | None = None


def sideways_share(gap: Gap, omega: float, spacing: float) -> float:
    """Flow across the joists / flow along them for the same slope of pressure, 0..1.

    Below the first cross mode of a bay, c/(2 (s - b)), air crosses a joist only through the slot
    under it: series of bay and slot as in `impact.link.cavity`; no slot, no flow. Above, or where
    nothing blocks, 1. A pure ratio.
    """
    if gap.bay <= 0 or not gap.blocks or spacing <= 0:
        return 1.0
    share = gap.open_share
    if omega / 2 / np.pi > SPEED / (2 * spacing * share) or share >= 1:
        return 1.0
    if gap.clear <= 0:
        return 0.0
    across = 1 / (share / (gap.clear + gap.bay) + (1 - share) / gap.clear)
    return across / (gap.clear + gap.bay * share)


def _answers(
    gap: Gap, omega: NDArray, masses: tuple[float, float], cosines: NDArray, spacing: float,
    hangers: NDArray | complex = 0j,
) -> tuple[NDArray, NDArray]:  # fmt: skip
    """|v2/v1|^2 and |p_blocked/v1|^2 (F, N) at omega (F,) for N angles; masses above and below.

    v1 is the motion the leaf above would have without the air; as a limp mass it yields to it.
    hangers (F,) [N/m3] : springs beside the air, which act with it as far as a wave of sound moves
    all alike. Below the resonance of both the face below then follows the one above, as it must;
    what hangers feed into its free waves at their points is counted apart.
    """
    mass_above, mass_below = masses
    open_ = np.array([sideways_share(gap, float(one), spacing) for one in omega])[:, None, None]
    hangers = np.broadcast_to(np.asarray(hangers, complex), omega.shape)[:, None, None]
    omega = omega[:, None, None]
    turn = np.cos(TURNS) ** 2 + open_ * np.sin(TURNS) ** 2
    side = omega / SPEED * np.sqrt(1 - cosines[:, None] ** 2) * np.sqrt(turn)  # (F, N, TURNS)
    share = gap.open_share if gap.closed else 1.0  # of the plan on which closed bays press
    matrix = reduce(cavity.chain, [
        cavity.layer(depth, wavenumber, share * unit, side)
        for depth, wavenumber, unit in cavity.fluids(gap, omega, share)
    ])  # fmt: skip
    load = 1j * omega * mass_below + DENSITY * SPEED / cosines[:, None]
    inertia = 1j * omega * mass_above
    air = matrix[0, 0] / matrix[1, 0], 1 / matrix[1, 0], matrix[1, 1] / matrix[1, 0]
    passed = _passed(air, hangers / (1j * omega), inertia, load)
    blocked = np.abs(inertia / (inertia * matrix[1, 0] + matrix[0, 0])) ** 2
    return passed.mean(axis=-1), blocked.mean(axis=-1)


def _passed(
    between: tuple[Any, Any, Any], spring: NDArray, inertia: NDArray, load: NDArray
) -> NDArray:
    """|v2/v1|^2 through an impedance `between` two faces (upper, across, lower) [Pa s/m] with a
    spring beside it, under a limp mass `inertia` above a `load`."""
    upper, across, lower = (each + spring for each in between)
    return np.asarray(
        np.abs(inertia * across / ((inertia + upper) * (load + lower) - across**2)) ** 2
    )


def passage(
    gap: Gap, frequencies: NDArray, mass_above: float, mass_below: float, spacing: float = 0.0,
    hangers: NDArray | complex = 0j, waves: Waves | None = None, below: Waves | None = None,
) -> Passage:  # fmt: skip
    """How much goes through the air of `gap`; averages over five places in each third octave.

    mass_above, mass_below [kg/m2] : of the leaves. spacing [m] : of the joists that cut the air up.
    hangers [N/m3] : that hang the leaf below from the face above, over the area, (n,) or alike in
    all bands. waves : of a slab
    above; below : of boards that hang from it.
    The same cavity is computed once: variants of a design share it. Arrays (n,) over the centres.
    """
    centres = tuple(float(f) for f in frequencies)
    beside = tuple(np.broadcast_to(np.asarray(hangers, complex), len(centres)).tolist())
    return _passage(gap, centres, mass_above, mass_below, spacing, beside, waves, below)


@lru_cache(maxsize=4096)  # of slabs band by band
def _passage(
    gap: Gap, frequencies: tuple[float, ...], mass_above: float, mass_below: float, spacing: float,
    beside: tuple[complex, ...], waves: Waves | None, below: Waves | None,
) -> Passage:  # fmt: skip
    cosines = 1 - (1 - np.cos(LIMIT)) * (np.arange(STEPS) + 0.5) / STEPS
    per_power = np.sin(LIMIT) ** 2 / (2 * (1 - np.cos(LIMIT))) / (DENSITY * SPEED)
    share = cosines / cosines.sum()  # weights of velocity: uniform over the disk
    omega = 2 * np.pi * np.array(frequencies)[:, None] * 10 ** np.array(INSIDE)
    masses, hangers = (mass_above, mass_below), np.repeat(beside, omega.shape[1])
    ratio, pressure = _answers(gap, omega.ravel(), masses, cosines, spacing, hangers)
    forced, blocked = ratio.mean(axis=-1), pressure @ share * per_power
    load = 1j * omega.ravel()[:, None] * mass_below + DENSITY * SPEED / cosines
    pressed = (ratio * np.abs(load) ** 2) @ share * per_power
    found = [forced, blocked, pressed, np.zeros_like(forced)]
    if waves is not None:
        slab = below_slab(gap, omega.ravel() / 2 / np.pi, mass_below, waves, hangers)
        found = [slab.forced, blocked, slab.pressed, slab.taken, slab.kept]
    forced, blocked, pressed, taken, *kept = (
        each.reshape(omega.shape).mean(axis=-1) for each in found
    )
    taken_up = None
    if waves is not None and below is not None:
        inside = 10 ** np.array(INSIDE if gap.fill == 0 else (0.0,))  # what is filled rings broadly
        each = [[accepted(gap, f * place, waves, below) for place in inside] for f in frequencies]
        taken_up = kept[0] * np.mean(each, axis=1)
    return Passage(forced, blocked, pressed, taken, taken_up)


def fed_to_bending(frequencies: NDArray, bending: float, mass: float) -> NDArray:
    """Power into free bending waves per mean-square diffuse pressure times area and radiation
    factor [W/(Pa2 m2)].

    pi c^2 / (2 omega^2 sqrt(B m'')): from omega eta_21 n_2 = omega eta_12 n_1 with the modal
    densities of air and plate (Lyon/DeJong 1995 ch. 10). A blocked pressure has twice the mean
    square of the diffuse field. Arrays (n,) over the frequencies.
    """
    omega = 2 * np.pi * np.asarray(frequencies, float)
    return np.pi * SPEED**2 / (2 * omega**2 * np.sqrt(bending * mass))

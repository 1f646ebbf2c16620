"""Walls below: motion handed over at junctions, and what they radiate (ISO 12354-2:2017 style).

Never hidden: each wall is a path of its own, beside the ceiling. Values marked from memory: check
the standard.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.axes import wall_lengths
from impact.design.parts import Design, Flank
from impact.design.walls import STUD, default_walls
from impact.energy import mobility, radiating
from impact.energy.upper import Upper
from impact.leaf import loss

HEAVY = 100.0  # kg/m2: from here a wall counts as homogeneous masonry; common practice, no source
MASONRY = (1800.0, 2300.0)  # kg/m3, m/s: c_L; Hopkins 2007 class of masonry, from memory
BOARD_CRITICAL = 2800.0  # Hz, 12.5 mm gypsum board: h fc = 35 m Hz (Hopkins 2007 Table A2)
BOARD_SIDE = 0.6  # m, stud spacing of light walls; common practice, no source
LIGHT_LOSS = 0.03  # loss factor of boards in place; common practice, no source
MASONRY_LOSS = 0.01  # internal; ISO 12354-1 Annex C, from memory
LAYER_F1 = 125.0  # Hz: flexible interlayer of E/t = 100 MN/m3; ISO 12354-1 Annex E, from memory
LIGHT_FK = 500.0  # Hz; ISO 12354-1 Annex E, lightweight junctions, from memory
WALL = Flank("wall", STUD, 10.0, 4.0, "T", None)  # stud wall with boards, for touching edges


def vibration_reduction(
    junction: str, floor_mass: float, wall_mass: float, frequencies: NDArray
) -> NDArray:
    """K_ij floor to wall below [dB], (n,); ISO 12354-1:2017 Annex E, from memory.

    M = lg(m_wall/m_floor). Homogeneous: "T" 5.7 + 5.7 M^2, "X" 8.7 + 5.7 M^2, "resilient" T + 10
    lg(f/f1) above f1. One of the two light (below 100 kg/m2): 10 + 10 |M| + 3.3 lg(f/500), the row
    for light double leaves at homogeneous elements. Both light: 15 + 3.3 lg(f/500), "X" 18 + 3.3
    lg(f/500), the rows round the corner of timber panels, used for stud walls at joist floors as
    well for want of better ones. Raises ValueError for another junction.
    """
    f = np.asarray(frequencies, float)
    ratio = np.log10(wall_mass / floor_mass)
    if junction not in ("T", "X", "resilient"):
        raise ValueError(f'junction {junction!r}: one of "T", "X", "resilient" is allowed')
    if max(floor_mass, wall_mass) < HEAVY:
        value = (18.0 if junction == "X" else 15.0) + 3.3 * np.log10(f / LIGHT_FK)
    elif min(floor_mass, wall_mass) < HEAVY:
        value = 10 + 10 * abs(ratio) + 3.3 * np.log10(f / LIGHT_FK)
    else:
        value = (8.7 if junction == "X" else 5.7) + 5.7 * ratio**2 + 0 * f
    if junction == "resilient":
        value = value + np.maximum(0.0, 10 * np.log10(f / LAYER_F1))
    return np.asarray(value)


def absorption_length(
    area: float, mass: float, frequencies: NDArray, total_loss: NDArray
) -> NDArray:
    """Equivalent absorption length a [m]; ISO 12354-1:2017 eq. 22 (from memory).

    Heavy: a = 2.2 pi^2 S/(c Ts) sqrt(f_ref/f); light (below 100 kg/m2): a = S / 1 m.
    frequency (n,) [Hz] gives (n,).
    """
    f = np.asarray(frequencies, float)
    if mass < HEAVY:
        return np.full(f.shape, area)
    ts = loss.reverberation_time(f, total_loss)
    return np.asarray(2.2 * np.pi**2 * area / (loss.SPEED * ts) * np.sqrt(loss.REFERENCE / f))


def wall_critical(mass: float) -> float:
    """Critical frequency of a wall [Hz]: masonry by its thickness m'/rho, else gypsum board."""
    if mass < HEAVY:
        return BOARD_CRITICAL
    return loss.SPEED**2 / (1.8 * MASONRY[1] * mass / MASONRY[0])


def wall_mobility(flank: Flank) -> float:
    """Point mobility of a wall [m/(N s)], from mass and critical frequency."""
    fc, mass = wall_critical(flank.mass_per_area), flank.mass_per_area
    bending = mass * (air.SPEED**2 / (2 * np.pi * fc)) ** 2
    return float(mobility.plate(bending, mass))


def _wall_loss(flank: Flank, frequencies: NDArray) -> NDArray:
    if flank.mass_per_area < HEAVY:
        return np.full(np.shape(frequencies), LIGHT_LOSS)
    return loss.laboratory(frequencies, MASONRY_LOSS, flank.mass_per_area)


def wall_motion(flank: Flank, up: Upper) -> dict[str, NDArray]:
    """Mean-square velocity of the wall per that of deck (or slab) and joists, (n,) each.

    D_v = K_ij - 10 lg(l/sqrt(a_i a_j)), ISO 12354-1:2017 eq. 21; the floor's motion is the mean
    over its plan. The user's K_ij replaces the default. Pure ratios.
    """
    f = up.omega / 2 / np.pi
    mass = up.bay.mass
    if up.beams is not None:
        mass += float(np.mean(up.beams.line_mass - up.bay.mass * up.beams.strip)) / up.beams.spacing
    if flank.vibration_reduction is not None:
        k_ij = np.full(f.shape, flank.vibration_reduction)
    else:
        k_ij = vibration_reduction(flank.junction, mass, flank.mass_per_area, f)
    floor = absorption_length(up.bay.area, mass, f, up.bay.loss)
    wall = absorption_length(flank.area, flank.mass_per_area, f, _wall_loss(flank, f))
    reduction = k_ij - 10 * np.log10(flank.length / np.sqrt(floor * wall))
    ratio = 10 ** (-np.maximum(reduction, 0.0) / 10)
    motion = {up.bay.name: ratio * (1 - up.strip_share)}
    if up.beams is not None:
        motion["joists"] = ratio * up.strip_share
    return motion


def power(flank: Flank, up: Upper, velocity: dict[str, NDArray]) -> NDArray:
    """Power a wall radiates into the room below per mean-square force on the floor [W/N2], (n,)."""
    f = up.omega / 2 / np.pi
    moved = sum(share * velocity[name] for name, share in wall_motion(flank, up).items())
    height = flank.area / flank.length
    fc = wall_critical(flank.mass_per_area)
    if flank.mass_per_area < HEAVY:
        short, long = sorted((BOARD_SIDE, height))
        sigma = radiating.free_waves(f, fc, short, long)
    else:
        sigma = radiating.homogeneous(f, fc, flank.length, height)
    return np.asarray(air.IMPEDANCE * flank.area * sigma * moved)


def walls(design: Design) -> tuple[Flank, ...]:
    """The walls a design describes, else the usual ones round its room (`design.walls`)."""
    return design.flanks or default_walls(design.room, design.floor)


def default_wall(design: Design) -> Flank:
    """Wall that a ceiling's edge meets: the user's first one, else a light stud wall."""
    return design.flanks[0] if design.flanks else WALL


def edge_line(design: Design) -> tuple[complex, float]:
    """Stiffness per length [N/m2] and length [m] of the perimeter where the ceiling meets walls.

    Sealed: shear of the bead, G depth/gap, complex with its loss, all round; counted only when the
    design describes a wall, since nothing else says how the wall moves. Touching: the stiffness
    given, along the walls named (all when none is named), at a light stud wall unless the design
    describes one: a fault must show. Free: nothing.
    """
    edge, sides = design.ceiling.perimeter, wall_lengths(design.room)
    if edge.kind == "touching":
        names = edge.touching_walls or tuple(sides)
        return complex(edge.touching_stiffness), sum(sides[n] for n in names)
    if edge.kind == "sealed" and edge.gap > 0 and design.flanks:
        stiff = edge.bead_modulus * edge.bead_depth / edge.gap
        return stiff * (1 + 1j * edge.bead_loss_factor), sum(sides.values())
    return 0j, 0.0

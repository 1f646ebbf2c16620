"""Sound of the cavity through an open gap round the ceiling.

Per metre of wall the cavity's pressure p at the wall, were the gap closed, drives the flow

    U = p / ((Z1 + Z2) cos kt + i sin kt (Zw + Z1 Z2/Zw))

out of a tube as deep as the boards, t, of width w: Zw = rho c sqrt(v)/w and k = sqrt(v) omega/c, v
its friction (`impact.link.slot`), thickness resonances with it; Z1, Z2 what lies before its ends,

    Z2 = rho omega (1 + i L),   Z1 = sqrt(K rho)/d + i omega rho' L'

in the room, where a strip in the corner of wall and ceiling sounds as with its image, and in the
cavity: its waves run off along a layer of depth d (`impact.link.cavity`), in half the space where
it is deeper than a third of a wave; L and L' as in `impact.link.slot`. Of that rho omega |U|² is
heard (M. C. Gomperts, T. Kihlman, Acustica 18 (1967) 144-150, as in Hopkins, Sound Insulation
(2007), ch. 4, from memory, for a gap between two rooms, which this is when the cavity is deep).

p² at a wall is twice that over the plan, as half waves end there. Where a fill lets no sound along,
it is what the leaf above presses together on the spot, and that leaf stands still at a supported
edge: with p - p''/q² = P sin kx, q² = -omega² (d/K)/(d/rho) and a hard wall at x = 0 it is |k/q|²
times that (derived here; k² is half that of the leaf's waves, which come from all directions),
beside what sound keeps of its energy across the room, exp(-2 B Re q), and never more than twice
that over the plan. That comes from `bay_pressure`, or, where bays are not
solved, from `through_air.Passage.pressed`. Sound that runs to and fro in the cavity has what it
loses to the gap less, beside what the air (or fill) itself takes: energies in balance, as in
`gap_waves`. The ceiling's own sound is as without the gap and comes in no phase with it. For gaps
narrower than a third of a wave.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Design
from impact.energy.radiating import INSIDE
from impact.link import cavity, slot
from impact.link.cavity import Gap
from impact.link.gaps import free_share, lowest_gap, open_length

AT_WALL = 2.0  # mean-square pressure at a wall over that over the plan: half waves end there


def through_gap(design: Design, frequencies: NDArray, pressed: NDArray, wave: NDArray) -> NDArray:
    """Power through the gap per mean-square force on the floor [W/N2] (n,).

    frequencies (n,) [Hz]; pressed : mean-square pressure on the ceiling times its area per
    mean-square force, were the gap closed [Pa2 m2/N2] (n,); wave : of the leaf above [1/m] (n,).
    Along the walls where that is free its edge moves as it does elsewhere, and nothing stands
    still.
    """
    room, edge = design.room, design.ceiling.perimeter
    length, free = open_length(design), free_share(design)
    omega = 2 * np.pi * np.asarray(frequencies)[:, None] * 10 ** np.array(INSIDE)
    gap = lowest_gap(design)
    square = np.abs(flow(gap, edge.gap, design.ceiling.thickness, omega)) ** 2
    spring, along, _ = cavity.per_area(gap, omega)
    dies = np.sqrt(-(omega**2) * spring / along)  # q
    crossed = np.exp(-2 * min(room.length, room.width) * dies.real)
    held = np.minimum(1.0, wave[:, None] ** 2 / 2 / np.abs(dies) ** 2 + crossed)
    still = free + (1 - free) * held
    taken = AT_WALL * still * air.DENSITY * omega * square * length / (room.length * room.width)
    lost = -omega * np.imag(spring - along / air.SPEED**2)  # of waves as long as those of sound
    return np.asarray(np.mean(taken / (1 + taken / lost), axis=-1) * pressed)


def flow(gap: Gap, width: float, depth: float, omega: NDArray) -> NDArray:
    """U/p of the heading [m3/(N s)], shape of `omega` [rad/s]; width w and depth t [m]."""
    friction = slot.friction(width, omega)
    turn = np.sqrt(friction) * omega / air.SPEED * depth
    line = air.IMPEDANCE * np.sqrt(friction) / width
    inertia = slot.end(width, omega / air.SPEED)
    out = air.DENSITY * omega * (1 + 1j * inertia)
    density, near = slot.medium(gap, omega)
    spring, along, _ = cavity.per_area(gap, omega)
    aside = 1 / np.sqrt(spring * along) + 0j
    aside = np.where(omega / air.SPEED * near > np.pi, density * omega, aside)
    wave = np.hypot(omega / air.SPEED, slot.longest(near))
    inside = aside + 1j * omega * density * slot.end(width, wave)
    return np.asarray(
        1 / ((inside + out) * np.cos(turn) + 1j * np.sin(turn) * (line + inside * out / line))
    )

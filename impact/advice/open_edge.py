"""A ceiling whose edge is left open: what the gap lets through, which no prediction here holds.

The gap is a tube as deep as the boards between two rooms. At a wall a strip of width w and its
mirror image act as one of 2 w, so that each end has, k the wavenumber,

    Zr = rho c (k w + i 2 k w e),   e = (ln(4/(k w)) - 0.577)/pi,

the radiation of a strip in a baffle (end correction of M. C. Gomperts and T. Kihlman, Acustica 18
(1967) 144-150, as in Hopkins, Sound Insulation (2007), ch. 4, from memory, check the source). The
velocity out of a tube of depth t with p at its mouth is p/(2 Zr cos kt + i sin kt (rho c + Zr²/(rho
c))). In an edge p² is four times that of the diffuse field, whose power on a unit of area is
p²/(4 rho c): of it Re Zr |v|² goes through,

    tau = 16 rho c Re Zr / |2 Zr cos kt + i sin kt (rho c + Zr²/(rho c))|² ,

more than all, since a narrow gap draws sound in. Friction in the gap and the ceiling's own motion
are left out: an estimate, for w from some 2 mm up and k w below 1.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from impact.advice.findings import Warning
from impact.base import air
from impact.base.levels import decibel
from impact.base.units import show
from impact.design.parts import Design
from impact.link import cavity
from impact.link.gaps import lowest_gap

TOLD = (100.0, 500.0, 2000.0)  # Hz


def end_correction(frequencies: Any, width: float) -> Any:
    """What the air before each end of the gap adds to its depth, 2 w e [m]; width w [m], Hz."""
    wave = 2 * np.pi * np.asarray(frequencies, float) / air.SPEED * width
    return 2 * width * (np.log(4 / wave) - np.euler_gamma) / np.pi


def transmitted(frequencies: Any, width: float, depth: float) -> Any:
    """Power through the gap over the power of a diffuse field on its area, tau of the module [-].

    frequencies [Hz], any shape; width of the gap and depth of the boards [m].
    """
    k = 2 * np.pi * np.asarray(frequencies, float) / air.SPEED
    end = k * width + 1j * k * end_correction(frequencies, width)
    through = 2 * end * np.cos(k * depth) + 1j * np.sin(k * depth) * (1 + end**2)
    return 16 * end.real / np.abs(through) ** 2


def open_share(design: Design) -> float:
    """Area of the open gap over that of the plan [-]: along all walls, or those that the ceiling
    does not touch; 0 for a sealed one."""
    edge, room = design.ceiling.perimeter, design.room
    if edge.kind == "sealed":
        return 0.0
    sides = {"west": room.width, "east": room.width, "south": room.length, "north": room.length}
    touched = edge.touching_walls if edge.kind == "touching" else ()
    free = sum(side for wall, side in sides.items() if wall not in touched)
    return edge.gap * free / (room.length * room.width)


def vented_below(design: Design) -> float:
    """Frequency [Hz] below which the cavity breathes through the gap and is no spring any more.

    (1/2 pi) sqrt(s a/(rho (t + 2 ends))), s the air's spring per area of the plan, a `open_share`
    (Helmholtz; any textbook of acoustics); ends as at 40 Hz, which matter little.
    """
    edge = design.ceiling.perimeter
    column = design.ceiling.thickness + 2 * float(end_correction(40.0, edge.gap))
    spring = cavity.static_stiffness(lowest_gap(design))
    return float(np.sqrt(spring * open_share(design) / (air.DENSITY * column)) / (2 * np.pi))


def warnings(design: Design) -> list[Warning]:
    """The warning `open_edge` with its estimates [Hz, dB]; none where the edge is closed."""
    share, edge = open_share(design), design.ceiling.perimeter
    if share <= 0:
        return []
    loss = -decibel(share * transmitted(np.array(TOLD), edge.gap, design.ceiling.thickness))
    through = ", ".join(
        f"{max(one, 0.0):.0f} dB at {at:g} Hz" for one, at in zip(loss, TOLD, strict=True)
    )
    return [Warning(
        "open_edge", "high",
        f"The edge is an open gap of {show(edge.gap, 'length', design.units)}, and the prediction"
        " takes the cavity as closed there. By estimate its air breathes through the gap below"
        f" {vented_below(design):.0f} Hz and is no spring there, and the gap alone hands on the"
        f" sound that falls on the ceiling from above, less {through}. Where the ceiling is to"
        " take off more, the room will be louder than predicted: close the gap with a bead of soft"
        " sealant.",
    )]  # fmt: skip

"""A ceiling whose edge is left open: what of its sound comes through the gap.

The prediction holds the gap: its air moves with the modes (`impact.link.slot`) and passes the sound
of the cavity (`impact.energy.open_gap`). Here it is told in numbers, with what is not held.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impact.advice.findings import Warning
from impact.base import air, bands
from impact.base.units import show
from impact.design.parts import Design
from impact.link import cavity, slot
from impact.link.gaps import lowest_gap, open_length, open_walls

TOLD = (500.0, 2000.0)  # Hz


def vented_below(design: Design) -> float:
    """Frequency [Hz] below which the cavity breathes through the gap and is no spring any more; NaN
    where a fill lies on the boards, which chokes the gap.

    (1/2 pi) sqrt(s P/(rho L S)), s the air's spring per area, P the open length, S the plan, L as
    in `impact.link.slot` at 40 Hz, which matters little (Helmholtz; any textbook of acoustics).
    """
    room, edge, gap = design.room, design.ceiling.perimeter, lowest_gap(design)
    if slot.medium(gap, 1.0)[0] != air.DENSITY:
        return float("nan")
    wave = np.hypot(2 * np.pi * 40.0 / air.SPEED, slot.longest(min(room.length, room.width)))
    inertance = slot.inertance(edge.gap, design.ceiling.thickness, wave, slot.medium(gap, 1.0)[1])
    opened = open_length(design) / (room.length * room.width)
    spring = cavity.static_stiffness(gap)
    return float(np.sqrt(spring * opened / (air.DENSITY * inertance)) / (2 * np.pi))


def warnings(design: Design, paths: dict[str, NDArray]) -> list[Warning]:
    """The warning `open_edge` with what the gap does [Hz, %]; none where the edge is closed.

    paths : of the prediction's energies, path -> power per mean-square force (28,) [W/N2].
    """
    edge = design.ceiling.perimeter
    if not open_walls(design):
        return []
    whole = np.sum(list(paths.values()), axis=0)
    shares = ", ".join(
        f"{100 * float(paths['gap'][place] / whole[place]):.0f} % at {at:g} Hz"
        for at, place in ((at, bands.index(at)) for at in TOLD)
    )
    below = vented_below(design)
    breathes = (
        "a fill that lies on the boards chokes it at low frequency" if np.isnan(below)
        else f"below {below:.0f} Hz the cavity breathes through it and its air is no spring"
    )  # fmt: skip
    return [Warning(
        "open_edge", "high",
        f"The edge is an open gap of {show(edge.gap, 'length', design.units)}: {breathes}, and of"
        f" the sound below the ceiling {shares} come through it. Both are in the levels, for a"
        " straight gap as deep as the boards; trim over it, lint in it or a gap that varies are"
        " not. Close it with a bead of soft sealant, and predict that too (kind = \"sealed\").",
    )]  # fmt: skip

"""A ceiling on joists of its own at rest: its heaviest joist as a beam from wall to wall."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from impact.base.air import GRAVITY
from impact.design.carried import of_steel
from impact.design.lines import own_joist_lines, own_joist_spacing
from impact.design.parts import Design

# Long-term over short-term deflection, 1 + k_def, of solid and glued timber in a heated building:
# EN 1995-1-1:2004 Table 3.2, service class 1, from memory. Steel does not creep.
CREEP_OF_STEEL, CREEP_OF_TIMBER = 1.0, 1.6


@dataclass(frozen=True)
class OwnJoists:
    """The joists of a ceiling of its own.

    count : of joists. span, spacing : m. line_load : N/m on one, itself included. deflection : m,
    short term. creep : factor of it in the long term. ratio : span over deflection, short term.
    moment : N m in the middle. reaction : N at each end.
    """

    count: int
    span: float
    spacing: float
    line_load: float
    deflection: float
    creep: float
    ratio: float
    moment: float
    reaction: float


def own_joists(design: Design) -> OwnJoists | None:
    """What each joist carries and how far it bends; None for a ceiling that hangs.

    Simple beam under w = g (m'' b + m'), m'' what hangs per area, b the spacing, m' the joist's own
    mass: 5 w L^4/(384 EI) + w L²/(8 GA), w L²/8, w L/2 (any table of beams). Fixity at the ends is
    left out, on the safe side. The widest lane counts, from halfway to the next joist on either
    side or from the wall. Bulkheads and fixtures are left out.
    """
    if design.independent is None:
        return None
    joists = design.independent.joists
    lines = own_joist_lines(design)
    bounds = [0.0, *((a + b) / 2 for a, b in itertools.pairwise(lines)), design.room.width]
    lane = max(high - low for low, high in itertools.pairwise(bounds))
    load = GRAVITY * (design.hung_per_area * lane + joists.mass_per_length)
    span = joists.span
    sunk = 5 * load * span**4 / 384 / joists.bending_stiffness
    if math.isfinite(joists.shear_stiffness):
        sunk += load * span**2 / 8 / joists.shear_stiffness
    return OwnJoists(
        len(lines), span, own_joist_spacing(design), load, sunk,
        CREEP_OF_STEEL if of_steel(joists) else CREEP_OF_TIMBER, span / sunk,
        load * span**2 / 8, load * span / 2,
    )  # fmt: skip

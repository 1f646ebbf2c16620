"""What a drawing or a table of loads must say, however good its numbers are.

Common practice, no source, unless a line names one. Nothing here replaces the code that is in
force where the ceiling is built.
"""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "Overhead load: have a licensed engineer check hangers, fasteners and joists.",
    "Local code, fire rating, seismic bracing and ceiling height are not checked here.",
)
"""Short lines for the foot of tables and drawings."""

CAUTIONS_SHEET: tuple[str, ...] = (
    "Overhead load: a licensed engineer must check hangers, fasteners and joists.",
    "Local code comes first; fire-rated assemblies only as listed.",
    "Seismic bracing, egress and ceiling height: check them before building.",
    "Old ceilings may hold asbestos or lead: have them tested before touching them.",
    "Recessed lights and penetrations: each hole is a leak and may break the fire rating.",
)
"""One line each for what is on every drawing."""

CAUTIONS_LONG: tuple[str, ...] = (
    "Overhead load. A ceiling that falls can kill. Loads are computed for the ceiling as drawn and"
    " at rest; one more layer, a wet board or a lamp changes them.",
    "Engineer. A licensed engineer must check the hangers, their fasteners into the joists, the"
    " joists under the added dead load, and anything hung from the ceiling.",
    "Local code. The authority having jurisdiction decides; permits and inspections come first.",
    "Fire. A fire-rated assembly is valid only as listed or tested, with every part as listed;"
    " a change of board, spacing, hanger or fill needs a listing or approval of its own.",
    "Seismic. A ceiling hung free of the walls may need bracing or restraint; ask the engineer"
    " where earthquakes are to be expected.",
    "Egress and height. Check finished height in every room, below bulkheads and on stairs, and"
    " the ways out, against the local code before building.",
    "Old ceilings and finishes may hold asbestos or lead. Have them tested before touching them.",
    "Recessed lights and penetrations. Each hole is a leak and may break the fire rating: use"
    " surface lights or listed covers, flexible wiring, sleeved pipes that do not touch the"
    " boards, and hang ducts from the structure, never from the ceiling.",
)
"""Full cautions for sheets that are built from."""

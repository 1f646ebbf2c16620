"""The air of a design: what lies above its old ceiling and above its new one.

Modes and energy balance both take their cavities from here. Depths and shares follow from the
design's own dimensions: plain geometry, no source needed.
"""

from __future__ import annotations

from impact.design.parts import Design, Fill, Joists
from impact.link.cavity import Gap


def open_share(joists: Joists | None) -> float:
    """Share of the plan [-] that joists leave to the air, by the volume they displace; else 1."""
    if joists is None:
        return 1.0
    return max(0.0, 1 - joists.volume_per_length / (joists.depth * joists.spacing))


def lowest_gap(design: Design) -> Gap:
    """The cavity above the new ceiling: below an old one if it stays, else with the joist bays."""
    cavity = design.cavity
    if design.old_ceiling is not None:
        return _gap(cavity.clear_depth, None, cavity.fill)
    return _gap(cavity.clear_depth, design.floor.joists, cavity.fill)


def old_gap(design: Design) -> Gap:
    """The bays above an old ceiling, whose boards lie straight on the joists.

    Raises ValueError where there is none.
    """
    if design.old_ceiling is None:
        raise ValueError("the design has no old ceiling")
    return _gap(0.0, design.floor.joists, design.old_ceiling.fill)


def _gap(clear: float, joists: Joists | None, fill: Fill | None) -> Gap:
    thickness, resistivity = (fill.thickness, fill.flow_resistivity) if fill else (0.0, 0.0)
    depth, blocks = (joists.depth, joists.kind != "open-web") if joists else (0.0, False)
    return Gap(clear, depth, open_share(joists), blocks, thickness, resistivity)

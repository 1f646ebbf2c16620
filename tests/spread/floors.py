"""Designs of `designs` with invented ranges, for tests of the spread."""

from __future__ import annotations

from dataclasses import replace

import designs

from impact.design.origin import Spread
from impact.design.parts import Design

# path, low, high: plausible ends, invented; the values themselves stand in tests/designs.py
RANGES = (
    ("floor.joists.youngs_modulus", 8e9, 12e9), ("floor.joists.density", 400.0, 520.0),
    ("floor.joists.slip_modulus_per_length", 2.5e6, 2.5e7), ("floor.joists.edge_fixity", 0.0, 0.2),
    ("materials.plywood.youngs_modulus", 6.5e9, 1e10), ("materials.plywood.density", 480.0, 620.0),
    ("floor.loss_factor", 0.02, 0.06), ("hangers.dynamic_stiffness", 80e3, 180e3),
    ("hangers.loss_factor", 0.05, 0.2), ("ceiling.perimeter.bead_modulus", 0.2e6, 1.2e6),
    ("materials.gypsum board.density", 640.0, 740.0), ("ceiling.loss_factor", 0.015, 0.06),
    ("cavity.fill.flow_resistivity", 6e3, 25e3), ("tapping.rebound", 0.0, 0.4),
    ("room.reverberation_time", 0.3, 0.8),
)  # fmt: skip


def uncertain(base: Design | None = None) -> Design:
    """The plain basement of `designs`, its inputs with ranges."""
    base = designs.basement() if base is None else base
    return replace(base, spreads=tuple(Spread(*row, "invented") for row in RANGES))

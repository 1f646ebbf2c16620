"""What each input of `impact.spread.inputs` is in a design: one number by the input's key, SI.

Where an input moves several properties together, the number is one that moves as they do.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from impact.design.parts import Design, Layer
from impact.motion.assemble import floor_plates


def _bending(layers: Sequence[Layer]) -> float:
    return float(sum(x.material.youngs_modulus * x.thickness**3 for x in layers))


def _floor_mass(design: Design) -> float:
    return float(sum(floor.mass for floor in floor_plates(design))) + (
        design.floor.joists.mass_per_length / design.floor.joists.spacing
        if design.floor.joists else 0.0
    )  # fmt: skip


VALUES: dict[str, Callable[[Any], float]] = {
    "joist_stiffness": lambda d: d.floor.joists.bending_stiffness,
    "deck_fastening": lambda d: d.floor.joists.slip_modulus_per_length,
    "blocking": lambda d: d.floor.joists.blocking_stiffness,
    "slab_stiffness": lambda d: d.floor.slab.bending_stiffness_along,
    "edge_fixity": lambda d: (d.floor.joists or d.floor.slab).edge_fixity,
    "deck_stiffness": lambda d: _bending(d.floor.layers),
    "floor_mass": _floor_mass,
    "floor_damping": lambda d: d.floor.loss_factor,
    "infill_mass": lambda d: d.floor.infill.mass_per_area,
    "infill_damping": lambda d: d.floor.infill.loss_factor,
    "hanger_stiffness": lambda d: d.hangers.dynamic_stiffness,
    "hanger_damping": lambda d: d.hangers.loss_factor,
    "hanger_waves": lambda d: d.hangers.own_resonance,
    "edge_stiffness": lambda d: (
        d.ceiling.perimeter.bead_modulus + d.ceiling.perimeter.touching_stiffness
    ),
    "edge_damping": lambda d: d.ceiling.perimeter.bead_loss_factor,
    "fill": lambda d: d.cavity.fill.flow_resistivity,
    "ceiling_mass": lambda d: d.ceiling.mass_per_area,
    "ceiling_stiffness": lambda d: _bending(d.ceiling.layers),
    "ceiling_damping": lambda d: d.ceiling.loss_factor,
    "ceiling_joist_stiffness": lambda d: d.independent.joists.bending_stiffness,
    "ceiling_joist_mass": lambda d: d.independent.joists.mass_per_length,
    "ceiling_fastening": lambda d: d.independent.joists.slip_modulus_per_length,
    "ceiling_fixity": lambda d: d.independent.joists.edge_fixity,
    "old_fixings": lambda d: d.old_ceiling.fixing_stiffness,
    "mat_stiffness": lambda d: sum(x.mat.stiffness_per_area for x in d.floor.layers if x.mat),
    "rebound": lambda d: d.tapping.rebound,
    "dented": lambda d: d.tapping.dented,
    "walked_face": lambda d: d.floor.layers[-1].material.modulus_through,
    "covering": lambda d: d.floor.covering.contact_stiffness,
    "covering_damping": lambda d: d.floor.covering.loss_factor,
    "reverberation": lambda d: d.room.reverberation_time,
}

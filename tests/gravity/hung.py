"""Ceilings that the tests of loads share, and how they ask for loads."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np

from impact import gravity
from impact.design.parts import Design

INCH, POUND, PSF, G = 0.0254, 4.4482216, 47.880259, 9.80665


def forces(design: Design) -> np.ndarray:
    checked = gravity.loads(design, elastic_floor=False, coupled=False)
    return np.array([hanger.load for hanger in checked.hangers])


def board_load(design: Design) -> float:
    """N/m2 of the boards."""
    return G * sum(layer.mass_per_area for layer in design.ceiling.layers)


def grid_24_by_48() -> Design:
    """Six by four hangers at 24 x 48 in, 6 in from all walls, 4.7 psf, nothing else that weighs."""
    base = designs.on_slab()
    points = tuple(((6 + 24 * i) * INCH, (6 + 48 * j) * INCH) for i in range(6) for j in range(4))
    kind = base.hangers
    assert kind is not None
    assert kind.channel is not None
    hangers = replace(kind, positions=points, mass=0.0,
                      channel=replace(kind.channel, mass_per_length=0.0))  # fmt: skip
    room = replace(base.room, length=132 * INCH, width=156 * INCH)
    layer = base.ceiling.layers[0]
    density = 4.7 * PSF / G / (2 * layer.thickness)
    layer = replace(layer, material=replace(layer.material, density=density))
    floor = replace(base.floor, length=room.length, width=room.width)
    ceiling = replace(base.ceiling, layers=(layer, layer))
    return replace(base, hangers=hangers, room=room, floor=floor, ceiling=ceiling)

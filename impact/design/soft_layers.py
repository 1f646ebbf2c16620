"""A soft board between the boards of a floor, such as soft fibreboard below plywood.

Pressed through its thickness it is a spring s'' = E/d under what lies on it, which from
f = sqrt(s''/m'')/2 pi on no longer follows what lies below: a mass on a spring, as f0 of ISO
12354-2:2017 eq. C.2. Nailed or laid it is taken as a layer like others, all of which move as one;
of its softness only the contact under a hammer knows. As a mat it would be predicted, with its
resonance in one band or the next: how soft such boards are is known within a factor of three in
frequency, so whoever describes it decides, and is told.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from impact.base import bands
from impact.design.parts import Covering, Layer
from impact.design.walked import FIRMER, through


def soft(layers: Sequence[Layer], covering: Covering | None) -> list[tuple[int, float, float]]:
    """Soft layers between others: place, s'' [N/m3] and f [Hz] of what lies on it, where that is
    among the bands predicted.

    layers : lowest first; those that float part what lies on a layer from the rest. A layer glued
    on both faces is left out: its shear still makes its neighbours bend as one.
    """
    found = []
    for i in range(1, len(layers) - 1):
        below, layer, above = layers[i - 1 : i + 2]
        if above.bond == "floating" or "glued" == layer.bond == above.bond:
            continue
        stiff = min(through(below.material), through(above.material))
        if stiff < FIRMER * through(layer.material):
            continue
        rest = next((k for k in range(i + 1, len(layers)) if layers[k].bond == "floating"), None)
        mass = sum(each.mass_per_area for each in layers[i + 1 : rest])
        if rest is None and covering is not None:
            mass += covering.mass_per_area
        spring = through(layer.material) / layer.thickness
        frequency = math.sqrt(spring / mass) / (2 * math.pi)
        if frequency < bands.edges(bands.CENTRES[-1])[1]:
            found.append((i, spring, frequency))
    return found

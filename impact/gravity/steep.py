"""Hangers that stand where their own curve is stiffer than the sound is predicted with."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from impact.base.units import show
from impact.design.fixings import said_of
from impact.gravity import rest
from impact.gravity.parts import Finding

if TYPE_CHECKING:
    from impact.gravity.loads import Loads

STEEPER = 1.5  # times the static stiffness: 1.5 dB or so in bands that hangers rule; our own


def find(loads: Loads) -> tuple[Finding, ...]:
    """Findings where the slope of `load_deflection` under the load exceeds STEEPER times the static
    stiffness, or the load lies beyond the last pair; none without a curve."""
    hangers, units = loads.design.hangers, loads.design.units
    if hangers is None or not hangers.load_deflection or not loads.hangers:
        return ()
    curve = rest.curve(hangers)
    force = np.array([hanger.load for hanger in loads.hangers])
    times = 1 / curve.slope[curve.piece(force)] / hangers.static_stiffness
    found = []
    if (times > STEEPER).any():
        text = (
            f"{int((times > STEEPER).sum())} of {len(force)} hangers stand where their"
            f" load_deflection is up to {times.max():.2g} times as stiff as the"
            f" {show(hangers.static_stiffness, 'stiffness', units)} that the sound is predicted"
            " from: they bottom or harden, and pass more than is predicted. Hang less on each, or"
            " give hangers.static_stiffness of this load."
        )
        found.append(Finding("hangers_harden", said_of(hangers, text)))
    last = hangers.load_deflection[-1][0]
    if (force > last).any():
        text = (
            f"Loads reach {show(float(force.max()), 'force', units)}, beyond the last pair of"
            f" hangers.load_deflection, {show(last, 'force', units)}: what they do there is not"
            " known."
        )
        found.append(Finding("beyond_the_curve", said_of(hangers, text)))
    return tuple(found)

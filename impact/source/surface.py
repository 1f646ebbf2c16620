"""The walked surface as a striking face feels it: how stiff it is right under the contact."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

from impact.design.parts import Design, Floor
from impact.design.walked import FIRMER, afloat, boards, wooden
from impact.source import layered, tapping

PLACES = 9  # of a covering's stiffness over its range


def modulus(floor: Floor, radius: float = 0.0) -> tuple[float, float]:
    """Young's modulus [Pa] and Poisson's ratio [-] of what is struck, covering left aside: the
    uppermost layer's, or under a face of `radius` [m] those of an endless solid that gives way as
    it does on what lies below it, `layered.modulus`.

    That reaches down to the slab, or to the first layer as thick as the face is wide, which stands
    for all below. Of boards with neither below them, on joists or a mat, the lowest stands for it,
    as a board alone does: that they bend besides, as a plate, the floor's mobility has. What they
    give without that and with their underside free is, of waves above 10 to 40 1/m, 0.6 to 1.3
    times as stiff for 18 mm of plywood alone, 2 to 7 times for a tile on chipboard (Hankel's
    transform as in `layered`, less 1/(D k^4)).

    Boards on one ten times softer bend on it with their stiffness in their plane, of which wood has
    ten times what it has through: what they give under the face, as if nothing softer were below,
    and what they bend and press the soft one, add up as springs in series do.
    """
    below = _from_the_top(floor)
    young, poisson, _ = below[0]
    if not radius:
        return young, poisson
    last = next((i for i, (_, _, thick) in enumerate(below) if thick >= 2 * radius), len(below) - 1)
    below = below[: last + 1]
    soft = next((i for i in range(1, len(below)) if FIRMER * below[i][0] <= below[i - 1][0]), 0)
    if not soft:
        return layered.modulus(below, radius), poisson
    bent = [*boards(floor, bent=True)[:soft], *below[soft:]]
    pressed, pressing = layered.modulus(below[:soft], radius), layered.modulus(bent, radius)
    return tapping.in_series(pressed, pressing), poisson


def _from_the_top(floor: Floor) -> list[layered.Solid]:
    """What lies on each other without a mat between, from the walked layer down."""
    found = boards(floor)
    slab = floor.slab
    if slab is not None and not afloat(floor):
        young = slab.surface_modulus
        if young is None:  # taken from its bending as a plain plate
            young = 12 * slab.bending_stiffness_along * (1 - slab.poisson**2) / slab.thickness**3
        found.append((young, slab.poisson, math.inf))
    return found


def covering(floor: Floor, radius: float) -> float:
    """Stiffness of the covering under a face of `radius` [m], N/m; inf without one."""
    if floor.covering is None:
        return math.inf
    return tapping.covering_stiffness(floor.covering.contact_stiffness, radius)


def stiffness(floor: Floor, radius: float = tapping.RADIUS) -> float:
    """Contact stiffness under a face of `radius` [m], covering and what it lies on in series [N/m].

    Hopkins, Sound Insulation (2007), ch. 3.6, as in `impact.source.tapping`.
    """
    hard = tapping.contact_stiffness(*modulus(floor, radius), radius)
    return tapping.in_series(covering(floor, radius), hard)


def under_hammer(design: Design) -> float:
    """Stiffness that a hammer of the tapping machine strikes [N/m]: as `stiffness`, on wood with
    that of `tapping.hammer_stiffness`, dented as `Tapping.dented` has it."""
    if not wooden(design.floor):
        return stiffness(design.floor)
    hard = tapping.hammer_stiffness(*modulus(design.floor, tapping.RADIUS), design.tapping.dented)
    return tapping.in_series(covering(design.floor, tapping.RADIUS), hard)


def covering_loss(design: Design) -> float:
    """Loss factor that the covering gives the stiffness under a hammer [-], 0 without one.

    Of springs in series each has energy by its flexibility, so eta K/K_covering of the covering's
    own eta, with K that of both (any text on damping).
    """
    cover = design.floor.covering
    if cover is None:
        return 0.0
    return cover.loss_factor * under_hammer(design) / covering(design.floor, tapping.RADIUS)


def floors_like(design: Design) -> tuple[Design, ...]:
    """The design with its covering's stiffness at PLACES places of equal chance over its range,
    log-normal about the value as it stands; the design itself where it is known."""
    cover = design.floor.covering
    if cover is None or cover.spread == 0:
        return (design,)
    chance = NormalDist(math.log(cover.contact_stiffness), cover.spread)
    places = [chance.inv_cdf((i + 0.5) / PLACES) for i in range(PLACES)]
    return tuple(with_covering(design, math.exp(place)) for place in places)


def with_covering(design: Design, stiffness_per_area: float) -> Design:
    """The design with a covering of just this contact stiffness [N/m3]."""
    cover = design.floor.covering
    assert cover is not None
    known = replace(cover, contact_stiffness=stiffness_per_area, spread=0.0)
    return replace(design, floor=replace(design.floor, covering=known))

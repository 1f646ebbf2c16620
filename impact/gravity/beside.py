"""Hangers that stand beside the joists: there is no wood to screw them into."""

from __future__ import annotations

from impact.base.units import show
from impact.design.fixings import said_of
from impact.design.lines import SAME
from impact.design.parts import Design
from impact.design.placing import Placement
from impact.gravity.parts import Finding

SHOWN = 6  # numbers told one by one


def off_joists(design: Design, placement: Placement) -> list[tuple[int, float | None]]:
    """Points (from 0) farther from a joist's centre line than half a joist's width, and how far
    [m]; None where no joist crosses the room. Empty under a slab."""
    if design.floor.joists is None:
        return []
    half, lines = design.floor.joists.width / 2, placement.joists
    found: list[tuple[int, float | None]] = []
    for i, ((_, y), nearest) in enumerate(
        zip(placement.points, placement.joist_of_point, strict=True)
    ):
        away = abs(y - lines[nearest]) if lines else None
        if away is None or away > half + SAME:
            found.append((i, away))
    return found


def find(design: Design, placement: Placement) -> tuple[Finding, ...]:
    """What a load check says of them; none where all stand on joists."""
    bad = off_joists(design, placement)
    if not bad:
        return ()
    numbers = ", ".join(str(i + 1) for i, _ in bad[:SHOWN])
    more = f" and {len(bad) - SHOWN} more" if len(bad) > SHOWN else ""
    most = max((away for _, away in bad if away is not None), default=None)
    far = "" if most is None else f", up to {show(most, 'length', design.units)} from one"
    joists = design.floor.joists
    known = joists is not None and joists.first is not None
    taken = (
        "Joists are taken from the first one given." if known
        else "Joists are taken as symmetric about the floor's middle (floor.joists.first_from_wall"
        " says where they stand)."
    )  # fmt: skip
    text = (
        f"{len(bad)} of {len(placement.points)} hangers are not on a joist{far}: {numbers}{more}."
        f" {taken} Find them on site: a hanger must"
        " hang from a joist or from blocking; loads and levels are of the places given."
    )
    return (Finding("off_joists", said_of(design.hangers, text)),)

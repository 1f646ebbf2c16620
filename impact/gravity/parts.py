"""What a load check consists of, as frozen data in SI units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from impact.base.units import INCH
from impact.design.lines import SAME
from impact.design.parts import Design, Patch

EQUAL = 1e-9  # loads of mirrored hangers differ by rounding alone, relative to the largest

WITHIN, ABOVE, BELOW, UNRATED = (
    "within", "above rated maximum", "below rated minimum", "no rated load",
)  # fmt: skip


@dataclass(frozen=True)
class Hanger:
    """One hanger or fixing at rest.

    x, y : room coordinates [m]. load : N, from the elastic stack. deflection : m, short term at
    20 C; deflection_long : with creep; deflection_cold : hung and loaded in the cold. by_boards :
    m, what of it comes once the channels hang and before fixtures do: what a ruler can show.
    tributary : N, load by tributary area, for comparison. spare_load : N, with the further layers
    of `Margin`. verdict : one of the words above. lost_load : N, the most that any other carries
    once this one is lost (NaN: the rest falls); lost_at : which (from 0); lost_sag : m.
    """

    x: float
    y: float
    load: float
    deflection: float
    deflection_long: float
    deflection_cold: float
    by_boards: float
    tributary: float
    spare_load: float
    verdict: str
    lost_load: float
    lost_at: int
    lost_sag: float


@dataclass(frozen=True)
class Line:
    """One channel line lost: x [m], the most that any hanger then carries [N], sag [m]."""

    x: float
    load: float
    at: int
    sag: float


@dataclass(frozen=True)
class Sag:
    """How the ceiling hangs [m], all below its place before loading, short term.

    most, least : over the flat boards. edge : most at the walls. slope : steepest at the walls [-].
    gap_left : of the perimeter gap, long term, after the edge has turned. boxes : most over each
    bulkhead of the room.
    """

    most: float
    least: float
    edge: float
    slope: float
    gap_left: float
    boxes: tuple[float, ...] = ()


@dataclass(frozen=True)
class Above:
    """What the ceiling does to the floor above it.

    added : kg/m2 over the room's plan, with a fill that the floor bears; fill : of it. line_load :
    N/m on one joist, None for a slab. deflection_formula : m, 5 w L^4/(384 EI) + w L²/(8 GA) of one
    joist alone. deflection : m, of the floor with its deck under the hangers' forces and the fill.
    fundamental : Hz, without and with the ceiling (coupled; NaN when not asked for).
    """

    added: float
    fill: float
    line_load: float | None
    deflection_formula: float | None
    deflection: float
    fundamental_before: float
    fundamental: float


@dataclass(frozen=True)
class Headroom:
    """Finished heights [m] in the long term: of the flat ceiling, and below named obstacles."""

    ceiling: float
    places: tuple[tuple[str, float], ...]
    minimum: float | None

    @property
    def lowest(self) -> float:
        """m."""
        return min([self.ceiling, *[height for _, height in self.places]])


@dataclass(frozen=True)
class Margin:
    """Reserve wanted: further layers like the last one, and the user's factor on loads."""

    layers: int
    factor: float


@dataclass(frozen=True)
class Finding:
    """One result in words; `code` for machines."""

    code: str
    message: str


def limits_of(design: Design) -> dict[str, Any]:
    """The user's [limits], as read."""
    limits = design.options.get("limits", {})
    return limits if isinstance(limits, dict) else {}


def deflection(value: float, units: str) -> str:
    """A deflection [m] as a ruler shows it: tenths of a millimetre or hundredths of an inch;
    thousandths below a tenth of an inch, where only a gauge does."""
    if units == "metric":
        return f"{1000 * value:z.1f} mm"
    inches = value / INCH
    return f"{inches:z.3f} in" if inches < 0.1 else f"{inches:z.2f} in"


def sunk(value: float, units: str) -> str:
    """How far [m] a floor sinks under more load, which is never nothing: as `deflection`, or "less
    than 0.1 mm" of a slab that sinks less than would be printed."""
    told = deflection(value, units)
    if float(told.split()[0]):
        return told
    return f"less than {'0.1 mm' if units == 'metric' else '0.001 in'}"


def boxed(design: Design, patch: Patch) -> bool:
    """Whether a bulkhead hides all of a duct or beam below the joists."""
    return any(
        box.x - SAME <= patch.x and patch.x + patch.length <= box.x + box.length + SAME
        and box.y - SAME <= patch.y and patch.y + patch.width <= box.y + box.width + SAME
        and patch.drop <= design.cavity.clear_depth + box.drop + SAME
        for box in design.room.bulkheads
    )  # fmt: skip


def place_of_most(values: Sequence[float]) -> int:
    """Place of the largest value, of equal ones the first; -1 without any. Values of one unit."""
    if not len(values):
        return -1
    most = max(values)
    nearly = most - EQUAL * abs(most) if most < float("inf") else most
    return next(i for i, value in enumerate(values) if value >= nearly)

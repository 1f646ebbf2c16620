"""What a search varies: hangers, spacings, layers, depth, fill; the design each choice makes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, prod
from typing import Any

import numpy as np

from impact.base.units import INCH
from impact.design import catalogue
from impact.design.build_ceiling import on_boards
from impact.design.parts import Design, Fill, Hangers
from impact.errors import Fault, InputError
from impact.gravity.parts import limits_of

# Fill used where the design names none: as in the catalogue's middle, common practice.
DEFAULT_FILL = Fill("mineral wool", 0.1, 10e3, 30.0)
WIDEST = 1.3  # m between hangers: channels bend beyond, common practice, no source
STEPS = 8  # depths tried unless others are asked for
DEEPER = 0.20  # m: how much deeper than the design is tried where no limit says otherwise
FIELDS = ("hangers", "channel_spacings", "hanger_spacings", "layers", "depths", "fills")
EMPTY = "no value to try; name some, or leave the option out"
LEFT_OUT = ("rigid bracket",)  # isolates nothing


@dataclass(frozen=True)
class Axes:
    """Values tried, every one with every other.

    hangers : ready but for their spacings; `height` is the least they need [m].
    channel_spacings, hanger_spacings, depths, fills : m; a fill of 0 is an empty cavity.
    layers : counts of board layers, the design's own and then more of its last.
    """

    hangers: tuple[Hangers, ...]
    channel_spacings: tuple[float, ...]
    hanger_spacings: tuple[float, ...]
    layers: tuple[int, ...]
    depths: tuple[float, ...]
    fills: tuple[float, ...]

    @property
    def shape(self) -> tuple[int, ...]:
        """Number of values on each axis, in the order of FIELDS."""
        return tuple(len(getattr(self, name)) for name in FIELDS)

    @property
    def count(self) -> int:
        """Number of combinations."""
        return prod(self.shape)


def own_hangers(design: Design) -> Hangers:
    """The design's hangers, or InputError where there are none to choose."""
    hangers = design.hangers
    if hangers is None or hangers.kind == "direct":
        what = "the search needs [hangers] or [resilient_channels]; this design has none"
        raise InputError(design.path or design.name, [Fault("hangers", what)])
    return hangers


def axes(design: Design, **wanted: Sequence[Any] | None) -> Axes:
    """Axes of a search: those `wanted` by field name, usual ones for the rest.

    Raises InputError for designs without hangers, and for an empty axis.
    """
    own = own_hangers(design)
    made: dict[str, tuple[Any, ...]] = {
        "hangers": hanger_classes(design),
        "channel_spacings": _channel_spacings(design, own),
        "hanger_spacings": _hanger_spacings(design, own),
        "layers": _layers(design),
        "depths": _depths(design, own),
        "fills": _fills(design),
    }
    for name, values in wanted.items():
        if values is not None:
            made[name] = tuple(values)
    if own.positions is not None:  # placed by hand: only what hangs there can change
        made["channel_spacings"] = (own.channel_spacing,)
        made["hanger_spacings"] = (own.hanger_spacing,)
    empty = [name for name, values in made.items() if not values]
    if empty:
        raise InputError(design.path or design.name, [Fault(n, EMPTY) for n in empty])
    return Axes(**made)


def hanger_classes(design: Design) -> tuple[Hangers, ...]:
    """The design's own hangers first, then the catalogue's classes of the same kind, softest first.

    A class brings its own spring, ratings, creep and mass; the channel, the withdrawal capacity and
    the edge distance stay the design's.
    """
    own = own_hangers(design)
    found = [replace(own, height=least_height(own, own.height))]
    known = catalogue.entries(own.kind)
    for entry in sorted(known, key=lambda e: e.value("dynamic_stiffness") or 0):
        if entry.name != own.name and entry.name not in LEFT_OUT:
            found.append(from_class(own, entry))
    return tuple(found)


def from_class(own: Hangers, entry: catalogue.Entry) -> Hangers:
    """Hangers of a catalogue class in place of `own`."""
    stiffness = entry.value("dynamic_stiffness") or own.dynamic_stiffness
    ratio = entry.value("dynamic_to_static", 1.0) or 1.0
    return replace(
        own, name=entry.name, dynamic_stiffness=stiffness, static_stiffness=stiffness / ratio,
        load_deflection=(), loss_factor=entry.value("loss_factor", 0.05) or 0.05,
        load_minimum=entry.value("load_minimum"), load_maximum=entry.value("load_maximum"),
        mass=entry.value("mass", 0.0) or 0.0, creep_factor=entry.value("creep_factor", 1.0) or 1.0,
        cold_factor=entry.value("cold_factor", 1.0) or 1.0,
        own_resonance=entry.value("own_resonance") or inf,
        height=entry.properties["height"].low if "height" in entry.properties else own.height,
    )  # fmt: skip


def least_height(own: Hangers, otherwise: float) -> float:
    """Least height a hanger of this class needs [m]: the low end of its catalogue range."""
    entry = catalogue.find(own.name, own.kind)
    if entry is None or "height" not in entry.properties:
        return otherwise
    return min(otherwise, entry.properties["height"].low)


def stiffened(own: Hangers, stiffnesses: Sequence[float]) -> tuple[Hangers, ...]:
    """The same hangers with other dynamic stiffness [N/m]; their static one goes along."""
    ratio = own.static_stiffness / own.dynamic_stiffness
    height = least_height(own, own.height)
    return tuple(
        replace(own, dynamic_stiffness=k, static_stiffness=k * ratio, load_deflection=(),
                height=height)
        for k in stiffnesses
    )  # fmt: skip


def variant(
    design: Design, hangers: Hangers, channel_spacing: float, hanger_spacing: float, layers: int,
    depth: float, fill: float,
) -> Design:  # fmt: skip
    """The design that one combination makes."""
    hung = replace(
        hangers, channel_spacing=channel_spacing, hanger_spacing=hanger_spacing,
        height=max(hangers.height, min(own_hangers(design).height, depth)),
    )  # fmt: skip
    boards = design.ceiling.layers[:layers]
    more = replace(design.ceiling.layers[-1], bond="nailed")
    boards += (more,) * (layers - len(boards))
    kind = design.cavity.fill or DEFAULT_FILL
    lies = design.cavity.fill.on_boards if design.cavity.fill else on_boards(fill, bay(design))
    filled = replace(kind, thickness=fill, on_boards=lies) if fill > 0 else None
    cavity = replace(design.cavity, clear_depth=depth, fill=filled)
    return replace(
        design, hangers=hung, ceiling=replace(design.ceiling, layers=boards), cavity=cavity
    )


def bay(design: Design) -> float:
    """Depth between the joists that a fill may take as well [m]."""
    return design.floor.bay_depth if design.old_ceiling is None else 0.0


def _merged(values: Sequence[float], own: float) -> tuple[float, ...]:
    """Rising values with the design's own among them; those within 2 % of it give way to it."""
    return tuple(sorted([own, *[v for v in values if abs(v - own) > 0.02 * own]]))


def _channel_spacings(design: Design, own: Hangers) -> tuple[float, ...]:
    usual = (16 * INCH, 24 * INCH) if design.units == "imperial" else (0.4, 0.5)
    return _merged(usual, own.channel_spacing)


def _hanger_spacings(design: Design, own: Hangers) -> tuple[float, ...]:
    joists = design.floor.joists
    if own.kind == "resilient channel":
        return (own.hanger_spacing,)
    if joists is None:
        return _merged((0.6, 0.9, 1.2), own.hanger_spacing)
    most = max(1, int(WIDEST / joists.spacing))
    return _merged([n * joists.spacing for n in range(1, most + 1)], own.hanger_spacing)


def _layers(design: Design) -> tuple[int, ...]:
    own = len(design.ceiling.layers)
    most = int(limits_of(design).get("layers_maximum", max(own + 1, 3)))
    return tuple(range(1, most + 1))


def _depths(design: Design, own: Hangers) -> tuple[float, ...]:
    room, limits = design.room, limits_of(design)
    thinnest = min(layer.thickness for layer in design.ceiling.layers)
    low = max(0.03, own.channel.height + 0.005 if own.channel else 0.0)
    most = [design.cavity.clear_depth + DEEPER]
    if room.headroom_minimum is not None:
        boxes = max((patch.drop for patch in room.bulkheads), default=0.0)
        most.append(room.height - room.headroom_minimum - boxes - thinnest)
    if "drop_maximum" in limits:
        most.append(limits["drop_maximum"] - thinnest)
    high = max(min(most), low)
    step = INCH / 4 if design.units == "imperial" else 0.005
    spread = {round(v / step) * step for v in np.geomspace(low, high, STEPS)}
    within = [v for v in spread if low - 1e-9 <= v <= high + 1e-9]
    return _merged(within, design.cavity.clear_depth)


def _fills(design: Design) -> tuple[float, ...]:
    own = design.cavity.fill.thickness if design.cavity.fill else 0.0
    between = bay(design)
    inch = design.units == "imperial"
    usual = (
        [0.0, between] if between > 0 else [0.0, *((2 * INCH, 4 * INCH) if inch else (0.05, 0.1))]
    )
    return tuple(sorted({own, *[v for v in usual if abs(v - own) > 0.005]}))

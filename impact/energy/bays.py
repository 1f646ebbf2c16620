"""A design's joist floor as an endless row of equal bays, and how far up that holds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from impact.design.parts import Design
from impact.energy import leaves, ribbed
from impact.energy.leaves import PlateLeaf
from impact.energy.upper import Upper
from impact.leaf import build
from impact.link import springs
from impact.link.gaps import lowest_gap, old_gap

LOWEST = 20.0  # Hz: below, averages over an endless floor mean nothing; our choice, no source


@dataclass(frozen=True)
class Bays:
    """The answer of `ribbed` per band (n,), and its share, 0 to 1 (n,), in what deck and joists
    move, and in the mobility and what is heard."""

    field: ribbed.Field
    moving: NDArray
    heard: NDArray
    nailed: bool  # whether the lowest leaf is nailed to the joists


def solve(
    design: Design, up: Upper, boards: list[PlateLeaf], ceiling: bool,
    reach: tuple[float, float] = (LOWEST, LOWEST),
) -> Bays | None:  # fmt: skip
    """Bays of a joist floor; None for slabs and for joists that carry loose fill.

    boards : the leaves below, from the top, whose waves the nails must hold along lines. reach :
    from where on [Hz] motion and sound are wanted; what is not wanted is not solved.
    """
    if up.beams is None or design.floor.infill_mass_per_area > 0:
        return None
    f = up.omega / 2 / np.pi
    held = _held(design, up, boards)
    moving, heard = (np.where(f < max(LOWEST, lowest), 0.0, held) for lowest in reach)
    used = moving > 0
    made = _build(design, ceiling)
    found = _solved(_Key(design, ceiling, made), tuple(f[used]), reach[1])
    whole = []
    for values in (found.deck, found.joists, found.mobility, found.power):
        full = np.zeros(f.shape, values.dtype)
        full[used] = values
        whole.append(full)
    nailed = bool(made.lower) and len(made.lower) == 1 and made.lower[0].nails != 0
    return Bays(ribbed.Field(*whole), moving, heard, nailed)


def _held(design: Design, up: Upper, boards: list[PlateLeaf]) -> NDArray:
    """How far all fasteners hold along lines (n,), 0 to 1: the least of `leaves.held_along`."""
    joists = design.floor.joists
    assert joists is not None
    pairs = []
    if joists.deck_fastening != "glued":
        pairs.append((up.bay, leaves.FASTENER_SPACING))
    pitch = _pitch(design)
    if pitch is not None and boards:
        pairs.append((boards[0], pitch))
    held = np.ones(up.omega.shape)
    for leaf, spacing in pairs:
        held = np.minimum(held, leaves.held_along(leaf, spacing, up.omega))
    return held


def _pitch(design: Design) -> float | None:
    """Spacing of the nails of the first leaf below along a joist, None where nothing is nailed."""
    if design.old_ceiling is not None:
        return design.old_ceiling.fixing_spacing
    if design.hangers is not None and design.hangers.kind == "direct":
        return design.hangers.channel_spacing
    return None


def _build(design: Design, ceiling: bool) -> ribbed.Build:
    floor, joists, old = design.floor, design.floor.joists, design.old_ceiling
    assert joists is not None
    base, floating = leaves.split_layers(floor.layers)
    section = leaves.section_of(base)
    eta = floor.loss_factor + floor.infill_loss_factor
    rib = build.joist_ribs(joists, (), section)
    ribs = ribbed.Ribs(
        joists.spacing, rib.bending, rib.torsion, rib.sideways, rib.mass, rib.rotary,
        max(eta, joists.loss_factor),
    )  # fmt: skip
    lower = []
    if old is not None:
        loss = max(leaves.layers_loss(old.layers), design.ceiling.loss_factor)
        nails = springs.old_fixing(design) / old.fixing_spacing
        sheet = ribbed.Sheet(leaves.section_of(old.layers), loss)
        lower.append(ribbed.Lower(sheet, old_gap(design), nails))
    if ceiling:
        nails, hangers = 0j, design.hangers
        if old is None and hangers is not None and hangers.kind == "direct":
            nails = springs.fixing(design) / hangers.channel_spacing
        sheet = ribbed.Sheet(build.section(design.ceiling.layers), design.ceiling.loss_factor)
        lower.append(ribbed.Lower(sheet, lowest_gap(design), nails))
    return ribbed.Build(
        tuple(
            (ribbed.Sheet(leaves.section_of(above), leaves.layers_loss(above)), mat)
            for mat, above in reversed(floating)
        ),
        ribbed.Sheet(section, eta), ribs, tuple(lower), (design.room.length, design.room.width),
    )  # fmt: skip


class _Key:
    """A build compared by what it was made from, so that variants of a design share it."""

    def __init__(self, design: Design, ceiling: bool, made: ribbed.Build) -> None:
        self.made = made
        self.parts = (design.floor.joists, made.floating, made.deck, made.lower, made.sides)

    def __hash__(self) -> int:
        return hash(self.parts)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.parts == other.parts


@lru_cache(maxsize=32)
def _solved(key: _Key, frequencies: tuple[float, ...], heard_from: float) -> ribbed.Field:
    return ribbed.field(key.made, np.array(frequencies), heard_from)

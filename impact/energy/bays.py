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
from impact.link.cavity import Gap

OLD_FIXING_LOSS = 0.05  # loss factor of nails and screws; common practice, no source
LOWEST = 20.0  # Hz: below, averages over an endless floor mean nothing


@dataclass(frozen=True)
class Bays:
    """The answer of `ribbed` per band (n,), and its share in the answer, 0 to 1 (n,)."""

    field: ribbed.Field
    share: NDArray
    nailed: bool  # whether the lowest leaf is nailed to the joists


def bay_gap(design: Design, first: bool) -> Gap:
    """The air above the old ceiling (`first`) or above the new one, joist bays included."""
    joists, old = design.floor.joists, design.old_ceiling
    open_ = leaves.displaced_share(joists) if joists else 1.0
    blocks = joists.kind != "open-web" if joists else False
    depth = joists.depth if joists else 0.0
    if first and old is not None:
        clear, fill = (0.0 if joists else 0.02), old.fill
    else:
        clear, fill = design.cavity.clear_depth, design.cavity.fill
        depth = 0.0 if old is not None else depth
    thickness = fill.thickness if fill else 0.0
    return Gap(clear, depth, open_, blocks, thickness, fill.flow_resistivity if fill else 0.0)


def solve(design: Design, up: Upper, boards: list[PlateLeaf], ceiling: bool) -> Bays | None:
    """Bays of a joist floor; None for slabs and for joists that carry loose fill.

    boards : the leaves below, from the top, whose waves the nails must hold along lines.
    """
    if up.beams is None or design.floor.infill_mass_per_area > 0:
        return None
    f = up.omega / 2 / np.pi
    share = np.where(f < LOWEST, 0.0, _held(design, up, boards))
    used = share > 0
    made = _build(design, ceiling)
    found = _solved(_Key(design, ceiling, made), tuple(f[used]))
    whole = []
    for values in (found.mobility, found.deck, found.joists, found.lowest, found.power):
        full = np.zeros(f.shape, values.dtype)
        full[used] = values
        whole.append(full)
    nailed = bool(made.lower) and len(made.lower) == 1 and made.lower[0].nails != 0
    return Bays(ribbed.Field(*whole), share, nailed)


def _held(design: Design, up: Upper, boards: list[PlateLeaf]) -> NDArray:
    """1 while fasteners are closer than half a bending wave and hold along lines, 0 from where a
    whole wave fits between them; linear between, as in `leaves`."""
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
        half = np.pi / leaf.wavenumber(up.omega)
        held = np.minimum(held, np.clip(2 * half / spacing - 1, 0.0, 1.0))
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
    give = 1 / leaves.crushing(joists)  # of a joist's own face, in series with nails
    if old is not None:
        loss = max(leaves.layers_loss(old.layers), design.ceiling.loss_factor)
        nails = old.fixing_stiffness / old.fixing_spacing * (1 + 1j * OLD_FIXING_LOSS)
        nails = 1 / (1 / nails + give)
        sheet = ribbed.Sheet(leaves.section_of(old.layers), loss)
        lower.append(ribbed.Lower(sheet, bay_gap(design, True), nails))
    if ceiling:
        nails, hangers = 0j, design.hangers
        if old is None and hangers is not None and hangers.kind == "direct":
            stiff = hangers.dynamic_stiffness * (1 + 1j * hangers.loss_factor)
            nails = 1 / (hangers.channel_spacing / stiff + give)
        sheet = ribbed.Sheet(build.section(design.ceiling.layers), design.ceiling.loss_factor)
        lower.append(ribbed.Lower(sheet, bay_gap(design, False), nails))
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
def _solved(key: _Key, frequencies: tuple[float, ...]) -> ribbed.Field:
    return ribbed.field(key.made, np.array(frequencies))

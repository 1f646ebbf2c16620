"""A design's joist floor as a row of equal bays, endless across, and how far up that holds."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.lines import own_joist_spacing
from impact.design.materials import layers_loss
from impact.design.parts import Design
from impact.design.placing import place
from impact.energy import bay_parts, leaves, ribbed
from impact.energy.leaves import PlateLeaf
from impact.energy.upper import Upper
from impact.leaf import build, strips
from impact.leaf.build import Section
from impact.link import springs
from impact.link.gaps import fill_gap, lowest_gap, old_gap, open_walls
from impact.motion.assemble import permitted

MOST_TOGETHER = 3  # joists of one kind in a repeated length: cost; our choice, no source
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
    reach: tuple[float, float] = (LOWEST, LOWEST), rough: bool = False,
) -> Bays | None:  # fmt: skip
    """Bays of a joist floor; None for slabs, and where in no band all fasteners hold along lines.

    boards : the leaves below, from the top, whose waves the nails must hold along lines. reach :
    from where on [Hz] motion and sound are wanted; what is not wanted is not solved. rough : on
    half the grid (`bay_parts.ROUGH`), beside another solved so.
    """
    if up.beams is None:
        return None
    f = up.omega / 2 / np.pi
    held = _held(design, up, boards, ceiling)
    moving, heard = (np.where(f < max(LOWEST, lowest), 0.0, held) for lowest in reach)
    used = moving > 0
    if not used.any():
        return None
    made = _build(design, ceiling)
    found = _solved(_Key(design, ceiling, made), tuple(f[used]), reach[1], rough)
    whole = []
    for each in fields(found):
        values = getattr(found, each.name)
        full = np.zeros(f.shape, values.dtype)
        full[used] = values
        whole.append(full)
    nailed = bool(made.lower) and made.lower[-1].nails != 0
    return Bays(ribbed.Field(*whole), moving, heard, nailed)


def _held(design: Design, up: Upper, boards: list[PlateLeaf], ceiling: bool) -> NDArray:
    """How far the row of bays holds (n,), 0 to 1: as far as all fasteners hold along lines.

    Decks, and boards on joists of their own, are held along lines by themselves:
    `leaves.held_along`. Nails below are points there, and hold as far as `_even_lines` says.
    """
    joists = design.floor.joists
    assert joists is not None
    held = np.ones(up.omega.shape)
    if joists.deck_fastening != "glued":
        held = leaves.held_along(up.bay, leaves.FASTENER_SPACING, up.omega)
    pitch = _pitch(design, ceiling)
    if pitch is not None and boards:
        nailed = boards[int(design.floor.fill_hangs)]
        held = np.minimum(held, _even_lines(nailed, pitch, up.omega))
    if ceiling and design.independent is not None:
        own = leaves.held_along(boards[-1], leaves.FASTENER_SPACING, up.omega)
        held = np.minimum(held, own)
    return held


def _even_lines(leaf: PlateLeaf, pitch: float, omega: NDArray) -> NDArray:
    """Share (n,) of the directions of sound whose pattern on a nailed leaf runs along by itself.

    Nails `pitch` [m] apart mix wavenumbers kx along the joist with kx + 2 pi n/pitch. These die out
    about the nails (`bay_parts.Sheet.between_points`) while they are slower than the free waves k
    of the leaf, |kx| < 2 pi/pitch - k; then they run off with energy that the row does not follow.
    Over all directions of sound kx is even from -k0 to k0. omega (n,) [rad/s].
    """
    room = 2 * np.pi / pitch - leaf.wavenumber(omega)
    return np.clip(room * air.SPEED / omega, 0.0, 1.0)


def _pitch(design: Design, ceiling: bool) -> float | None:
    """Spacing of the nails of the first boards below along a joist, None where none are nailed."""
    if design.old_ceiling is not None:
        return design.old_ceiling.fixing_spacing
    if ceiling and design.hangers is not None and design.hangers.kind == "direct":
        return design.hangers.channel_spacing
    return None


def _build(design: Design, ceiling: bool) -> bay_parts.Build:
    floor, joists, old = design.floor, design.floor.joists, design.old_ceiling
    assert joists is not None
    base, floating = build.split_layers(floor.layers)
    section = build.section(base)
    eta = floor.whole_loss
    rib = build.joist_ribs(joists, (), section)
    ribs = bay_parts.Ribs(
        joists.spacing, rib.bending, rib.torsion, rib.sideways, rib.mass, rib.rotary,
        max(eta, joists.loss_factor), springs.crush(joists),
    )  # fmt: skip
    lower = []
    if floor.fill_hangs:
        strip = bay_parts.Strips(floor.fill_mass, strips.strip_bending(floor), eta)
        battens = springs.BATTENS * (1 + 1j * springs.FIXING_LOSS)
        down = 1 - floor.bay_depth / joists.depth
        lower.append(bay_parts.Lower(strip, fill_gap(design), battens, height=down))
    if old is not None:
        loss = max(layers_loss(old.layers), design.ceiling.loss_factor)
        nails = springs.old_fixing(design, seat=np.isinf(ribs.crush)) / old.fixing_spacing
        sheet = bay_parts.Sheet(leaves.old_section(design), loss)
        lower.append(bay_parts.Lower(sheet, old_gap(design), nails, pitch=old.fixing_spacing))
    if ceiling:
        sheet = bay_parts.Sheet(_boards(design), design.ceiling.loss_factor)
        lower.append(bay_parts.Lower(
            sheet, lowest_gap(design), *_fixings(design), _pitch(design, ceiling) or 0.0,
            _own_ribs(design),
        ))  # fmt: skip
    return bay_parts.Build(
        tuple(
            (bay_parts.Sheet(build.section(above), layers_loss(above)), mat)
            for mat, above in reversed(floating)
        ),
        bay_parts.Sheet(section, build.deck_loss(floor)), ribs, tuple(lower),
        (design.room.length, design.room.width),
        _together(design)[0] if ceiling else 1,
        ceiling and bool(open_walls(design)),
        floor.length, joists.edge_fixity, permitted(design)[0],
    )  # fmt: skip


def _together(design: Design) -> tuple[int, int]:
    """How many joists of the floor and of the ceiling's own share a length: the ratio of both
    spacings in the smallest numbers up to MOST_TOGETHER. Loose fill between joists allows only one
    joist."""
    own, joists = design.independent, design.floor.joists
    assert joists is not None
    if own is None:
        return 1, 1
    most = 1 if design.floor.fill_hangs else MOST_TOGETHER
    pairs = [(i, j) for i in range(1, most + 1) for j in range(1, most + 1)]
    ratio = own_joist_spacing(design) / joists.spacing
    return min(pairs, key=lambda pair: (round(abs(np.log(pair[0] / pair[1] / ratio)), 2), pair))


def _boards(design: Design) -> Section:
    """The new ceiling's boards; those on joists of its own drawn out with them, `_drawn`."""
    made = build.section(design.ceiling.layers)
    wider = _drawn(design)
    return replace(
        made, bending_y=made.bending_y * wider**4, bending_nu=made.bending_nu * wider**2,
        twisting=made.twisting * wider**2,
    )  # fmt: skip


def _drawn(design: Design) -> float:
    """How much wider apart the ceiling's own joists stand in the row than they do [-].

    The ceiling is drawn out across them, w(y) to w(y/wider): so that the boards resonate between
    the joists as they do, what bends across is stiffer by the fourth power, what twists by the
    second, and the joists' rolling with it. What it weighs over the area stays.
    """
    if design.independent is None or design.floor.joists is None:
        return 1.0
    floors, owns = _together(design)
    return design.floor.joists.spacing * floors / owns / own_joist_spacing(design)


def _own_ribs(design: Design) -> bay_parts.Ribs | None:
    """Joists of the ceiling's own, None where it hangs. Their spacing is that of `_together`, and
    what they weigh and carry over the area stays, the ceiling being drawn out: `_drawn`."""
    own = design.independent
    if own is None:
        return None
    share = _drawn(design)
    rib = build.joist_ribs(own.joists, (), build.section(design.ceiling.layers))

    def bending(k2: NDArray) -> NDArray:
        return share * rib.bending(k2)

    return bay_parts.Ribs(
        share * own_joist_spacing(design), bending, share**3 * rib.torsion,
        share**3 * rib.sideways, share * rib.mass, share**3 * rib.rotary,
        design.ceiling.loss_factor, share * springs.crush(own.joists),
    )  # fmt: skip


def _fixings(design: Design) -> tuple[complex, complex]:
    """What fixes the new ceiling, per length of joist: nails or screws straight into the joists,
    and hangers or channels, spread evenly over the joists [N/m2]."""
    hangers, joists = design.hangers, design.floor.joists
    assert joists is not None
    if hangers is not None and hangers.kind == "direct" and design.old_ceiling is None:
        seat = np.isinf(springs.crush(joists))  # else it is in the joists themselves
        return springs.fixing(design, seat) / hangers.channel_spacing, 0j
    return 0j, hung(design) * joists.spacing


def hung(design: Design) -> complex:
    """Stiffness of hangers or channels over the area, with its loss [N/m3]; 0 without, and for
    screws, which are no springs beside the air."""
    if design.hangers is None or design.hangers.kind == "direct":
        return 0j
    area = design.room.length * design.room.width
    return springs.fixing(design) * len(place(design).points) / area


def pace(design: Design) -> float:
    """sqrt(B/m'') [m²/s] of a deck's waves from joist to joist, B across the joists: bays repeat
    themselves at the same f over it (bending waves, k⁴ = omega² m''/B). NaN where other leaves than
    the deck have bays too: what lies on the joists or is nailed to them, or to a ceiling's own."""
    made = None if design.floor.joists is None else _build(design, True)
    if made is None or len(made.lower) != 1 or not made.hung:
        return np.nan
    deck = made.deck.section
    return float(np.sqrt(deck.bending_y / deck.mass))


class _Key:
    """A build compared by what it was made from, so that variants of a design share it."""

    def __init__(self, design: Design, ceiling: bool, made: bay_parts.Build) -> None:
        self.made = made
        own = design.independent if ceiling else None  # for ribs, whose bending is a function
        lower = tuple(replace(each, ribs=None) for each in made.lower)
        above = design.floor.joists, made.floating, made.deck
        ends = made.sides, made.span, made.fixity, made.stands
        self.parts = (*above, lower, own, *ends, made.count, made.vented)

    def __hash__(self) -> int:
        return hash(self.parts)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.parts == other.parts


@lru_cache(maxsize=32)
def _solved(
    key: _Key, frequencies: tuple[float, ...], heard_from: float, rough: bool
) -> ribbed.Field:
    grid = bay_parts.ROUGH if rough else bay_parts.FULL
    return ribbed.field(key.made, np.array(frequencies), heard_from, grid=grid)

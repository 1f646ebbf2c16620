"""From a design to its stack: which leaves, which links, in which order from the top down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from impact.base import air
from impact.design.axes import WALLS
from impact.design.lines import joist_lines, own_joist_lines, rib_lines
from impact.design.parts import Design, Hangers, Mat, OldCeiling
from impact.design.placing import Placement, place
from impact.leaf import build, pairs, strips
from impact.leaf.plate import Leaf, Plate, modes
from impact.link import cavity, inner_waves, slot, springs
from impact.link import mat as mats
from impact.link.gaps import fill_gap, lowest_gap, old_gap
from impact.link.joint import EVERY, Joint
from impact.motion.sizes import bending_wavenumber
from impact.motion.stack import Stack
from impact.motion.striking import Area

LIGHT = 0.01  # share of a leaf's mass that air in a closed bay may add without being counted
INSET = 0.5  # m: source positions keep this from the edges (ISO 10140-3 cl. 4, ISO 16283-2 cl. 7)


@dataclass(frozen=True, eq=False)
class Assembly:
    """A design as stacks, with what people ask of its parts.

    whole : with the new ceiling; bare : the same floor without it (an old ceiling stays).
    gap : the lowest cavity. masses : kg/m2 of `floor` (everything above the lowest cavity) and
    `ceiling`. hanger_spring : N/m3, hangers per area.
    """

    design: Design
    whole: Stack
    bare: Stack
    placement: Placement
    gap: cavity.Gap
    floor_mass: float
    ceiling_mass: float
    hanger_spring: float
    highest: float


def assemble(design: Design, highest: float = 500.0) -> Assembly:
    """Build the stacks of `design` with links that reach `highest` [Hz]."""
    placement = place(design)
    uppers = _floor_leaves(design, highest)
    joints: list[Joint] = []
    leaves = list(uppers)
    for i, mat in enumerate(_mats(design)):
        joints.append(_mat_joint(design, leaves, i, mat, highest))
    if design.floor.fill_hangs:
        leaves.append(_fill_leaf(design, leaves[-1], highest))
        joints += _fill_joints(design, leaves, highest)
    if design.old_ceiling is not None:
        leaves.append(_old_leaf(design, design.old_ceiling, highest))
        joints += _old_joints(design, leaves, highest)
    bare = Stack(tuple(leaves), tuple(joints), 0, len(leaves) - 1)
    leaves.append(_ceiling_leaf(design, placement, highest))
    gap = lowest_gap(design)
    joints += _ceiling_joints(design, leaves, gap, placement, highest)
    whole = Stack(tuple(leaves), tuple(joints), 0, len(leaves) - 1)
    ceiling = leaves[-1].plate
    return Assembly(
        design, whole, bare, placement, gap,
        floor_mass=sum(leaf.plate.whole_mass for leaf in bare.leaves),
        ceiling_mass=ceiling.whole_mass,
        hanger_spring=hanger_spring(design, placement), highest=highest,
    )  # fmt: skip


def _with_waves(joint: Joint, hangers: Hangers) -> Joint:
    """Hangers with the waves inside them (`inner_waves.in_band`)."""
    if not np.isfinite(hangers.own_resonance):
        return joint

    def compliance(omega: float | np.ndarray, places: slice | np.ndarray = EVERY) -> np.ndarray:
        one = 1 / inner_waves.in_band(hangers, np.asarray(omega) / 2 / np.pi)
        return np.repeat(one[..., None], joint.count, axis=-1)[..., places]

    return replace(joint, compliance=compliance)


def hanger_spring(design: Design, placement: Placement) -> float:
    """Dynamic stiffness k of all N hangers spread over the room, N k / (length x width) [N/m3]; 0
    without hangers."""
    area = design.room.length * design.room.width
    each = design.hangers.dynamic_stiffness if design.hangers else 0.0
    return len(placement.points) * each / area


def _hanger_mass(design: Design, placement: Placement) -> float:
    """Half of each hanger hangs on the ceiling; kg in all."""
    return 0.5 * design.hangers.mass * len(placement.points) if design.hangers else 0.0


def _floor_leaves(design: Design, highest: float) -> list[Leaf]:
    return [leaf_of(plate, highest) for plate in floor_plates(design)]


def floor_plates(design: Design) -> list[Plate]:
    """The plates of the floor from the top down: floating layers first, then deck and joists.

    Half of each mat's mass moves with either face; what its waves do besides stands in `link.mat`.
    """
    floor = design.floor
    carried, floating = build.split_layers(floor.layers)
    halves = [mat.density * mat.thickness / 2 for mat, _ in floating]
    lines = joist_lines(floor) or rib_lines(floor)
    covering = None if floating else floor.covering
    base = replace(floor, layers=tuple(carried), covering=covering)
    plates = [_heavier(build.floor_plate(base, lines), sum(halves[:1]))]
    for number, (_, group) in enumerate(floating, start=1):
        loss = max(layer.material.loss_factor for layer in group)
        plate = build.board_plate(
            f"floating {number}" if len(floating) > 1 else "floating floor",
            group, floor.length, floor.width, loss, (0.0, 0.0),
        )  # fmt: skip
        more = sum(halves[number - 1 : number + 1])  # of the mats below and above
        if number == len(floating) and floor.covering is not None:
            more += floor.covering.mass_per_area
        plates.insert(0, _heavier(plate, more))
    return plates


def _heavier(plate: Plate, mass: float) -> Plate:
    """A plate with `mass` more [kg/m2]."""
    return replace(plate, mass=plate.mass + mass)


def _mats(design: Design) -> list[Mat]:
    """Mats from the top down, one below each floating leaf."""
    return [layer.mat for layer in design.floor.layers if layer.mat is not None][::-1]


def leaf_of(plate: Plate, highest: float) -> Leaf:
    """Modes of a plate; the same plate is solved once."""
    return _solved(_Key(plate), highest)


class _Key:
    """A plate compared by its numbers, so that variants of a design share solved leaves."""

    def __init__(self, plate: Plate) -> None:
        self.plate = plate
        parts: list = []
        for name, value in vars(plate).items():
            if name.startswith("ribs") and value is not None:
                k2 = np.array([0.1, 1.0, 10.0, 100.0])
                parts += [value.positions.tobytes(), value.bending(k2).tobytes(), value.torsion,
                          value.sideways, value.mass, value.rotary]  # fmt: skip
            else:
                parts.append(value)
        self.parts = tuple(parts)

    def __hash__(self) -> int:
        return hash(self.parts)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.parts == other.parts


@lru_cache(maxsize=12)
def _solved(key: _Key, highest: float) -> Leaf:
    return modes(key.plate, 1.8 * highest)


def _origin(design: Design) -> tuple[float, float]:
    return design.room.offset_x, design.room.offset_y


def _old_leaf(design: Design, old: OldCeiling, highest: float) -> Leaf:
    loss = max(layer.material.loss_factor for layer in old.layers)
    plate = build.board_plate(
        "old ceiling", old.layers, design.room.length, design.room.width,
        max(loss, design.ceiling.loss_factor), _origin(design),
    )  # fmt: skip
    return leaf_of(replace(plate, mass=plate.mass + design.floor.lying_mass), highest)


def _fill_leaf(design: Design, deck: Leaf, highest: float) -> Leaf:
    """Loose fill on its boards; along the joists it takes the waves of the `deck`."""
    plate = strips.fill_plate(design.floor)
    reach = 1.3 * bending_wavenumber(deck, 2 * np.pi * highest) + 2 * np.pi / plate.length
    return strips.modes(plate, joist_lines(design.floor), reach, 1.8 * highest)


def carrier(leaves: Sequence[Leaf]) -> int:
    """Place of the leaf to which what hangs below it is fixed, the last of `leaves` being hung: an
    old ceiling or the floor, never the fill between its joists."""
    above = len(leaves) - 2
    return above - 1 if leaves[above].name == strips.NAME else above


def _ceiling_leaf(design: Design, placement: Placement, highest: float) -> Leaf:
    return slot.opened(design, leaf_of(ceiling_plate(design, placement), highest), highest)


def ceiling_plate(design: Design, placement: Placement) -> Plate:
    """The plate of the new ceiling: boards with channels or on joists of their own."""
    room, ceiling = design.room, design.ceiling
    if design.independent is not None:
        plate = build.joisted_ceiling_plate(
            ceiling.layers, design.independent.joists, own_joist_lines(design), room.length,
            room.width, ceiling.loss_factor, _origin(design),
        )  # fmt: skip
    else:
        channel = design.hangers.channel if design.hangers else None
        plate = build.board_plate(
            "ceiling", ceiling.layers, room.length, room.width, ceiling.loss_factor,
            _origin(design), channel, placement.channels,
        )  # fmt: skip
    extra = _hanger_mass(design, placement) / (room.length * room.width)
    return replace(plate, mass=plate.mass + extra)


def _shapes_over(
    design: Design, leaves: list[Leaf], pair: tuple[int, int], highest: float
) -> tuple[tuple[np.ndarray, np.ndarray], np.ndarray, np.ndarray]:
    """Orthonormal cosines over the room's plan on two leaves: (L, n) each, and kx, ky (L,)."""
    room, omega = design.room, 2 * np.pi * highest
    wave = max(bending_wavenumber(leaves[i], omega) for i in pair)
    reach = 1.3 * wave + 2 * np.pi / min(room.length, room.width)
    na, nb = (int(np.ceil(reach * side / np.pi)) + 1 for side in (room.length, room.width))
    kx, ky = np.meshgrid(
        np.arange(na) * np.pi / room.length, np.arange(nb) * np.pi / room.width, indexing="ij"
    )
    chosen = np.flatnonzero(np.hypot(kx, ky).ravel() <= reach)
    sides = []
    for i in pair:
        x, y = np.array(_origin(design)) - leaves[i].plate.origin
        plan = (float(x), room.length), (float(y), room.width)
        sides.append(pairs.on_cosines(leaves[i], plan, (na, nb), chosen))
    return (sides[0], sides[1]), kx.ravel()[chosen], ky.ravel()[chosen]


def _air_shapes(
    design: Design, leaves: list[Leaf], pair: tuple[int, int], gap: cavity.Gap, highest: float
) -> tuple[tuple[np.ndarray, np.ndarray], np.ndarray, np.ndarray]:
    """As `_shapes_over`; of closed bays, cosines over the room's length and each bay's own width.

    A bay is as wide as its air: where a joist is no plain rectangle, volume over depth counts.
    Waves so short that the open air, flowing to and fro, adds less than LIGHT of the lighter leaf's
    mass, rho/(d (k² - k0²)), are left out.
    """
    joists = design.floor.joists
    if not gap.closed or joists is None:
        return _shapes_over(design, leaves, pair, highest)
    room = design.room
    wave = max(bending_wavenumber(leaves[i], 2 * np.pi * highest) for i in pair)
    reach = 1.3 * wave + 2 * np.pi / min(room.length, room.width)
    if gap.fill == 0:
        lighter = min(leaves[i].plate.mass for i in pair)
        carried = air.DENSITY / (gap.bay * LIGHT * lighter)
        reach = min(reach, float(np.hypot(2 * np.pi * highest / air.SPEED, np.sqrt(carried))))
    order = np.arange(int(np.ceil(reach * room.length / np.pi)) + 1) * np.pi / room.length
    half = joists.volume_per_length / joists.depth / 2
    lines = np.array(joist_lines(design.floor, room)) - room.offset_y
    starts = np.r_[0.0, lines + half]
    widths = np.round(np.r_[lines - half, room.width] - starts, 9)
    shapes: tuple[list, list] = ([], [])
    waves = []
    for start, width in zip(starts[widths > 0], widths[widths > 0], strict=True):
        across = np.arange(int(np.ceil(reach * width / np.pi)) + 1) * np.pi / width
        if start + width / 2 > room.width / 2:  # counted from its far side: bays in mirrored pairs
            turn = (-1.0) ** np.arange(len(across))[:, None]
        else:
            turn = np.ones((len(across), 1))
        kx, ky = (k.ravel() for k in np.meshgrid(order, across, indexing="ij"))
        chosen = np.hypot(kx, ky) <= reach
        waves.append(np.stack([kx, ky])[:, chosen])
        for i, found in zip(pair, shapes, strict=True):
            leaf = leaves[i]
            dx, dy = np.array(_origin(design)) - leaf.plate.origin
            left = leaf.x.cosines(len(order), dx, room.length)
            right = turn * leaf.y.cosines(len(across), dy + start, width)
            found.append(leaf.project(left, right).reshape(len(kx), -1)[chosen])
    kx, ky = np.hstack(waves)
    return (np.vstack(shapes[0]), np.vstack(shapes[1])), kx, ky


def _over_floor(design: Design) -> Design:
    """The design with a room below all of the floor: for what lies over all of it."""
    floor, room = design.floor, design.room
    whole = replace(room, length=floor.length, width=floor.width, offset_x=0.0, offset_y=0.0)
    return replace(design, room=whole)


def _mat_joint(design: Design, leaves: list[Leaf], upper: int, mat: Mat, highest: float) -> Joint:
    shapes, kx, ky = _shapes_over(_over_floor(design), leaves, (upper, upper + 1), highest)
    name = f"mat {upper + 1}" if upper else "mat"
    return mats.joint(name, (upper, upper + 1), shapes, mat, np.hypot(kx, ky))


def _fill_joints(design: Design, leaves: list[Leaf], highest: float) -> list[Joint]:
    """Battens at the joists' sides that carry the fill's boards, and the air under the deck."""
    pair = (len(leaves) - 2, len(leaves) - 1)
    floor, fill = (leaves[i] for i in pair)
    lines = np.array(joist_lines(design.floor))
    battens = springs.along(
        "fill battens", (floor, fill), pair, lines, springs.BATTENS * (1 + 1j * springs.FIXING_LOSS)
    )
    gap = fill_gap(design)
    shapes, kx, ky = _air_shapes(_over_floor(design), leaves, pair, gap, highest)
    return [battens, cavity.joint(gap, pair, shapes, kx, ky, "fill air")]


def _old_joints(design: Design, leaves: list[Leaf], highest: float) -> list[Joint]:
    """Fixings of the old ceiling to the joists and the air in the joist bays above it."""
    old, room = design.old_ceiling, design.room
    assert old is not None
    pair = (len(leaves) - 2, len(leaves) - 1)
    held = (carrier(leaves), pair[1])
    count = max(2, int(np.ceil(room.length / old.fixing_spacing)))
    along = (np.arange(count) + 0.5) / count * room.length
    lines = [y - room.offset_y for y in joist_lines(design.floor, room)]
    places = np.array([(x, y) for y in lines for x in along]) + np.array(_origin(design))
    fixings = springs.between("old fixings", leaves, held, places, springs.old_fixing(design))
    gap = old_gap(design)
    shapes, kx, ky = _air_shapes(design, leaves, pair, gap, highest)
    return [fixings, cavity.joint(gap, pair, shapes, kx, ky, "old air")]


def _ceiling_joints(
    design: Design, leaves: list[Leaf], gap: cavity.Gap, placement: Placement, highest: float
) -> list[Joint]:
    pair = (len(leaves) - 2, len(leaves) - 1)
    shapes, kx, ky = _air_shapes(design, leaves, pair, gap, highest)
    joints = [cavity.joint(gap, pair, shapes, kx, ky)]
    hangers = design.hangers
    if hangers is not None and placement.points:
        places = np.array(placement.points) + np.array(_origin(design))
        held = (carrier(leaves), pair[1])
        own = springs.between("hangers", leaves, held, places, springs.fixing(design))
        joints.append(_with_waves(own, hangers))
    if design.independent is None:
        joints += _perimeter(design, leaves, highest)
    return joints + slot.joints(leaves[-1], gap, pair[1])


def _perimeter(design: Design, leaves: list[Leaf], highest: float) -> list[Joint]:
    edge = design.ceiling.perimeter
    if edge.kind == "free":
        return []
    below = len(leaves) - 1
    leaf = leaves[below]
    sealed = edge.kind == "sealed"
    walls = WALLS if sealed else edge.touching_walls
    spring = springs.edge(edge)
    reach = 1.3 * bending_wavenumber(leaf, 2 * np.pi * highest)
    shapes, waves = [], []
    for wall in walls:
        side = leaf.x.length if wall in ("south", "north") else leaf.y.length
        on_edge, wave = springs.edge_shapes(leaf, wall, int(np.ceil(reach * side / np.pi)) + 3)
        shapes.append(on_edge)
        waves.append(wave)
    if not shapes or spring <= 0:
        return []
    wavenumber = np.concatenate(waves)
    return [springs.lines(
        "perimeter", below, np.vstack(shapes), np.full(len(wavenumber), spring),
        edge.bead_loss_factor, wavenumber,
    )]  # fmt: skip


def permitted(design: Design) -> Area:
    """Where a source may stand: (x low, high), (y low, high) [m, floor coordinates].

    INSET and more from the floor's edges, above the room; a side too short for that is used in its
    middle third.
    """
    sides = []
    floor, room = design.floor, design.room
    for whole, start, part in (
        (floor.length, room.offset_x, room.length), (floor.width, room.offset_y, room.width),
    ):  # fmt: skip
        low, high = max(INSET, start), min(whole - INSET, start + part)
        sides.append((low, high) if high - low >= 0.1 else (whole / 3, 2 * whole / 3))
    return sides[0], sides[1]

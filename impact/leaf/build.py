"""From the parts of a design to the plates whose modes are wanted: floor, boards, old ceiling."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from impact.base import air, sections
from impact.base.sections import bonded_bending, joined_bending
from impact.design.parts import Channel, Floor, Joists, Layer, Mat, Slab
from impact.leaf.loss import edge_loss
from impact.leaf.plate import EDGE_AT, Plate, Ribs

RIBBED = ("ribbed", "composite")  # slabs that are no plates: ribs twist by themselves


@dataclass(frozen=True)
class Section:
    """A stack of layers as one plate: mass kg/m2, D along x and y, Dnu, D66 in N m, in-plane EA
    per width along x of the lowest bonded group N/m, the height of its middle m, and what gives in
    shear along x and y N/m."""

    mass: float
    bending_x: float
    bending_y: float
    bending_nu: float
    twisting: float
    stretch_x: float
    thickness: float
    shear: tuple[float, float] = (np.inf, np.inf)


def section(layers: Sequence[Layer]) -> Section:
    """Plate stiffnesses of `layers`, lowest first.

    Layers glued to the one before act as one section about their common neutral axis (laminate
    theory without Poisson coupling between layers); nailed or loose ones only add their own
    stiffness, as sheets that slide on each other.

    Raises ValueError without a layer, or where one floats: it is of another leaf, `split_layers`.
    """
    return _section(tuple(layers))


@lru_cache(maxsize=64)  # most variants of a design have the same layers
def _section(layers: tuple[Layer, ...]) -> Section:
    if not layers or any(layer.bond == "floating" for layer in layers):
        raise ValueError("a section is of one layer or more, none of which floats")
    groups = _groups(layers)
    parts = [_group(group) for group in groups]
    nu = sum(_nu(layer) * layer.thickness for layer in layers) / sum(x.thickness for x in layers)
    bending_x, bending_y = sum(p[0] for p in parts), sum(p[1] for p in parts)
    return Section(
        mass=sum(layer.mass_per_area for layer in layers),
        bending_x=bending_x,
        bending_y=bending_y,
        bending_nu=nu * float(np.sqrt(bending_x * bending_y)),
        twisting=sum(p[2] for p in parts),
        stretch_x=parts[0][3],
        thickness=sum(layer.thickness for layer in groups[0]),
    )


def split_layers(layers: Sequence[Layer]) -> tuple[list[Layer], list[tuple[Mat, list[Layer]]]]:
    """Layers that the structure carries, then each floating leaf with the mat below it, from the
    structure up. What lies on a floating layer belongs to its leaf, whose lowest layer counts as
    held.

    Raises ValueError when a floating layer has no mat.
    """
    base: list[Layer] = []
    floating: list[tuple[Mat, list[Layer]]] = []
    for layer in layers:
        if layer.bond == "floating":
            if layer.mat is None:
                raise ValueError(f"floating layer {layer.material.name!r} has no mat below it")
            floating.append((layer.mat, [replace(layer, bond="nailed", mat=None)]))
        elif floating:
            floating[-1][1].append(layer)
        else:
            base.append(layer)
    return base, floating


def _groups(layers: Sequence[Layer]) -> list[list[Layer]]:
    """Layers split into those that are glued together."""
    groups: list[list[Layer]] = []
    for layer in layers:
        if layer.bond == "glued" and groups:
            groups[-1].append(layer)
        else:
            groups.append([layer])
    return groups


def _nu(layer: Layer) -> float:
    """Poisson's ratio for Dnu = nu sqrt(Dx Dy), taken as given, also for orthotropic layers."""
    return layer.material.poisson


def moduli(layer: Layer) -> tuple[float, float]:
    """Young's moduli along x and y [Pa]."""
    strong, weak = layer.material.youngs_modulus, layer.material.youngs_modulus_across
    return (strong, weak) if layer.strong_axis == "along" else (weak, strong)


def _group(layers: Sequence[Layer]) -> tuple[float, float, float, float]:
    """Dx, Dy, D66 [N m] and EA per width along x [N/m] of layers glued together."""
    thick = [layer.thickness for layer in layers]
    along, across = zip(*(moduli(layer) for layer in layers), strict=True)
    shear = [layer.material.shear_modulus for layer in layers]
    poisson = sum(_nu(layer) * layer.thickness for layer in layers) / sum(thick)
    wide = 1 / (1 - poisson**2)
    stretch = sum(e * t for e, t in zip(along, thick, strict=True))
    bend_x, bend_y, twist = (bonded_bending(thick, each) for each in (along, across, shear))
    return bend_x * wide, bend_y * wide, twist, stretch


def joist_bending(
    joists: Joists, deck_stretch: float, deck_thickness: float
) -> Callable[[np.ndarray], np.ndarray]:
    """EI of one joist acting with its strip of deck, against squared wavenumber [1/m2].

    Mechanically jointed beam of EN 1995-1-1:2004 Annex B with half waves of length pi/k in place
    of the span: gamma = 1/(1 + k² E1 A1 / K), K the fasteners' slip modulus per length; then shear
    flexibility in series, EI/(1 + k² EI / GA) (Timoshenko). The deck's own bending is not in it.
    A function (M,) -> (M,) [N m2].
    """
    arm = (joists.depth + deck_thickness) / 2
    flange = deck_stretch * joists.spacing

    def bending(k2: np.ndarray) -> np.ndarray:
        stiff = np.full_like(k2, joists.bending_stiffness, dtype=float)
        if joists.deck_fastening != "none" and flange > 0:
            slip = joists.slip_modulus_per_length
            stiff += joined_bending(k2, (flange, joists.axial_stiffness), arm, slip)
        if np.isfinite(joists.shear_stiffness):
            stiff = stiff / (1 + k2 * stiff / joists.shear_stiffness)
        return stiff

    return bending


def joist_ribs(joists: Joists, lines: Sequence[float], deck: Section) -> Ribs:
    """Joists at `lines` [m, floor coordinates across them] as ribs of the deck.

    Rotary inertia about the deck's middle: mu (d²/12 + b²/12 + e²) with e = (d + h)/2.
    """
    arm = (joists.depth + deck.thickness) / 2
    mass = joists.mass_per_length
    return Ribs(
        positions=np.asarray(lines, float),
        bending=joist_bending(joists, deck.stretch_x, deck.thickness),
        torsion=joists.torsional_stiffness,
        sideways=joists.lateral_stiffness * arm**2,
        mass=mass,
        rotary=mass * ((joists.depth**2 + joists.width**2) / 12 + arm**2),
    )


def blocking_ribs(joists: Joists, span: float) -> Ribs | None:
    """Rows of blocking as beams across the joists, evenly spaced along the span; None without."""
    rows = joists.blocking_rows
    if rows == 0 or joists.blocking_stiffness <= 0:
        return None
    share = joists.mass_per_length * 0.5  # blocks of half the joists' own weight per length
    return Ribs(
        positions=span * np.arange(1, rows + 1) / (rows + 1),
        bending=lambda k2: np.full_like(k2, joists.blocking_stiffness, dtype=float),
        torsion=0.0,
        sideways=0.0,
        mass=share,
        rotary=share * joists.depth**2 / 3,
    )


def deck_loss(floor: Floor) -> float:
    """Loss factor of a joist floor's deck as it bends between the joists [-].

    The floor's own is that of timber in place: joints, nails and panels that rub. What is poured
    over it lies in one piece and loses no more than its material does. Each layer counts by the
    energy it holds when all bend together, about the common neutral axis where glued: sum(eta U)/
    sum(U) (E. E. Ungar, E. M. Kerwin, J. Acoust. Soc. Am. 34 (1962) 954: loss factors in terms of
    energy); of both directions in plan. Loose fill between the joists adds to all.
    """
    held, _ = split_layers(floor.layers)
    added = floor.whole_loss - floor.loss_factor
    lost = stored = 0.0
    for group in _groups(held):
        thick = [layer.thickness for layer in group]
        for way in (0, 1):
            each = [moduli(layer)[way] for layer in group]
            _, neutral = sections.stretched(thick, each)
            made = sections.parts(thick, each)
            for layer, (own, axial, z) in zip(group, made, strict=True):
                energy = own + axial * (z - neutral) ** 2
                material = layer.material
                eta = min(floor.loss_factor, material.loss_factor) if material.poured else (
                    floor.loss_factor
                )  # fmt: skip
                lost, stored = lost + eta * energy, stored + energy
    return lost / stored + added


def floor_plate(floor: Floor, lines: Sequence[float]) -> Plate:
    """The walked floor without floating layers and loose fill, in floor coordinates.

    lines : y of the joists or of a slab's ribs [m]; empty without.
    """
    extra = floor.covering.mass_per_area if floor.covering else 0.0
    held, _ = split_layers(floor.layers)
    loss = floor.whole_loss
    if floor.joists is not None:
        deck = section(held)
        return Plate(
            "floor", floor.length, floor.width, deck.mass + extra, deck.bending_x, deck.bending_y,
            deck.bending_nu, deck.twisting, loss, "supported", floor.joists.edge_fixity, 0.0,
            joist_ribs(floor.joists, lines, deck), blocking_ribs(floor.joists, floor.length),
            plate_loss=deck_loss(floor),
        )  # fmt: skip
    slab = floor.slab
    assert slab is not None, "a floor has joists or a slab"
    made = slab_section(slab, held)
    mass, dx, dy = made.mass + extra, made.bending_x, made.bending_y
    edge = 0.0
    if slab.in_situ_loss:
        critical = air.SPEED**2 / (2 * np.pi) * np.sqrt(mass / np.sqrt(dx * dy))
        edge = float(edge_loss(EDGE_AT, float(critical), (floor.length, floor.width)))
    ribs = None
    if slab.ribs is not None and len(lines):
        made = between_ribs(slab, held)
        mass, dx, dy = made.mass + extra, made.bending_x, made.bending_y
        ribs = joist_ribs(slab.ribs, lines, made)
    return Plate(
        "floor", floor.length, floor.width,
        mass, dx, dy, made.bending_nu, made.twisting,
        loss + edge, "supported" if slab.edges == "four sides" else "two sides", slab.edge_fixity,
        slab.edge_fixity if slab.edges == "four sides" else 0.0, ribs, edge_loss=edge,
        shear=made.shear,
    )  # fmt: skip


def slab_section(slab: Slab, layers: Sequence[Layer]) -> Section:
    """A slab with `layers` on it, lowest first, as one plate.

    Those glued onto it, up to the first that is not, act with it as one section about the common
    neutral axis; all others add their own stiffness, as in `section`. Of ribs the twist is their
    own and the plate's; a layer on them adds its own. Poisson's ratio is the slab's. In shear what
    is glued on makes one section of it too, in which the slab counts as one material of its
    stiffnesses; what is not only lies on it.
    """
    bonded = _bonded(layers)
    rest = layers[len(bonded) :]
    own = slab.bending_stiffness_along, slab.bending_stiffness_across
    bent = [
        _with_slab(b, _stretch(slab, way), z * slab.thickness, [
            (moduli(x)[way] / (1 - _nu(x) ** 2), x.thickness) for x in bonded
        ])
        for way, (b, z) in enumerate(zip(own, slab.axis, strict=True))
    ]  # fmt: skip
    shear = [(x.material.shear_modulus, x.thickness) for x in bonded]
    twist = slab.twisting_stiffness
    gives = _gives(slab, bonded, 0), _gives(slab, bonded, 1)
    if slab.kind in RIBBED:
        twist += sum(g * t**3 / 12 for g, t in shear)
    else:
        drawn = 12 * twist / slab.thickness**2 * min(slab.stretch)
        twist = _with_slab(twist, drawn, slab.thickness / 2, shear)
    above = section(rest) if rest else None
    if above:
        bent = [bent[0] + above.bending_x, bent[1] + above.bending_y]
        twist += above.twisting
    return Section(
        mass=slab.mass_per_area + sum(x.mass_per_area for x in layers),
        bending_x=bent[0], bending_y=bent[1],
        bending_nu=slab.poisson * float(np.sqrt(bent[0] * bent[1])), twisting=twist,
        stretch_x=0.0, thickness=slab.thickness + sum(x.thickness for x in layers), shear=gives,
    )  # fmt: skip


def between_ribs(slab: Slab, layers: Sequence[Layer]) -> Section:
    """The plate of a ribbed slab without its ribs, with `layers` on it, as `slab_section`.

    Raises ValueError without ribs.
    """
    if slab.ribs is None:
        raise ValueError("a slab without ribs has nothing between them")
    bending, depth = slab.bending_stiffness_across, slab.thickness - slab.ribs.depth
    alone = replace(
        slab, kind="concrete", thickness=depth, bending_stiffness_along=bending,
        mass_per_area=slab.mass_per_area - slab.ribs.mass_per_length / slab.ribs.spacing,
        twisting_stiffness=bending * (1 - slab.poisson) / 2, stretch=(1.0, 1.0), axis=(0.5, 0.5),
        shear=(slab.shear[1], slab.shear[1]), ribs=None,
    )  # fmt: skip
    made, bonded = slab_section(alone, layers), _bonded(layers)
    stretch = _stretch(alone, 0) * (1 - slab.poisson**2)
    return replace(
        made, stretch_x=stretch + sum(moduli(x)[0] * x.thickness for x in bonded),
        thickness=depth + sum(x.thickness for x in bonded),
    )  # fmt: skip


def _bonded(layers: Sequence[Layer]) -> Sequence[Layer]:
    """Those of `layers`, lowest first, that are glued on, up to the first that is not."""
    return layers[: next((i for i, x in enumerate(layers) if x.bond != "glued"), len(layers))]


def _gives(slab: Slab, bonded: Sequence[Layer], way: int) -> float:
    """Transverse shear stiffness [N/m] of a slab with layers glued onto it, along (0) or across."""
    own = slab.shear[way]
    if not bonded or not np.isfinite(own):
        return own
    stiffness = slab.bending_stiffness_along, slab.bending_stiffness_across
    depth = float(np.sqrt(12 * stiffness[way] / _stretch(slab, way)))  # as a plain plate bends
    thick = [depth, *(x.thickness for x in bonded)]
    each = [_stretch(slab, way) / depth, *(moduli(x)[way] / (1 - _nu(x) ** 2) for x in bonded)]
    shear = [6 / 5 * own / depth, *(x.material.shear_modulus for x in bonded)]
    return sections.shear_stiffness(thick, each, shear)


def _stretch(slab: Slab, way: int) -> float:
    """EA of a slab per width [N/m], along (0) or across."""
    bending = slab.bending_stiffness_along, slab.bending_stiffness_across
    return slab.stretch[way] * 12 * bending[way] / slab.thickness**2


def _with_slab(
    bending: float, stretch: float, axis: float, glued: Sequence[tuple[float, float]]
) -> float:
    """Bending of a slab, its EA [N/m] and axis below its top [m], with (modulus, thickness) glued
    onto it."""
    if not glued:
        return bending
    moduli, thicknesses = zip(*glued, strict=True)
    return sections.joined([(bending, stretch, -axis), *sections.parts(thicknesses, moduli)])


def board_plate(
    name: str, layers: Sequence[Layer], length: float, width: float, loss_factor: float,
    origin: tuple[float, float], channel: Channel | None = None,
    channel_lines: Sequence[float] = (),
) -> Plate:  # fmt: skip
    """Boards with free edges: the new ceiling with its channels, an old ceiling, a floating floor.

    channel_lines : x of the channels [m from the plate's own corner]; they run across the joists.
    With a channel, `strong_axis` of the layers means "along" or "across" the channels.
    """
    if channel is not None:  # boards are laid to the channels, which run along y
        turned = {"along": "across", "across": "along"}
        layers = [replace(layer, strong_axis=turned[layer.strong_axis]) for layer in layers]
    boards = section(layers)
    ribs = None
    if channel is not None and len(channel_lines):
        arm = (channel.height + boards.thickness) / 2
        ribs = Ribs(
            positions=np.asarray(channel_lines, float),
            bending=lambda k2: np.full_like(k2, channel.bending_stiffness, dtype=float),
            torsion=channel.torsional_stiffness,
            sideways=0.0,
            mass=channel.mass_per_length,
            rotary=channel.mass_per_length * (channel.height**2 / 12 + arm**2),
        )
    return Plate(
        name, length, width, boards.mass, boards.bending_x, boards.bending_y, boards.bending_nu,
        boards.twisting, loss_factor, "free", ribs_y=ribs, origin=origin,
    )  # fmt: skip


def joisted_ceiling_plate(
    layers: Sequence[Layer], joists: Joists, lines: Sequence[float], length: float, width: float,
    loss_factor: float, origin: tuple[float, float],
) -> Plate:  # fmt: skip
    """A ceiling on its own joists from wall to wall, boards below them."""
    boards = section(layers)
    return Plate(
        "ceiling", length, width, boards.mass, boards.bending_x, boards.bending_y,
        boards.bending_nu, boards.twisting, loss_factor, "supported", joists.edge_fixity, 0.0,
        joist_ribs(joists, lines, boards), None, origin,
    )  # fmt: skip

"""Springs at points, along lines and over areas, with hysteretic loss: k (1 + i eta).

Complex stiffness, as in any textbook of vibration; its values come from the design.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from impact.design.parts import Design, Joists, Perimeter
from impact.leaf import beyond
from impact.leaf.plate import Leaf
from impact.link.joint import Joint, fixed

FIXING_LOSS = 0.05  # loss factor of nails and screws in timber; common practice, no source
STEEL_SHEAR = 80e9  # Pa
# N/m2 along a joist: battens at its two sides that carry boards, in shear between joist and boards:
# 2 G h/b, softwood G = 0.6 GPa, h about b (any textbook). The nails' own slip is left out: friction
# holds them at the microns of such motions (estimate, no source).
BATTENS = 1.2e9


def points(
    name: str, leaves: tuple[int, int | None], shapes: tuple[np.ndarray, np.ndarray | None],
    stiffness: np.ndarray, loss_factor: float = 0.0,
) -> Joint:  # fmt: skip
    """Point springs between two leaves, or to ground where the second leaf is None.

    shapes : (L, n) mode shapes of each leaf at the points; stiffness : (L,) [N/m], complex
    where it holds its own loss.
    """
    held = {leaves[0]: shapes[0]}
    if leaves[1] is not None and shapes[1] is not None:
        held[leaves[1]] = -shapes[1]
    value = 1 / (np.asarray(stiffness) * (1 + 1j * loss_factor))
    return Joint(name, held, fixed(value), np.zeros(len(value)), local=True)


def between(
    name: str, leaves: Sequence[Leaf], pair: tuple[int, int], places: np.ndarray,
    stiffness: complex, loss_factor: float = 0.0,
) -> Joint:  # fmt: skip
    """Equal point springs between the two leaves of `pair`, and the dimples they press into both.

    places : (L, 2) [m, floor coordinates]; stiffness [N/m] and loss_factor as in `points`.
    """
    shapes = leaves[pair[0]].shapes(places), leaves[pair[1]].shapes(places)
    found = points(name, pair, shapes, np.full(len(places), stiffness), loss_factor)
    return replace(found, beyond={i: beyond.compliance(leaves[i], places) for i in pair})


def area(
    name: str, leaves: tuple[int, int], projections: tuple[np.ndarray, np.ndarray],
    stiffness_per_area: float, loss_factor: float, wavenumber: np.ndarray,
) -> Joint:  # fmt: skip
    """A resilient mat: every orthonormal shape over the area has the same spring per area."""
    value = np.full(len(wavenumber), 1 / (stiffness_per_area * (1 + 1j * loss_factor)))
    shapes = {leaves[0]: projections[0], leaves[1]: -projections[1]}
    return Joint(name, shapes, fixed(value), wavenumber, local=False, everywhere=1 / value[0])


def along(
    name: str, leaves: tuple[Leaf, Leaf], pair: tuple[int, int], places: np.ndarray,
    stiffness: complex,
) -> Joint:  # fmt: skip
    """Springs along lines over all of the length x between two leaves at floor coordinates y
    `places` (P,) [m]; stiffness [N/m2]. Motions are the second leaf's functions along x."""
    upper, lower = leaves
    assert upper.x.nodes is not None
    assert upper.x.weights is not None
    at = upper.x.values(upper.x.nodes) * upper.x.weights[:, None]
    shared = lower.x.values(upper.x.nodes).T @ at
    shapes = (
        upper.project(shared, upper.y.values(places)),
        -lower.project(np.eye(lower.x.count), lower.y.values(places)),
    )
    value = np.full(lower.x.count * len(places), 1 / stiffness)
    wave = np.repeat((np.arange(lower.x.count) + 1) * np.pi / lower.x.length, len(places))
    held = {i: each.reshape(len(value), -1) for i, each in zip(pair, shapes, strict=True)}
    return Joint(name, held, fixed(value), wave, local=True)


def lines(
    name: str, leaf: int, shapes: np.ndarray, stiffness: np.ndarray, loss_factor: float,
    wavenumber: np.ndarray,
) -> Joint:  # fmt: skip
    """Springs to ground along the edges of a leaf.

    shapes : (L, n) the leaf on orthonormal cosines along each edge; stiffness : (L,) line spring of
    that edge [N/m2]; wavenumber : (L,) along the edge [rad/m].
    """
    value = 1 / (np.asarray(stiffness) * (1 + 1j * loss_factor))
    return Joint(name, {leaf: shapes}, fixed(value), wavenumber, local=True)


def edge_shapes(leaf: Leaf, wall: str, count: int) -> tuple[np.ndarray, np.ndarray]:
    """A leaf on `count` orthonormal cosines along one of its edges: (count, n), and (count,)
    wavenumbers [rad/m].

    wall : "west" (x = 0), "east", "south" (y = 0) or "north". Raises KeyError for another word.
    """
    place = {"west": 0.0, "east": leaf.x.length, "south": 0.0, "north": leaf.y.length}[wall]
    if wall in ("south", "north"):
        along, across = leaf.x.cosines(count, 0.0, leaf.x.length), leaf.y.values(np.array([place]))
        shapes = leaf.project(along, across)[:, 0]
        side = leaf.x.length
    else:
        along, across = leaf.y.cosines(count, 0.0, leaf.y.length), leaf.x.values(np.array([place]))
        shapes = leaf.project(across, along)[0]
        side = leaf.y.length
    return shapes, np.arange(count) * np.pi / side


def bead_stiffness(modulus: float, depth: float, gap: float) -> float:
    """Line spring of a bonded sealant bead, G depth / width [N/m2] (simple shear)."""
    return modulus * depth / gap


def edge(perimeter: Perimeter) -> float:
    """Spring of the boards' edge to the wall per length [N/m2]: of the bead, or of what touches."""
    if perimeter.kind == "sealed":
        return bead_stiffness(perimeter.bead_modulus, perimeter.bead_depth, perimeter.gap)
    return perimeter.touching_stiffness


def face(joists: Joists) -> float:
    """Stiffness per length from a face of a joist to its middle [N/m2].

    Solid timber: 2 E90 b/d; E90 = E/30 and G = E/16 give E90 = 16 G/30, ratios of the softwood
    classes of EN 338 (from memory, check the standard); G from the given shear stiffness G b d 5/6.
    Steel channel: board on the middle of a flange, a = b/2 from the web; the flange bends as a
    cantilever, the web turns with its far end held: 1/(a^3/3B + a^2 d/4B), B = E t^3/12(1 - nu^2),
    t from the given shear stiffness G t d (beam theory, derived here). Other kinds are left stiff
    for want of data.
    """
    if joists.kind not in ("solid", "steel") or not np.isfinite(joists.shear_stiffness):
        return float("inf")
    if joists.kind == "steel":
        thickness = joists.shear_stiffness / (STEEL_SHEAR * joists.depth)
        plate = 2.6 * STEEL_SHEAR * thickness**3 / 12 / (1 - 0.3**2)
        arm = joists.width / 2
        return float(plate / (arm**3 / 3 + arm**2 * joists.depth / 4))
    shear = joists.shear_stiffness / (joists.width * joists.depth * 5 / 6)
    return 2 * 16 / 30 * shear * joists.width / joists.depth


def crush(joists: Joists) -> float:
    """Stiffness per length from face to face of a joist, E90 b/d [N/m2], half that of `face`; inf
    but of solid timber."""
    return face(joists) / 2 if joists.kind == "solid" else float("inf")


def fixing(design: Design, seat: bool = True) -> complex:
    """Stiffness of one point that holds the new ceiling [N/m]; 0 where none does.

    Hangers and channels as drawn; of screws and nails straight into the joist, `seated`, or without
    its seat.
    """
    hangers = design.hangers
    if hangers is None:
        return 0j
    own = hangers.dynamic_stiffness * (1 + 1j * hangers.loss_factor)
    direct = hangers.kind == "direct" and seat
    return seated(design, own, hangers.channel_spacing) if direct else own


def old_fixing(design: Design, seat: bool = True) -> complex:
    """Stiffness of one screw or nail of the old ceiling [N/m], `seated`, or without its seat."""
    old = design.old_ceiling
    assert old is not None
    own = old.fixing_stiffness * (1 + 1j * FIXING_LOSS)
    return seated(design, own, old.fixing_spacing) if seat else own


def seated(design: Design, own: complex, spacing: float) -> complex:
    """A screw or nail of stiffness `own` [N/m], every `spacing` [m], in series with its share of
    the joist's own `face` [N/m]."""
    joists = design.floor.joists
    return own if joists is None else 1 / (1 / own + 1 / (face(joists) * spacing))

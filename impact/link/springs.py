"""Springs at points, along lines and over areas, with hysteretic loss: k (1 + i eta).

Complex stiffness, as in any textbook of vibration; its values come from the design.
"""

from __future__ import annotations

import numpy as np

from impact.leaf.plate import Leaf
from impact.link.joint import Joint

FIXING_LOSS = 0.05  # loss factor of nails and screws in timber; common practice, no source


def points(
    name: str, leaves: tuple[int, int | None], shapes: tuple[np.ndarray, np.ndarray | None],
    stiffness: np.ndarray, loss_factor: float,
) -> Joint:  # fmt: skip
    """Point springs between two leaves, or to ground where the second leaf is None.

    shapes : (L, n) mode shapes of each leaf at the points; stiffness : (L,) [N/m].
    """
    held = {leaves[0]: shapes[0]}
    if leaves[1] is not None and shapes[1] is not None:
        held[leaves[1]] = -shapes[1]
    value = 1 / (np.asarray(stiffness, float) * (1 + 1j * loss_factor))
    return Joint(name, held, lambda omega: value, np.zeros(len(value)), local=True)


def area(
    name: str, leaves: tuple[int, int], projections: tuple[np.ndarray, np.ndarray],
    stiffness_per_area: float, loss_factor: float, wavenumber: np.ndarray,
) -> Joint:  # fmt: skip
    """A resilient mat: every orthonormal shape over the area has the same spring per area."""
    value = np.full(len(wavenumber), 1 / (stiffness_per_area * (1 + 1j * loss_factor)))
    shapes = {leaves[0]: projections[0], leaves[1]: -projections[1]}
    return Joint(name, shapes, lambda omega: value, wavenumber, local=False)


def lines(
    name: str, leaf: int, shapes: np.ndarray, stiffness: np.ndarray, loss_factor: float,
    wavenumber: np.ndarray,
) -> Joint:  # fmt: skip
    """Springs to ground along the edges of a leaf.

    shapes : (L, n) the leaf on orthonormal cosines along each edge; stiffness : (L,) line spring of
    that edge [N/m2]; wavenumber : (L,) along the edge [rad/m].
    """
    value = 1 / (np.asarray(stiffness, float) * (1 + 1j * loss_factor))
    return Joint(name, {leaf: shapes}, lambda omega: value, wavenumber, local=True)


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

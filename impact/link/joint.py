"""A link: relative motions between leaves, each opposed by a stiffness of its own.

Motion number l of a link is delta_l = sum over leaves B_leaf[l] . q_leaf; its force is
k_l(omega) delta_l. Area links use orthonormal shapes over the area, point links the points.
Any textbook of structural dynamics has it; `impact.motion.stack` says how links are solved.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

EVERY = slice(None)


@dataclass(frozen=True, eq=False)
class Joint:
    """One link, ready for the stack.

    name : as printed ("air", "hangers", "perimeter", ...).
    shapes : leaf index -> (L, n_leaf) signed shapes [kg^-1/2 times the shape's own unit].
    compliance : (omega [rad/s], places of L' motions, all unless given) -> (L',) complex 1/k, so
        that a rigid tie is 0 and not infinite. For several omega (F,) it is (F, L') where it
        depends on them.
    wavenumber : (L,) [rad/m] of each motion of an area link; zeros for points (never left out).
    local : True for points and lines, whose static compliance of high modes must be kept.
    undamped : omega -> (spring (L,), inertia (L,)) of the same link without its losses: each motion
        is a spring in series with an inertia (infinite: to rest). None: a spring, 1/Re compliance.
    waves : for the air, kx and ky (L,) [rad/m] of its motions.
    beyond : leaf index -> (L,) complex compliance [m/N] that the leaf's modes lack at the points of
        a link (`impact.leaf.beyond`).
    cut : of the gap at an open edge, (omega, K) -> compliance beside air whose motions are kept up
        to wavenumber K [rad/m]. None: they do not matter.
    everywhere : spring of a mat that lies under all of a leaf [N/m3], the same for every wave.
    faces : of such a mat, omega (…,) -> what either leaf feels of it beside the spring [N/m3].
    """

    name: str
    shapes: dict[int, np.ndarray]
    compliance: Callable[..., np.ndarray]
    wavenumber: np.ndarray
    local: bool
    undamped: Callable[[float], tuple[np.ndarray, np.ndarray]] | None = None
    waves: tuple[np.ndarray, np.ndarray] | None = None
    beyond: dict[int, np.ndarray] = field(default_factory=dict)
    everywhere: complex = 0j
    faces: Callable[[Any], np.ndarray] | None = None
    cut: Callable[[Any, float], np.ndarray] | None = None

    @property
    def count(self) -> int:
        """Number of motions L."""
        return len(self.wavenumber)


def fixed(value: np.ndarray) -> Callable[..., np.ndarray]:
    """Compliance of motions (L,) that is the `value` at any frequency [unit of the joint's]."""
    return lambda omega, places=EVERY: value[places]

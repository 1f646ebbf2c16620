"""The stack as one undamped system in displacements: its modes.

The same leaves and links as `impact.motion.stack`, in the stiffness form, where rigid motions and
zero frequency need no special care. A motion of an air layer that flows sideways is a spring in
series with an inertia, which adds one coordinate.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eigh

from impact.leaf.vented import vents
from impact.link.joint import Joint
from impact.motion import halves
from impact.motion.halves import Rows, Share
from impact.motion.stack import Stack

REACH = 2.5  # modes of the leaves to this multiple of the highest frequency


@dataclass(frozen=True, eq=False)
class Whole:
    """stiffness (N, N), mass (N,) of modal coordinates (unit mass) and added inertias.

    keep : per leaf, places of its modes; starts : (leaves + 1,) where each leaf's block begins.
    """

    stiffness: np.ndarray
    mass: np.ndarray
    keep: tuple[np.ndarray, ...]
    starts: np.ndarray

    def block(self, leaf: int) -> slice:
        """Coordinates of one leaf."""
        return slice(int(self.starts[leaf]), int(self.starts[leaf + 1]))


@dataclass(frozen=True)
class CoupledMode:
    """One undamped mode of the whole.

    frequency : Hz. share : kinetic energy of each leaf in its own mass, top down, and last that of
    air that sloshes; sums to 1. heave : 0..1, how far the lowest leaf moves as one, which is what
    radiates at low frequency.
    """

    frequency: float
    share: tuple[float, ...]
    heave: float


def build(share: Share, omega: float, highest: float) -> Whole:
    """Whole system, or a mirror's share of it, in the leaf modes up to `highest` [Hz], with links
    as they are at omega [rad/s]."""
    keep, starts = kept_modes(share, highest)
    n = int(starts[-1])
    blocks, inertias = [], []
    stiffness = np.diag(squares(share.stack, keep))
    for joint, rows in zip(share.stack.joints, share.rows, strict=True):
        shapes = gathered(rows, starts)
        spring, inertia = (part[rows.motion] for part in spring_and_inertia(joint, omega))
        stiffness += (shapes.T * spring) @ shapes
        free = flows(inertia)
        blocks.append((-(shapes[free].T * spring[free]), spring[free]))
        inertias.append(inertia[free])
    added = np.concatenate(inertias) if inertias else np.zeros(0)
    full = np.zeros((n + len(added), n + len(added)))
    full[:n, :n] = stiffness
    at = n
    for beside, own in blocks:
        end = at + len(own)
        full[:n, at:end] = beside
        full[at:end, :n] = beside.T
        full[np.arange(at, end), np.arange(at, end)] = own
        at = end
    return Whole(full, np.concatenate([np.ones(n), added]), keep, starts)


def kept_modes(share: Share, highest: float) -> tuple[tuple[np.ndarray, ...], np.ndarray]:
    """Per leaf the places of its modes up to `highest` [Hz], and (leaves + 1,) where they begin."""
    keep = tuple(
        own[leaf.omega[own] <= 2 * np.pi * highest]
        for leaf, own in zip(share.stack.leaves, share.modes, strict=True)
    )
    return keep, np.concatenate([[0], np.cumsum([len(k) for k in keep])])


def squares(stack: Stack, keep: tuple[np.ndarray, ...]) -> np.ndarray:
    """omega_n² (n,) [rad²/s²] of the kept modes, leaf by leaf."""
    return np.concatenate([leaf.omega[k] ** 2 for leaf, k in zip(stack.leaves, keep, strict=True)])


def gathered(rows: Rows, starts: np.ndarray) -> np.ndarray:
    """Shapes of the kept modes of all leaves on the motions of a joint (L, n) [kg^-1/2 m, or as the
    joint has them]."""
    shapes = np.zeros((len(rows.motion), int(starts[-1])))
    for i, values in rows.shapes.items():
        shapes[:, starts[i] : starts[i + 1]] = values[:, : starts[i + 1] - starts[i]]
    return shapes


def flows(inertia: np.ndarray) -> np.ndarray:
    """Which motions (L,) have an inertia in series so small that they give way. In kg, or kg/m2
    for orthonormal motions over an area."""
    return np.isfinite(inertia) & (inertia < 1e6)


def spring_and_inertia(joint: Joint, omega: float) -> tuple[np.ndarray, np.ndarray]:
    """Undamped spring of every motion of a joint at omega [rad/s] and the inertia in series with it
    (L,) each: [N/m] and [kg], or per area; inf where there is none."""
    if joint.undamped is not None:
        return joint.undamped(omega)
    spring = 1 / np.real(joint.compliance(omega))
    return spring, np.full(joint.count, np.inf)


def coupled_modes(stack: Stack, highest: float = 100.0, air_at: float = 30.0) -> list[CoupledMode]:
    """Undamped modes below `highest` [Hz] with each leaf's share of the motion.

    Filled air is taken as it is at `air_at` [Hz]. Rigid motions at 0 Hz are left out.
    """
    lowest = stack.leaves[-1]
    ones = lowest.project(
        lowest.x.cosines(1, 0.0, lowest.x.length), lowest.y.cosines(1, 0.0, lowest.y.length)
    )[0, 0]
    ones[: vents(lowest)] = 0.0
    total = float(np.sum(ones[lowest.omega <= 2 * np.pi * REACH * highest] ** 2))
    found = []
    for share in halves.apart(stack):
        found += _of_share(share, 2 * np.pi * air_at, highest, ones / np.sqrt(total))
    return sorted(found, key=lambda mode: mode.frequency)


def _of_share(share: Share, omega: float, highest: float, heave: np.ndarray) -> list[CoupledMode]:
    """heave : (n,) what every mode of the lowest leaf has of motion as one, squares adding to 1."""
    whole, last = build(share, omega, REACH * highest), len(share.modes) - 1
    in_gap = whole.keep[last] < vents(share.stack.leaves[-1])  # air, counted as such
    root = np.sqrt(whole.mass)
    squares, vectors = eigh(
        whole.stiffness / root / root[:, None], subset_by_value=(1.0, (2 * np.pi * highest) ** 2)
    )
    found = []
    for square, vector in zip(squares, vectors.T, strict=True):
        parts = [float(np.sum(vector[whole.block(i)] ** 2)) for i in range(last + 1)]
        parts[last] -= float(np.sum(vector[whole.block(last)][in_gap] ** 2))
        parts.append(max(0.0, 1 - sum(parts)))
        as_one = float(heave[whole.keep[last]] @ vector[whole.block(last)]) ** 2
        found.append(CoupledMode(float(np.sqrt(square)) / (2 * np.pi), tuple(parts), as_one))
    return found

"""Other floors, points and edges in the small system: single inputs at their ends, or all moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.design.parts import Design
from impact.link import springs
from impact.motion import stack as stacks
from impact.spread.condensed import EDGE, Small
from impact.spread.inputs import END, Input
from impact.spread.values import VALUES

Extra = tuple[np.ndarray, np.ndarray]  # stiffness [1/s²] and mass [-] added to a leaf's modes


@dataclass(frozen=True, eq=False)
class Variants:
    """V variants of a design.

    stiffness, mass : (V, N, N) added to the floor's modes; loss : (V,) to its loss factor.
    points, edge : (V,) complex compliance of hangers and of the edge; NaN where there are none.
    """

    stiffness: np.ndarray
    mass: np.ndarray
    loss: np.ndarray
    points: np.ndarray
    edge: np.ndarray

    def __len__(self) -> int:
        return len(self.loss)

    def some(self, which: np.ndarray) -> Variants:
        """Those at the given places."""
        return Variants(*(part[which] for part in vars(self).values()))

    def dynamic(self, reduced: stacks.Reduced, one: Small) -> np.ndarray:
        """The kept leaves' modal dynamic stiffness (V, n, n)."""
        return floor_system(reduced, one, (self.stiffness, self.mass), self.loss)

    def compliance(self, reduced: stacks.Reduced, one: Small) -> np.ndarray:
        """(V, R) of the links that stay in the small system."""
        names = reduced.names[one.rows]
        out = np.where(names == EDGE, self.edge[:, None], self.points[:, None])
        return np.where(np.isnan(out), one.compliance, out)


def variants(base: Design, designs: Sequence[Design], extra: Sequence[Extra | None], count: int
             ) -> Variants:  # fmt: skip
    """Of changed designs. extra : of each, stiffness and mass (count, count); None for none."""
    stiffness, mass = np.zeros((2, len(designs), count, count))
    for number, own in enumerate(extra):
        if own is not None:
            stiffness[number], mass[number] = own
    loss = np.array([loss_of(design) - loss_of(base) for design in designs])
    points = np.array([_points(design) for design in designs])
    return Variants(stiffness, mass, loss, points, np.array([_edge(one) for one in designs]))


def loss_of(design: Design) -> float:
    """Loss factor of the floor with what lies loose between its joists."""
    return design.floor.whole_loss


def _points(design: Design) -> complex:
    if design.hangers is None:
        return complex(np.nan)
    return 1 / springs.fixing(design)


def _edge(design: Design) -> complex:
    edge = design.ceiling.perimeter
    if edge.kind == "free":
        return complex(np.nan)
    return 1 / (springs.edge(edge) * (1 + 1j * edge.bead_loss_factor))


def floor_system(
    reduced: stacks.Reduced, one: Small, extra: Extra | None, loss: float | np.ndarray
) -> np.ndarray:
    """Modal dynamic stiffness (…, n, n) of the kept leaves with other floors.

    extra : stiffness and mass (…, N, N) added to the floor's modes, see `Frame.difference`; loss :
    (…) added to its loss factor.
    """
    own = np.asarray(loss)[..., None, None]
    dynamic = np.diag(one.dynamic) + np.zeros_like(own)
    start = 0
    for i in one.kept:
        leaf, count = reduced.stack.leaves[i], len(reduced.keep[i])
        if leaf.name == "floor":
            block = 1j * own * np.diag(leaf.omega[:count] ** 2)
            if extra is not None:
                stiffness, mass = (part[..., :count, :count] for part in extra)
                block = block + stiffness * (1 + 1j * (leaf.loss_factor + own))
                block = block - one.omega**2 * mass
            dynamic[..., start : start + count, start : start + count] += block
        start += count
    return dynamic


def share(item: Input, design: Design, z: float) -> float:
    """How much of the way to the end of its range on that side an input has gone at z, in the
    quantity that enters the energies (`impact.spread.values`)."""
    value = VALUES[item.key]
    base, here, end = (value(item.change(design, at)) for at in (0.0, z, END if z > 0 else -END))
    return float((here - base) / (end - base)) if end != base else abs(z) / END


def added_by(
    items: Sequence[Input], kind: str, ends: Sequence[tuple[Extra | None, ...]], design: Design,
    z: np.ndarray,
) -> list[Extra | None]:  # fmt: skip
    """Stiffness and mass of a leaf with all inputs of a kind moved by z (draws, inputs): each by
    its share of what it adds at its ends, which is small enough to add.

    ends : of each input what it adds at its low and at its high end, None for nothing.
    """
    out: list[Extra | None] = [None] * len(z)
    for i, item in enumerate(items):
        if item.kind != kind or ends[i][0] is None:
            continue
        shares = {own: share(item, design, own) for own in np.unique(z[:, i]).tolist()}
        for run, own in enumerate(z[:, i].tolist()):
            end = ends[i][int(own > 0)]
            before = out[run]
            assert end is not None
            added = shares[own] * end[0], shares[own] * end[1]
            out[run] = added if before is None else (before[0] + added[0], before[1] + added[1])
    return out

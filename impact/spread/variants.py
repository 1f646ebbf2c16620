"""Other floors and hangers in the small system: single inputs at their ends, or all moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from impact.design.parts import Design
from impact.leaf.plate import Plate
from impact.link import springs
from impact.motion.assemble import floor_plates
from impact.motion.stack import Stack
from impact.spread.elimination import Small
from impact.spread.inputs import END, Input
from impact.spread.states import Extra
from impact.spread.values import VALUES


@dataclass(frozen=True, eq=False)
class Variants:
    """V variants of a design.

    stiffness, mass : (V, N, N) added to the floor's modes; loss : (V,) to its loss factor.
    points : (V,) complex compliance of hangers at rest; NaN where there are none. drawn : (V,) that
    of the design.
    """

    stiffness: np.ndarray
    mass: np.ndarray
    loss: np.ndarray
    points: np.ndarray
    drawn: np.ndarray

    def __len__(self) -> int:
        return len(self.loss)

    def some(self, which: np.ndarray | slice) -> Variants:
        """Those at the given places."""
        return Variants(*(part[which] for part in vars(self).values()))

    def dynamic(self, stack: Stack, one: Small) -> np.ndarray:
        """The kept leaves' modal dynamic stiffness (V, F, n, n)."""
        return floor_system(stack, one, (self.stiffness, self.mass), self.loss)

    def compliance(self, one: Small) -> np.ndarray:
        """(V, F, R) of the hangers."""
        points = self.points[:, None, None] * (one.compliance / self.drawn[:, None, None])
        return np.where(np.isnan(points), one.compliance, points)


def variants(base: Design, designs: Sequence[Design], extra: Sequence[Extra | None], count: int
             ) -> Variants:  # fmt: skip
    """Of changed designs. extra : of each, stiffness and mass (count, count); None for none."""
    stiffness, mass = np.zeros((2, len(designs), count, count))
    for number, own in enumerate(extra):
        if own is not None:
            stiffness[number], mass[number] = own
    loss = np.array([loss_of(design) - loss_of(base) for design in designs])
    points = np.array([_points(design) for design in designs])
    return Variants(stiffness, mass, loss, points, np.full(len(points), _points(base)))


def in_variants(items: Sequence[Input]) -> np.ndarray:
    """(inputs,) whether an input moves the floor's loss or the points, a screw's seat in the joist
    included: what `variants` takes from designs, not from modes."""
    return np.array([
        item.kind == "points" or (item.kind == "floor" and item.part == "damping")
        or item.key == "joist_stiffness" for item in items
    ], bool)  # fmt: skip


def plate_of(design: Design, moved: Design) -> Plate:
    """The floor of `moved`, its joists carrying what its loose fill weighs more than the design's:
    fill on boards goes with the joists below the boards' own resonance."""
    plate = floor_plates(moved)[-1]
    more = moved.floor.fill_mass - design.floor.fill_mass
    if plate.ribs_x is None or more == 0 or moved.floor.joists is None:
        return plate
    mass = plate.ribs_x.mass + more * moved.floor.joists.spacing
    return replace(plate, ribs_x=replace(plate.ribs_x, mass=mass))


def loss_of(design: Design) -> float:
    """Loss factor of the floor with what lies loose between its joists."""
    return design.floor.whole_loss


def _points(design: Design) -> complex:
    # waves inside them are as drawn: what moves their resonance is heard above the modes
    if design.hangers is None:
        return complex(np.nan)
    return 1 / springs.fixing(design)


def floor_system(
    stack: Stack, one: Small, extra: Extra, loss: float | np.ndarray
) -> np.ndarray:  # fmt: skip
    """Modal dynamic stiffness (V, F, n, n) of the kept leaves with V other floors.

    extra : stiffness and mass (V, N, N) added to the floor's modes, see `Frame.difference`; loss :
    (V,) added to its loss factor.
    """
    mine = np.flatnonzero(one.floor >= 0)
    places = one.floor[mine]
    stiffness, mass = (part[:, places[:, None], places] for part in extra)
    leaf = next(leaf for leaf in stack.leaves if leaf.name == "floor")
    own = np.asarray(loss)[:, None, None]
    more = stiffness * (1 + 1j * (leaf.loss_factor + own))
    diagonal = np.arange(len(mine))
    more[:, diagonal, diagonal] += 1j * own[:, 0] * leaf.omega[places] ** 2
    modes = len(one.floor)
    out = np.zeros((len(mass), len(one.omega), modes, modes), complex)
    out[..., mine[:, None], mine] = more[:, None] - one.omega[:, None, None] ** 2 * mass[:, None]
    diagonal = np.arange(modes)
    out[..., diagonal, diagonal] += one.dynamic
    return out


def shares(item: Input, design: Design, z: np.ndarray) -> np.ndarray:
    """How much of the way to the end of its range on that side an input has gone at z (n,), in the
    quantity that enters the energies (`impact.spread.values`)."""
    value = VALUES[item.key]
    base, low, high = (value(item.change(design, at)) for at in (0.0, -END, END))
    different, place = np.unique(z, return_inverse=True)
    ends = np.where(different > 0, high, low)
    here = np.array([value(item.change(design, at)) for at in different.tolist()])
    same = ends == base
    share = np.where(
        same, np.abs(different) / END, (here - base) / np.where(same, 1.0, ends - base)
    )
    return np.asarray(share[place])


def added_by(
    items: Sequence[Input], kind: str, ends: Sequence[tuple[Extra | None, ...]], design: Design,
    z: np.ndarray,
) -> list[Extra | None]:  # fmt: skip
    """Stiffness and mass of a leaf with all inputs of a kind moved by z (draws, inputs): each by
    its share of what it adds at its ends, which is small enough to add.

    ends : of each input what it adds at its low and at its high end, None for nothing.
    """
    whole: np.ndarray | None = None
    for i, item in enumerate(items):
        if item.kind != kind or ends[i][0] is None:
            continue
        share = shares(item, design, z[:, i])
        by_end = np.stack([np.where(z[:, i] > 0, 0.0, share), np.where(z[:, i] > 0, share, 0.0)])
        added = np.tensordot(by_end, np.array(ends[i]), (0, 0))
        whole = added if whole is None else whole + added
    if whole is None:
        return [None] * len(z)
    return [(stiffness, mass) for stiffness, mass in whole]

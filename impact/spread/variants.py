"""Other floors and hangers in the small system: single inputs at their ends, or all moved."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from impact.design.parts import Design
from impact.leaf.plate import Plate
from impact.link import springs
from impact.motion.assemble import floor_plates
from impact.motion.stack import Stack
from impact.spread.elimination import Small
from impact.spread.inputs import END, Input, changed
from impact.spread.states import Extra
from impact.spread.values import VALUES


@dataclass(frozen=True, eq=False)
class Variants:
    """V variants of a design.

    share : (V, E) how much each has of E changes of the floor; stiffness, mass : (E, N, N) what
    these add to its modes. loss : (V,) added to its loss factor.
    points : (V,) complex compliance of hangers at rest; NaN where there are none. drawn : (V,) that
    of the design.
    """

    share: np.ndarray
    stiffness: np.ndarray
    mass: np.ndarray
    loss: np.ndarray
    points: np.ndarray
    drawn: np.ndarray

    def __len__(self) -> int:
        return len(self.loss)

    def some(self, which: np.ndarray | slice) -> Variants:
        """Those at the given places."""
        own = (part[which] for part in (self.loss, self.points, self.drawn))
        return Variants(self.share[which], self.stiffness, self.mass, *own)

    def dynamic(self, stack: Stack, one: Small) -> np.ndarray:
        """The kept leaves' modal dynamic stiffness (V, F, n, n)."""
        mine = np.flatnonzero(one.floor >= 0)
        places = one.floor[mine]
        stiffness, mass = (
            np.tensordot(self.share, part[:, places[:, None], places], 1)
            for part in (self.stiffness, self.mass)
        )
        leaf = next(leaf for leaf in stack.leaves if leaf.name == "floor")
        own = self.loss[:, None, None]
        more = stiffness * (1 + 1j * (leaf.loss_factor + own))
        diagonal = np.arange(len(mine))
        more[:, diagonal, diagonal] += 1j * own[:, 0] * leaf.omega[places] ** 2
        modes = len(one.floor)
        out = np.zeros((len(self), len(one.omega), modes, modes), complex)
        moved = more[:, None] - one.omega[:, None, None] ** 2 * mass[:, None]
        out[..., mine[:, None], mine] = moved
        diagonal = np.arange(modes)
        out[..., diagonal, diagonal] += one.dynamic
        return out

    def compliance(self, one: Small) -> np.ndarray:
        """(V, F, R) of the hangers."""
        points = self.points[:, None, None] * (one.compliance / self.drawn[:, None, None])
        return np.where(np.isnan(points), one.compliance, points)


def variants(base: Design, designs: Sequence[Design], extra: Sequence[Extra | None], count: int
             ) -> Variants:  # fmt: skip
    """Of changed designs. extra : of each, stiffness and mass (count, count); None for none."""
    share, stiffness, mass = _parts(extra, np.eye(len(designs)), count)
    loss = np.array([loss_of(design) - loss_of(base) for design in designs])
    points = np.array([_points(design) for design in designs])
    drawn = np.full(len(points), _points(base))
    return Variants(share, stiffness, mass, loss, points, drawn)


def at_once(
    base: Design, items: Sequence[Input], z: np.ndarray, extra: Sequence[Extra | None], count: int
) -> Variants:  # fmt: skip
    """With all inputs of floor and points moved by z (draws, inputs). extra : stiffness and mass
    (count, count) of each input at its low, then at its high end; None for none."""
    share, stiffness, mass = _parts(extra, by_end(items, "floor", base, z), count)
    damps = [item.kind == "floor" and item.part == "damping" for item in items]
    # the seat of a screw is in the joist
    seated = base.hangers is not None and base.hangers.kind == "direct"
    holds = [
        item.kind == "points" or (seated and item.key == "joist_stiffness") for item in items
    ]  # fmt: skip
    loss, points = (
        _of_each(base, items, np.where(moved, z, 0.0), value)
        for moved, value in ((damps, loss_of), (holds, _points))
    )
    drawn = np.full(len(z), _points(base))
    return Variants(share, stiffness, mass, loss - loss_of(base), points, drawn)


def _parts(
    extra: Sequence[Extra | None], share: np.ndarray, count: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Shares, stiffness and mass of those changes of the floor that are there."""
    there = [(number, own) for number, own in enumerate(extra) if own is not None]
    stiffness, mass = np.zeros((2, len(there), count, count))
    for place, (_, own) in enumerate(there):
        stiffness[place], mass[place] = own
    return share[:, [number for number, _ in there]], stiffness, mass


def _of_each(
    base: Design, items: Sequence[Input], z: np.ndarray, value: Callable[[Design], complex]
) -> np.ndarray:
    """A number (draws,) of the designs at z (draws, inputs), found once for those alike."""
    different, place = np.unique(z, axis=0, return_inverse=True)
    return np.array([value(changed(base, items, row)) for row in different])[place.ravel()]


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


def by_end(items: Sequence[Input], kind: str, design: Design, z: np.ndarray) -> np.ndarray:
    """How much of what each input adds to a leaf's modes at its low and at its high end floors at z
    (draws, inputs) have (draws, 2 inputs), which is small enough to add; 0 for other kinds than
    `kind` and for damping, which adds nothing."""
    out = np.zeros((len(z), len(items), 2))
    for i, item in enumerate(items):
        if item.kind == kind and item.part != "damping":
            high = (z[:, i] > 0).astype(int)
            out[np.arange(len(z)), i, high] = shares(item, design, z[:, i])
    return out.reshape(len(z), -1)


def added(extra: Sequence[Extra | None], share: np.ndarray) -> Extra | None:
    """Sum of the stiffness and mass of ends by how much there is of each (ends,); None for none."""
    there = [(own, part) for own, part in zip(extra, share, strict=True) if own is not None]
    if not there:
        return None
    stiffness, mass = (sum(part * own[side] for own, part in there) for side in (0, 1))
    return np.asarray(stiffness), np.asarray(mass)

"""Other boards, air, edges and fixings: states of what the small system leaves out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.design.parts import Design
from impact.leaf.vented import Vented
from impact.link import cavity, slot, springs
from impact.link.gaps import lowest_gap
from impact.spread.elimination import Lines
from impact.spread.inputs import Input
from impact.spread.values import VALUES

Extra = tuple[np.ndarray, np.ndarray]  # stiffness [1/s²] and mass [-] added to a leaf's modes
EDGE, OLD = "perimeter", "old fixings"


@dataclass(frozen=True, eq=False)
class State:
    """A design whose inputs `items` differ from those of the design that was solved.

    boards : what its boards add to the modes of the lowest leaf, diagonals (n,); None for nothing.
    loss : added to their loss factor. factors : of each joint's name, or the beginning of several,
    how many times stiffer it is.
    """

    design: Design
    items: tuple[Input, ...]
    boards: Extra | None
    loss: float
    factors: dict[str, float]

    def stiffened(self, at: Lines) -> np.ndarray:
        """(F, n) what the boards' state adds to D of the radiating leaf of a part."""
        reduced = at.reduced
        place = reduced.stack.radiating
        leaf, keep = reduced.stack.leaves[place], reduced.keep[place]
        out = np.zeros((len(at.omega), len(keep)), complex)
        out += 1j * self.loss * leaf.omega[keep] ** 2
        if self.boards is not None:
            stiffness, mass = (part[keep] for part in self.boards)
            out += stiffness * (1 + 1j * (leaf.loss_factor + self.loss))
            out -= at.omega[:, None] ** 2 * mass
        return out

    def compliance(self, at: Lines) -> np.ndarray:
        """(F, L) compliances of the links of a part."""
        out = at.own.copy()
        alike = {EDGE: edge, OLD: old_fixing}
        moved = {item.part for item in self.items}
        for number, joint in enumerate(at.reduced.stack.joints):
            rows = at.reduced.rows[number]
            if joint.name in alike and joint.name in moved:
                out[:, rows] = alike[joint.name](self.design)
            elif joint.name == "air" and any(item.kind == "air" for item in self.items):
                out[:, rows] = _air(at, number, lowest_gap(self.design))
            elif joint.name == slot.NAME and any(item.kind == "air" for item in self.items):
                out[:, rows] = _in_gap(at, number, lowest_gap(self.design))
            else:
                for name, factor in self.factors.items():
                    if joint.name.startswith(name):
                        out[:, rows] /= factor
        return out


def _air(at: Lines, number: int, gap: cavity.Gap) -> np.ndarray:
    """Compliances of the motions of a joint of air with another gap; states share few."""
    if (number, gap) not in at.air:
        joint = at.reduced.stack.joints[number]
        assert joint.waves is not None
        which = at.reduced.motion_of[at.reduced.rows[number]]
        kx, ky = (wave[which] for wave in joint.waves)
        at.air[number, gap] = cavity.at_lines(gap, at.omega, kx, ky)
    return at.air[number, gap]


def _in_gap(at: Lines, number: int, gap: cavity.Gap) -> np.ndarray:
    """Compliances of the air in an open edge below another gap."""
    reduced = at.reduced
    edge = reduced.stack.leaves[reduced.stack.radiating]
    assert isinstance(edge, Vented)
    found = slot.compliance(edge, gap, at.omega[:, None], reduced.reach)
    return found[:, reduced.motion_of[reduced.rows[number]]]


def state(base: Design, changed: Design, items: Sequence[Input], boards: Extra | None) -> State:
    """Of a design `changed` in `items` from `base`; boards : as of `State`."""
    links = [item for item in items if item.kind == "link" and item.part not in (EDGE, OLD)]
    factors = {item.part: factor(item, base, changed) for item in links}
    loss = changed.ceiling.loss_factor - base.ceiling.loss_factor
    return State(changed, tuple(items), boards, loss, factors)


def factor(item: Input, base: Design, changed: Design) -> float:
    """How many times larger the quantity of an input is in another design."""
    value = VALUES[item.key]
    before = value(base)
    return float(value(changed) / before) if before else 1.0


def edge(design: Design) -> complex:
    """Compliance per length of the ceiling's edge [m²/N]; NaN where it is free."""
    perimeter = design.ceiling.perimeter
    if perimeter.kind == "free":
        return complex(np.nan)
    return 1 / (springs.edge(perimeter) * (1 + 1j * perimeter.bead_loss_factor))


def old_fixing(design: Design) -> complex:
    """Compliance of one screw or nail of the old ceiling [m/N]."""
    return 1 / springs.old_fixing(design)

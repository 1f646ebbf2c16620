"""What unit forces on a stack do: power, mobility, and the motion of its leaves.

Power and mobility follow from the forces alone,

    W = sum over the ways of the sound of |reaction|²/weight ,
    Y = i omega ( phi . D^-1 phi - drive . forces ) ,

so that the leaves' modes, which take more time, are moved only where they are asked for; see
`impact.motion.stack` for the signs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from impact.base.levels import squared
from impact.link.joint import EVERY
from impact.motion.products import in_a_row, times
from impact.motion.reduced import Reduced
from impact.sound.radiation import Pattern


@dataclass(frozen=True, eq=False)
class Answer:
    """Response to unit rms point forces at P places on the walked leaf, at one frequency or more.

    omega : (…,) [rad/s]. inverse : per leaf 1/D (…, n) of the kept modes. struck : (n_s, P) and
    drive : (…, L, P) as of `stack.Line`. use : (L',) links in use. both : (…, L' + Q, P) their
    forces [-], then the sound's reaction where it loads the leaf.
    """

    reduced: Reduced
    omega: Any
    inverse: tuple[np.ndarray, ...]
    pattern: Pattern
    struck: np.ndarray
    drive: np.ndarray
    use: np.ndarray
    both: np.ndarray
    known: dict[int, np.ndarray] = field(default_factory=dict, init=False, repr=False)

    @property
    def forces(self) -> np.ndarray:
        """(…, L', P) of the links that are in use [-]."""
        return self.both[..., : len(self.use), :]

    @property
    def _sound(self) -> np.ndarray:
        return self.both[..., len(self.use) :, :]

    @property
    def _wide(self) -> np.ndarray:
        return np.asarray(self.omega, float)[..., None]

    @cached_property
    def power(self) -> np.ndarray:
        """(…, P) radiated [W/N²]."""
        weight = self.pattern.weight[..., None, :]
        if self.reduced.loaded:  # the reaction is i omega weight times what is heard
            return np.asarray((1 / weight @ squared(self._sound))[..., 0, :])
        heard = times(self.pattern.rows, self.of(self.reduced.stack.radiating))
        return np.asarray((weight @ squared(heard))[..., 0, :] * self._wide**2)

    @cached_property
    def mobility(self) -> np.ndarray:
        """(…, P) complex driving-point [m/(N s)]."""
        stack = self.reduced.stack
        every = len(self.use) == self.drive.shape[-2]
        drive = self.drive if every else self.drive[..., self.use, :]
        moved = self.inverse[stack.walked] @ self.struck**2
        moved -= np.einsum("...lp,...lp->...p", drive, self.forces)
        if stack.walked == stack.radiating and self.reduced.loaded:
            force = self.inverse[stack.walked][..., None] * self.struck
            direct = times(self.pattern.rows, force)
            moved -= np.einsum("...qp,...qp->...p", direct, self._sound)
        return np.asarray(1j * self._wide * moved)

    def of(self, leaf: int) -> np.ndarray:
        """(…, n, P) modal displacements [kg^1/2 m/N] of the kept modes of one leaf, found once."""
        if leaf not in self.known:
            self.known[leaf] = self.under(leaf)
        return self.known[leaf]

    def under(self, leaf: int, columns: slice = EVERY) -> np.ndarray:
        """(…, n, P') modal displacements of one leaf as in `of`, under some of the forces."""
        if leaf in self.known:
            return self.known[leaf][..., columns]
        shapes, places = self._touching(leaf)
        push = -times(shapes.T, self.forces[..., places, columns])
        if leaf == self.reduced.stack.walked:
            push += self.struck[:, columns]
        if leaf == self.reduced.stack.radiating and self.reduced.loaded:
            push -= times(self.pattern.rows.swapaxes(-1, -2), self._sound[..., columns])
        push *= self.inverse[leaf][..., None]
        return push

    def _touching(self, leaf: int) -> tuple[np.ndarray, slice | np.ndarray]:
        """Shapes (L'', n) of a leaf on those links in use that touch it, and their places (L'')
        among all in use."""
        shapes, rows = self.reduced.moving[leaf], self.reduced.touched[leaf]
        if len(self.use) == len(self.reduced.joint_of):
            return shapes, rows
        used, touching = np.zeros((2, len(self.reduced.joint_of)), bool)
        used[self.use] = touching[rows] = True
        return shapes[used[rows]], in_a_row(np.flatnonzero(touching[self.use]))

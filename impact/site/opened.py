"""A band of a ceiling with its hangers taken out, ready for hangers and links that faults change.

The ceiling as drawn solves A x = b for the forces x of its links. Another stiffness of hanger j
adds dC = 1/k' - 1/k to one diagonal element; a link that should not be there (a touching edge, a
fixture screwed through) adds a row. With the columns V of all that is changed, the bordered system
(Woodbury's identity; G. H. Golub and C. F. Van Loan, Matrix Computations, 4th ed., 2013, sec. 2.1)

    K z = r ,   K = [ -1/dC  0 ; 0  A_ee ] - V^T A^-1 V ,   r = [ 0 ; b_e ] - V^T A^-1 b ,

has as many unknowns as there are changes, so that hundreds of states cost little more than one. The
radiated power is a quadratic form in z. A missing hanger is dC infinite, so -1/dC = 0.

What never changes, air and edges as drawn, falls into the shares of the floor's mirrors
(`impact.motion.halves`), each solved alone for unit forces of hangers and added links and for what
is heard as a force; what they do there adds up. Then the drawn hangers are put back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.linalg import lu_factor, lu_solve

from impact.base import bands
from impact.base.levels import squared
from impact.motion import halves, mirror, striking
from impact.motion import stack as stacks
from impact.motion.reduced import Reduced
from impact.motion.stack import Stack
from impact.motion.striking import Area

HANGERS = "hangers"
ADDED = ("touching ", "fixture ")  # how the names of links begin that should not be there
AT_ONCE = 3e5  # entries of the systems that are solved at once
State = tuple[np.ndarray, np.ndarray]  # places among the opened motions, -1/dC or 0 of each


@dataclass(frozen=True, eq=False)
class Band:
    """A stack in one band: its shares, each with what strikes it and the places (m,) of the motions
    that are opened, and their names (m,), hangers first."""

    shares: tuple[tuple[Reduced, np.ndarray, np.ndarray], ...]
    names: np.ndarray


def band(stack: Stack, area: Area, centre: float) -> Band:
    """The third octave about `centre` [Hz], struck in the rectangle `area` of `striking`."""
    reduced = stacks.reduce(stack, *bands.edges(centre))
    apart = [joint.name for joint in stack.joints if _opens(joint.name)]
    whole = halves.of(stack)
    shares = [whole]
    for axis in halves.centred(stack, area):
        shares = [half for one in shares for half in mirror.in_halves(one, axis, apart, reduced)]
    parts = [reduced if one is whole else one.cut(reduced) for one in shares]
    ready = tuple(
        (part, striking.over_area(part, *area), np.flatnonzero(part.of(apart))) for part in parts
    )
    return Band(ready, parts[0].names[ready[0][2]])


def _opens(name: str) -> bool:
    return name == HANGERS or name.startswith(ADDED)


Compliances = Callable[[Reduced, float], np.ndarray]  # of a share's links (L,) at omega [rad/s]


class Line:
    """One frequency of a band: all shares with what their leaves do, whatever the links."""

    def __init__(self, of: Band, omega: float) -> None:
        self.omega = omega
        self.hung = int(np.sum(of.names == HANGERS))
        self.shares = [
            (part, stacks.line(part, omega, struck), opens) for part, struck, opens in of.shares
        ]

    def opened(self, compliances: Compliances, use: np.ndarray) -> Opened:
        """With these compliances of all links, `use` the places of the opened ones that change."""
        gone = np.r_[: self.hung, use[use >= self.hung]]
        own = np.zeros(0, complex)
        found = []
        for part, at, opens in self.shares:
            every = compliances(part, self.omega)
            found.append(_solved(part, at, every, opens, gone))
            own = every[opens[gone]]
        total = _Taken(*(sum(values[1:], values[0]) for values in zip(*found, strict=True)))
        return Opened(total, own, self.hung, use)


class _Taken(NamedTuple):
    """Answers with no opened link: `system` (m, m) receptance there, `push` (m, m) product of what
    the struck columns move there, `square` and `cross` (m, m) of what is heard of the opened
    forces, alone and with that of the struck columns, `alone` the power without them."""

    system: np.ndarray
    push: np.ndarray
    square: np.ndarray
    cross: np.ndarray
    alone: float


def _solved(
    part: Reduced, at: stacks.Line, own: np.ndarray, opens: np.ndarray, which: np.ndarray
) -> _Taken:
    """One share with its links at places `opens` left out, and those `which` of them asked.

    What struck columns do is found by reciprocity, from what moves when a way to radiate is a
    force: there are fewer ways than columns.
    """
    kept, gone = np.setdiff1d(np.arange(len(own)), opens), opens[which]
    matrix, right = stacks.system(part, at, own, kept)
    beside = np.vstack([at.gram[np.ix_(kept, gone)], at.radiate[:, gone]])
    ears = np.eye(len(matrix), len(matrix) - len(kept), -len(kept))
    factor = lu_factor(matrix.T, overwrite_a=True, check_finite=False)  # symmetric
    solved = lu_solve(factor, np.hstack([beside, ears]), check_finite=False)
    moved, listening = solved[:, : len(gone)], solved[:, len(gone) :]
    weight = at.pattern.weight[:, None]
    heard, turned = listening.T @ right / weight, -moved[len(kept) :] / weight
    push = at.drive[gone] - moved.T @ right
    weighed = weight * turned
    return _Taken(
        at.gram[np.ix_(gone, gone)] - beside.T @ moved, push @ push.conj().T,
        turned.conj().T @ weighed, push @ (heard.conj().T @ weighed),
        float(np.sum(weight * squared(heard))),
    )  # fmt: skip


class Opened:
    """The drawn ceiling at one frequency, and what it answers where faults change it."""

    def __init__(self, taken: _Taken, own: np.ndarray, hung: int, use: np.ndarray) -> None:
        """use : places of the opened links that some state changes, from the first of the `hung`
        hangers. own : compliances of all hangers, then of the others of `use`."""
        drawn = slice(hung)
        inverse = np.linalg.inv(taken.system[drawn, drawn] + np.diag(own[drawn]))
        old, new = np.flatnonzero(use < hung), np.flatnonzero(use >= hung)
        added = slice(hung, None)
        put = np.zeros((hung, len(use)), complex)  # unit changes as forces on the drawn hangers
        put[use[old], old] = 1
        put[:, new] = taken.system[drawn, added]
        moved = inverse @ put
        turn = np.zeros((len(own), len(use)), complex)  # from changes to the forces of all
        turn[drawn] = -moved
        turn[added, new] = np.eye(len(new))
        self.place = {int(row): n for n, row in enumerate(use)}
        self.system = -put.T @ moved
        self.system[np.ix_(new, new)] += taken.system[added, added] + np.diag(own[added])
        there = inverse @ taken.push[drawn]  # forces of the drawn hangers, times the push
        self.push = turn.T @ taken.push @ turn.conj()
        self.square = turn.conj().T @ taken.square @ turn
        self.cross = turn.T @ (taken.cross + there.conj().T @ taken.square[drawn]) @ turn
        linear = np.sum(inverse.T * taken.cross[drawn, drawn])
        both = there[:, drawn] @ inverse.conj().T
        self.alone = taken.alone + float(
            2 * linear.real + np.sum(taken.square[drawn, drawn].T * both).real
        )

    def powers(self, states: Sequence[State]) -> np.ndarray:
        """Radiated power [W/N²] of every state, those with as many changes together."""
        out = np.full(len(states), self.alone)
        sizes = np.array([len(rows) for rows, _ in states])
        for size in np.unique(sizes[sizes > 0]):
            numbers = np.flatnonzero(sizes == size)
            for part in np.array_split(numbers, int(np.ceil(len(numbers) * size**2 / AT_ONCE))):
                out[part] += self._batch([states[n] for n in part])
        return out

    def _batch(self, states: Sequence[State]) -> np.ndarray:
        at = np.array([[self.place[int(row)] for row in rows] for rows, _ in states])
        down, along = at[:, :, None], at[:, None, :]
        system = self.system[down, along]
        diagonal = np.arange(at.shape[1])
        system[:, diagonal, diagonal] += np.array([values for _, values in states])
        inverse = np.linalg.inv(system)
        linear = 2 * np.einsum("nij,nji->n", self.cross[down, along], inverse).real
        spread = inverse @ self.push[down, along] @ inverse.conj().swapaxes(1, 2)
        return linear + np.einsum("nij,nji->n", self.square[down, along], spread).real

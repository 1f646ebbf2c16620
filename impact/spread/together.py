"""All inputs at once on few floors: how far what they do together is from the sum of their effects.

Floors with every input at z = -1 or +1, the signs from a two-level fraction of all combinations
(G. E. P. Box and J. S. Hunter, The 2^(k-p) fractional factorial designs, Technometrics 3 (1961)
311-351): -1 and +1 at equal weight are the two-point Gauss rule of a normal variable, right for
polynomials up to the third degree, and the signs of any two inputs balance. A straight line through
these floors' levels L over the sums s of the single effects,

    L = a + b s + rest ,

gives the mean of the level over all floors and, with the variance of the rest, its standard
deviation; the sums over many floors are moved and stretched to have both (the sum as a control
variate: R. Y. Rubinstein and R. Marcus, Operations Research 33 (1985) 661-677).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from impact.spread.inputs import Input

RUNS = 5  # factors of the fraction: 2^5 = 32 floors
# Inputs that need more than the floor and the points solved again move by fewer signs, most telling
# first: 2^3 = 8 states. Beyond seven, signs repeat.
STATES = 3
SHARED = ("edge_stiffness", "ceiling_mass", "ceiling_stiffness", "fill", "edge_damping")
SMALL = ("floor", "points")  # kinds for which the small system is solved again
OUTSIDE = ("blow", "room")  # kinds that do not touch the structure
LEAST = 1e-6  # dB²: variance below which nothing is stretched


@dataclass(frozen=True, eq=False)
class Line:
    """Offset [dB] and slope (…) that lead from sums of effects to levels."""

    offset: np.ndarray
    slope: np.ndarray

    def __call__(self, added: np.ndarray) -> np.ndarray:
        """Changes of level (draws, …) [dB] from the sums of effects."""
        return np.asarray(self.offset + self.slope * added)


def runs(items: Sequence[Input]) -> np.ndarray:
    """z (2^RUNS, inputs) of the floors; zero for inputs that do not touch the structure."""
    signs = np.array([[1 - 2 * (run >> bit & 1) for bit in range(RUNS)]
                      for run in range(2**RUNS)], float)  # fmt: skip
    words = [word for odd in (1, 0) for size in range(1, RUNS + 1) if size % 2 == odd
             for word in combinations(range(RUNS), size)]  # fmt: skip
    common = [word for word in words if max(word) < STATES]
    own = [word for word in words if max(word) >= STATES]
    out = np.zeros((2**RUNS, len(items)))
    shared = [i for i, item in enumerate(items) if _shares(item)]
    shared.sort(key=lambda i: SHARED.index(items[i].key) if items[i].key in SHARED else len(SHARED))
    for place, i in enumerate(shared):
        out[:, i] = signs[:, common[place % len(common)]].prod(axis=1)
    alone = [i for i, item in enumerate(items) if not _shares(item) and item.kind not in OUTSIDE]
    for place, i in enumerate(alone):
        out[:, i] = signs[:, own[place % len(own)]].prod(axis=1)
    return out


def _shares(item: Input) -> bool:
    return item.kind not in (*SMALL, *OUTSIDE)


def others(items: Sequence[Input]) -> np.ndarray:
    """Which inputs are neither of floor or points nor outside of the structure (inputs,)."""
    return np.array([_shares(item) for item in items], bool)


def states(items: Sequence[Input], z: np.ndarray) -> np.ndarray:
    """Number (runs,), from 0, of the state that `others` are in, at z (runs, inputs)."""
    kinds = {tuple(row): None for row in z[:, others(items)].tolist()}
    place = {row: number for number, row in enumerate(kinds)}
    return np.array([place[tuple(row)] for row in z[:, others(items)].tolist()])


def fitted(added: np.ndarray, found: np.ndarray, many: np.ndarray) -> Line:
    """The line from sums of effects to levels.

    added, found : (runs, n) [dB] sums and levels of the floors of `runs`. many : (draws, n) sums of
    many floors.
    """
    mean = added.mean(axis=0)
    about, level = added - mean, found - found.mean(axis=0)
    square = np.sum(about**2, axis=0)
    variance = np.var(many, axis=0)
    moves = (square > LEAST * len(added)) & (variance > LEAST)
    straight = np.where(moves, np.sum(about * level, axis=0) / np.where(moves, square, 1.0), 1.0)
    rest = np.sum((level - straight * about) ** 2, axis=0) / (len(added) - 2)
    stretch = np.sqrt(straight**2 + rest / np.where(moves, variance, np.inf))
    middle = found.mean(axis=0) + straight * (many.mean(axis=0) - mean)
    return Line(middle - stretch * many.mean(axis=0), stretch)

"""One band of many ceilings: what they share is eliminated once, then air, then the hangers.

Leaves, perimeter and radiated sound are alike for all ceilings of a case. What is left is the air,
whose depth and fill change only the diagonal of its compliance, and the hangers: a system of their
own count (Schur complements), one small solution for each stiffness and each spacing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from impact import lowband
from impact import stack as stacks
from impact.assemble import permitted
from impact.base import bands
from impact.link import cavity
from impact.study.choose_cases import Case, plan_wavenumbers

NEGLIGIBLE = 1e-7  # share of the sound's power, or of the drive's square, that is left out


def solve(
    case: Case, centre: float, springs: np.ndarray, lines: int
) -> tuple[np.ndarray, np.ndarray]:
    """Power of one band: (K, spacings, N) for each spring, and (N,) without any."""
    design, stack = case.assembly.design, case.assembly.whole
    reduced = stacks.reduce(stack, *bands.edges(centre))
    struck = stacks.over_area(reduced, *permitted(design))
    names = np.array([joint.name for joint in stack.joints])[reduced.joint_of]
    air_joint = next(joint for joint in stack.joints if joint.name == "air")
    kx, ky = plan_wavenumbers(design, air_joint.wavenumber)
    motions = reduced.motion_of[names == "air"]
    power = np.zeros((len(springs), len(case.spacings), len(case.gaps)))
    perfect = np.zeros(len(case.gaps))
    for frequency, weight in zip(*lowband.frequencies(centre, lines), strict=True):
        omega = 2 * np.pi * frequency
        shared = _Shared(reduced, stacks.line(reduced, omega, struck), names)
        for n, gap in enumerate(case.gaps):
            air = cavity.compliance(gap, omega, kx[motions], ky[motions])
            hung = shared.with_air(air)
            perfect[n] += weight * hung.alone
            for i, chosen in enumerate(case.chosen):
                power[:, i, n] += weight * hung.power(chosen, springs)
    return power, perfect


class _Shared:
    """One frequency with all but air and hangers eliminated."""

    def __init__(self, reduced: stacks.Reduced, at: stacks.Line, names: np.ndarray) -> None:
        own = stacks.compliances(reduced, at.omega)
        open_ends = (names == "air") | (names == "hangers")
        matrix, right = stacks.system(reduced, at, np.where(open_ends, 0, own), np.arange(len(own)))
        left = np.flatnonzero(open_ends)
        rest = np.r_[np.flatnonzero(~open_ends), np.arange(len(own), len(matrix))]
        sound = len(matrix) - len(own)
        beside = matrix[np.ix_(rest, left)]
        solved = np.linalg.solve(matrix[np.ix_(rest, rest)], np.hstack([beside, right[rest]]))
        air, hangers = (np.flatnonzero(names[left] == name) for name in ("air", "hangers"))
        reduced_all = np.hstack([matrix[np.ix_(left, left)], right[left]]) - beside.T @ solved
        system, push = reduced_all[:, : len(left)], reduced_all[:, len(left) :]
        # power is sum |reaction|² / weight
        heard = solved[-sound:] / np.sqrt(at.pattern.weight)[:, None]
        push, heard = _fewer_columns(push, heard, len(left))
        heard = _fewer_rows(heard)
        # single precision is enough for a hundredth of a decibel and half the work
        few = (system, push, heard[:, : len(left)], heard[:, len(left) :])
        system, push, by_link, self.lone = (part.astype(np.complex64) for part in few)
        self.air_system, self.beside = system[np.ix_(air, air)], system[np.ix_(air, hangers)]
        self.hanger_system = system[np.ix_(hangers, hangers)]
        self.air_columns = np.hstack([self.beside, push[air]])
        self.hanger_push = push[hangers]
        self.heard_air, self.heard_hangers = by_link[:, air], by_link[:, hangers]

    def with_air(self, compliance: np.ndarray) -> _Hung:
        """The hangers' own system above this air."""
        matrix = self.air_system.copy()
        matrix[np.diag_indices_from(matrix)] += compliance.astype(np.complex64)
        solved = np.linalg.solve(matrix, self.air_columns)
        inner, sound = self.beside.T @ solved, self.heard_air @ solved
        split = self.beside.shape[1]
        return _Hung(
            self.hanger_system - inner[:, :split],
            self.hanger_push - inner[:, split:],
            self.heard_hangers - sound[:, :split],
            self.lone - sound[:, split:],
        )


def _fewer_columns(
    push: np.ndarray, heard: np.ndarray, links: int
) -> tuple[np.ndarray, np.ndarray]:
    """The forces' columns turned, and those left out that drive next to nothing: sums of squares
    over all columns stay the same."""
    lone = heard[:, links:]
    scale = np.linalg.norm(push), np.linalg.norm(lone) or 1.0
    both = np.vstack([push / scale[0], lone / scale[1]])
    squares, turn = np.linalg.eigh(both.conj().T @ both)
    turn = turn[:, squares > NEGLIGIBLE * squares[-1]]
    return push @ turn, np.hstack([heard[:, :links], lone @ turn])


def _fewer_rows(heard: np.ndarray) -> np.ndarray:
    """The sound's coordinates turned, and those left out that nothing moves: each column counts by
    its own size, so that no link is lost."""
    size = np.linalg.norm(heard, axis=0)
    scaled = heard / np.where(size > 0, size, 1)
    squares, turn = np.linalg.eigh(scaled @ scaled.conj().T)
    return np.asarray(turn[:, squares > NEGLIGIBLE * squares[-1]].conj().T @ heard)


class _Hung:
    """Hangers between floor and ceiling: (S + 1/k) force = right; sound = lone - heard force."""

    def __init__(
        self, system: np.ndarray, right: np.ndarray, heard: np.ndarray, lone: np.ndarray
    ) -> None:
        self.system, self.right = system, right
        self.square = heard.conj().T @ heard
        self.cross = (heard.conj().T @ lone).conj()
        self.alone = float(np.sum(np.abs(lone) ** 2))

    def power(self, chosen: np.ndarray, springs: Sequence[complex] | np.ndarray) -> np.ndarray:
        """Power (K,) for hangers at `chosen` with each compliance of `springs` (K,)."""
        system = self.system[np.ix_(chosen, chosen)]
        diagonal = np.eye(len(chosen), dtype=np.complex64)
        stacked = system + np.asarray(springs, np.complex64)[:, None, None] * diagonal
        force = np.linalg.solve(stacked, np.broadcast_to(
            self.right[chosen], (len(stacked), *self.right[chosen].shape)))  # fmt: skip
        square = self.square[np.ix_(chosen, chosen)] @ force
        return (
            self.alone
            - 2 * np.sum((self.cross[chosen] * force).real, axis=(1, 2))
            + np.sum((force.conj() * square).real, axis=(1, 2))
        )

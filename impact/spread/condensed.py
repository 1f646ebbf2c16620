"""One frequency of the stack, cut down to what moves when the floor, hangers or edge change.

The floor's modal motions q and the forces r of the point and edge links stay; air, other links and
the reaction of the sound, with forces x, are eliminated once:

    [ D + E_x' Y_E     E_r' - E_x' Y_r ] [q]   [phi]
    [ ...            -(M_rr - M_rx Y_r)] [r] = [ 0 ] ,    M_xx [Y_E, Y_r] = [E_x, M_xr]

with D the floor's modal dynamic stiffness, E its shapes on the links and M the receptance of all
other leaves with the links' compliances (the same receptance coupling as in `impact.motion.stack`).
What is heard is linear in q and r. Another floor is another D, another hanger another diagonal of
M_rr: each a small system. Where the walked floor itself radiates, its pattern is part of E_x.
Changes of the eliminated parts go by the adjoint: with a the answer to what is heard as a force,
the power changes by -2 Re a . dZ . u.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from scipy.linalg import lu_factor, lu_solve

from impact.motion import stack as stacks

EDGE = "perimeter"
AT_ONCE = 2e6  # entries of the systems that are solved together: 32 MB
UNHEARD = 1e-3  # share of the power that what differs from floor to floor may go without
FREE = ("hangers", EDGE)  # joints whose forces stay in the small system


@dataclass(frozen=True, eq=False)
class Small:
    """The small system at one frequency; see `eliminate`.

    kept : leaves whose modes stay. rows : (R,) places of the links that stay, `edge` (R,) those of
    the ceiling's edge. fixed : (K, K) the system without D and without these links' compliances;
    dynamic : (n,) D, `compliance` (R,) as designed. drive : (K, P). hear : (4Q, K) rows to what is
    heard, weight (4Q,).
    """

    omega: float
    kept: tuple[int, ...]
    rows: np.ndarray
    edge: np.ndarray
    fixed: np.ndarray
    dynamic: np.ndarray
    compliance: np.ndarray
    drive: np.ndarray
    hear: np.ndarray
    weight: np.ndarray


@dataclass(frozen=True, eq=False)
class Condensed(Small):
    """The small system with the design itself solved; see `condense`.

    power : [W/N²] as designed, summed over columns, and `by_row` (4Q,) by what is heard.
    boards : (n_c,) and links : (L,): power changes by the real part of the sum over either times
    the change of the radiating leaf's D or of the compliances. boards is empty where the radiating
    leaf is one of `kept`.
    """

    power: float
    by_row: np.ndarray
    boards: np.ndarray
    links: np.ndarray

    @property
    def audible(self) -> np.ndarray:
        """Places of the rows to the ear that make all but UNHEARD of the power."""
        order = np.argsort(-self.by_row)
        count = np.searchsorted(np.cumsum(self.by_row[order]), (1 - UNHEARD) * self.power) + 1
        return np.sort(order[:count])


@dataclass(frozen=True, eq=False)
class _Gone:
    """What is eliminated: its places and factor, what stays solved on it, all rows to the ear."""

    rows: np.ndarray
    factor: Any
    solved: np.ndarray  # (gone, K)
    hear: np.ndarray  # (4Q, S)


def eliminate(
    reduced: stacks.Reduced, at: stacks.Line, compliance: np.ndarray | None = None
) -> Small:
    """Eliminate what does not change at the frequency of `at`.

    compliance : (L,) of the links in place of their own.
    """
    return _eliminated(reduced, at, compliance)[0]


def _eliminated(
    reduced: stacks.Reduced, at: stacks.Line, compliance: np.ndarray | None
) -> tuple[Small, _Gone]:
    stack, omega = reduced.stack, at.omega
    kept = tuple(i for i, leaf in enumerate(stack.leaves) if leaf.name.startswith("flo"))
    own = stacks.compliances(reduced, omega) if compliance is None else compliance
    free = np.isin(reduced.names, FREE)
    rows, gone = np.flatnonzero(free), np.flatnonzero(~free)
    receptance, shapes, hear = _others(reduced, at, kept)
    receptance[np.arange(len(own)), np.arange(len(own))] += own
    gone = np.r_[gone, np.arange(len(own), len(receptance))]
    modes = shapes.shape[1]
    factor = lu_factor(receptance[np.ix_(gone, gone)], check_finite=False)
    beside = np.hstack([shapes[gone], receptance[np.ix_(gone, rows)]])
    solved = lu_solve(factor, beside, check_finite=False)
    fixed = np.zeros((modes + len(rows),) * 2, complex)
    fixed[:modes, :modes] = shapes[gone].T @ solved[:, :modes]
    fixed[:modes, modes:] = shapes[rows].T - shapes[gone].T @ solved[:, modes:]
    fixed[modes:, :modes] = fixed[:modes, modes:].T
    inner = receptance[np.ix_(rows, rows)] - beside[:, modes:].T @ solved[:, modes:]
    inner[np.diag_indices_from(inner)] -= own[rows]
    fixed[modes:, modes:] = -inner
    drive = np.zeros((len(fixed), at.struck.shape[1]), complex)
    start = 0
    for i in kept:
        count = len(at.inverse[i])
        if i == stack.walked:
            drive[start : start + count] = at.struck
        start += count
    heard = (hear[:, gone] @ solved) * _signs(modes, rows)
    heard[:, modes:] += hear[:, rows]
    small = Small(
        omega, kept, rows, reduced.names[rows] == EDGE, fixed,
        np.concatenate([1 / at.inverse[i] for i in kept]), own[rows], drive, heard,
        at.pattern.weight,
    )  # fmt: skip
    return small, _Gone(gone, factor, solved, hear)


def _signs(modes: int, rows: np.ndarray) -> np.ndarray:
    """What is eliminated answers to modes and to links' forces with opposite signs (K,)."""
    return np.r_[np.ones(modes), -np.ones(len(rows))]


def condense(reduced: stacks.Reduced, at: stacks.Line) -> Condensed:
    """Eliminate what does not change at the frequency of `at`, and solve the design itself."""
    one, eliminated = _eliminated(reduced, at, None)
    gone, factor, solved, hear = (
        eliminated.rows, eliminated.factor, eliminated.solved, eliminated.hear,
    )  # fmt: skip
    stack, rows, modes = reduced.stack, one.rows, len(one.dynamic)
    small = lu_factor(_whole(one.fixed, one.dynamic, one.compliance), check_finite=False)
    motion = lu_solve(small, one.drive, check_finite=False)
    sound = one.hear @ motion
    pushes = one.weight[:, None] * np.conj(sound)
    rhs = hear.T @ pushes
    back = lu_solve(factor, rhs[gone], check_finite=False)
    small_rhs = np.vstack([solved[:, :modes].T @ rhs[gone],
                           rhs[rows] - solved[:, modes:].T @ rhs[gone]])  # fmt: skip
    answer = lu_solve(small, small_rhs, check_finite=False)
    links = len(reduced.joint_of)
    forces = np.zeros((2, len(rows) + len(gone), one.drive.shape[1]), complex)
    for k, (moved, extra) in enumerate(((motion, 0.0), (answer, back))):
        forces[k, rows] = moved[modes:]
        forces[k, gone] = (solved * _signs(modes, rows)) @ moved - extra
    boards = np.zeros((2, 0, 1), complex)
    if stack.radiating not in one.kept:
        boards = _onto(reduced, at, stack.radiating, forces)
    by_row = one.weight * np.sum(np.abs(sound) ** 2, axis=1)
    return Condensed(
        **vars(one), power=float(by_row.sum()), by_row=by_row,
        boards=-2 * np.sum(boards[0] * boards[1], axis=1),
        links=2 * np.sum(forces[0, :links] * forces[1, :links], axis=1),
    )  # fmt: skip


def heard_at(one: Small, rows: np.ndarray) -> Small:
    """The same with some of the rows to the ear alone; see `Condensed.audible`."""
    parts = {field.name: getattr(one, field.name) for field in fields(Small)}
    return Small(**{**parts, "hear": one.hear[rows], "weight": one.weight[rows]})


def powers(one: Small, dynamic: np.ndarray, compliance: np.ndarray) -> np.ndarray:
    """Power [W/N²], summed over columns, of V other floors or links: (V,).

    dynamic : (V, n, n) the floor's modal dynamic stiffness; compliance : (V, R). No force acts on
    the links themselves (`drive` is zero there). Variants with the same edge share one elimination
    of what their links have alike; what is left is solved for several at once.
    """
    out = np.empty(len(dynamic))
    kinds, kind = np.unique(compliance[:, one.edge], axis=0, return_inverse=True)
    for number in range(len(kinds)):
        every = np.flatnonzero(kind.ravel() == number)
        parts = int(np.ceil(len(every) * one.fixed.size / AT_ONCE))
        for mine in np.array_split(every, parts):
            out[mine] = _powers_alike(one, dynamic[mine], compliance[mine])
    return out


def _powers_alike(one: Small, dynamic: np.ndarray, own: np.ndarray) -> np.ndarray:
    """Power (V,) of variants with the same edge."""
    modes, count = len(one.dynamic), len(dynamic)
    alike = one.edge | (own == own[0]).all(axis=0) & (count > 1)
    rest, hear = _without(one, modes + np.flatnonzero(alike), own[0, alike])
    whole = np.repeat(rest[None], count, axis=0)
    whole[:, :modes, :modes] += dynamic
    diagonal = np.arange(modes, len(rest))
    whole[:, diagonal, diagonal] -= own[:, ~alike]
    drive = np.zeros((len(rest), one.drive.shape[1]), complex)
    drive[:modes] = one.drive[:modes]
    if len(hear) < drive.shape[1]:  # backwards from the ear: the matrix is symmetric
        back = np.linalg.solve(whole, np.broadcast_to(hear.T, (count, *hear.T.shape)))
        sound = (drive[:modes].T @ back[:, :modes]).swapaxes(1, 2)
    else:
        sound = hear @ np.linalg.solve(whole, np.broadcast_to(drive, (count, *drive.shape)))
    return np.asarray(np.sum(sound.real**2 + sound.imag**2, axis=2) @ one.weight)


def _without(one: Small, rows: np.ndarray, compliance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The matrix and the rows to the ear with the unknowns at `rows`, forces of links of the given
    compliance, eliminated."""
    left = np.setdiff1d(np.arange(len(one.fixed)), rows)
    inner = one.fixed[np.ix_(rows, rows)] - np.diag(compliance)
    across = one.fixed[np.ix_(rows, left)]
    follow = np.linalg.solve(inner, across)
    rest = one.fixed[np.ix_(left, left)] - across.T @ follow
    return rest, one.hear[:, left] - one.hear[:, rows] @ follow


def _whole(fixed: np.ndarray, dynamic: np.ndarray, compliance: np.ndarray) -> np.ndarray:
    out = fixed.copy()
    out[np.diag_indices_from(out)] += np.r_[dynamic, -compliance]
    return out


def _others(
    reduced: stacks.Reduced, at: stacks.Line, kept: tuple[int, ...]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What the forces of links and sound meet, but for the links' own compliance.

    Returns the receptance (S, S) of all leaves but the kept ones, S = L + 4Q; the kept leaves'
    shapes (S, n); and the rows (4Q, S) to what is heard, omega |pattern . motion|: the sound's
    reaction i omega weight (pattern . motion) is among the unknowns.
    """
    stack, omega = reduced.stack, at.omega
    gram = at.gram.copy()
    for i in kept:
        gram -= (reduced.shapes[i] * at.inverse[i]) @ reduced.shapes[i].T
    rows, weight, radiating = at.pattern.rows, at.pattern.weight, stack.radiating
    below = np.diag(1 / (1j * omega * weight))
    beside = np.zeros((len(weight), len(gram)), complex)
    shapes = [[reduced.shapes[i], np.zeros((len(weight), len(at.inverse[i])))] for i in kept]
    if radiating in kept:
        shapes[kept.index(radiating)][1] = rows
    else:
        below = below + (rows * at.inverse[radiating]) @ rows.T
        beside = (rows * at.inverse[radiating]) @ reduced.shapes[radiating].T
    hear = np.hstack([np.zeros(beside.shape), np.diag(1 / (1j * weight))])
    receptance = np.block([[gram, beside.T], [beside, below]])
    return receptance, np.hstack([np.vstack(pair) for pair in shapes]), hear


def _onto(reduced: stacks.Reduced, at: stacks.Line, leaf: int, forces: np.ndarray) -> np.ndarray:
    """Modal motion of `leaf`, but for its sign, under link and sound forces (…, L + 4Q, P)."""
    links = len(reduced.joint_of)
    pushed = reduced.shapes[leaf].T @ forces[:, :links]
    if forces.shape[1] > links:
        pushed = pushed + at.pattern.rows.T @ forces[:, links:]
    return at.inverse[leaf][:, None] * pushed

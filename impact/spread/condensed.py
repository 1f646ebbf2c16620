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

from dataclasses import dataclass

import numpy as np
from scipy.linalg import lu_factor, lu_solve

from impact.motion import stack as stacks

FREE = ("hangers", "perimeter")  # joints whose forces stay in the small system


@dataclass(frozen=True, eq=False)
class Condensed:
    """The small system at one frequency; see `condense`.

    kept : leaves whose modes stay. rows : (R,) places of the links that stay. fixed : (K, K) the
    system without D and without these links' compliances; dynamic : (n,) D, `compliance` (R,) as
    designed. drive : (K, P). hear : (4Q, K) rows to what is heard, weight (4Q,).
    power : [W/N²] as designed, summed over columns.
    boards : (n_c,) and links : (L,): power changes by the real part of the sum over either times
    the change of the radiating leaf's D or of the compliances. boards is empty where the radiating
    leaf is one of `kept`.
    """

    omega: float
    kept: tuple[int, ...]
    rows: np.ndarray
    fixed: np.ndarray
    dynamic: np.ndarray
    compliance: np.ndarray
    drive: np.ndarray
    hear: np.ndarray
    weight: np.ndarray
    power: float
    boards: np.ndarray
    links: np.ndarray


def condense(
    reduced: stacks.Reduced, at: stacks.Line, compliance: np.ndarray | None = None
) -> Condensed:
    """Eliminate what does not change at the frequency of `at`, and solve the design itself.

    compliance : (L,) of the links in place of their own.
    """
    stack, omega = reduced.stack, at.omega
    kept = tuple(i for i, leaf in enumerate(stack.leaves) if leaf.name.startswith("flo"))
    own = stacks.compliances(reduced, omega) if compliance is None else compliance
    free = np.isin(reduced.names, FREE)
    rows, gone = np.flatnonzero(free), np.flatnonzero(~free)
    receptance, shapes, hear = _others(reduced, at, kept)
    receptance[np.arange(len(own)), np.arange(len(own))] += own
    links, size = len(own), len(receptance)
    gone = np.r_[gone, np.arange(links, size)]
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
    dynamic = np.concatenate([1 / at.inverse[i] for i in kept])
    drive = np.zeros((len(fixed), at.struck.shape[1]), complex)
    start = 0
    for i in kept:
        count = len(at.inverse[i])
        if i == stack.walked:
            drive[start : start + count] = at.struck
        start += count
    signs = np.r_[np.ones(modes), -np.ones(len(rows))]
    heard = (hear[:, gone] @ solved) * signs
    heard[:, modes:] += hear[:, rows]
    whole = _whole(fixed, dynamic, own[rows])
    small = lu_factor(whole, check_finite=False)
    motion = lu_solve(small, drive, check_finite=False)
    sound = heard @ motion
    pushes = at.pattern.weight[:, None] * np.conj(sound)
    rhs = hear.T @ pushes
    back = lu_solve(factor, rhs[gone], check_finite=False)
    small_rhs = np.vstack([solved[:, :modes].T @ rhs[gone],
                           rhs[rows] - solved[:, modes:].T @ rhs[gone]])  # fmt: skip
    answer = lu_solve(small, small_rhs, check_finite=False)
    forces = np.zeros((2, size, drive.shape[1]), complex)
    for k, (moved, extra) in enumerate(((motion, 0.0), (answer, back))):
        forces[k, rows] = moved[modes:]
        forces[k, gone] = (solved * signs) @ moved - extra
    boards = np.zeros((2, 0, 1), complex)
    if stack.radiating not in kept:
        boards = _onto(reduced, at, stack.radiating, forces)
    return Condensed(
        omega, kept, rows, fixed, dynamic, own[rows], drive, heard, at.pattern.weight,
        float(at.pattern.weight @ np.sum(np.abs(sound) ** 2, axis=1)),
        -2 * np.sum(boards[0] * boards[1], axis=1),
        2 * np.sum(forces[0, :links] * forces[1, :links], axis=1),
    )  # fmt: skip


def powers(one: Condensed, dynamic: np.ndarray, compliance: np.ndarray) -> np.ndarray:
    """Power [W/N²], summed over columns, of V other floors or links: (V,).

    dynamic : (V, n, n) the floor's modal dynamic stiffness; compliance : (V, R). No force acts on
    the links themselves (`drive` is zero there), so that variants of the same links share one
    factorization of theirs, and only the floor's modes are solved for each.
    """
    modes = len(one.dynamic)
    kinds, kind = np.unique(compliance, axis=0, return_inverse=True)
    out = np.empty(len(dynamic))
    for number, links in enumerate(kinds):
        inner = one.fixed[modes:, modes:] - np.diag(links)
        follow = np.linalg.solve(inner, one.fixed[modes:, :modes])
        floor = one.fixed[:modes, :modes] - one.fixed[:modes, modes:] @ follow
        hear = one.hear[:, :modes] - one.hear[:, modes:] @ follow
        for v in np.flatnonzero(kind.ravel() == number):
            sound = hear @ np.linalg.solve(floor + dynamic[v], one.drive[:modes])
            out[v] = one.weight @ np.sum(np.abs(sound) ** 2, axis=1)
    return out


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

"""The floor's fundamental among the coupled modes, without solving for all of them.

The coupled modes of a large ceiling below 60 Hz are many hundreds; one of them is wanted, the one
that the floor's own first mode e takes part in. Lanczos' method on the inverse system, begun with
e, finds modes in the order in which e can tell them apart, and its weights are the shares of e in
them: C. Lanczos, J. Res. Natl. Bur. Stand. 45 (1950) 255. What is not yet found below a frequency
has no more of e than the weights of the nodes there: the inequalities of Chebyshev, Markov and
Stieltjes (G. H. Golub and G. Meurant, Matrices, Moments and Quadrature, Princeton 2010, ch. 6;
both from memory, check the source). So it is known when to stop.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve, eigh

from impact.motion import halves, whole
from impact.motion.stack import Stack

STEPS = 400  # of Lanczos' method; a small floor that needs more is solved in full
EVERY = 5  # steps between looks at what is known
FOUND = 1e-10  # a mode is found once its residual is this small, relative
BARE_HIGHEST = 150.0  # Hz: the fundamental of a floor without its ceiling is sought to here
NEARLY_LOOSE = 1e-10  # a stiffness matrix with a pivot so small, relative, holds nothing


def of_bare(stack: Stack) -> float:
    """Fundamental of a floor without its ceiling [Hz]; NaN where it lies above BARE_HIGHEST.

    The lowest mode that gives at least half as much as any other where the floor's own first mode
    is pressed at rest: its energy there over omega². By the energy alone a heavy floating floor or
    a fill between the joists, which hold most of it in the lowest mode, would hide that mode behind
    one far above, in which the joists move against them.
    """
    return fundamental(stack, BARE_HIGHEST, at_rest=True)


def fundamental(
    stack: Stack, highest: float = 60.0, air_at: float = 30.0, at_rest: bool = False
) -> float:
    """The floor's fundamental among the coupled modes [Hz]; NaN where it lies above `highest` [Hz].

    It is the lowest mode in which the floor's own first mode moves at least half as much (in
    energy) as in any other: the ceiling splits it in two and scatters it over the ceiling's own
    bending modes, and the lowest part is what is felt. The definition is our own. Filled air is
    taken as it is at `air_at` [Hz], as in `whole.coupled_modes`. at_rest : see `of_bare`.
    """
    floor = next(i for i, leaf in enumerate(stack.leaves) if leaf.name == "floor")
    omega, reach = 2 * np.pi * air_at, whole.REACH * highest
    if not np.any(stack.leaves[floor].omega <= 2 * np.pi * reach):
        return float("nan")
    held = _held(stack, omega, reach)
    found = None if held is None else lowest_part(held.solve, held.first(floor), highest, at_rest)
    return all_modes(stack, floor, omega, reach, highest, at_rest) if found is None else found


def all_modes(
    stack: Stack, floor: int, omega: float, reach: float, highest: float, at_rest: bool = False
) -> float:
    """`fundamental` from every mode: the definition itself, and slow for a large ceiling.

    floor : place of the floor in the stack's leaves. omega : rad/s, where filled air is taken.
    reach : Hz, modes of the leaves to this.
    """
    system = whole.build(halves.of(stack), omega, reach)
    root = np.sqrt(system.mass)
    squares, vectors = eigh(
        system.stiffness / root / root[:, None], subset_by_value=(1.0, (2 * np.pi * highest) ** 2)
    )
    moves = vectors[system.block(floor)][0] ** 2 / (squares if at_rest else 1.0)
    if not len(moves):
        return float("nan")
    lowest = np.flatnonzero(moves >= moves.max() / 2)[0]
    return float(np.sqrt(squares[lowest]) / 2 / np.pi)


@dataclass(frozen=True, eq=False)
class _Held:
    """The system of `whole.build` scaled to unit masses, ready to be solved at rest.

    factor : Cholesky's, of leaves with the links that hold at rest (n, n). flowing : (f, n) what
    air that flows sideways is pushed by, times the root of its inertia: at rest it gives way and
    holds nothing, so that its coordinates follow. give : (f,) inertia over spring [s2].
    starts : where each leaf's modes begin.
    """

    factor: tuple[np.ndarray, bool]
    flowing: np.ndarray
    give: np.ndarray
    starts: np.ndarray

    def solve(self, push: np.ndarray) -> np.ndarray:
        """K^-1 push, both (n + f,)."""
        n = self.flowing.shape[1]
        leaves = cho_solve(self.factor, push[:n] + push[n:] @ self.flowing, check_finite=False)
        return np.concatenate([leaves, self.give * push[n:] + self.flowing @ leaves])

    def first(self, leaf: int) -> np.ndarray:
        """Unit vector (n + f,) of a leaf's first mode."""
        out = np.zeros(sum(self.flowing.shape))
        out[self.starts[leaf]] = 1.0
        return out


def _held(stack: Stack, omega: float, reach: float) -> _Held | None:
    """None where something is not held at rest, as a ceiling on one line of hangers."""
    share = halves.of(stack)
    keep, starts = whole.kept_modes(share, reach)
    stiffness = np.diag(whole.squares(stack, keep))
    flowing, give = [np.zeros((0, len(stiffness)))], [np.zeros(0)]
    for joint, rows in zip(stack.joints, share.rows, strict=True):
        shapes = whole.gathered(rows, starts)
        spring, inertia = whole.spring_and_inertia(joint, omega)
        flows = whole.flows(inertia)
        shapes_held = shapes[~flows]
        stiffness += (shapes_held.T * spring[~flows]) @ shapes_held
        flowing.append(shapes[flows] * np.sqrt(inertia[flows])[:, None])
        give.append(inertia[flows] / spring[flows])
    try:
        factor = cho_factor(stiffness, lower=True, overwrite_a=True, check_finite=False)
    except np.linalg.LinAlgError:
        return None
    pivots = np.diag(factor[0]) ** 2
    if pivots.min() < NEARLY_LOOSE * pivots.max():
        return None
    return _Held(factor, np.vstack(flowing), np.concatenate(give), starts)


def lowest_part(
    solve: Callable[[np.ndarray], np.ndarray],
    start: np.ndarray,
    highest: float,
    at_rest: bool = False,
) -> float | None:
    """Frequency [Hz] of the lowest mode with at least half as much of `start` as any other below
    `highest` [Hz]; None where STEPS do not tell.

    solve : inverse of a stiffness matrix of unit masses, (N,) -> (N,). start : unit vector (N,).
    at_rest : shares over omega², as `of_bare` has them.
    """
    steps = min(STEPS, len(start))
    basis = np.zeros((steps, len(start)))
    diagonal, beside = np.zeros(steps), np.zeros(steps)
    vector = start
    for step in range(steps):
        basis[step] = vector
        known = basis[: step + 1]
        ahead = solve(vector)
        diagonal[step] = vector @ ahead
        for _ in range(2):  # once is not enough in floating point
            ahead = ahead - (known @ ahead) @ known
        beside[step] = np.linalg.norm(ahead)
        spent = beside[step] <= 1e-13 * diagonal[0]
        if spent or step % EVERY == EVERY - 1 or step == steps - 1:
            found = _told(diagonal[: step + 1], beside[: step + 1], highest, at_rest)
            if found is not None or spent:
                return found
        vector = ahead / beside[step]
    return None


def _told(diagonal: np.ndarray, beside: np.ndarray, highest: float, at_rest: bool) -> float | None:
    """What Lanczos' tridiagonal matrix (k,) tells so far; None if not enough."""
    matrix = np.diag(diagonal) + np.diag(beside[:-1], 1) + np.diag(beside[:-1], -1)
    inverse, vectors = (part[..., ::-1] for part in np.linalg.eigh(matrix))  # lowest mode first
    frequency = 1 / np.sqrt(np.maximum(inverse, 1e-30)) / (2 * np.pi)
    share = vectors[0] ** 2 * (np.maximum(inverse, 0.0) if at_rest else 1.0)
    found = np.abs(beside[-1] * vectors[-1]) <= FOUND * inverse
    loose = np.where(found, 0.0, share)
    inside = int(np.searchsorted(frequency, highest, side="right"))
    if not found[:inside].any():
        return None
    most = share[:inside][found[:inside]].max()
    lowest = int(np.flatnonzero(found[:inside] & (share[:inside] >= most / 2))[0])
    hidden_below, hidden = loose[:lowest].sum(), loose[: inside + 1].sum()
    if hidden_below < most / 2 and share[lowest] >= hidden / 2:
        return float(frequency[lowest])
    return None

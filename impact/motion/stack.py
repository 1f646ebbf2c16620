"""The stack: leaves joined by links, solved for the links' forces, moving or at rest.

Each leaf alone is diagonal in its modes, D = omega_n² (1 + i eta) - omega². Links couple them,

    ( C(omega) + sum over leaves B D^-1 B^T ) lambda = B_s D_s^-1 phi_s ,

with lambda the link forces, C the links' compliances (0 for a rigid tie), B the leaves' shapes on
the links' motions and phi_s the walked leaf's shapes at the struck points (component mode
synthesis in the form of receptance coupling: R. R. Craig and A. J. Kurdila, Fundamentals of
Structural Dynamics, 2nd ed., 2006, ch. 17). Modes far above the band answer statically; for points
and lines, where that matters, their compliance is kept. The same matrix with rows left out or with
other compliances is another ceiling: a best case, a variant of hangers, a fault.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import eigh, lu_factor, lu_solve

from impact.base.quadrature import gauss
from impact.leaf.plate import Leaf
from impact.link.joint import Joint
from impact.sound import radiation

# Modes up to this multiple of the band's upper edge, and so many Hz more, move; higher ones are
# springs.
DYNAMIC = 1.6
SPARE = 30.0  # Hz
SHORT = 1.1  # area motions up to this multiple of the highest bending wavenumber are kept


@dataclass(frozen=True, eq=False)
class Stack:
    """Leaves from the top down and what joins them.

    walked, radiating : places in `leaves` of the leaf that is struck and of the lowest one.
    """

    leaves: tuple[Leaf, ...]
    joints: tuple[Joint, ...]
    walked: int
    radiating: int


@dataclass(frozen=True, eq=False)
class Answer:
    """Response to unit rms point forces at P places on the walked leaf, at one frequency.

    power : (P,) radiated [W/N²]; mobility : (P,) complex driving-point [m/(N s)];
    motion : leaf -> (n, P) modal displacements [kg^1/2 m/N] of the kept modes.
    dissipated : (P,) [W/N²] lost in leaves and links, without the radiated power.
    """

    power: np.ndarray
    mobility: np.ndarray
    motion: dict[int, np.ndarray]
    dissipated: np.ndarray


@dataclass(frozen=True, eq=False)
class Reduced:
    """A stack cut down to what matters in one band; see `reduce`."""

    stack: Stack
    keep: tuple[np.ndarray, ...]  # per leaf: places of the moving modes
    shapes: tuple[np.ndarray, ...]  # per leaf: (L, kept modes)
    joint_of: np.ndarray  # (L,) place of the joint of each motion
    motion_of: np.ndarray  # (L,) place within its joint
    residual: np.ndarray  # (L, L) static compliance of the other modes
    loaded: bool = True  # the radiated sound also damps the leaf; False leaves that out

    @cached_property
    def names(self) -> np.ndarray:
        """(L,) name of the joint of each motion."""
        return np.array([joint.name for joint in self.stack.joints], str)[self.joint_of]


def bending_wavenumber(leaf: Leaf, omega: float) -> float:
    """Largest free bending wavenumber of a leaf's plate without ribs [rad/m]."""
    plate = leaf.plate
    weakest = min(plate.bending_x, plate.bending_y)
    return float((plate.mass * omega**2 / weakest) ** 0.25)


def motions(stack: Stack, joint: Joint, high: float, short: float = SHORT) -> np.ndarray:
    """Places of the motions of a joint that matter up to `high` [Hz]; all of a point link's."""
    if not joint.wavenumber.any():
        return np.arange(joint.count)
    reach = max(bending_wavenumber(stack.leaves[i], 2 * np.pi * high) for i in joint.shapes)
    side = min(min(lf.x.length, lf.y.length) for lf in stack.leaves)
    return np.flatnonzero(joint.wavenumber <= short * reach + 2 * np.pi / side)


def reduce(
    stack: Stack, low: float, high: float, dynamic: float = DYNAMIC, short: float = SHORT
) -> Reduced:
    """Modes and link motions that matter from `low` to `high` [Hz].

    dynamic, short : in place of DYNAMIC and SHORT; larger to test convergence, smaller where a
    difference of levels is wanted.
    """
    top, centre = 2 * np.pi * high, 2 * np.pi * np.sqrt(low * high)
    keep, rest = [], []
    for leaf in stack.leaves:
        moving = leaf.omega <= dynamic * top + 2 * np.pi * SPARE
        moving[:8] = True  # a stiff floor may have none so low; some must move
        keep.append(np.flatnonzero(moving))
        rest.append(np.flatnonzero(~moving))
    joint_of, motion_of = [], []
    for number, joint in enumerate(stack.joints):
        chosen = motions(stack, joint, high, short)
        joint_of.append(np.full(len(chosen), number))
        motion_of.append(chosen)
    where = np.concatenate(joint_of) if joint_of else np.zeros(0, int)
    which = np.concatenate(motion_of) if motion_of else np.zeros(0, int)
    shapes = tuple(_gather(stack, i, where, which, keep[i]) for i in range(len(stack.leaves)))
    residual = _residual(stack, where, which, rest, centre)
    return Reduced(stack, tuple(keep), shapes, where, which, residual)


def _gather(
    stack: Stack, leaf: int, where: np.ndarray, which: np.ndarray, keep: np.ndarray
) -> np.ndarray:
    out = np.zeros((len(where), len(keep)))
    for number, joint in enumerate(stack.joints):
        rows = where == number
        if leaf in joint.shapes:
            out[rows] = joint.shapes[leaf][np.ix_(which[rows], keep)]
    return out


def _residual(
    stack: Stack, where: np.ndarray, which: np.ndarray, rest: Sequence[np.ndarray], centre: float
) -> np.ndarray:
    """Static compliance, at the band's middle, of the modes that do not move (L, L)."""
    out = np.zeros((len(where), len(where)))
    for i, leaf in enumerate(stack.leaves):
        high = _gather(stack, i, where, which, rest[i])
        scaled = high / np.sqrt(leaf.omega[rest[i]] ** 2 - centre**2)
        out += scaled @ scaled.T
    return out


def compliances(reduced: Reduced, omega: float) -> np.ndarray:
    """(L,) complex 1/k of every kept motion at omega [rad/s]."""
    out = np.zeros(len(reduced.joint_of), complex)
    for number, joint in enumerate(reduced.stack.joints):
        rows = reduced.joint_of == number
        if rows.any():
            out[rows] = joint.compliance(omega)[reduced.motion_of[rows]]
    return out


@dataclass(frozen=True, eq=False)
class Line:
    """Everything about one frequency that does not depend on the links' stiffness."""

    omega: float
    gram: np.ndarray  # (L, L) sum B D^-1 B^T + residual
    drive: np.ndarray  # (L, P) B_s D_s^-1 phi_s
    inverse: tuple[np.ndarray, ...]  # per leaf 1/D (n,)
    struck: np.ndarray  # (n_s, P)
    pattern: radiation.Pattern
    radiate: np.ndarray  # (Q, L) rows of the pattern times D_r^-1 B_r^T; none without load


def _times(real: np.ndarray, other: np.ndarray) -> np.ndarray:
    """real (A, B) @ complex (B, C), as one product of real matrices."""
    return (real @ np.ascontiguousarray(other).view(float)).view(complex)


def _squared(values: np.ndarray) -> np.ndarray:
    """|values|² without a root."""
    return values.real**2 + values.imag**2


def _summed(shapes: Sequence[np.ndarray], weights: Sequence[np.ndarray]) -> np.ndarray:
    """Sum over leaves of B diag(w) B^T (L, L).

    As squares, since numpy computes just one half of a @ a.T, and lets other threads run meanwhile.
    """
    total = np.zeros((len(shapes[0]),) * 2)
    for sign in (1.0, -1.0):
        chosen = [sign * w > 0 for w in weights]
        scaled = np.hstack([
            b[:, c] * np.sqrt(sign * w[c])
            for b, w, c in zip(shapes, weights, chosen, strict=True)
        ])  # fmt: skip
        if scaled.size:
            total += sign * (scaled @ scaled.T)
    return total


def line(reduced: Reduced, omega: float, phi: np.ndarray) -> Line:
    """Prepare one frequency at omega [rad/s].

    phi : (n, P) what is struck: a column per force, from `at_points` or `over_area`.
    """
    stack = reduced.stack
    inverse = tuple(
        1 / (leaf.omega[k] ** 2 * (1 + 1j * leaf.losses[k]) - omega**2)
        for leaf, k in zip(stack.leaves, reduced.keep, strict=True)
    )
    gram = np.empty(reduced.residual.shape, complex)
    gram.real = reduced.residual + _summed(reduced.shapes, [d.real for d in inverse])
    gram.imag = _summed(reduced.shapes, [d.imag for d in inverse])
    s, r = stack.walked, stack.radiating
    drive = _times(reduced.shapes[s], inverse[s][:, None] * phi)
    shape = _pattern(stack.leaves[r], omega, reduced.keep[r])
    radiate = np.zeros((0, len(gram)), complex)
    if reduced.loaded:
        radiate = _times(reduced.shapes[r], (shape.rows * inverse[r]).T).T
    return Line(omega, gram, drive, inverse, phi, shape, radiate)


def _pattern(leaf: Leaf, omega: float, keep: np.ndarray) -> radiation.Pattern:
    """Radiation pattern of some modes of a leaf, kept with the leaf for other stacks."""
    kept = leaf.kept.setdefault("pattern", {})
    key = (round(omega, 9), keep.tobytes())
    if key not in kept:
        kept[key] = radiation.pattern(leaf, omega, keep)
    return kept[key]


def at_points(reduced: Reduced, points: np.ndarray) -> np.ndarray:
    """Unit forces at points (P, 2) [m, floor coordinates] on the walked leaf: (n, P)."""
    s = reduced.stack.walked
    return reduced.stack.leaves[s].shapes(points)[:, reduced.keep[s]].T


def over_area(reduced: Reduced, x: tuple[float, float], y: tuple[float, float]) -> np.ndarray:
    """Unit force at a random place in a rectangle of the walked leaf, exactly averaged: (n, R).

    x, y : (low, high) [m, floor coordinates]. The columns u satisfy sum u u^T = mean of phi phi^T
    over the rectangle, so that sums over columns are means over all places.
    """
    s = reduced.stack.walked
    leaf = reduced.stack.leaves[s]
    keep = reduced.keep[s]
    coefficients = leaf.coefficients[:, :, keep]
    sides = []
    for family, (low, high), start in ((leaf.x, x, 0), (leaf.y, y, 1)):
        points, weights = gauss(2 * family.count + 16)
        values = family.values(low + points * (high - low) - leaf.plate.origin[start])
        sides.append((values.T * weights) @ values)
    moved = np.einsum("ab,bkn->akn", sides[0], coefficients)
    moved = np.einsum("ck,akn->acn", sides[1], moved).reshape(-1, len(keep))
    mean = coefficients.reshape(-1, len(keep)).T @ moved
    squares, vectors = eigh((mean + mean.T) / 2)
    strong = squares > 1e-7 * squares[-1]
    return vectors[:, strong] * np.sqrt(squares[strong])


def answer(
    reduced: Reduced, at: Line, compliance: np.ndarray | None = None,
    rows: np.ndarray | None = None,
) -> Answer:  # fmt: skip
    """Solve one frequency for the design itself or a variant of its links.

    compliance : (L,) in place of the links' own; rows : (L,) bool, motions that stay.
    """
    own = compliances(reduced, at.omega) if compliance is None else compliance
    size = len(own)
    use = np.arange(size) if rows is None else np.flatnonzero(rows)
    matrix, right = system(reduced, at, own, use)
    both = _solved(matrix, right)
    return answered(reduced, at, own, use, both)


def _solved(matrix: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Solution of a symmetric system whose matrix is no longer needed."""
    if not len(matrix):
        return right
    factor = lu_factor(matrix.T, overwrite_a=True, check_finite=False)  # .T: no copy to turn it
    return lu_solve(factor, right, check_finite=False)


@dataclass(frozen=True, eq=False)
class Opened:
    """A stack solved without the few links that `gone` names, and what putting them back takes.

    kept, gone : places in the system; lone : (N, P) forces without them; moved : what a unit force
    of each that is gone moves; schur, push : their own small system.
    """

    kept: np.ndarray
    gone: np.ndarray
    lone: np.ndarray
    moved: np.ndarray
    schur: np.ndarray
    push: np.ndarray

    def closed(self, lone: np.ndarray, back: np.ndarray) -> np.ndarray:
        """Forces (L + Q, P) with the links put back, which press with `back`."""
        both = np.empty((len(self.kept) + len(self.gone), back.shape[1]), complex)
        both[self.gone] = back
        both[self.kept] = lone - self.moved @ back
        return both


def opened(reduced: Reduced, at: Line, own: np.ndarray, stays: np.ndarray) -> Opened:
    """Solve one frequency without the motions where `stays` (L,) is False; own : (L,) compliances.
    The few that go are put back by their Schur complement."""
    matrix, right = system(reduced, at, own, np.arange(len(own)))
    kept = np.r_[np.flatnonzero(stays), np.arange(len(own), len(matrix))]
    gone = np.flatnonzero(~stays)
    beside = matrix[np.ix_(kept, gone)]
    solved = _solved(matrix[np.ix_(kept, kept)], np.hstack([right[kept], beside]))
    count = right.shape[1]
    lone, moved = solved[:, :count], solved[:, count:]
    return Opened(kept, gone, lone, moved, matrix[np.ix_(gone, gone)] - beside.T @ moved,
                  right[gone] - beside.T @ lone)  # fmt: skip


def answer_both(reduced: Reduced, at: Line, stays: np.ndarray) -> tuple[Answer, Answer]:
    """The design, and the same without the motions where `stays` (L,) is False, from one
    factorization."""
    own = compliances(reduced, at.omega)
    half = opened(reduced, at, own, stays)
    both = half.closed(half.lone, np.linalg.solve(half.schur, half.push))
    without = answered(reduced, at, own, np.flatnonzero(stays), half.lone)
    return answered(reduced, at, own, np.arange(len(own)), both), without


def answered(
    reduced: Reduced, at: Line, own: np.ndarray, use: np.ndarray, both: np.ndarray
) -> Answer:
    """Motion, power, mobility and loss from the forces: links' in `use`, then the sound's."""
    stack, omega = reduced.stack, at.omega
    s, r = stack.walked, stack.radiating
    forces, sound = both[: len(use)], both[len(use) :]
    motion = {}
    for i, d in enumerate(at.inverse):
        shapes = reduced.shapes[i] if len(use) == len(own) else reduced.shapes[i][use]
        push = -_times(shapes.T, forces)
        if i == s:
            push = push + at.struck
        if i == r and len(sound):
            push = push - _times(at.pattern.rows.T, sound)
        motion[i] = d[:, None] * push
    heard = _times(at.pattern.rows, motion[r]) * omega
    power = at.pattern.weight @ _squared(heard)
    mobility = 1j * omega * np.sum(at.struck * motion[s], axis=0)
    lost = np.zeros(at.struck.shape[1])
    for i, leaf in enumerate(stack.leaves):
        stiff = leaf.omega[reduced.keep[i]] ** 2 * leaf.losses[reduced.keep[i]]
        lost += omega * stiff @ _squared(motion[i])
    lost += -omega * own[use].imag @ _squared(forces)
    return Answer(power, mobility, motion, lost)


def system(
    reduced: Reduced, at: Line, own: np.ndarray, use: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Symmetric matrix and right side for the forces of the links in `use` (L',), and of the
    sound's reaction (Q,) where it loads the leaf."""
    whole = len(use) == len(own)
    gram = at.gram.copy() if whole else at.gram[np.ix_(use, use)]
    gram[np.diag_indices_from(gram)] += own[use]
    drive = at.drive[use]
    if not reduced.loaded:
        return gram, drive
    r = reduced.stack.radiating
    rows, weight = at.pattern.rows, at.pattern.weight
    beside = at.radiate[:, use]
    below = (rows * at.inverse[r]) @ rows.T
    below[np.diag_indices_from(below)] += 1 / (1j * at.omega * weight)
    joined = np.block([[gram, beside.T], [beside, below]])
    return joined, np.vstack([drive, _heard_directly(reduced, at)])


def _heard_directly(reduced: Reduced, at: Line) -> np.ndarray:
    """(Q, P) pattern of the struck leaf itself where it is the one that radiates."""
    s, r = reduced.stack.walked, reduced.stack.radiating
    if s != r:
        return np.zeros((len(at.pattern.weight), at.struck.shape[1]), complex)
    return (at.pattern.rows * at.inverse[r]) @ at.struck

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
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.linalg import lu_factor, lu_solve

from impact.base import air
from impact.base.levels import squared
from impact.leaf.plate import Leaf
from impact.link.joint import Joint
from impact.motion import sizes
from impact.motion.answer import Answer
from impact.motion.products import SQUARES, by, gram, times
from impact.motion.reduced import Chosen, Reduced, among
from impact.motion.sizes import USUAL, Size
from impact.sound import radiation

ONSET = 0.26  # a third octave: over it a room above begins to take sound; judgement


@dataclass(frozen=True, eq=False)
class Stack:
    """Leaves from the top down and what joins them.

    walked, radiating : places in `leaves` of the leaf that is struck and of the lowest one.
    """

    leaves: tuple[Leaf, ...]
    joints: tuple[Joint, ...]
    walked: int
    radiating: int
    kept: dict = field(default_factory=dict, init=False, repr=False)  # what costs to find again


def reduce(stack: Stack, low: float, high: float, size: Size = USUAL) -> Reduced:
    """Modes and link motions that matter from `low` to `high` [Hz], by `impact.motion.sizes`."""
    centre = 2 * np.pi * np.sqrt(low * high)
    counts = [sizes.moving(leaf, high, size) for leaf in stack.leaves]
    motions = [sizes.motions(stack.leaves, joint, high, size) for joint in stack.joints]
    beyond = [
        sum((values[counted] for values in joint.beyond.values()), np.zeros(len(counted), complex))
        for joint, counted in zip(stack.joints, motions, strict=True)
    ]
    return Reduced(
        stack, tuple(np.arange(n) for n in counts),
        tuple(np.arange(n, len(leaf.omega)) for leaf, n in zip(stack.leaves, counts, strict=True)),
        tuple(Chosen(one.shapes, own) for one, own in zip(stack.joints, motions, strict=True)),
        np.repeat(np.arange(len(motions)), [len(own) for own in motions]),
        np.concatenate([np.zeros(0, int), *motions]),
        np.concatenate([np.zeros(0, complex), *beyond]), centre,
        max((float(joint.wavenumber[own].max()) for joint, own in zip(stack.joints, motions,
             strict=True) if joint.name == "air" and len(own)), default=0.0),
    )  # fmt: skip


def compliances(reduced: Reduced, omega: float | np.ndarray) -> np.ndarray:
    """(…, L) complex 1/k of every kept motion at omega (…,) [rad/s]."""
    out = np.zeros((*np.shape(omega), len(reduced.joint_of)), complex)
    for rows, joint in zip(reduced.rows, reduced.stack.joints, strict=True):
        if rows.start < rows.stop:
            kept = reduced.motion_of[rows]
            out[..., rows] = (
                joint.cut(omega, reduced.reach)[..., kept] if joint.cut
                else joint.compliance(omega, kept)
            )  # fmt: skip
    return out


@dataclass(frozen=True, eq=False)
class Line:
    """Everything about one frequency, or several at once, that does not depend on the links'
    stiffness. Several stand in front of the other axes, (F, …)."""

    omega: Any  # rad/s, a number or (F,)
    gram: np.ndarray  # (…, L, L) sum B D^-1 B^T + residual
    drive: np.ndarray  # (…, L, P) B_s D_s^-1 phi_s
    inverse: tuple[np.ndarray, ...]  # per leaf 1/D (…, n)
    struck: np.ndarray  # (n_s, P)
    pattern: radiation.Pattern
    radiate: np.ndarray  # (…, Q, L) rows of the pattern times D_r^-1 B_r^T; none without load

    @property
    def wide(self) -> np.ndarray:
        """omega (…, 1), to be multiplied with what has one more axis."""
        return np.asarray(self.omega, float)[..., None]


def receptance(
    reduced: Reduced, omega: float | np.ndarray, inverse: Sequence[np.ndarray],
    leaves: Sequence[int],
) -> np.ndarray:  # fmt: skip
    """Sum over some `leaves` of B D^-1 B^T, and of what rests and lies beyond of all: (…, L, L).

    omega : (…,) [rad/s]; inverse : per leaf 1/D (…, n).
    """
    at_centre, slope = reduced.residual
    out = np.empty((*np.shape(omega), *slope.shape), complex)
    if out.ndim > 2 and len(slope) >= SQUARES:  # one by one takes less memory at once
        for number, one in enumerate(np.asarray(omega)):
            out[number] = receptance(reduced, one, [every[number] for every in inverse], leaves)
        return out
    square = np.asarray(omega, float)[..., None, None] ** 2
    real = slope * (square - reduced.centre**2)
    real += at_centre.real
    imaginary = np.empty_like(real)
    imaginary[...] = at_centre.imag
    for i in leaves:
        shapes, place = reduced.moving[i], among(reduced.touched[i])
        real[place] += gram(shapes, inverse[i].real)
        imaginary[place] += gram(shapes, inverse[i].imag)
    out.real, out.imag = real, imaginary
    return out


def line(reduced: Reduced, omega: float | np.ndarray, phi: np.ndarray) -> Line:
    """Prepare one frequency at omega [rad/s], or several at omega (F,).

    phi : (n, P) what is struck: a column per force, from `impact.motion.striking`.
    """
    stack = reduced.stack
    inverse = inverses(reduced, omega)
    matrix = receptance(reduced, omega, inverse, range(len(inverse)))
    s, r = stack.walked, stack.radiating
    drive = np.zeros((*matrix.shape[:-1], phi.shape[1]), complex)
    drive[..., reduced.touched[s], :] = times(reduced.moving[s], inverse[s][..., None] * phi)
    shape = pattern(reduced, omega)
    count = shape.rows.shape[-2] if reduced.loaded else 0
    radiate = np.zeros((*matrix.shape[:-2], count, matrix.shape[-1]), complex)
    if reduced.loaded:
        heard = by(shape.rows * inverse[r][..., None, :], reduced.moving[r].T)
        radiate[..., reduced.touched[r]] = heard
    return Line(omega, matrix, drive, inverse, phi, shape, radiate)


def inverses(reduced: Reduced, omega: float | np.ndarray) -> tuple[np.ndarray, ...]:
    """Per leaf 1/D (…, n) at omega (…,) [rad/s], D = w_n² (1 + i eta) - omega² of its modes.

    D has what a mat's faces add, of each mode by itself (exact on an even plate, whose modes share
    no mass; on ribs a second order of little).
    D of the leaf that is struck has i omega r_n besides where there is a room above, which takes
    sound from its upper face, of each mode by itself (within 0.1 dB of both faces alike with
    all that modes have in common, in bare floors). That room has the floor's length and width; it
    takes none below its first mode, c/2L, and all a third octave above.
    """
    square = np.asarray(omega, float)[..., None] ** 2
    squares, s = list(reduced.squares), reduced.stack.walked
    for joint in reduced.stack.joints:
        if joint.faces is not None:
            for i in joint.shapes:
                squares[i] = squares[i] + joint.faces(omega)[..., None] * reduced.spread(i)
    plate = reduced.stack.leaves[s].plate
    first = np.pi * air.SPEED / max(plate.length, plate.width)
    if reduced.room_above and np.max(omega) > first:
        taken = resistances(reduced, omega)
        taken = taken * np.clip((np.asarray(omega) / first - 1) / ONSET, 0.0, 1.0)[..., None]
        squares[s] = squares[s] + 1j * np.asarray(omega, float)[..., None] * taken
    return tuple(1 / (own - square) for own in squares)


def pattern(reduced: Reduced, omega: float | np.ndarray) -> radiation.Pattern:
    """Radiation pattern of the modes of the radiating leaf, kept with it for other stacks."""
    r = reduced.stack.radiating
    leaf, keep = reduced.stack.leaves[r], reduced.keep[r]
    kept = leaf.kept.setdefault("pattern", {})
    key = (np.shape(omega), np.asarray(omega).tobytes(), keep.tobytes(), reduced.loaded)
    if key not in kept:  # each row is an unknown where the sound loads the leaf: as few as can be
        kept[key] = radiation.pattern(leaf, omega, keep, fewest=reduced.loaded)
    return kept[key]


def resistances(reduced: Reduced, omega: float | np.ndarray) -> np.ndarray:
    """Radiation resistances (…, n) of the walked leaf's modes, each by itself; kept likewise."""
    s = reduced.stack.walked
    leaf, keep = reduced.stack.leaves[s], reduced.keep[s]
    kept = leaf.kept.setdefault("resistances", {})
    key = (np.shape(omega), np.asarray(omega).tobytes(), keep.tobytes())
    if key not in kept:
        if s == reduced.stack.radiating and reduced.loaded:  # wanted anyway
            kept[key] = np.sum(pattern(reduced, omega).rows ** 2, axis=-2)
        else:
            kept[key] = radiation.resistances(leaf, omega, keep)
    return np.asarray(kept[key])


def answer(
    reduced: Reduced, at: Line, compliance: np.ndarray | None = None,
    rows: np.ndarray | None = None,
) -> Answer:  # fmt: skip
    """Solve one frequency, or several, for the design itself or a variant of its links.

    compliance : (…, L) in place of the links' own; rows : (L,) bool, motions that stay.
    """
    own = compliances(reduced, at.omega) if compliance is None else compliance
    use = np.arange(own.shape[-1]) if rows is None else np.flatnonzero(rows)
    matrix, right = system(reduced, at, own, use)
    return answered(reduced, at, use, _solved(matrix, right))


def _solved(matrix: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Solution of a symmetric system whose matrix is no longer needed."""
    if matrix.ndim > 2:
        return np.linalg.solve(matrix, right)
    if not len(matrix):
        return right
    factor = lu_factor(matrix.T, overwrite_a=True, check_finite=False)  # .T: no copy to turn it
    return lu_solve(factor, right, check_finite=False)


@dataclass(frozen=True, eq=False)
class Opened:
    """A stack solved without the few links that are `gone`, and what putting them back takes.

    kept, gone : places in the system; lone : (…, N, P) forces without them; moved : what a unit
    force of each that is gone moves; schur, push : their own small system.
    """

    kept: np.ndarray
    gone: np.ndarray
    lone: np.ndarray
    moved: np.ndarray
    schur: np.ndarray
    push: np.ndarray

    def closed(self, lone: np.ndarray, back: np.ndarray) -> np.ndarray:
        """Forces (…, L + Q, P) with the links put back, which press with `back`."""
        count = len(self.kept) + len(self.gone)
        both = np.empty((*back.shape[:-2], count, back.shape[-1]), complex)
        both[..., self.gone, :] = back
        both[..., self.kept, :] = lone - self.moved @ back
        return both


def opened(reduced: Reduced, at: Line, own: np.ndarray, stays: np.ndarray) -> Opened:
    """Solve without the motions where `stays` (L,) is False; own : (…, L) compliances.

    The few that go are put back by their Schur complement.
    """
    stay, gone = np.flatnonzero(stays), np.flatnonzero(~stays)
    matrix, right = system(reduced, at, own, stay)
    beside = np.concatenate(
        [at.gram[..., stay[:, None], gone], at.radiate[..., gone]], axis=-2
    )  # fmt: skip
    solved = _solved(matrix, np.concatenate([right, beside], axis=-1))
    columns = right.shape[-1]
    lone, moved = solved[..., :columns], solved[..., columns:]
    turned = beside.swapaxes(-1, -2)
    schur = at.gram[..., gone[:, None], gone] - turned @ moved
    place = np.arange(len(gone))
    schur[..., place, place] += own[..., gone]
    kept = np.r_[stay, np.arange(len(stays), len(stays) + at.radiate.shape[-2])]
    return Opened(kept, gone, lone, moved, schur, at.drive[..., gone, :] - turned @ lone)


def answer_both(reduced: Reduced, at: Line, stays: np.ndarray) -> tuple[Answer, Answer]:
    """The design, and the same without the motions where `stays` (L,) is False, from one
    factorization."""
    half = opened(reduced, at, compliances(reduced, at.omega), stays)
    both = half.closed(half.lone, np.linalg.solve(half.schur, half.push))
    without = answered(reduced, at, np.flatnonzero(stays), half.lone)
    return answered(reduced, at, np.arange(len(stays)), both), without


def answered(reduced: Reduced, at: Line, use: np.ndarray, both: np.ndarray) -> Answer:
    """The answer from the forces (…, L' + Q, P): links' in `use`, then the sound's."""
    return Answer(
        reduced, at.omega, at.inverse, at.pattern, at.struck, at.drive, use, both
    )  # fmt: skip


def dissipated(
    reduced: Reduced, at: Line, found: Answer, compliance: np.ndarray | None = None
) -> np.ndarray:
    """(…, P) [W/N²] lost in leaves and links of the whole stack and to the room above, without
    the power radiated below.

    compliance : (…, L) the links' where it was not their own.
    """
    own = compliances(reduced, at.omega) if compliance is None else compliance
    lost = -np.sum(own.imag[..., None] * squared(found.forces), axis=-2)
    at_rest = times(reduced.residual[0].imag, found.forces)
    lost -= np.sum(at_rest.real * found.forces.real + at_rest.imag * found.forces.imag, axis=-2)
    for i, inverse in enumerate(at.inverse):
        lost += np.sum((1 / inverse).imag[..., None] * squared(found.of(i)), axis=-2)
    return np.asarray(at.wide * lost)


def system(
    reduced: Reduced, at: Line, own: np.ndarray, use: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Symmetric matrix and right side for the forces of the links in `use` (L',), and of the
    sound's reaction (Q,) where it loads the leaf. own : (…, L) compliances."""
    count, whole = len(use), len(use) == own.shape[-1]
    size = count + at.radiate.shape[-2]
    matrix = np.empty((*at.gram.shape[:-2], size, size), complex)
    matrix[..., :count, :count] = at.gram if whole else at.gram[..., use[:, None], use]
    place = np.arange(size)
    matrix[..., place[:count], place[:count]] += own[..., use]
    drive = at.drive if whole else at.drive[..., use, :]
    if not reduced.loaded:
        return matrix, drive
    r = reduced.stack.radiating
    rows, weight = at.pattern.rows, at.pattern.weight
    beside = at.radiate if whole else at.radiate[..., use]
    matrix[..., count:, :count] = beside
    matrix[..., :count, count:] = beside.swapaxes(-1, -2)
    matrix[..., count:, count:] = by(rows * at.inverse[r][..., None, :], rows.swapaxes(-1, -2))
    matrix[..., place[count:], place[count:]] += 1 / (1j * at.wide * weight)
    return matrix, np.concatenate([drive, _heard_directly(reduced, at)], axis=-2)


def _heard_directly(reduced: Reduced, at: Line) -> np.ndarray:
    """(…, Q, P) pattern of the struck leaf itself where it is the one that radiates."""
    s, r = reduced.stack.walked, reduced.stack.radiating
    if s != r:
        return np.zeros((*at.pattern.weight.shape, at.struck.shape[1]), complex)
    return by(at.pattern.rows * at.inverse[r][..., None, :], at.struck)

"""The design itself in its small system, what its power does when parts change, and other floors
and hangers; see `impact.spread.elimination`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.spread.elimination import (
    Lines,
    Small,
    eliminated,
    joined,
    kinds_of,
    places_of,
    put_back,
)

UNHEARD = 1e-3  # share of the power that what differs from floor to floor may go without


@dataclass(frozen=True, eq=False)
class Condensed:
    """A group of parts with the design itself solved; see `condense`.

    parts : as prepared. small : joined, in the one state of the design. power : (F,) [W/N²] as
    designed, summed over columns, and by_row (F, Q) by what is heard. boards : of each part
    (F, n_c) and links : (F, L): power changes by the real part of the sum over either times the
    change of the radiating leaf's D or of the compliances. boards is empty where the radiating
    leaf is one that stays.
    """

    parts: tuple[Lines, ...]
    small: Small
    power: np.ndarray
    by_row: np.ndarray
    boards: tuple[np.ndarray, ...]
    links: tuple[np.ndarray, ...]

    def audible(self, power: np.ndarray) -> np.ndarray:
        """Places of the rows to the ear that make all but UNHEARD of the power at every frequency,
        `power` (F,) being that of all groups."""
        share = self.by_row / power[:, None]
        order = np.argsort(-share.max(axis=0))
        left = share[:, order][:, ::-1].cumsum(axis=1)[:, ::-1]  # from this one on
        count = int(np.sum((left > UNHEARD).any(axis=0)))
        return np.sort(order[: max(count, 1)])


def condense(parts: Sequence[Lines]) -> Condensed:
    """Eliminate what does not change of the parts of a group, and solve the design itself."""
    halves = [eliminated(at, at.own[None], None, True) for at in parts]
    small = joined([one for one, _ in halves])
    everywhere = [put_back(at, one) for at, (_, one) in zip(parts, halves, strict=True)]
    fixed, hear = small.fixed[0], small.hear[0]
    modes = len(small.floor)
    whole = fixed.copy()
    place = np.arange(whole.shape[-1])
    whole[:, place[:modes], place[:modes]] += small.dynamic
    whole[:, place[modes:], place[modes:]] -= small.compliance
    columns = small.drive.shape[1]
    right = np.zeros((*whole.shape[:2], columns + hear.shape[1]), complex)
    right[:, :modes, :columns] = small.drive
    right[:, :, columns:] = hear.swapaxes(1, 2)
    moved = np.linalg.solve(whole, right)
    motion = moved[:, :, :columns]
    sound = hear @ motion
    pushes = small.weight[..., None] * np.conj(sound)
    answer = moved[:, :, columns:] @ pushes
    places, ears = places_of([one for one, _ in halves])
    boards, links = [], []
    for at, gone, mine, way in zip(parts, everywhere, places, ears, strict=True):
        count = len(at.reduced.joint_of)
        forces = [
            _forces(at, gone.solved, motion[:, mine]),
            _forces(at, gone.solved, answer[:, mine], gone.ears @ pushes[:, way]),
        ]
        links.append(2 * np.sum(forces[0][:, :count] * forces[1][:, :count], axis=-1))
        on_boards = [_onto_boards(at, one) for one in forces]
        boards.append(-2 * np.sum(on_boards[0] * on_boards[1], axis=-1))
    by_row = small.weight * np.sum(np.abs(sound) ** 2, axis=-1)
    return Condensed(
        tuple(parts), small, by_row.sum(axis=-1), by_row, tuple(boards), tuple(links)
    )  # fmt: skip


def _forces(at: Lines, solved: np.ndarray, moved: np.ndarray, back: Any = 0.0) -> np.ndarray:
    """Forces (F, L + Q, P) of links and sound of a part, from what stays (F, K, P)."""
    count, gone = len(at.reduced.joint_of), np.r_[at.far, at.near]
    forces = solved @ moved - back
    out = np.empty((len(moved), count + forces.shape[1] - len(gone), moved.shape[-1]), complex)
    out[:, at.free] = moved[:, at.modes :]
    out[:, gone] = forces[:, : len(gone)]
    out[:, count:] = forces[:, len(gone) :]
    return out


def _onto_boards(at: Lines, forces: np.ndarray) -> np.ndarray:
    """Modal motion (F, n, P) of the radiating leaf, but for its sign, under forces
    (F, L + Q, P); none where it is one that stays."""
    if at.radiates:
        return np.zeros((len(forces), 0, 1), complex)
    count = len(at.reduced.joint_of)
    pushed = at.reduced.shapes[at.reduced.stack.radiating].T @ forces[:, :count]
    pushed += at.pattern.rows.swapaxes(-1, -2) @ forces[:, count:]
    return np.asarray(at.boards[..., None] * pushed)


def powers(
    one: Small, dynamic: np.ndarray, compliance: np.ndarray, state: np.ndarray | None = None
) -> np.ndarray:
    """Power (V, F) [W/N²], summed over columns, of V other floors or hangers.

    dynamic : (V, F, n, n) the floor's modal dynamic stiffness; compliance : (V, F, R); state : (V,)
    place of the state of what was eliminated, the first unless given. No force acts on the links
    themselves. Variants with the same hangers in the same
    state share one elimination of these.
    """
    state = np.zeros(len(dynamic), int) if state is None else state
    kinds, kind = kinds_of(compliance)
    both, place = np.unique(kind * len(one.fixed) + state, return_inverse=True)
    rest, hear = _without_hangers(one, kinds[both // len(one.fixed)], both % len(one.fixed))
    whole = rest[place] + dynamic
    hear = hear[place]
    if hear.shape[-2] < one.drive.shape[1]:  # backwards from the ear: the matrix is symmetric
        back = np.linalg.solve(whole, hear.swapaxes(-1, -2))
        sound = (one.drive.T @ back).swapaxes(-1, -2)
    else:
        sound = hear @ np.linalg.solve(whole, np.broadcast_to(one.drive, (
            *whole.shape[:-1], one.drive.shape[1]
        )))  # fmt: skip
    squares = np.sum(sound.real**2 + sound.imag**2, axis=-1)
    return np.asarray(np.sum(squares * one.weight, axis=-1))


def _without_hangers(
    one: Small, compliance: np.ndarray, state: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The matrix (k, F, n, n) and the rows to the ear (k, F, Q, n) in states (k,), with hangers of
    compliances (k, F, R) eliminated."""
    modes, links = len(one.floor), compliance.shape[-1]
    fixed, hear = one.fixed[state], one.hear[state]
    if not links:
        return fixed, hear
    inner = fixed[..., modes:, modes:].copy()
    place = np.arange(links)
    inner[..., place, place] -= compliance
    across = fixed[..., modes:, :modes]
    follow = np.linalg.solve(inner, across)
    rest = fixed[..., :modes, :modes] - across.swapaxes(-1, -2) @ follow
    return rest, hear[..., :modes] - hear[..., modes:] @ follow

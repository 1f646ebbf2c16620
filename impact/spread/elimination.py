"""Some frequencies of the stack, cut down to what moves when the floor or the hangers change.

The floor's modal motions q and the forces r of the hangers stay; air, other links and the reaction
of the sound, with forces x, are eliminated once:

    [ D + E_x' Y_E     E_r' - E_x' Y_r ] [q]   [phi]
    [ ...            -(M_rr - M_rx Y_r)] [r] = [ 0 ] ,    M_xx [Y_E, Y_r] = [E_x, M_xr]

with D the floor's modal dynamic stiffness, E its shapes on the links and M the receptance of all
other leaves with the links' compliances (the same receptance coupling as in `impact.motion.stack`).
What is heard is linear in q and r. Another floor is another D, another hanger another diagonal of
M_rr: each a small system. Where the walked floor itself radiates, its pattern is part of E_x.
Changes of the eliminated parts go by the adjoint: with a the answer to what is heard as a force,
the power changes by -2 Re a . dZ . u; or they are eliminated in other states as well.

Each mirrored part of a stack (`impact.motion.mirror`) is eliminated by itself; parts that only the
hangers join share r.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from impact.link.cavity import Gap
from impact.motion import stack as stacks
from impact.motion.products import by, sandwich
from impact.motion.reduced import Reduced
from impact.sound.radiation import Pattern

FREE = ("hangers",)  # joints whose forces stay in the small system


@dataclass(frozen=True, eq=False)
class Small:
    """A small system in S states of what was eliminated, at F frequencies.

    omega : (F,) [rad/s]. floor : (n,) place of each mode that stays among those of the leaf
    "floor", -1 for another leaf's. fixed : (S, F, K, K) the system without D and without the
    hangers' compliances; dynamic : (F, n) D, compliance (F, R) as designed. drive : (n, P).
    hear : (S, F, Q, K) rows to what is heard, weight (F, Q).
    """

    omega: np.ndarray
    floor: np.ndarray
    fixed: np.ndarray
    dynamic: np.ndarray
    compliance: np.ndarray
    drive: np.ndarray
    hear: np.ndarray
    weight: np.ndarray

    def heard_at(self, rows: np.ndarray) -> Small:
        """The same with some of the rows to the ear alone; see `Condensed.audible`."""
        return replace(self, hear=self.hear[:, :, rows], weight=self.weight[:, rows])


@dataclass(frozen=True, eq=False)
class Lines:
    """Some frequencies of one part of a stack.

    kept : leaves whose modes stay. free, near, far : places of the links that stay, that go and
    touch the radiating leaf, and that go and do not. inverse : per leaf 1/D (F, n). receptance :
    (F, L, L) of the leaves that go, without links.
    own : (F, L) compliances of the links. struck : (n_s, P) what is struck.
    """

    reduced: Reduced
    omega: np.ndarray
    kept: tuple[int, ...]
    free: np.ndarray
    near: np.ndarray
    far: np.ndarray
    inverse: tuple[np.ndarray, ...]
    receptance: np.ndarray
    own: np.ndarray
    pattern: Pattern
    struck: np.ndarray
    beyond: dict[bytes, _Far] = field(default_factory=dict)  # by the compliances of `far`
    air: dict[tuple[int, Gap], np.ndarray] = field(default_factory=dict)  # compliances, by joint

    @property
    def radiates(self) -> bool:
        """Whether the radiating leaf is one of those that stay."""
        return self.reduced.stack.radiating in self.kept

    @property
    def modes(self) -> int:
        """Number of modes that stay."""
        return sum(len(self.reduced.keep[i]) for i in self.kept)

    @cached_property
    def shapes(self) -> np.ndarray:
        """Shapes (L, n) of the modes that stay on the links."""
        return np.hstack([self.reduced.shapes[i] for i in self.kept])

    @property
    def boards(self) -> np.ndarray:
        """1/D (F, n) of the radiating leaf."""
        return self.inverse[self.reduced.stack.radiating]


def lines(reduced: Reduced, omega: np.ndarray, struck: np.ndarray) -> Lines:
    """Prepare a part at omega (F,) [rad/s]. struck : (n, P) from `impact.motion.striking`."""
    stack = reduced.stack
    kept = tuple(i for i, leaf in enumerate(stack.leaves) if leaf.name.startswith("flo"))
    others = [i for i in range(len(stack.leaves)) if i not in kept]
    inverse = stacks.inverses(reduced, omega)
    free = reduced.of(FREE)
    touching = [stack.radiating in kept or stack.radiating in one.shapes for one in stack.joints]
    near = np.array(touching, bool)[reduced.joint_of]
    return Lines(
        reduced, omega, kept, np.flatnonzero(free), np.flatnonzero(near & ~free),
        np.flatnonzero(~near & ~free), inverse,
        stacks.receptance(reduced, omega, inverse, others), stacks.compliances(reduced, omega),
        stacks.pattern(reduced, omega), struck,
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Far:
    """Links that do not touch the radiating leaf, eliminated before all others.

    solved : (F, far, near + K) what unit forces of near links, and what stays, move there; added :
    (F, near + K, near + K) what that adds to the others' system.
    """

    solved: np.ndarray
    added: np.ndarray


@dataclass(frozen=True, eq=False)
class Gone:
    """What was eliminated of a part: `solved` (F, g + Q, K) what unit motions and forces that stay
    move there, `ears` (F, g + Q, Q) what is heard as a force; far links, near ones, sound."""

    solved: np.ndarray
    ears: np.ndarray


def eliminate(at: Lines, own: np.ndarray, boards: np.ndarray | None = None) -> Small:
    """Eliminate all that does not stay, in S states.

    own : (S, F, L) compliances of the links. boards : (S, F, n) 1/D of the radiating leaf.
    """
    return eliminated(at, own, boards, False)[0]


def _far(at: Lines, own: np.ndarray) -> _Far:
    """Far links of compliances `own` (F, far) eliminated."""
    key = own.tobytes()
    if key not in at.beyond and not len(at.far):
        size = len(at.near) + at.modes + len(at.free)
        at.beyond[key] = _Far(np.zeros((len(own), 0, size)), np.zeros((len(own), size, size)))
    if key not in at.beyond:
        near, far, free, modes = at.near, at.far, at.free, at.modes
        right = np.empty((len(own), len(far), len(near) + modes + len(free)), complex)
        right[..., : len(near)] = at.receptance[:, far[:, None], near]
        right[..., len(near) : len(near) + modes] = at.shapes[far]
        right[..., len(near) + modes :] = at.receptance[:, far[:, None], free]
        matrix = at.receptance[:, far[:, None], far]
        place = np.arange(len(far))
        matrix[:, place, place] += own
        solved = np.linalg.solve(matrix, right)
        at.beyond[key] = _Far(solved, right.swapaxes(-1, -2) @ solved)
    return at.beyond[key]


def eliminated(
    at: Lines, own: np.ndarray, boards: np.ndarray | None, listen: bool
) -> tuple[Small, np.ndarray]:
    """As `eliminate`, and the solution (S, F, g + Q, K) for near links and sound; with `listen`,
    beside it, that for each way of the sound as a force."""
    reduced, free, near, modes = at.reduced, at.free, at.near, at.modes
    kinds, kind = kinds_of(own[..., at.far])
    far = [_far(at, one) for one in kinds]
    added = np.stack([one.added for one in far])[kind]
    receptance, beside, below = _others(at, own, boards)
    count, ways, stays = len(near), below.shape[-1], modes + len(free)
    size = count + ways
    matrix = np.empty((*own.shape[:2], size, size), complex)
    matrix[..., :count, :count] = receptance[..., :count, :count] - added[..., :count, :count]
    place = np.arange(count)
    matrix[..., place, place] += own[..., near]
    matrix[..., count:, :count] = beside[..., :count]
    matrix[..., :count, count:] = beside[..., :count].swapaxes(-1, -2)
    matrix[..., count:, count:] = below
    right = np.zeros((*own.shape[:2], size, stays + (ways if listen else 0)), complex)
    right[..., :count, :modes] = at.shapes[near]
    if at.radiates:
        right[..., count:, :modes] = _rows_of_kept(at)
    right[..., :count, modes:stays] = receptance[..., :count, count:]
    right[..., :count, :stays] -= added[..., :count, count:]
    right[..., count:, modes:stays] = beside[..., count:]
    if listen:
        right[..., np.arange(count, size), np.arange(stays, stays + ways)] = 1.0
    solved = np.linalg.solve(matrix, right)
    fixed = right[..., :stays].swapaxes(-1, -2) @ solved[..., :stays]
    fixed += added[..., count:, count:]
    fixed[..., :modes, modes:] = at.shapes[free].T - fixed[..., :modes, modes:]
    fixed[..., modes:, :modes] = fixed[..., :modes, modes:].swapaxes(-1, -2)
    fixed[..., modes:, modes:] -= receptance[..., count:, count:]
    signs = np.r_[np.ones(modes), -np.ones(len(free))]
    loud = 1 / (1j * at.pattern.weight)
    floor = np.concatenate([
        reduced.keep[i] if reduced.stack.leaves[i].name == "floor"
        else np.full(len(reduced.keep[i]), -1) for i in at.kept
    ])  # fmt: skip
    small = Small(
        at.omega, floor, fixed, np.concatenate([1 / at.inverse[i] for i in at.kept], axis=-1),
        at.own[:, free], _drive(at), loud[..., None] * solved[..., count:, :stays] * signs,
        at.pattern.weight,
    )  # fmt: skip
    return small, solved


def put_back(at: Lines, solved: np.ndarray) -> Gone:
    """Far links put back beside what `eliminated` solved for the design, with `listen`."""
    modes, near = at.modes, len(at.near)
    stays = modes + len(at.free)
    beyond = _far(at, at.own[:, at.far]).solved
    far = -beyond[..., :near] @ solved[0, :, :near]
    far[..., :stays] += beyond[..., near:]
    whole = np.concatenate([far, solved[0]], axis=1)
    signs = np.r_[np.ones(modes), -np.ones(len(at.free))]
    loud = 1 / (1j * at.pattern.weight)
    return Gone(whole[..., :stays] * signs, whole[..., stays:] * loud[:, None, :])


def _others(
    at: Lines, own: np.ndarray, boards: np.ndarray | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Receptance of the leaves that go: among links near and free (S, F, L, L), from them to ways
    of the sound (S, F, Q, L), and among these with their reaction, i omega weight (pattern .
    motion), (S, F, Q, Q)."""
    rows, weight = at.pattern.rows, at.pattern.weight
    states, ways = own.shape[:2], rows.shape[-2]
    reaction = np.zeros((*states, ways, ways), complex)
    place = np.arange(ways)
    reaction[..., place, place] = 1 / (1j * at.omega[:, None] * weight)
    links = np.r_[at.near, at.free]
    receptance = at.receptance[:, links[:, None], links]
    receptance = np.broadcast_to(receptance, (*states, *receptance.shape[1:]))
    if at.radiates:
        return receptance, np.zeros((*states, ways, len(links)), complex), reaction
    shapes = at.reduced.shapes[at.reduced.stack.radiating][links]
    inverse = at.boards[None] if boards is None else boards
    if boards is not None:
        receptance = receptance + sandwich(shapes, boards - at.boards)
    scaled = rows * inverse[..., None, :]
    beside = np.broadcast_to(by(scaled, shapes.T), (*states, ways, len(links)))
    return receptance, beside, reaction + by(scaled, rows.swapaxes(-1, -2))


def _rows_of_kept(at: Lines) -> np.ndarray:
    """Pattern (F, Q, n) of the modes that stay, where one of their leaves radiates."""
    rows = at.pattern.rows
    parts = [
        rows if i == at.reduced.stack.radiating
        else np.zeros((*rows.shape[:-1], len(at.reduced.keep[i]))) for i in at.kept
    ]  # fmt: skip
    return np.concatenate(parts, axis=-1)


def _drive(at: Lines) -> np.ndarray:
    """What is struck (n, P) among all modes that stay."""
    parts = [
        at.struck if i == at.reduced.stack.walked
        else np.zeros((len(at.reduced.keep[i]), at.struck.shape[1])) for i in at.kept
    ]  # fmt: skip
    return np.vstack(parts)


def joined(parts: Sequence[Small]) -> Small:
    """One small system of parts that only their hangers join."""
    if len(parts) == 1:
        return parts[0]
    places, ears = places_of(parts)
    first = parts[0]
    links = first.compliance.shape[-1]
    size = sum(len(one.floor) for one in parts) + links
    ways = sum(one.weight.shape[-1] for one in parts)
    fixed = np.zeros((*first.fixed.shape[:2], size, size), complex)
    hear = np.zeros((*first.fixed.shape[:2], ways, size), complex)
    columns = np.cumsum([0, *(one.drive.shape[1] for one in parts)])
    drive = np.zeros((size - links, columns[-1]))
    for one, place, way, column in zip(parts, places, ears, columns[:-1], strict=True):
        fixed[..., place[:, None], place] += one.fixed
        hear[..., way[:, None], place] = one.hear
        mine = place[: len(one.floor)]
        drive[mine, column : column + one.drive.shape[1]] = one.drive
    return Small(
        first.omega, np.concatenate([one.floor for one in parts]), fixed,
        np.concatenate([one.dynamic for one in parts], axis=-1), first.compliance, drive, hear,
        np.concatenate([one.weight for one in parts], axis=-1),
    )  # fmt: skip


def places_of(parts: Sequence[Small]) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Of each part, the places of its unknowns and of its rows to the ear in the joined system."""
    starts = np.cumsum([0, *(len(one.floor) for one in parts)])
    ways = np.cumsum([0, *(one.weight.shape[-1] for one in parts)])
    shared = np.arange(starts[-1], starts[-1] + parts[0].compliance.shape[-1])
    return (
        [np.r_[low:high, shared] for low, high in pairwise(starts)],
        [np.arange(low, high) for low, high in pairwise(ways)],
    )


def kinds_of(compliance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The different ones among compliances (V, F, R), and which of them each is (V,)."""
    found: dict[bytes, int] = {}
    kind = [found.setdefault(one.tobytes(), len(found)) for one in compliance]
    first = [kind.index(number) for number in range(len(found))]
    return compliance[first], np.array(kind)

"""A stack that is its own mirror image, taken apart into motions that keep and that change sign.

Where leaves and links are the same seen in a mirror across the middle of the floor, even and odd
motions know nothing of each other: the system falls into halves (`impact.motion.halves`), each of
which costs an eighth. Nothing is assumed: what the shapes do in the mirror is looked up, and what
has no mirror image stays whole.
Hangers alone often stand without one; then the halves are solved without them, and their forces
found from what both halves do there (the Schur complement that gives the best case anyway).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from impact.base.levels import squared
from impact.leaf.mirror import PURE
from impact.motion import halves, striking
from impact.motion import stack as stacks
from impact.motion.answer import Answer
from impact.motion.halves import Share
from impact.motion.products import in_a_row, times
from impact.motion.reduced import Reduced
from impact.motion.striking import Area

AT_ONCE = 300_000  # entries of the systems that are solved at once
WORTH = 100  # motions and modes of a part below which halves cost more than they save


@dataclass(frozen=True, eq=False)
class Part:
    """One symmetry's share of a reduced stack.

    share : whose motions it has.
    """

    share: Share
    reduced: Reduced

    @property
    def modes(self) -> tuple[np.ndarray, ...]:
        """Per leaf, the places of its modes among those of the whole."""
        return self.reduced.keep


Group = tuple[Part, ...]  # parts that only the links held apart join


@dataclass(frozen=True, eq=False)
class Struck:
    """Unit forces on the parts of a stack.

    columns : group by group, part by part (n, P + F): forces that move this part only, then its
    share of the `shared` F forces that move all.
    """

    columns: list[list[np.ndarray]]
    shared: int

    def widths(self, group: int) -> list[int]:
        """Number P of forces of each part's own."""
        return [one.shape[1] - self.shared for one in self.columns[group]]

    @property
    def count(self) -> int:
        """Number of forces that belong to one part, all parts together: the first columns."""
        return sum(sum(self.widths(group)) for group in range(len(self.columns)))


@dataclass(frozen=True, eq=False)
class Together:
    """An answer of all parts together, as `stack.Answer` has it but for the forces of links.

    pieces : parts, where in all columns their own begin, and their answers. own : number of columns
    that belong to one part; shared : of those that move all, which come last. Motions add up over
    the parts; so do powers, since even and odd shapes radiate independently.
    """

    reduced: Reduced
    pieces: tuple[tuple[Part, int, Answer], ...]
    own: int
    shared: int

    @cached_property
    def power(self) -> np.ndarray:
        """(…, P) [W/N²]."""
        return self._sum([one.power for *_, one in self.pieces])

    @cached_property
    def mobility(self) -> np.ndarray:
        """(…, P) [m/(N s)]."""
        return self._sum([one.mobility for *_, one in self.pieces])

    def of(self, leaf: int) -> np.ndarray:
        """Motion of a leaf (…, n, P) [kg^1/2 m/N]. Large: most do without."""
        size = len(self.reduced.keep[leaf]), self.own + self.shared
        out = np.zeros((*self.power.shape[:-1], *size), complex)
        for part, begin, one in self.pieces:
            for there, here in self._columns(begin, one):
                out[..., part.modes[leaf], there] = one.of(leaf)[..., here]
        return out

    def onto(self, leaf: int, rows: np.ndarray) -> np.ndarray:
        """(…, M, P) real rows (M, n) times the motion of a leaf. Rows that nearly nothing of a part
        moves, as a mirror has it, are left out there."""
        out = np.zeros((*self.power.shape[:-1], len(rows), self.own + self.shared), complex)
        for part, begin, one in self.pieces:
            mine = rows[:, part.modes[leaf]]
            size = np.abs(mine).max(axis=1, initial=0.0)
            some = in_a_row(np.flatnonzero(size > PURE * size.max(initial=0.0)))
            moved = times(mine[some], one.of(leaf))
            for there, here in self._columns(begin, one):
                out[..., some, there] += moved[..., here]
        return out

    def square(self, leaf: int) -> np.ndarray:
        """(…, F) sum over the modes of a leaf of their squared motion, under the shared forces."""
        last = slice(-self.shared, None)
        return np.sum([
            squared(one.under(leaf, last)).sum(axis=-2) for *_, one in self.pieces
        ], axis=0)  # fmt: skip

    def _columns(self, begin: int, one: Answer) -> tuple[tuple[slice, slice], ...]:
        """Where columns of a part's answer belong, and where they stand: its own, then shared."""
        width = one.power.shape[-1] - self.shared
        return (
            (slice(begin, begin + width), slice(0, width)),
            (slice(self.own, None), slice(width, None)),
        )

    def _sum(self, values: Sequence[np.ndarray]) -> np.ndarray:
        out = np.zeros((*values[0].shape[:-1], self.own + self.shared), values[0].dtype)
        for (_, begin, one), value in zip(self.pieces, values, strict=True):
            for there, here in self._columns(begin, one):
                out[..., there] += value[..., here]
        return out


def over_area(groups: Sequence[Group], area: Area, points: np.ndarray) -> Struck:
    """Forces that stand for a random place in a rectangle, as `striking.over_area`, then unit
    forces at points (F, 2) [m, floor coordinates]. groups : from `split` for the same rectangle."""

    def both(part: Part) -> np.ndarray:
        own = striking.over_area(part.reduced, *area)
        return np.hstack([own, striking.at_points(part.reduced, points)])

    return Struck([[both(part) for part in group] for group in groups], len(points))


def at_points(groups: Sequence[Group], points: np.ndarray) -> Struck:
    """Unit forces at points (F, 2) [m, floor coordinates]."""
    columns = [[striking.at_points(part.reduced, points) for part in group] for group in groups]
    return Struck(columns, len(points))


def at_once(groups: Sequence[Group], lines: int) -> list[slice]:
    """Which of a number of `lines` to solve together: many while the systems are small, which
    saves most of the time of low bands, and few where they would only fill the memory."""
    size = max(len(part.reduced.joint_of) for group in groups for part in group)
    several = max(1, AT_ONCE // max(size, 1) ** 2)
    return [slice(start, start + several) for start in range(0, lines, several)]


def answers(
    reduced: Reduced,
    groups: Sequence[Group],
    omega: float | np.ndarray,
    struck: Struck,
    lacking: Sequence[str],
    alone: bool = False,
) -> tuple[Together, Together]:
    """One or more frequencies of the stack, and of the same without the links named in `lacking`.

    groups : from `split` with the same `lacking`; omega : (…,) rad/s. The columns of both answers
    are the parts' own forces in their order, then the shared ones. alone : only the first is
    wanted; the other is the same.
    """
    found: list[list[tuple[Part, int, Answer]]] = [[], []]  # with where its own columns begin
    start = 0
    for number, group in enumerate(groups):
        columns, widths = struck.columns[number], struck.widths(number)
        if len(group) == 1:
            both = _alone(group[0].reduced, omega, columns[0], () if alone else lacking)
            for collected, one in zip(found, both, strict=True):
                collected.append((group[0], start, one))
        else:
            with_them, without = _joined(group, omega, columns, widths, lacking, alone)
            found[0] += [(part, start, one) for part, one in zip(group, with_them, strict=True)]
            begins = (start + np.cumsum([0, *widths[:-1]])).tolist()
            found[1] += list(zip(group, begins, without, strict=not alone))
        start += sum(widths)
    design, best = (Together(reduced, tuple(each), start, struck.shared) for each in found)
    return design, design if alone else best


def _alone(
    reduced: Reduced, omega: float | np.ndarray, struck: np.ndarray, lacking: Sequence[str]
) -> tuple[Answer, Answer]:
    at = stacks.line(reduced, omega, struck)
    stays = ~reduced.of(lacking)
    if stays.all():
        one = stacks.answer(reduced, at)
        return one, one
    return stacks.answer_both(reduced, at, stays)


def _joined(
    group: Group, omega: float | np.ndarray, columns: list[np.ndarray], widths: list[int],
    lacking: Sequence[str], alone: bool,
) -> tuple[list[Answer], list[Answer]]:  # fmt: skip
    """Parts that the `lacking` links join: with them, all columns of the group for every part;
    without them, each part's own columns, none where the first is wanted `alone`."""
    total = sum(widths)
    solved, design, without = [], [], []
    schur: np.ndarray | float = 0.0
    push: np.ndarray | float = 0.0
    begin = 0
    for number, (part, struck, width) in enumerate(zip(group, columns, widths, strict=True)):
        reduced = part.reduced
        gone = reduced.of(lacking)
        own = stacks.compliances(reduced, omega)
        if number:
            own[..., gone] = 0.0  # the links' own compliance counts once
        at = stacks.line(reduced, omega, struck)
        opened = stacks.opened(reduced, at, own, ~gone)
        schur = schur + opened.schur
        push = push + _wide(opened.push, begin, width, total)
        if not alone:
            without.append(stacks.answered(reduced, at, np.flatnonzero(~gone), opened.lone))
        whole = replace(
            at, struck=_wide(struck, begin, width, total),
            drive=_wide(at.drive, begin, width, total),
        )  # fmt: skip
        solved.append((reduced, whole, own, opened, _wide(opened.lone, begin, width, total)))
        begin += width
    back = np.linalg.solve(schur, push)
    for reduced, at, own, opened, lone in solved:
        both = opened.closed(lone, back)
        design.append(stacks.answered(reduced, at, np.arange(own.shape[-1]), both))
    return design, without


def _wide(values: np.ndarray, begin: int, width: int, total: int) -> np.ndarray:
    """Columns (…, width own and some shared) among `total` own ones; zeros for the others'."""
    shared = values.shape[-1] - width
    out = np.zeros((*values.shape[:-1], total + shared), values.dtype)
    out[..., begin : begin + width] = values[..., :width]
    out[..., total:] = values[..., width:]
    return out


def split(
    reduced: Reduced, lacking: Sequence[str] = (), area: Area | None = None, worth: int = WORTH,
    richer: Iterable[Group] = (),
) -> tuple[Group, ...]:  # fmt: skip
    """The stack by its mirrors along x and y; itself alone where it has none.

    lacking : names of links that may stand without a mirror image. area : the rectangle for
    `over_area`, which must stand in the middle too. worth : in place of WORTH. richer : the same
    band in a richer size, which knows most of what rests.
    """
    known = {id(part.share): part.reduced for group in richer for part in group}
    groups: list[tuple[Share, ...]] = [(halves.of(reduced.stack),)]
    left = []  # sides where links without an image stand in the way
    for axis in halves.centred(reduced.stack, area):
        halved = [in_halves(share, axis, (), reduced, worth) for (share,) in groups]
        if all(len(each) == 1 for each in halved):
            left.append(axis)
        groups = [(half,) for each in halved for half in each]
    for axis in left if lacking else ():
        groups = [
            tuple(
                half for share in group for half in in_halves(share, axis, lacking, reduced, worth)
            )
            for group in groups
        ]
    return tuple(
        tuple(_part(share, reduced, known.get(id(share))) for share in group) for group in groups
    )


def _part(share: Share, reduced: Reduced, richer: Reduced | None) -> Part:
    """A share's part of the stack in a band."""
    cut = reduced if share is halves.of(reduced.stack) else share.cut(reduced)
    return Part(share, cut if richer is None else replace(cut, richer=richer))


def in_halves(
    share: Share, axis: int, lacking: Sequence[str], reduced: Reduced, worth: int = WORTH
) -> tuple[Share, ...]:
    """Even and odd half about the middle of side `axis`; the share itself where it has none, is
    small in this band, or has a leaf with motions of one kind only."""
    if sum(share.motion_counts(reduced)) + sum(share.counts(reduced)) < worth:
        return (share,)
    found = share.halves(axis, lacking)
    if not found or any(0 in half.counts(reduced) for half in found):
        return (share,)
    return found

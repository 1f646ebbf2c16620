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

import numpy as np

from impact.motion import halves, striking
from impact.motion import stack as stacks
from impact.motion.halves import Share
from impact.motion.reduced import Reduced
from impact.motion.stack import Answer
from impact.motion.striking import Area

AT_ONCE = 300_000  # entries of the systems that are solved at once
WORTH = 100  # motions and modes of a part below which halves cost more than they save


@dataclass(frozen=True, eq=False)
class Part:
    """One symmetry's share of a reduced stack.

    share : whose motions it has. modes : per leaf, the places of its modes among those of the
    whole.
    """

    share: Share
    reduced: Reduced
    modes: tuple[np.ndarray, ...]


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
) -> tuple[Answer, Answer]:
    """One or more frequencies of the stack, and of the same without the links named in `lacking`.

    groups : from `split` with the same `lacking`; omega : (…,) rad/s. The columns of both answers
    are the parts' own forces in their order, then the shared ones. Motions add up over the parts;
    so do powers, since even and odd shapes radiate independently. Forces of links are left out.
    """
    found: list[list[tuple[Part, int, Answer]]] = [[], []]  # with where its own columns begin
    start = 0
    for number, group in enumerate(groups):
        columns, widths = struck.columns[number], struck.widths(number)
        if len(group) == 1:
            both = _alone(group[0].reduced, omega, columns[0], lacking)
            for collected, one in zip(found, both, strict=True):
                collected.append((group[0], start, one))
        else:
            with_them, without = _joined(group, omega, columns, widths, lacking)
            found[0] += [(part, start, one) for part, one in zip(group, with_them, strict=True)]
            begins = (start + np.cumsum([0, *widths[:-1]])).tolist()
            found[1] += list(zip(group, begins, without, strict=True))
        start += sum(widths)
    design, best = (_together(reduced, each, start, struck.shared) for each in found)
    return design, best


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
    lacking: Sequence[str],
) -> tuple[list[Answer], list[Answer]]:  # fmt: skip
    """Parts that the `lacking` links join: with them, all columns of the group for every part;
    without them, each part's own columns."""
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
        without.append(stacks.answered(reduced, at, np.flatnonzero(~gone), opened.lone))
        whole = replace(at, struck=_wide(struck, begin, width, total))
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


def _together(
    reduced: Reduced, found: Iterable[tuple[Part, int, Answer]], total: int, shared: int
) -> Answer:
    """One answer from those of the parts, whose own columns begin at the given places."""
    parts = list(found)
    before = parts[0][2].power.shape[:-1]
    wide = (*before, total + shared)
    out = Answer(
        np.zeros(wide), np.zeros(wide, complex),
        {i: np.zeros((*before, len(k), total + shared), complex)
         for i, k in enumerate(reduced.keep)},
        np.zeros((*before, 0, total + shared), complex),
    )  # fmt: skip
    for part, begin, one in parts:
        width = one.power.shape[-1] - shared
        for own, several in ((slice(begin, begin + width), slice(0, width)),
                             (slice(total, None), slice(width, None))):  # fmt: skip
            out.power[..., own] += one.power[..., several]
            out.mobility[..., own] += one.mobility[..., several]
            for i, modes in enumerate(part.modes):
                out.motion[i][..., modes, own] = one.motion[i][..., several]
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
    return Part(share, cut if richer is None else replace(cut, richer=richer), cut.keep)


def in_halves(
    share: Share, axis: int, lacking: Sequence[str], reduced: Reduced, worth: int = WORTH
) -> tuple[Share, ...]:
    """Even and odd half about the middle of side `axis`; the share itself where it has none, is
    small in this band, or has a leaf with motions of one kind only."""
    if sum(map(len, share.motions(reduced))) + sum(share.counts(reduced)) < worth:
        return (share,)
    found = share.halves(axis, lacking)
    if not found or any(0 in half.counts(reduced) for half in found):
        return (share,)
    return found

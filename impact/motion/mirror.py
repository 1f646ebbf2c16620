"""A stack that is its own mirror image, taken apart into motions that keep and that change sign.

Where leaves and links are the same seen in a mirror across the middle of the floor, even and odd
motions know nothing of each other: the system falls into halves, each of which costs an eighth
(symmetry in structural dynamics, any textbook; the reduction by group representations). Links that
come in mirrored pairs are combined to their sum and difference, over the root of two. Nothing is
assumed: what the shapes do in the mirror is looked up, and what has no mirror image stays whole.
Hangers alone often stand without one; then the halves are solved without them, and their forces
found from what both halves do there (the Schur complement that gives the best case anyway).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from impact.leaf import mirror as leaf_mirror
from impact.leaf.mirror import PURE
from impact.motion import stack as stacks
from impact.motion import striking
from impact.motion.stack import Answer, Reduced
from impact.motion.striking import Area

AT_ONCE = 300_000  # entries of the systems that are solved at once
WORTH = 100  # motions and modes of a part below which halves cost more than they save


@dataclass(frozen=True, eq=False)
class Part:
    """One symmetry's share of a reduced stack.

    modes : per leaf, the places of its modes among those of the whole.
    """

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
    stays = ~np.isin(reduced.names, list(lacking))
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
        gone = np.isin(reduced.names, list(lacking))
        own = stacks.compliances(reduced, omega)
        if number:
            own[..., gone] = 0.0  # the links' own compliance counts once
        at = stacks.line(reduced, omega, struck)
        halves = stacks.opened(reduced, at, own, ~gone)
        schur = schur + halves.schur
        push = push + _wide(halves.push, begin, width, total)
        without.append(stacks.answered(reduced, at, np.flatnonzero(~gone), halves.lone))
        whole = replace(at, struck=_wide(struck, begin, width, total))
        solved.append((reduced, whole, own, halves, _wide(halves.lone, begin, width, total)))
        begin += width
    back = np.linalg.solve(schur, push)
    for reduced, at, own, halves, lone in solved:
        both = halves.closed(lone, back)
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
    reduced: Reduced, lacking: Sequence[str] = (), area: Area | None = None, worth: int = WORTH
) -> tuple[Group, ...]:
    """The stack by its mirrors along x and y; itself alone where it has none.

    lacking : names of links that may stand without a mirror image. area : the rectangle for
    `over_area`, which must stand in the middle too. worth : in place of WORTH.
    """
    groups: list[Group] = [(Part(reduced, tuple(np.arange(len(k)) for k in reduced.keep)),)]
    left = []  # sides where links without an image stand in the way
    for axis in _centred(reduced, area):
        halved = [_halves(part, axis, (), worth) for (part,) in groups]
        if all(len(halves) == 1 for halves in halved):
            left.append(axis)
        groups = [(half,) for halves in halved for half in halves]
    for axis in left if lacking else ():
        groups = [
            tuple(half for part in group for half in _halves(part, axis, lacking, worth))
            for group in groups
        ]
    return tuple(groups)


def _centred(reduced: Reduced, area: Area | None) -> list[int]:
    """Sides along which all leaves, and the rectangle, have the same middle."""
    out = []
    for axis in (0, 1):
        middles = [
            leaf_mirror.side(leaf, axis).length / 2 + leaf.plate.origin[axis]
            for leaf in reduced.stack.leaves
        ]
        if area is not None:
            middles.append(sum(area[axis]) / 2)
        if np.ptp(middles) < PURE:
            out.append(axis)
    return out


def _halves(part: Part, axis: int, lacking: Sequence[str], worth: int) -> Group:
    """Even and odd half about the middle of side `axis`; the part itself where it has none."""
    reduced = part.reduced
    leaves = reduced.stack.leaves
    if len(reduced.joint_of) + sum(len(m) for m in part.modes) < worth:
        return (part,)
    signs = [leaf_mirror.signs(leaf, axis) for leaf in leaves]
    known = [s for s in signs if s is not None]
    if len(known) < len(leaves):
        return (part,)
    mine = [s[k] for s, k in zip(known, reduced.keep, strict=True)]
    if any(abs(s.sum()) == len(s) for s in mine):
        return (part,)  # a leaf with motions of one kind only
    image = _images(reduced, mine, np.isin(reduced.names, list(lacking)))
    if image is None:
        return (part,)
    return tuple(_half(part, known, image, sign) for sign in (1, -1))


def _half(part: Part, signs: Sequence[np.ndarray], image: np.ndarray, sign: int) -> Part:
    """What keeps (1) or changes (-1) its sign in the mirror.

    signs : of all modes per leaf; image : see `_images`. Links held apart are in both halves.
    """
    reduced = part.reduced
    place = np.arange(len(image))
    partner = np.where(image == 0, place, np.abs(image) - 1)
    pure = (partner == place) & ((np.sign(image) == sign) | (image == 0))
    first = place[pure | (partner > place)]
    pair = partner[first] != first
    ones, others = first[pair], partner[first[pair]]

    def combined(rows: np.ndarray) -> np.ndarray:
        out = rows[first]
        out[pair] = np.sqrt(0.5) * (rows[ones] + sign * rows[others])
        return out

    keep, rest = (
        [s[k] == sign for s, k in zip(signs, modes, strict=True)]
        for modes in (reduced.keep, reduced.rest)
    )
    # links held apart have the compliance of both halves' modes, and what is beyond them once
    counted = (sign > 0) | (image[first] != 0)
    half = replace(
        reduced, keep=_chosen(reduced.keep, keep), rest=_chosen(reduced.rest, rest),
        shapes=tuple(combined(b[:, c]) for b, c in zip(reduced.shapes, keep, strict=True)),
        resting=tuple(combined(b[:, c]) for b, c in zip(reduced.resting, rest, strict=True)),
        joint_of=reduced.joint_of[first], motion_of=reduced.motion_of[first],
        beyond=reduced.beyond[first] * counted,
    )  # fmt: skip
    return Part(half, _chosen(part.modes, keep))


def _chosen(
    places: Sequence[np.ndarray], which: Sequence[np.ndarray]
) -> tuple[np.ndarray, ...]:  # fmt: skip
    """Some of each leaf's places."""
    return tuple(one[c] for one, c in zip(places, which, strict=True))


def _images(reduced: Reduced, signs: list[np.ndarray], apart: np.ndarray) -> np.ndarray | None:
    """(L,) for each motion of a link the place of its mirror image, from 1 up, negative where the
    sign changes, 0 for those held `apart` (L,); None where another has no image.

    Found by what a few fixed mixtures of modes do, then checked mode by mode.
    """
    count = len(reduced.joint_of)
    place = np.arange(count)
    rows = np.hstack(reduced.shapes)
    turned = np.concatenate(signs)
    mixture = np.random.default_rng(1).standard_normal((rows.shape[1], 3))
    here, there = rows @ mixture, rows @ (turned[:, None] * mixture)
    size = PURE * np.linalg.norm(rows, axis=1) + 1e-300
    image = np.zeros(count, int)
    for sign in (1, -1):
        same = np.abs(there - sign * here).max(axis=1) < 10 * size
        image[same] = sign * (place[same] + 1)
    image[apart] = 0
    lone = np.flatnonzero((image == 0) & ~apart)
    if len(lone):
        off = np.zeros((len(lone), len(lone)))
        for one, other in zip(there[lone].T, here[lone].T, strict=True):  # little memory at once
            np.maximum(off, np.abs(one[:, None] - other), out=off)
        off[reduced.joint_of[lone][:, None] != reduced.joint_of[lone][None]] = np.inf
        nearest = off.argmin(axis=1)
        if (off[np.arange(len(lone)), nearest] > 10 * size[lone]).any():
            return None
        image[lone] = lone[nearest] + 1
        own = stacks.compliances(reduced, 2 * np.pi * 100.0)
        partner = lone[nearest]
        if not np.allclose(own[lone], own[partner], rtol=PURE, atol=0):
            return None
    partner = np.where(image == 0, place, np.abs(image) - 1)
    off = rows * turned - np.sign(image)[:, None] * rows[partner]
    alike = np.abs(off).max(axis=1, initial=0.0) <= 10 * size
    return image if (alike | apart).all() and (partner[partner] == place).all() else None

"""The shares of a symmetric stack: its motions that keep, and that change, sign in a mirror.

What the shapes of leaves and links do in a mirror across the middle of the floor does not depend on
the band: it is looked up once for a stack, and each band takes from a share what it needs. Links
that come in mirrored pairs are combined to their sum and difference, over the root of two
(symmetry in structural dynamics, any textbook; the reduction by group representations).
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from impact.leaf import mirror as leaf_mirror
from impact.leaf.mirror import PURE
from impact.motion.reduced import Chosen, Reduced
from impact.motion.stack import Stack

COMPARED_AT = 2 * np.pi * 100.0  # rad/s: links of a pair must be alike here
_once = threading.Lock()  # a share is halved by one thread while others wait for it


@dataclass(frozen=True, eq=False)
class Rows:
    """Motions of one joint in a share.

    motion : (L,) place within the joint; of a pair, the first. shapes : leaf -> (L, n) on the
    share's modes of that leaf. beyond : (L,) as `Reduced.beyond`.
    """

    motion: np.ndarray
    shapes: dict[int, np.ndarray]
    beyond: np.ndarray


@dataclass(frozen=True, eq=False)
class Share:
    """One symmetry's share of a whole stack: `modes`, per leaf the places of its own, rising, and
    `rows`, per joint its motions."""

    stack: Stack
    modes: tuple[np.ndarray, ...]
    rows: tuple[Rows, ...]
    known: dict[tuple, tuple[Share, ...]] = field(default_factory=dict, init=False, repr=False)

    def halves(self, axis: int, apart: Sequence[str]) -> tuple[Share, ...]:
        """Even and odd half about the middle of side x (0) or y (1); none where there is no mirror.

        apart : names of joints whose motions may lack an image. They are in both halves.
        """
        key = (axis, *sorted(apart))
        with _once:
            if key not in self.known:
                self.known[key] = _halved(self, axis, apart)
            return self.known[key]

    def motions(self, reduced: Reduced) -> list[np.ndarray]:
        """Per joint the places of those of the share's motions that a band keeps."""
        return [
            np.flatnonzero(counted[rows.motion])
            for rows, counted in zip(self.rows, reduced.counted, strict=True)
        ]

    def motion_counts(self, reduced: Reduced) -> list[int]:
        """Per joint how many of the share's motions a band keeps."""
        return [
            int(np.count_nonzero(counted[rows.motion]))
            for rows, counted in zip(self.rows, reduced.counted, strict=True)
        ]

    def counts(self, reduced: Reduced) -> list[int]:
        """Per leaf how many of the share's modes a band keeps."""
        return [
            int(own.searchsorted(len(keep)))
            for own, keep in zip(self.modes, reduced.keep, strict=True)
        ]

    def cut(self, reduced: Reduced) -> Reduced:
        """The share's part of a stack that `reduced` has cut down for a band."""
        chosen, counts = self.motions(reduced), self.counts(reduced)
        picked = list(zip(self.rows, chosen, strict=True))
        return Reduced(
            self.stack, tuple(own[:n] for own, n in zip(self.modes, counts, strict=True)),
            tuple(own[n:] for own, n in zip(self.modes, counts, strict=True)),
            tuple(Chosen(rows.shapes, c) for rows, c in picked),
            np.repeat(np.arange(len(chosen)), [len(c) for c in chosen]),
            _joined([rows.motion[c] for rows, c in picked], int),
            _joined([rows.beyond[c] for rows, c in picked], complex),
            reduced.centre, reduced.reach, reduced.loaded, reduced.room_above,
        )  # fmt: skip


def _joined(parts: list[np.ndarray], kind: type) -> np.ndarray:
    return np.concatenate([np.zeros(0, kind), *parts])


def of(stack: Stack) -> Share:
    """The whole stack as a share; kept with it."""
    if "share" not in stack.kept:
        stack.kept["share"] = Share(
            stack, tuple(np.arange(len(leaf.omega)) for leaf in stack.leaves),
            tuple(
                Rows(np.arange(joint.count), joint.shapes, sum(
                    joint.beyond.values(), np.zeros(joint.count, complex)))
                for joint in stack.joints
            ),
        )  # fmt: skip
    return stack.kept["share"]


def centred(
    stack: Stack, area: tuple[tuple[float, float], tuple[float, float]] | None = None
) -> list[int]:
    """Sides, x (0) and y (1), along which all leaves, and the rectangle `area` of
    `impact.motion.striking`, have the same middle."""
    out = []
    for axis in (0, 1):
        middles = [
            leaf_mirror.side(leaf, axis).length / 2 + leaf.plate.origin[axis]
            for leaf in stack.leaves
        ]
        if area is not None:
            middles.append(sum(area[axis]) / 2)
        if np.ptp(middles) < PURE:
            out.append(axis)
    return out


def apart(stack: Stack) -> tuple[Share, ...]:
    """Shares that know nothing of each other and make up the stack: itself where it has no
    mirror."""
    shares: tuple[Share, ...] = (of(stack),)
    for axis in centred(stack):
        shares = tuple(half for one in shares for half in one.halves(axis, ()) or (one,))
    return shares


def signs(share: Share, axis: int) -> list[np.ndarray] | None:
    """Per leaf (n,) 1 or -1 of the share's modes in the mirror; None where a leaf has neither."""
    found = [leaf_mirror.signs(leaf, axis) for leaf in share.stack.leaves]
    known = [s for s in found if s is not None]
    if len(known) < len(found):
        return None
    return [s[own] for s, own in zip(known, share.modes, strict=True)]


def _halved(share: Share, axis: int, apart: Sequence[str]) -> tuple[Share, ...]:
    turned = signs(share, axis)
    if turned is None:
        return ()
    images = []
    for joint, rows in zip(share.stack.joints, share.rows, strict=True):
        lone = joint.name in apart
        image = np.zeros(len(rows.motion), int) if lone else _images(rows, turned)
        if image is None:
            return ()
        own = joint.compliance(COMPARED_AT, rows.motion)
        if not np.allclose(own, own[_partners(image)], rtol=PURE, atol=0):
            return ()
        images.append(image)
    return tuple(
        Share(
            share.stack,
            tuple(own[s == sign] for own, s in zip(share.modes, turned, strict=True)),
            tuple(
                _half(rows, turned, image, sign)
                for rows, image in zip(share.rows, images, strict=True)
            ),
        )
        for sign in (1, -1)
    )  # fmt: skip


def _partners(image: np.ndarray) -> np.ndarray:
    """Places of the mirror images (L,), a motion's own where it is held apart."""
    return np.where(image == 0, np.arange(len(image)), np.abs(image) - 1)


def _half(rows: Rows, turned: Sequence[np.ndarray], image: np.ndarray, sign: int) -> Rows:
    """What of a joint keeps (1) or changes (-1) its sign; turned : of the modes, per leaf."""
    place, partner = np.arange(len(image)), _partners(image)
    pure = (partner == place) & ((np.sign(image) == sign) | (image == 0))
    first = place[pure | (partner > place)]
    pair = partner[first] != first
    ones, others = first[pair], partner[first[pair]]
    shapes = {}
    for leaf, every in rows.shapes.items():
        mine = every[:, turned[leaf] == sign]
        out = mine[first]
        out[pair] = np.sqrt(0.5) * (mine[ones] + sign * mine[others])
        shapes[leaf] = out
    # links held apart have the compliance of both halves' modes, and what is beyond them once
    counted = (sign > 0) | (image[first] != 0)
    return Rows(rows.motion[first], shapes, rows.beyond[first] * counted)


def _images(rows: Rows, turned: Sequence[np.ndarray]) -> np.ndarray | None:
    """(L,) for each motion of a joint the place of its mirror image, from 1 up, negative where the
    sign changes; None where one has no image.

    turned : per leaf (n,) the signs of the modes. Found by what a few fixed mixtures of modes do,
    then checked mode by mode.
    """
    count = len(rows.motion)
    place = np.arange(count)
    mixed = np.random.default_rng(1)
    here, there, squares = np.zeros((count, 3)), np.zeros((count, 3)), np.zeros((count, 2))
    for leaf, shapes in rows.shapes.items():
        mixture = mixed.standard_normal((shapes.shape[1], 3))
        here += shapes @ mixture
        there += shapes @ (turned[leaf][:, None] * mixture)
        squares += shapes**2 @ (turned[leaf][:, None] == (1, -1))  # of even modes, of odd ones
    size = PURE * np.sqrt(squares.sum(axis=1)) + 1e-300
    image = np.zeros(count, int)
    for sign in (1, -1):
        same = np.abs(there - sign * here).max(axis=1, initial=0.0) < 10 * size
        image[same] = sign * (place[same] + 1)
    lone = np.flatnonzero(image == 0)
    if len(lone):
        off = np.zeros((len(lone), len(lone)))
        for one, other in zip(there[lone].T, here[lone].T, strict=True):  # little memory at once
            np.maximum(off, np.abs(one[:, None] - other), out=off)
        nearest = off.argmin(axis=1)
        if (off[np.arange(len(lone)), nearest] > 10 * size[lone]).any():
            return None
        image[lone] = lone[nearest] + 1
    partner = _partners(image)
    if (partner[partner] != place).any():
        return None
    kept = np.sign(image)
    own = partner == place  # modes of the other sign must not move these
    if (np.sqrt(squares[own, (kept[own] > 0).astype(int)]) > 10 * size[own]).any():
        return None
    pairs = np.flatnonzero(~own)
    for leaf, shapes in rows.shapes.items() if len(pairs) else ():
        off = shapes[pairs] * turned[leaf] - kept[pairs, None] * shapes[partner[pairs]]
        if (np.abs(off).max(axis=1, initial=0.0) > 10 * size[pairs]).any():
            return None
    return image

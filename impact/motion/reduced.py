"""A stack in one band: the modes that move, those that follow at rest, the motions that matter."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from impact.motion.products import in_a_row, weighted

if TYPE_CHECKING:
    from impact.motion.stack import Stack

FAR = 30.0  # modes of a square this many times the band's follow without any change over the band


class Chosen(NamedTuple):
    """Motions of one joint: shapes by leaf, of more motions (…, n) of all its modes, and the places
    (L',) among them."""

    shapes: Mapping[int, np.ndarray]
    places: np.ndarray


@dataclass(frozen=True, eq=False)
class Reduced:
    """A stack cut down to what matters in one band; see `impact.motion.stack.reduce`."""

    stack: Stack
    keep: tuple[np.ndarray, ...]  # per leaf: places of the moving modes, the lowest
    rest: tuple[np.ndarray, ...]  # per leaf: places of the modes that follow at rest, all others
    chosen: tuple[Chosen, ...]  # per joint
    joint_of: np.ndarray  # (L,) place of the joint of each motion
    motion_of: np.ndarray  # (L,) place within its joint
    beyond: np.ndarray  # (L,) compliance of what lies beyond all modes
    centre: float  # rad/s, middle of the band
    reach: float = 0.0  # rad/m: largest wavenumber of the air's motions that are kept
    loaded: bool = True  # the radiated sound also damps the leaf; False leaves that out
    room_above: bool = True  # sound that the struck leaf gives upwards damps it too
    # the same in a richer size, with all of these motions and modes; its `residual` is begun with
    richer: Reduced | None = field(default=None, repr=False)

    @cached_property
    def touched(self) -> tuple[slice | np.ndarray, ...]:
        """Per leaf the places (L',) of the motions that touch it, a slice where they are in a
        row."""
        return tuple(
            in_a_row(np.flatnonzero(self._mark([leaf in one.shapes for one in self.stack.joints])))
            for leaf in range(len(self.stack.leaves))
        )

    @cached_property
    def _every(self) -> tuple[np.ndarray, ...]:
        """Per leaf the shapes (L', n) of the modes that move and that are `_added` on the motions
        that touch it."""
        return tuple(
            np.vstack([np.zeros((0, len(keep) + added)), *(
                shapes[leaf][places, : len(keep) + added]
                for shapes, places in self.chosen if leaf in shapes
            )]) for leaf, (keep, added) in enumerate(zip(self.keep, self._added, strict=True))
        )  # fmt: skip

    @cached_property
    def _added(self) -> list[int]:
        """Per leaf how many modes, from the lowest that rest, the `residual` adds to that of the
        richer size: all where there is none."""
        known = [0] * len(self.rest) if self.richer is None else map(len, self.richer.rest)
        return [len(rest) - there for rest, there in zip(self.rest, known, strict=True)]

    @cached_property
    def _in_richer(self) -> np.ndarray:
        """(L,) places of the motions among those of the richer size."""
        assert self.richer is not None
        out = []
        for number, (_, own) in enumerate(self.chosen):
            start = self.richer.rows[number].start
            out.append(start + self.richer.chosen[number].places.searchsorted(own))
        return np.concatenate([np.zeros(0, int), *out])

    @property
    def moving(self) -> tuple[np.ndarray, ...]:
        """Per leaf the shapes (L', kept modes) on the motions that touch it."""
        return tuple(b[:, : len(k)] for b, k in zip(self._every, self.keep, strict=True))

    @property
    def resting(self) -> tuple[np.ndarray, ...]:
        """Per leaf the shapes (L', added) of the first modes at rest on the motions that touch it;
        of all where no size is richer."""
        return tuple(b[:, len(k) :] for b, k in zip(self._every, self.keep, strict=True))

    @cached_property
    def shapes(self) -> tuple[np.ndarray, ...]:
        """Per leaf the shapes (L, kept modes) on all motions, 0 on those that do not touch it."""
        out = tuple(np.zeros((len(self.joint_of), len(keep))) for keep in self.keep)
        for full, rows, own in zip(out, self.touched, self.moving, strict=True):
            full[rows] = own
        return out

    @cached_property
    def rows(self) -> list[slice]:
        """Per joint where its motions stand."""
        ends = self.joint_of.searchsorted(np.arange(len(self.stack.joints) + 1)).tolist()
        return [slice(*pair) for pair in pairwise(ends)]

    @cached_property
    def names(self) -> np.ndarray:
        """(L,) name of the joint of each motion."""
        return np.array([joint.name for joint in self.stack.joints], str)[self.joint_of]

    @cached_property
    def counted(self) -> tuple[np.ndarray, ...]:
        """Per joint (L,) whether each of all its motions is kept."""
        found = tuple(np.zeros(joint.count, bool) for joint in self.stack.joints)
        for rows, kept in zip(self.rows, found, strict=True):
            kept[self.motion_of[rows]] = True
        return found

    def of(self, names: Collection[str]) -> np.ndarray:
        """(L,) whether each motion is of a joint so named."""
        return self._mark([joint.name in names for joint in self.stack.joints])

    def _mark(self, joints: Sequence[bool]) -> np.ndarray:
        """(L,) whether each motion is of a joint so marked."""
        return np.array(joints, bool)[self.joint_of]

    @cached_property
    def squares(self) -> tuple[np.ndarray, ...]:
        """Per leaf omega_n² (1 + i eta) (n,) of the kept modes [rad²/s²]."""
        return tuple(leaf.squares[k] for leaf, k in zip(self.stack.leaves, self.keep, strict=True))

    def spread(self, leaf: int) -> np.ndarray:
        """(n,) integral of the square of each kept mode over a leaf [m2/kg], 1/m'' without ribs;
        found once."""
        own = self.stack.leaves[leaf]
        if "spread" not in own.kept:
            own.kept["spread"] = np.sum(own.coefficients**2, axis=(0, 1))
        return np.asarray(own.kept["spread"][self.keep[leaf]])

    @cached_property
    def residual(self) -> tuple[np.ndarray, np.ndarray]:
        """Compliance (L, L) of the modes at rest and beyond, at `centre`, and its slope over omega²
        (L, L). Both to first order in the loss factors:

            1/(w² (1 + i eta) - omega²) = r + r² (omega² - centre² - i eta w²) ,
            r = 1/(w² - centre²)
        """
        if self.richer is None:
            at_centre, slope = np.diag(self.beyond), np.zeros((len(self.beyond),) * 2)
        else:
            both = np.ix_(self._in_richer, self._in_richer)
            at_centre, slope = (each[both] for each in self.richer.residual)
        middle = self.centre**2
        for leaf, modes, shapes, rows in zip(
            self.stack.leaves, self.rest, self.resting, self.touched, strict=True
        ):
            rest = modes[: shapes.shape[1]]
            if not len(rest):
                continue
            own, loss, place = leaf.omega[rest] ** 2, leaf.losses[rest], among(rows)
            near = slice(0, int(own.searchsorted(FAR * middle)))
            r = 1 / (own - middle)
            stiff, bent = weighted(shapes, r), weighted(shapes[:, near], r[near] ** 2)
            at_centre.real[place] += stiff
            slope[place] += bent
            if np.ptp(loss) == 0:  # w² r² = r + centre² r²
                at_centre.imag[place] -= loss[0] * (stiff + middle * bent)
            else:
                at_centre.imag[place] -= weighted(shapes, loss * own * r**2)
        return at_centre, slope


def among(rows: slice | np.ndarray) -> tuple[Any, ...]:
    """Index of some rows and columns of matrices (…, L, L)."""
    return (..., rows, rows) if isinstance(rows, slice) else (..., rows[:, None], rows)

"""How much of a stack a band takes: modes of the leaves that move, motions of areas that count.

A leaf's mode well above the band follows at rest. A motion of the air (or of a mat) over a short
wave is left out where the leaves, bent so shortly, are stiff beside it. Of a plate of bending
stiffness D under a spring of kappa per area that is where k⁴ is far above kappa/D, the plate on an
elastic foundation (S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed.,
1959, ch. 8), and above the wavenumber of the plate's own free waves.

A size says how far "far" is. Predictions begin with a lean one, solve a line or two of the band in
the next richer one as well, and take that where the two are too far apart: `settled`. What is still
missing is estimated by the last such difference. It cannot see past what a stack holds: motions to
1.3 times the wavenumber at its highest frequency (`impact.motion.assemble`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeVar

import numpy as np

from impact.leaf import sheared
from impact.leaf.plate import Leaf
from impact.leaf.vented import boards, vents
from impact.link.joint import Joint

SPARE = 30.0  # Hz: modes up to so much more than a multiple of the band's upper edge move
FEWEST = 8  # modes of a leaf: a stiff floor may have none so low; some must move
# What follows at rest sounds by the volume it displaces: so much of it is kept in modes that move.
# The lowest modes of a short floor on deep joists, which roll, displace none.
PUMPED = 0.95
HEAVE = 0.1  # rad/s: slower than any leaf that is held


@dataclass(frozen=True)
class Size:
    """Multiples that decide what is kept.

    dynamic : of the band's upper edge, to which modes move. short : of the wavenumber of the
    leaves' free waves or of a leaf on the link as its foundation, to which area motions count.
    """

    dynamic: float
    short: float


# From lean to rich; the last only tells what the one before misses. Differences of levels, as in
# searches among ceilings and faults, are taken at USUAL, where nobody looks for the error.
LADDER = (Size(1.25, 0.9), Size(1.6, 1.25), Size(2.1, 1.75), Size(2.8, 2.5))
USUAL = Size(1.6, 1.1)
ENOUGH = 0.15  # dB between a size and the next richer one
EVERY = 5  # one line of a band in so many is solved in two sizes


def bending_wavenumber(leaf: Leaf, omega: float) -> float:
    """Largest free bending wavenumber of a leaf's plate without ribs [rad/m]."""
    plate = leaf.plate
    softest = min(
        (bending / (1 + float(sheared.give(bending, plate.mass, shear, omega)))
         for bending, shear in zip((plate.bending_x, plate.bending_y), plate.shear, strict=True)
         if bending > 0)
    )  # fmt: skip
    return float((plate.mass * omega**2 / softest) ** 0.25)


def _weakest(leaf: Leaf) -> float:
    """The weaker bending stiffness [N m]; a leaf that is limp one way takes its waves that way from
    what moves it."""
    both = (leaf.plate.bending_x, leaf.plate.bending_y)
    return min(each for each in both if each > 0)


def motions(leaves: Sequence[Leaf], joint: Joint, high: float, size: Size = USUAL) -> np.ndarray:
    """Places of the motions of a joint that matter up to `high` [Hz]; all of a point link's."""
    if not joint.wavenumber.any():
        return np.arange(joint.count)
    omega = 2 * np.pi * high
    reach = np.full(joint.count, max(bending_wavenumber(leaves[i], omega) for i in joint.shapes))
    if not joint.local:
        soft = sum(1 / _weakest(leaves[i]) for i in joint.shapes)
        spring = 1 / np.maximum(np.abs(joint.compliance(omega)), 1e-30)
        reach = np.maximum(reach, (spring * soft) ** 0.25)
    side = min(min(leaf.x.length, leaf.y.length) for leaf in leaves)
    return np.flatnonzero(joint.wavenumber <= size.short * reach + 2 * np.pi / side)


def moving(leaf: Leaf, high: float, size: Size = USUAL) -> int:
    """How many modes of a leaf, from the lowest, move in a band up to `high` [Hz]."""
    if vents(leaf):
        return vents(leaf) + moving(boards(leaf), high, size)
    count = np.searchsorted(leaf.omega, 2 * np.pi * (size.dynamic * high + SPARE), side="right")
    heard = int(np.searchsorted(pumped(leaf), PUMPED)) + 1
    return min(max(int(count), FEWEST, heard), len(leaf.omega))


def pumped(leaf: Leaf) -> np.ndarray:
    """Rising shares (n,), 0 to 1, of the modes up to each in the volume that the leaf displaces at
    rest under an even pressure: sum of V²/omega², V the integral of a mode's shape. A leaf that is
    free heaves, slower than anything else, and needs no more."""
    if "pumped" not in leaf.kept:
        sides = [side.cosines(1, 0.0, side.length) * np.sqrt(side.length)
                 for side in (leaf.x, leaf.y)]  # fmt: skip
        volume = leaf.project(*sides)[0, 0]
        share = np.cumsum(volume**2 / np.maximum(leaf.omega, HEAVE) ** 2)
        leaf.kept["pumped"] = share / share[-1]
    return np.asarray(leaf.kept["pumped"])


Begun = TypeVar("Begun")


def settled(
    begin: Callable[[Size, Size], Begun], differ: Callable[[Begun, Size], float]
) -> tuple[Begun, Size, float]:  # fmt: skip
    """What was begun in the leanest size that is ENOUGH; that size; and what it misses [dB].

    begin : solve at least the lines that are `probed`, in a size; the richer one that follows is
    told too. differ : how far they lie from that [dB], as `distance` has it.
    """
    for size, richer in pairwise(LADDER):
        begun = begin(size, richer)
        missing = differ(begun, richer)
        if missing <= ENOUGH:
            break
    return begun, size, missing


def probed(lines: int) -> np.ndarray:
    """Places of the lines of a band in which two sizes are compared, spread over it."""
    count = max(1, lines // EVERY)
    return (np.arange(count) * 2 + 1) * lines // (2 * count)


def distance(ours: np.ndarray, richer: np.ndarray) -> float:
    """How far values (F,) of some lines, powers or the like, lie apart [dB]. Lines do not make up
    for one another: that would hide a resonance moved from one line to the next."""
    return float(10 * np.log10(1 + np.abs(richer - ours).sum() / np.abs(ours).sum()))

"""One band of many ceilings: what they share is eliminated once, then air, then the hangers.

All that is above the ceilings is theirs in common: its receptance where the air and the hangers
hold it, with floating floors and an old ceiling eliminated, is found once for all cases hung from
the same places. Leaf, perimeter and radiated sound are alike for all ceilings of a case. What is
left is the air, whose depth and fill change only the diagonal of its compliance, in the cavity as
in the gap at an open edge, and the hangers: a
system of their own count (Schur complements), one small solution for each stiffness and spacing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from impact.base import bands
from impact.leaf.vented import Vented, vents
from impact.link import cavity, slot
from impact.link.joint import Joint, fixed
from impact.motion import lowband, sizes, striking
from impact.motion import stack as stacks
from impact.motion.assemble import permitted
from impact.motion.underfoot import Impedance
from impact.sound import room
from impact.study.choose_cases import HIGHEST, Case

NEGLIGIBLE = 1e-5  # share of the drive's square that is left out
OPEN = ("air", slot.NAME, "hangers")  # the joints that tell ceilings apart
Solved = tuple[np.ndarray, np.ndarray]


@dataclass(frozen=True, eq=False)
class Task:
    """One band of cases hung from the same places.

    springs : complex compliances (K,). wanted : per case (spacings, K) bool, those to be solved.
    walkers : impedances of who walks, each Hz (n,) -> N s/m (n,), or None for what minds no floor.
    """

    cases: Sequence[Case]
    centre: float
    lines: int
    springs: np.ndarray
    wanted: Sequence[np.ndarray]
    walkers: Sequence[Impedance | None]


def solve(task: Task) -> list[Solved]:
    """Mean-square pressure in the room per mean-square force on a rigid floor [Pa²/N²], the floor
    yielding under each of W walkers as in `impact.motion.underfoot`; case by case: (W, K, spacings,
    N) for each spring, NaN where it is not wanted, and (W, N) without any."""
    parts = [_Part(case, task.centre) for case in task.cases]
    above: dict[bytes, _Above] = {}
    for part in parts:
        if part.motions.tobytes() not in above:
            above[part.motions.tobytes()] = _Above(part, task.centre)
    hung, alone = [], []
    for part in parts:
        shape = 2 + len(task.walkers), len(task.springs), len(part.case.chosen), len(part.case.gaps)
        hung.append(np.full(shape, np.nan))
        alone.append(np.zeros((shape[0], shape[-1])))
    for out, want in zip(hung, task.wanted, strict=True):
        out[:, want.T] = 0.0
    for frequency, weight in zip(*lowband.frequencies(task.centre, task.lines), strict=True):
        omega = 2 * np.pi * frequency
        given = {key: upper.at(omega) for key, upper in above.items()}
        loads = [1j * omega * each(np.array([frequency]))[0] if each else 0j
                 for each in task.walkers]  # fmt: skip
        for part, want, out, lone in zip(parts, task.wanted, hung, alone, strict=True):
            shared = _Shared(part, given[part.motions.tobytes()], omega)
            for n, gap in enumerate(part.case.gaps):
                one = shared.with_air(part.air(gap, omega), n)
                lone[:, n] += weight * _sums(*one.alone, loads)
                for i, chosen in enumerate(part.case.chosen):
                    found = _sums(*one.with_springs(chosen, task.springs[want[i]]), loads)
                    out[:, want[i], i, n] += weight * found
    return [(_yielding(out), _yielding(lone)) for out, lone in zip(hung, alone, strict=True)]


def _sums(squares: np.ndarray, own: np.ndarray, loads: Sequence[complex]) -> np.ndarray:
    """Sums (2 + W, ...) of squares (..., P + F): over the area, over the F single places of the
    foot, and over these with what each walker loses there.

    own : (..., F) receptance under the foot [m/N]. loads : i w Z of each walker.
    """
    split = squares.shape[-1] - own.shape[-1]
    feet = squares[..., split:]
    lost = [(feet * np.abs(1 / (1 + load * own)) ** 2).sum(axis=-1) for load in loads]
    return np.array([squares[..., :split].sum(axis=-1), feet.sum(axis=-1), *lost])


def _yielding(sums: np.ndarray) -> np.ndarray:
    """The mean over the area times what each walker loses at the single places (W, ...)."""
    return sums[0] * sums[2:] / sums[1]


class _Part:
    """A case in one band, and what its ceiling alone brings: the leaf with its half of the open
    links, with its perimeter, and with the room below."""

    def __init__(self, case: Case, centre: float) -> None:
        self.case, self.stack = case, case.assembly.whole
        low, high = bands.edges(centre)
        air = next(joint for joint in self.stack.joints if joint.name == "air")
        self.motions = sizes.motions(self.stack.leaves, air, high)
        assert air.waves is not None
        kx, ky = air.waves
        self.plan = kx[self.motions], ky[self.motions]
        self.edge = self.stack.leaves[-1]
        last = len(self.stack.leaves) - 1
        beside = [replace(joint, shapes={0: joint.shapes[last]})
                  for joint in self.stack.joints
                  if set(joint.shapes) == {last} and joint.name not in OPEN]  # fmt: skip
        alone = stacks.Stack(self.stack.leaves[last:], (*self.open_links({last: 0}), *beside), 0, 0)
        # a ceiling by itself has no room above
        self.reduced = replace(stacks.reduce(alone, low, high), room_above=False)
        design = case.assembly.design
        self.boxes = [
            room.of_design(
                replace(design, cavity=replace(design.cavity, clear_depth=gap.clear)),
                highest=HIGHEST,
            )
            for gap in case.gaps
        ]
        corner = room.offset(design.room)
        self.projection = self.boxes[0].project(self.stack.leaves[last], corner)

    @property
    def count(self) -> int:
        """Number of motions of the air, in the cavity and in the gap at an open edge."""
        return len(self.motions) + vents(self.edge)

    def air(self, gap: cavity.Gap, omega: float) -> np.ndarray:
        """Their compliances (count,) with another cavity."""
        found = cavity.compliance(gap, omega, *self.plan)
        if not isinstance(self.edge, Vented):
            return found
        reach = float(np.hypot(*self.plan).max())
        return np.r_[found, slot.compliance(self.edge, gap, np.array([omega]), reach)]

    def open_links(self, places: dict[int, int]) -> list[Joint]:
        """Air and hangers with their shapes on the leaves of `places`, each to stand at its place;
        all motions that count are kept and none has a compliance yet."""
        out = []
        for name in OPEN:
            joint = next((each for each in self.stack.joints if each.name == name), None)
            if joint is not None:
                rows = self.motions if name == "air" else np.arange(joint.count)
                shapes, beyond = (
                    {place: each[leaf][rows] for leaf, place in places.items() if leaf in each}
                    for each in (joint.shapes, joint.beyond)
                )
                none = np.zeros(len(rows))
                out.append(Joint(name, shapes, fixed(none), none, local=True, beyond=beyond))
        return out


@dataclass(frozen=True, eq=False)
class _Seen:
    """What the open links (L,) see above them at one frequency.

    receptance : (L, L) [m/N]. push : (L, P + F) what forces drive there: P columns that make up the
    mean over the floor, and F single places of the foot. own : (F,) receptance under the foot.
    """

    receptance: np.ndarray
    push: np.ndarray
    own: np.ndarray


class _Above:
    """Floor and all that hangs above the ceilings, seen from the open links' places."""

    def __init__(self, part: _Part, centre: float) -> None:
        last = len(part.stack.leaves) - 1
        joints = [joint for joint in part.stack.joints if last not in joint.shapes]
        links = part.open_links({leaf: leaf for leaf in range(last)})
        stack = stacks.Stack(
            part.stack.leaves[:last], (*links, *joints), part.stack.walked, last - 1
        )
        # what radiates is the ceiling's own matter
        self.reduced = replace(stacks.reduce(stack, *bands.edges(centre)), loaded=False)
        area = permitted(part.case.assembly.design)
        mean, points = striking.over_area(self.reduced, *area), lowband.standing(area)
        self.struck = np.hstack([mean, striking.at_points(self.reduced, points)])
        self.points, self.columns = points, mean.shape[1]
        self.open = sum(joint.count for joint in links)

    def at(self, omega: float) -> _Seen:
        """One frequency, all but the open links eliminated."""
        line = stacks.line(self.reduced, omega, self.struck)
        compliance = stacks.compliances(self.reduced, omega)
        matrix, push = stacks.system(self.reduced, line, compliance, np.arange(len(compliance)))
        feet = self.struck[:, self.columns :]
        local = striking.compliance_at(self.reduced, self.points, omega)
        own = local + line.inverse[self.reduced.stack.walked] @ feet**2
        first, rest = slice(0, self.open), slice(self.open, len(matrix))
        receptance, open_push = matrix[first, first], push[first]
        if len(matrix) > self.open:
            right = np.hstack([matrix[rest, first], push[rest]])
            solved = np.linalg.solve(matrix[rest, rest], right)
            receptance = receptance - right[:, : self.open].T @ solved[:, : self.open]
            open_push = open_push - right[:, : self.open].T @ solved[:, self.open :]
            at_feet = slice(self.open + self.columns, None)
            own = own - np.sum(right[:, at_feet] * solved[:, at_feet], axis=0)
        mean = _fewer_columns(open_push[:, : self.columns])
        return _Seen(receptance, np.hstack([mean, open_push[:, self.columns :]]), own)


def _fewer_columns(push: np.ndarray) -> np.ndarray:
    """The forces' columns turned, and those left out that drive next to nothing: sums of squares
    over all columns stay the same."""
    squares, turn = np.linalg.eigh(push.conj().T @ push)
    return push @ turn[:, squares > NEGLIGIBLE * squares[-1]]


class _Shared:
    """One frequency of a case with all but air and hangers eliminated."""

    def __init__(self, part: _Part, above: _Seen, omega: float) -> None:
        reduced, size = part.reduced, len(above.receptance)
        line = stacks.line(reduced, omega, np.zeros((len(reduced.keep[0]), 0)))
        compliance = stacks.compliances(reduced, omega)
        matrix, _ = stacks.system(reduced, line, compliance, np.arange(len(compliance)))
        beside = matrix[size:, :size]
        solved = np.linalg.solve(matrix[size:, size:], beside)
        system = matrix[:size, :size] - beside.T @ solved + above.receptance
        # the ceiling's velocity on the room's shapes, minus that of a unit force on every link
        edge = len(compliance) - size
        force = reduced.shapes[0][:size].T - reduced.shapes[0][size:].T @ solved[:edge]
        if reduced.loaded:
            force = force - line.pattern.rows.T @ solved[edge:]
        self.boxes, self.omega = part.boxes, omega
        self.shapes = part.boxes[0].kept(omega / 2 / np.pi)
        still = omega * (part.projection[np.ix_(self.shapes, reduced.keep[0])] * line.inverse[0])
        air, hangers = slice(0, part.count), slice(part.count, size)
        # single precision is enough for a hundredth of a decibel and half the work
        system, push, heard, self.own = (
            each.astype(np.complex64) for each in (system, above.push, still @ force, above.own)
        )
        self.air_system, self.beside = system[air, air], system[air, hangers]
        self.hanger_system, self.hanger_push = system[hangers, hangers], push[hangers]
        self.air_push = push[air]
        self.heard_air, self.heard_hangers = heard[:, air], heard[:, hangers]

    def with_air(self, compliance: np.ndarray, number: int) -> _Hung:
        """The hangers' own system above air of this compliance, over room number `number`."""
        matrix = self.air_system.copy()
        matrix[np.diag_indices_from(matrix)] += compliance.astype(np.complex64)
        solved = np.linalg.solve(matrix, np.hstack([self.beside, self.air_push]))
        inner, sound = self.beside.T @ solved, self.heard_air @ solved
        split, feet = self.beside.shape[1], len(self.own)
        box = self.boxes[number]
        mean = box.mean_square_down(self.omega, self.shapes) / (box.length * box.width)
        loud = np.sqrt(mean)[:, None].astype(np.float32)
        taken = np.sum(self.air_push[:, -feet:] * solved[:, -feet:], axis=0)
        return _Hung(
            self.hanger_system - inner[:, :split],
            self.hanger_push - inner[:, split:],
            loud * (self.heard_hangers - sound[:, :split]),
            -loud * sound[:, split:],
            self.own - taken,
        )


Answer = tuple[np.ndarray, np.ndarray]


class _Hung:
    """Hangers between floor and ceiling: (S + 1/k) force = right; sound = lone - heard force, and
    under the foot own - right force."""

    def __init__(
        self, system: np.ndarray, right: np.ndarray, heard: np.ndarray, lone: np.ndarray,
        own: np.ndarray,
    ) -> None:  # fmt: skip
        self.system, self.right = system, right
        self.squares = heard.conj().T @ heard
        self.cross = heard.conj().T @ lone
        self.alone: Answer = np.sum(lone.real**2 + lone.imag**2, axis=0), own

    def with_springs(self, chosen: np.ndarray, springs: np.ndarray) -> Answer:
        """Mean squares (K, P + F) and receptance under the foot (K, F) for hangers at `chosen` with
        each compliance of `springs` (K,)."""
        alone, own = self.alone
        system, right = self.system[np.ix_(chosen, chosen)], self.right[chosen]
        diagonal = np.eye(len(chosen), dtype=np.complex64)
        stacked = system + springs.astype(np.complex64)[:, None, None] * diagonal
        force = np.linalg.solve(stacked, np.broadcast_to(right, (len(springs), *right.shape)))
        square = self.squares[np.ix_(chosen, chosen)] @ force - 2 * self.cross[chosen]
        feet = len(own)
        return (
            alone + np.sum(force.real * square.real + force.imag * square.imag, axis=1),
            own - np.sum(right[:, -feet:] * force[:, :, -feet:], axis=1),
        )

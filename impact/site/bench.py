"""Many as-built states of one ceiling, from one factorization for each frequency.

What may change is opened once in every band (`site.opened`); each state is a small system there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from impact.base import bands
from impact.base.parallel import in_parallel
from impact.design.axes import WALLS
from impact.design.parts import Design
from impact.leaf.plate import Leaf
from impact.leaf.vented import Vented
from impact.link import cavity, inner_waves, slot, springs
from impact.link.gaps import lowest_gap
from impact.link.joint import EVERY, Joint
from impact.motion import lowband
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, assemble, carrier, permitted
from impact.motion.sizes import bending_wavenumber
from impact.motion.stack import Stack
from impact.site import opened

TOP = bands.index(250.0)  # highest band that is solved by modes here
LINES = lowband.LINES_QUICK
TOUCHING = 1e8  # N/m2 per metre of edge, board pressed on board or lath; estimate, no source
# N/m, a steel box screwed to joist and board, a block nailed or wedged between two joists: two to
# three nails of 3.5 mm slip so (EN 1995-1-1 Table 7.1: 0.8 kN/mm each in C24, from memory, check
# the standard); estimate.
FIXED = 2e6
FIXED_LOSS = 0.02  # steel parts; estimate, no source
DRAWN = "as drawn"


@dataclass(frozen=True)
class Air:
    """Another state of the cavity: its gap, and a spring per area beside the air [N/m3]."""

    gap: cavity.Gap
    frame: complex = 0.0


@dataclass(frozen=True)
class Change:
    """What differs from the drawing in one as-built state; nothing by default.

    stiffness : (number of the hanger from 0, complex stiffness [N/m]) pairs, 0 where it is missing.
    walls : edges hard against a wall. fixtures : places in `Bench.fixtures` fixed through.
    air : key of `Bench.airs`. flanking_db : walls radiate by so much more than described (or than
    the usual ones, where the design describes none); None leaves them.
    """

    stiffness: tuple[tuple[int, complex], ...] = ()
    walls: tuple[str, ...] = ()
    fixtures: tuple[int, ...] = ()
    air: str = DRAWN
    flanking_db: float | None = None


@dataclass(frozen=True, eq=False)
class Bench:
    """A design ready for its faults.

    stack : the drawn stack and behind it the links that should not be there. fixtures : (x, y)
    [m, room coordinates], the last `contacts` of them on the ceiling's own joists. own : complex
    stiffness of the drawn hanger at rest [N/m].
    """

    design: Design
    assembly: Assembly
    stack: Stack
    fixtures: tuple[tuple[float, float], ...]
    airs: Mapping[str, Air]
    own: complex
    contacts: int = 0

    @property
    def hangers(self) -> int:
        """Number of hangers."""
        return len(self.assembly.placement.points)

    def stiffness(self, frequencies: np.ndarray, at_rest: np.ndarray) -> np.ndarray:
        """Stiffness [N/m] at `frequencies` [Hz] of points of `at_rest` [N/m], both of one shape."""
        assert self.design.hangers is not None
        return inner_waves.in_band(self.design.hangers, frequencies, at_rest)


def prepare(
    design: Design, fixtures: Sequence[tuple[float, float]] = (),
    airs: Mapping[str, Air] | None = None, highest: float | None = None, contacts: int = 0,
) -> Bench:  # fmt: skip
    """Build the stack of `design` with all links that faults may add.

    fixtures : (x, y) [m, room coordinates] where something may be fixed through. airs : further
    states of the cavity by name. highest : links reach this [Hz]; default: the top band's edge.
    contacts : as in `Bench`.
    """
    top = bands.edges(bands.CENTRES[TOP])[1] if highest is None else highest
    assembly = assemble(design, top)
    drawn = assembly.whole
    extra: list[Joint] = []
    if design.independent is None:
        extra += [touching_joint(drawn.leaves, wall, top) for wall in WALLS]
    extra += [fixture_joint(design, drawn.leaves, i, at) for i, at in enumerate(fixtures)]
    stack = Stack(drawn.leaves, (*drawn.joints, *extra), drawn.walked, drawn.radiating)
    known = {DRAWN: Air(lowest_gap(design)), **(airs or {})}
    own = springs.fixing(design)
    return Bench(design, assembly, stack, tuple(fixtures), known, own, contacts=contacts)


def touching_joint(leaves: Sequence[Leaf], wall: str, highest: float) -> Joint:
    """One edge of the lowest leaf against a wall that stands still, up to `highest` [Hz]."""
    below = len(leaves) - 1
    leaf = leaves[below]
    side = leaf.x.length if wall in ("south", "north") else leaf.y.length
    reach = 1.3 * bending_wavenumber(leaf, 2 * np.pi * highest)
    shapes, wave = springs.edge_shapes(leaf, wall, int(np.ceil(reach * side / np.pi)) + 3)
    return springs.lines(
        f"touching {wall}", below, shapes, np.full(len(wave), TOUCHING), FIXED_LOSS, wave
    )


def fixture_joint(
    design: Design, leaves: Sequence[Leaf], number: int, at: tuple[float, float]
) -> Joint:
    """Something fixed both to the floor (or old ceiling) and to the boards at (x, y) [m]."""
    pair = (carrier(leaves), len(leaves) - 1)
    place = np.array([at]) + np.array([design.room.offset_x, design.room.offset_y])
    return springs.between(f"fixture {number}", leaves, pair, place, FIXED, FIXED_LOSS)


def built(bench: Bench, change: Change) -> Stack:
    """The stack of one as-built state, put together anew: what the quick way must agree with."""
    joints: list[Joint] = []
    for joint in bench.stack.joints:
        kind, _, which = joint.name.partition(" ")
        if kind == "touching" and which not in change.walls:
            continue
        if kind == "fixture" and int(which) not in change.fixtures:
            continue
        if joint.name == "hangers":
            joint = _rehung(joint, bench, change)
        elif joint.name == "air" and change.air != DRAWN:
            joint = _refilled(joint, bench.airs[change.air])
        elif joint.name == slot.NAME and change.air != DRAWN:
            edge, (below,) = bench.stack.leaves[bench.stack.radiating], joint.shapes
            assert isinstance(edge, Vented)
            joint = slot.joint(edge, bench.airs[change.air].gap, below)
        joints.append(joint)
    drawn = bench.stack
    return Stack(drawn.leaves, tuple(joints), drawn.walked, drawn.radiating)


def _rehung(joint: Joint, bench: Bench, change: Change) -> Joint:
    at_rest = np.full(joint.count, bench.own, complex)
    for number, value in change.stiffness:
        at_rest[number] = value
    left = np.flatnonzero(at_rest)

    def soft(omega: float | np.ndarray, places: Any = EVERY) -> np.ndarray:
        own = at_rest[left[places]]
        wide = np.broadcast_to(np.asarray(omega)[..., None], (*np.shape(omega), len(own)))
        return 1 / bench.stiffness(wide / 2 / np.pi, own)

    shapes, beyond = (
        {leaf: rows[left] for leaf, rows in each.items()} for each in (joint.shapes, joint.beyond)
    )
    return replace(
        joint, shapes=shapes, beyond=beyond, compliance=soft,
        wavenumber=joint.wavenumber[left],
    )  # fmt: skip


def _refilled(joint: Joint, air: Air) -> Joint:
    assert joint.waves is not None
    kx, ky = joint.waves

    def other(omega: float | np.ndarray, places: Any = EVERY) -> np.ndarray:
        return _air_compliance(air, omega, kx[places], ky[places])

    return replace(joint, compliance=other)


def _air_compliance(
    air: Air, omega: float | np.ndarray, kx: np.ndarray, ky: np.ndarray
) -> np.ndarray:
    wide = np.asarray(omega)[..., None]
    return 1 / (1 / cavity.compliance(air.gap, wide, kx, ky) + air.frame)


def modal_power(
    bench: Bench, changes: Sequence[Change], places: Sequence[int] | None = None
) -> np.ndarray:
    """Radiated power per mean-square force [W/N2] of every state, (len(changes), len(places)).

    places : bands as places in `bands.NOMINAL`; default 10 Hz to TOP.
    """
    chosen = list(range(TOP + 1)) if places is None else list(places)

    def solve(place: int) -> np.ndarray:
        centre = bands.CENTRES[place]
        band = powers(bench, changes, centre)
        out = np.zeros(len(changes))
        count = lowband.enough(bench.stack, centre, LINES[int(centre > 90)])
        places, weights = lowband.frequencies(centre, count)
        for frequency, weight in zip(places, weights, strict=True):
            out += weight * band(2 * np.pi * frequency)
        return out

    solved = in_parallel(solve, chosen[::-1])[::-1]
    return np.array(solved).reshape(len(chosen), len(changes)).T


def powers(
    bench: Bench, changes: Sequence[Change], centre: float
) -> Callable[[float], np.ndarray]:  # fmt: skip
    """Function: omega [rad/s] in the third octave about `centre` [Hz] -> radiated power (changes,)
    [W/N2] summed over the struck columns."""
    band = opened.band(bench.stack, permitted(bench.design), centre)
    states = [_state(bench, change, band.names, centre) for change in changes]
    groups = {}
    for air in dict.fromkeys(change.air for change in changes):
        numbers = [n for n, change in enumerate(changes) if change.air == air]
        use = np.unique(np.concatenate([states[n][0] for n in numbers])).astype(int)
        groups[air] = numbers, use

    def at(omega: float) -> np.ndarray:
        out = np.zeros(len(changes))
        line = opened.Line(band, omega)
        for air, (numbers, use) in groups.items():
            solved = line.opened(partial(_compliances, bench, air), use)
            out[numbers] = solved.powers([states[n] for n in numbers])
        return out

    return at


def _state(bench: Bench, change: Change, names: np.ndarray, centre: float) -> opened.State:
    """Places among the opened motions of these names that a state changes, and -1/dC of each in the
    third octave about `centre` [Hz]."""
    hung = np.array([number for number, _ in change.stiffness], int)
    values = np.zeros(len(hung), complex)
    for place, (_, stiffness) in enumerate(change.stiffness):
        if stiffness:
            now, drawn = bench.stiffness(np.full(2, centre), np.array([stiffness, bench.own]))
            values[place] = _inverse_change(1 / now - 1 / drawn)
    added = [f"touching {wall}" for wall in change.walls]
    added += [f"fixture {number}" for number in change.fixtures]
    extra = np.flatnonzero(np.isin(names, added)) if added else np.zeros(0, int)
    kept = np.isfinite(values)
    rows = np.concatenate([hung[kept], extra])
    return rows, np.concatenate([values[kept], np.zeros(len(extra))])


def _inverse_change(softer: complex) -> complex:
    """-1/dC; not finite where nothing changes."""
    return -1 / softer if softer else complex(np.nan)


def _compliances(bench: Bench, air: str, part: stacks.Reduced, omega: float) -> np.ndarray:
    """Compliances (L,) of the links of a share with the cavity `air`."""
    own = stacks.compliances(part, omega)
    if air != DRAWN:
        other = bench.airs[air]
        joint = next(j for j in bench.stack.joints if j.name == "air")
        assert joint.waves is not None
        rows = part.of(("air",))
        kx, ky = (wave[part.motion_of[rows]] for wave in joint.waves)
        own[rows] = _air_compliance(other, omega, kx, ky)
        edge, rows = bench.stack.leaves[bench.stack.radiating], part.of((slot.NAME,))
        if isinstance(edge, Vented):
            in_gap = slot.compliance(edge, other.gap, np.array([omega]), part.reach)
            own[rows] = in_gap[part.motion_of[rows]]
    return own

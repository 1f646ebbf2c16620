"""Many as-built states of one ceiling, from one factorization for each frequency.

The ceiling as drawn solves A x = b for the forces x of its links. Another stiffness of hanger j
adds dC = 1/k' - 1/k to one diagonal element; a link that should not be there (a touching edge, a
fixture screwed through) adds a row. With the columns V of all that is changed, the bordered system
(Woodbury's identity; G. H. Golub and C. F. Van Loan, Matrix Computations, 4th ed., 2013, sec. 2.1)

    K z = r ,   K = [ -1/dC  0 ; 0  A_ee ] - V^T A^-1 V ,   r = [ 0 ; b_e ] - V^T A^-1 b ,

has as many unknowns as there are changes, so that hundreds of states cost little more than one. The
radiated power is a quadratic form in z. A missing hanger is dC infinite, so -1/dC = 0.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.linalg import lu_factor, lu_solve

from impact.base import bands
from impact.base.parallel import in_parallel
from impact.design.axes import WALLS
from impact.design.parts import Design
from impact.leaf.plate import Leaf
from impact.link import cavity, springs
from impact.link.gaps import lowest_gap
from impact.link.joint import Joint
from impact.motion import lowband, striking
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, assemble, carrier, permitted
from impact.motion.sizes import bending_wavenumber
from impact.motion.stack import Stack

TOP = bands.index(250.0)  # highest band that is solved by modes here
LINES = lowband.LINES_QUICK
TOUCHING = 1e8  # N/m2 per metre of edge, board pressed on board or lath; estimate, no source
FIXED = 2e6  # N/m, a steel box screwed to joist and board; estimate, no source
FIXED_LOSS = 0.02  # steel parts; estimate, no source
DRAWN = "as drawn"
ADDED = ("touching ", "fixture ")  # how the names of links begin that should not be there
NEGLIGIBLE = 1e-14  # share of the drive's square that is left out


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
    [m, room coordinates]. own : complex stiffness of the drawn hanger [N/m].
    """

    design: Design
    assembly: Assembly
    stack: Stack
    fixtures: tuple[tuple[float, float], ...]
    airs: Mapping[str, Air]
    own: complex
    touching: float = TOUCHING
    _powers: dict = field(default_factory=dict, repr=False)

    @property
    def hangers(self) -> int:
        """Number of hangers."""
        return len(self.assembly.placement.points)


def prepare(
    design: Design, fixtures: Sequence[tuple[float, float]] = (),
    airs: Mapping[str, Air] | None = None, highest: float | None = None,
) -> Bench:  # fmt: skip
    """Build the stack of `design` with all links that faults may add.

    fixtures : (x, y) [m, room coordinates] where something may be fixed through. airs : further
    states of the cavity by name. highest : links reach this [Hz]; default: the top band's edge.
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
    return Bench(design, assembly, stack, tuple(fixtures), known, springs.fixing(design))


def touching_joint(
    leaves: Sequence[Leaf], wall: str, highest: float, stiffness: float = TOUCHING
) -> Joint:
    """One edge of the lowest leaf against a wall that stands still, `stiffness` [N/m2]."""
    below = len(leaves) - 1
    leaf = leaves[below]
    side = leaf.x.length if wall in ("south", "north") else leaf.y.length
    reach = 1.3 * bending_wavenumber(leaf, 2 * np.pi * highest)
    shapes, wave = springs.edge_shapes(leaf, wall, int(np.ceil(reach * side / np.pi)) + 3)
    return springs.lines(
        f"touching {wall}", below, shapes, np.full(len(wave), stiffness), FIXED_LOSS, wave
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
        joints.append(joint)
    drawn = bench.stack
    return Stack(drawn.leaves, tuple(joints), drawn.walked, drawn.radiating)


def _rehung(joint: Joint, bench: Bench, change: Change) -> Joint:
    stiffness = np.full(joint.count, bench.own, complex)
    for number, value in change.stiffness:
        stiffness[number] = value
    left = np.flatnonzero(stiffness)
    soft = np.asarray(1 / stiffness[left])
    shapes, beyond = (
        {leaf: rows[left] for leaf, rows in each.items()} for each in (joint.shapes, joint.beyond)
    )
    return replace(
        joint, shapes=shapes, beyond=beyond, compliance=lambda omega: soft,
        wavenumber=joint.wavenumber[left],
    )  # fmt: skip


def _refilled(joint: Joint, air: Air) -> Joint:
    assert joint.waves is not None
    kx, ky = joint.waves
    return replace(joint, compliance=lambda omega: _air_compliance(air, omega, kx, ky))


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
        return _band(bench, centre, LINES[int(centre > 90)], changes)

    solved = in_parallel(solve, chosen[::-1])[::-1]
    return np.array(solved).reshape(len(chosen), len(changes)).T


def _band(bench: Bench, centre: float, lines: int, changes: Sequence[Change]) -> np.ndarray:
    reduced = stacks.reduce(bench.stack, *bands.edges(centre))
    struck = striking.over_area(reduced, *permitted(bench.design))
    groups = {
        air: [n for n, change in enumerate(changes) if change.air == air]
        for air in dict.fromkeys(change.air for change in changes)
    }
    out = np.zeros(len(changes))
    for frequency, weight in zip(*lowband.frequencies(centre, lines), strict=True):
        at = prepare_line(reduced, 2 * np.pi * frequency, struck)
        for air, numbers in groups.items():
            some = [changes[n] for n in numbers]
            out[numbers] += weight * powers_at(bench, reduced, at, some, air)
    return out


def prepare_line(reduced: stacks.Reduced, omega: float, struck: np.ndarray) -> stacks.Line:
    """One frequency as `stack.line` prepares it, with what all states share beyond that: the
    sound of each link, and no columns of force that drive nothing."""
    at = _fewer_columns(stacks.line(reduced, omega, struck))
    below = reduced.stack.radiating
    sound = np.ascontiguousarray((at.pattern.rows * at.inverse[below]).T).view(float)
    return replace(at, radiate=(reduced.shapes[below] @ sound).view(complex).T)


def powers_at(
    bench: Bench, reduced: stacks.Reduced, at: stacks.Line, changes: Sequence[Change],
    air: str = DRAWN,
) -> np.ndarray:  # fmt: skip
    """Radiated power [W/N2] of each state, summed over the struck columns, at one frequency.

    at : from `prepare_line`. All `changes` have the cavity `air`.
    """
    names = reduced.names
    own = stacks.compliances(reduced, at.omega)
    if air != DRAWN:
        own = own.copy()
        joint = next(j for j in bench.stack.joints if j.name == "air")
        assert joint.waves is not None
        kx, ky = joint.waves
        motions = reduced.motion_of[names == "air"]
        own[names == "air"] = _air_compliance(bench.airs[air], at.omega, kx[motions], ky[motions])
    rows = [_changed_rows(change, names) for change in changes]
    hung = np.flatnonzero(names == "hangers")
    ends = [_ends(change, hung, own) for change in changes]
    opened = np.unique(np.concatenate([*rows, *(number for number, _ in ends), [-1]]))[1:]
    system = _Opened(reduced, at, own, opened.astype(int))
    return system.powers([
        (np.concatenate([numbers, extra]), np.concatenate([values, np.zeros(len(extra))]))
        for (numbers, values), extra in zip(ends, rows, strict=True)
    ])  # fmt: skip


def _fewer_columns(at: stacks.Line) -> stacks.Line:
    """The struck columns turned so that those that drive nothing fall away; sums over all columns
    stay what they are. Only for a floor that does not itself radiate into the room."""
    squares, turn = np.linalg.eigh(at.drive.conj().T @ at.drive)
    turn = turn[:, squares > NEGLIGIBLE * squares[-1]]
    return replace(at, drive=at.drive @ turn, struck=at.struck @ turn)


def _changed_rows(change: Change, names: np.ndarray) -> np.ndarray:
    """Rows of the links that a state adds."""
    added = [f"touching {wall}" for wall in change.walls]
    added += [f"fixture {number}" for number in change.fixtures]
    return np.flatnonzero(np.isin(names, added)) if added else np.zeros(0, int)


def _ends(change: Change, hung: np.ndarray, own: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rows of the hangers that a state changes, and -1/dC of each."""
    numbers = np.array([hung[number] for number, _ in change.stiffness], int)
    stiffness = np.array([new for _, new in change.stiffness], complex)
    values = np.zeros(len(numbers), complex)
    there = stiffness != 0
    by = 1 / stiffness[there] - own[numbers[there]]
    same = np.zeros(len(numbers), bool)
    same[there] = by == 0
    values[there] = -1 / np.where(by == 0, 1, by)
    return numbers[~same], values[~same]


class _Opened:
    """One frequency: the drawn ceiling solved, and what it answers at the rows `opened`."""

    def __init__(
        self, reduced: stacks.Reduced, at: stacks.Line, own: np.ndarray, opened: np.ndarray
    ) -> None:
        extra = np.array([name.startswith(ADDED) for name in reduced.names], bool)
        drawn, added = np.flatnonzero(~extra), opened[extra[opened]]
        matrix, right = stacks.system(reduced, at, own, drawn)
        self.place = {int(row): n for n, row in enumerate(opened)}
        new = extra[opened]
        columns = np.zeros((len(matrix), len(opened)), complex)
        columns[np.searchsorted(drawn, opened[~new]), np.flatnonzero(~new)] = 1
        columns[: len(drawn), new] = at.gram[np.ix_(drawn, added)]
        if reduced.loaded:
            columns[len(drawn) :, new] = at.radiate[:, added]
        factor = lu_factor(matrix.T, overwrite_a=True, check_finite=False)  # symmetric
        solved = lu_solve(factor, np.hstack([right, columns]), check_finite=False)
        count = right.shape[1]
        lone, moved = solved[:, :count], solved[:, count:]
        self.system = -columns.T @ moved
        self.system[np.ix_(new, new)] += at.gram[np.ix_(added, added)] + np.diag(own[added])
        push = -columns.T @ lone
        push[new] += at.drive[added]
        weight = at.pattern.weight
        if reduced.loaded:
            sound = slice(len(drawn), None)
            heard, turned = lone[sound] / weight[:, None], -moved[sound] / weight[:, None]
        else:
            links = at.omega * at.radiate[:, drawn]
            heard, turned = -links @ lone, links @ moved
            turned[:, new] -= at.omega * at.radiate[:, added]
        weighed = weight[:, None] * turned
        self.alone = float(np.sum(weight @ np.abs(heard) ** 2))
        self.square = turned.conj().T @ weighed
        self.cross = push @ (heard.conj().T @ weighed)  # the forces' columns are summed over
        self.push = push @ push.conj().T

    def powers(self, states: Sequence[tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
        """Power of states (rows, -1/dC or 0), those with as many changes together."""
        out = np.full(len(states), self.alone)
        sizes = np.array([len(rows) for rows, _ in states])
        for size in np.unique(sizes[sizes > 0]):
            numbers = np.flatnonzero(sizes == size)
            for part in np.array_split(numbers, int(np.ceil(len(numbers) * size**2 / 3e5))):
                out[part] += self._batch([states[n] for n in part])
        return out

    def _batch(self, states: Sequence[tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
        at = np.array([[self.place[int(row)] for row in rows] for rows, _ in states])
        down, along = at[:, :, None], at[:, None, :]
        system = self.system[down, along]
        diagonal = np.arange(at.shape[1])
        system[:, diagonal, diagonal] += np.array([values for _, values in states])
        inverse = np.linalg.inv(system)
        linear = 2 * np.einsum("nij,nji->n", self.cross[down, along], inverse).real
        spread = inverse @ self.push[down, along] @ inverse.conj().swapaxes(1, 2)
        return linear + np.einsum("nij,nji->n", self.square[down, along], spread).real

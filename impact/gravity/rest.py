"""The hangers' forces at rest, from the flexibility of ceiling and floor between them.

With the ceiling's bending modes at zero frequency as flexibility and its rigid motions as
statics, the forces lambda of the hangers obey

    [ F + C   -R ] [ lambda  ]   [ u ]
    [ R^T      0 ] [ q_rigid ] = [ w ]

    F = sum over ceiling and floor phi phi^T / omega²

with u what the weights alone bend the ceiling by and C the hangers' static compliance: the force
method (any textbook of structural analysis). The lower rows are equilibrium itself, so that forces
and moments add up exactly, whatever the modes leave out. A hanger that is lost is a row and a
column struck out of the solved system: a low-rank change (J. Sherman and W. J. Morrison, Ann. Math.
Stat. 21 (1950) 124; M. A. Woodbury, 1950).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.design.parts import Hangers
from impact.gravity.weights import at_points
from impact.leaf.plate import Leaf

FALLEN = 1.0  # m: a place that sinks farther than this without its hanger is not held at all
ROUNDS = 60  # rounds of straight-line pieces; each is exact once no hanger changes its piece


@dataclass(frozen=True, eq=False)
class Curve:
    """Deflection of one hanger in straight pieces: force >= start[i] -> d = slope[i] F + shift[i].

    start : (m,) [N], the first is -inf; slope : [m/N]; shift : [m].
    """

    start: np.ndarray
    slope: np.ndarray
    shift: np.ndarray

    def deflection(self, force: np.ndarray) -> np.ndarray:
        """[m] for force [N]. force and result (H,)."""
        piece = self.piece(force)
        return self.slope[piece] * force + self.shift[piece]

    def piece(self, force: np.ndarray) -> np.ndarray:
        """Place of the piece that each force lies on. A number from 0 for each force (H,)."""
        return np.searchsorted(self.start, force, side="right") - 1


def curve(hangers: Hangers) -> Curve:
    """From the load-deflection pairs through zero, on along the last one beyond the table and
    along the first one below zero; or the one static stiffness."""
    pairs = [(0.0, 0.0), *[pair for pair in hangers.load_deflection if pair[0] > 0]]
    if len(pairs) < 2:
        return Curve(np.array([-np.inf]), np.array([1 / hangers.static_stiffness]), np.zeros(1))
    force, move = np.array(pairs).T
    slope = np.diff(move) / np.diff(force)
    start = force[:-1].copy()
    start[0] = -np.inf
    return Curve(start, slope, move[:-1] - slope * force[:-1])


@dataclass(frozen=True, eq=False)
class Rest:
    """A ceiling ready to be hung.

    flexibility : (H, H) [m/N] of ceiling and floor between the hangers. rigid : (H, r) the
    ceiling's rigid motions at the hangers; couples : (r, 2) their slopes along x and y, the work of
    unit couples. curve : of the hangers. ceiling_shapes, floor_shapes : modes at the hangers.
    """

    flexibility: np.ndarray
    rigid: np.ndarray
    couples: np.ndarray
    curve: Curve
    ceiling: Leaf
    floor: Leaf | None
    ceiling_shapes: np.ndarray
    floor_shapes: np.ndarray

    def loaded(self, force: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """u (H,) [m] and w (r,) of a modal force (n,)."""
        bends = self.ceiling.omega > 0
        shapes = self.ceiling_shapes[:, bends] / self.ceiling.omega[bends] ** 2
        return shapes @ force[bends], force[~bends]


@dataclass(frozen=True, eq=False)
class Solved:
    """force : (H,) [N] on the springs. motion : (r,) rigid coordinates. solution, inverse : of the
    system at the pieces found, for `without`. steady : False where the hangers stand in one line,
    so that only the edge keeps the ceiling from turning; a couple then stands for the edge."""

    force: np.ndarray
    motion: np.ndarray
    solution: np.ndarray
    inverse: np.ndarray
    steady: bool


def prepare(
    hangers: Hangers, points: Sequence[tuple[float, float]], ceiling: Leaf, floor: Leaf | None,
    offset: tuple[float, float],
) -> Rest:  # fmt: skip
    """Flexibility between `points` (room coordinates [m]); `floor` None takes it as rigid.

    offset : room's corner on the floor [m].
    """
    shapes = at_points(ceiling, points)
    bends = ceiling.omega > 0
    flexible = (shapes[:, bends] / ceiling.omega[bends] ** 2) @ shapes[:, bends].T
    above = np.zeros((len(points), 0))
    if floor is not None:
        above = floor.shapes(np.asarray(points, float) + np.asarray(offset))
        flexible = flexible + (above / floor.omega**2) @ above.T
    return Rest(
        flexible, shapes[:, ~bends], _slopes(ceiling)[~bends], curve(hangers), ceiling, floor,
        shapes, above,
    )  # fmt: skip


def _slopes(ceiling: Leaf) -> np.ndarray:
    """Mean slopes of every mode along two sides (n, 2) [1/m]: those of the rigid ones are exact."""
    length, width = ceiling.x.length, ceiling.y.length
    corner, east, north = at_points(ceiling, ((0, 0), (length, 0), (0, width)))
    return np.stack([(east - corner) / length, (north - corner) / width], axis=1)


def solve(rest: Rest, force: np.ndarray, gone: Sequence[int] = ()) -> Solved:
    """Hanger forces under a modal load `force` (n,), without the hangers `gone`.

    Raises numpy.linalg.LinAlgError where what is left after a loss cannot hold the ceiling.
    """
    count, left = len(rest.rigid), np.delete(np.arange(len(rest.rigid)), list(gone))
    bent, weight = rest.loaded(force)
    flexible = rest.flexibility[np.ix_(left, left)]
    held, weight = _held(rest, left, weight)
    steady = held.shape[1] == len(held)
    if not steady and len(gone):
        raise np.linalg.LinAlgError("the hangers left stand in one line")
    rigid = rest.rigid[left] @ held
    size = len(left) + rigid.shape[1]
    matrix = np.zeros((size, size))
    matrix[: len(left), len(left) :] = -rigid
    matrix[len(left) :, : len(left)] = rigid.T
    guess = np.full(len(left), 1.0)
    piece = rest.curve.piece(guess)
    solution, inverse = np.zeros(size), matrix
    for turn in range(ROUNDS):
        matrix[: len(left), : len(left)] = flexible + np.diag(rest.curve.slope[piece])
        inverse = np.linalg.inv(matrix)
        solution = inverse @ np.concatenate([bent[left] - rest.curve.shift[piece], held.T @ weight])
        now = solution[: len(left)]
        guess = now if turn < ROUNDS // 2 else (guess + now) / 2  # a hinge may be hit to and fro
        found = rest.curve.piece(guess)
        if np.array_equal(found, piece):
            break
        piece = found
    forces = np.zeros(count)
    forces[left] = solution[: len(left)]
    return Solved(forces, held @ solution[len(left) :], solution, inverse, steady)


def _held(rest: Rest, left: np.ndarray, weight: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rigid motions that the hangers resist (r, s), and the weights (r,) with the least couple
    added that keeps the ceiling from turning in the others."""
    _, sizes, rows = np.linalg.svd(rest.rigid[left], full_matrices=True)
    strong = np.zeros(len(rows), dtype=bool)
    strong[: len(sizes)] = sizes > 1e-9 * sizes.max(initial=0.0)
    free = rows[~strong]
    couple = np.linalg.lstsq(free @ rest.couples, -free @ weight, rcond=None)[0]
    return rows[strong].T, weight + rest.couples @ couple


def without(
    rest: Rest, solved: Solved, gone: Sequence[int], force: np.ndarray
) -> tuple[np.ndarray, float]:
    """Forces (H,) [N] and sag [m] after the hangers `gone` are lost, under the modal load `force`.

    sag : how far the ceiling then hangs below the floor where the lost ones were, the most of them;
    inf where what is left cannot hold it (forces are then NaN). Hangers of one stiffness: low-rank
    change of the solved system; with pairs of load and deflection: solved again.
    """
    lost = list(gone)
    count = len(rest.rigid)
    try:
        with np.errstate(all="ignore"):
            if len(rest.curve.slope) == 1:
                both = solved.solution
                sunk = np.linalg.solve(solved.inverse[np.ix_(lost, lost)], both[lost])
                forces = (both - solved.inverse[:, lost] @ sunk)[:count]
                forces[lost] = 0.0
            else:
                again = solve(rest, force, lost)
                forces = again.force
                bent, _ = rest.loaded(force)
                sunk = (bent - rest.flexibility @ forces + rest.rigid @ again.motion)[lost]
    except np.linalg.LinAlgError:
        sunk = np.full(len(lost), np.inf)
    if not np.all(np.isfinite(sunk)) or np.abs(sunk).max() > FALLEN:
        return np.full(count, np.nan), float("inf")
    return forces, float(np.max(sunk))


def displacements(rest: Rest, solved: Solved, force: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Modal coordinates of ceiling (n,) and floor (m,) at rest; down is positive. In kg^1/2 m."""
    ceiling = np.zeros(len(rest.ceiling.omega))
    bends = rest.ceiling.omega > 0
    push = force - rest.ceiling_shapes.T @ solved.force
    ceiling[bends] = push[bends] / rest.ceiling.omega[bends] ** 2
    ceiling[~bends] = solved.motion
    floor = np.zeros(0)
    if rest.floor is not None:
        floor = rest.floor_shapes.T @ solved.force / rest.floor.omega**2
    return ceiling, floor


def surface(leaf: Leaf, modal: np.ndarray) -> np.ndarray:
    """Coefficients (Mx, My) [m2] of the products of side functions for modal coordinates (n,)."""
    return (leaf.flat() @ modal).reshape(leaf.x.count, leaf.y.count)


def field(
    leaf: Leaf, shape: np.ndarray, x: np.ndarray, y: np.ndarray, turn: str = ""
) -> np.ndarray:
    """Displacement [m] of a leaf on a grid (X, Y) of places from its own corner [m], or its slope
    along `turn` "x" or "y" [-].

    shape : (Mx, My) of `surface`, or modal coordinates (n,) where only one grid is wanted.
    """
    flat = surface(leaf, shape) if shape.ndim == 1 else shape
    return leaf.x.values(x, int(turn == "x")) @ flat @ leaf.y.values(y, int(turn == "y")).T

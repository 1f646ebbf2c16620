"""Unit forces on the walked leaf: at points, and at a random place of a rectangle."""

from __future__ import annotations

import numpy as np

from impact.base.quadrature import gauss
from impact.leaf import beyond
from impact.leaf.plate import Leaf
from impact.motion.reduced import Reduced

Area = tuple[tuple[float, float], tuple[float, float]]  # x and y, low and high [m]


def at_points(reduced: Reduced, points: np.ndarray) -> np.ndarray:
    """Unit forces at points (P, 2) [m, floor coordinates] on the walked leaf: (n, P)."""
    s = reduced.stack.walked
    return shapes_at(reduced.stack.leaves[s], points)[:, reduced.keep[s]].T


def shapes_at(leaf: Leaf, points: np.ndarray) -> np.ndarray:
    """`Leaf.shapes` at a few points (P, 2) [m] that are asked for again and again."""
    kept = leaf.kept.setdefault("places", {})
    key = points.tobytes()
    if key not in kept:
        kept[key] = leaf.shapes(points)
    return kept[key]


def over_area(reduced: Reduced, x: tuple[float, float], y: tuple[float, float]) -> np.ndarray:
    """Unit force at a random place in a rectangle of the walked leaf, exactly averaged: (n, R).

    x, y : (low, high) [m, floor coordinates]. The columns u satisfy sum u u^T = mean of phi phi^T
    over the rectangle, so that sums over columns are means over all places. Kept with the leaf.
    """
    leaf, keep = reduced.stack.leaves[reduced.stack.walked], reduced.keep[reduced.stack.walked]
    kept = leaf.kept.setdefault("over", {})
    key = (x, y, keep.tobytes())
    if key not in kept:
        mean = _mean_square(leaf, x, y, int(keep[-1]) + 1)[np.ix_(keep, keep)]
        squares, vectors = np.linalg.eigh((mean + mean.T) / 2)
        strong = squares > 1e-7 * squares[-1]
        kept[key] = vectors[:, strong] * np.sqrt(squares[strong])
    return np.asarray(kept[key])


def compliance_at(
    reduced: Reduced, points: np.ndarray, omega: float | np.ndarray
) -> np.ndarray:  # fmt: skip
    """Complex compliance (…, P) [m/N] under each point of the walked leaf's modes that are not
    kept, at omega (…,) [rad/s]: sum phi²/(omega_n² (1 + i eta) - omega²), as if nothing hung from
    the leaf. Small, but all the loss there is below the first mode. On a mat they rest on it, and
    it on a still base: omega_n² grows by s''/m''; and the dimple of waves shorter than any mode's
    (`leaf.beyond`), which a thin layer on a stiff mat consists of, is added.
    """
    leaf, rest, squares, dimple = _resting(reduced)
    return np.asarray(
        _receptances(squares, omega) @ shapes_at(leaf, points)[:, rest].T ** 2 + dimple
    )


def compliance_over(
    reduced: Reduced, area: Area, omega: float | np.ndarray
) -> np.ndarray:  # fmt: skip
    """`compliance_at`, averaged over a rectangle as in `over_area`: (…,) [m/N]."""
    leaf, rest, squares, dimple = _resting(reduced)
    return np.asarray(_receptances(squares, omega) @ mean_squares(leaf, area)[rest] + dimple)


def mean_squares(leaf: Leaf, area: Area) -> np.ndarray:
    """Mean of phi² over a rectangle [m, floor coordinates], exact, of all modes of a leaf (n,)
    [1/kg]; kept with it."""
    kept = leaf.kept.setdefault("mean squares", {})
    if area not in kept:
        moved = _moved(leaf, *area, len(leaf.omega))
        kept[area] = np.sum(leaf.flat() * moved, axis=0)
    return np.asarray(kept[area])


def _receptances(squares: np.ndarray, omega: float | np.ndarray) -> np.ndarray:
    """(…, n) of modes with omega_n² (1 + i eta) = `squares` (n,)."""
    return np.asarray(1 / (squares - np.asarray(omega, float)[..., None] ** 2))


def _resting(reduced: Reduced) -> tuple[Leaf, np.ndarray, np.ndarray, complex]:
    """The walked leaf, places of its modes that do not move, their omega_n² (1 + i eta), that of a
    mat below included (a floating layer is a plain plate: the mean of phi² is 1/m''), and the
    dimple on the mat that they lack."""
    s = reduced.stack.walked
    leaf = reduced.stack.leaves[s]
    rest = reduced.rest[s]
    below = sum(joint.everywhere for joint in reduced.stack.joints if s in joint.shapes)
    dimple = beyond.on_mat(leaf, below) if below else 0j
    return leaf, rest, leaf.squares[rest] + below / leaf.plate.mass, dimple


def _mean_square(
    leaf: Leaf, x: tuple[float, float], y: tuple[float, float], count: int
) -> np.ndarray:
    """Mean of phi phi^T over a rectangle for the first `count` modes and maybe more, kept with the
    leaf."""
    kept = leaf.kept.setdefault("means", {})
    if len(kept.get((x, y), ())) < count:
        coefficients = leaf.coefficients[:, :, :count].reshape(-1, count)
        kept[x, y] = coefficients.T @ _moved(leaf, x, y, count)
    return np.asarray(kept[x, y])


def _moved(leaf: Leaf, x: tuple[float, float], y: tuple[float, float], count: int) -> np.ndarray:
    """Coefficients (Mx My, count) of the first modes times the functions' mean products over the
    rectangle."""
    coefficients = leaf.coefficients[:, :, :count]
    sides = []
    for family, (low, high), start in ((leaf.x, x, 0), (leaf.y, y, 1)):
        points, weights = gauss(2 * family.count + 16)
        values = family.values(low + points * (high - low) - leaf.plate.origin[start])
        sides.append((values.T * weights) @ values)
    moved = (sides[0] @ coefficients.reshape(leaf.x.count, -1)).reshape(coefficients.shape)
    return np.asarray((sides[1] @ moved).reshape(-1, count))

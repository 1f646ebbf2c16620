"""One-dimensional shape functions along one side of a plate, orthonormal over that side.

Plates are built from products of two of these. Three families:

* `supported`: sines, w = 0 and no moment at both ends;
* `restrained`: eigenfunctions of a beam held at both ends with rotational springs;
* `free`: cosines with four polynomials added, so that slope and shear at the ends are free too.
  Cosines alone are *guided* edges. W. L. Li, Journal of Sound and Vibration 237 (2000) 709-725,
  gives the reason: with the polynomials the series converges for any edge condition.

Where ribs cross a side, the plate's curvature kinks (line force) and jumps (line moment) at every
rib. Smooth series chase that slowly: a deck on joists came out several dB wrong at 250 Hz against
finite elements. So two functions per rib with just that kink and jump, |s|³ and s|s|, are added.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.polynomial import legendre

from impact.base.quadrature import gauss, piecewise


@dataclass(frozen=True, eq=False)
class Basis:
    """Functions X_m(x), m = 0..M-1, on 0..length with ∫ X_m X_n dx = delta_mn.

    slope : (M, M) ∫ X'm X'n dx [1/m2]; bend : (M, M) ∫ X''m X''n dx [1/m4], with the work of the
    end springs where there are any; mixed : (M, M) ∫ Xm X''n dx [1/m2]; parity : (M,) 0 even or
    1 odd about the middle.
    """

    kind: str
    length: float
    fixity: float
    slope: np.ndarray
    bend: np.ndarray
    mixed: np.ndarray
    parity: np.ndarray
    combine: np.ndarray | None = None  # (raw, M): own functions from raw ones; None: sines
    ribs: tuple[float, ...] = ()  # places of the kinks, as shares of the side
    nodes: np.ndarray | None = None  # quadrature nodes on 0..length [m]
    weights: np.ndarray | None = None  # [m]

    @property
    def count(self) -> int:
        """Number of functions."""
        return len(self.parity)

    @property
    def smooth(self) -> int:
        """Number of sines or cosines among the functions: half waves up to so many."""
        return self.count - 2 * len(self.ribs) - (4 if self.kind == "free" else 0)

    def values(self, x: np.ndarray, derivative: int = 0) -> np.ndarray:
        """X_m or its `derivative` (0, 1, 2) at points x (P,) [m]; returns (P, M) [m^(-1/2 - d)]."""
        s = np.asarray(x, float) / self.length
        if self.combine is None:
            raw = _sines(s, self.count, derivative)
        elif self.kind == "supported":
            sines = self.combine.shape[0] - 4 - 2 * len(self.ribs)
            raw = _raw_supported(s, sines, self.ribs, derivative) @ self.combine
        else:
            cosines = self.combine.shape[0] - 2 * len(self.ribs)
            raw = _raw_free(s, cosines, derivative, self.ribs) @ self.combine
        return raw * self.length ** (-0.5 - derivative)

    def transform(self, wavenumber: np.ndarray, sign: int, pure: bool = False) -> np.ndarray:
        """∫ X_m cos(k x') dx about the middle, or with sin where `sign` is -1; k (Q,) [rad/m],
        (Q, M) [m^1/2]. pure : of the functions that are even or odd in the mirror as cos or sin is,
        alone; others give 0 and are left out."""
        places, weighted = self._pure[sign] if pure else self._weighted
        phase = np.outer(wavenumber, places)
        return (np.cos(phase) if sign > 0 else np.sin(phase)) @ weighted

    @cached_property
    def _weighted(self) -> tuple[np.ndarray, np.ndarray]:
        """Quadrature nodes from the middle, and X_m there times the weights (nodes, M)."""
        assert self.nodes is not None
        assert self.weights is not None
        return self.nodes - self.length / 2, self.values(self.nodes) * self.weights[:, None]

    @cached_property
    def _pure(self) -> dict[int, tuple[np.ndarray, np.ndarray]]:
        """The same of even (1) and odd (-1) functions, over the half of the nodes beyond the
        middle."""
        places, weighted = self._weighted
        middle = np.abs(places) < 1e-9 * self.length
        half = middle | (places > 0)
        twice = weighted[half] * np.where(middle[half], 1, 2)[:, None]
        return {
            sign: (places[half], twice[:, self.parity == odd]) for sign, odd in ((1, 0), (-1, 1))
        }

    def cosines(self, count: int, start: float, length: float) -> np.ndarray:
        """∫ psi_r X_m dx over start..start+length for orthonormal cosines psi_r, r < count.

        Returns (count, M), dimensionless; used for air layers and mats that cover part of a side.
        """
        low, high = max(0.0, -start), min(length, self.length - start)
        points, weights = gauss(count + self.count + 24)
        s = low + points * (high - low)
        r = np.arange(count)
        psi = np.cos(np.pi * np.outer(r, s) / length) * np.sqrt((2 - (r == 0))[:, None] / length)
        return (psi * (weights * (high - low))) @ self.values(s + start)


def supported(length: float, count: int, ribs: tuple[float, ...] = ()) -> Basis:
    """Sines sqrt(2/L) sin((m+1) pi x / L) on a side of `length` [m], and two functions per rib.

    ribs : places of ribs that cross the side [m]; without a mirror image their functions have no
    parity, and all say 0.
    """
    if ribs:
        shares = tuple(round(place / length, 12) for place in ribs)
        return _scaled("supported", length, 0.0, _unit_supported(count, shares), shares)
    k2 = (np.arange(1, count + 1) * np.pi / length) ** 2
    nodes, weights = gauss(2 * count + 24)
    return Basis(
        "supported", length, 0.0, np.diag(k2), np.diag(k2**2), np.diag(-k2),
        np.arange(count) % 2, None, (), nodes * length, weights * length,
    )  # fmt: skip


def free(length: float, count: int, ribs: tuple[float, ...] = ()) -> Basis:
    """Complete functions for a side with free ends, `count` in all (at least 6), and two per rib.

    ribs : places of ribs that cross the side [m].
    """
    shares = tuple(round(place / length, 12) for place in ribs)
    return _scaled("free", length, 0.0, _unit_free(count, shares), shares)


def restrained(length: float, count: int, fixity: float) -> Basis:
    """Eigenfunctions of a beam on rigid supports with equal rotational springs at both ends.

    fixity : end fixity factor r = 1/(1 + 3 EI/(k_rot L)), 0 hinged to 1 clamped (the factor of
    semi-rigid joints in frame analysis: Monforton and Wu, J. Struct. Div. ASCE 89 (1963) 13-42,
    from memory). `bend` includes the springs' work, taken in proportion to each strip's EI.
    """
    if not 0 <= fixity <= 1:
        raise ValueError(f"edge fixity {fixity:g}: must be 0 (hinged) to 1 (clamped)")
    if fixity == 0:
        return supported(length, count)
    return _scaled("restrained", length, fixity, _unit_restrained(count, fixity))


Unit = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def _scaled(
    kind: str, length: float, fixity: float, unit: Unit, ribs: tuple[float, ...] = ()
) -> Basis:
    combine, slope, bend, mixed, parity = unit
    nodes, weights = _pieces(2 * len(parity) + 40, ribs)
    return Basis(
        kind, length, fixity, slope / length**2, bend / length**4, mixed / length**2,
        parity, combine, ribs, nodes * length, weights * length,
    )  # fmt: skip


@lru_cache(maxsize=32)
def _pieces(count: int, ribs: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Gauss points and weights on 0..1, exact across the kinks at `ribs`; about `count` points."""
    ends = np.unique(np.clip(np.r_[0.0, ribs, 1.0], 0, 1))
    return piecewise(ends, [int(np.ceil(count * side)) + 8 for side in np.diff(ends)])


def _kinks(s: np.ndarray, ribs: tuple[float, ...], derivative: int) -> np.ndarray:
    """|s - r|³ and (s - r)|s - r| for every rib, mirrored pairs combined even and odd."""
    d = s[:, None] - np.asarray(ribs)[None, :]
    force = (np.abs(d) ** 3, 3 * d * np.abs(d), 6 * np.abs(d))[derivative]
    moment = (d * np.abs(d), 2 * np.abs(d), 2 * np.sign(d))[derivative]
    turn = _mirror(ribs)
    if turn is None:
        return np.hstack([force, moment])
    # the mirror image of |s-r|³ is the same about 1-r, that of (s-r)|s-r| its negative
    return np.hstack([force @ turn, moment @ turn])


@lru_cache(maxsize=32)
def _mirror(ribs: tuple[float, ...]) -> np.ndarray | None:
    """(J, J) sums then differences of mirrored pairs; None where the ribs have no mirror."""
    places = np.asarray(ribs)
    order = np.argsort(places)
    if not np.allclose(places[order] + places[order][::-1], 1.0, atol=1e-9):
        return None
    count = len(ribs)
    out, column = np.zeros((count, count)), 0
    for sign in (1.0, -1.0):
        for i in range((count + 1) // 2):
            a, b = order[i], order[count - 1 - i]
            if a == b and sign < 0:
                continue
            out[a, column] += 1.0
            out[b, column] += sign if a != b else 0.0
            column += 1
    return out


def _kink_parity(ribs: tuple[float, ...]) -> np.ndarray:
    """Parity of the columns of `_kinks`; zeros where the ribs have no mirror."""
    count = len(ribs)
    if _mirror(ribs) is None:
        return np.zeros(2 * count, int)
    even = (count + 1) // 2
    sums = np.r_[np.zeros(even, int), np.ones(count - even, int)]
    return np.r_[sums, 1 - sums]


def _sines(s: np.ndarray, count: int, derivative: int) -> np.ndarray:
    k = np.arange(1, count + 1) * np.pi
    phase = np.outer(s, k)
    return np.sqrt(2) * k**derivative * np.sin(phase + derivative * np.pi / 2)


def _raw_supported(
    s: np.ndarray, sines: int, ribs: tuple[float, ...], derivative: int
) -> np.ndarray:
    """Polynomials 1, s, s², s³, kinks, then sines, or a derivative of them; s on 0..1."""
    return np.hstack([_powers(s, derivative), _kinks(s, ribs, derivative),
                      _sines(s, sines, derivative)])  # fmt: skip


def _powers(s: np.ndarray, derivative: int) -> np.ndarray:
    one, nil = np.ones_like(s), np.zeros_like(s)
    return np.column_stack((
        (one, s, s**2, s**3), (nil, one, 2 * s, 3 * s**2), (nil, nil, 2 * one, 6 * s),
    )[derivative])  # fmt: skip


def _raw_free(
    s: np.ndarray, count: int, derivative: int, ribs: tuple[float, ...] = ()
) -> np.ndarray:
    """Four Legendre polynomials P1..P4, `count` - 4 cosines, kinks; or a derivative; s on 0..1."""
    series = legendre.legder(np.eye(5)[:, 1:], derivative)
    poly = legendre.legval(2 * s - 1, series).T * 2.0**derivative
    k = np.arange(count - 4) * np.pi
    phase = np.outer(s, k)
    out = np.hstack([poly, k**derivative * np.cos(phase + derivative * np.pi / 2)])
    return np.hstack([out, _kinks(s, ribs, derivative)]) if ribs else out


def _matrices(raw: list[np.ndarray], weights: np.ndarray, combine: np.ndarray) -> Unit:
    """Slope, bend and mixed matrices of combined raw functions given by value and derivatives."""
    own = [part @ combine for part in raw]
    weighted = [part * weights[:, None] for part in own]
    slope, bend = own[1].T @ weighted[1], own[2].T @ weighted[2]
    return combine, slope, bend, own[0].T @ weighted[2], np.zeros(combine.shape[1], int)


def _orthonormal(values: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Upper triangular (n, n) that makes columns orthonormal, in their order; QR twice keeps the
    small remainder of a column orthogonal to machine precision."""
    q, r1 = np.linalg.qr(values * np.sqrt(weights)[:, None])
    _, r2 = np.linalg.qr(q)
    return np.linalg.inv(r2 @ r1)


@lru_cache(maxsize=32)
def _unit_supported(count: int, ribs: tuple[float, ...]) -> Unit:
    """Sines and kinks that vanish with their curvature at both ends, orthonormal, sines first."""
    nodes, weights = _pieces(2 * count + 40, ribs)
    kinks = 2 * len(ribs)
    ends = np.array([0.0, 1.0])
    value, curve = (_kinks(ends, ribs, d) for d in (0, 2))
    select = np.zeros((4 + kinks + count, count + kinks))
    select[4 + kinks :, :count] = np.eye(count)
    select[4 : 4 + kinks, count:] = np.eye(kinks)
    # take off the cubic with the kink's own value and curvature at the ends
    c2, c3 = curve[0] / 2, (curve[1] - curve[0]) / 6
    select[:4, count:] = -np.array([value[0], value[1] - value[0] - c2 - c3, c2, c3])
    raw = [_raw_supported(nodes, count, ribs, d) @ select for d in (0, 1, 2)]
    own = _orthonormal(raw[0], weights)
    parity = np.zeros(count + kinks, int)
    if _mirror(ribs) is not None:
        parity = np.r_[np.arange(count) % 2, _kink_parity(ribs)]
        own[parity[:, None] != parity[None, :]] = 0.0
    _, slope, bend, mixed, _ = _matrices(raw, weights, own)
    return select @ own, slope, bend, mixed, parity


@lru_cache(maxsize=32)
def _unit_free(count: int, ribs: tuple[float, ...] = ()) -> Unit:
    """Orthonormal combinations by parity; cosines first, then polynomials, then kinks."""
    if count < 6:
        raise ValueError("a free side needs at least 6 functions")
    parity_raw = np.r_[[1, 0, 1, 0], np.arange(count - 4) % 2, _kink_parity(ribs)]
    total = len(parity_raw)
    order = np.r_[np.arange(4, count), np.arange(4), np.arange(count, total)]
    nodes, weights = _pieces(2 * count + 40, ribs)
    raw = [_raw_free(nodes, count, d, ribs)[:, order] for d in (0, 1, 2)]
    parity = parity_raw[order]
    own = _orthonormal(raw[0], weights)
    if not ribs or _mirror(ribs) is not None:
        own[parity[:, None] != parity[None, :]] = 0.0
    _, slope, bend, mixed, _ = _matrices(raw, weights, own)
    combine = np.zeros((total, total))
    combine[order] = own
    return combine, slope, bend, mixed, parity


@lru_cache(maxsize=32)
def _unit_restrained(count: int, fixity: float) -> Unit:
    raw = count + 12
    free_combine, _, bend, _, parity = _unit_free(raw)
    ends = _raw_free(np.array([0.0, 1.0]), raw, 0) @ free_combine
    turn = _raw_free(np.array([0.0, 1.0]), raw, 1) @ free_combine
    columns, kinds, energies = [], [], []
    for side in (0, 1):
        pick = np.flatnonzero(parity == side)
        held = np.linalg.svd(ends[:1, pick])[2][1:].T  # combinations with w = 0 at the ends
        rotation = turn[:, pick] @ held
        if fixity == 1:  # clamped: slope zero as well
            held = held @ np.linalg.svd(rotation[:1])[2][1:].T
            rotation = turn[:, pick] @ held
        spring = 0.0 if fixity == 1 else 3 * fixity / (1 - fixity)
        stiffness = held.T @ bend[np.ix_(pick, pick)] @ held + spring * rotation.T @ rotation
        energy, vectors = np.linalg.eigh(stiffness)
        full = np.zeros((raw, len(energy)))
        full[pick] = held @ vectors
        columns.append(full)
        kinds.append(np.full(len(energy), side))
        energies.append(energy)
    energy = np.concatenate(energies)
    order = np.argsort(energy)[:count]
    combine = free_combine @ np.hstack(columns)[:, order]
    nodes, weights = gauss(2 * raw + 40)
    parts = [_raw_free(nodes, raw, d) for d in (0, 1, 2)]
    _, slope, _, mixed, _ = _matrices(parts, weights, combine)
    return combine, slope, np.diag(energy[order]), mixed, np.concatenate(kinds)[order]

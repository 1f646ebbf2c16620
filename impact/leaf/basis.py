"""One-dimensional shape functions along one side of a plate, orthonormal over that side.

Plates are built from products of two of these. Three families:

* `supported`: sines, w = 0 and no moment at both ends;
* `restrained`: eigenfunctions of a beam held at both ends with rotational springs;
* `free`: cosines with four polynomials added, so that slope and shear at the ends are free too.
  Cosines alone are *guided* edges. W. L. Li, Journal of Sound and Vibration 237 (2000) 709-725,
  gives the reason: with the polynomials the series converges for any edge condition.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import eigh


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
    combine: np.ndarray | None = None  # (raw, M): own functions from raw ones, free family
    nodes: np.ndarray | None = None  # quadrature nodes on 0..length [m]
    weights: np.ndarray | None = None  # [m]

    @property
    def count(self) -> int:
        """Number of functions."""
        return len(self.parity)

    def values(self, x: np.ndarray, derivative: int = 0) -> np.ndarray:
        """X_m or its `derivative` (0, 1, 2) at points x (P,) [m]; returns (P, M) [m^(-1/2 - d)]."""
        s = np.asarray(x, float) / self.length
        if self.kind == "supported":
            raw = _sines(s, self.count, derivative)
        else:
            assert self.combine is not None
            raw = _raw_free(s, self.combine.shape[0], derivative) @ self.combine
        return raw * self.length ** (-0.5 - derivative)

    def transforms(self, wavenumber: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """∫ X_m cos(k x') dx and ∫ X_m sin(k x') dx about the middle; k (Q,) [rad/m], (Q, M)."""
        assert self.nodes is not None and self.weights is not None
        phase = np.outer(wavenumber, self.nodes - self.length / 2)
        weighted = self.values(self.nodes) * self.weights[:, None]
        return np.cos(phase) @ weighted, np.sin(phase) @ weighted

    def cosines(self, count: int, start: float, length: float) -> np.ndarray:
        """∫ psi_r X_m dx over start..start+length for orthonormal cosines psi_r, r < count.

        Returns (count, M), dimensionless; used for air layers and mats that cover part of a side.
        """
        low, high = max(0.0, -start), min(length, self.length - start)
        points, weights = _quadrature(count + self.count + 24)
        s = low + points * (high - low)
        r = np.arange(count)
        psi = np.cos(np.pi * np.outer(r, s) / length) * np.sqrt((2 - (r == 0))[:, None] / length)
        return (psi * (weights * (high - low))) @ self.values(s + start)


def supported(length: float, count: int) -> Basis:
    """Sines sqrt(2/L) sin((m+1) pi x / L) on a side of `length` [m]."""
    k2 = (np.arange(1, count + 1) * np.pi / length) ** 2
    nodes, weights = _quadrature(2 * count + 24)
    return Basis(
        "supported", length, 0.0, np.diag(k2), np.diag(k2**2), np.diag(-k2),
        np.arange(count) % 2, None, nodes * length, weights * length,
    )  # fmt: skip


def free(length: float, count: int) -> Basis:
    """Complete functions for a side with free ends, `count` in all (at least 6)."""
    unit = _unit_free(count)
    return _scaled("free", length, 0.0, unit)


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


def _scaled(kind: str, length: float, fixity: float, unit: Unit) -> Basis:
    combine, slope, bend, mixed, parity = unit
    nodes, weights = _quadrature(2 * len(parity) + 40)
    return Basis(
        kind, length, fixity, slope / length**2, bend / length**4, mixed / length**2,
        parity, combine, nodes * length, weights * length,
    )  # fmt: skip


@lru_cache(maxsize=32)
def _quadrature(count: int) -> tuple[np.ndarray, np.ndarray]:
    points, weights = legendre.leggauss(count)
    return (points + 1) / 2, weights / 2


def _sines(s: np.ndarray, count: int, derivative: int) -> np.ndarray:
    k = np.arange(1, count + 1) * np.pi
    phase = np.outer(s, k)
    return np.sqrt(2) * k**derivative * np.sin(phase + derivative * np.pi / 2)


def _raw_free(s: np.ndarray, count: int, derivative: int) -> np.ndarray:
    """Four Legendre polynomials P1..P4, then cosines, or a derivative of them; s on 0..1."""
    poly = np.zeros((len(s), 4))
    for degree in range(1, 5):
        series = np.zeros(degree + 1)
        series[degree] = 1
        poly[:, degree - 1] = legendre.legval(2 * s - 1, legendre.legder(series, derivative))
    poly *= 2.0**derivative
    k = np.arange(count - 4) * np.pi
    phase = np.outer(s, k)
    return np.hstack([poly, k**derivative * np.cos(phase + derivative * np.pi / 2)])


def _gram(count: int, first: int, second: int) -> np.ndarray:
    points, weights = _quadrature(2 * count + 40)
    left = _raw_free(points, count, first) * weights[:, None]
    return left.T @ _raw_free(points, count, second)


@lru_cache(maxsize=32)
def _unit_free(count: int) -> Unit:
    """Orthonormal combinations by parity; cosines first, polynomials made orthogonal to them."""
    if count < 6:
        raise ValueError("a free side needs at least 6 functions")
    parity_raw = np.r_[[1, 0, 1, 0], np.arange(count - 4) % 2]
    order = np.r_[np.arange(4, count), np.arange(4)]
    points, weights = _quadrature(2 * count + 40)
    raw = _raw_free(points, count, 0)[:, order] * np.sqrt(weights)[:, None]
    # QR twice keeps the small remainder of each polynomial orthogonal to machine precision
    q, r1 = np.linalg.qr(raw)
    _, r2 = np.linalg.qr(q)
    ordered = np.linalg.inv(r2 @ r1)
    combine = np.zeros((count, count))
    combine[order] = ordered
    parity = parity_raw[order]
    combine[parity_raw[:, None] != parity[None, :]] = 0.0
    return (combine, *_matrices(combine, count), parity)


def _matrices(combine: np.ndarray, raw: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    slope = combine.T @ _gram(raw, 1, 1) @ combine
    bend = combine.T @ _gram(raw, 2, 2) @ combine
    mixed = combine.T @ _gram(raw, 0, 2) @ combine
    return slope, bend, mixed


@lru_cache(maxsize=32)
def _unit_restrained(count: int, fixity: float) -> Unit:
    raw = count + 12
    free_combine, slope, bend, _, parity = _unit_free(raw)
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
        energy, vectors = eigh(stiffness)
        full = np.zeros((raw, len(energy)))
        full[pick] = held @ vectors
        columns.append(full)
        kinds.append(np.full(len(energy), side))
        energies.append(energy)
    energy = np.concatenate(energies)
    order = np.argsort(energy)[:count]
    combine = free_combine @ np.hstack(columns)[:, order]
    slope, _, mixed = _matrices(combine, raw)
    return combine, slope, np.diag(energy[order]), mixed, np.concatenate(kinds)[order]

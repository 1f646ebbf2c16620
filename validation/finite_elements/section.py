"""Finite elements of a slab's section: what round cores leave of stiffness, what a blow lets in.

`cell` : plane strain, one cell with one core, loaded in waves along the row of cores; its
compliance 1/(D k⁴) + 1/(S k²) at two wavenumbers gives D and S across the cores. `mobility` : the
section of a ring of cells by elements, waves e^(ikx) along the cores, a point force on the upper
face as a sum over k: the whole solid, no plate theory. Nothing of the package is in either.

    python -m validation.finite_elements.section     # 2 to 3 minutes; needs scikit-fem
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
import scipy.sparse as sparse
import scipy.sparse.linalg as solver
import skfem as fem  # type: ignore[import-untyped]
from skfem.helpers import ddot, grad, sym_grad, trace  # type: ignore[import-untyped]

Shape = tuple[float, float, float]  # m: pitch of the cores, depth of the slab, diameter
Stuff = tuple[float, float, float]  # Young's modulus [Pa], Poisson's ratio, density [kg/m3]


def mesh(shape: Shape, around: int, outward: int) -> Any:
    """Quadratic quadrilaterals of one cell, the core in its middle; `around` of them an eighth."""
    pitch, depth, diameter = shape
    at = np.linspace(0, 1, around + 1)[:-1]
    a, b, r = pitch / 2, depth / 2, diameter / 2
    rim = np.concatenate([np.stack([a + 0 * at, b * at], 1), [[a, b]],
                          np.stack([a - a * at, b + 0 * at], 1)[1:], [[0, b]]])  # fmt: skip
    turn = np.linspace(0, np.pi / 2, 2 * around + 1)
    core = r * np.stack([np.cos(turn), np.sin(turn)], 1)
    rim, core = (_around(quarter) for quarter in (rim, core))
    count = len(rim)
    places = np.concatenate([(1 - t) * core + t * rim for t in np.linspace(0, 1, outward + 1)])
    cells = [
        (j * count + i, j * count + (i + 1) % count,
         (j + 1) * count + (i + 1) % count, (j + 1) * count + i)
        for j in range(outward) for i in range(count)
    ]  # fmt: skip
    flat = fem.MeshQuad2.from_mesh(fem.MeshQuad(places.T, np.array(cells).T))
    where = flat.doflocs.copy()
    far = np.hypot(*where)
    chords = (far < r * (1 - 1e-12)) & (far > 0.8 * r)
    where[:, chords] *= r / far[chords]
    return fem.MeshQuad2(where, flat.t)


def _around(quarter: np.ndarray) -> np.ndarray:
    upper = np.concatenate([quarter, (quarter * [-1, 1])[::-1][1:]])
    return np.concatenate([upper, (upper * [1, -1])[::-1][1:-1]])


def _components(basis: Any, count: int) -> np.ndarray:
    """Which component of the motion each unknown is."""
    found = np.zeros(basis.N, int)
    for one in range(1, count):
        unit = [float(one == j) for j in range(count)]
        found[abs(basis.project(lambda x, u=unit: np.array([v + 0 * x[0] for v in u]))) > 0.5] = one
    return found


def cell(shape: Shape, stuff: Stuff, fine: tuple[int, int] = (8, 8)) -> tuple[float, float]:
    """D [N m] and S [N/m] across the cores, per width."""
    young, nu, _ = stuff
    pitch = shape[0]
    basis = fem.Basis(mesh(shape, *fine), fem.ElementVector(fem.ElementQuad2()), intorder=6)
    lame, shear = young * nu / (1 + nu) / (1 - 2 * nu), young / 2 / (1 + nu)

    @fem.BilinearForm
    def stiffness(u: Any, v: Any, _: Any) -> Any:
        both = trace(sym_grad(u)) * trace(sym_grad(v))
        return 2 * shear * ddot(sym_grad(u), sym_grad(v)) + lame * both

    @fem.LinearForm
    def filled(v: Any, _: Any) -> Any:
        return v[1]

    matrix = stiffness.assemble(basis).tocsr()
    area, which, x = filled.assemble(basis).sum(), _components(basis, 2), basis.doflocs
    left, right = (np.flatnonzero(abs(x[0] - side * pitch / 2) < 1e-9) for side in (-1, 1))
    same = {(round(x[1, i] * 1e7), which[i]): i for i in left}
    master = np.arange(basis.N)
    master[right] = [same[round(x[1, i] * 1e7), which[i]] for i in right]
    kept, new = np.unique(master, return_inverse=True)
    compliance = []
    waves = np.array([0.15, 0.3]) / pitch
    for k in waves:
        turn = np.ones(basis.N, complex)
        turn[right] = np.exp(1j * k * pitch)
        joined = sparse.csr_matrix((turn, (np.arange(basis.N), new)), (basis.N, len(kept)))

        @fem.LinearForm(dtype=complex)
        def load(v: Any, w: Any, k: float = k) -> Any:
            return v[1] * np.exp(1j * k * w.x[0])

        force = joined.conj().T @ load.assemble(basis)
        moved = solver.spsolve((joined.conj().T @ matrix @ joined).tocsc(), force)
        compliance.append(np.vdot(force, moved).real * pitch / area**2 * k**4)
    gives = (waves[1] ** 2 - waves[0] ** 2) / (compliance[1] - compliance[0])
    return float(1 / (compliance[0] - waves[0] ** 2 / gives)), float(gives)


def mobility(
    shape: Shape, stuff: Stuff, cells: int, frequencies: list[float], loss: float = 0.06,
    lines: int = 160,
) -> np.ndarray:  # fmt: skip
    """Re Y [m/(N s)] at each frequency [Hz], mean over places on the upper face of one cell."""
    young, nu, density = stuff
    pitch, depth, _ = shape
    lame, g = young * nu / (1 + nu) / (1 - 2 * nu), young / 2 / (1 + nu)
    basis = fem.Basis(mesh(shape, 2, 2), fem.ElementVector(fem.ElementQuad2(), dim=3), intorder=5)

    @fem.BilinearForm
    def plane(u: Any, v: Any, _: Any) -> Any:
        a, b = grad(u), grad(v)
        sheared = sum(p * q for p, q in (
            (a[1, 1] + a[2, 0], b[1, 1] + b[2, 0]), (a[0, 0], b[0, 0]), (a[0, 1], b[0, 1])
        ))  # fmt: skip
        wide = (a[1, 0] + a[2, 1]) * (b[1, 0] + b[2, 1])
        return lame * wide + 2 * g * (a[1, 0] * b[1, 0] + a[2, 1] * b[2, 1]) + g * sheared

    @fem.BilinearForm
    def along(u: Any, v: Any, _: Any) -> Any:
        b = grad(v)
        return lame * u[0] * (b[1, 0] + b[2, 1]) + g * (u[1] * b[0, 0] + u[2] * b[0, 1])

    @fem.BilinearForm
    def twice(u: Any, v: Any, _: Any) -> Any:
        return (lame + 2 * g) * u[0] * v[0] + g * (u[1] * v[1] + u[2] * v[2])

    @fem.BilinearForm
    def inertia(u: Any, v: Any, _: Any) -> Any:
        return density * (u[0] * v[0] + u[1] * v[1] + u[2] * v[2])

    which, x = _components(basis, 3), basis.doflocs
    names: dict[tuple[int, int, int], int] = {}
    rings = []
    for number in range(cells):  # the last one joins the first
        y = (x[0] + pitch * number) % (cells * pitch)
        y = np.where(cells * pitch - y < 1e-7, 0.0, y)
        keys = zip(np.rint(y * 1e6).astype(int), np.rint(x[1] * 1e6).astype(int), which,
                   strict=True)  # fmt: skip
        rings.append(np.array([names.setdefault(key, len(names)) for key in keys]))

    def ring(form: Any) -> Any:
        one = form.assemble(basis).tocoo()
        rows, columns = (np.concatenate([r[i] for r in rings]) for i in (one.row, one.col))
        size = len(names)
        return sparse.csc_matrix((np.tile(one.data, cells), (rows, columns)), (size, size))

    k0, k1, k2, mass = (ring(form) for form in (plane, along, twice, inertia))
    struck = np.flatnonzero((which == 2) & (abs(x[1] - depth / 2) < 1e-8) & (x[0] > -1e-9))
    weight = np.where((x[0, struck] < 1e-9) | (x[0, struck] > pitch / 2 - 1e-9), 0.5, 1.0)
    at = rings[0][struck]
    force = np.zeros((len(names), len(at)), complex)
    force[at, np.arange(len(at))] = 1
    void = 1 - np.pi * shape[2] ** 2 / 4 / pitch / depth
    soft = young * depth**3 / 12 / 4 / (density * depth * void)  # a quarter of the solid's
    found = []
    for f in frequencies:
        omega = 2 * np.pi * f
        reach = 2.5 * (omega**2 / soft) ** 0.25 + 5  # most waves in k, and some more
        total = np.zeros(len(at), complex)
        for k in (np.arange(lines) + 0.5) / lines * reach:
            stiff = (k0 + 1j * k * (k1 - k1.T) + k**2 * k2) * (1 + 1j * loss)
            moved = solver.splu((stiff - omega**2 * mass).tocsc()).solve(force)
            total += moved[at, np.arange(len(at))]
        each = (1j * omega * total * reach / lines / np.pi).real
        found.append(float(each @ weight / weight.sum()))
    return np.array(found)


def main() -> None:
    """D and S over those of the solid slab, and Re Y over that of the thin solid plate in dB."""
    stuff = (30.5e9, 0.2, 2300.0)
    young, nu, density = stuff
    depth, core = 0.2, 0.15
    solid = young * depth**3 / 12 / (1 - nu**2), 5 / 6 * young / 2 / (1 + nu) * depth
    for share in (0.1, 0.2, 0.3, 0.4, 0.5, 0.55):
        pitch = np.pi * core**2 / 4 / depth / share
        found = cell((pitch, depth, core), stuff)
        print(f"{share:.2f} void: D {found[0] / solid[0]:.3f}, S {found[1] / solid[1]:.4f}")
    frequencies = [800.0, 1250, 1600, 2000, 2500, 3150, 4000]
    for share, cells in ((0.0, 16), (0.4, 22)):
        pitch = 0.2 if share == 0 else np.pi * core**2 / 4 / depth / share
        shape = pitch, depth, core if share else 1e-3
        found_y = mobility(shape, stuff, cells, frequencies)
        thin = 1 / 8 / np.sqrt(solid[0] * density * depth)
        print(f"{share:.2f} void:", *(f"{10 * np.log10(y / thin):+.1f}" for y in found_y))
        sys.stdout.flush()


if __name__ == "__main__":
    main()

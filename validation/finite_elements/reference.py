"""Assembles and solves coupled leaves by finite elements, one direct solution per frequency.

Nothing here comes from the package's own model: the package's constants of air are all it shares.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sparse
from scipy.sparse.linalg import SuperLU, splu

from validation.finite_elements.grid import Grid, Line, nodes_between
from validation.finite_elements.model import (
    AreaSpring,
    Assembly,
    EdgeSpring,
    GasLayer,
    Leaf,
    Plate,
    PointSprings,
    Property,
    Ribs,
)
from validation.finite_elements.radiation import Radiator, gauss_cells

__all__ = [
    "AreaSpring",
    "Assembly",
    "EdgeSpring",
    "GasLayer",
    "Leaf",
    "Plate",
    "PointSprings",
    "Results",
    "Ribs",
    "System",
    "solve",
]

RESIDUAL = 1e-6  # largest relative residual accepted after one step of refinement


@dataclass(frozen=True)
class Results:
    """Responses to a point force of 1 N rms on leaf 0; axes (leaf,) frequency, source."""

    frequencies: np.ndarray  # Hz
    mobility: np.ndarray  # m/(N s), complex, at the driven point
    mean_square_velocity: np.ndarray  # (m/s)2 per N2, mean over each leaf's area
    mean_velocity: np.ndarray  # m/s per N, complex, mean over each leaf's area
    radiated_power: np.ndarray  # W per N2, from the last leaf into a half space below a baffle
    unknowns: int
    seconds: float


def solve(
    assembly: Assembly,
    frequencies: np.ndarray,
    sources: np.ndarray,
    size: float = 0.1,
    cell: float = 0.2,
) -> Results:
    """Responses of `assembly` at `frequencies` [Hz] to forces at `sources` [m] (n x 2) on leaf 0.

    Parameters
    ----------
    size : float
        Largest element side. [m]
    cell : float
        Largest side of the radiation cells, each with 3 x 3 Gauss points. [m]

    Raises
    ------
    ArithmeticError
        When the linear solution leaves a relative residual above 1e-6.
    """
    start = time.perf_counter()
    system = System(assembly, size)
    grid, leaves = system.grid, len(assembly.leaves)
    load = system.load(np.asarray(sources, float))
    radiator, surface = _radiating(assembly, grid, cell)
    area = grid.product((0, 0), (0, 0)) / (assembly.length * assembly.width)
    mean_row = _mean_row(assembly, grid)

    shape = (len(frequencies), load.shape[1])
    mobility = np.empty(shape, complex)
    square = np.empty((leaves, *shape))
    mean = np.empty((leaves, *shape), complex)
    power = np.empty(shape)
    for k, frequency in enumerate(frequencies):
        omega = 2 * np.pi * frequency
        velocity = 1j * omega * system.respond(omega, load)
        mobility[k] = np.sum(load * velocity, axis=0)
        for leaf in range(leaves):
            field = velocity[system.field(leaf)]
            square[leaf, k] = np.sum(field.conj() * (area @ field), axis=0).real
            mean[leaf, k] = mean_row @ field
        power[k] = radiator.power(omega, _spread(surface, velocity[system.field(leaves - 1)]))
    return Results(
        np.asarray(frequencies), mobility, square, mean, power,
        len(system.order), time.perf_counter() - start,
    )  # fmt: skip


class System:
    """The matrices of an assembly on one grid, shared by all leaves and gas layers."""

    def __init__(self, assembly: Assembly, size: float) -> None:
        self.assembly = assembly
        self.grid = _grid(assembly, size)
        self.fields = len(assembly.leaves) + len(assembly.gases)
        self.overlap = self.grid.product((0, 0), (0, 0))
        self.stiffness, self.mass = self._matrices()
        self.order = self._ordering()

    def field(self, index: int) -> slice:
        """Place of a leaf (gas layers follow the leaves) among the unknowns."""
        return slice(index * self.grid.count, (index + 1) * self.grid.count)

    def load(self, positions: np.ndarray) -> np.ndarray:
        """Right-hand sides (unknowns x positions) of unit forces on leaf 0."""
        right = np.zeros((self.fields * self.grid.count, len(positions)))
        right[self.field(0)] = self.grid.at(positions).toarray().T
        return right

    def dynamic(self, omega: float) -> sparse.csc_matrix:
        """Dynamic stiffness at `omega` [rad/s], all unknowns, gas layers included."""
        matrix = self.stiffness - omega**2 * self.mass
        for number, gas in enumerate(self.assembly.gases):
            matrix = matrix + self._gas(gas, len(self.assembly.leaves) + number, omega)
        return matrix.tocsc()

    def respond(self, omega: float, load: np.ndarray) -> np.ndarray:
        """Displacements (and scaled pressures) for the columns of `load`; held ones are zero."""
        matrix = self.dynamic(omega)[self.order][:, self.order].tocsc()
        right = load[self.order].astype(complex)
        factors: SuperLU = splu(
            matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
        answer = factors.solve(right)
        answer += factors.solve(right - matrix @ answer)
        residual = np.abs(right - matrix @ answer).max() / np.abs(right).max()
        if not residual < RESIDUAL:
            raise ArithmeticError(f"residual {residual:.1e} at {omega / 2 / np.pi:g} Hz")
        full = np.zeros(load.shape, complex)
        full[self.order] = answer
        return full

    def _matrices(self) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
        """Complex stiffness and real mass of everything that does not depend on frequency."""
        zero = sparse.csr_matrix((self.grid.count, self.grid.count))
        blocks = [[zero] * self.fields for _ in range(self.fields)]
        masses = [zero] * self.fields
        for i, leaf in enumerate(self.assembly.leaves):
            stiffness, masses[i] = leaf_matrices(self.grid, leaf)
            blocks[i][i] = (1 + 1j * leaf.loss_factor) * stiffness
        for area in self.assembly.areas:
            spring = area.stiffness * (1 + 1j * area.loss_factor) * self.overlap
            _join(blocks, area.upper, area.lower, spring)
        for points in self.assembly.points:
            rows = self.grid.at(np.asarray(points.positions, float))
            spring = points.stiffness * (1 + 1j * points.loss_factor) * (rows.T @ rows)
            _join(blocks, points.upper, points.lower, spring)
        for edge in self.assembly.edges:
            sides = sum((_side(self.assembly, self.grid, side) for side in edge.sides), start=zero)
            blocks[edge.leaf][edge.leaf] = blocks[edge.leaf][edge.leaf] + (
                edge.stiffness * (1 + 1j * edge.loss_factor) * sides
            )
        return sparse.bmat(blocks, format="csr"), sparse.block_diag(masses, format="csr")

    def _gas(self, gas: GasLayer, own: int, omega: float) -> sparse.csr_matrix:
        """Rows and columns of one gas layer.

        Continuity times a test function q, with u = grad p / (rho omega^2) from the momentum and
        u.n = 0 at the side walls, by parts:
        int q (w_upper - w_lower) - int q p d/K + (1/omega^2) int (d/rho) grad q . grad p = 0.
        The pressure pushes the upper leaf up (+p among its resisting forces) and the lower leaf
        down (-p). The unknown is p / s with s = |K/d|, and the equation above is multiplied by s:
        the matrix stays complex symmetric and its entries are alike in size.
        """
        bulk, rho_x, rho_y = (_at(v, omega) for v in (gas.bulk, gas.density_x, gas.density_y))
        scale = abs(bulk / gas.depth)
        compliance = (gas.depth / bulk) * self.overlap - (gas.depth / omega**2) * (
            self.grid.product((1, 1), (0, 0)) / rho_x + self.grid.product((0, 0), (1, 1)) / rho_y
        )
        for side in gas.open_sides:  # leaves there: p / ((i omega)^2 rho_gap) per metre
            edge = _side(self.assembly, self.grid, side)
            compliance = compliance - edge / (omega**2 * _at(gas.gap_density, omega))
        blocks = [[None] * self.fields for _ in range(self.fields)]
        for i in range(self.fields):
            blocks[i][i] = sparse.csr_matrix((self.grid.count, self.grid.count))
        blocks[own][own] = -(scale**2) * compliance
        blocks[gas.upper][own] = blocks[own][gas.upper] = scale * self.overlap
        blocks[gas.lower][own] = blocks[own][gas.lower] = -scale * self.overlap
        return sparse.bmat(blocks, format="csr")

    def _ordering(self) -> np.ndarray:
        """Unknowns that are not held, all fields of a node together, in nested-dissection order."""
        nodes = np.array(self.grid.dissection())
        x = 2 * nodes[:, 0, None] + np.array([0, 0, 1, 1])
        y = 2 * nodes[:, 1, None] + np.array([0, 1, 0, 1])
        one = x * self.grid.y.count + y
        all_fields = one[:, None, :] + self.grid.count * np.arange(self.fields)[:, None]
        held = np.zeros(self.fields * self.grid.count, bool)
        for i, leaf in enumerate(self.assembly.leaves):
            if leaf.edges == "simply supported":
                held[self.field(i)] = ~self.grid.inner()
            elif leaf.edges != "free":
                raise ValueError(f"edges {leaf.edges!r}: must be 'simply supported' or 'free'")
        flat = all_fields.ravel()
        return flat[~held[flat]]


def leaf_matrices(grid: Grid, leaf: Leaf) -> tuple[sparse.csr_matrix, sparse.csr_matrix]:
    """Real stiffness and mass of one leaf with its ribs, edges free."""
    plate = leaf.plate
    cross = plate.poisson * np.sqrt(plate.bending_x * plate.bending_y)
    stiffness = (
        plate.bending_x * grid.product((2, 2), (0, 0))
        + plate.bending_y * grid.product((0, 0), (2, 2))
        + cross * (grid.product((2, 0), (0, 2)) + grid.product((0, 2), (2, 0)))
        + 4 * plate.twisting * grid.product((1, 1), (1, 1))
    )
    mass = plate.mass * grid.product((0, 0), (0, 0))
    for ribs in leaf.ribs:
        along = {"x": grid.along_x, "y": grid.along_y}[ribs.direction]
        for position in ribs.positions:
            stiffness = stiffness + ribs.bending * along(position, (2, 2), 0)
            stiffness = stiffness + ribs.torsion * along(position, (1, 1), 1)
            mass = mass + ribs.mass * along(position, (0, 0), 0)
            mass = mass + ribs.rotary * along(position, (0, 0), 1)
    return stiffness.tocsr(), mass.tocsr()


def _grid(assembly: Assembly, size: float) -> Grid:
    marks: dict[str, list[float]] = {"x": [], "y": []}
    for leaf in assembly.leaves:
        for ribs in leaf.ribs:
            marks["y" if ribs.direction == "x" else "x"].extend(ribs.positions)
    return Grid(
        Line(nodes_between(assembly.length, marks["x"], size)),
        Line(nodes_between(assembly.width, marks["y"], size)),
    )


def _join(blocks: list, upper: int, lower: int, spring: sparse.csr_matrix) -> None:
    """Add a spring matrix between two fields."""
    for own, other in ((upper, lower), (lower, upper)):
        blocks[own][own] = blocks[own][own] + spring
        blocks[own][other] = blocks[own][other] - spring


def _side(assembly: Assembly, grid: Grid, side: str) -> sparse.csr_matrix:
    if side in ("west", "east"):
        return grid.along_y(0.0 if side == "west" else assembly.length, (0, 0), 0)
    if side in ("south", "north"):
        return grid.along_x(0.0 if side == "south" else assembly.width, (0, 0), 0)
    raise ValueError(f"side {side!r}: must be west, east, south or north")


def _at(value: Property, omega: float) -> complex:
    return complex(value(omega)) if callable(value) else complex(value)


def _mean_row(assembly: Assembly, grid: Grid) -> np.ndarray:
    """Row that takes a field to its mean over the area."""
    one_x, one_y = np.zeros(grid.x.count), np.zeros(grid.y.count)
    one_x[::2] = one_y[::2] = 1  # the constant field: values one, slopes zero
    whole = grid.product((0, 0), (0, 0)) @ np.kron(one_x, one_y)
    return whole / (assembly.length * assembly.width)


def _radiating(
    assembly: Assembly, grid: Grid, cell: float
) -> tuple[Radiator, tuple[sparse.csr_matrix, sparse.csr_matrix]]:
    """Radiator of the whole rectangle and the two matrices that sample a field on its points."""
    x, weight_x = gauss_cells(assembly.length, cell)
    y, weight_y = gauss_cells(assembly.width, cell)
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    radiator = Radiator(points, np.kron(weight_x, weight_y))
    return radiator, (grid.x.values(x), grid.y.values(y))


def _spread(surface: tuple[sparse.csr_matrix, sparse.csr_matrix], field: np.ndarray) -> np.ndarray:
    """Field (unknowns x cases) on the radiation points (points x cases)."""
    x, y = surface
    cases = field.shape[1]
    half = (x @ field.reshape(x.shape[1], -1)).reshape(x.shape[0], y.shape[1], cases)
    whole = np.stack([(y @ half[:, :, c].T).T for c in range(cases)], axis=-1)
    return whole.reshape(-1, cases)

"""The air in a gap between cavity and room, against finite elements and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementTriP2, MeshTri, condense, solve
from skfem.helpers import dot, grad

from impact.link import slot


def corner_flow(depth: float, width: float) -> float:
    """Inertance that a gap in the corner of half a strip adds to even flow, by finite elements of
    Laplace's equation: unit flow from afar to the gap, held at potential 0."""
    far, step = 4 * depth, np.linspace(0, 1, 9) ** 2  # finer towards the gap's rim
    inside, beyond = np.r_[step / 2, 1 - step / 2], 1 + step
    x = np.unique(np.r_[width * inside, width * beyond, np.geomspace(2 * width, far, 40)])
    y = np.unique(np.r_[0.0, np.geomspace(width / 100, depth, 40)])
    mesh = MeshTri.init_tensor(x, y)
    basis = Basis(mesh, ElementTriP2())

    @BilinearForm
    def laplace(u, v, _):
        return dot(grad(u), grad(v))

    matrix = laplace.assemble(basis)
    places = basis.doflocs
    held = np.flatnonzero((places[1] < 1e-12) & (places[0] <= width + 1e-12))
    # the far end as one unknown would be even over the depth: its mean answers the same flow
    end = np.flatnonzero(places[0] > far - 1e-12)
    order = end[np.argsort(places[1][end])]
    load = np.zeros(matrix.shape[0])
    heights = places[1][order]
    for a, m, b in zip(order[:-2:2], order[1:-1:2], order[2::2], strict=True):
        size = (places[1][b] - places[1][a]) / depth
        load[[a, m, b]] += size * np.array([1, 4, 1]) / 6
    assert heights[0] == 0
    field = solve(*condense(matrix, load, D=held))
    return float(field[order].mean() - far / depth)


def test_the_corner_of_the_cavity_by_finite_elements():
    """The elements answer to 0.003 (their own error where the flow bends round the rim); the
    formula is that of a narrow gap, off by (1/pi) ln(2 (cosh a - 1)/a²), a = pi w/d: 0.000 and
    0.014 of 2.76 and 0.64."""
    for depth, width, wide in ((0.15, 0.006, 0.0), (0.15, 0.035, 0.0137)):
        formula = slot.end(width, slot.longest(depth))
        assert formula == pytest.approx(2 / np.pi * np.log(2 * depth / np.pi / width), rel=1e-12)
        assert formula - wide == pytest.approx(corner_flow(depth, width), abs=0.004)


def test_friction_from_a_crack_to_a_wide_gap():
    """A crack of 0.1 mm resists by 12 eta t/w³ per flow (Poiseuille), 12 x 1.84e-5 x 0.01/1e-12 =
    2.208e6 Pa s/m² at 10 mm depth. In a wide gap the layers of air that stick, D = sqrt(2 eta/(rho
    omega)) thick, take 1 + x - ix - 2ix² with x = D/w, to the third order."""
    omega = 2 * np.pi * 10.0
    narrow = 1j * omega * 1.204 * 0.01 / 1e-4 * slot.friction(1e-4, omega)
    assert narrow.real == pytest.approx(2.208e6, rel=0.002)  # its mass turns it by less
    omega = 2 * np.pi * 50.0
    x = np.sqrt(2 * 1.84e-5 / (1.204 * omega)) / 0.006
    assert slot.friction(0.006, omega) == pytest.approx(1 + x - 1j * (x + 2 * x**2), abs=4 * x**3)


def test_room_side_is_the_end_correction_of_a_strip_and_bounded_in_a_room():
    """2 mm at 50 Hz, by hand: 2/pi (ln(4/(0.9154 x 0.002)) - 0.5772) = 4.528; in a room of 4 m no
    more than in a duct of 4 m, 2/pi ln(8/(0.002 pi)) = 4.552."""
    assert slot.end(0.002, 0.9154) == pytest.approx(4.528, abs=0.002)
    assert slot.end(0.002, slot.longest(4.0)) == pytest.approx(4.552, abs=0.002)

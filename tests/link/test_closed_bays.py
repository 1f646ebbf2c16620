"""Air between joists with boards straight on them: each bay is a box of its own."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import spsolve

from impact.base import air
from impact.design.parts import Design
from impact.link import cavity, porous
from impact.link.cavity import Gap
from impact.motion.assemble import assemble
from tests.designs import basement, hangers, joists

BAY = Gap(0.0, bay=0.235, open_share=1 - 0.038 / 0.4064)
WIDTH = 0.4064 - 0.038


def nailed() -> Design:
    """The basement's floor with its boards nailed to the joists, nothing in the bays."""
    fixing = replace(
        hangers("direct fixing"), dynamic_stiffness=3e6, height=0.0, channel=None,
        channel_spacing=16 * 0.0254, hanger_spacing=0.3,
    )  # fmt: skip
    return replace(basement(), hangers=fixing, cavity=replace(basement().cavity, clear_depth=0.0,
                                                              fill=None))  # fmt: skip


def test_air_of_a_bay_is_a_piston_on_a_closed_box():
    """Pressed evenly it is K/d, K = 141.9 kPa (1.4 times 101.3 kPa, any textbook)."""
    found = 1 / cavity.compliance(BAY, 2 * np.pi * 20, np.zeros(1), np.zeros(1))[0]
    assert found.real == pytest.approx(1.4 * 101325 / 0.235, rel=2e-3)
    # of the plan: the joists' share of it is not pressed
    assert cavity.static_stiffness(BAY) == pytest.approx(
        BAY.open_share * 1.4 * 101325 / 0.235, rel=2e-3
    )


def test_first_cross_mode_of_a_bay():
    """Half a wave across the clear width: c/(2 w) = 343/(2 x 0.3684) = 466 Hz (any textbook)."""
    ky = np.array([np.pi / WIDTH])
    f = np.linspace(430, 500, 1401)
    signs = [cavity.compliance(BAY, 2 * np.pi * x, np.zeros(1), ky)[0].real for x in f]
    crossing = f[np.flatnonzero(np.diff(np.sign(signs)))[0]]
    assert crossing == pytest.approx(343.3 / (2 * WIDTH), rel=5e-3)


def _differences(count: int, step: float) -> sparse.csr_matrix:
    """Minus the second derivative between rigid walls, `count` cells of `step` [m]."""
    main = np.full(count, 2.0)
    main[[0, -1]] = 1.0
    return sparse.diags([-np.ones(count - 1), main, -np.ones(count - 1)], [-1, 0, 1]) / step**2


@pytest.mark.parametrize("hertz", [63.0, 160.0])
def test_bays_against_finite_differences(hertz):
    """Force of the air on the boards' modes, mode by mode, beside Helmholtz's equation solved in
    every bay by finite differences (cells of 3 and 2 cm, which err by 1 to 2 %). Bays of
    60 mm, shallow against the waves: in deep ones pressure also falls off with depth.

    Air that reacts locally across the bays, as if each place had its own, is off by 27 and 41 %.
    """
    base, omega = nailed(), 2 * np.pi * hertz
    shallow = replace(joists(), depth=0.06, volume_per_length=0.038 * 0.06)
    design = replace(base, floor=replace(base.floor, joists=shallow))
    assembly = assemble(design, 250.0)
    stack = assembly.whole
    joint = next(j for j in stack.joints if j.name == "air")
    leaf = stack.leaves[-1]
    modes = slice(0, 30)
    rows = joint.shapes[len(stack.leaves) - 1][:, modes]
    ours = (rows.T / joint.compliance(omega)) @ rows

    bulk = air.BULK_ADIABATIC * (1 + 1j * porous.EMPTY_LOSS)
    lines = np.array(assembly.placement.joists)
    half = design.floor.joists.width / 2
    starts, ends = np.r_[0.0, lines + half], np.r_[lines - half, design.room.width]
    theirs = np.zeros_like(ours)
    depth = design.floor.joists.depth
    for start, end in zip(starts, ends, strict=True):
        nx, ny = int(design.room.length / 0.03), max(6, int((end - start) / 0.02))
        dx, dy = design.room.length / nx, (end - start) / ny
        x, y = np.meshgrid((np.arange(nx) + 0.5) * dx, start + (np.arange(ny) + 0.5) * dy,
                           indexing="ij")  # fmt: skip
        moved = leaf.shapes(np.column_stack([x.ravel(), y.ravel()]))[:, modes]
        laplace = sparse.kron(_differences(nx, dx), sparse.eye(ny)) + sparse.kron(
            sparse.eye(nx), _differences(ny, dy)
        )
        matrix = depth / bulk * sparse.eye(nx * ny) - depth / (air.DENSITY * omega**2) * laplace
        pressure = spsolve(matrix.tocsc(), moved.astype(complex))
        theirs += moved.T @ pressure * dx * dy
    scale = np.sqrt(np.outer(np.abs(np.diag(theirs)), np.abs(np.diag(theirs))))
    assert np.abs(ours - theirs).max() < 0.03 * scale.max()
    assert np.diag(ours).real == pytest.approx(np.diag(theirs).real, abs=0.03 * scale.max())

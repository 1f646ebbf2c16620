"""What a mat weighs, and the waves through its thickness: a rod between two masses."""

from dataclasses import replace

import designs
import numpy as np
import pytest
from scipy import sparse
from scipy.optimize import brentq
from scipy.sparse import linalg

from impact.base import air
from impact.design.parts import Layer, Mat, Material
from impact.leaf.plate import Plate, modes
from impact.link import mat as mats
from impact.link import porous
from impact.motion import stack as stacks
from impact.motion import striking
from impact.motion.assemble import assemble, floor_plates, permitted
from impact.motion.sizes import Size
from impact.motion.stack import Stack

BOARD = Material("gypsum fibreboard", 1150.0, 3.8e9, 3.8e9, 0.3, 0.02, 3.8e9 / 2.6)
WOOL = Mat("dense wool", 19e6, 0.1, 0.03, density=140.0)  # 4.2 kg/m2
RUBBER = Mat("rubber", 40e6, 0.1, 0.008, density=700.0)  # 5.6 kg/m2


def floating(*mats):
    """20 mm of board (23 kg/m2) on each mat, on plywood and joists."""
    base = designs.basement()
    layers = tuple(Layer(BOARD, 0.020, "floating", "across", mat) for mat in mats)
    return replace(base, floor=replace(base.floor, layers=(*base.floor.layers, *layers)))


def test_all_that_lies_on_the_joists_is_weighed():
    """Two layers of 23 kg/m2 on mats of 4.2 and 5.6 kg/m2: 55.8 kg/m2 more, by weight."""
    more = assemble(floating(WOOL, RUBBER), 30.0).floor_mass - assemble(floating(), 30.0).floor_mass
    assert more == pytest.approx(55.8, rel=1e-9)
    halves = [plate.mass for plate in floor_plates(floating(WOOL, RUBBER))]
    assert halves[0] == pytest.approx(23 + 2.8)  # the upper layer with half of the rubber
    assert halves[1] == pytest.approx(23 + 2.8 + 2.1)


def test_resonance_over_a_heavy_mat():
    """Board on wool on a still base: a rod of stiffness s'' and mass m'' under the mass M has
    x tan x = m''/M, x = omega sqrt(m''/s'') (any text on rods): 140.4 Hz, where a spring without
    mass has 144.7. Half of m'' on M is 0.5 m'' for the m''/3 of Rayleigh: within 3 %."""
    exact = brentq(lambda x: x * np.tan(x) - 4.2 / 23, 1e-3, 1.5) / np.sqrt(4.2 / 19e6) / 2 / np.pi
    top = floor_plates(floating(WOOL))[0]
    lumped = np.sqrt(19e6 / top.mass) / 2 / np.pi
    assert lumped == pytest.approx(exact, rel=0.03)
    assert abs(lumped - exact) < abs(np.sqrt(19e6 / 23) / 2 / np.pi - exact)


SLICES = 400  # of a mat; a chain's waves are within (x/SLICES)²/24 of a rod's
STIFF, ETA = (3000.0, 4e5), 0.03  # D of the leaf above and of that below [N m], loss factor
SIDES = 2.1, 1.7  # m


def two_plates(mat: Mat, above: float, below: float) -> Stack:
    """Supported plates of masses [kg/m2] with half of the mat on each, and the mat between."""
    more = mat.density * mat.thickness / 2
    leaves = tuple(
        modes(Plate(name, *SIDES, mass + more, d, d, 0.3 * d, 0.35 * d, ETA, "supported"), 3000.0)
        for name, mass, d in zip(("above", "below"), (above, below), STIFF, strict=True)
    )  # fmt: skip
    few = min(leaf.x.count for leaf in leaves), min(leaf.y.count for leaf in leaves)
    shapes = [
        leaf.project(np.eye(few[0], leaf.x.count), np.eye(few[1], leaf.y.count)) for leaf in leaves
    ]
    flat = tuple(each.reshape(few[0] * few[1], -1) for each in shapes)
    joint = mats.joint("mat", (0, 1), flat, mat, np.zeros(len(flat[0])))
    return Stack(leaves, (joint,), 0, 1)


def chain(mat: Mat, above: complex, below: complex, omega: float) -> complex:
    """Displacement of the lower face per force per area on the upper one [m3/N], of slices: springs
    and masses, of frame and of air where there is any, which drag on each other.

    above, below : what the leaves resist with, D k⁴ - m omega² [N/m3].
    """
    slices, thick = SLICES, mat.thickness / SLICES
    modulus = mat.stiffness_per_area * mat.thickness
    stiff, weigh = np.array([modulus * (1 + 1j * mat.loss_factor)]), np.array([[mat.density]])
    if mat.flow_resistivity:
        heavy, bulk = porous.fluid(omega, mat.flow_resistivity)
        drag = heavy - air.DENSITY
        stiff = np.array([modulus - air.PRESSURE + 1j * mat.loss_factor * modulus, bulk])
        weigh = np.array([[mat.density + drag, -drag], [-drag, air.DENSITY + drag]])
    each = len(stiff)
    system = np.zeros((slices + 1, each, slices + 1, each), complex)
    for i in range(slices):
        for k in range(each):
            pair = (i, i + 1)
            system[np.ix_(pair, [k], pair, [k])] += (
                stiff[k] / thick * np.array([[1, -1], [-1, 1]])[:, None, :, None]
            )
            for end in pair:
                system[end, k, end] -= omega**2 * weigh[k] * thick / 2
    size = each * (slices + 1)
    free = np.zeros((size, size - 2 * (each - 1)))  # at the faces air and frame are one
    free[:each, 0] = free[-each:, -1] = 1.0
    free[each:-each, 1:-1] = np.eye(size - 2 * each)
    joined = sparse.csc_array(free)
    whole = joined.T @ sparse.csc_array(system.reshape(size, size)) @ joined
    plates = np.zeros(whole.shape[0], complex)
    plates[[0, -1]] = above, below
    struck = np.eye(1, len(plates))[0]
    return linalg.spsolve(sparse.csc_array(whole + sparse.diags_array(plates)), struck)[-1]


@pytest.mark.parametrize("flow", [0.0, 60e3])
@pytest.mark.parametrize("f", [50.0, 250.0, 500.0, 800.0])
def test_two_plates_on_a_layer_of_springs_and_masses(f, flow):
    """Wool of 4.2 kg/m2, whose first wave of the frame is at 1060 Hz, between 12 and 60 kg/m2: each
    mode of the plates is the same pattern, D k⁴ - m omega² above and below the layer. Within 0.1 %,
    for slices. A spring with half of the mass on either face would be 2 dB off at 250 Hz, 10 at 800
    (masses alone)."""
    mat = replace(WOOL, flow_resistivity=flow)
    stack = two_plates(mat, 12.0, 60.0)
    omega = 2 * np.pi * f
    reduced = replace(
        stacks.reduce(stack, f, f, Size(50.0, 50.0)), loaded=False, room_above=False
    )  # fmt: skip
    found = stacks.answer(reduced, stacks.line(reduced, omega, np.eye(len(reduced.keep[0]))))
    moved = np.abs(np.diagonal(found.of(1)))[:20]
    more = 4.2 / 2
    expected = []
    for number in range(20):
        k4 = stack.leaves[0].omega[number] ** 2 * (12.0 + more) / STIFF[0]
        above, below = (
            d * (1 + 1j * ETA) * k4 - m * omega**2 for d, m in zip(STIFF, (12.0, 60.0), strict=True)
        )
        expected.append(abs(chain(mat, above, below, omega)) * np.sqrt((12 + more) * (60 + more)))
    assert moved == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("flow", [0.0, 60e3])
def test_power_in_is_power_out_over_a_mat_with_waves(flow):
    """What goes in is lost in leaves and links, the mat's faces too, or radiated."""
    built = assemble(floating(replace(WOOL, flow_resistivity=flow)), 400.0)
    for f in (100.0, 350.0):
        reduced = stacks.reduce(built.bare, f, f)
        struck = striking.over_area(reduced, *permitted(built.design))
        at = stacks.line(reduced, 2 * np.pi * f, struck)
        found = stacks.answer(reduced, at)
        lost = stacks.dissipated(reduced, at, found)
        assert found.power + lost == pytest.approx(found.mobility.real, rel=1e-9)

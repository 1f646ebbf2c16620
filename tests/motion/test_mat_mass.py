"""What a mat weighs: a rod between two masses."""

from dataclasses import replace

import designs
import numpy as np
import pytest
from scipy.optimize import brentq

from impact.design.parts import Layer, Mat, Material
from impact.motion.assemble import assemble, floor_plates

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

"""The dimple of a thin layer on a stiff mat, against the plate on an elastic foundation."""

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.base import bands
from impact.design.parts import Layer, Mat, Material
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.motion.sizes import Size

LAMINATE = Material("laminate", 880.0, 4.5e9, 4.5e9, 0.3, 0.03, 4.5e9 / 2.6)
FOAM = Mat("foam", 100e6, 0.1, 0.005)
CENTRES = [bands.CENTRES[0], bands.CENTRES[5]]  # 10 and 31.5 Hz


@pytest.fixture(scope="module")
def laid():
    """8 mm laminate on foam on 150 mm of concrete, in a small room."""
    slab = designs.on_slab()
    layer = Layer(LAMINATE, 0.008, "floating", "across", FOAM)
    floor = replace(slab.floor, layers=(layer,), length=3.0, width=2.5)
    return replace(slab, floor=floor, room=replace(slab.room, length=3.0, width=2.5))


def mobility(design, size):
    """Mean mobility of the walked face in CENTRES."""
    assembly = assemble(design, 60.0)
    return lowband.transfers(assembly, assembly.bare, CENTRES, (4, 4), size=size).mobility


def test_point_gives_way_as_a_plate_on_its_foundation(laid):
    """Compliance 1/(8 sqrt(D s'')) under a point of an endless plate (Timoshenko,
    Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959, ch. 8), with D = E h3/12(1 - nu2)
    and s'' of the foam. The slab below adds at most its own, 0.0116 a2/D = 0.8 % at its middle (the
    same book, ch. 5); places 0.5 m and more from the edges, eight times the dimple. The modes' own
    reach in wavenumbers is known to a few per cent: 5 %."""
    bending = 4.5e9 * 0.008**3 / 12 / (1 - 0.3**2)
    dimple = 1 / (8 * np.sqrt(bending * 100e6))
    found = mobility(laid, Size(1.25, 0.9))
    omega = 2 * np.pi * np.array(CENTRES)
    assert found.imag / omega == pytest.approx(dimple, rel=0.05)
    # s'' (1 + 0.1 i) and D (1 + 0.03 i): half of the sum of the loss factors
    assert found[0].real / found[0].imag == pytest.approx(0.065, rel=0.1)


def test_dimple_does_not_hang_on_the_size(laid):
    """What the kept modes lack is added, so that sizes agree; 0.05 dB. Modes at rest were taken as
    if nothing lay below them, and gave way by 3 dB less in each richer size."""
    lean, rich = (mobility(laid, size) for size in (Size(1.25, 0.9), Size(2.1, 1.75)))
    assert 20 * np.log10(np.abs(lean / rich)) == pytest.approx(0, abs=0.05)

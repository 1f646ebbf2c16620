"""Ribs below a slab: beams in its modes, a plate between them in averages."""

import math
from dataclasses import replace

import numpy as np
import pytest

from impact.base import bands
from impact.energy import leaves
from impact.leaf.build import between_ribs
from impact.leaf.plate import modes
from impact.motion.assemble import floor_plates

SLAB = """
[project]
name = "ribs"
[room]
length = "6 m"
width = "7.2 m"
height = "2.7 m"
[floor.slab]
{slab}
in_situ_loss = false
[cavity]
clear_depth = "100 mm"
[hangers]
class = "neoprene hanger"
[[ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""
TEES = ('kind = "ribbed"\nthickness = "400 mm"\nrib_width = "150 mm"\nrib_depth = "300 mm"\n'
        'rib_spacing = "1200 mm"')  # fmt: skip


def test_ribs_that_vanish_leave_the_plate_alone(make):
    """Ribs of 20 x 20 mm, one in 3 m, weigh and hold nothing: the modes of 100 mm of concrete, and
    its mobility where averages know a plate between ribs, 6 %: there they take a joist's strip of
    plate for still a few times over."""
    ribs = 'rib_width = "20 mm"\nrib_depth = "20 mm"\nrib_spacing = "3 m"'
    ribbed = make(SLAB.format(slab=f'kind = "ribbed"\nthickness = "120 mm"\n{ribs}'))
    plain = make(SLAB.format(slab='kind = "concrete"\nthickness = "100 mm"\nedges = "two sides"'))
    found = [modes(floor_plates(each)[-1], 100.0).omega[:12] for each in (ribbed, plain)]
    assert found[0] == pytest.approx(found[1], rel=0.02)
    for f in (500.0, 2000.0):
        one, other = (leaves.slab_leaf(each.floor, np.array([f])) for each in (ribbed, plain))
        assert one.mobility == pytest.approx(other.mobility, rel=0.06)
        assert one.mass == pytest.approx(other.mass, rel=0.01)


def test_tees_by_hand(make):
    """Two sides: a T of 1200 x 100 above 150 x 300 mm of one concrete, 30.5 GPa, as Timoshenko's
    beam: web 5/6 G 150 x 300. 3 %: the plate's own 1/(1 - nu²), and sides that curl."""
    design = make(SLAB.format(slab=TEES))
    young, shear = 30.5e9, 30.5e9 / 2.4
    parts = ((1.2, 0.1, 0.05), (0.15, 0.3, 0.25))
    area = sum(b * h for b, h, _ in parts)
    middle = sum(b * h * z for b, h, z in parts) / area
    bending = young * sum(b * h**3 / 12 + b * h * (z - middle) ** 2 for b, h, z in parts)
    give = math.pi**2 / 36 * bending / (5 / 6 * shear * 0.15 * 0.3)
    first = math.pi / 2 / 36 * math.sqrt(bending / (2300 * area * (1 + give)))
    found = modes(floor_plates(design)[-1], 60.0).omega[0] / 2 / math.pi
    assert found == pytest.approx(first, rel=0.03)


def test_averages_beside_the_modes_of_many_bays(make):
    """Mean of Re Y over places half a metre off the edges, at 6 % of loss: modes, and averages,
    which know one plate below and a plate on beams above. 1.5 dB in a band, 0.7 dB in the mean; one
    plate in all bands is more than 2 dB below the modes from 800 Hz up."""
    design = make(SLAB.format(slab=TEES))
    plate = floor_plates(design)[-1]
    assert plate.ribs_x is not None
    assert len(plate.ribs_x.positions) == 6
    leaf = modes(plate, 1500.0)
    drawn = np.random.default_rng(3).uniform(0.5, [plate.length - 0.5, plate.width - 0.5], (400, 2))
    squares, poles = np.mean(leaf.shapes(drawn) ** 2, axis=0), leaf.omega**2 * (1 + 0.06j)
    apart, smeared = [], []
    centres = [f for f in bands.CENTRES if 150 < f < 1300]
    plain = replace(design.floor, slab=replace(design.floor.slab, ribs=None))
    for f in centres:
        low, high = (2 * math.pi * edge for edge in bands.edges(f))
        lines = np.linspace(low, high, 25)
        by_modes = np.mean([np.sum(squares * (1j * w / (poles - w**2)).real) for w in lines])
        for floor, found in ((design.floor, apart), (plain, smeared)):
            known = leaves.slab_leaf(floor, np.array([f])).mobility
            found.append(10 * math.log10(known / by_modes))
    assert max(map(abs, apart)) < 1.5
    assert abs(np.mean(apart)) < 0.7
    assert max(smeared[-3:]) < -2


def test_what_lies_between_ribs(make):
    """100 mm of concrete at 2300 kg/m3, D = 30.5e9 0.1³/12/0.96, isotropic, 5/6 G h in shear."""
    slab = make(SLAB.format(slab=TEES)).floor.slab
    made = between_ribs(slab, [])
    bending = 30.5e9 * 0.1**3 / 12 / 0.96
    assert made.mass == pytest.approx(230)
    assert (made.bending_x, made.bending_y) == pytest.approx((bending, bending))
    assert made.twisting == pytest.approx(0.4 * bending)
    assert made.stretch_x == pytest.approx(30.5e9 * 0.1)
    assert made.shear == pytest.approx((5 / 6 * 30.5e9 / 2.4 * 0.1,) * 2)
    with pytest.raises(ValueError, match="without ribs"):
        between_ribs(replace(slab, ribs=None), [])


def test_a_slab_as_measured_is_one_plate(make):
    """Whose stiffness or mass was measured the file does not say: no ribs then."""
    assert make(SLAB.format(slab=f'{TEES}\nmass_per_area = "320 kg/m2"')).floor.slab.ribs is None
    assert make(SLAB.format(slab=TEES)).floor.slab.ribs is not None

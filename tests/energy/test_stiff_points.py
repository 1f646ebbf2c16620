"""Stiff points under a slab: each moves what lies about it, not all of the boards."""

from dataclasses import replace

import designs
import numpy as np
import pytest

import impact
from impact.base import bands
from impact.design.placing import place
from impact.energy import leaves, paths, transfer
from impact.motion import lowband
from impact.motion.assemble import assemble
from tests.texts import SLAB


def hung(stiffness):
    """The ceiling below a slab on points of a `stiffness` [N/m] without channels, and their
    number."""
    design = designs.on_slab()
    assert design.hangers is not None
    points = replace(design.hangers, dynamic_stiffness=stiffness, loss_factor=0.1, channel=None)
    design = replace(design, hangers=points)
    return design, len(place(design).points)


@pytest.mark.parametrize("stiffness", [1e6, 1e7])
def test_points_in_a_grid_by_a_sum_over_their_lattice(stiffness):
    """A wave q in endless boards on points in a square grid: what these push in waves q + G of the
    grid's lattice is in series with each, sum over G of i omega/(D |q + G|⁴ - m omega²) per point,
    means over all q. Half waves of the boards are shorter than the points are apart: 15 % for what
    the mean wave itself is of the boards' mobility."""
    design, count = hung(stiffness)
    area = design.room.length * design.room.width
    pitch, f = np.sqrt(area / count), 800.0
    leaf, omega = leaves.ceiling_leaf(design, np.array([f])), 2 * np.pi * f
    bx, by, both = leaf.stiffness
    assert leaf.wavenumber(np.array([omega]))[0] * pitch > 2 * np.pi
    order = np.arange(-40, 41) * 2 * np.pi / pitch
    gx, gy = (g.ravel() for g in np.meshgrid(order, order))
    others = (gx != 0) | (gy != 0)
    steps = ((np.arange(25) + 0.5) / 25 - 0.5) * 2 * np.pi / pitch
    local = []
    for qx in steps:
        for qy in steps:
            x2, y2 = (gx[others] + qx) ** 2, (gy[others] + qy) ** 2
            bent = (bx * x2**2 + 2 * both * x2 * y2 + by * y2**2) * (1 + 1j * leaf.loss[0])
            local.append(np.sum(1j * omega / (bent - leaf.mass * omega**2)) / pitch**2)
    each = stiffness * (1 + 0.1j)
    expected = count / area * each / (1 + each * np.mean(local) / (1j * omega))
    found = paths._beside(design, leaf, np.array([omega]))[0]
    assert abs(found - expected) < 0.15 * abs(expected)


def test_soft_points_are_a_spring_all_over():
    """k n, by hand, where the boards' mobility is nothing beside omega/k."""
    design, count = hung(100.0)
    omega = 2 * np.pi * np.array([50.0, 200.0, 800.0])
    leaf = leaves.ceiling_leaf(design, omega / 2 / np.pi)
    even = 100.0 * (1 + 0.1j) * count / (design.room.length * design.room.width)
    assert paths._beside(design, leaf, omega) == pytest.approx(np.full(3, even), rel=0.001)


def test_boards_do_not_ring_as_one_on_stiff_points(tmp_path):
    """10 kN/mm under 150 mm of concrete, by averages and by modes, 5 dB in the mean of four bands:
    as one spring all over, on which all of the boards ring at about 200 Hz, it was 12 dB. Modes
    agree with finite elements (`validation/notes/slabs_in_the_balance.md`)."""
    text = (SLAB + "count = 2\n").format(slab='kind = "concrete"\nthickness = "150 mm"')
    for old, new in (('"5 m"', '"3.1 m"'), ('"4 m"', '"2.7 m"'), ("[hangers]", (
            '[cavity.fill]\nmaterial = "glass wool"\nthickness = "100 mm"\n[hangers]\n'
            'dynamic_stiffness = "10000 N/mm"'))):  # fmt: skip
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "design.toml"
    path.write_text(text)
    design = impact.read(path)
    centres = [bands.CENTRES[bands.index(one)] for one in (160.0, 200.0, 250.0, 315.0)]
    stack = assemble(design, bands.edges(centres[-1])[1])
    modes = lowband.transfers(stack, stack.whole, centres, (6, 6)).power["design"]
    energy = transfer(design, np.array(centres), exact=True).power_per_force
    apart = 10 * np.log10(energy / modes)
    assert abs(np.mean(apart)) < 5

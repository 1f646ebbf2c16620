"""Loose fill between the joists among the coupled modes: limits by hand, laws, and the bays."""

from dataclasses import replace

import numpy as np
import pytest
from designs import FIVE_EIGHTHS, basement, sanded

from impact.base import bands
from impact.design.parts import OldCeiling
from impact.energy import transfer
from impact.motion import fundamental, lowband, striking
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, carrier, permitted

HIGH = 120.0


def bare(design):
    return assemble(design, HIGH).bare


def test_it_goes_with_the_joists_where_they_move_slowly():
    """The floor's lowest mode, far below the boards' own, carries fill and boards as dead mass: f
    falls by sqrt(m/(m + m_fill)) (any text on vibration). 4 %: strips are chords of the floor's
    arch, (2 + cos ks)/3 of its mass, 1 % of f, and half of the outermost rest on the walls."""
    light, heavy = bare(basement()), bare(sanded(basement()))
    omega = 2 * np.pi * 25
    found = [fundamental.all_modes(each, 0, omega, HIGH, HIGH) for each in (light, heavy)]
    masses = [sum(leaf.plate.whole_mass for leaf in each.leaves) for each in (light, heavy)]
    assert masses[1] - masses[0] == pytest.approx(60 + 460 * 0.022 * (1 - 0.038 / 0.4064))
    assert found[1] / found[0] == pytest.approx(np.sqrt(masses[0] / masses[1]), rel=0.04)


def test_fill_of_no_weight_and_air_of_no_stiffness_leave_the_floor_alone():
    """1 g/m2 on boards of next to no weight, half a metre below the deck: the floor's lowest mode
    stays. 1e-3: what the air between still holds."""
    design = sanded(basement(), 1e-3)
    infill = design.floor.infill
    boards = replace(infill.boards, material=replace(infill.boards.material, density=1e-3))
    design = replace(design, floor=replace(
        design.floor, infill=replace(infill, boards=boards, below_deck=0.5)))  # fmt: skip
    omega = 2 * np.pi * 25
    found = [fundamental.all_modes(each, 0, omega, HIGH, HIGH)
             for each in (bare(basement()), bare(design))]  # fmt: skip
    assert found[1] == pytest.approx(found[0], rel=1e-3)


def test_the_air_above_a_fill_is_the_spring_of_the_bays():
    """Deck and fill as wholes against each other: the air between is phi K/d per area, phi the
    share of the plan between the joists, K = gamma p0 (any text on vibration). Put together from
    all motions of the link; 5 %: the fill's functions, which rest on the walls, cannot be 1
    there."""
    parts = assemble(sanded(basement()), HIGH)
    air = next(joint for joint in parts.bare.joints if joint.name == "fill air")
    fill, floor = parts.bare.leaves[1], parts.design.floor
    whole = (
        fill.project(fill.x.cosines(1, 0.0, fill.x.length), fill.y.cosines(1, 0.0, fill.y.length))[
            0, 0
        ]
        * fill.plate.mass
        * np.sqrt(fill.x.length * fill.y.length)
    )  # of a motion of 1 m
    moved = air.shapes[1] @ whole
    spring = np.sum(moved**2 / air.compliance(2 * np.pi * 20).real)
    reached = (whole**2).sum() / fill.plate.mass  # m2 that so move
    share = 1 - floor.joists.width / floor.joists.spacing
    assert reached == pytest.approx(fill.x.length * fill.y.length, rel=0.15)
    expected = share * 1.4 * 101325 / floor.infill.below_deck * reached
    assert spring == pytest.approx(expected, rel=0.05)


def test_no_more_comes_out_than_goes_in():
    """Power radiated is part of the power put in, Re Y, with fill and hung ceiling, at any place
    (conservation of energy)."""
    for stack in (bare(sanded(basement())), assemble(sanded(basement()), HIGH).whole):
        reduced = stacks.reduce(stack, 90.0, 112.0)
        places = np.array([[0.7, 0.9], [2.1, 1.83], [3.3, 2.9]])
        struck = striking.at_points(reduced, places)
        for frequency in (92.0, 100.0, 110.0):
            found = stacks.answer(reduced, stacks.line(reduced, 2 * np.pi * frequency, struck))
            assert np.all(found.power > 0)
            assert np.all(found.power < found.mobility.real)


def test_hangers_hang_from_the_floor_not_from_the_fill():
    parts = assemble(sanded(basement()), HIGH)
    names = [leaf.name for leaf in parts.whole.leaves]
    assert names == ["floor", "loose fill", "ceiling"]
    assert carrier(parts.whole.leaves) == 0
    joints = {joint.name: set(joint.shapes) for joint in parts.whole.joints}
    assert joints["hangers"] == {0, 2}
    assert joints["air"] == {1, 2}


def test_on_an_old_ceiling_it_is_its_weight():
    old = OldCeiling((FIVE_EIGHTHS,), "nailed", 0.2, 2e7, None)
    design = replace(sanded(basement()), old_ceiling=old)
    floor = replace(design.floor, infill=replace(design.floor.infill, boards=None))
    leaves = bare(replace(design, floor=floor)).leaves
    assert [leaf.name for leaf in leaves] == ["floor", "old ceiling"]
    assert leaves[1].plate.mass == pytest.approx(690 * 0.0159 + 60)
    assert [leaf.name for leaf in bare(design).leaves][1] == "loose fill"


def test_modes_and_bays_agree_on_what_comes_through():
    """Two ways that share the springs and little else: modes of a room and the endless row of bays,
    200 Hz, without a ceiling. 2.5 dB: few modes of a small room about the mean of an endless one
    (1.2 dB is the scatter of single rooms elsewhere)."""
    design = sanded(basement(), loss=0.05)
    centre = bands.CENTRES[bands.index(200.0)]
    parts = assemble(design, bands.edges(centre)[1])
    reduced = stacks.reduce(parts.bare, *bands.edges(centre))
    struck = striking.over_area(reduced, *permitted(design))
    power = 0.0
    for frequency, weight in zip(*lowband.frequencies(centre, 8), strict=True):
        line = stacks.line(reduced, 2 * np.pi * frequency, struck)
        power += weight * stacks.answer(reduced, line).power.sum()
    energy = transfer(design, np.array([centre]), ceiling=False, exact=True).power_per_force[0]
    assert abs(10 * np.log10(energy / power)) < 2.5

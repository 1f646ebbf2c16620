"""Walls: junction values and lengths of ISO 12354-1 Annex E (from memory, check the standard)."""

from dataclasses import replace

import numpy as np
import pytest
from designs import basement, on_slab

from impact.base import bands
from impact.base.bands import CENTRES, NOMINAL
from impact.design.parts import Flank
from impact.energy import flanking, transfer
from impact.heard import standard
from impact.rating import iso

F = np.array([125.0, 500.0, 2000.0])


@pytest.mark.parametrize(
    ("junction", "floor", "wall", "expected"),
    [
        ("T", 300, 300, [5.7, 5.7, 5.7]),
        ("X", 300, 300, [8.7, 8.7, 8.7]),
        ("X", 400, 200, [8.7 + 5.7 * 0.0906] * 3),  # lg(2)^2 = 0.0906
        ("resilient", 300, 300, [5.7, 5.7 + 6.02, 5.7 + 12.04]),  # + 10 lg(f/125)
        ("T", 300, 30, [20 - 1.987, 20.0, 20 + 1.987]),  # 10 + 10 |M| + 3.3 lg(f/500)
        ("T", 40, 25, [15 - 1.987, 15.0, 15 + 1.987]),  # 3.3 lg(f/500), timber panels
        ("X", 40, 25, [18 - 1.987, 18.0, 18 + 1.987]),
    ],
)
def test_vibration_reduction_by_hand(junction, floor, wall, expected):
    got = flanking.vibration_reduction(junction, floor, wall, F)
    assert got == pytest.approx(expected, abs=0.01)


def test_unknown_junction_is_refused():
    with pytest.raises(ValueError, match="resilient"):
        flanking.vibration_reduction("Y", 300, 300, F)


def test_absorption_length():
    """Light: S over 1 m. Heavy, S 12 m2, Ts 0.1 s at 1 kHz: 2.2 9.8696 12/(340 0.1) = 7.663 m."""
    assert flanking.absorption_length(12, 30, F, 0 * F) == pytest.approx([12, 12, 12])
    f = np.array([1000.0])
    loss = 2.2 / (f * 0.1)
    assert flanking.absorption_length(12, 300, f, loss) == pytest.approx([7.663], rel=1e-3)


def test_a_masonry_wall_is_a_separate_path_under_a_slab():
    """With a good ceiling the wall is what is left; it does not depend on the ceiling by more than
    what the ceiling takes from the slab."""
    wall = Flank("masonry", 350.0, 10.0, 4.2, "T", None)
    design = replace(on_slab(), flanks=(wall,))
    with_ceiling = transfer(design, F).power_per_force_flanking["masonry"]
    without = transfer(design, F, ceiling=False).power_per_force_flanking["masonry"]
    assert with_ceiling == pytest.approx(without, rel=0.1)
    assert with_ceiling[1] > transfer(design, F).power_per_force[1]


@pytest.mark.parametrize("mass", [200.0, 300.0, 450.0])
def test_masonry_walls_raise_a_slab_as_the_simplified_method_says(mass):
    """K = 0.6 + 5.5 lg(m_slab/m_walls) dB on Ln,w (simplified method of ISO 12354-2, from memory,
    check the standard; its own statement of spread is 2 dB, so 1.5 dB is near)."""
    room = on_slab().room
    sides = (room.length, room.length, room.width, room.width)
    walls = tuple(
        Flank(str(n), mass, side * room.height, side, "T", None) for n, side in enumerate(sides)
    )
    design = replace(on_slab(), flanks=walls)
    f = np.array(CENTRES)
    answer = transfer(design, f, ceiling=False)
    force = standard.FORCE_DENSITY * bands.WIDTH * f
    alone = 10 * np.log10(answer.power_per_force * force)
    beside = sum(answer.power_per_force_flanking.values())
    both = 10 * np.log10((answer.power_per_force + beside) * force)
    shift = np.ceil(90 - alone.max())  # ratings want levels, any height
    found = iso.ln_w_tenths(NOMINAL, both + shift) - iso.ln_w_tenths(NOMINAL, alone + shift)
    assert found == pytest.approx(0.6 + 5.5 * np.log10(345 / mass), abs=1.5)


def test_walls_that_nobody_described_follow_the_floor():
    """Stud walls under joists, masonry under concrete; all four sides; common practice."""
    for design, mass in ((basement(), 25.0), (on_slab(), 200.0)):
        walls = flanking.walls(design)
        assert [wall.mass_per_area for wall in walls] == [mass] * 4
        around = 2 * (design.room.length + design.room.width) * design.room.height
        assert sum(wall.area for wall in walls) == pytest.approx(around)
        assert set(transfer(design, F).power_per_force_flanking) == {w.name for w in walls}


def test_a_bead_needs_a_wall_to_be_a_path():
    """No wall described, no motion known: no path invented."""
    assert np.all(transfer(basement(), F).paths["edge"] == 0)
    walled = replace(basement(), flanks=(Flank("stud wall", 25.0, 10.0, 4.0, "T", None),))
    answer = transfer(walled, F)
    assert np.all(answer.paths["edge"] > 0)
    assert set(answer.power_per_force_flanking) == {"stud wall"}

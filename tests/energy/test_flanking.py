"""Walls: junction values and lengths of ISO 12354-1 Annex E (from memory, check the standard)."""

from dataclasses import replace

import numpy as np
import pytest
from designs import basement, on_slab

from impact.design.parts import Flank
from impact.energy import flanking, transfer

F = np.array([125.0, 500.0, 2000.0])


@pytest.mark.parametrize(
    ("junction", "floor", "wall", "expected"),
    [
        ("T", 300, 300, [5.7, 5.7, 5.7]),
        ("X", 300, 300, [8.7, 8.7, 8.7]),
        ("X", 400, 200, [8.7 + 5.7 * 0.0906] * 3),  # lg(2)^2 = 0.0906
        ("resilient", 300, 300, [5.7, 5.7 + 6.02, 5.7 + 12.04]),  # + 10 lg(f/125)
        ("T", 300, 30, [20 - 1.987, 20.0, 20 + 1.987]),  # 10 + 10 |M| + 3.3 lg(f/500)
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


def test_a_bead_needs_a_wall_to_be_a_path():
    """No wall described, no motion known: no path invented."""
    assert np.all(transfer(basement(), F).paths["edge"] == 0)
    walled = replace(basement(), flanks=(Flank("stud wall", 25.0, 10.0, 4.0, "T", None),))
    answer = transfer(walled, F)
    assert np.all(answer.paths["edge"] > 0)
    assert set(answer.power_per_force_flanking) == {"stud wall"}

"""Cavities of a design against volumes reckoned by hand."""

from dataclasses import replace

import pytest
from designs import GYPSUM, basement, on_slab

from impact.design.parts import Layer, OldCeiling
from impact.link import gaps

OLD = OldCeiling((Layer(GYPSUM, 0.0127, "nailed", "across"),), "nailed", 0.2, 2e7, None)


def test_the_air_above_a_hung_ceiling_is_what_the_joists_leave():
    """Volume over area of plain rectangles, clear + d (1 - b/s); exact."""
    design = basement()
    joists, gap = design.floor.joists, gaps.lowest_gap(design)
    left = 1 - joists.width / joists.spacing
    assert joists.open_share == pytest.approx(left)
    assert gap.depth == pytest.approx(design.cavity.clear_depth + joists.depth * left)
    assert not gap.closed


def test_an_old_ceiling_parts_the_air_in_two():
    """Bays closed by the boards above it, the clear depth alone below it; together all the air."""
    bare, design = basement(), replace(basement(), old_ceiling=OLD)
    above, below = gaps.old_gap(design), gaps.lowest_gap(design)
    assert above.closed
    assert below.depth == design.cavity.clear_depth
    assert above.depth + below.depth == pytest.approx(gaps.lowest_gap(bare).depth)


def test_under_a_slab_there_are_no_bays():
    """All of the depth is clear; and bays above an old ceiling need one."""
    design = on_slab()
    gap = gaps.lowest_gap(design)
    assert (gap.depth, gap.open_share) == (design.cavity.clear_depth, 1)
    with pytest.raises(ValueError, match="no old ceiling"):
        gaps.old_gap(design)

"""What is told of an open gap round a ceiling, against closed forms worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.advice import open_edge
from impact.base import bands
from impact.link.gaps import open_length

PATHS = {"cavity": np.full(28, 3.0), "gap": np.r_[np.full(20, 1.0), np.full(8, 9.0)]}


def edged(kind: str, walls: tuple[str, ...] = (), gap: float = 0.006):
    """The basement with another edge."""
    base = designs.basement()
    edge = replace(base.ceiling.perimeter, kind=kind, gap=gap, touching_walls=walls)
    return replace(base, ceiling=replace(base.ceiling, perimeter=edge))


def test_only_an_edge_left_open_is_warned_of():
    """Of 15.6 m round the room the walls of 3.6 m are 7.2 m. The gap's 1 of 4 at 500 Hz is 25 %,
    its 9 of 12 at 2 kHz 75 %."""
    assert open_edge.warnings(edged("sealed"), PATHS) == []
    assert open_edge.warnings(edged("free", gap=0.0), PATHS) == []
    every = ("west", "east", "south", "north")
    assert open_edge.warnings(edged("touching", every), PATHS) == []
    assert open_length(edged("free")) == pytest.approx(15.6)
    assert open_length(edged("touching", ("south", "north"))) == pytest.approx(7.2)
    assert bands.index(500.0) < 20 < bands.index(2000.0)
    (told,) = open_edge.warnings(edged("free", gap=0.00635), PATHS)
    assert (told.code, told.severity) == ("open_edge", "high")
    assert "1/4 in" in told.message
    assert "25 % at 500 Hz, 75 % at 2000 Hz" in told.message
    assert "soft sealant" in told.message


@pytest.mark.parametrize(
    ("edge", "gap", "told", "remark"),
    [
        ('kind = "touching"\ntouching_walls = ["west"]\ngap = "8 mm"', 0.008, True, None),
        ('kind = "touching"\ntouching_walls = ["west"]', 0.00635, True, None),  # 1/4 in
        ('kind = "touching"\ngap = "8 mm"', 0.0, False, "perimeter.gap: not used"),
        ('kind = "sealed"\ntouching_walls = ["west"]', 0.00635, False, "touching_walls: not used"),
        ('kind = "free"\ntouching_stiffness = "10 MN/m2"', 0.00635, True, "stiffness: not used"),
    ],
)
def test_a_file_whose_ceiling_touches_some_walls_keeps_the_gap_at_the_others(
    make, edge, gap, told, remark
):
    """The gap was dropped with the word "touching", and with it the warning of open walls; keys of
    another kind of edge were passed over without a word."""
    design = make(more=f"[ceiling.perimeter]\n{edge}\n")
    assert design.ceiling.perimeter.gap == pytest.approx(gap)
    assert bool(open_edge.warnings(design, PATHS)) is told
    found = [one for one in design.warnings if "not used" in one]
    assert len(found) == (remark is not None)
    assert remark is None or remark in found[0]


def test_below_the_resonance_of_gap_and_cavity_the_air_is_no_spring():
    """By hand, an empty cavity of 0.2 m under a slab, 142 kPa/0.2 m = 709 kN/m3; a gap of 6 mm in
    two boards of 15.9 mm, 5.3; k = 0.7323 1/m and 3.528/3.6 m together 1.224 1/m in the room, 2/pi
    (ln(4/0.00734) - 0.5772) = 3.643; 2/pi ln(0.4/0.01885) = 1.945 in the cavity: L = 10.89. 15.6 m
    of it round 15.12 m2: sqrt(709.3e3 x 1.0317/(1.204 x 10.89))/2 pi = 37.6 Hz."""
    slab = designs.on_slab()
    ceiling = edged("free").ceiling
    empty = replace(slab, ceiling=ceiling, cavity=replace(slab.cavity, clear_depth=0.2, fill=None))
    assert open_edge.vented_below(empty) == pytest.approx(37.6, rel=0.005)


def test_a_fill_on_the_boards_chokes_the_gap():
    """20 cm of fill in 20 cm of cavity: no frequency is named."""
    slab = designs.on_slab()
    ceiling = edged("free").ceiling
    fill = replace(designs.basement().cavity.fill, thickness=0.2)
    full = replace(slab, ceiling=ceiling, cavity=replace(slab.cavity, clear_depth=0.2, fill=fill))
    (told,) = open_edge.warnings(full, PATHS)
    assert "chokes" in told.message

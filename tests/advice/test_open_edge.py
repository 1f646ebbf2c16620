"""Sound through an open gap round a ceiling, against closed forms worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.advice import open_edge


def edged(kind: str, walls: tuple[str, ...] = (), gap: float = 0.006):
    """The basement with another edge."""
    base = designs.basement()
    edge = replace(base.ceiling.perimeter, kind=kind, gap=gap, touching_walls=walls)
    return replace(base, ceiling=replace(base.ceiling, perimeter=edge))


def test_a_narrow_gap_is_a_plug_of_air_that_sounds_as_a_line():
    """By hand, 2 mm wide in boards 25 mm deep at 50 Hz: k = 0.9154 1/m, ends of 2 x 2 mm
    (ln(4/(k w)) - 0.577)/pi = 9.06 mm each, so a plug of L = 43.1 mm. It moves with
    p/(i omega rho L) and sounds as a line source in a corner of two planes, W' = rho omega U² per
    length (Morse and Ingard, Theoretical Acoustics, ch. 7: rho omega U²/4 in the open, four times
    that in a quarter), p² = 16 rho c times what falls on a unit of area: 16 w/(k L²) = 18.8."""
    assert open_edge.end_correction(50.0, 0.002) == pytest.approx(9.06e-3, rel=1e-3)
    assert open_edge.transmitted(50.0, 0.002, 0.025) == pytest.approx(18.8, rel=0.01)


@pytest.mark.parametrize(("width", "depth"), [(0.006, 0.025), (0.012, 0.025), (0.006, 0.1)])
def test_no_gap_takes_more_than_its_radiation_lets_it(width, depth):
    """With its inertia tuned away a gap takes p²/(4 Re Zr), tau = 4/(k w), and never more (any
    textbook of acoustics: a matched load); these are tuned between 20 Hz and 5 kHz."""
    f = np.geomspace(20, 5000, 400)
    most = open_edge.transmitted(f, width, depth) * 2 * np.pi * f / 343.2 * width / 4
    assert most.max() == pytest.approx(1.0, abs=0.003)


def test_only_an_edge_left_open_is_warned_of():
    """Of 15.6 m round 15.12 m2 6 mm are 0.62 %; without the walls of 4.2 m 0.29 %."""
    assert open_edge.warnings(edged("sealed")) == []
    assert open_edge.warnings(edged("free", gap=0.0)) == []
    assert open_edge.warnings(edged("touching", ("west", "east", "south", "north"))) == []
    assert open_edge.open_share(edged("free")) == pytest.approx(6.190e-3, rel=1e-3)
    assert open_edge.open_share(edged("touching", ("south", "north"))) == pytest.approx(
        2.857e-3, rel=1e-3
    )
    (told,) = open_edge.warnings(edged("free", gap=0.00635))
    assert (told.code, told.severity) == ("open_edge", "high")
    assert "1/4 in" in told.message
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
    assert bool(open_edge.warnings(design)) is told
    found = [one for one in design.warnings if "not used" in one]
    assert len(found) == (remark is not None)
    assert remark is None or remark in found[0]


def test_below_the_resonance_of_gap_and_cavity_the_air_is_no_spring():
    """By hand, an empty cavity of 0.2 m under a slab, 142 kPa/0.2 m = 709 kN/m3; a gap of 6 mm with
    ends of 2 x 6 mm (ln(4/0.00439) - 0.577)/pi = 23.8 mm in two boards of 15.9 mm, a plug of 79.4
    mm over 0.619 % of the plan: sqrt(709e3 x 0.00619/(1.204 x 0.0794))/2 pi = 34.1 Hz."""
    slab = designs.on_slab()
    ceiling = edged("free").ceiling
    empty = replace(slab, ceiling=ceiling, cavity=replace(slab.cavity, clear_depth=0.2, fill=None))
    assert open_edge.vented_below(empty) == pytest.approx(34.1, rel=0.005)

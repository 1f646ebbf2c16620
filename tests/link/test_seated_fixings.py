"""Screws and nails straight into joists: their own stiffness and that of the joist's face."""

from dataclasses import replace

import pytest
from designs import basement, hangers, joists

from impact.design.parts import Design
from impact.link import springs
from impact.spread.variants import variants


def screwed(kind: str) -> Design:
    """Boards on joists of a `kind`: screws of 5 MN/m, loss 0.05, every 178 mm."""
    design = basement()
    screws = replace(hangers("direct"), dynamic_stiffness=5e6, loss_factor=0.05,
                     channel_spacing=0.178)  # fmt: skip
    steel = {"width": 0.05, "depth": 0.203, "shear_stiffness": 80e9 * 0.203 * 0.0016}
    own = replace(joists(), kind=kind, **(steel if kind == "steel" else {}))
    return replace(design, hangers=screws, floor=replace(design.floor, joists=own))


def test_a_steel_flange_carries_the_screws_softly():
    """By hand: flange and web 2.11 MN/m2 (tests/energy/test_mobility.py) over 178 mm are 0.376
    MN/m; with 5 MN/m in series 0.350 MN/m. The loss is the screws' share of the give, 0.070 of
    0.05. Tolerance: the hand figure's three digits."""
    found = springs.fixing(screwed("steel"))
    assert found.real == pytest.approx(0.350e6, rel=0.005)
    assert found.imag / found.real == pytest.approx(0.070 * 0.05, rel=0.02)


def test_a_timber_face_hardly_gives():
    """103.5 MN/m2 (same tests) over 178 mm are 18.4 MN/m; with 5 MN/m in series 3.93 MN/m."""
    assert springs.fixing(screwed("solid")).real == pytest.approx(3.93e6, rel=0.005)


def test_hangers_keep_their_own():
    """Their stiffness is that of a whole hanger as tested, with what it is fixed to left out."""
    design = basement()
    assert design.hangers is not None
    assert springs.fixing(design).real == design.hangers.dynamic_stiffness
    assert springs.fixing(replace(design, hangers=None)) == 0


def test_the_small_system_of_the_band_has_the_same_points():
    """Floors of the 90 % band that are not moved have the design's own fixing: 0.350 MN/m on steel
    by hand, see above."""
    design = screwed("steel")
    own = variants(design, [design], [None], 1).points[0]
    assert (1 / own).real == pytest.approx(0.350e6, rel=0.005)

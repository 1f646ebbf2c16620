"""A ceiling on joists of its own at rest: beams by hand, heights, bill and plan."""

from __future__ import annotations

from dataclasses import replace

import designs
import pytest
from texts import FEWEST

from impact import gravity
from impact.design.parts import OldCeiling
from impact.report import installation
from impact.report.drawing_shapes import plan_strokes, section_bands
from impact.study.layout import lay_out

HANGERS = '[hangers]\nclass = "rubber-in-shear clip"\n'
OWN = """
[cavity]
clear_depth = "{clear}"
[independent_joists]
width = "60 mm"
depth = "160 mm"
spacing = "500 mm"
material = "softwood C24"
density = "420 kg/m3"
youngs_modulus = "11 GPa"
shear_modulus = "690 MPa"
"""


@pytest.fixture
def own(make):
    def _make(clear="250 mm", more=""):
        return make(FEWEST, (HANGERS, OWN.format(clear=clear)), more=more)

    return _make


def test_each_is_a_beam_by_hand(own):
    """Joists span 4 m of a room 5 m long. The outermost stand 0.05 m from the walls at the sides,
    20 mm clear of them; 4.9 m between at no more than 0.5 m are 10 gaps of 0.49 m and 11 joists.
    The worst bear 0.49 m of ceiling. w = g (m'' 0.49 + 420 0.06 0.16), EI = 11e9 0.06 0.16^3/12;
    5 w L^4/(384 EI) + w L^2/(8 GA 5/6), w L/2, w L^2/8 (any table of beams)."""
    design = own()
    held = gravity.loads(design, coupled=False)
    board = design.ceiling.layers[0].mass_per_area
    load = 9.80665 * (board * 0.49 + 420 * 0.06 * 0.16)
    stiffness, area = 11e9 * 0.06 * 0.16**3 / 12, 690e6 * 0.06 * 0.16 * 5 / 6
    sunk = 5 * load * 4**4 / 384 / stiffness + load * 4**2 / 8 / area
    found = held.own
    assert found.count == 11
    assert found.line_load == pytest.approx(load, rel=1e-9)
    assert found.deflection == pytest.approx(sunk, rel=1e-6)
    assert found.ratio == pytest.approx(4 / sunk, rel=1e-6)
    assert (found.reaction, found.moment) == pytest.approx((load * 2, load * 2), rel=1e-9)
    # EN 1995-1-1 Table 3.2: k_def 0.6 of solid timber in service class 1 (from memory)
    assert held.headroom.ceiling == pytest.approx(2.5 - 0.25 - 0.0125 - 1.6 * sunk, abs=1e-6)
    assert held.above.added == 0
    said = " ".join(held.lines_of_text())
    assert "11 joists of its own at 490 mm" in said
    assert f"L/{4 / sunk:.0f}, with creep (factor 1.6) {1600 * sunk:.1f} mm" in said


def test_they_are_drawn_counted_and_told(own):
    layout = lay_out(own())
    lines = [one for one in plan_strokes(layout) if one.layer == "own joists"]
    assert len(lines) == 11
    assert [band.text for band in section_bands(layout.design) if band.kind == "own"] == [
        "the ceiling's own joists 60 mm x 160 mm at 490 mm"
    ]
    (item,) = [item for item in layout.items if item.name == "own joist"]
    assert item.count == pytest.approx(44.0)  # 11 of 4 m
    (screws,) = [item for item in layout.items if item.name.startswith("screw")]
    assert screws.net == 11 * 15  # every 12 in of 4 m and one more
    sheet = " ".join(installation.sheet(layout).split())
    assert "Set 11 joists 60 mm x 160 mm for the ceiling alone" in sheet
    assert "the first at 50 mm from the west wall" in sheet


@pytest.mark.parametrize(("clear", "code"), [("250 mm", None), ("100 mm", "own_joists_between")])
def test_joists_that_reach_the_floors_are_told(own, clear, code):
    codes = [one.code for one in gravity.loads(own(clear), coupled=False).findings]
    assert [one for one in codes if one.startswith("own_joists")] == ([code] if code else [])


@pytest.mark.parametrize("above", ["slab", "old ceiling"])
def test_joists_under_a_flat_face_have_no_room_between(own, above):
    """160 mm deep in 100 mm: there is nothing to stand between under a slab or an old ceiling."""
    design = own("100 mm")
    if above == "slab":
        design = replace(design, floor=designs.on_slab().floor)
    else:
        old = OldCeiling(design.ceiling.layers, "nailed", 0.4, 2e7, None)
        design = replace(design, old_ceiling=old)
    checked = gravity.loads(design, coupled=False)
    assert "own_joists_do_not_fit" in [one.code for one in checked.findings]


def test_two_joists_bear_half_each(own):
    """A room of 0.5 m with joists at 0.5 m has two, 0.05 m from the walls: each bears 0.25 m."""
    design = own()
    narrow = replace(design, room=replace(design.room, width=0.5))
    board = design.ceiling.layers[0].mass_per_area
    found = gravity.loads(narrow, coupled=False).own
    assert (found.count, found.spacing) == (2, pytest.approx(0.4))
    assert found.line_load == pytest.approx(9.80665 * (board * 0.25 + 420 * 0.06 * 0.16), rel=1e-9)

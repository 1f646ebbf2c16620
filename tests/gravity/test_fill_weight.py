"""Who bears the weight of the fill: by default whoever has room for it. Weights by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from texts import FEWEST, SLAB

from impact import gravity
from impact.design.parts import Patch
from impact.study.layout import lay_out

FILL = """
[cavity.fill]
material = "mineral wool"
thickness = "{thick}"
density = "50 kg/m3"
{more}
"""
BELOW = '[cavity]\nclear_depth = "200 mm"\n'
PLASTER = """
[old_ceiling]
[[old_ceiling.layers]]
material = "gypsum board"
thickness = "12.5 mm"
"""


def wool(thick, more=""):
    return FILL.format(thick=thick, more=more)


@pytest.mark.parametrize(
    ("text", "more", "lies"),
    [
        (FEWEST, BELOW + wool("180 mm"), False),  # joists are 220 mm deep
        (FEWEST, BELOW + wool("240 mm"), True),
        (FEWEST, BELOW + wool("180 mm", 'carried_by = "boards"'), True),
        (FEWEST, BELOW + wool("180 mm") + PLASTER, True),  # the bays are closed
        (SLAB.format(slab='kind = "concrete"\nthickness = "160 mm"'), wool("80 mm"), True),
        (SLAB.format(slab='kind = "concrete"\nthickness = "160 mm"'),
         wool("80 mm", 'carried_by = "floor"'), False),
    ],
)  # fmt: skip
def test_a_fill_lies_where_it_has_room(make, text, more, lies):
    design = make(text, more=more)
    assert design.cavity.fill.on_boards is lies
    told = [one for one in design.defaults if one.path == "cavity.fill.carried_by"]
    assert len(told) == ("carried_by" not in more)


def test_its_weight_is_on_the_hangers_the_channels_and_the_bill_of_zones(make):
    """80 mm of 50 kg/m3 over 5 x 4 m are 80 kg, 784.5 N; 1e-6 for the plate's own sums."""
    slab = SLAB.format(slab='kind = "concrete"\nthickness = "160 mm"')
    lying = make(slab, more=wool("80 mm"))
    pinned = make(slab, more=wool("80 mm", 'carried_by = "floor"'))
    heavy, light = (gravity.loads(one, coupled=False) for one in (lying, pinned))
    assert heavy.weight - light.weight == pytest.approx(80 * 9.80665, rel=1e-6)
    assert heavy.reaction == pytest.approx(heavy.weight, rel=1e-6)
    by_area = [sum(hanger.tributary for hanger in each.hangers) for each in (heavy, light)]
    assert by_area[0] - by_area[1] == pytest.approx(80 * 9.80665, rel=1e-6)
    assert heavy.channels.line_load > light.channels.line_load
    assert lay_out(lying).zones[0].mass > lay_out(pinned).zones[0].mass
    box = Patch(
        "box", 0.0, 0.0, lying.room.length, 0.5, drop=0.2
    )  # the fill lies on its soffit too
    heavy, light = (
        gravity.loads(replace(one, room=replace(one.room, bulkheads=(box,))), coupled=False)
        for one in (lying, pinned)
    )
    assert heavy.weight - light.weight == pytest.approx(80 * 9.80665, rel=1e-6)
    assert sum(zone.load for zone in lay_out(heavy.design).zones) == pytest.approx(heavy.weight)
    masses = [sum(zone.mass for zone in lay_out(one).zones) for one in (lying, pinned)]
    assert masses[0] - masses[1] == pytest.approx(80.0, rel=1e-6)

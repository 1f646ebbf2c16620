"""Open edges and faces of bulkheads by hand, on a plan of 6 x 4 m. Tolerances are rounding."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.design import boxes, placing
from impact.design.parts import Patch
from impact.gravity import weights
from impact.motion.assemble import assemble
from impact.study import layout, quantities


def room_with(*bulkheads, notches=()):
    room = replace(designs.basement().room, length=6.0, width=4.0)
    return replace(room, bulkheads=bulkheads, notches=notches)


@pytest.mark.parametrize(
    ("box", "area"),
    [
        (Patch("free", 1, 1, 2, 0.5, drop=0.2), 2 * (2 + 0.5) * 0.2),
        (Patch("in a corner", 0, 0, 2, 0.5, drop=0.2), (2 + 0.5) * 0.2),
        (Patch("wall to wall", 0, 1, 6, 0.5, drop=0.2), 2 * 6 * 0.2),
        (Patch("within rounding of the wall", 0.0004, 0, 2, 0.5, drop=0.2), (2 + 0.5) * 0.2),
    ],
)
def test_faces_of_one_box(box, area):
    assert boxes.face_area(room_with(box), box) == pytest.approx(area, abs=1e-9)


def test_a_box_at_a_chimney_breast_has_no_face_there():
    """Breast 1 m of the south side from x = 2; a box of 0.5 m beside it: its north face is 1.2 m,
    its west face 0.5 m; the breast hides 0.4 m of the east one and leaves 0.1 m."""
    breast = Patch("breast", 2.0, 0.0, 1.0, 0.4)
    box = Patch("box", 0.8, 0.0, 1.2, 0.5, drop=0.25)
    room = room_with(box, notches=(breast,))
    assert boxes.face_area(room, box) == pytest.approx(0.25 * (1.2 + 0.5 + 0.1), abs=1e-9)


def test_two_boxes_round_a_corner_share_no_face():
    """An L of two boxes, 0.3 m down: 6 m along the south wall, 0.5 m wide, and 3.5 m along the west
    wall above it, 0.4 m wide. Open: 5.6 m of the first, 3.5 m of the second, none between them. The
    second 0.1 m deeper shows that 0.1 m over the 0.4 m they share, on its own side."""
    first = Patch("south", 0.0, 0.0, 6.0, 0.5, drop=0.3)
    second = Patch("west", 0.0, 0.5, 0.4, 3.5, drop=0.3)
    room = room_with(first, second)
    assert boxes.face_area(room, first) == pytest.approx(5.6 * 0.3, abs=1e-9)
    assert boxes.face_area(room, second) == pytest.approx(3.5 * 0.3, abs=1e-9)
    deeper = replace(second, drop=0.4)
    room = room_with(first, deeper)
    assert boxes.face_area(room, first) == pytest.approx(5.6 * 0.3, abs=1e-9)
    assert boxes.face_area(room, deeper) == pytest.approx(3.5 * 0.4 + 0.4 * 0.1, abs=1e-9)


def test_the_plan_without_its_notches():
    """24 m2 less 3 x 1 and 1 x 2 m, which share 1 x 0.5 m: 24 - 3 - 2 + 0.5 = 19.5 m2; a bulkhead
    takes nothing off."""
    notches = Patch("a", 0.0, 0.0, 3.0, 1.0), Patch("b", 2.0, 0.5, 1.0, 2.0)
    box = Patch("box", 4.0, 0.0, 2.0, 0.5, drop=0.3)
    assert boxes.area_between_walls(room_with(box, notches=notches)) == pytest.approx(19.5)


def test_boards_are_bought_and_weighed_for_the_same_faces():
    """Soffits 6 x 0.5 and 0.4 x 3.5 m, faces 5.6 x 0.3 and 3.5 x 0.3 m: 7.13 m2. The load check
    weighs as many square metres as the bill and the zones do."""
    first = Patch("south", 0.0, 0.0, 6.0, 0.5, drop=0.3)
    second = Patch("west", 0.0, 0.5, 0.4, 3.5, drop=0.3)
    design = replace(designs.basement(), room=room_with(first, second))
    board = design.ceiling.mass_per_area
    assert design.hung_per_area == board  # no fill on the boards
    assert quantities.soffit_area(design) == pytest.approx(7.13, abs=1e-9)
    named = {zone.name: zone.mass for zone in layout.zones(design, placing.place(design))}
    assert named["south"] == pytest.approx(board * (6 * 0.5 + 5.6 * 0.3), rel=1e-9)
    for box in (first, second):
        assert weights.hung_mass(design, box) == pytest.approx(named[box.name], rel=1e-9)


def test_faces_pull_where_they_hang():
    """The modal force of the boxes' boards is the sum of the mode shapes over soffits and along
    the open edges, here by midpoints 10 mm apart: their error on waves of 1 m is under 0.1 %."""
    first = Patch("south", 0.0, 0.0, 6.0, 0.5, drop=0.3)
    second = Patch("west", 0.0, 0.5, 0.4, 3.5, drop=0.3)
    design = replace(designs.basement(), room=room_with(first, second))
    design = replace(design, hangers=replace(design.hangers, channel=None, mass=0.0))
    leaf = assemble(design, 40.0).whole.leaves[-1]
    nobody = placing.Placement(((3.0, 2.0),), (), (), (), (-1,), (-1,), (-1,))
    step = 0.01
    soffits = [(x, y) for w, h, x0, y0 in ((6, 0.5, 0, 0), (0.4, 3.5, 0, 0.5))
               for x in np.arange(x0 + step / 2, x0 + w, step)
               for y in np.arange(y0 + step / 2, y0 + h, step)]  # fmt: skip
    edges = [(x, 0.5) for x in np.arange(0.4 + step / 2, 6, step)]
    edges += [(0.4, y) for y in np.arange(0.5 + step / 2, 4, step)]
    by_hand = step**2 * weights.at_points(leaf, soffits).sum(axis=0)
    by_hand = by_hand + 0.3 * step * weights.at_points(leaf, edges).sum(axis=0)
    by_hand = by_hand * design.ceiling.mass_per_area * weights.GRAVITY
    found = weights.weigh(design, nobody, leaf).other
    assert np.max(np.abs(found - by_hand)) < 1e-3 * np.max(np.abs(by_hand))


def test_a_bulkhead_without_a_mass_of_its_own_is_listed(make):
    """Its frame is not in the loads unless somebody weighs it: that is an assumption to be seen."""
    size = 'x = "0 m"\ny = "0 m"\nlength = "5 m"\nwidth = "0.5 m"\ndrop = "0.3 m"'
    box = f"[[room.bulkheads]]\n{size}\n{{}}"
    bare, given = (make(more=box.format(mass)) for mass in ("", 'mass = "12 kg"\n'))
    path = "room.bulkheads[0].mass"
    assert {d.path: d.value for d in bare.defaults}[path] == "0 kg"
    assert path not in {d.path for d in given.defaults}

"""Plans, sheets and tables mean the walls and places that the design file means.

Whether joists run along the room's length or its width, a hatch 3 m from the west wall is drawn 3 m
from the west wall: what is expected is what the file says.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from impact import gravity
from impact.design.axes import shown_wall
from impact.design.reader import read
from impact.report import drawing_shapes, installation
from impact.site.checklist import checklist
from impact.study.layout import lay_out

EXAMPLE = (Path(__file__).parents[2] / "examples" / "03_metric_particleboard.toml").read_text(
    "utf-8"
)
PLACES = [(1.0, 0.5), (4.6, 0.5), (1.0, 3.5)]  # m from the west and the south wall
HATCH = """
[[room.openings]]
name = "hatch"
x = "3.6 m"
y = "0.4 m"
length = "0.8 m"
width = "0.6 m"
[floor]"""


@pytest.fixture(params=["width", "length"])
def design(request, tmp_path):
    """A room of 5 m by 4 m with a hatch in its south-east corner and three hangers by hand."""
    points = [[f"{x} m", f"{y} m"] for x, y in PLACES]
    text = EXAMPLE.replace('along = "width"', f'along = "{request.param}"')
    text = text.replace('span = "4 m"', 'span = "5 m"' if request.param == "length" else
                        'span = "4 m"')  # fmt: skip
    text = text.replace("[floor.joists]", HATCH + "\n[floor.joists]", 1)
    text = text.replace("[hangers]", f"[hangers]\npositions = {points}", 1)
    text = re.sub(r'kind = "sealed"', 'kind = "touching"\ntouching_walls = ["east"]', text)
    path = tmp_path / "room.toml"
    path.write_text(text, "utf-8")
    return read(path)


def test_what_is_drawn_stands_where_the_file_says(design):
    layout = lay_out(design)
    drawn = {text: at for at, text in drawing_shapes.patch_labels(design)}
    assert drawn["opening hatch"] == pytest.approx((4.0, 0.7))
    assert sorted(mark.at for mark in drawing_shapes.marks(layout)) == [
        pytest.approx(at) for at in sorted(PLACES)
    ]
    assert drawing_shapes.plan_size(design) == (5.0, 4.0)
    west, south = drawing_shapes.plan_dimensions(layout)
    assert (west[-1], south[-1]) == (5.0, 4.0)
    corners = [p for s in drawing_shapes.plan_strokes(layout) if s.layer == "walls"
               for p in s.points]  # fmt: skip
    assert (max(x for x, _ in corners), max(y for _, y in corners)) == pytest.approx((5.0, 4.0))


def test_what_is_listed_stands_where_the_file_says(design):
    listed = gravity.loads(design, coupled=False).as_dict()["hangers"]
    assert sorted((row["x_m"], row["y_m"]) for row in listed) == [
        pytest.approx(at) for at in sorted(PLACES)
    ]
    table = installation.sheet(lay_out(design)).split("HANGERS\n")[1]
    rows = re.findall(r"^ +\d+ +(\d+) mm +(\d+) mm", table, flags=re.M)[:3]
    assert sorted((int(x) / 1000, int(y) / 1000) for x, y in rows) == sorted(PLACES)


def test_the_checklist_names_the_wall_of_the_file(design):
    (inside,) = design.ceiling.perimeter.touching_walls
    assert shown_wall(design, inside) == "east"
    assert "touches east as designed" in checklist(design).text()

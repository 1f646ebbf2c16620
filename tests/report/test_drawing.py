"""Drawings show what the layout holds; files come out the same byte for byte.

What a figure looks like is judged by eye; here its data are read back and compared with the layout
or with sums worked by hand.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

import designs
import pytest
from matplotlib.text import Text

from impact import gravity
from impact.design.parts import Infill, OldCeiling
from impact.report import drawing, drawing_dxf, drawing_shapes, installation, style
from impact.study.layout import lay_out


@pytest.fixture(scope="module")
def loaded():
    """The L-shaped room: its hangers, rated 45 to 160 N, carry some too little, some too much."""
    design = designs.l_shaped()
    return lay_out(design, held=gravity.loads(design, coupled=False))


def plan_axes(layout):
    with style.look():
        figure = style.figure()
        return drawing.draw_plan(layout, figure.subplots())


def test_plan_draws_every_hanger_where_it_stands(loaded):
    ax = plan_axes(loaded)
    drawn = [tuple(map(float, p)) for group in ax.collections for p in group.get_offsets()]
    assert sorted(drawn) == [pytest.approx(at) for at in sorted(loaded.placement.points)]
    numbers = {text.get_text() for text in ax.texts}
    assert {str(i + 1) for i in range(len(loaded.placement.points))} <= numbers


def test_hangers_out_of_range_differ_in_symbol_and_not_only_in_colour(loaded):
    """Rated 45 to 160 N: the counts come from the loads alone."""
    loads = loaded.loads
    counts = {
        "within": sum(45 <= load <= 160 for load in loads),
        "below rated minimum": sum(load < 45 for load in loads),
        "above rated maximum": sum(load > 160 for load in loads),
    }
    marks = drawing_shapes.marks(loaded)
    assert {word: sum(mark.verdict == word for mark in marks) for word in counts} == counts
    assert all(counts.values())
    assert len({drawing.SYMBOLS[word] for word in counts}) == 3
    sizes = sorted(len(group.get_offsets()) for group in plan_axes(loaded).collections)
    assert sizes == sorted(counts.values())


def test_without_loads_the_sheet_says_so():
    layout = lay_out(designs.basement())
    with style.look():
        texts = [t.get_text() for ax in drawing.sheet(layout).axes for t in ax.texts]
    assert any("LOADS NOT CHECKED" in text for text in texts)
    assert any("licensed engineer" in text for text in texts)


def test_dimensions_are_in_the_units_asked_for():
    """First line 6 in (152 mm) from the west wall; room 4.2 m = 13 ft 9 3/8 in by hand:
    4200/25.4 = 165.354 in = 13 x 12 + 9.354, nearest sixteenth 9 6/16."""
    imperial = {text.get_text() for text in plan_axes(lay_out(designs.basement())).texts}
    assert {"6 in", "13' 9 3/8\""} <= imperial
    metric = replace(designs.basement(), units="metric")
    assert {"152 mm", "4200 mm"} <= {text.get_text() for text in plan_axes(lay_out(metric)).texts}


def test_section_adds_up():
    """By hand: deck 18 over joists 235, clear depth 41, boards 2 x 15.9 mm; room 2.4 m high, so
    2400 - 41 - 31.8 = 2327.2 mm finished."""
    design = designs.basement()
    bands = drawing_shapes.section_bands(design)
    edges = [bands[0].top, *(band.bottom for band in bands)]
    assert edges == pytest.approx([0.253, 0.235, 0.0, -0.041, -0.0569, -0.0728])
    assert drawing_shapes.finished_height(design) == pytest.approx(2.3272)


def test_old_ceiling_lies_between_joists_and_clear_depth():
    old = OldCeiling((designs.FIVE_EIGHTHS,), "nailed", 0.3, 1e6, None)
    bands = drawing_shapes.section_bands(replace(designs.basement(), old_ceiling=old))
    assert [band.kind for band in bands] == ["layer", "joist", "old", "space", "board", "board"]
    for upper, lower in itertools.pairwise(bands):
        assert upper.bottom == pytest.approx(lower.top)
    assert bands[2].bottom == pytest.approx(0.0)


def test_joists_are_called_what_they_are():
    """I-joists at a fifth of 8 ft, 19.2 in: not "i-joist joists", and not at 19 3/16 in."""
    base = designs.basement()
    joists = replace(base.floor.joists, kind="i-joist", spacing=8 * 12 * 0.0254 / 5)
    floor = replace(base.floor, joists=joists)
    shown = drawing_shapes.section_bands(replace(base, floor=floor, units="imperial"))
    (text,) = (band.text for band in shown if band.kind == "joist")
    assert re.fullmatch(r"I-joists .* in x .* in at 19\.2 in", text)


def test_loose_fill_lies_between_the_joists():
    """By hand: joists of 235 mm under the deck, 56 mm of air, 60 mm of fill, boards of 22 mm; on an
    old ceiling of 15.9 mm the fill begins on its boards. Clear between joists is their
    spacing less their width."""
    boards = replace(designs.FIVE_EIGHTHS, thickness=0.022)
    fill = Infill(96.0, 0.05, 0.06, boards, 0.056)
    design = designs.basement()
    carried = replace(design, floor=replace(design.floor, infill=fill))
    shown = {b.kind: b for b in drawing_shapes.section_bands(carried)}
    assert (shown["fill"].top, shown["fill"].bottom) == pytest.approx((0.179, 0.119))
    assert (shown["carrier"].top, shown["carrier"].bottom) == pytest.approx((0.119, 0.097))
    old = OldCeiling((designs.FIVE_EIGHTHS,), "nailed", 0.3, 1e6, None)
    lying = replace(design, old_ceiling=old,
                    floor=replace(design.floor, infill=replace(fill, boards=None)))  # fmt: skip
    shown = {b.kind: b for b in drawing_shapes.section_bands(lying)}
    assert (shown["fill"].top, shown["fill"].bottom) == pytest.approx((0.0759, 0.0159), abs=2e-5)
    middle = drawing_shapes.section_bays(carried)[1]
    joists = design.floor.joists
    assert middle[1] - middle[0] == pytest.approx(joists.spacing - joists.width)


@pytest.mark.parametrize(
    ("values", "gap", "expected"),
    [
        ([0.0, 1.0, 2.0], 0.5, [0.0, 1.0, 2.0]),
        ([0.0, 0.1], 0.5, [-0.2, 0.3]),  # moved apart evenly about their middle
        ([0.0, 0.1, 0.2, 5.0], 0.3, [-0.2, 0.1, 0.4, 5.0]),
    ],
)
def test_labels_are_moved_apart_as_little_as_needed(values, gap, expected):
    assert drawing_shapes.spread(values, gap) == pytest.approx(expected)


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_pictures_come_out_the_same_byte_for_byte(kind, tmp_path):
    design = designs.basement()
    first = drawing.save(lay_out(design), tmp_path / f"a.{kind}", "who wrote it").read_bytes()
    second = drawing.save(lay_out(design), tmp_path / f"b.{kind}", "who wrote it").read_bytes()
    assert first == second
    assert b"who wrote it" in first
    assert not re.search(rb"20\d\d-\d\d-\d\d|CreationDate", first)


def test_a_picture_of_another_kind_is_refused(tmp_path):
    with pytest.raises(ValueError, match=r"use \.svg, \.pdf or \.png"):
        drawing.save(lay_out(designs.basement()), tmp_path / "a.bmp")


def test_series_differ_in_colour_line_and_marker():
    assert len({entry["color"] for entry in style.SERIES}) == len(style.SERIES)
    assert len({str(entry["linestyle"]) for entry in style.SERIES}) == len(style.SERIES)
    assert len({entry["marker"] for entry in style.SERIES}) == len(style.SERIES)


def test_band_axis_carries_nominal_labels():
    with style.look():
        ax = style.band_axis(style.figure().subplots(), 10, 5000)
    labels = [text.get_text() for text in ax.get_xticklabels()]
    assert labels[:4] == ["10", "12.5", "16", "20"]
    assert labels[-1] == "5k"
    assert len(labels) == 28  # IEC 61260-1: 27 thirds and one from 10 Hz to 5 kHz


def test_a_dollar_in_a_name_is_a_dollar(tmp_path):
    design = replace(designs.basement(), name="cost $5 or $6_a")
    assert b"cost $5 or $6_a" in drawing.save(lay_out(design), tmp_path / "a.svg").read_bytes()


def test_every_sheet_carries_every_caution(loaded, tmp_path):
    """The list of what must be on each: picture, CAD file and installation sheet."""
    words = ("overhead load", "local code", "licensed engineer", "fire-rated assembl",
             "only as listed", "seismic", "egress", "height", "asbestos or lead", "recessed lights",
             "penetrations")  # fmt: skip
    with style.look():
        drawn = " ".join(text.get_text() for ax in drawing.sheet(loaded).axes for text in ax.texts)
    pytest.importorskip("ezdxf")
    cad = drawing_dxf.save(loaded, tmp_path / "a.dxf").read_text()
    for page in (drawn, cad, installation.sheet(loaded)):
        missing = [word for word in words if word not in " ".join(page.lower().split())]
        assert missing == []


class TestCad:
    """The CAD file read back by the library that wrote it: layers, counts, places, units."""

    ezdxf = pytest.importorskip("ezdxf")

    def read(self, layout, path):
        drawing_dxf.save(layout, path, "who wrote it")
        document = self.ezdxf.readfile(path)
        assert document.audit().errors == []
        return document

    def test_hangers_are_at_full_size_in_inches(self, loaded, tmp_path):
        document = self.read(loaded, tmp_path / "a.dxf")
        assert document.header["$INSUNITS"] == 1
        circles = document.modelspace().query('CIRCLE[layer=="HANGERS"]')
        within = [mark.at for mark in drawing_shapes.marks(loaded) if mark.verdict == "within"]
        drawn = sorted((c.dxf.center.x * 0.0254, c.dxf.center.y * 0.0254) for c in circles)
        assert drawn == [pytest.approx(at, abs=1e-6) for at in sorted(within)]
        numbers = document.modelspace().query('TEXT[layer=="NUMBERS"]')
        assert len(numbers) == len(loaded.placement.points)

    def test_metric_and_dimensions(self, tmp_path):
        layout = lay_out(replace(designs.basement(), units="metric"))
        document = self.read(layout, tmp_path / "a.dxf")
        assert document.header["$INSUNITS"] == 4
        dimensions = document.modelspace().query("DIMENSION")
        texts = {dimension.dxf.text for dimension in dimensions}
        assert {"0 mm", "152 mm", "4200 mm", "3600 mm"} <= texts
        assert len(dimensions) == (8 + 2) + (4 + 2)  # lines and walls, joists used and walls

    def test_same_bytes_and_description(self, loaded, tmp_path):
        first = drawing_dxf.save(loaded, tmp_path / "a.dxf", "who wrote it").read_bytes()
        second = drawing_dxf.save(loaded, tmp_path / "b.dxf", "who wrote it").read_bytes()
        assert first == second
        assert b"who wrote it" in first


def test_cad_without_its_package_says_what_to_install(monkeypatch, tmp_path):
    import sys

    from impact.errors import InputError

    monkeypatch.setitem(sys.modules, "ezdxf", None)
    with pytest.raises(InputError, match="pip install ezdxf"):
        drawing_dxf.save(lay_out(designs.basement()), tmp_path / "a.dxf")


def test_installation_sheet_fits_80_columns_and_lists_every_hanger(loaded):
    for layout in (loaded, lay_out(replace(designs.l_shaped(), units="metric"))):
        text = installation.sheet(layout)
        assert max(map(len, text.splitlines())) <= 80
        table = text.split("HANGERS\n")[1].split("\n\n")[0]
        rows = re.findall(r"^ +(\d+) ", table, flags=re.M)
        assert [int(row) for row in rows] == list(range(1, len(layout.placement.points) + 1))
        for word in ("HOLD", "asbestos", "engineer", "Seismic", "Egress", "fire-rated", "penetra"):
            assert word in text
        assert not re.search(r"\bcompliant\b|soundproof", text, flags=re.I)


def test_expected_deflection_is_what_the_stiffness_gives():
    """By hand from each load L in the sheet, where nothing but boards weighs: L / 85 N/mm, and 20 %
    or half a millimetre to either side of it; shown to 0.1 mm, the load to three digits."""
    base = designs.l_shaped()
    kind = replace(base.hangers, mass=0.0, channel=replace(
        base.hangers.channel, mass_per_length=0.0))  # fmt: skip
    design = replace(base, units="metric", hangers=kind, room=replace(base.room, fixtures=()))
    layout = lay_out(design, held=gravity.loads(design, coupled=False))
    text = installation.sheet(layout)
    rows = re.findall(r" ([\d.]+) N +([\d.]+) mm +([\d.]+)-([\d.]+) mm", text)
    assert len(rows) == len(layout.placement.points)
    for load, moves, least, most in (tuple(map(float, row)) for row in rows):
        by_hand = load / 85
        slack = max(0.2 * by_hand, 0.5)
        assert (moves, least, most) == pytest.approx(
            (by_hand, max(by_hand - slack, 0), by_hand + slack), abs=0.06
        )
    assert "LOADS NOT CHECKED" not in text
    for words in ("creep", "in the cold", "left at the perimeter", "dead load on the floor above"):
        assert words in re.sub(r"\s+", " ", text)


def test_labels_hide_neither_hangers_nor_each_other():
    """A beam in its box has the same middle, and a lamp may hang beside a hanger: 0.15 m between
    the heights of what stands side by side, some four heights of letters on a plan of 6 m."""
    base = designs.l_shaped()
    beam = replace(base.room.bulkheads[0], name="beam", drop=0.2)
    x, y = lay_out(base).placement.points[9]
    lamp = replace(base.room.fixtures[0], x=x - 0.15, y=y - 0.15)
    design = replace(base, room=replace(base.room, obstructions=(beam,), fixtures=(lamp,)))
    taken = [mark.at for mark in drawing_shapes.marks(lay_out(design))]
    labels = drawing_shapes.patch_labels(design, taken)
    busy = [*taken, *(at for at, _ in labels)]
    for at, text in labels:
        near = [q for q in busy if q != at and abs(q[0] - at[0]) < 0.3 and abs(q[1] - at[1]) < 0.15]
        assert not near, text
    assert len({at for at, _ in labels}) == len(labels)


def test_the_name_of_an_axis_does_not_lie_on_its_figures():
    """Feet with sixteenths are long: on paper of the report (6.9 in wide) they reached into the
    words below them. Boxes as they are drawn."""
    base = designs.basement()
    joists = replace(base.floor.joists, span=6.05)
    design = replace(base, room=replace(base.room, length=6.05, width=4.6),
                     floor=replace(base.floor, length=6.05, width=4.6, joists=joists))  # fmt: skip
    layout = lay_out(design)  # one line at 11' 9 11/16"
    with style.look():
        figure = style.figure(6.9, 6.0)
        ax = drawing.draw_plan(layout, figure.subplots())
        ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.01), ncols=3)
        figure.canvas.draw()
        boxes = {text: text.get_window_extent() for text in ax.texts}
    names = [text for text in boxes if text.get_text().startswith("from the ")]
    assert len(names) == 2
    for name in names:
        others = [box for text, box in boxes.items() if text is not name and text.get_text()]
        assert not any(boxes[name].overlaps(box) for box in others), name.get_text()


def test_the_sheet_tells_from_what_length_a_screw_bridges():
    """41 mm to the joist less a margin of 3 mm: 38 mm and the boards; a screw of the second layer
    one step longer than the one named is still short of it, and none is called a bridge for it."""
    layout = lay_out(replace(designs.basement(), units="metric"))
    assert [round(1e3 * (screw.most - screw.through)) for screw in layout.screws] == [38, 38]
    with style.look():
        figure = drawing.sheet(layout)
    words = [each.get_text() for each in figure.findobj(Text)]
    text = " ".join(" ".join(words).split())
    assert "1 (over 54 mm bridges)" in text  # 15.9 + 38.2 mm
    assert "2 (over 70 mm bridges)" in text

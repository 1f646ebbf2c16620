"""The plan and section as a CAD file, full size, in millimetres or inches.

Needs the optional package ezdxf; everything else of the project works without it. Layers are
named in words; dimensions are ordinate dimensions from the west and the south wall.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from impact.base.cautions import CAUTIONS_SHEET
from impact.base.units import INCH, show
from impact.design.axes import is_turned
from impact.errors import Fault, InputError
from impact.gravity import stops
from impact.gravity.parts import ABOVE, BELOW, WITHIN
from impact.report.drawing_shapes import (
    edge_note,
    finished_height,
    layout_title,
    marks,
    patch_labels,
    plan_dimensions,
    plan_size,
    plan_strokes,
    section_bands,
    section_boxes,
    section_labels,
    section_width,
    spread,
)
from impact.study.layout import Layout
from impact.study.layout_rules import at, length

# Layer -> (colour index of the file format, line type). 7 is black or white, whichever shows.
LAYERS: dict[str, tuple[int, str]] = {
    "WALLS": (7, "CONTINUOUS"), "JOISTS": (8, "DASHDOT"), "CHANNELS": (5, "CONTINUOUS"),
    "OWN JOISTS": (5, "DASHED"), "SPLICES": (5, "CONTINUOUS"), "HANGERS": (1, "CONTINUOUS"),
    "NUMBERS": (7, "CONTINUOUS"), "LOADS": (7, "CONTINUOUS"), "BULKHEADS": (3, "DASHED"),
    "OPENINGS": (1, "CONTINUOUS"), "FIXTURES": (6, "DOT"), "OBSTRUCTIONS": (30, "DASHED"),
    "DIMENSIONS": (8, "CONTINUOUS"), "NOTES": (7, "CONTINUOUS"), "SECTION": (7, "CONTINUOUS"),
}  # fmt: skip
BOXES = {"own": "OWN JOISTS", "channel": "CHANNELS", "hanger": "HANGERS"}  # layers in the section
WRONG = {ABOVE: " TOO HIGH", BELOW: " TOO LOW"}
HANGER_SIZE = 0.03  # m, radius of the symbol
TEXT = 0.06  # m, height of text on the plan


def available() -> bool:
    """Whether the CAD file can be written here."""
    from importlib.util import find_spec

    return find_spec("ezdxf") is not None


def save(layout: Layout, path: Path, description: str = "") -> Path:
    """Write the CAD file; the same bytes for the same layout. `description` goes in its first line.

    Raises InputError when ezdxf is not installed.
    """
    try:
        import ezdxf
    except ImportError:
        what = "needs the package ezdxf; install it with: pip install ezdxf"
        raise InputError(str(path), [Fault("DXF", what)]) from None
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no random names
    try:
        document = _document(layout)
        document.header.custom_vars.append("Description", description or "impact")
        for name in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(name)  # a set: its order would change from run to run
        document.saveas(path)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    return path


class _Pen:
    """Draws in metres into a document that counts in millimetres or inches."""

    def __init__(self, document: Any, scale: float) -> None:
        self.space = document.modelspace()
        self.scale = scale

    def at(self, x: float, y: float) -> tuple[float, float]:
        return x * self.scale, y * self.scale

    def line(self, layer: str, points: Any) -> None:
        self.space.add_lwpolyline([self.at(*p) for p in points], dxfattribs={"layer": layer})

    def box(self, layer: str, x0: float, y0: float, x1: float, y1: float) -> None:
        self.line(layer, [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)])

    def text(self, layer: str, x: float, y: float, words: str, height: float = TEXT) -> None:
        look = {"layer": layer, "height": height * self.scale, "insert": self.at(x, y)}
        self.space.add_text(words.replace("\n", " "), dxfattribs=look)


def _document(layout: Layout) -> Any:
    import ezdxf

    metric = layout.design.units == "metric"
    document = ezdxf.new("R2010", setup=["linetypes", "styles"])
    document.header["$INSUNITS"] = 4 if metric else 1
    document.header["$MEASUREMENT"] = 1 if metric else 0
    pen = _Pen(document, 1000.0 if metric else 1 / INCH)
    document.header["$LTSCALE"] = 0.02 * pen.scale
    for name, (colour, line) in LAYERS.items():
        document.layers.add(name, color=colour, linetype=line)
    _plan(layout, pen)
    _dimensions(layout, pen, document)
    _section(layout, pen)
    return document


def _plan(layout: Layout, pen: _Pen) -> None:
    design = layout.design
    for stroke in plan_strokes(layout):
        pen.line(stroke.layer.upper(), stroke.points)
    for (x, y), words in patch_labels(design, [mark.at for mark in marks(layout)]):
        pen.text("NOTES", x - 0.2 * TEXT * len(words), y, words, 0.7 * TEXT)
    placement = layout.placement
    columns = placement.joist_of_point if is_turned(design) else placement.channel_of_point
    for mark in marks(layout):
        x, y = mark.at
        _symbol(pen, x, y, mark.verdict)
        pen.text("NUMBERS", x + 1.2 * HANGER_SIZE, y + 1.2 * HANGER_SIZE, str(mark.number))
        if mark.load is not None:
            words = show(mark.load, "force", design.units)
            words += WRONG.get(mark.verdict, "")
            below = 2.2 + 1.5 * (columns[mark.number - 1] % 2)  # neighbours: other lines of text
            pen.text("LOADS", x + 1.2 * HANGER_SIZE, y - below * HANGER_SIZE, words, 0.6 * TEXT)
    title = layout_title(design)
    notes = [f"{design.name}: {title}, reflected ceiling plan"]
    notes += [] if layout.loads else ["LOADS NOT CHECKED"]
    notes += stops.stopping(layout.held) if layout.held else []
    notes += [f"{f.rule}: {f.text}" for f in layout.findings]
    notes += CAUTIONS_SHEET
    for i, words in enumerate(notes):
        y = plan_size(design)[1] + 0.2 + 2 * TEXT * (len(notes) - i)
        pen.text("NOTES", 0.0, y, words)


def _symbol(pen: _Pen, x: float, y: float, word: str) -> None:
    """Circle within rating, triangle up too high, down too low, square unchecked or unrated."""
    r, layer = HANGER_SIZE, "HANGERS"
    if word == WITHIN:
        look = {"layer": layer}
        pen.space.add_circle(pen.at(x, y), r * pen.scale, dxfattribs=look)
    elif word in WRONG:
        up = 1 if word == ABOVE else -1
        corners = [(x - r, y - up * r), (x + r, y - up * r), (x, y + up * r), (x - r, y - up * r)]
        pen.line(layer, corners)
    else:
        pen.box(layer, x - r, y - r, x + r, y + r)


def _dimensions(layout: Layout, pen: _Pen, document: Any) -> None:
    units = layout.design.units
    style = document.dimstyles.duplicate_entry("Standard", "PLAN")
    style.dxf.dimtxt = TEXT * pen.scale
    style.dxf.dimasz = 0.4 * TEXT * pen.scale
    style.dxf.dimexo = 0.3 * TEXT * pen.scale
    style.dxf.dimexe = 0.3 * TEXT * pen.scale
    style.dxf.dimgap = 0.3 * TEXT * pen.scale
    xs, ys = plan_dimensions(layout)
    look = {"layer": "DIMENSIONS"}
    for x, place in zip(xs, spread(xs, 2 * TEXT), strict=True):
        pen.space.add_ordinate_x_dim(
            feature_location=pen.at(x, -0.05), offset=pen.at(place - x, -0.25), origin=(0, 0),
            text=at(x, units), dimstyle="PLAN", dxfattribs=look,
        ).render()  # fmt: skip
    for y, place in zip(ys, spread(ys, 2 * TEXT), strict=True):
        pen.space.add_ordinate_y_dim(
            feature_location=pen.at(-0.05, y), offset=pen.at(-0.25, place - y), origin=(0, 0),
            text=at(y, units), dimstyle="PLAN", dxfattribs=look,
        ).render()  # fmt: skip


def _section(layout: Layout, pen: _Pen) -> None:
    """To the right of the plan, full size."""
    design = layout.design
    bands = section_bands(design)
    bottom = bands[-1].bottom
    length_shown, width_shown = plan_size(design)
    x0, z0 = length_shown + 1.0, width_shown / 2
    x1 = x0 + section_width(design)
    for kind, left, low, right, high in section_boxes(design):
        pen.box(BOXES.get(kind, "SECTION"), x0 + left, z0 + low, x0 + right, z0 + high)
    pen.box("WALLS", x1, z0 + bottom - 0.1, x1 + 0.06, z0 + 0.05)
    heights, texts = zip(*section_labels(design), strict=True)
    for height, place, words in zip(heights, spread(heights, 1.2 * TEXT), texts, strict=True):
        bend = [(x1, z0 + height), (x1 + 0.12, z0 + place), (x1 + 0.15, z0 + place)]
        pen.line("DIMENSIONS", bend)
        pen.text("SECTION", x1 + 0.17, z0 + place - 0.2 * TEXT, words, 0.6 * TEXT)
    finished = length(finished_height(design), design.units)
    foot = z0 + min(bottom, spread(heights, 1.2 * TEXT)[0]) - 0.2
    pen.text("SECTION", x0, foot, f"finished height {finished} to the floor, before load")
    pen.text("SECTION", x0, foot - 1.6 * TEXT, edge_note(design))

"""Sheets of paper: text is measured and set line by line, pictures get their own corner.

Everything is in inches from the top left. Fonts are those that come with matplotlib, so that a PDF
needs nothing from the system but for letters that these lack (`letters`). A page is data until it
is printed, so that a part can be set again in smaller type where it does not fit.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.report import letters, style

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from matplotlib.artist import Artist
    from matplotlib.figure import Figure

    from impact.report.page_blocks import Picture

SIZES = {"metric": (8.27, 11.69), "imperial": (8.5, 11.0)}  # A4, US letter
MARGIN, FOOT, GUTTER = 0.65, 0.68, 0.25
POINT = 1 / 72
FAMILIES = {"sans": "DejaVu Sans", "serif": "DejaVu Serif", "mono": "DejaVu Sans Mono"}


@cache
def _font(family: str, bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties, findfont
    from matplotlib.ft2font import FT2Font

    name = FAMILIES.get(family, family)
    with letters.quietly():
        where = findfont(FontProperties(family=name, weight="bold" if bold else "normal"))
    font = FT2Font(where)  # of our own: matplotlib's shared ones change their size
    font.set_size(100, 72)
    return font


@cache
def _advance(letter: str, family: str, bold: bool) -> float:
    """Width of one letter at 1 point [in]; of the font's box, glyph 0, for one that none has."""
    from matplotlib.ft2font import LoadFlags

    font = _font(family, bold)
    if not font.get_char_index(ord(letter)) and (others := letters.fonts(letter)):
        font = _font(others[0], bold)
    glyph = font.load_glyph(font.get_char_index(ord(letter)), flags=LoadFlags.NO_HINTING)
    return float(glyph.linearHoriAdvance / 65536 / 100 * POINT)


@lru_cache(10_000)
def width(text: str, size: float, family: str = "sans", bold: bool = False) -> float:
    """Width of a line [in] at `size` points, without kerning."""
    return size * sum(_advance(letter, family, bold) for letter in text)


def wrapped(
    text: str, room: float, size: float, family: str = "sans", bold: bool = False
) -> list[str]:
    """`text` in lines no wider than `room` [in]; a word that is wider is broken."""
    if width(text, size, family, bold) <= room:
        return [" ".join(text.split())]
    lines, line = [], ""
    for word in _words(text, room, size, family, bold):
        longer = f"{line} {word}" if line else word
        if line and width(longer, size, family, bold) > room:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def _words(text: str, room: float, size: float, family: str, bold: bool) -> Iterator[str]:
    for word in text.split():
        rest = word
        while len(rest) > 1 and width(rest, size, family, bold) > room:
            cut = len(rest) - 1
            while cut > 1 and width(rest[:cut], size, family, bold) > room:
                cut -= 1
            yield rest[:cut]
            rest = rest[cut:]
        yield rest


@dataclass(frozen=True)
class Setting:
    """Sizes of type [points]: the answer, running text, tables, notes, tables to look up; gap
    between blocks [in]; and how tall pictures are against their own height."""

    answer: float = 12.0
    body: float = 8.4
    table: float = 7.3
    note: float = 7.3
    tiny: float = 6.0
    gap: float = 0.06
    tall: float = 1.0
    leading: float = 1.28  # line distance over size

    def step(self, size: float) -> float:
        """Distance of lines of this size [in]."""
        return size * self.leading * POINT


@dataclass(frozen=True)
class Line:
    """Text from x on, its foot at y [in]."""

    text: str
    x: float
    y: float
    size: float
    family: str
    bold: bool
    color: str

    @property
    def end(self) -> float:
        """Where it ends [in]."""
        return self.x + width(self.text, self.size, self.family, self.bold)


@dataclass(frozen=True)
class Rule:
    """A straight line [in], its width [points]."""

    x: tuple[float, float]
    y: tuple[float, float]
    color: str
    weight: float


@dataclass
class Page:
    """What stands on one page, from its top left corner."""

    wide: float
    tall: float
    lines: list[Line] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    pictures: list[tuple[Picture, float, float]] = field(default_factory=list)  # left, top


class Paper:
    """Pages that fill from the top. first : number of the first page; foot : said on all."""

    def __init__(self, units: str, foot: str, first: int, setting: Setting) -> None:
        self.wide, self.tall = SIZES[units]
        self.foot, self.number, self.setting = foot, first - 1, setting
        self.pages: list[Page] = []
        self.left = MARGIN  # of the column, and its width
        self.room = self.wide - 2 * MARGIN
        self.in_columns = False
        self.turn()

    @property
    def left_over(self) -> float:
        """Height that is left on this page [in]."""
        return self.tall - FOOT - self.y

    def turn(self) -> None:
        """Begin a new page."""
        self.number += 1
        self.pages.append(Page(self.wide, self.tall))
        self.y = MARGIN
        y = self.tall - 0.45
        self.line(y - 0.12, style.PALE)
        self.place(self.foot, MARGIN, y, 7, color=style.GREY)
        self.place(f"{self.number}", self.wide - MARGIN, y, 7, color=style.GREY, right=True)

    def need(self, height: float) -> None:
        """Turn the page when `height` [in] does not fit, but not within columns."""
        if self.left_over < height and not self.in_columns:
            self.turn()

    def skip(self, height: float) -> None:
        """Leave `height` [in] empty."""
        self.y += height

    def place(
        self, text: str, x: float, y: float, size: float, *, family: str = "sans",
        bold: bool = False, color: str = style.BLACK, right: bool = False,
    ) -> None:  # fmt: skip
        """A line with the middle of its small letters at y; `right` : x is its end."""
        if right:
            x -= width(text, size, family, bold)
        foot = y + 0.36 * size * POINT
        self.pages[-1].lines.append(Line(text, x, foot, size, family, bold, color))

    def line(self, y: float, color: str, x: float = MARGIN, end: float | None = None,
             weight: float = 0.6) -> None:  # fmt: skip
        """A thin line across."""
        ends = (x, end or self.wide - MARGIN)
        self.pages[-1].rules.append(Rule(ends, (y, y), color, weight))

    def upright(self, x: float, top: float, bottom: float, color: str, weight: float) -> None:
        """A line down the side."""
        self.pages[-1].rules.append(Rule((x, x), (top, bottom), color, weight))

    def picture(self, picture: Picture, x: float) -> None:
        """A picture, `x` from the left, at the present height."""
        self.pages[-1].pictures.append((picture, x, self.y))

    def text(
        self, text: str, size: float = 9, *, family: str = "sans", bold: bool = False,
        indent: float = 0.0, color: str = style.BLACK,
    ) -> None:  # fmt: skip
        """A paragraph, over the page's end where it must."""
        step = self.setting.step(size)
        for line in wrapped(text, self.room - indent, size, family, bold):
            self.need(step)
            self.place(line, self.left + indent, self.y + step / 2, size, family=family,
                       bold=bold, color=color)  # fmt: skip
            self.y += step

    def side_by_side(self, left: Callable[[], None], right: Callable[[], None]) -> None:
        """Two columns from the same height on, both on this page; go on below the longer."""
        top, whole = self.y, self.room
        self.in_columns, self.room = True, (whole - GUTTER) / 2
        left()
        deepest, self.y = self.y, top
        self.left += self.room + GUTTER
        right()
        self.y = max(deepest, self.y)
        self.in_columns, self.left, self.room = False, MARGIN, whole


def printed(page: Page) -> Figure:
    """The page as a figure; call inside `style.look()`."""
    from matplotlib.figure import Figure

    sheet = Figure(figsize=(page.wide, page.tall), dpi=72)
    sheet.add_artist(_ink(page))
    return sheet


def _ink(page: Page) -> Artist:
    """All of a page as one artist: an artist for each line would take twice the time."""
    from matplotlib.artist import Artist
    from matplotlib.path import Path
    from matplotlib.transforms import IdentityTransform

    def points(x: float, y: float) -> tuple[float, float]:
        return x / POINT, (page.tall - y) / POINT

    class Ink(Artist):
        def draw(self, renderer: Any) -> None:
            for picture, x, top in page.pictures:
                _shifted(picture.figure, points(x, top + picture.height), renderer)
            gc = renderer.new_gc()
            for rule in page.rules:
                gc.set_foreground(rule.color)
                gc.set_linewidth(rule.weight)
                ends = Path([points(*end) for end in zip(rule.x, rule.y, strict=True)])
                renderer.draw_path(gc, ends, IdentityTransform())
            for line in page.lines:
                gc.set_foreground(line.color)
                others = letters.fonts(line.text)
                font = _properties(line.size, (FAMILIES[line.family], *others), line.bold)
                renderer.draw_text(gc, *points(line.x, line.y), line.text, font, 0.0)
            gc.restore()

    return Ink()


def _shifted(figure: Figure, corner: tuple[float, float], renderer: Any) -> None:
    """Draw a figure with its lower left corner elsewhere [points], and put it back."""
    box = figure.bbox_inches
    size = figure.get_size_inches()
    shift = np.multiply(corner, POINT)
    try:
        box.p0, box.p1 = shift, shift + size
        figure.draw(renderer)
    finally:
        box.p0, box.p1 = (0.0, 0.0), size


@cache
def _properties(size: float, families: tuple[str, ...], bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=families, size=size, weight="bold" if bold else "normal")

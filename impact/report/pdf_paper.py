"""Sheets of paper: text is measured and set line by line, pictures get their own corner.

Everything is in inches from the top left. Fonts are those that come with matplotlib, so that a PDF
needs nothing from the system.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from impact.report import style

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from matplotlib.artist import Artist
    from matplotlib.figure import Figure, FigureBase

Line = tuple[str, float, float, float, str, bool, str]  # text, x, y, size, family, bold, color
SIZES = {"metric": (8.27, 11.69), "imperial": (8.5, 11.0)}  # A4, US letter
MARGIN, FOOT, GUTTER = 0.65, 0.68, 0.25
LEADING = 1.28  # line distance over font size
POINT = 1 / 72
FAMILIES = {"sans": "DejaVu Sans", "serif": "DejaVu Serif", "mono": "DejaVu Sans Mono"}


@cache
def _font(family: str, bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties, findfont
    from matplotlib.ft2font import FT2Font

    where = findfont(FontProperties(family=FAMILIES[family], weight="bold" if bold else "normal"))
    font = FT2Font(where)  # of our own: matplotlib's shared ones change their size
    font.set_size(100, 72)
    return font


@cache
def _advance(letter: str, family: str, bold: bool) -> float:
    """Width of one letter at 1 point [in]."""
    from matplotlib.ft2font import LoadFlags

    glyph = _font(family, bold).load_char(ord(letter), flags=LoadFlags.NO_HINTING)
    return float(glyph.linearHoriAdvance / 65536 / 100 * POINT)


def width(text: str, size: float, family: str = "sans", bold: bool = False) -> float:
    """Width of a line [in] at `size` points, without kerning."""
    return size * sum(_advance(letter, family, bold) for letter in text)


def wrapped(
    text: str, room: float, size: float, family: str = "sans", bold: bool = False
) -> list[str]:
    """`text` in lines no wider than `room` [in]; a word that is wider is broken."""
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


@cache
def _properties(size: float, family: str, bold: bool) -> Any:
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=FAMILIES[family], size=size, weight="bold" if bold else "normal")


def _lines(lines: list[Line], tall: float) -> Artist:
    """All text of a page as one artist: an artist for each line would take twice the time."""
    from matplotlib.artist import Artist

    class Lines(Artist):
        def draw(self, renderer: Any) -> None:
            gc = renderer.new_gc()
            for text, x, y, size, family, bold, color in lines:
                gc.set_foreground(color)
                font = _properties(size, family, bold)
                renderer.draw_text(gc, x / POINT, (tall - y) / POINT, text, font, 0.0)
            gc.restore()

    return Lines()


class Paper:
    """Pages that fill from the top; `finish` is called with each page when it is full."""

    def __init__(self, units: str, foot: str, finish: Callable[[Figure], None]) -> None:
        self.wide, self.tall = SIZES[units]
        self.foot, self.finish = foot, finish
        self.number = 0
        self.page: Figure | None = None
        self.lines: list[Line] = []
        self.y = self.tall
        self.left = MARGIN  # of the column, and its width
        self.room = self.wide - 2 * MARGIN

    @property
    def left_over(self) -> float:
        """Height that is left on this page [in]."""
        return self.tall - FOOT - self.y

    def turn(self) -> None:
        """Begin a new page."""
        from matplotlib.figure import Figure

        self.close()
        self.number += 1
        self.page = Figure(figsize=(self.wide, self.tall))
        self.y = MARGIN
        y = self.tall - 0.45
        self.line(y - 0.12, style.PALE)
        self.place(self.foot, MARGIN, y, 7, color=style.GREY)
        self.place(f"{self.number}", self.wide - MARGIN, y, 7, color=style.GREY, right=True)

    def close(self) -> None:
        """Hand the page over."""
        if self.page is not None:
            self.page.add_artist(_lines(self.lines, self.tall))
            self.finish(self.page)
            self.page, self.lines = None, []

    def need(self, height: float) -> bool:
        """Turn the page when `height` [in] does not fit; says whether it did."""
        if self.page is None or self.left_over < height:
            self.turn()
            return True
        return False

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
        self.lines.append((text, x, y + 0.36 * size * POINT, size, family, bold, color))

    def line(self, y: float, color: str, x: float = MARGIN, end: float | None = None,
             weight: float = 0.6) -> None:  # fmt: skip
        """A thin line across."""
        from matplotlib.lines import Line2D

        assert self.page is not None
        ends = (x / self.wide, (end or self.wide - MARGIN) / self.wide)
        height = 1 - y / self.tall
        self.page.add_artist(Line2D(ends, (height, height), color=color, linewidth=weight))

    def upright(self, x: float, top: float, bottom: float, color: str, weight: float) -> None:
        """A line down the side."""
        from matplotlib.lines import Line2D

        assert self.page is not None
        heights = (1 - top / self.tall, 1 - bottom / self.tall)
        self.page.add_artist(
            Line2D((x / self.wide,) * 2, heights, color=color, linewidth=weight,
                   solid_capstyle="butt")
        )  # fmt: skip

    def text(
        self, text: str, size: float = 9, *, family: str = "sans", bold: bool = False,
        indent: float = 0.0, color: str = style.BLACK,
    ) -> None:  # fmt: skip
        """A paragraph, over the page's end where it must."""
        step = size * LEADING * POINT
        for line in wrapped(text, self.room - indent, size, family, bold):
            self.need(step)
            self.place(line, self.left + indent, self.y + step / 2, size, family=family,
                       bold=bold, color=color)  # fmt: skip
            self.y += step

    def side_by_side(self, left: Callable[[], None], right: Callable[[], None]) -> None:
        """Two columns from the same height on, both on this page; go on below the longer."""
        top, whole = self.y, self.room
        self.room = (whole - GUTTER) / 2
        left()
        deepest, self.y = self.y, top
        self.left += self.room + GUTTER
        right()
        self.y = max(deepest, self.y)
        self.left, self.room = MARGIN, whole

    def corner(self, x: float, wide: float, tall: float) -> FigureBase:
        """A part of the page for a picture: `x` from the left, at the present height [in]."""
        assert self.page is not None
        columns = (x, wide, max(self.wide - x - wide, 1e-3))
        rows = (self.y, tall, max(self.tall - self.y - tall, 1e-3))
        grid = self.page.add_gridspec(3, 3, width_ratios=columns, height_ratios=rows,
                                      wspace=0, hspace=0)  # fmt: skip
        return self.page.add_subfigure(grid[1, 1])

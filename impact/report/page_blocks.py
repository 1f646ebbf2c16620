"""What a report consists of, free of any form: the web page and the PDF both draw these blocks.

A number that was predicted is a `Value`: the text as shown, and where it stands in the answer of
`impact predict --format json`. `Answer` makes them, so that no number is typed twice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from impact.base.units import show
from impact.report.lines import signed

if TYPE_CHECKING:
    from matplotlib.figure import Figure


MARKER = "written by impact report"  # stands in every file; without it a file is not replaced
UNKNOWN = "–"  # in place of a number that the answer does not have


@dataclass(frozen=True)
class Value:
    """One number as shown. key : path in the JSON of `source`; number : as it stands there."""

    shown: str
    key: str
    number: float
    source: str = "predict"  # "predict", "other1", ... or "layout"


Run = str | Value
Runs = tuple[Run, ...]


@dataclass(frozen=True)
class Paragraph:
    """Running text. kind : "" plain, "answer", "note" (small), "alarm" (stands out)."""

    runs: Runs
    kind: str = ""


@dataclass(frozen=True)
class Items:
    """A list."""

    items: tuple[Runs, ...]


@dataclass(frozen=True)
class Table:
    """Rows under a head; the first cell of a row names it. numeric : all others are numbers;
    small : a long table that is looked up and not read."""

    head: tuple[str, ...]
    rows: tuple[tuple[Runs, ...], ...]
    caption: str = ""
    numeric: bool = False
    small: bool = False


@dataclass(frozen=True)
class Picture:
    """A drawing. draw : fills a figure of width x height [in]; alt : what who cannot see it must
    know; wide : as broad as the page."""

    draw: Callable[[Figure], None]
    width: float
    height: float
    alt: str
    caption: Runs = ()
    wide: bool = False

    @cached_property
    def figure(self) -> Figure:
        """The drawing, made once for the page and the paper."""
        from impact.report import style

        return style.drawn(self.draw, self.width, self.height)


@dataclass(frozen=True)
class Gallery:
    """Pictures side by side where there is room."""

    pictures: tuple[Picture, ...]


@dataclass(frozen=True)
class Sound:
    """A sound file inside the page. data : bytes of a WAV."""

    title: str
    data: bytes


@dataclass(frozen=True)
class Sheet:
    """Text of fixed columns, as written by other commands."""

    text: str
    name: str


@dataclass(frozen=True)
class Columns:
    """Two stacks of blocks side by side where there is room."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


@dataclass(frozen=True)
class Heading:
    """A heading inside a column."""

    text: str


Block = Paragraph | Items | Table | Picture | Gallery | Sound | Sheet | Columns | Heading


@dataclass(frozen=True)
class Section:
    """Blocks under a heading; without one when `title` is empty."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Part:
    """A part of the report with its reader; begins on a new page of paper."""

    key: str
    title: str
    sections: tuple[Section, ...]


@dataclass(frozen=True)
class Document:
    """The whole report. marks : name and value of what identifies it."""

    title: str
    subtitle: str
    client: str
    parts: tuple[Part, ...]
    marks: tuple[tuple[str, str], ...]
    marker: str
    units: str


class Answer:
    """The answer of `impact predict` as JSON holds it, read by path: "loads.worst.load_n",
    "levels_db.rubber_ball[3]"."""

    def __init__(self, answer: Mapping[str, Any], units: str, source: str = "predict") -> None:
        self.answer, self.units, self.source = answer, units, source

    def get(self, path: str) -> Any:
        """What stands at `path`; None where it does not exist."""
        found: Any = self.answer
        for step in re.findall(r"[^.\[\]]+", path):
            if isinstance(found, list):
                found = found[int(step)] if int(step) < len(found) else None
            else:
                found = found.get(step) if isinstance(found, Mapping) else None
            if found is None:
                return None
        return found

    def value(self, path: str, digits: int = 1, sign: bool = False) -> Run:
        """The number at `path` to so many digits, or a dash."""
        number = self.get(path)
        if number is None:
            return UNKNOWN
        shown = signed(number, digits) if sign else f"{round(number, digits) + 0.0:.{digits}f}"
        return Value(shown.replace("-", "−"), path, number, self.source)

    def size(self, path: str, digits: int = 1, scale: float = 1.0) -> Run:
        """The absolute number at `path`, times `scale`: for words that say which way it goes."""
        number = self.get(path)
        if number is None:
            return UNKNOWN
        return Value(f"{abs(number * scale):.{digits}f}", path, number, self.source)

    def quantity(self, path: str, dimension: str, scale: float = 1.0) -> Run:
        """The number at `path`, times `scale` in SI, with its unit as people of this design read
        it."""
        return self.worded(path, lambda value, units: show(value, dimension, units), scale)

    def worded(self, path: str, words: Callable[[float, str], str], scale: float = 1.0) -> Run:
        """The number at `path`, times `scale` in SI, in words(value, units) of its own."""
        number = self.get(path)
        if number is None:
            return UNKNOWN
        return Value(words(number * scale, self.units), path, number, self.source)


def plain(runs: Runs) -> str:
    """The text alone."""
    return "".join(run if isinstance(run, str) else run.shown for run in runs)

"""The report as a PDF, drawn with matplotlib alone: the same blocks as the web page."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import TYPE_CHECKING

from impact.report import style
from impact.report.page_blocks import (
    Block,
    Columns,
    Document,
    Gallery,
    Heading,
    Items,
    Paragraph,
    Picture,
    Sheet,
    Sound,
    Table,
    plain,
)
from impact.report.page_svg import fill
from impact.report.pdf_paper import GUTTER, LEADING, POINT, Paper, wrapped
from impact.report.pdf_table import BODY, SMALL
from impact.report.pdf_table import draw as _table
from impact.report.pdf_table import height as _table_height

if TYPE_CHECKING:
    from matplotlib.figure import Figure

GAP = 0.06  # in, between blocks
OVERHANG = 0.1  # in, that columns may reach into the foot's white
NO_PROMISE = "a calculation, not a promise"


def save(made: Document, path: Path) -> Path:
    """Write the report; the same bytes for the same document."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    about = {"CreationDate": None, "Creator": "impact", "Producer": None, "Subject": made.marker,
             "Title": f"{made.title}: steps from above"}  # fmt: skip
    with style.look(), warnings.catch_warnings(), PdfPages(path, metadata=about) as pages:
        warnings.filterwarnings("ignore", "Glyph .* missing from")  # a box is drawn

        def finish(page: Figure) -> None:
            FigureCanvasPdf(page).print_pdf(pages)  # savefig would draw every page twice

        marks = ", ".join(f"{name} {value}" for name, value in made.marks)
        paper = Paper(made.units, f"{made.title[:60]}   |   {marks}   |   {NO_PROMISE}", finish)
        for number, part in enumerate(made.parts):
            paper.turn()
            if number == 0:
                _title(paper, made)
            else:
                paper.text(part.title, 15, family="serif", bold=True)
                paper.skip(0.05)
            for section in part.sections:
                if isinstance(section.blocks[0], Sound):
                    continue  # paper does not play
                if section.title:
                    _heading(paper, section.title, 0.4 + _first(paper, section.blocks))
                for block in section.blocks:
                    _block(paper, block)
        paper.close()
    return path


def _title(paper: Paper, made: Document) -> None:
    paper.text(f"Steps from above: {made.title}", 15, family="serif", bold=True)
    paper.text(". ".join(x for x in (f"For {made.client}" if made.client else "", made.subtitle)
                         if x), BODY)  # fmt: skip
    paper.skip(0.05)
    paper.line(paper.y, style.BLACK, weight=2)
    paper.skip(0.1)


def _heading(paper: Paper, title: str, room: float) -> None:
    paper.need(room)
    paper.skip(0.06)
    paper.text(title, 10, bold=True)
    paper.line(paper.y + 0.02, style.GREY, paper.left, paper.left + paper.room)
    paper.skip(0.06)


def _block(paper: Paper, block: Block) -> None:
    match block:
        case Paragraph():
            _paragraph(paper, block)
        case Items():
            _items(paper, block)
        case Table():
            _table(paper, block)
        case Picture():
            _pictures(paper, (block,))
        case Gallery():
            for start in range(0, len(block.pictures), 2):
                _pictures(paper, block.pictures[start : start + 2])
        case Columns():
            _columns(paper, block)
        case Heading():
            _heading(paper, block.text, 0.1)
        case Sheet():
            _sheet(paper, block)
    paper.skip(0.0 if isinstance(block, Gallery | Picture | Columns | Heading) else GAP)


def _first(paper: Paper, blocks: tuple[Block, ...]) -> float:
    """Height of what must not be parted from a heading [in]."""
    match blocks[0]:
        case Picture() | Paragraph():
            return _height(paper, blocks[0], paper.room)
        case Gallery():
            return _height(paper, blocks[0].pictures[0], paper.room / 2)
        case Columns():
            return _columns_height(paper, blocks[0]) - OVERHANG
    return 0.5


def _columns_height(paper: Paper, block: Columns) -> float:
    half = (paper.room - GUTTER) / 2
    return max(sum(_height(paper, b, half) for b in side) for side in (block.left, block.right))


def _columns(paper: Paper, block: Columns) -> None:
    paper.need(_columns_height(paper, block) - OVERHANG)

    def stack(blocks: tuple[Block, ...]) -> None:
        for one in blocks:
            _block(paper, one)

    paper.side_by_side(lambda: stack(block.left), lambda: stack(block.right))


def _height(paper: Paper, block: Block, room: float) -> float:
    """Height of a block in a column [in]."""
    step = BODY * LEADING * POINT
    match block:
        case Paragraph():
            return len(wrapped(plain(block.runs), room - 0.2, BODY)) * step + GAP
        case Items():
            return sum(len(wrapped(plain(i), room - 0.16, BODY)) for i in block.items) * step + GAP
        case Picture():
            caption = len(wrapped(plain(block.caption), room, SMALL)) if block.caption else 0
            return block.height + caption * SMALL * LEADING * POINT
        case Table():
            return _table_height(block, room)
        case Heading():
            return 0.31
    return 0.0


def _items(paper: Paper, block: Items) -> None:
    step = BODY * LEADING * POINT
    for item in block.items:
        paper.need(step)
        paper.place("•", paper.left + 0.03, paper.y + step / 2, BODY)
        paper.text(plain(item), BODY, indent=0.14)


def _sheet(paper: Paper, block: Sheet) -> None:
    size = 8.2  # read on a scaffold
    step = size * 1.22 * POINT
    for line in block.text.splitlines():
        paper.need(step)
        paper.place(line, paper.left, paper.y + step / 2, size, family="mono")
        paper.skip(step)


def _paragraph(paper: Paper, block: Paragraph) -> None:
    text = plain(block.runs)
    if block.kind == "answer":
        top = paper.y
        paper.text(text, 12, family="serif", indent=0.18)
        paper.upright(paper.left + 0.04, top, paper.y, style.VERMILION, 4)
    elif block.kind == "alarm":
        lines = wrapped(text, paper.room - 0.2, BODY, bold=True)
        paper.need(len(lines) * BODY * LEADING * POINT)
        top = paper.y
        paper.text(text, BODY, bold=True, indent=0.2)
        paper.upright(paper.left + 0.06, top, paper.y, style.VERMILION, 6)
    elif block.kind == "note":
        paper.text(text, SMALL, color=style.GREY)
    else:
        paper.text(text, BODY)


def _pictures(paper: Paper, pictures: tuple[Picture, ...]) -> None:
    alone = pictures[0].wide or paper.room < pictures[0].width + GUTTER
    wide = paper.room if alone else (paper.room - GUTTER) / 2
    tall = max(picture.height for picture in pictures)
    captions = [wrapped(plain(p.caption), wide, SMALL) if p.caption else [] for p in pictures]
    step = SMALL * LEADING * POINT
    paper.need(tall + step * max(map(len, captions)) + 0.05)
    for number, (picture, lines) in enumerate(zip(pictures, captions, strict=True)):
        x = paper.left + number * (wide + GUTTER)
        fill(picture, paper.corner(x, wide, picture.height))
        for row, line in enumerate(lines):
            paper.place(line, x, paper.y + tall + step * (row + 0.5), SMALL, color=style.GREY)
    paper.skip(tall + step * max(map(len, captions)))

"""The report as a PDF, drawn with matplotlib alone: the same blocks as the web page."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from pathlib import Path

from impact.report import pdf_table, style
from impact.report.page_blocks import (
    Block,
    Columns,
    Document,
    Gallery,
    Heading,
    Items,
    Paragraph,
    Part,
    Picture,
    Section,
    Sheet,
    Sound,
    Table,
    plain,
)
from impact.report.pdf_paper import GUTTER, POINT, Page, Paper, Setting, printed, wrapped

OVERHANG = 0.1  # in, that columns may reach into the foot's white
SCAFFOLD = 8.2  # points, of sheets: read on a scaffold
NO_PROMISE = "a calculation, not a promise"
_TIGHT = Setting(answer=11.0, body=8.0, table=8.0, note=7.0, gap=0.03)
# Part -> pages that it should fill at most, and settings to try: the most legible first, then those
# that keep the pictures as they are, for these are then drawn once for page and paper.
FITTED: dict[str, tuple[int, tuple[Setting, ...]]] = {
    "client": (1, (
        Setting(table=8.0), Setting(table=8.0, gap=0.04), _TIGHT, replace(_TIGHT, tall=0.85),
        replace(_TIGHT, tall=0.7, leading=1.2),
    )),
    "engineer": (3, (
        Setting(), replace(_TIGHT, table=7.0), replace(_TIGHT, table=7.0, tall=0.9),
        replace(_TIGHT, table=7.0, tall=0.8, leading=1.2),
    )),
}  # fmt: skip


def save(made: Document, path: Path, sheets: list[Page] | None = None) -> Path:
    """Write the report; the same bytes for the same document. sheets : its `pages`, if known."""
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    about = {"CreationDate": None, "Creator": "impact", "Producer": None, "Subject": made.marker,
             "Title": f"{made.title}: steps from above"}  # fmt: skip
    with style.look(), PdfPages(path, metadata=about) as book:
        for page in pages(made) if sheets is None else sheets:
            FigureCanvasPdf(printed(page)).print_pdf(book)  # savefig would draw every page twice
    return path


def pages(made: Document) -> list[Page]:
    """All that stands on paper, page by page."""
    done: list[Page] = []
    for part in made.parts:
        done += _fitted(made, part, len(done) + 1)
    return done


def _fitted(made: Document, part: Part, first: int) -> list[Page]:
    """Pages of a part: in the first setting that keeps to its number of pages, else in the
    first."""
    most, settings = FITTED.get(part.key, (0, (Setting(),)))
    tried = []
    for setting in settings:
        tried.append(_set(made, part, first, setting))
        if len(tried[-1]) <= most:
            return tried[-1]
    return tried[0]


def _set(made: Document, part: Part, first: int, setting: Setting) -> list[Page]:
    """Pages of a part in one setting."""
    marks = ", ".join(f"{name} {value}" for name, value in made.marks)
    title = textwrap.shorten(made.title, 60, placeholder=" …")
    foot = f"{title}   |   {marks}   |   {NO_PROMISE}"
    paper = Paper(made.units, foot, first, setting)
    if part is made.parts[0]:
        _title(paper, made)
    else:
        paper.text(part.title, 15, family="serif", bold=True)
        paper.skip(0.05)
    for section in part.sections:
        if not isinstance(section.blocks[0], Sound):  # paper does not play
            _section(paper, section)
    return paper.pages


def _title(paper: Paper, made: Document) -> None:
    title = f"Steps from above: {made.title}"
    size = 15 if len(wrapped(title, paper.room, 15, "serif", bold=True)) < 3 else 11
    paper.text(title, size, family="serif", bold=True)
    client = f"For {made.client.rstrip('.')}" if made.client else ""
    paper.text(". ".join(filter(None, (client, made.subtitle))), paper.setting.body)
    paper.skip(0.05)
    paper.line(paper.y, style.BLACK, weight=2)
    paper.skip(0.1)


def _section(paper: Paper, section: Section) -> None:
    blocks = tuple(_sized(block, paper.setting.tall) for block in section.blocks)
    if section.title:
        _heading(paper, section.title, 0.4 + _first(paper, blocks))
    for block in blocks:
        _block(paper, block)


def _sized(block: Block, tall: float) -> Block:
    """The block with its pictures so much lower; beside a table that would save nothing."""
    if tall == 1:
        return block

    def sized(stack: tuple[Block, ...]) -> tuple[Block, ...]:
        return tuple(_sized(one, tall) for one in stack)

    match block:
        case Picture():
            return replace(block, height=block.height * tall)
        case Gallery():
            return Gallery(tuple(replace(p, height=p.height * tall) for p in block.pictures))
        case Columns() if not any(isinstance(b, Table) for b in (*block.left, *block.right)):
            return Columns(sized(block.left), sized(block.right))
    return block


def _heading(paper: Paper, title: str, room: float) -> None:
    paper.need(room)
    paper.skip(paper.setting.gap)
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
            pdf_table.draw(paper, block)
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
    if not isinstance(block, Gallery | Picture | Columns | Heading):
        paper.skip(paper.setting.gap)


def _first(paper: Paper, blocks: tuple[Block, ...]) -> float:
    """Height of what must not be parted from a heading [in]."""
    match blocks[0]:
        case Picture() | Paragraph():
            return _height(paper, blocks[0], paper.room)
        case Gallery():
            return _height(paper, blocks[0].pictures[0], paper.room / 2)
        case Columns():
            return _columns_height(paper, blocks[0]) - OVERHANG
        case Table():
            whole = _height(paper, blocks[0], paper.room)
            return whole if whole <= pdf_table.TOGETHER else 0.5
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
    one = paper.setting
    step = one.step(one.body)
    match block:
        case Paragraph():
            return len(wrapped(plain(block.runs), room - 0.2, one.body)) * step + one.gap
        case Items():
            rows = (len(wrapped(plain(item), room - 0.14, one.body)) for item in block.items)
            return sum(rows) * step + one.gap
        case Picture():
            caption = len(wrapped(plain(block.caption), room, one.note)) if block.caption else 0
            return block.height + caption * one.step(one.note)
        case Table():
            return pdf_table.height(block, room, one)
        case Heading():
            return one.gap + one.step(10) + 0.06
    return 0.0


def _items(paper: Paper, block: Items) -> None:
    size = paper.setting.body
    step = paper.setting.step(size)
    for item in block.items:
        paper.need(step)
        paper.place("•", paper.left + 0.03, paper.y + step / 2, size)
        paper.text(plain(item), size, indent=0.14)


def _sheet(paper: Paper, block: Sheet) -> None:
    step = SCAFFOLD * 1.22 * POINT
    for line in block.text.splitlines():
        paper.need(step)
        if line:
            paper.place(line, paper.left, paper.y + step / 2, SCAFFOLD, family="mono")
        paper.skip(step)


def _paragraph(paper: Paper, block: Paragraph) -> None:
    text, size = plain(block.runs), paper.setting.body
    if block.kind == "answer":
        top = paper.y
        paper.text(text, paper.setting.answer, family="serif", indent=0.18)
        paper.upright(paper.left + 0.04, top, paper.y, style.VERMILION, 4)
    elif block.kind == "alarm":
        lines = wrapped(text, paper.room - 0.2, size, bold=True)
        paper.need(len(lines) * paper.setting.step(size))
        top = paper.y
        paper.text(text, size, bold=True, indent=0.2)
        paper.upright(paper.left + 0.06, top, paper.y, style.VERMILION, 6)
    elif block.kind == "note":
        paper.text(text, paper.setting.note, color=style.GREY)
    else:
        paper.text(text, size)


def _pictures(paper: Paper, pictures: tuple[Picture, ...]) -> None:
    alone = pictures[0].wide or paper.room < pictures[0].width + GUTTER
    wide = paper.room if alone else (paper.room - GUTTER) / 2
    tall = max(picture.height for picture in pictures)
    size = paper.setting.note
    captions = [wrapped(plain(p.caption), wide, size) if p.caption else [] for p in pictures]
    step = paper.setting.step(size)
    paper.need(tall + step * max(map(len, captions)) + 0.05)
    for number, (picture, lines) in enumerate(zip(pictures, captions, strict=True)):
        x = paper.left + number * (wide + GUTTER)
        paper.picture(picture, x)
        for row, line in enumerate(lines):
            paper.place(line, x, paper.y + tall + step * (row + 0.5), size, color=style.GREY)
    paper.skip(tall + step * max(map(len, captions)))

"""Tables on paper: columns as wide as their text, long narrow tables in strips side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from impact.report import style
from impact.report.page_blocks import Table, plain
from impact.report.pdf_paper import Paper, Setting, width, wrapped

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

PAD, STRIP = 0.08, 0.25  # in, between columns and between strips
LINE = 0.025  # in, under a row
FEWEST = 3  # rows before a page is turned
TOGETHER = 1.2  # in, a table no taller than this is not parted

Row = list[str]


def draw(paper: Paper, block: Table) -> None:
    """The table in the paper's present column, over pages where it must."""
    setting = paper.setting
    size = setting.tiny if block.small else setting.table
    head, rows = texts(block)
    columns = widths([*head, *rows], paper.room, size)
    whole = height(block, paper.room, setting)
    begun = _caption(block, paper.room, setting) + sum(
        _tall(row, columns, setting, size) for row in (*head, *rows[:FEWEST])
    )
    paper.need(whole if whole <= TOGETHER else begun)
    if block.caption:
        paper.text(block.caption, setting.note, color=style.GREY)
    broad = sum(columns) + PAD * (len(columns) - 1)
    for stacks in _pages(paper, head, rows, columns, size, _strips(block, columns, paper.room)):
        top, left, deepest = paper.y, paper.left, paper.y
        for stack in stacks:
            paper.y = top
            for number, row in enumerate([*head, *stack]):
                _row(paper, row, columns, size, block.numeric, number < len(head))
            deepest = max(deepest, paper.y)
            paper.left += broad + STRIP
        paper.left, paper.y = left, deepest


def height(block: Table, room: float, setting: Setting) -> float:
    """Height in a column of width `room` [in]."""
    size = setting.tiny if block.small else setting.table
    head, rows = texts(block)
    columns = widths([*head, *rows], room, size)
    tall = [_tall(row, columns, setting, size) for row in rows]
    strips = _strips(block, columns, room)
    stack = sum(tall) if strips == 1 else sum(tall) / strips + max(tall)
    stack += sum(_tall(row, columns, setting, size) for row in head)
    return stack + _caption(block, room, setting) + setting.gap + 0.02


def _caption(block: Table, room: float, setting: Setting) -> float:
    """Height of the caption [in]."""
    lines = len(wrapped(block.caption, room, setting.note)) if block.caption else 0
    return lines * setting.step(setting.note)


def _strips(block: Table, columns: Sequence[float], room: float) -> int:
    """How often a table to look up stands side by side."""
    whole = sum(columns) + PAD * (len(columns) - 1)
    return max(int((room + STRIP) / (whole + STRIP)), 1) if block.small else 1


def texts(block: Table) -> tuple[list[Row], list[Row]]:
    """Head (one row or none) and rows as plain text."""
    head = [list(block.head)] if any(block.head) else []
    return head, [[plain(cell) for cell in row] for row in block.rows]


def widths(rows: Sequence[Row], room: float, size: float) -> list[float]:
    """Width of each column [in]: as wide as its text, or a fair share where all do not fit, but
    wide enough for its longest word where the others leave that."""
    columns = list(zip(*rows, strict=True))
    wanted = [_broadest(column, size) for column in columns]
    words = [_broadest([word for cell in column for word in cell.split()], size)
             for column in columns]  # fmt: skip
    left, open_ones = room - PAD * (len(wanted) - 1), set(range(len(wanted)))
    found = list(wanted)
    while open_ones and sum(wanted[i] for i in open_ones) > left:
        fair = left / len(open_ones)
        settled = {i for i in open_ones if wanted[i] <= fair}
        if not settled:
            settled = {i for i in open_ones if words[i] > fair}
            if sum(words[i] for i in open_ones) > left:
                settled = set()
            for i in open_ones:
                found[i] = words[i] if i in settled else fair
        if not settled:
            break
        left -= sum(found[i] for i in settled)
        open_ones -= settled
    return found


def _broadest(texts: Sequence[str], size: float) -> float:
    """Width [in] that the broadest of some texts takes."""
    return max((width(text, size, bold=True) for text in texts), default=0.0) + 0.02


def _tall(row: Row, columns: Sequence[float], setting: Setting, size: float) -> float:
    """Height of a row with its line [in]; as a head it is no lower."""
    lines = max(
        len(wrapped(cell, room, size, bold=True)) for cell, room in zip(row, columns, strict=True)
    )
    return lines * setting.step(size) + LINE


def _pages(
    paper: Paper, head: list[Row], rows: list[Row], columns: Sequence[float], size: float,
    strips: int,
) -> Iterator[list[list[Row]]]:  # fmt: skip
    """Stacks of rows that stand side by side, page by page; turns the page between them."""
    top = sum(_tall(row, columns, paper.setting, size) for row in head)
    tall = [_tall(row, columns, paper.setting, size) for row in rows]
    first = 0
    while first < len(rows):
        paper.need(top + sum(tall[first : first + FEWEST]))
        share = sum(tall[first:]) / strips + max(tall)
        most = min(paper.left_over - top, share) if strips > 1 else paper.left_over - top
        stacks = []
        for _ in range(strips):
            last, filled = first, 0.0
            while last < len(rows) and (last == first or filled + tall[last] <= most):
                filled += tall[last]
                last += 1
            if last > first:
                stacks.append(rows[first:last])
            first = last
        yield stacks


def _row(
    paper: Paper, cells: Row, columns: Sequence[float], size: float, numeric: bool, head: bool
) -> None:
    step = paper.setting.step(size)
    lines = [wrapped(c, room, size, bold=head) for c, room in zip(cells, columns, strict=True)]
    x = paper.left
    for number, (room, cell) in enumerate(zip(columns, lines, strict=True)):
        right = numeric and number > 0
        for row, line in enumerate(cell):
            paper.place(
                line, x + room if right else x, paper.y + step * (row + 0.5), size,
                right=right, bold=head,
            )  # fmt: skip
        x += room + PAD
    paper.skip(step * max(map(len, lines)) + LINE / 2)
    color, weight = (style.GREY, 0.8) if head else ("#e5e5e5", 0.4)
    paper.line(paper.y, color, paper.left, x - PAD, weight)
    paper.skip(LINE / 2)

"""The report on paper: one sheet for the client, nothing off the paper, all that the page says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from impact.report import page, pdf, pdf_paper, pdf_table, style
from impact.report.page_blocks import Columns, Items, Paragraph, Table, plain
from impact.report.pdf_paper import MARGIN, Paper, Setting, width, wrapped

LONG = ("The upper flat of the house behind the bakery, second staircase, left hand side, rear "
        "bedroom above the practice room")  # fmt: skip


@pytest.fixture(scope="module")
def printed(report):
    """The document with another design beside it, and its pages."""
    return report, pdf.pages(report)


def first_of_the_engineer(pages):
    return next(i for i, sheet in enumerate(pages) for line in sheet.lines
                if line.text == "For the engineer")  # fmt: skip


def assert_one_sheet(pages):
    assert first_of_the_engineer(pages) == 1
    assert any(line.text == "What to do next" for line in pages[0].lines)
    # What is read as text: 8 points, which notes under tables and the foot are not.
    sizes = {line.size for line in pages[0].lines}
    assert min(size for size in sizes if size > 7.3) >= 8.0
    notes = [line.text for line in pages[0].lines if line.size < 8.0]
    assert len(notes) <= 12


def test_the_client_has_one_sheet(printed):
    assert_one_sheet(printed[1])


@pytest.mark.parametrize("others", [0, 1, 3])
def test_long_names_prices_and_other_designs_keep_to_one_sheet(predicted, others):
    made = predicted("01_basement_rental.toml")  # has prices and walls that carry more
    assert made.design.prices
    named = replace(made.design, name=LONG, note=LONG, options={**made.design.options,
                    "client": LONG})  # fmt: skip
    beside = replace(made, design=replace(made.design, name=f"Also {LONG}"))
    assert_one_sheet(pdf.pages(page.document(replace(made, design=named), [beside] * others)))


def test_three_pages_for_the_engineer(predicted):
    pages = pdf.pages(page.document(predicted("01_basement_rental.toml")))
    contractor = next(i for i, sheet in enumerate(pages) for line in sheet.lines
                      if line.text == "For the contractor")  # fmt: skip
    assert contractor - first_of_the_engineer(pages) == 3


def test_nothing_is_off_the_paper(printed):
    lines = [(sheet, line) for sheet in printed[1] for line in sheet.lines]
    assert len(lines) > 500
    for sheet, line in lines:
        # 0.03 in: kerning, which the measure leaves out
        assert line.x >= MARGIN - 0.03, line.text
        assert line.end <= sheet.wide - MARGIN + 0.03, line.text
        assert 0.5 < line.y < sheet.tall - 0.4, line.text
    for sheet in printed[1]:
        for picture, left, top in sheet.pictures:
            assert left + picture.width <= sheet.wide - MARGIN + 0.03, picture.alt
            assert top + picture.height < sheet.tall - 0.5, picture.alt


def test_no_picture_reaches_into_its_caption(printed):
    """Axes with their labels end where the picture ends; 0.03 in, a hair line and kerning."""
    for sheet in printed[1]:
        for picture, _, _ in sheet.pictures:
            with style.look():
                boxes = [ax.get_tightbbox() for ax in picture.figure.axes]
            low = min(box.y0 for box in boxes if box is not None) / picture.figure.dpi
            assert low > -0.03, picture.alt


def test_nothing_lies_on_another_thing(printed):
    """No line of text stands where a picture or another line of its page stands."""
    for sheet in printed[1]:
        lines = [line for line in sheet.lines if line.text.strip()]
        boxes = [(line.x, line.y - 0.6 * line.size / 72, line.end, line.y) for line in lines]
        boxes += [(x, y, x + p.width, y + p.height) for p, x, y in sheet.pictures]
        for i, one in enumerate(boxes):
            for other in boxes[i + 1 :]:
                across = min(one[2], other[2]) - max(one[0], other[0])
                down = min(one[3], other[3]) - max(one[1], other[1])
                assert across < 0.03 or down < 0.01, (one, other)  # in; kerning, as above


def words(block):
    if isinstance(block, Columns):
        return [w for side in (block.left, block.right) for one in side for w in words(one)]
    if isinstance(block, Paragraph):
        return plain(block.runs).split()
    if isinstance(block, Items):
        return [w for item in block.items for w in plain(item).split()]
    if isinstance(block, Table):
        return [w for row in block.rows for cell in row for w in plain(cell).split()]
    return []


def test_the_paper_says_what_the_page_says(printed):
    made, pages = printed
    on_paper = {word for sheet in pages for line in sheet.lines for word in line.text.split()}
    for part in made.parts:
        for section in part.sections:
            for block in section.blocks if section.title != "Listen" else ():  # paper is silent
                missing = [w for w in words(block) if w not in on_paper and len(w) < 25]
                assert not missing, section.title


def test_width_of_a_line():
    # DejaVu Sans: the advance of "0" is 1303 units of 2048 (its hmtx table), so ten of them at
    # 12 points are 10 * 1303/2048 * 12/72 = 1.0604 in. 1e-3: the font's own rounding to 26.6.
    assert width("0" * 10, 12) == pytest.approx(1.0604, rel=1e-3)
    assert width("0" * 10, 12, "mono") == pytest.approx(10 * 1233 / 2048 / 6, rel=1e-3)


def test_letters_that_the_font_lacks_are_boxes(predicted):
    """Glyph 0 of DejaVu Sans is 1229 units of 2048 wide (its hmtx table)."""
    assert width("房" * 10, 12) == pytest.approx(10 * 1229 / 2048 / 6, rel=1e-3)
    made = predicted("01_basement_rental.toml")
    named = replace(made.design, name="房间 🏠")
    assert_one_sheet(pdf.pages(page.document(replace(made, design=named))))


def test_wrapping_breaks_words_that_are_too_wide():
    lines = wrapped("a " + "m" * 50, 1.0, 9)
    assert len(lines) > 2
    assert all(width(line, 9) <= 1.0 for line in lines)
    assert "".join(lines).replace(" ", "") == "a" + "m" * 50
    assert pdf_paper.wrapped("", 1.0, 9) == [""]


def test_a_caption_is_not_parted_from_its_table():
    """At every height of the page that is left: the caption stands on the page of the head and of
    the first rows."""
    cell = ("a cell of many words that wants some lines of its own",)
    rows = ((cell, cell, cell),) * 9
    block = Table(("one", "two", "three"), rows, "A caption.")
    for left in (0.2, 0.4, 0.6, 0.8, 1.0, 1.3):
        paper = Paper("metric", "foot", 1, Setting())
        paper.room = 3.0
        paper.skip(paper.left_over - left)
        pdf_table.draw(paper, block)
        (sheet,) = [s for s in paper.pages if any(x.text == "A caption." for x in s.lines)]
        texts = [x.text for x in sheet.lines]
        assert "one" in texts
        assert sum(text.startswith("a cell") for text in texts) >= 9  # three rows of three cells

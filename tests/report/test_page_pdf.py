"""The report on paper: one sheet for the client, nothing off the paper, all that the page says."""

from __future__ import annotations

import pytest

from impact.report import pdf, pdf_paper
from impact.report.page_blocks import Columns, Items, Paragraph, Table, plain
from impact.report.pdf_paper import MARGIN, Paper, width, wrapped


@pytest.fixture(scope="module")
def printed(report, tmp_path_factory):
    """The document with another design beside it, and every line set: page, text, ends, height."""
    lines = []

    class Watched(Paper):
        def place(self, text, x, y, size, *, family="sans", bold=False, right=False, **look):
            long = width(text, size, family, bold)
            left = x - long if right else x
            lines.append((self.number, text, left, left + long, y, self.wide, self.tall))
            look |= {"family": family, "bold": bold, "right": right}
            super().place(text, x, y, size, **look)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pdf, "Paper", Watched)
        pdf.save(report, tmp_path_factory.mktemp("paper") / "report.pdf")
    return report, lines


def test_the_client_has_one_sheet(printed):
    _, lines = printed
    first = next(number for number, text, *_ in lines if text == "For the engineer")
    assert first == 2
    assert any(number == 1 and text == "What to do next" for number, text, *_ in lines)


def test_nothing_is_off_the_paper(printed):
    _, lines = printed
    assert len(lines) > 500
    for number, text, left, right, y, wide, tall in lines:
        # 0.03 in: kerning, which the measure leaves out
        assert left >= MARGIN - 0.03, (number, text)
        assert right <= wide - MARGIN + 0.03, (number, text)
        assert 0.5 < y < tall - 0.4, (number, text)


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
    made, lines = printed
    on_paper = {word for _, text, *_ in lines for word in text.split()}
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


def test_wrapping_breaks_words_that_are_too_wide():
    lines = wrapped("a " + "m" * 50, 1.0, 9)
    assert len(lines) > 2
    assert all(width(line, 9) <= 1.0 for line in lines)
    assert "".join(lines).replace(" ", "") == "a" + "m" * 50
    assert pdf_paper.wrapped("", 1.0, 9) == [""]

"""Letters that the drawings' own font lacks: taken from another font, else told of once."""

from __future__ import annotations

import logging

import pytest
from click.testing import CliRunner

from impact.cli.main import main
from impact.report import letters, pdf_paper, style

HOOKED = "\u1d81"  # a d with a hook: not in DejaVu Sans, in STIXGeneral; matplotlib brings both
ROOM = "\u5ba2\u5385"  # a living room


@pytest.fixture
def bare(monkeypatch):
    """A machine with no fonts but matplotlib's own DejaVu."""
    from matplotlib import font_manager

    own = [one for one in font_manager.fontManager.ttflist if one.name.startswith("DejaVu Sans")]
    letters._found.cache_clear()
    monkeypatch.setattr(font_manager.fontManager, "ttflist", own)
    yield
    letters._found.cache_clear()


@pytest.mark.parametrize("text", ["Room 2", "Küche, 12 m², 3 µm", "Łódź", "Кухня", "room\n\tabove"])
def test_what_the_own_font_has_needs_no_other(text):
    assert letters.lacking(text) == frozenset()
    assert letters.fonts(text) == ()
    assert letters.boxes([text]) == ""


def test_a_letter_is_taken_from_a_font_that_has_it():
    assert letters.fonts(f"a{HOOKED}b")
    with style.look():
        drawing = style.figure()
        drawing.suptitle(f"Room {HOOKED}")
        drawing.text(0.5, 0.5, "plain")
    letters.lettered(drawing)
    families = {text.get_text(): text.get_fontfamily() for text in drawing.texts}
    assert families["plain"] == ["DejaVu Sans"]
    assert drawing.get_suptitle() == f"Room {HOOKED}"
    title = drawing._suptitle.get_fontfamily()
    assert title[0] == "DejaVu Sans"
    assert len(title) > 1


def test_a_letter_of_another_font_is_as_wide_as_there():
    """Not the width of DejaVu's box, 0.6 of its size (its glyph 0)."""
    (name, *_) = letters.fonts(HOOKED)
    from matplotlib.font_manager import findfont
    from matplotlib.ft2font import FT2Font, LoadFlags

    font = FT2Font(findfont(name))
    font.set_size(100, 72)
    wide = font.load_char(ord(HOOKED), flags=LoadFlags.NO_HINTING).linearHoriAdvance / 65536
    assert pdf_paper.width(HOOKED, 100) * 72 == pytest.approx(wide)


@pytest.mark.filterwarnings("error")
def test_letters_of_no_font_are_told_of_and_drawn_as_boxes(bare, tmp_path, caplog):
    said = letters.boxes([ROOM, "Room"])
    assert said.startswith(f"no font of this machine has the letters {''.join(sorted(ROOM))}: ")
    with style.look():
        drawing = style.figure()
        drawing.suptitle(ROOM, fontweight="bold")
    with caplog.at_level(logging.WARNING):
        style.save(drawing, tmp_path / "room.png")
    assert not caplog.records


def test_a_command_says_it_once_beside_its_answer(bare, tmp_path):
    text = tmp_path / "room.toml"
    made = CliRunner().invoke(main, ["init", str(text)])
    assert made.exit_code == 0, made.output
    text.write_text(text.read_text("utf-8").replace('"My room"', f'"{ROOM}"'), "utf-8")
    asked = ["layout", str(text), "-o", str(tmp_path / "sheet"), "--drawings", "png,svg"]
    result = CliRunner().invoke(main, asked)
    assert result.exit_code == 0, result.output
    assert result.stderr.count("no font of this machine has the letters") == 1
    assert "no font" not in result.stdout

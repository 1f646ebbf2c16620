"""Letters that the fonts of drawings and paper lack, of a room's name in Chinese, say.

The fonts are those that come with matplotlib, so that a drawing is the same everywhere. A letter
that these lack is taken from a font of the machine that has it; where none has, it is a box, and
`boxes` says so.
"""

from __future__ import annotations

import logging
import warnings
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matplotlib.figure import Figure

PLAIN = "DejaVu Sans"
_NO_LETTERS = "Last Resort"  # a font of boxes
_REGULAR = range(350, 550)  # weights


@contextmanager
def quietly() -> Iterator[None]:
    """No word of matplotlib's on letters and weights that fonts lack: `boxes` tells them once."""
    log = logging.getLogger("matplotlib.font_manager")
    before = log.level
    log.setLevel(logging.ERROR)
    try:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", "Glyph .* missing from")
            yield
    finally:
        log.setLevel(before)


@cache
def _font(path: Any) -> Any:
    """A font opened for its list of letters; None where it cannot be drawn from."""
    from matplotlib.ft2font import FT2Font

    try:
        font = FT2Font(path)
    except (OSError, RuntimeError):
        return None
    return font if font.scalable else None


def _has(path: Any, letter: str) -> bool:
    font = _font(path)
    return font is not None and font.get_char_index(ord(letter)) != 0


def lacking(text: str) -> frozenset[str]:
    """Letters of `text` that the drawings' own font has not."""
    if text.isascii():
        return frozenset()
    from matplotlib.font_manager import findfont

    own = findfont(PLAIN)
    return frozenset(letter for letter in text if letter.isprintable() and not _has(own, letter))


def fonts(text: str) -> tuple[str, ...]:
    """Names of fonts of this machine that have what the drawings' own lacks of `text`."""
    return _found(lacking(text))[0]


@cache
def _found(wanted: frozenset[str]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Fonts for these letters, those first that have most of them, and the letters of none."""
    from matplotlib.font_manager import FontProperties, findfont, fontManager

    if not wanted:
        return (), wanted
    there = {
        entry.name for entry in fontManager.ttflist
        if entry.weight in _REGULAR and entry.style == "normal"
        and not entry.name.startswith(_NO_LETTERS)
    }  # fmt: skip
    having: dict[str, frozenset[str]] = {}
    with quietly():
        for name in there:
            chosen = findfont(FontProperties(family=name))
            having[name] = frozenset(letter for letter in wanted if _has(chosen, letter))
    names, left = [], wanted
    while having and left:
        best = max(sorted(having), key=lambda name: len(having[name] & left))
        if not having[best] & left:
            break
        names.append(best)
        left -= having.pop(best)
    return tuple(names), left


def lettered(drawing: Figure) -> None:
    """Give every text of a figure the fonts that its letters need, before it is drawn."""
    from matplotlib.text import Text

    if not lacking(written(drawing)):
        return
    for ax in drawing.axes:  # names on an axis are texts only when asked for
        ax.get_xticklabels(), ax.get_yticklabels()
    for text in drawing.findobj(Text):
        if others := fonts(text.get_text()):
            text.set_fontfamily([*text.get_fontfamily(), *others])


def written(drawing: Figure) -> str:
    """All text of a figure."""
    from matplotlib.text import Text

    return "\n".join(text.get_text() for text in drawing.findobj(Text))


def boxes(texts: Iterable[str]) -> str:
    """What to say of letters for which no font is at hand; empty where there are none."""
    left = sorted(_found(lacking("".join(texts)))[1])
    if not left:
        return ""
    some = "".join(left[:8]) + (" ..." if len(left) > 8 else "")
    return (
        f"no font of this machine has the letters {some}: they are boxes in what was drawn, and "
        "stand in text files and HTML as they are"
    )

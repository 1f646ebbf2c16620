"""Lines of text that fit 80 columns: headings, wrapped sentences, indented lists."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

WIDTH = 80


def heading(title: str) -> list[str]:
    """An empty line, the title and a rule below it."""
    return ["", title, "-" * len(title)]


def wrapped(text: str, first: str = "", later: str | None = None) -> list[str]:
    """`text` broken at WIDTH columns; `first` and `later` are the indents, `later` as `first`."""
    after = " " * len(first) if later is None else later
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=after, break_on_hyphens=False
    ) or [first.rstrip()]


def signed(value: float, digits: int = 0) -> str:
    """A difference with its sign, and no sign for what rounds to nothing: '+4', '-2.5', '0'."""
    shown = f"{value:+.{digits}f}"
    return shown[1:] if float(shown) == 0 else shown


def numbers(places: Iterable[int]) -> str:
    """Places (from 0, rising) as printed numbers, runs of three and more joined: '1, 2, 5 to 9'."""
    runs: list[list[int]] = []
    for number in (place + 1 for place in places):
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    short = (f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs)
    return ", ".join(short)


def cautions(said: Iterable[str]) -> list[str]:
    """The cautions that end a page, under their heading."""
    return heading("Cautions") + [line for one in said for line in wrapped(one, "- ")]

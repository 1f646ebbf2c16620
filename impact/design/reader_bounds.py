"""What a design file may be before its keys are looked at: small, shallow, plain text.

A hand-written design has a few hundred values. The bounds are far above that and keep every refusal
quick: the file that breaks one is no design, and a list of its single faults would help nobody.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from typing import Any

from impact.design.checks import join
from impact.errors import Fault

DOTS = 200  # on one line outside quotes; a dotted key that deep takes the parser minutes
DEPTH = 12  # tables within tables; the schema needs 5
VALUES = 5_000  # in the whole file; 1000 hangers by position take 3000
TEXT = 2_000  # characters of one text
NAME = 200  # characters of one key
SHOWN = 40  # faults printed; the rest is counted
_QUOTED = re.compile(r'"[^"\n]*"|\'[^\'\n]*\'')


def dotted(text: str) -> Fault | None:
    """The fault of a line with a key of absurd depth, before the text is parsed; or None."""
    for number, line in enumerate(text.split("\n"), start=1):
        if line.count(".") > DOTS and _QUOTED.sub("", line).count(".") > DOTS:
            return Fault(f"line {number}", f"has more than {DOTS} dots; keys are a few names deep")
    return None


def bounded(raw: dict[str, Any]) -> list[Fault]:
    """Faults of a parsed file as a whole: too deep, too many values, unprintable characters.

    raw : the file's tree as tomllib gives it.
    """
    faults: list[Fault] = []
    for count, (path, depth, value, most) in enumerate(_walk(raw)):
        if depth > DEPTH:
            return [Fault(path, f"lies {depth} tables deep; at most {DEPTH}")]
        if count > VALUES:
            return [Fault("file", f"has more than {VALUES} values; a design has a few hundred")]
        if isinstance(value, str):
            faults += [Fault(path, what) for what in _text_faults(value, most)]
    return faults


def shown(faults: list[Fault]) -> list[Fault]:
    """The first faults, and how many more there are."""
    if len(faults) <= SHOWN:
        return faults
    more = f"and {len(faults) - SHOWN} more faults; mend these first"
    return [*faults[:SHOWN], Fault("file", more)]


def _walk(tree: Any) -> Iterator[tuple[str, int, Any, int]]:
    """(key path, depth, value, longest text) of everything in the tree, keys as well."""
    waiting: list[tuple[str, int, Any]] = [("", 0, tree)]
    while waiting:
        path, depth, value = waiting.pop()
        yield path, depth, value, TEXT
        if depth > DEPTH:
            continue
        if isinstance(value, dict):
            for key, below in value.items():
                yield join(path, key or "''"), depth, key, NAME
                waiting.append((join(path, key), depth + 1, below))
        elif isinstance(value, list):
            waiting += [(f"{path}[{i}]", depth + 1, below) for i, below in enumerate(value)]


def _text_faults(text: str, most: int) -> Iterator[str]:
    """Too long, or with a character that is neither printable nor a space, line end or tab."""
    if not text and most == NAME:
        yield "a key without a name; take it out or name it"
    if len(text) > most:
        yield f"text of {len(text)} characters; at most {most}"
    for one in text:
        if not one.isprintable() and one not in "\n\r\t" and unicodedata.category(one) != "Zs":
            yield f"holds the character U+{ord(one):04X}, which cannot be printed; take it out"
            return

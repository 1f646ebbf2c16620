"""What a row of the design file's schema is. The rows themselves are in schema_*.py.

Every key of the file is one `Key`: what it holds, its unit, its range, its default and why. The
reader checks with it; the starter and the documentation are made from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

Bound = str | float


@dataclass(frozen=True)
class Key:
    """One key of a table of the design file.

    holds : "quantity" (string with unit), "number", "count", "text", "choice", "flag", "name" (of a
        catalogue entry), "any" (checked by the builder), "table", "tables".
    hard : lowest and highest value the models are made for; outside it the file is refused.
    usual : sensible range with its source; outside it a warning.
    default, why : what is used when the key is left out, and for what reason.
    spread : plausible low and high of the default.
    """

    name: str
    holds: str
    help: str
    dimension: str = ""
    hard: tuple[Bound, Bound] | None = None
    usual: tuple[Bound, Bound, str] | None = None
    default: Any = None
    why: str = ""
    spread: tuple[Bound, Bound] | None = None
    choices: tuple[str, ...] = ()
    meant: tuple[tuple[str, str], ...] = ()  # other words people use, and the choice to suggest
    kinds: tuple[str, ...] = ()  # of catalogue entries, for holds == "name"
    instead: str = ""  # what to write where no such entry is meant, told when a name is not found
    required: bool = False


def quantity(name: str, dimension: str, hard: tuple[str, str], help: str, **more: Any) -> Key:
    """A physical quantity, written as a string with its unit, or {value, low, high}."""
    return Key(name, "quantity", help, dimension, hard, **more)


def number(name: str, hard: tuple[float, float], help: str, **more: Any) -> Key:
    """A pure number: ratio, loss factor, level, price."""
    return Key(name, "number", help, "", hard, **more)


def count(name: str, hard: tuple[int, int], help: str, **more: Any) -> Key:
    """A whole number."""
    return Key(name, "count", help, "", hard, **more)


def words(name: str, help: str, **more: Any) -> Key:
    """Free text."""
    return Key(name, "text", help, **more)


def choice(name: str, choices: tuple[str, ...], help: str, **more: Any) -> Key:
    """One of a few words."""
    return Key(name, "choice", help, choices=choices, **more)


def flag(name: str, help: str, **more: Any) -> Key:
    """true or false."""
    return Key(name, "flag", help, **more)


def named(name: str, kinds: tuple[str, ...], help: str, **more: Any) -> Key:
    """The name of a catalogue entry or of one of the file's own tables."""
    return Key(name, "name", help, kinds=kinds, **more)


def anything(name: str, help: str, **more: Any) -> Key:
    """A value whose form the builder checks."""
    return Key(name, "any", help, **more)


def table(name: str, help: str, **more: Any) -> Key:
    """A table, read by itself with its own rows."""
    return Key(name, "table", help, **more)


def tables(name: str, help: str, **more: Any) -> Key:
    """An array of tables, each read with its own rows."""
    return Key(name, "tables", help, **more)

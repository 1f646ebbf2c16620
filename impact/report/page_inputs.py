"""The inputs of a design as written in its file, with what was left out and used instead."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from impact.errors import InputError
from impact.report.page_blocks import Table

if TYPE_CHECKING:
    from impact.design.parts import Design

ABOVE = ("project.name", "project.note", "project.client")  # stand at the head of the report


def tables(design: Design) -> tuple[Table, Table]:
    """What the file gives, as it is written there; and the defaults, each with its source."""
    written = tuple(((path,), (value,)) for path, value in given(design)
                    if path not in ABOVE)  # fmt: skip
    used = tuple(((d.path,), (d.value,), (d.source,)) for d in design.defaults)
    return (
        Table(("Given in the design file", "as written"), written, small=True),
        Table(("DEFAULT, left out of the file", "used instead", "source"), used, small=True),
    )


def given(design: Design) -> list[tuple[str, str]]:
    """Key path and value of everything in the design's file; empty when it cannot be read."""
    from impact.base.files import read_text

    if not design.path:
        return []
    try:
        raw = tomllib.loads(read_text(design.path))
    except (InputError, tomllib.TOMLDecodeError):
        return []
    return list(_flat(raw, ""))


def _flat(raw: Any, path: str) -> Any:
    if isinstance(raw, dict):
        for key, value in raw.items():
            yield from _flat(value, f"{path}.{key}" if path else str(key))
    elif isinstance(raw, list) and any(isinstance(value, dict | list) for value in raw):
        for number, value in enumerate(raw):
            yield from _flat(value, f"{path}[{number}]")
    elif isinstance(raw, list):
        yield path, ", ".join(str(value) for value in raw)
    else:
        yield path, str(raw)

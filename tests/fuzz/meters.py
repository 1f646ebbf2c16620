"""Exports of meters, mutated: what is read must be written in the file."""

from __future__ import annotations

import importlib.util
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from impact.site import meter

from . import mutate, trials
from .trials import ACCEPTED, Wrong

WRITERS = Path(__file__).parents[1] / "site" / "meter_files.py"
# Every number at every place, with point, comma or neither: "50,67.3" holds 50, 50.67 and 67.3.
NUMBER = re.compile(r"(?<![\d])(?=(-?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?))")
NOT_A_WRITER = ("comma", "bomb")  # a helper, and a file that must be refused


def originals() -> dict[str, bytes]:
    """Name -> bytes of every invented export of the tests."""
    spec = importlib.util.spec_from_file_location("meter_files", WRITERS)
    assert spec is not None
    assert spec.loader is not None
    module: Any = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    found = {}
    for name, writer in vars(module).items():
        if callable(writer) and getattr(writer, "__module__", "") == "meter_files":
            if name in NOT_A_WRITER or writer.__code__.co_argcount:
                continue
            made = writer()
            if isinstance(made, str | bytes):
                found[name] = made.encode() if isinstance(made, str) else made
    return found


def run(count: int, seed: int, folder: Path) -> Iterator[tuple[str, str, str]]:
    """(kind, seed, verdict) of `count` mutated exports."""
    known = originals()
    for number in range(count):
        label = f"{seed}/meter/{number}"
        rng = random.Random(label)
        name = rng.choice(sorted(known))
        content = mutated(known[name], rng)
        path = folder / ("fuzzed.xlsx" if known[name].startswith(b"PK") else "fuzzed.csv")
        yield (
            "meter file",
            label,
            trials.judged(lambda content=content, path=path: trial(content, path)),
        )


def mutated(content: bytes, rng: random.Random) -> bytes:
    """A mutant of an export: bytes, lines, or single cells."""
    text = content.decode("latin-1")  # keeps every byte
    if content.startswith(b"PK") or rng.random() < 0.3:
        return (
            mutate.KINDS["bytes"][0](text, rng)
            .content.decode("utf-8", "replace")
            .encode("latin-1", "replace")
        )
    if rng.random() < 0.3:
        return mutate.KINDS["lines"][0](text, rng).content.decode("utf-8").encode("latin-1")
    mark = rng.choice([mark for mark in (";", "\t", ",", " ") if mark in text] or ["\n"])
    cells = text.split(mark)
    for _ in range(rng.choice((1, 1, 3))):
        cells[rng.randrange(len(cells))] = rng.choice(trials.NASTY_CELLS)
    return mark.join(cells).encode("latin-1", "replace")


def trial(content: bytes, path: Path) -> str:
    """Read one export; every level must stand in the file as a number, every band once."""
    path.write_bytes(content)
    found = meter.load(str(path))
    written = numbers(content) if path.suffix == ".csv" else set()
    for series in found.series:
        values = [value for value in series.values if value is not None]  # gaps are None
        trials.finite(values, "level")
        rising = sorted(set(series.bands))
        if list(series.bands) != rising or len(series.bands) != len(series.values):
            raise Wrong(f"bands {series.bands} do not rise once each")
        lost = [x for x in values if written and round(float(x), 6) not in written]
        if lost:
            raise Wrong(f"levels {lost[:4]} do not stand in the file")
    return ACCEPTED


def numbers(content: bytes) -> set[float]:
    """Every number that stands in a text, with a comma or a point for the decimal mark."""
    found: set[float] = set()
    for coding in ("utf-8", "utf-16", "utf-16-le", "utf-16-be", "cp1252"):
        text = content.decode(coding, "ignore").replace("\u2212", "-")
        for match in NUMBER.finditer(text):
            whole = re.split(r"[.,]", match[1])[0] or "0"
            whole = "0" if whole == "-" else whole
            found |= {round(float(each.replace(",", ".")), 6) for each in (match[1], whole)}
    return found

"""One trial: a mutant is handed to the program, and what comes back is judged.

Verdicts: "accepted", "rejected" (an `InputError` that is fit to be read), or "CRASH: ..." for a
traceback, a hang, a message nobody can act on, or a value that is not what was written.
"""

from __future__ import annotations

import dataclasses
import math
import random
import re
import signal
import tomllib
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from impact import gravity
from impact.design.parts import Design
from impact.design.placing import place
from impact.design.reader import read
from impact.errors import InputError
from impact.rating import sheet
from impact.rating.reader import read_spectrum

from . import mutate
from .mutate import Mutant

HANG = 5.0  # s of processor time; no refusal and no reading may take longer
LONGEST_MESSAGE = 20_000  # characters of one report; more than that is not read
ACCEPTED, REJECTED = "accepted", "rejected"
# rigid by choice, see parts.py
MAY_BE_INFINITE = {"shear", "shear_stiffness", "slip_modulus_per_length", "own_resonance"}
CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e]")


class Hang(BaseException):
    """A trial that took more than HANG seconds."""


class Wrong(AssertionError):
    """A value or message that is not what it must be."""


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Raise `Hang` after that much processor time of this process."""

    def stop(*_: Any) -> None:
        raise Hang(f"more than {seconds:g} s")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def judged(trial: Callable[[], str], seconds: float = HANG) -> str:
    """Verdict of a trial, whatever it does; more than `seconds` of processor time is a crash."""
    try:
        with at_most(seconds):
            return trial()
    except InputError as error:
        try:
            fit_to_read(error)
        except Wrong as wrong:
            return f"CRASH: {wrong}"
        return REJECTED
    except (Exception, Hang) as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        place_of = f"{Path(last.filename).name}:{last.lineno}"
        return f"CRASH: {type(error).__name__} at {place_of}: {str(error)[:200]}"


def fit_to_read(error: InputError) -> None:
    """A message names the file and for each fault its place and what is wrong, on clean lines."""
    text = str(error)
    if not error.faults:
        raise Wrong("refused without a fault")
    if any(not fault.where.strip() or len(fault.what.strip()) < 8 for fault in error.faults):
        raise Wrong(f"a fault without place or reason: {text[:200]!r}")
    if len(text) > LONGEST_MESSAGE:
        raise Wrong(f"message of {len(text)} characters: {text[:100]!r}")
    body = text.removeprefix(error.path)
    if CONTROL.search(body):
        raise Wrong(f"control characters in the message: {text[:300]!r}")
    text.encode("utf-8")


# m: hangers hang from joists, and a spacing so near to a multiple of theirs is that multiple
TAKEN_AS = {("hangers", "hanger_spacing"): 0.003}


def design(original: Design, text: str, mutant: Mutant, folder: Path) -> str:
    """Read a mutant of the design file `text`; what is accepted must be what is written."""
    path = folder / "fuzzed.toml"
    path.write_bytes(mutant.content)
    try:
        found = read(path)
    except InputError:
        if mutant.same:
            raise Wrong("another writing of the same design was refused") from None
        raise
    finite(found)
    if mutant.same and meaning(found) != meaning(original):
        raise Wrong("another writing of the same design was read differently")
    if mutant.length is not None:
        key, metres = mutant.length
        value = mutate.LENGTHS[key](found)
        # a few roundings of double precision
        if abs(value - metres) > 1e-12 * abs(metres) + TAKEN_AS.get(key, 0.0):
            raise Wrong(f"{key}: {float(metres)} m was read as {value} m")
    before, after = (tomllib.loads(t) for t in (text, mutant.content.decode("utf-8-sig")))
    # a length anew may by chance be the old one in another notation; it was looked at above
    if not mutant.same and mutant.length is None and bare(before) != bare(after):
        unseen(original, found)
    place(found)
    return ACCEPTED


def bare(tree: Any) -> Any:
    """A tree with {value = x} written as x, "5*m", "5 m" and "5 m." as "5m", words in
    small letters (names are known in either), and without the first layer's bond where it is the
    one that is taken anyway (there is no layer before it), nor what hangers say just as their own
    class does: the same by the rules of the file."""
    if isinstance(tree, dict):
        hangers, classes = tree.get("hangers"), tree.get("hanger_classes")
        if isinstance(hangers, dict) and isinstance(classes, dict):
            own = classes.get(hangers.get("class"), {})
            rest = {k: v for k, v in hangers.items() if k not in own or own[k] != v}
            tree = {**tree, "hangers": rest}
        first = tree.get("layers")
        if isinstance(first, list) and first and isinstance(first[0], dict):
            rest = {k: v for k, v in first[0].items() if (k, v) != ("bond", "nailed")}
            tree = {**tree, "layers": [rest, *first[1:]]}
        if set(tree) == {"value"}:
            return bare(tree["value"])
        return {key: bare(value) for key, value in tree.items()}
    if isinstance(tree, str):
        spaced = re.sub(r"(?<=\d)\s+(?=[^\W\d])", "", tree.replace("*", " "))
        return spaced.removesuffix(".").casefold()
    return [bare(value) for value in tree] if isinstance(tree, list) else tree


def unseen(original: Design, found: Design) -> None:
    """A change of the file that changes nothing in the design was not read at all."""
    if meaning(found) == meaning(original):
        raise Wrong("a change of the file left no trace in the design")


def meaning(one: Design) -> dict[str, Any]:
    """What a design says, without the file it came from."""
    parts = {f.name: getattr(one, f.name) for f in dataclasses.fields(one)}
    for name in ("path", "digest"):
        parts.pop(name)
    for name in ("defaults", "spreads", "warnings"):
        parts[name] = sorted(map(repr, parts[name]))
    return {name: repr(value) for name, value in parts.items()}


def finite(part: Any, name: str = "design") -> None:
    """No number in a design is nan; only those that mean rigid or without mass are infinite."""
    if isinstance(part, float):
        if math.isnan(part) or (math.isinf(part) and name not in MAY_BE_INFINITE):
            raise Wrong(f"{name} = {part}")
    elif dataclasses.is_dataclass(part):
        for each in dataclasses.fields(part):
            finite(getattr(part, each.name), each.name)
    elif isinstance(part, dict):
        for key, value in part.items():
            finite(value, str(key))
    elif isinstance(part, tuple | list):
        for value in part:
            finite(value, name)


def loads(path: Path) -> str:
    """Loads of an accepted design."""
    found = gravity.loads(read(path), coupled=False)
    finite([hanger.load for hanger in found.hangers], "load")
    return ACCEPTED


def prediction(path: Path) -> str:
    """Predict an accepted design: every level finite, and no louder than a jet engine."""
    import impact

    found = impact.predict(read(path))
    for levels in (found.levels, found.bare, found.best):
        for source, values in levels.items():
            if not all(-200 < level < 150 for level in values):  # 150 dB: pain; nan fails too
                raise Wrong(f"{source}: {values}")
    found.as_dict()
    return ACCEPTED


def spectrum(content: bytes, folder: Path) -> str:
    """Read and rate a spectrum; each row of the file must be a band of the answer."""
    path = folder / "fuzzed.csv"
    path.write_bytes(content)
    bands, levels = read_spectrum(str(path))
    finite(levels, "level")
    text = content.decode("utf-16" if content[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    rows = [line for line in re.split(r"\r\n|\r|\n", text)
            if line.strip() and not line.lstrip().startswith("#")][1:]  # fmt: skip
    written = sorted(float(row.split(",")[1].strip(' \t"')) for row in rows)
    if written != pytest.approx(sorted(levels), rel=1e-12) or len(bands) != len(rows):
        raise Wrong(f"{len(rows)} rows became {len(bands)} bands")
    for kind in ("any", "normalized", "field", "heavy"):
        one = sheet.Sheet.of(bands, levels, kind, "E989-18", str(path))
        one.text()
        one.json()
    return ACCEPTED


NASTY_CELLS = ("nan", "inf", "-inf", "1e400", "-1", "0", "", " ", "1_0", "0x10", "１００", "100 Hz",
               "1e3", "99", "101.6", "6,3", "band_hz", "#", '"', "9" * 400, "\u202e60", "\x1b[31m",
               "1e-9", "20001", "true", "=1+1")  # fmt: skip


def mutated_spectrum(text: str, rng: random.Random) -> bytes:
    """A mutant of a spectrum file."""
    if rng.random() < 0.35:
        return mutate.KINDS[rng.choice(("bytes", "lines"))][0](text, rng).content
    lines = text.splitlines()
    for _ in range(rng.choice((1, 1, 2))):
        i = rng.randrange(len(lines))
        cells = lines[i].split(",")
        what = rng.randrange(5)
        if what < 2:
            cells[rng.randrange(len(cells))] = rng.choice(NASTY_CELLS)
        elif what == 2:
            cells.insert(rng.randrange(3), rng.choice(NASTY_CELLS))
        elif what == 3:
            cells = [f" {cell} " for cell in cells]
        else:
            cells.reverse()
        lines[i] = ",".join(cells)
    end = rng.choice(("\n", "\r\n", "\r", "\n\n"))
    content = end.join(lines) + end
    coding = rng.choice(("utf-8", "utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252", "utf-32"))
    content = content.replace("\n" if coding == "cp1252" else "\0", "\n")
    many = b"100,50\n" * 200_000 if rng.random() < 0.01 else b""
    return content.encode(coding, "replace") + many

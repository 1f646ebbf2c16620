"""From a design file (TOML) to a `Design`: all faults at once, all defaults and spreads noted."""

from __future__ import annotations

import hashlib
import re
import stat
import tomllib
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import Any

from impact.base.units import UnitError, parse
from impact.design import reader_bounds, reader_place, reader_size
from impact.design.build_ceiling import build_cavity, build_ceiling, build_old_ceiling
from impact.design.build_fixing import (
    FIXINGS,
    build_hangers,
    build_independent,
    check_alone,
    only_fixing,
    read_fixing,
)
from impact.design.build_floor import build_floor
from impact.design.build_infill import check_carrier
from impact.design.build_room import (
    below_ceiling,
    build_flanks,
    build_options,
    build_prices,
    build_room,
    build_tapping,
    build_target,
    note_walls,
)
from impact.design.build_spacing import Place
from impact.design.catalogue import nearest
from impact.design.checks import Ledger, read_table
from impact.design.materials import own_entries
from impact.design.parts import (
    Cavity,
    Design,
    Floor,
    Hangers,
    IndependentJoists,
    OldCeiling,
)
from impact.design.schema_room import PROJECT, ROOM, TOP
from impact.design.walked import concrete, wooden
from impact.errors import DesignError, Fault

MANY = 1000  # files of a folder looked at for a name like one that is not there
LARGEST = 1_000_000  # bytes


def read(path: str | Path) -> Design:
    """The design described in a TOML file, in SI.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    Design
        With `defaults` (what was left out), `spreads`, `warnings` (values outside a usual range),
        and `digest` (sha256 of the file and of the catalogue entries used).

    Raises
    ------
    DesignError
        Carries every fault found: file, key path, value, what is allowed, nearest known name.
    """
    name = str(path)
    content = _bytes(Path(path), name)
    raw = _toml(content, name)
    ledger = Ledger()
    design = _build(raw, name, ledger)
    if ledger.faults or design is None:
        raise DesignError(name, reader_bounds.shown(ledger.faults))
    reader_size.check(design)
    reader_place.check(design)
    # what an entry is called beside its name moves no number
    used = "\n".join(repr(replace(ledger.used[key], about="")) for key in sorted(ledger.used))
    digest = hashlib.sha256(content + b"\0" + used.encode()).hexdigest()
    return replace(design, path=name, digest=digest)


def _bytes(path: Path, name: str) -> bytes:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise DesignError(name, [Fault("file", "is a folder; name the design file in it")])
        if not stat.S_ISREG(mode):
            raise DesignError(name, [Fault("file", "is no ordinary file; name a design file")])
        if path.stat().st_size > LARGEST:
            raise DesignError(
                name, [Fault("file", f"has {path.stat().st_size} bytes; at most {LARGEST}")]
            )
        return path.read_bytes()
    except FileNotFoundError:
        starter = f"; `impact init {name}` writes a starter" if path.suffix == ".toml" else ""
        near = _nearby(path)
        hint = f"; did you mean '{path.parent / near}'?" if near else starter
        raise DesignError(name, [Fault("file", f"does not exist{hint}")]) from None
    except (OSError, ValueError) as fault:
        if isinstance(fault, DesignError):
            raise
        why = getattr(fault, "strerror", None) or str(fault)
        raise DesignError(name, [Fault("file", f"cannot be read: {why}")]) from None


def _nearby(path: Path) -> str | None:
    """The design file in the folder of `path`, which is not there, that is called most like it."""
    try:
        found = [each.name for each in islice(path.parent.iterdir(), MANY)]
    except (OSError, ValueError):
        return None
    designs = [name for name in found if name.endswith(".toml")]
    return f"{path.name}.toml" if f"{path.name}.toml" in designs else nearest(path.name, designs)


def _toml(content: bytes, name: str) -> dict[str, Any]:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise DesignError(name, [Fault("file", "is in UTF-16; save it as UTF-8")])
    if b"\0" in content:
        raise DesignError(name, [Fault("file", "is no text file; a design is a TOML text")])
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = content[: fault.start].count(b"\n") + 1
        raise DesignError(
            name, [Fault(f"line {line}", "is not in UTF-8; save the file as UTF-8")]
        ) from None
    deep = reader_bounds.dotted(text)
    if deep is not None:
        raise DesignError(name, [deep])
    try:
        raw = tomllib.loads(text)
    except RecursionError:
        what = "no TOML: brackets within brackets without end"
        raise DesignError(name, [Fault("file", what)]) from None
    except tomllib.TOMLDecodeError as fault:
        raise DesignError(name, [_syntax(str(fault), text)]) from None
    except ValueError:  # python reads no whole number of more than 4300 digits
        what = "no TOML: a number of thousands of digits"
        raise DesignError(name, [Fault("file", what)]) from None
    faults = reader_bounds.bounded(raw)
    if faults:
        raise DesignError(name, reader_bounds.shown(faults))
    return raw


def _syntax(message: str, text: str) -> Fault:
    found = re.search(r"\(at line (\d+), column (\d+)\)", message)
    what = re.sub(r"\s*\(at .*\)$", "", message)
    if found is None:
        where = f"line {text.count(chr(10)) + 1}" if "end of document" in message else "file"
        return Fault(where, f"no TOML: {what}")
    line = int(found[1])
    shown = text.splitlines()[line - 1].strip()[:60] if line <= len(text.splitlines()) else ""
    remedy = _remedy(what, shown)
    return Fault(f"line {line}", remedy or f"no TOML: {what}, near '{shown}'{_hint(what, shown)}")


def _remedy(what: str, shown: str) -> str:
    """What to say in place of the parser's own words, for what stands twice; else empty."""
    twice = re.match(r"Cannot declare \((.*?),?\) twice", what)
    if twice:
        table = ".".join(re.findall(r"'([^']*)'", twice[1]))
        return f"[{table}] stands here a second time; put all its keys into one"
    if what != "Cannot overwrite a value":
        return ""
    if shown.startswith("[["):
        return f"{shown} stands above in single brackets; write each of them in double ones"
    return f"'{shown.partition('=')[0].strip()}' stands here a second time; keep one of both"


def _hint(what: str, shown: str) -> str:
    """What is probably wrong with a line that the parser refuses with `what`."""
    if re.search(r'=\s*"[^"]*\d"\s*"', shown):  # 12' 6"
        return '; the inch mark ends the text: write in for it, as in "12 ft 6 in", or \\"'
    if re.search(r"[“”„‟]", shown):
        return '; text and quantities stand in straight quotes, ", and not in curly ones'
    if re.match(r"[\w.]+\s*:", shown):
        return "; between a key and its value stands ="
    if "Illegal character '\\n'" in what:
        return "; a quote is not closed on its line"
    if "after a statement" in what and re.search(r'=\s*("[^"]*"|[\d.]+)\s*[,;/(]', shown):
        return "; one key stands on a line, and a remark behind #"
    unquoted = "value" in what.lower() or "after a statement" in what
    return "; text and quantities stand in quotes" if unquoted else ""


def _build(raw: dict[str, Any], path: str, ledger: Ledger) -> Design | None:
    read_table(raw, TOP, "", ledger)
    project = read_table(raw.get("project", {}), PROJECT, "project", ledger)
    ledger.system = project["units"] or "metric"
    own_entries(raw, ledger)
    room_values: dict[str, Any] = dict.fromkeys(key.name for key in ROOM)
    if "room" in raw:
        room_values = read_table(raw["room"], ROOM, "room", ledger)
    floor, along, offset = None, "length", (0.0, 0.0)
    if "floor" in raw:
        floor, along, offset = build_floor(raw["floor"], room_values, ledger)
    room = build_room(room_values, along, offset, ledger) if "room" in raw else None
    ceiling = build_ceiling(raw["ceiling"], along, ledger) if "ceiling" in raw else None
    old = build_old_ceiling(raw.get("old_ceiling"), floor, ledger)
    check_carrier(floor, raw.get("old_ceiling"), ledger)
    hung = _hung(raw, room_values, floor, old, along, ledger)
    target = build_target(raw.get("target"), ledger)
    prices, currency = build_prices(raw.get("prices"), ledger)
    flanks = build_flanks(raw.get("flanking"), ledger)
    hard, wood = floor is not None and concrete(floor), floor is not None and wooden(floor)
    tapping = build_tapping(raw.get("tapping"), hard, wood, ledger)
    options = build_options(raw, ledger)
    options.update({k: v for k, v in (("client", project["client"]), ("currency", currency)) if v})
    if ledger.faults or not (room and floor and ceiling and hung):
        return None  # never without a fault: each part that is missing has left one
    cavity, hangers, independent = hung
    taken = cavity.clear_depth + ceiling.thickness
    room = below_ceiling(room, room_values["absorption_area"], taken)
    if not flanks:
        note_walls(room, floor, ledger)
    return Design(
        name=project["name"],
        note=project["note"] or "",
        units=ledger.system,
        room=room,
        floor=floor,
        cavity=cavity,
        ceiling=ceiling,
        hangers=hangers,
        independent=independent,
        old_ceiling=old,
        target=target,
        prices=prices,
        flanks=flanks,
        tapping=tapping,
        options=options,
        defaults=tuple(ledger.defaults),
        spreads=tuple(ledger.spreads.values()),
        warnings=tuple(ledger.warnings),
        path=path,
    )


def _hung(
    raw: dict[str, Any],
    room: dict[str, Any],
    floor: Floor | None,
    old: OldCeiling | None,
    along: str,
    ledger: Ledger,
) -> tuple[Cavity, Hangers | None, IndependentJoists | None] | None:
    """Cavity and fixing, which need each other's height."""
    name = only_fixing(raw, ledger)
    tables = {key: read_fixing(key, raw[key], ledger) for key in FIXINGS if key in raw}
    cavity = raw.get("cavity")
    given = cavity.get("clear_depth") if isinstance(cavity, dict) else None
    sides = (room["length"], room["width"])
    if name is None or floor is None or None in sides or not ledger.clean(name, "room"):
        bays = 5.0 if floor is None else floor.bay_depth
        build_cavity(cavity, 5.0, bays, old, ledger)  # for its own faults
        if name in FIXINGS[:3] and floor is not None:
            check_alone(name, tables[name], Place(1.0, 1.0, along, floor, None), ledger)
        return None
    values = tables[name]
    depth = _depth_given(given)
    place = Place(room["length"], room["width"], along, floor, depth)
    hangers, independent, needed = None, None, None
    if name == "independent_joists":
        independent = build_independent(values, place, ledger)
    else:
        hangers = build_hangers(name, values, place, ledger)
        needed = hangers.height if hangers else 1.0
    made = build_cavity(cavity, needed, floor.bay_depth, old, ledger)
    return None if made is None else (made, hangers, independent)


def _depth_given(raw: Any) -> float | None:
    try:
        return parse(raw["value"] if isinstance(raw, dict) else raw, "length")
    except (UnitError, KeyError):
        return None

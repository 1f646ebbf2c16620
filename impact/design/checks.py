"""Checking one table of the design file against its schema rows; collects every fault."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from impact.base import units
from impact.base.quantity_faults import without_centres
from impact.design import catalogue
from impact.design.catalogue import Entry, Property
from impact.design.origin import Default, Spread
from impact.design.schema import Key
from impact.errors import Fault

_FEW = 3  # tables told where a misplaced key belongs
_LOOSE = {"value", "low", "high", "source"}


class Ledger:
    """What the reading of one file brings to light: faults, defaults, spreads, warnings."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []
        self.defaults: list[Default] = []
        self.spreads: dict[str, Spread] = {}
        self.warnings: list[str] = []
        self.system = "metric"
        self.own: dict[str, Entry] = {}  # entries of the file's own tables, by plain name
        self.used: dict[str, Entry] = {}

    def fault(self, where: str, what: str) -> None:
        """Note a fault at a key path."""
        self.faults.append(Fault(where, what))

    def default(self, path: str, value: str, source: str) -> None:
        """Note what was used for a key left out."""
        self.defaults.append(Default(path, value, source))

    def spread(self, path: str, low: float, high: float, source: str, given: bool = False) -> None:
        """Note the plausible range of an input [SI]; a range without width is left out."""
        if high > low:
            self.spreads[path] = Spread(path, low, high, source, given)

    def spread_unless_given(self, path: str, low: float, high: float, source: str) -> None:
        """The same, but a range that the file itself gives at that path stays."""
        if path not in self.spreads:
            self.spread(path, low, high, source)

    def clean(self, *paths: str) -> bool:
        """True when no fault lies at or below any of the key paths."""
        starts = tuple((path, path + ".", path + "[") for path in paths)
        return not any(
            fault.where == same or fault.where.startswith((dot, bracket))
            for fault in self.faults
            for same, dot, bracket in starts
        )

    def show(self, value: float, dimension: str) -> str:
        """A value as the file's user reads it."""
        return units.show(value, dimension, self.system) if dimension else f"{value:g}"

    def find(self, name: str, *kinds: str) -> Entry | None:
        """An entry of the file's own tables or of the catalogue; remembered as used."""
        found = self.own.get(catalogue.plain(name))
        if found is None or found.kind not in kinds:
            found = catalogue.find(name, *kinds)
        if found is not None:
            self.used[found.name] = found
        return found

    def suggest(self, name: str, *kinds: str) -> str | None:
        """The nearest known name of the kinds asked for."""
        own = [entry.name for entry in self.own.values() if entry.kind in kinds]
        return catalogue.suggest(name, *kinds, own=own)


def join(path: str, name: str) -> str:
    """Key path of a key inside a table."""
    return f"{path}.{name}" if path else name


def read_table(raw: Any, keys: Iterable[Key], path: str, ledger: Ledger) -> dict[str, Any]:
    """Values of one table in SI, every key of `keys` present; None for what is absent or at fault.

    Parameters
    ----------
    raw : object
        The table as tomllib gives it.
    keys : iterable of Key
    path : str
        Key path of the table, for messages.
    ledger : Ledger
        Receives faults, defaults, spreads and warnings.
    """
    rows = {key.name: key for key in keys}
    if not isinstance(raw, dict):
        ledger.fault(path, f"{_brief(raw)} is no table; write it as [{path}]")
        return dict.fromkeys(rows)
    misspelt = set()
    for name in raw:
        if name not in rows:
            near = catalogue.nearest(name, list(rows))
            hint = f"did you mean '{near}'?" if near else f"known here: {', '.join(rows)}"
            at_home = _elsewhere(name, path)
            if at_home and (path or not near):
                near, hint = None, f"it is a key of {at_home}"
            misspelt |= {near} - set(raw)
            ledger.fault(join(path, name), f"unknown key; {hint}")
    return {
        name: None if name in misspelt else _value(raw.get(name), key, join(path, name), ledger)
        for name, key in rows.items()
    }


def _elsewhere(name: str, path: str) -> str:
    """The table above `path`, or else the few ones, with a key of this very name; "" for none or
    many."""
    from impact.design.reference import TABLES  # it asks for rows that are read with this file

    found = [header for header, (_, rows) in TABLES.items() if any(r.name == name for r in rows)]
    above = [header for header in found if path.startswith(header.strip("[]") + ".")]
    return " or ".join(above or found) if above or len(found) <= _FEW else ""


def read_tables(raw: Any, keys: Iterable[Key], path: str, ledger: Ledger) -> list[dict[str, Any]]:
    """Values of an array of tables, each as `read_table` gives them."""
    if raw is None:
        return []
    if isinstance(raw, dict):
        ledger.fault(path, f"one table where several may stand; write [[{path}]]")
        return []
    if not isinstance(raw, list) or not all(isinstance(part, dict) for part in raw):
        ledger.fault(path, f"{_brief(raw)} is no array of tables; write each as [[{path}]]")
        return []
    rows = tuple(keys)
    return [read_table(part, rows, f"{path}[{i}]", ledger) for i, part in enumerate(raw)]


def _value(raw: Any, key: Key, path: str, ledger: Ledger) -> Any:
    if raw is None:
        return _absent(key, path, ledger)
    if key.holds == "quantity":
        return _spreadable(raw, key, path, ledger, _quantity)
    if key.holds == "number":
        return _spreadable(raw, key, path, ledger, _number)
    return _PLAIN[key.holds](raw, key, path, ledger)


def _absent(key: Key, path: str, ledger: Ledger) -> Any:
    if key.required:
        what = f"write [{path}], " if key.holds == "table" else ""
        ledger.fault(path, f"missing; {what}{key.help}{_example(key)}")
        return None
    if key.default is None:
        return None
    if key.holds not in ("quantity", "number"):
        shown = str(key.default).lower() if key.holds == "flag" else str(key.default)
        ledger.default(path, shown, key.why)
        return key.default
    value = _bound(key.default, key)
    ledger.default(path, ledger.show(value, key.dimension), key.why)
    if key.spread:
        ledger.spread(path, _bound(key.spread[0], key), _bound(key.spread[1], key), key.why)
    return value


def _example(key: Key) -> str:
    if key.holds == "quantity":
        return f", like {units.DIMENSIONS[key.dimension][1]}"
    if key.holds == "name":
        names = [entry.name for entry in catalogue.entries(*key.kinds)]
        return f', like "{names[0]}"; `impact materials` lists {len(names)}' if names else ""
    return f": one of {_listed(key.choices)}" if key.choices else ""


def _spreadable(raw: Any, key: Key, path: str, ledger: Ledger, read: Any) -> float | None:
    """A quantity or number that may also stand as {value, low, high, source}."""
    if not isinstance(raw, dict):
        value: float | None = read(raw, key, path, ledger)
        return value
    for name in raw:
        if name not in _LOOSE:
            ledger.fault(join(path, name), "unknown key; a spread has value, low, high and source")
    if "value" not in raw:
        ledger.fault(path, "a table without 'value'; write {value = ..., low = ..., high = ...}")
        return None
    got = {
        n: read(raw[n], key, join(path, n), ledger) for n in ("value", "low", "high") if n in raw
    }
    if ("low" in raw) != ("high" in raw):
        ledger.fault(path, "a spread needs both low and high")
    value = got["value"]
    if len(got) == 3 and None not in got.values():
        if not got["low"] <= value <= got["high"]:
            ledger.fault(path, "low, value and high do not rise in this order")
        source = str(raw.get("source", "design file"))
        ledger.spread(path, got["low"], got["high"], source, given=True)
    return value


def _quantity(raw: Any, key: Key, path: str, ledger: Ledger) -> float | None:
    try:
        spaced = isinstance(raw, str) and "spacing" in key.name
        value = units.parse(without_centres(raw) if spaced else raw, key.dimension)
    except units.UnitError as fault:
        ledger.fault(path, str(fault))
        return None
    return _within(value, raw, key, path, ledger)


def _number(raw: Any, key: Key, path: str, ledger: Ledger) -> float | None:
    if isinstance(raw, bool) or not isinstance(raw, int | float):
        ledger.fault(path, f"{_brief(raw)} is no pure number; write it without quotes or unit")
        return None
    try:
        value = float(raw)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        ledger.fault(path, f"{_brief(raw)} is not a finite number")
        return None
    return _within(value, raw, key, path, ledger)


def _count(raw: Any, key: Key, path: str, ledger: Ledger) -> int | None:
    if isinstance(raw, bool) or not isinstance(raw, int):
        ledger.fault(path, f"{_brief(raw)} is no whole number; write one without quotes or point")
        return None
    return None if _within(raw, raw, key, path, ledger) is None else raw


def _within(value: float, raw: Any, key: Key, path: str, ledger: Ledger) -> float | None:
    if key.hard and not _bound(key.hard[0], key) <= value <= _bound(key.hard[1], key):
        allowed = _range(key.hard[0], key.hard[1], key, ledger)
        ledger.fault(path, f"{_brief(raw)} lies outside {allowed}; {key.name}: {key.help}")
        return None
    if key.usual and not _bound(key.usual[0], key) <= value <= _bound(key.usual[1], key):
        ledger.warnings.append(
            f"{path}: {_brief(raw)} lies outside the usual"
            f" {_range(key.usual[0], key.usual[1], key, ledger)} ({key.usual[2]})"
        )
    return value


def _range(low: Any, high: Any, key: Key, ledger: Ledger) -> str:
    """A range in the file's units; rounded ends may lie outside, so the exact ones stand beside."""
    exact = f"{low} to {high}"
    if not key.dimension or ledger.system == "metric":
        return exact
    shown = " to ".join(ledger.show(_bound(end, key), key.dimension) for end in (low, high))
    return exact if shown == exact else f"{shown} ({exact})"


def _bound(bound: Any, key: Key) -> float:
    return units.parse(bound, key.dimension) if isinstance(bound, str) else float(bound)


def _text(raw: Any, key: Key, path: str, ledger: Ledger) -> str | None:
    if not isinstance(raw, str):
        ledger.fault(path, f"{_brief(raw)} is no text; write it in quotes")
        return None
    return raw


def _choice(raw: Any, key: Key, path: str, ledger: Ledger) -> str | None:
    if isinstance(raw, str) and raw in key.choices:
        return raw
    near = _meant(raw, key) if isinstance(raw, str) else None
    hint = f"; did you mean '{near}'?" if near else ""
    ledger.fault(path, f"{_brief(raw)} is none of {_listed(key.choices)}{hint}")
    return None


def _meant(raw: str, key: Key) -> str | None:
    """The choice that another word stands for, else the one spelt most alike, if any is."""
    known = {catalogue.plain(word): choice for word, choice in key.meant}
    return known.get(catalogue.plain(raw)) or catalogue.nearest(raw, list(key.choices))


def _flag(raw: Any, key: Key, path: str, ledger: Ledger) -> bool | None:
    if isinstance(raw, bool):
        return raw
    ledger.fault(path, f"{_brief(raw)} is neither true nor false (without quotes)")
    return None


def _name(raw: Any, key: Key, path: str, ledger: Ledger) -> Entry | None:
    if not isinstance(raw, str):
        ledger.fault(path, f"{_brief(raw)} is no name; write it in quotes")
        return None
    found = ledger.find(raw, *key.kinds)
    if found is None:
        near = ledger.suggest(raw, *key.kinds)
        wanted = f"wanted is a name of kind {' or '.join(key.kinds)};"
        hint = f"did you mean '{near}'?" if near else key.instead or wanted
        ledger.fault(path, f"{_brief(raw)} is not known; {hint} `impact materials` lists the names")
    return found


def _as_is(raw: Any, key: Key, path: str, ledger: Ledger) -> Any:
    return raw


_PLAIN = {
    "count": _count, "text": _text, "choice": _choice, "flag": _flag, "name": _name,
    "any": _as_is, "table": _as_is, "tables": _as_is,
}  # fmt: skip


def read_property(raw: Any, name: str, path: str, ledger: Ledger) -> Property | None:
    """A property of an entry in the file's own tables: quantity or number, or with its spread."""
    dimension = catalogue.PROPERTIES[name][0]
    holds = "quantity" if dimension else "number"
    key = Key(name, holds, catalogue.PROPERTIES[name][1], dimension, *_RATIOS.get(name, (None,)))
    before = dict(ledger.spreads)
    value = _value(raw, key, path, ledger)
    spread = ledger.spreads.get(path)
    ledger.spreads = before  # the entry's users note it under the entry's own path
    if value is None:
        return None
    if value < 0 or (value == 0 and name in _ABOVE_ZERO):
        ledger.fault(path, f"{_brief(raw)} must be above zero")
        return None
    low, high = (spread.low, spread.high) if spread else (value, value)
    return Property(value, low, high, "", "", spread.source if spread else "design file")


# pure numbers of an entry -> their range, as the keys of the file have it
_RATIOS: dict[str, tuple[tuple[float, float]]] = {
    "poisson": ((0.0, 0.49),), "loss_factor": ((1e-4, 1.0),), "dynamic_to_static": ((1.0, 5.0),),
    "creep_factor": ((1.0, 5.0),), "cold_factor": ((0.5, 5.0),),
}  # fmt: skip
_ABOVE_ZERO = {
    "density",
    "youngs_modulus",
    "youngs_modulus_across",
    "modulus_through",
    "shear_modulus",
    "thickness",
    "flow_resistivity",
    "stiffness_per_area",
    "contact_stiffness",
    "dynamic_stiffness",
    "own_resonance",
    "bending_stiffness",
    "mass_per_length",
    "depth",
    "width",
}


def _brief(raw: Any) -> str:
    shown = repr(raw)
    return shown if len(shown) <= 60 else shown[:57] + "..."


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f"'{name}'" for name in names)

"""Catalogue of generic materials, hanger classes, sections: looks up, suggests, never substitutes.

The data lie beside this file in data/*.toml, one table per entry; each property carries its value,
spread, unit, condition and source. Only the files that a look-up needs are read.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from impact.base import units

SPELT_ALIKE = 0.8  # likeness of several words from which they are a name, misspelt
SLIP = 0.85  # likeness from which a word is taken for another, misspelt
# kind of entry -> data file
FILES: dict[str, str] = {
    "board": "boards", "timber": "timber", "slab": "slabs", "fill": "fills",
    "loose fill": "fills", "mat": "mats", "covering": "coverings", "hanger": "hangers",
    "resilient channel": "hangers", "direct fixing": "hangers", "channel": "channels",
    "i-joist": "joists", "open-web": "joists", "steel": "joists", "sealant": "perimeter",
}  # fmt: skip

# property -> (dimension in base.units, "" for a pure number; what it is)
PROPERTIES: dict[str, tuple[str, str]] = {
    "density": ("density", "density"),
    "youngs_modulus": ("modulus", "Young's modulus, along the stronger direction"),
    "youngs_modulus_across": ("modulus", "Young's modulus across it"),
    "modulus_through": ("modulus", "Young's modulus through the thickness"),
    "poisson": ("", "Poisson's ratio"),
    "loss_factor": ("", "loss factor"),
    "shear_modulus": ("modulus", "shear modulus"),
    "flow_resistivity": ("flow resistivity", "air flow resistivity"),
    "stiffness_per_area": ("stiffness per area", "dynamic stiffness per area"),
    "contact_stiffness": ("stiffness per area", "contact stiffness E/d"),
    "mass_per_area": ("mass per area", "mass per area"),
    "thickness": ("length", "thickness"),
    "dynamic_stiffness": ("stiffness", "dynamic stiffness of one point"),
    "dynamic_to_static": ("", "dynamic / static stiffness"),
    "load_minimum": ("force", "least rated load"),
    "load_maximum": ("force", "greatest rated load"),
    "height": ("length", "height"),
    "mass": ("mass", "mass of one"),
    "own_resonance": ("frequency", "first resonance of its own"),
    "creep_factor": ("", "long-term / short-term deflection"),
    "cold_factor": ("", "stiffness in the cold / at 20 C"),
    "width": ("length", "width"),
    "depth": ("length", "depth"),
    "bending_stiffness": ("bending stiffness", "bending stiffness EI"),
    "axial_stiffness": ("force", "axial stiffness EA"),
    "shear_stiffness": ("force", "shear stiffness GA"),
    "torsional_stiffness": ("bending stiffness", "torsional stiffness GJ"),
    "lateral_stiffness": ("bending stiffness", "bending stiffness EI about the vertical axis"),
    "mass_per_length": ("mass per length", "mass per length"),
    "volume_per_length": ("area", "volume per length"),
}  # fmt: skip


@dataclass(frozen=True)
class Property:
    """One number of an entry, SI, with about its 5 % and 95 % points."""

    value: float
    low: float
    high: float
    unit: str  # as written in the data file
    condition: str
    source: str


@dataclass(frozen=True)
class Entry:
    """One thing of the catalogue, or of the tables of a design file."""

    name: str
    kind: str
    about: str
    properties: dict[str, Property]
    channel: str = ""  # hangers: the channel that usually goes with it

    def value(self, name: str, otherwise: float | None = None) -> float | None:
        """SI value of a property, or `otherwise` where the entry has none."""
        found = self.properties.get(name)
        return otherwise if found is None else found.value


def plain(name: str) -> str:
    """A name without regard to case, spaces, hyphens and underscores."""
    return "".join(c for c in name.lower() if c not in " -_\t")


@lru_cache
def _file(stem: str) -> dict[str, Entry]:
    raw = resources.files("impact.design").joinpath(f"data/{stem}.toml").read_text("utf-8")
    return {plain(name): _entry(name, table) for name, table in tomllib.loads(raw).items()}


def _entry(name: str, table: dict[str, Any]) -> Entry:
    properties = {key: _property(key, raw) for key, raw in table.items() if key in PROPERTIES}
    return Entry(name, table["kind"], table["about"], properties, table.get("channel", ""))


def _property(key: str, raw: dict[str, Any]) -> Property:
    dimension, unit = PROPERTIES[key][0], raw["unit"]
    scale = units.factor(unit, dimension) if dimension else 1.0
    low, high = raw.get("low", raw["value"]), raw.get("high", raw["value"])
    return Property(
        raw["value"] * scale,
        low * scale,
        high * scale,
        unit,
        raw.get("condition", ""),
        raw["source"],
    )


def entries(*kinds: str) -> list[Entry]:
    """Every entry of the given kinds (of all when none is given), in the order of the files."""
    wanted = kinds or tuple(FILES)
    stems = dict.fromkeys(FILES[kind] for kind in wanted)
    return [e for stem in stems for e in _file(stem).values() if e.kind in wanted]


def find(name: str, *kinds: str) -> Entry | None:
    """The entry of that name (case and spaces do not matter) among `kinds`, or None."""
    wanted = kinds or tuple(FILES)
    for stem in dict.fromkeys(FILES[kind] for kind in wanted):
        found = _file(stem).get(plain(name))
        if found is not None and found.kind in wanted:
            return found
    return None


def nearest(word: str, known: list[str]) -> str | None:
    """The known word that looks most like `word`, or None when none is near."""
    table = {plain(name): name for name in known}
    close = difflib.get_close_matches(plain(word), list(table), n=1, cutoff=0.6)
    if close:
        return table[close[0]]
    inside = [name for key, name in table.items() if len(plain(word)) > 3 and plain(word) in key]
    return inside[0] if inside else None


def suggest(name: str, *kinds: str, own: Sequence[str] = ()) -> str | None:
    """The entry of `kinds` whose name has the word ("screed"), or whose description has it
    ("chipboard"), or, of several words that no name is spelt like, most of them ("oak flooring"),
    or that but for a slip ("chipbord") where no name is as near; else the nearest of the `own`
    names and theirs, for an error message; None when nothing is near."""
    known, word = entries(*kinds), plain(name)
    near = nearest(name, [*own, *(entry.name for entry in known)])
    if near is None and 2 <= len(word) <= 4:  # SPF: spruce-pine-fir
        called = {"".join(part[0] for part in re.findall(r"\w+", entry.name)).lower(): entry.name
                  for entry in known}  # fmt: skip
        near = next((called[short] for short in called if short.startswith(word)), None)
    if len(word) <= 3:
        return near
    whole = next((entry.name for entry in known if word in _words(entry.name)), None)
    if whole:
        return whole
    for text in ("name", "about"):
        for entry in known:
            if word in plain(getattr(entry, text)):
                return entry.name
    alike = _likeness(word, plain(near)) if near else 0.0
    if alike < SPELT_ALIKE and (shared := _most_words(name, known)):
        return shared
    best = max(SLIP, alike)
    for text in ("name", "about"):
        for entry in known:
            for part in map(plain, re.findall(r"\w{6,}|[\w-]{6,}", getattr(entry, text))):
                if _likeness(word, part) > best:
                    near, best = entry.name, _likeness(word, part)
    return near


def _most_words(name: str, known: list[Entry]) -> str | None:
    """Of a name of several words: the first entry that has most of them, in its name rather than
    its description, as written rather than but for the s of a plural; None where none has any."""
    parts = _words(name)
    if len(parts) < 2 or not known:
        return None

    def share(part: str, text: str) -> float:
        words = _words(text)
        return max(part in words, 0.95 * (part.rstrip("s") in {one.rstrip("s") for one in words}))

    shares = [sum(max(share(part, entry.name), 0.9 * share(part, entry.about)) for part in parts)
              for entry in known]  # fmt: skip
    most = max(shares)
    return known[shares.index(most)].name if most > 0 else None


def _words(text: str) -> set[str]:
    """Words of three letters and more."""
    return {part.lower() for part in re.findall(r"[^\W\d_]{3,}", text)}


def _likeness(one: str, other: str) -> float:
    """0 to 1, by the letters that both share in order."""
    return difflib.SequenceMatcher(None, one, other).ratio()

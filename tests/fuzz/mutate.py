"""Mutations of a design file, each from a seeded `random.Random`: the same seed, the same file.

Three depths: of the bytes, of the lines, and of one value in the tree that the file means. A
mutation that keeps the meaning says so, and one that sets a length says which, so that a trial can
hold the design against what was written: no misreading passes unseen.
"""

from __future__ import annotations

import copy
import json
import random
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

Path = tuple[str | int, ...]

# What no key of a design may be, or only some: huge, tiny, not finite, of the wrong type or shape.
NASTY: tuple[Any, ...] = (
    float("nan"), float("inf"), float("-inf"), 0, -1, 1e308, -1e308, 5e-324, 2**70, True, False, "",
    " ", "nan", "nan mm", "inf m", "-inf m", "1e9 m", "1e400 m", "-5 mm", "0 mm", "-0 mm", "10",
    "ten mm", "2,5 mm", "1e-320 m", "5 mm mm", "5 mm/mm", "5 m^99", "5 m^m^m", "1/0 in", "9 9/4 in",
    "12 ft 13 in", "½ in", "１２ mm", "5\u00a0mm", "5 mm\n", "5 \u202emm", "0x10 mm", "1_000 mm",
    "5 parsec", "5 fortnight", "5 K", "5 mm # mm", "mm", "m" * 50_000, "9" * 4000 + " mm",
    "1e99999999 m", "../../etc/passwd", "%s%n", "${HOME}", "\ud7ff", "\U0001f3e0", [], [[]], {},
    [1], ["5 mm"], [["100 N", "1 mm"], ["50 N", "2 mm"]], {"value": "5 mm"}, {"low": 1, "high": 2},
    {"value": 1, "low": 2, "high": 0}, {"value": "5 mm", "low": "9 mm", "high": "1 mm"},
    {"value": {"value": 1}}, {"value": "5 mm", "source": 7}, {"a": {"b": {"c": {}}}}, [{}, {}],
    [["1 m", "1 m"]] * 300,
)  # fmt: skip
# Within a type: extremes that read well and must be bounded all the same.
EXTREME = ("1e9 m", "10000000 ft", "60 m", "0.3 mm", "1e-9 mm", "1e7 N/mm", "1e-7 N/m", "1e12 Pa",
           "1e9 kg", "1e-9 kg/m3", "100000 s", "1 ps")  # fmt: skip

# Keys whose value stands in the design as it is, for the check against silent misreading.
LENGTHS: dict[Path, Callable[[Any], float]] = {
    ("room", "height"): lambda d: d.room.height,
    ("floor", "joists", "spacing"): lambda d: d.floor.joists.spacing,
    ("floor", "joists", "depth"): lambda d: d.floor.joists.depth,
    ("floor", "slab", "thickness"): lambda d: d.floor.slab.thickness,
    ("cavity", "clear_depth"): lambda d: d.cavity.clear_depth,
    ("cavity", "fill", "thickness"): lambda d: d.cavity.fill.thickness,
    ("hangers", "channel_spacing"): lambda d: d.hangers.channel_spacing,
    ("hangers", "hanger_spacing"): lambda d: d.hangers.hanger_spacing,
    ("hangers", "edge_distance"): lambda d: d.hangers.edge_distance,
    ("ceiling", "layers", 0, "thickness"): lambda d: d.ceiling.layers[0].thickness,
    ("ceiling", "perimeter", "gap"): lambda d: d.ceiling.perimeter.gap,
    ("old_ceiling", "layers", 0, "thickness"): lambda d: d.old_ceiling.layers[0].thickness,
    ("old_ceiling", "fixing_spacing"): lambda d: d.old_ceiling.fixing_spacing,
}


@dataclass(frozen=True)
class Mutant:
    """One mutated file.

    kind : name of the mutation, for the counts. same : the meaning is that of the original.
    length : (key path, metres) that was set, or None.
    """

    kind: str
    content: bytes
    same: bool = False
    length: tuple[Path, Fraction] | None = None


def mutant(text: str, rng: random.Random) -> Mutant:
    """A mutant of the design in `text`."""
    kinds = list(KINDS)
    kind = rng.choices(kinds, [KINDS[name][1] for name in kinds])[0]
    return KINDS[kind][0](text, rng)


def leaves(tree: Any, path: Path = ()) -> Iterator[Path]:
    """Key path of every value of a tree, tables included, without the root."""
    items = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in items:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from leaves(value, (*path, key))


def at(tree: Any, path: Path) -> Any:
    """The value at a key path; KeyError or IndexError when there is none."""
    for key in path:
        tree = tree[key]
    return tree


def dump(tree: Any) -> str:
    """A tree as TOML, tables inline below the first level: what `tomllib` reads back the same."""
    lines = [f"{_key(key)} = {_value(value)}" for key, value in tree.items()]
    return "\n".join(lines) + "\n"


def _key(key: str) -> str:
    return json.dumps(key, ensure_ascii=False)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        shown = json.dumps(value, ensure_ascii=False)
        return shown.replace("\x7f", "\\u007f")
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    return repr(value)  # 1e+308, nan and inf are TOML as they are


def _tree(text: str) -> dict[str, Any]:
    return tomllib.loads(text)


def _pick(tree: dict[str, Any], rng: random.Random) -> tuple[Any, str | int, Path]:
    path = rng.choice(list(leaves(tree)))
    return at(tree, path[:-1]), path[-1], path


def _nasty(text: str, rng: random.Random) -> Mutant:
    tree = _tree(text)
    for _ in range(rng.choice((1, 1, 1, 2, 5))):
        holder, key, _ = _pick(tree, rng)
        holder[key] = copy.deepcopy(rng.choice(NASTY + EXTREME))
    return Mutant("a nasty value", dump(tree).encode())


def _scaled(text: str, rng: random.Random) -> Mutant:
    """The number in one value times a factor: from a slip of the pen to a slip of six zeros."""
    tree = _tree(text)
    for path in rng.sample(list(leaves(tree)), k=len(list(leaves(tree)))):
        holder, key = at(tree, path[:-1]), path[-1]
        scale = rng.choice((0.5, 0.9, 1.07, 1.5, 2, 10, 1e3, 1e6, 1e-3, -1, 0))
        value = holder[key]
        if isinstance(value, bool) or value in (0, 0.0) or str(value).startswith("0 "):
            continue
        if isinstance(value, int | float):
            holder[key] = value * scale
            break
        head, _, tail = value.partition(" ") if isinstance(value, str) else ("", "", "")
        if head.replace(".", "", 1).isdigit() and tail and "/" not in tail.split()[0]:
            holder[key] = f"{float(head) * scale!r} {tail}"
            break
    return Mutant("a scaled number", dump(tree).encode())


def _shape(text: str, rng: random.Random) -> Mutant:
    """A key gone, renamed, moved, or put where it does not belong."""
    tree = _tree(text)
    holder, key, path = _pick(tree, rng)
    what = rng.randrange(4)
    if what == 0:
        del holder[key]
    elif what == 1 and isinstance(key, str):
        holder[rng.choice((key[:-1], key.upper(), key + "s", "", "a.b", "ключ"))] = holder.pop(key)
    elif what == 2:
        other, name, _ = _pick(tree, rng)
        if path != () and not _inside(holder[key], other):
            other[name] = copy.deepcopy(holder[key])
    else:
        wrapped = rng.choice(([holder[key]], {"value": holder[key]}, [holder[key]] * 3))
        holder[key] = copy.deepcopy(wrapped)
    return Mutant("a wrong shape", dump(tree).encode())


def _inside(value: Any, holder: Any) -> bool:
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return value is holder or any(_inside(part, holder) for part in parts)


def _bytes(text: str, rng: random.Random) -> Mutant:
    data = bytearray(text.encode())
    for _ in range(rng.choice((1, 1, 3, 20))):
        place = rng.randrange(len(data) or 1)
        what = rng.randrange(5)
        if what == 0:
            data[place : place + 1] = bytes([rng.randrange(256)])
        elif what == 1:
            del data[place : place + rng.randrange(1, 40)]
        elif what == 2:
            data[place:place] = bytes(rng.randrange(256) for _ in range(rng.randrange(1, 9)))
        elif what == 3:
            data[place:place] = data[place : place + rng.randrange(1, 60)]
        else:
            del data[place:]
    return Mutant("bytes", bytes(data))


def _lines(text: str, rng: random.Random) -> Mutant:
    """Lines doubled (so that a key or table stands twice), dropped, swapped."""
    lines = text.splitlines()
    i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
    what = rng.randrange(4)
    if what == 0:
        lines.insert(i, lines[i])
    elif what == 1:
        del lines[i : i + rng.randrange(1, 6)]
    elif what == 2:
        lines[i], lines[j] = lines[j], lines[i]
    else:
        lines[i:i] = lines[j : j + rng.randrange(1, 8)]
    return Mutant("lines", "\n".join(lines).encode() + b"\n")


def _form(text: str, rng: random.Random) -> Mutant:
    """Another writing of the same design."""
    what = rng.randrange(5)
    if what == 0:
        content = text.replace("\n", "\r\n").encode()
    elif what == 1:
        content = text.encode("utf-8-sig")
    elif what == 2:
        content = dump(_tree(text)).encode()
    elif what == 3:
        tree = _tree(text)
        content = dump(dict(rng.sample(list(tree.items()), k=len(tree)))).encode()
    else:
        content = text.replace("\n", '   # a remark: 5 mm = "nan"\n\n').encode()
    return Mutant("same meaning", content, same=True)


def _coding(text: str, rng: random.Random) -> Mutant:
    """Not UTF-8, not text, too large, too deep, or empty."""
    made = rng.choice(
        (
            lambda: text.encode("utf-16"),
            lambda: ("# Straße é\n" + text).encode("latin-1", "replace"),
            lambda: bytes(rng.randrange(256) for _ in range(4000)),
            lambda: b"\x7fELF\x02\x01" + text.encode(),
            lambda: text.encode() + b"#" * 1_000_001,
            lambda: b"x = " + b"[" * 20_000,
            lambda: b"x" + b".x" * 20_000 + b" = 1",
            lambda: b"",
            lambda: text.replace("\n", "\r").encode(),
        )
    )()
    return Mutant("coding", made)


def _length(text: str, rng: random.Random) -> Mutant:
    """One length anew, in a random notation of a random value near its own range."""
    tree = _tree(text)
    places = [path for path in LENGTHS if _has(tree, path)]
    if not places:
        return _form(text, rng)
    path = rng.choice(places)
    written, metres = length(rng)
    at(tree, path[:-1])[path[-1]] = written
    return Mutant("a length anew", dump(tree).encode(), length=(path, metres))


def _has(tree: Any, path: Path) -> bool:
    try:
        at(tree, path)
    except (KeyError, IndexError, TypeError):
        return False
    return True


def length(rng: random.Random) -> tuple[str, Fraction]:
    """A length from 1 mm to 3 m as people write it, and the same in metres by exact fractions.

    1 in = 25.4 mm and 1 ft = 12 in exactly (NIST SP 811, Appendix B).
    """
    inch = Fraction(254, 10_000)
    tenths = int(10 ** rng.uniform(1, 4.47))  # of a millimetre
    whole, eighths = divmod(max(1, round(tenths / 254 * 8 / 10)), 8)
    metres = Fraction(tenths, 10_000)
    imperial = (8 * whole + eighths) * inch / 8
    feet, rest = divmod(whole, 12)
    mixed = f"{whole} {eighths}/8" if whole else f"{eighths}/8"
    return rng.choice(
        (
            (f"{tenths / 10:.1f} mm", metres),
            (f"{tenths / 100:.2f}cm", metres),
            (f"{tenths / 10_000:.4f}  m", metres),
            (f"{tenths}e-4 m", metres),
            (f"+{tenths / 10:.1f}mm", metres),
            (f"{mixed} in", imperial),
            (f'{mixed.replace(" ", "-")}"', imperial),
            (f"{whole * 8 + eighths}/8 inches", imperial),
            (f"{feet} ft {rest} in", 12 * feet * inch + rest * inch),
            (f"{feet}' {rest}-{eighths}/8\"", imperial),
            (f"{(8 * whole + eighths) * 125} mil", imperial),
        )
    )


KINDS: dict[str, tuple[Callable[[str, random.Random], Mutant], int]] = {
    "a nasty value": (_nasty, 30),
    "a scaled number": (_scaled, 16),
    "a wrong shape": (_shape, 16),
    "bytes": (_bytes, 10),
    "lines": (_lines, 10),
    "same meaning": (_form, 4),
    "coding": (_coding, 4),
    "a length anew": (_length, 10),
}

"""What holds the ceiling, in words: hangers, resilient channels or screws, as the case may be."""

from __future__ import annotations

import re

from impact.base.cautions import CAUTIONS
from impact.design.parts import Design, Hangers

# kind of points -> table of the design file, what they are called together, one of them
WORDS: dict[str, tuple[str, str, str]] = {
    "hanger": ("hangers", "hangers", "hanger"),
    "resilient channel": ("resilient_channels", "resilient channels", "channel fixing"),
    "direct": ("direct_fixing", "fixings", "fixing"),
}
KIND = {table: kind for kind, (table, _, _) in WORDS.items()}  # table -> kind of points


def table_of(hangers: Hangers | None) -> str:
    """Table of the design file in which these points stand."""
    return WORDS[hangers.kind if hangers else "hanger"][0]


def called(hangers: Hangers | None) -> str:
    """What the ceiling is held by, in a sentence: "hangers", "resilient channels", "fixings"."""
    return WORDS[hangers.kind if hangers else "hanger"][1]


def yields(hangers: Hangers | None) -> bool:
    """Whether the ceiling is held by points that should yield."""
    return hangers is not None and hangers.kind != "direct"


def counted(hangers: Hangers | None, number: int) -> str:
    """What holds the ceiling, with its number: "12 hangers"; "9 joists of its own" without."""
    return said_of(hangers, many(number, "hanger")) if hangers else (
        f"{many(number, 'joist')} of its own"
    )  # fmt: skip


def many(number: int, what: str) -> str:
    """A number of things: "1 hanger", "2 hangers"."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def said_of(hangers: Hangers | None, text: str) -> str:
    """A text about "hangers" with the word for points of this kind, and with their own table where
    it names keys such as hangers.mass."""
    table, _, point = WORDS[hangers.kind if hangers else "hanger"]
    text = re.sub(r"\bhangers\.(?=[a-z])", f"{table}.", text)
    text = re.sub(r"\bhanger(s?)\b(?!\.[a-z])", rf"{point}\1", text)
    return re.sub(r"\bHanger(s?)\b", rf"{point.capitalize()}\1", text)


# What a text about joists says under a slab, in this order.
IN_SLAB = (
    (r"Find joists, pipes, cables; mark every joist line on the walls\.",
     "Find pipes, cables and steel in the slab; mark them."),
    (r"they pass its joists, pipes", "they pass beams, pipes"),
)  # fmt: skip
UNDER_SLAB = (
    *IN_SLAB,
    (r", each in the middle of its joist, with", ", with"),
    (r"\band joists\b", "and the slab"),
    (r"\b(a|the) joist\b", "the slab"),
    (r"\bjoists?\b", "slab"),
)
# What a text about hangers says of a ceiling on joists of its own.
OWN_JOISTS = (
    (r"\bhangers, fasteners and joists\b", "the ceiling's own joists, bearings and fasteners"),
    (r"\bthe hangers, their fasteners into the joists, the joists under the added dead load\b",
     "the ceiling's own joists, their bearings and fasteners"),
)  # fmt: skip


# What it says where these are screws, which hold and are held by none.
SCREWED = ((r"\bhangers, fasteners and\b", "hangers and"),)

# What a text about what a screw or channel may reach says under an old ceiling.
UNDER_OLD = ((r"(?<=touch )a joist\b|(?<=reaches )the joist\b", "the old ceiling"),
             (r"(?<=below )the joists\b|(?<=ones reach )the joist\b", "the old ceiling"),
             (r"no contact with joists,", "no contact with the old ceiling,"))  # fmt: skip


def said_under(design: Design, text: str) -> str:
    """`said_of`, and of the slab where the floor has no joists, of the old ceiling where one is
    between, of a ceiling's own joists where it has such."""
    changes = [*(UNDER_OLD if design.old_ceiling is not None else ())]
    if design.hangers is not None and design.hangers.kind == "direct":
        changes += SCREWED
    if design.independent is not None:
        changes += OWN_JOISTS
    if design.floor.joists is None:  # joists are then the ceiling's own, or the text is of none
        changes += IN_SLAB if design.independent is not None else UNDER_SLAB
    for pattern, words in changes:
        text = re.sub(pattern, words, text)
    return said_of(design.hangers, text)


def cautions_of(design: Design) -> tuple[str, ...]:
    """The standing cautions in short, of what this design has: hangers, fixings or joists of the
    ceiling's own, under joists or a slab."""
    return tuple(said_under(design, text) for text in CAUTIONS)

"""What to say of a quantity that people write and nobody can read for sure: two lengths, a comma, a
space within the number, a trade size, a list, words about a spacing. Each the text of a fault, with
what to write instead."""

from __future__ import annotations

import re
from collections.abc import Container

NUMBER = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)"
_TWO = re.compile(  # what follows the first number of "17 ft 4", "5 m 20 cm"
    rf"(?P<one>[A-Za-zμ]+[\s-]+|(?:\"|''|')[\s-]*)(?P<more>{NUMBER})(?P<other>\s*[^\s\d].*)?"
)
_CENTRES = re.compile(
    r"\s*\(?\s*(?<![a-z])(?:o\.?\s?c\.?|[oc]\s?/\s?c|c\s?-\s?c|(?:on )?cent(?:re|er)s?"
    r"|cent(?:re|er) to cent(?:re|er)|ctrs?\.?|apart)\s*\)?$",
    re.I,
)


def without_centres(raw: str) -> str:
    """A spacing as trades write it, "16 in o.c.", "400 mm on centre", without what says from where
    to where it runs; any other text as it is."""
    words = _CENTRES.search(raw.rstrip())
    return raw[: words.start()] if words and words.start() else raw


def of_spacing(clean: str, raw: str) -> str:
    """Of a length `raw`, cleaned to `clean`, with such words, which only a spacing may have; else
    empty."""
    bare = without_centres(clean)
    return f"'{raw}' has words that belong to a spacing; write '{bare}'" if bare != clean else ""


def without_comma(clean: str) -> str:
    """What may be meant by a quantity with a comma, which marks decimals or thousands."""
    point, bare = re.sub(r"\s*,\s*", ".", clean), clean.replace(",", "")
    thousands = re.search(r"(?<!\d)\d{1,3}(,\d{3})+(?!\d)", clean) is not None
    if "." in clean or clean.count(",") > 1:
        return f"'{bare}'" if thousands else "a decimal point, 2.5 and not 2,5"
    return f"'{bare}' or '{point}', whichever is meant" if thousands else f"'{point}'"


def spaced(clean: str, raw: str) -> str:
    """Of `raw` thousands parted by spaces, "1 500 mm", cleaned to `clean`; else empty."""
    if not re.fullmatch(r"\d{1,3}( \d{3})+(\.\d+)? \S.*", clean):
        return ""
    whole = re.sub(r"(?<=\d) (?=\d)", "", clean)
    return f"'{raw}' has a space within the number; write '{whole}'"


def two_lengths(rest: str, clean: str, raw: str, units: Container[str], like: str) -> str:
    """Of a second number in `rest`, what follows the first number of the length `raw`, cleaned to
    `clean`; else empty. units : those known; like : a length well written."""
    two = _TWO.fullmatch(rest)
    one = two["one"].strip(" -") if two else ""
    if not two or one not in units:
        return ""
    if two["other"] is not None:
        return f"'{raw}' is two lengths; write one, like {like}, or whole feet and inches"
    remedy = (f"if inches are meant write '{clean} in'" if one in ("ft", "feet", "foot", "'")
              else 'write one length, like "600 mm" or "12 ft 6 in"')  # fmt: skip
    return f"the {two['more']} at the end of '{raw}' has no unit; {remedy}"


def trade_size(clean: str) -> str:
    """Of a section by its trade name, "2x8" or "2 x 8 in": its true size; else empty.

    Finished sizes of dry softwood lumber of the American standard (PS 20, from memory): half an
    inch less from 2 to 6 in, three quarters above.
    """
    section = re.fullmatch(r"([2-8])\s*[x×]\s*(\d\d?)\s*(?:in|\")?\.?", clean, re.I)
    if not section:
        return ""
    true = [_finished(int(side)) for side in section.groups()]
    return (f"'{clean}' is a trade size; write the true one: today's measures {true[0]} by"
            f" {true[1]}, old lumber is often larger")  # fmt: skip


def _finished(nominal: int) -> str:
    return f"{nominal - 1} 1/2 in" if nominal <= 6 else f"{nominal - 1} 1/4 in"


def several(like: str) -> str:
    """What to say where a list or table stands for one quantity. like : one well written."""
    return (f"several values where one belongs, like {like}; of parts that differ write the mean,"
            " or {value = , low = , high = } where a range is taken")  # fmt: skip

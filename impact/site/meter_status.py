"""Columns (and rows) of words beside the levels: which values of a meter's file they make gaps."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from impact.site.meter_words import is_gap, meaning

_BAD_LABEL = r"over.?load|\b(ol|ovl)\b|(under|over).?range|clip|invalid|not valid"
_HEADER = re.compile(rf"status|\bflags?\b|valid|quality|{_BAD_LABEL}", re.I)
_MEANS_BAD = re.compile(_BAD_LABEL, re.I)
_MEANS_GOOD = re.compile(r"\bvalid", re.I)
_OF_RANGE = re.compile(r"(under|over)[\s_-]?(range|load|loaded)|ovl")
_VALUE = re.compile(r"[-+<>\u2212]?\s*[.,]?\d")
_SILENT = frozenset({"", "-", "--", "---", "–", "—", ".", "none"})
_YES, _NO = frozenset({"yes", "true", "1"}), frozenset({"no", "false", "0"})
_MARKS = frozenset({"*", "x", "!"})  # under a label that says of what, as "overload"
_GOOD = frozenset({"ok", "o.k.", "okay", "valid", "good", "normal", "in range", "inrange"})
_BAD = re.compile(
    r"(under|over)([\s_-]?(range|load|loaded|flow))?|ovl|ovr|ovld|ol|ur|clip(ped|ping)?|saturated"
    r"|invalid|not (valid|ok)|bad|error|no data|missing|rejected|excluded|unreliable"
    r"|(below|above|out of) range|n\.?/?a\.?"
)


@dataclass(frozen=True)
class Status:
    """bad : place -> word of the values that are none. unknown : the same of words that were not
    understood; their values are kept."""

    bad: Mapping[int, str]
    unknown: Mapping[int, str]


def status(label: str, cells: Sequence[str]) -> Status | None:
    """What a column of words says of the values beside it; None where it is no status.

    It is one when its label says so and some word is understood, or when all its words are and one
    is more than a gap. Bare 0 and 1, and a mark such as *, count under a label that says what they
    mean ("overload").
    """
    told = [i for i, cell in enumerate(cells) if _plain(cell) not in _SILENT]
    if any(_VALUE.match(_plain(cells[i])) and _plain(cells[i]) not in _YES | _NO for i in told):
        return None  # values
    judged = [_bad(cell, label) for cell in cells]
    known = [i for i in told if judged[i] is not None]
    if not known or meaning(label).metric.kind:
        return None
    clear = len(known) == len(told) and not all(is_gap(cells[i]) for i in told)
    if not (clear or _HEADER.search(label)):
        return None
    return Status(
        {i: cells[i].strip() for i in known if judged[i]},
        {i: cells[i].strip() for i in told if judged[i] is None},
    )


def _plain(cell: str) -> str:
    return cell.strip().lower()


def _bad(cell: str, label: str) -> bool | None:
    """Whether a word makes its value none; None when it is not understood."""
    word = _plain(cell)
    if word in _YES | _NO:
        if _MEANS_BAD.search(label):
            return word in _YES
        return word in _NO if _MEANS_GOOD.search(label) else None
    if word in _MARKS and _MEANS_BAD.search(label):
        return True
    if word in _SILENT or word in _GOOD:
        return False
    return True if _BAD.fullmatch(word) else None


def spoils(label: str, word: str) -> bool:
    """Whether a word in a column of this label says that its whole row is no measurement; without
    a label that speaks of a status only words of range and overload do, as "UR" may be a name."""
    said = status(label, [word])
    sure = bool(_HEADER.search(label)) and said is not None and bool(said.bad)
    return sure or (bool(_OF_RANGE.fullmatch(_plain(word))) and not meaning(label).metric.kind)


def governing(at: int, found: Mapping[int, Status]) -> Mapping[int, str]:
    """What the status of a column (or row) `at` makes gaps: the next one after it, else before."""
    after = [place for place in found if place > at]
    before = [place for place in found if place < at]
    if not (after or before):
        return {}
    return found[min(after) if after else max(before)].bad


def sentences(found: Status, bands: Sequence[float], where: str) -> list[str]:
    """What a status did, as printed; `bands` [Hz] by place."""
    said = []
    for words, what in ((found.bad, "no levels by their status, left as gaps"),
                        (found.unknown, "status not understood, values kept")):  # fmt: skip
        listed = [f"'{word[:20]}' at {bands[i]:g} Hz" for i, word in words.items()]
        if listed:
            said.append(f"{what}: {', '.join(listed)} ({where})")
    return said


_UNITS = re.compile(r"[\[(]?\s*(k?Hz|dB\s*[\[(]?[ACZ]?[\])]?|s)\s*[\])]?", re.I)


def is_unit(cell: str) -> bool:
    """Whether a cell is a unit of frequency, level or time and nothing else."""
    return bool(_UNITS.fullmatch(cell.strip()))


def words_in(cells: Sequence[str]) -> list[str]:
    """The different words of a column that say more than a gap or a unit."""
    told = (cell.strip() for cell in cells)
    return list(dict.fromkeys(w for w in told if not is_gap(w) and not _UNITS.fullmatch(w)))

"""Load findings that leave no doubt, in short words for the head of a sheet or page."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from impact.design.fixings import said_of

if TYPE_CHECKING:
    from impact.gravity.loads import Loads

OF_HANGERS = ("overloaded", "underloaded")  # what a verdict on the hangers says already
STOPS = {
    "turns_over": "hangers in one line", "overloaded": "hangers overloaded",
    "underloaded": "hangers loaded too little", "pushed_up": "hangers pushed up",
    "withdrawal_exceeded": "fasteners overloaded",
    "channel_moment": "channel overstressed", "channel_deflection": "channel bends too far",
    "channel_end": "channel ends bend too far", "headroom": "too little height",
    "obstruction": "a duct or beam in the way",
    "own_joists_do_not_fit": "its own joists touch what is above",
}  # fmt: skip


def to_mend(codes: Iterable[str], but: tuple[str, ...] = ()) -> str:
    """What of the findings must be mended before anything is built, in short words; "" for none.
    but : codes that are told elsewhere."""
    return ", ".join(dict.fromkeys(STOPS[c] for c in codes if c in STOPS and c not in but))


def stopping(loads: Loads) -> list[str]:
    """One line that names what must be mended before anything is built; none where nothing is."""
    what = said_of(loads.design.hangers, to_mend(each.code for each in loads.findings))
    return [f"NOT TO BE BUILT AS IT IS: {what}. See the load check."] if what else []

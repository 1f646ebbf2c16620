"""What was held against something published of floors like a design, and how far ours was off."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

from impact.design.parts import Design

SOFT = 1e9  # N/m3: below it a covering is a carpet, above it a hard finish (the catalogue's gap)
KINDS = (
    "bare joists", "boards on joists", "boards on joists, carpet", "channels", "bare slab",
)  # fmt: skip
SOLID = ("concrete", "lightweight")  # kinds of slabs of which examples are published
NOTHING = {
    "hung": "No measured floor with a hung ceiling is published where we could read it: what is "
    "said of hangers rests on physics, solved as finite elements solve it.",
    "own": "No measured floor above a ceiling on joists of its own is published where we could "
    "read it.",
    "channels": "No measured floor with carpet above resilient channels is published where we "
    "could read it.",
    "slab": "No measured slab with a ceiling below is published where we could read it.",
    "bare slab": "No measured slab of this kind is published where we could read it.",
}
LOW = "Below 50 Hz nothing measured is at hand."


@lru_cache(maxsize=1)
def checks() -> tuple[dict[str, Any], ...]:
    """All checks: kind, floor, source, case (folder of validation/), quantity, items, and
    `differences` (ours minus theirs, one for each item) or mean_db, mean_absolute_db, worst_db,
    worst_hz; a `remark` where there is one."""
    text = files("impact.advice").joinpath("evidence.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["check"])


def of(design: Design) -> tuple[list[dict[str, Any]], list[str]]:
    """Checks that stand behind a design, floor first, and sentences on what has none."""
    kinds, without = _kinds(design)
    return [one for one in checks() if one["kind"] in kinds], [*without, LOW]


def _kinds(design: Design) -> tuple[set[str], list[str]]:
    """Kinds of checks of floor, old ceiling and ceiling; what of them nothing stands behind."""
    slab = design.floor.slab
    if slab is not None:
        if slab.kind in SOLID:
            return {"bare slab"}, [NOTHING["slab"]]
        return set(), [NOTHING["bare slab"], NOTHING["slab"]]
    covering = design.floor.covering
    soft = covering is not None and covering.contact_stiffness < SOFT
    nailed = "boards on joists, carpet" if soft else "boards on joists"
    kinds = {"bare joists"} | ({nailed} if design.old_ceiling is not None else set())
    if design.hangers is None:
        return kinds, [NOTHING["own"]]
    if design.hangers.kind == "hanger":
        return kinds, [NOTHING["hung"]]
    if design.hangers.kind == "direct":
        return kinds | {nailed}, []
    return (kinds, [NOTHING["channels"]]) if soft else (kinds | {"channels"}, [])

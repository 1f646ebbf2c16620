"""Limits that no ceiling tried in a search keeps, and how near the best of them comes."""

from __future__ import annotations

import numpy as np

from impact.base.units import height_left, show
from impact.gravity import channel
from impact.gravity.findings import wanted
from impact.gravity.parts import limits_of
from impact.study.choose_parts import Choice


def in_the_way(made: Choice) -> str:
    """Sentences on the limits that every ceiling tried breaks, the target apart; "" for none."""
    said = [_at_best(made, name) for name, broken in made.failed.items()
            if name != "target" and broken.all()]  # fmt: skip
    return f"Every ceiling tried breaks: {'; '.join(said)}." if said else ""


def _at_best(made: Choice, name: str) -> str:
    """A limit and the best that was reached."""
    loads, kinds = made.loads, made.axes.hangers

    def of(values: list[float | None]) -> np.ndarray:
        return np.array([np.nan if v is None else v for v in values])[:, None, None, None]

    most, least = of([h.load_maximum for h in kinds]), of([h.load_minimum for h in kinds])
    factor = float(limits_of(made.design).get("load_factor", 1.0))
    if name == "headroom":
        return f"{name} ({_height(made)})"
    if name == "channel bends too far":
        wanted = float(limits_of(made.design).get("deflection_ratio", channel.RATIO))
        return f"{name} (L/{np.nanmax(loads.ratio):.0f} at best, L/{wanted:.0f} is wanted)"
    if name == "load above rated maximum":
        return f"{name} ({np.nanmin(factor * loads.worst / most):.2f} times it at best)"
    if name == "load below rated minimum":
        best = max(0.0, float(np.nanmax(loads.least / least)))
        return f"{name} (the least has {best:.2f} of it at best)"
    return name


def _height(made: Choice) -> str:
    room, units = made.design.room, made.design.units
    least, best = room.headroom_minimum, float(np.nanmax(made.headroom))
    if least is None or best >= least - 1e-9:
        allowed = show(limits_of(made.design)["drop_maximum"], "length", units)
        return f"{show(float(made.drop.min()), 'length', units)} taken at least of {allowed}"
    box = max(room.bulkheads, key=lambda patch: patch.drop, default=None)
    where = f" below '{box.name}'" if box and box.name else ""
    return f"{height_left(best, units)}{where} at best, {wanted(least, units)} is wanted"

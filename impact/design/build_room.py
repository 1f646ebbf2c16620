"""Room, target, prices, flanking and options from their checked values."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from impact.base.air import SPEED
from impact.base.bands import NOMINAL
from impact.base.units import FOOT
from impact.design import catalogue
from impact.design.background import nc_thirds
from impact.design.checks import Ledger, join, read_table, read_tables
from impact.design.lines import SAME
from impact.design.parts import Flank, Floor, Patch, Room, Tapping, Target
from impact.design.schema_room import (
    AT_LEAST,
    AT_MOST,
    FLANK,
    FOOTSTEPS,
    LIMITS,
    PATCH,
    PRICES,
    TAPPING,
    TARGET,
)
from impact.design.walls import WHY, default_walls

SOLID = ("notches", "bulkheads", "openings")  # a fixture may be a point
PATCHES = ("notches", "bulkheads", "openings", "fixtures", "obstructions")
HALF_DENTED = 0.5  # of wood, between two limits; see `source.tapping.hammer_stiffness`


def _between(frequency: float, centres: tuple[float, ...], levels: list[float]) -> float:
    if frequency <= centres[0]:
        return levels[0]
    for i in range(len(centres) - 1):
        if frequency <= centres[i + 1]:
            share = math.log(frequency / centres[i]) / math.log(centres[i + 1] / centres[i])
            return levels[i] + share * (levels[i + 1] - levels[i])
    return levels[-1]


def build_room(
    values: dict[str, Any], along: str, offset: tuple[float, float], ledger: Ledger
) -> Room | None:
    """`Room` with x along the joists; None after a fault. offset [m]: its corner on the floor."""
    swap = along == "width"
    length, width = values["length"], values["width"]
    if values["reverberation_time"] is not None and values["absorption_area"] is not None:
        ledger.fault("room.absorption_area", "stands beside reverberation_time; leave one out")
    rows = {name: _patch_rows(values[name], name, length, width, ledger) for name in PATCHES}
    if all(ledger.clean(join("room", name)) for name in PATCHES):
        _on_one_spot(rows, ledger)
    patches = {name: tuple(_patch(row, swap) for row in rows[name]) for name in PATCHES}
    background, background_name = _background(values["background"], ledger)
    if not ledger.clean("room"):
        return None
    _left_aside(patches, length * width, ledger)
    return Room(
        length=width if swap else length,
        width=length if swap else width,
        height=values["height"],
        reverberation_time=_reverberation(values, ledger),
        background=background,
        background_name=background_name,
        headroom_minimum=values["headroom_minimum"],
        offset_x=offset[0],
        offset_y=offset[1],
        **patches,
    )


def _patch_rows(
    raw: Any, name: str, length: float | None, width: float | None, ledger: Ledger
) -> list[dict[str, Any]]:
    path = join("room", name)
    rows = read_tables(raw, PATCH, path, ledger)
    for i, row in enumerate(rows):
        where = f"{path}[{i}]"
        if not ledger.clean(where):
            continue
        ends = row["x"] + row["length"], row["y"] + row["width"]
        sides = length or math.inf, width or math.inf  # what is wrong there is told there
        if any(end > side + SAME for end, side in zip(ends, sides, strict=True)):
            size = " x ".join(ledger.show(side, "length") for side in (length, width) if side)
            ledger.fault(where, f"reaches beyond the room of {size}")
        if name in SOLID and min(row["length"], row["width"]) <= 0:
            ledger.fault(where, "has no size; give length and width above 0, or leave it out")
        if name == "bulkheads":
            _bulkhead(row, where, ledger)
        for number, other in enumerate(rows[:i]):
            clean = ledger.clean(f"{path}[{number}]")
            if name in ("bulkheads", "openings") and clean and _overlap(row, other):
                ledger.fault(where, f"lies over {name}[{number}]; write one, or two side by side")
    return rows


def _bulkhead(row: dict[str, Any], where: str, ledger: Ledger) -> None:
    if not row["drop"]:
        ledger.fault(join(where, "drop"), "missing; how far it hangs below the ceiling")
    if row["mass"] is None:
        why = "its boards are counted besides; a frame is not, unless its mass is given"
        ledger.default(f"{where}.mass", ledger.show(0.0, "mass"), why)


def _overlap(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether two patches share more of the plan than an edge."""
    return all(
        min(one[at] + one[size], other[at] + other[size]) - max(one[at], other[at]) > SAME
        for at, size in (("x", "length"), ("y", "width"))
    )


def _within(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether one patch lies wholly inside another, a point not at its very edge."""
    return all(
        other[at] - SAME <= one[at]
        and one[at] + one[size] <= other[at] + other[size] + SAME
        and SAME < one[at] + one[size] / 2 - other[at] < other[size] - SAME
        for at, size in (("x", "length"), ("y", "width"))
    )


def _on_one_spot(rows: dict[str, list[dict[str, Any]]], ledger: Ledger) -> None:
    """Faults of patches of two kinds that cannot share a place of the plan. An opening may be in a
    bulkhead's soffit, a fixture under a bulkhead or over the edge of an opening."""

    def told(
        name: str, others: str, both: Callable[[dict[str, Any], dict[str, Any]], bool], what: str
    ) -> None:
        for i, row in enumerate(rows[name]):
            for number, other in enumerate(rows[others]):
                if both(row, other):
                    ledger.fault(f"room.{name}[{i}]", what.format(f"{others}[{number}]"))

    for name in ("bulkheads", "openings", "fixtures"):
        told(name, "notches", lambda one, other: _overlap(one, other) or _within(one, other),
             "lies over {}, where there is no ceiling; end it there, or move it")  # fmt: skip
    told("openings", "bulkheads", _reaches_out, "lies partly over {}; it is in it, or beside it")
    told("fixtures", "openings", _within,
         "lies in {}, where no boards carry it; give its mass to the opening")  # fmt: skip


def _reaches_out(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether a patch lies partly over another and partly beside it."""
    return _overlap(one, other) and not _within(one, other)


def _left_aside(patches: dict[str, tuple[Patch, ...]], area: float, ledger: Ledger) -> None:
    """Say what of the plan sound and sag do not see; area of the room's rectangle [m2]."""
    some = [patch for name in ("notches", "bulkheads", "openings") for patch in patches[name]]
    if not some:
        return
    share = 100 * sum(patch.length * patch.width for patch in some) / area
    much = f"{share:.0f} %" if share >= 1 else "less than 1 %"
    names = ", ".join(f"'{patch.name}'" for patch in some if patch.name)
    ledger.warnings.append(
        "room: for sound and sag the ceiling is one flat rectangle from wall to wall; notches, "
        f"bulkheads and openings{f' ({names})' if names else ''}, {much} of it, are left "
        "aside. Plans, loads and quantities have them; a hole also lets sound through"
    )


def _patch(row: dict[str, Any], swap: bool) -> Patch:
    if any(row[key] is None for key in ("x", "y", "length", "width")):
        return Patch("", 0.0, 0.0, 0.0, 0.0)
    sides = (row["x"], row["y"], row["length"], row["width"])
    if swap:
        sides = (row["y"], row["x"], row["width"], row["length"])
    return Patch(row["name"] or "", *sides, drop=row["drop"] or 0.0, mass=row["mass"] or 0.0)


def below_ceiling(room: Room, area: float | None, taken: float) -> Room:
    """`room` with the reverberation time of its absorption `area` [m2] in the air that a ceiling
    leaves which takes `taken` [m] of its height; the same room where no area is given."""
    if area is None:
        return room
    height = max(room.height - taken, 0.3)
    return replace(room, reverberation_time=_sabine(room.length * room.width * height, area))


def _sabine(volume: float, area: float) -> float:
    """T = 55.3 V / (c A) [s]; Sabine, ISO 354 without air absorption. m3, m2."""
    return float(55.3 * volume / (SPEED * area))


def _reverberation(values: dict[str, Any], ledger: Ledger) -> float:
    time, area = values["reverberation_time"], values["absorption_area"]
    if time is not None:
        return float(time)
    if area is not None:  # as if there were no ceiling yet, see `below_ceiling`
        volume = values["length"] * values["width"] * values["height"]
        return _sabine(volume, area)
    why = "furnished room of a dwelling (ISO 12354 takes 0.5 s as its reference)"
    ledger.default("room.reverberation_time", "0.5 s", why)
    ledger.spread("room.reverberation_time", 0.3, 0.8, "furnished rooms, common practice")
    return 0.5


def _background(raw: Any, ledger: Ledger) -> tuple[tuple[float, ...], str]:
    path = "room.background"
    if raw is None:
        return (), ""
    if isinstance(raw, dict):
        return _own_background(raw, path, ledger)
    match = (
        re.fullmatch(r"\s*NC[ -]?(\d+(?:\.\d+)?)\s*", raw, re.IGNORECASE)
        if isinstance(raw, str)
        else None
    )
    if match is None:
        ledger.fault(
            path, f'{raw!r} is no background; write "NC 25", or a table of bands to levels'
        )
        return (), ""
    try:
        return nc_thirds(float(match[1])), f"NC {float(match[1]):g}"
    except ValueError as fault:
        ledger.fault(path, str(fault))
        return (), ""


def _own_background(
    raw: dict[str, Any], path: str, ledger: Ledger
) -> tuple[tuple[float, ...], str]:
    given: dict[float, float] = {}
    for band, level in raw.items():
        try:
            hertz = float(band)
        except ValueError:
            ledger.fault(join(path, band), 'is no nominal third octave; like "31.5" = 45.0')
            continue
        if hertz not in NOMINAL:
            ledger.fault(join(path, band), "is no nominal third octave from 10 Hz to 5 kHz")
        elif (
            isinstance(level, bool) or not isinstance(level, int | float) or not -30 <= level <= 130
        ):
            ledger.fault(join(path, band), f"{level!r} is no level from -30 to 130 dB")
        else:
            given[hertz] = float(level)
    if len(given) < 2 or not ledger.clean(path):
        if ledger.clean(path):
            ledger.fault(path, "needs at least two bands")
        return (), ""
    bands = sorted(given)
    levels = tuple(_between(f, tuple(bands), [given[b] for b in bands]) for f in NOMINAL)
    missing = [f"{f:g}" for f in NOMINAL if f not in given]
    if missing:
        ledger.default(path, f"bands {', '.join(missing)} Hz", "between or beyond the bands given")
    return levels, "as given"


def build_target(raw: Any, ledger: Ledger) -> Target | None:
    """`Target` of [target], or None."""
    if raw is None:
        return None
    values = read_table(raw, TARGET, "target", ledger)
    if not ledger.clean("target"):
        return None
    what, band = values["quantity"], values["band_hz"]
    source = what in AT_MOST[AT_MOST.index("tapping_machine") :]
    if source and band is None:
        ledger.fault("target.band_hz", f"missing; '{what}' is a source, name the band meant")
    if not source and band is not None:
        ledger.fault("target.band_hz", f"'{what}' is a rating and has no band")
    if band is not None and band not in NOMINAL:
        ledger.fault("target.band_hz", f"{band:g} is no nominal third octave from 10 Hz to 5 kHz")
    usual = "at least" if what in AT_LEAST else "at most"
    sense = values["sense"] or usual
    if sense != usual:
        better = "higher" if what in AT_LEAST else "lower"
        ledger.warnings.append(
            f"target.sense: '{sense}', though {better} is better of {what}; is '{usual}' meant?"
        )
    return Target(what, values["limit"], band, sense)


def build_prices(raw: Any, ledger: Ledger) -> tuple[dict[str, float], str | None]:
    """Prices per SI unit ("channel_per_m", "board_per_m2", "by_name: ...") and the currency."""
    if raw is None:
        return {}, None
    values = read_table(raw, PRICES, "prices", ledger)
    currency = values.pop("currency")
    named = values.pop("by_name")
    if named is not None and not isinstance(named, dict):
        ledger.fault("prices.by_name", 'is no table; write [prices.by_name] and "name" = 5.0')
    prices: dict[str, float] = {}
    for key, value in values.items():
        if value is None:
            continue
        stem, per = [*key.rsplit("_per_", 1), ""][:2]
        metric, scale = {"ft": ("m", 1 / FOOT), "ft2": ("m2", 1 / FOOT**2)}.get(per, (per, 1.0))
        name = f"{stem}_per_{metric}" if metric else stem
        if name in prices:
            ledger.fault(join("prices", key), f"stands beside {name}; leave one out")
        prices[name] = value * scale
    for name, value in named.items() if isinstance(named, dict) else ():
        path = f"prices.by_name.{name}"
        entry = ledger.find(name, *catalogue.FILES)
        if entry is None:
            near = ledger.suggest(name, *catalogue.FILES)
            ledger.fault(path, "is not known" + (f"; did you mean '{near}'?" if near else ""))
        elif isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 1e6:
            ledger.fault(path, f"{value!r} is no price; a pure number without quotes")
        else:
            prices[f"by_name: {entry.name}"] = float(value)
    return prices, currency


def build_flanks(raw: Any, ledger: Ledger) -> tuple[Flank, ...]:
    """Walls of [[flanking]]."""
    rows = read_tables(raw, FLANK, "flanking", ledger)
    if not ledger.clean("flanking"):
        return ()
    return tuple(
        Flank(
            row["name"] or f"wall {i + 1}",
            row["mass_per_area"],
            row["area"],
            row["length"],
            row["junction"],
            row["vibration_reduction"],
        )
        for i, row in enumerate(rows)
    )


def note_walls(room: Room, floor: Floor, ledger: Ledger) -> None:
    """Note the walls that stand in where no [[flanking]] is given."""
    walls = default_walls(room, floor)
    area = sum(wall.area for wall in walls)
    mass = ledger.show(walls[0].mass_per_area, "mass per area")
    ledger.default(
        "flanking", f"{len(walls)} walls of {mass}, {ledger.show(area, 'area')} in all", WHY
    )


def build_tapping(raw: Any, slab: bool, wood: bool, ledger: Ledger) -> Tapping:
    """Rebound of the hammer: the user's, else 0 on slabs of concrete and 0.4 on timber floors; how
    far it has dented what it strikes: the user's, else half way on wood and wholly elsewhere.

    ISO 12354-2:2017 Annex B, made for slabs, is e = 0. For timber floors a measurement study (Acta
    Acustica 9:14, 2025, abstract) finds the whole range 0 to 1 and no rule; its middle in decibels,
    20 lg(1 + e) = 3 dB of 6 dB, is e = 0.4. Chosen before any comparison with measurements. It is
    that of contact and surface; what a floor that yields takes comes on top, see
    `impact.source.tapping.on_floor`.
    """
    values = read_table(raw if raw is not None else {}, TAPPING, "tapping", ledger)
    rebound, dented = values["rebound"], values["dented"]
    clean = ledger.clean("tapping")
    if rebound is None:
        rebound, why = (
            (0.0, "slab: ISO 12354-2:2017 Annex B is without rebound")
            if slab
            else (
                0.4,
                "middle, in dB, of the whole range 0 to 1 that measurements find (Acta Acustica"
                " 9:14)",
            )
        )
        if clean:
            ledger.default("tapping.rebound", f"{rebound:g}", why)
            ledger.spread("tapping.rebound", 0.0, 0.4 if slab else 1.0, why)
    if dented is None:
        dented = HALF_DENTED if wood else 1.0
        if clean and wood:
            why = "middle, in dB, between whole wood and a dent of the hammer's shape; no source"
            ledger.default("tapping.dented", f"{dented:g}", why)
            ledger.spread("tapping.dented", 0.0, 1.0, why)
    return Tapping(rebound, dented)


def build_options(raw: dict[str, Any], ledger: Ledger) -> dict[str, object]:
    """[footsteps] and [limits] as read, in SI, keys that were left out omitted."""
    options: dict[str, object] = {}
    for section, rows in (("footsteps", FOOTSTEPS), ("limits", LIMITS)):
        if section in raw:
            values = read_table(raw[section], rows, section, ledger)
            options[section] = {key: value for key, value in values.items() if value is not None}
    return options

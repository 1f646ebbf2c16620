"""Two designs side by side as text, 80 columns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from impact.base import bands, units
from impact.design.fixings import said_of
from impact.gravity.stops import to_mend
from impact.rating import summary
from impact.report.bandtable import SHORT
from impact.report.lines import cautions, signed, wrapped
from impact.sound import hearing
from impact.study.compare import OUT, cost, finished_height, names, unpriced, worst_load

if TYPE_CHECKING:
    from impact.chain import Prediction

MOST = 20  # differing keys that are printed


def page(pair: dict[str, Any]) -> str:
    """The comparison of `study.compare.compare` as a table."""
    lines = [f"{pair['second']} against {pair['first']}", ""]
    for found in pair["alarms"]:
        lines += [*wrapped("ALARM: " + found["message"]), ""]
    lines += [*_in_short(pair), *_changed(pair)]
    lines += ["Change of the level below in dB; minus is quieter.", ""]
    names = list(pair["difference_db"])
    lines.append("    Hz" + "".join(f"{SHORT.get(name, name):>12}" for name in names))
    for i, band in enumerate(pair["bands_hz"]):
        values = (pair["difference_db"][name][i] for name in names)
        lines.append(f"{bands.label(band):>6}" + "".join(f"{signed(x, 1):>12}" for x in values))
    lines += ["", "As heard: bands over the threshold of hearing, added.", ""]
    for region in bands.REGIONS:
        cells = (
            signed(pair["heard_db"][name][region], 1) if name in pair["heard_db"] else ""
            for name in names
        )
        lines.append((f"{region:>6}" + "".join(f"{cell:>12}" for cell in cells)).rstrip())
    lines += ["", f"{'':<16}{'first':>14}{'second':>14}"]
    for row in summary.ROWS:
        first, second = (pair[key].get(row.key) for key in ("ratings_first", "ratings_second"))
        if row.key != "unfavourable_sum_db" and (first, second) != (None, None):
            lines.append(f"{row.symbol:<16}{_text(first):>14}{_text(second):>14}")
    for label, key, dimension in (
        ("height used", "height_used_m", "length"),
        ("finished height", "finished_height_m", "height left"),
        ("ceiling mass", "ceiling_mass_kg_m2", "mass per area"),
        ("worst load", "worst_hanger_load_n", "force"),
    ):
        first, second = (
            "-"
            if value is None
            else units.height_left(value, pair["units"])
            if dimension == "height left"
            else units.show(value, dimension, pair["units"])
            for value in pair[key]
        )
        lines.append(f"{label:<16}{first:>14}{second:>14}")
    first, second = (f"{value:.1f} Hz" for value in pair["mass_spring_mass_hz"])
    lines.append(f"{'mass-spring-mass':<16}{first:>14}{second:>14}")
    if pair["cost"] != [None, None]:
        first, second = ("-" if value is None else f"{value:,.0f}" for value in pair["cost"])
        lines.append(f"{'cost':<16}{first:>14}{second:>14}")
        lines += _unpriced(pair["cost_without"])
    return "\n".join(lines + cautions(pair["cautions"]))


def _unpriced(without: Sequence[Sequence[str]]) -> list[str]:
    """What either cost leaves out; nothing where both count all."""
    first, second = (", ".join(names) or "nothing" for names in without)
    if not any(without):
        return []
    what = (
        f"{first} in both" if first == second else f"{first} in the first, {second} in the second"
    )
    return wrapped(f"Cost leaves out, for want of a price: {what}.")


def overview(predictions: Sequence[Prediction]) -> str:
    """All designs in one table, the quietest thud first: what stands out most of any step, height,
    load and cost."""
    called = names(predictions)
    rows = []
    for number, one in enumerate(predictions):
        bars = [who["bars"] for who in (one.extras.get("people") or {}).values()]
        out = [max((bar[r][OUT] for bar in bars), default=math.nan) for r in bands.REGIONS]
        rows.append((out, number, one))
    rows.sort(key=lambda row: row[:2])
    system, lines = predictions[0].design.units, ["All designs, the quietest thud first", ""]
    lines.append(f"{'':4}{'thud':>6}{'knock':>7}{'click':>7}{'finished':>14}{'worst load':>12}"
                 f"{'cost':>9}  {'f0':>6}")  # fmt: skip
    below = []
    for out, number, one in rows:
        cells = "".join(f"{'-' if not x >= 0.5 else f'{x:.0f}':>{w}}"
                        for x, w in zip(out, (6, 7, 7), strict=True))  # fmt: skip
        height, load, money = finished_height(one), worst_load(one), cost(one)
        cells += f"{'-' if height is None else units.height_left(height, system):>14}"
        cells += f"{'-' if load is None else units.show(load, 'force', system):>12}"
        cells += f"{'-' if money is None else f'{money:,.0f}':>9}"
        lines.append(f"{number + 1:>3} {cells}  {one.resonances.mass_spring_mass:>6.1f}")
        mend = to_mend(each.code for each in one.loads.findings) if one.loads else ""
        text = f"{called[number]}" + (f"; to be mended first: {mend}" if mend else "")
        without = unpriced(one)
        text += f"; cost without {', '.join(without)}" if without else ""
        below += wrapped(said_of(one.design.hangers, text), f"{number + 1:>3} ", "    ")
    lines += ["", *below, ""]
    return "\n".join(lines + wrapped(
        "Thud, knock, click: dB over hearing threshold and background, of the step and in the band"
        " that stand out most; - is not heard. f0: floor and ceiling on air and hangers, Hz. Under"
        f" {hearing.NOTICED:g} dB apart is little or no difference."))  # fmt: skip


def _in_short(pair: dict[str, Any]) -> list[str]:
    """What a listener makes of it, region by region."""
    lines = []
    for region, one in pair["loudest"].items():
        before, now = (
            hearing.grade(one[key]) + (f" {one[key]:+.0f}" if one[key] >= 0.5 else "")
            for key in ("first_db", "second_db")
        )
        lines.append(f"{region:>6}  {before:>13} -> {now:<13}  {one['words']}")
    head = ["In short: what stands out most of any step, dB over what can just be heard.", ""]
    return [*head, *lines, ""] if lines else []


def _changed(pair: dict[str, Any]) -> list[str]:
    """Keys that the files do not share, as they are written."""
    rows = _by_table(pair["changed"])
    lines = [line for row in rows[:MOST] for line in wrapped(row, "  ", "      ")]
    more = [f"  and {len(rows) - MOST} more"] if len(rows) > MOST else []
    return ["What the files say differently:", "", *lines, *more, ""] if rows else []


def _by_table(changed: Sequence[dict[str, str | None]]) -> list[str]:
    """A line for each key; what only one of the files says of a table stands in one line."""
    out: list[str] = []
    for (table, first, second), rows in groupby(
        changed, lambda row: (str(row["key"]).rpartition(".")[0], row["first"] is not None,
                              row["second"] is not None)
    ):  # fmt: skip
        group = list(rows)
        if len(group) == 1 or (first and second) or not table:
            out += [f"{row['key']}: {row['first'] or 'not given'} -> "
                    f"{row['second'] or 'not given'}" for row in group]  # fmt: skip
            continue
        given = ", ".join(f"{str(row['key'])[len(table) + 1 :]} {row['first'] or row['second']}"
                          for row in group)  # fmt: skip
        out.append(f"{table}: " + (f"{given} -> not given" if first else f"not given -> {given}"))
    return out


def _text(value: Any) -> str:
    return "-" if value is None else f"{value:g}"

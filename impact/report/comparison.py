"""Two designs side by side as text, 80 columns."""

from __future__ import annotations

from typing import Any

from impact.base import bands, units
from impact.rating import summary
from impact.report.bandtable import SHORT
from impact.report.lines import cautions, signed, wrapped


def page(pair: dict[str, Any]) -> str:
    """The comparison of `study.compare.compare` as a table."""
    lines = [f"{pair['second']} against {pair['first']}", ""]
    for found in pair["alarms"]:
        lines += [*wrapped("ALARM: " + found["message"]), ""]
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
    lines += ["", f"{'':<16}{'first':>12}{'second':>12}"]
    for row in summary.ROWS:
        first, second = (pair[key].get(row.key) for key in ("ratings_first", "ratings_second"))
        if row.key != "unfavourable_sum_db" and (first, second) != (None, None):
            lines.append(f"{row.symbol:<16}{_text(first):>12}{_text(second):>12}")
    for label, key, dimension in (
        ("height used", "height_used_m", "length"),
        ("finished height", "finished_height_m", "length"),
        ("ceiling mass", "ceiling_mass_kg_m2", "mass per area"),
        ("worst load", "worst_hanger_load_n", "force"),
    ):
        first, second = (
            "-" if value is None else units.show(value, dimension, pair["units"])
            for value in pair[key]
        )
        lines.append(f"{label:<16}{first:>12}{second:>12}")
    first, second = (f"{value:.1f} Hz" for value in pair["mass_spring_mass_hz"])
    lines.append(f"{'mass-spring-mass':<16}{first:>12}{second:>12}")
    if pair["cost"] != [None, None]:
        first, second = ("-" if value is None else f"{value:,.0f}" for value in pair["cost"])
        lines.append(f"{'cost':<16}{first:>12}{second:>12}")
    return "\n".join(lines + cautions(pair["cautions"]))


def _text(value: Any) -> str:
    return "-" if value is None else f"{value:g}"

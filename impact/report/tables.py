"""The answer of `impact predict` as text, 80 columns wide, most important first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from impact import __version__
from impact.advice import findings as advice
from impact.advice.resonance import pair_frequency
from impact.base import bands
from impact.base.units import show
from impact.design.fixings import called, said_of
from impact.gravity.findings import another_layer
from impact.gravity.stops import OF_HANGERS, to_mend
from impact.heard import strikes
from impact.link.gaps import open_walls
from impact.rating import astm, summary
from impact.report.bandtable import (
    SHOWN,
    aim_said,
    band_lines,
    bare_name,
    hung,
    lever_aim,
    target_cases,
    target_path,
    target_words,
    too_quiet,
)
from impact.report.felt import felt, small_room
from impact.report.lines import cautions, heading, signed, wrapped
from impact.report.methods import methods
from impact.report.perfect import best_case
from impact.report.spread import sure
from impact.sound import hearing
from impact.source import people

if TYPE_CHECKING:
    from impact.chain import Prediction
    from impact.design.parts import Design

PEOPLE = tuple(people.SOURCES)
MODES_SHOWN = 8
# Heads of columns, where there is no room for a leaf's name.
SHORT_LEAVES = {"floating floor": "floating", "old ceiling": "old ceil.", "loose fill": "fill"}
UNKNOWN_TARGET = "This quantity is not predicted here; no margin can be stated."


def page(prediction: Prediction, sources: Sequence[str] = SHOWN) -> str:
    """Everything about `prediction`; `sources` are those of the band table."""
    lines = title(prediction)
    for section in (heard, findings, best_case, wanted, resonant, modes, levers):
        lines += section(prediction)
    lines += band_lines(prediction, sources)
    lines += sure(prediction, sources)
    for section in (ratings, small_room, felt, loads, methods, defaults, notes, safety):
        lines += section(prediction)
    return "\n".join(line.rstrip() for line in lines)


def title(prediction: Prediction) -> list[str]:
    """Name, note, version and what identifies the design."""
    design = prediction.design
    lines = wrapped(design.name)
    if design.note:
        lines += wrapped(design.note)
    return lines + wrapped(f"impact {__version__}, design {design.digest[:12]}")


def heard(prediction: Prediction) -> list[str]:
    """Will steps be heard: each kind of step in thud, knock and click."""
    lines = heading("Will steps be heard below?")
    first, second = f"{'':<22}", f"{'':<22}"
    for name, region in bands.REGIONS.items():
        first += f"{name:<19}"
        second += f"{region[0]:g}-{region[1]:g} Hz".ljust(19)
    lines += [first, second]
    background = prediction.design.room.background
    for source in PEOPLE:
        excess = hearing.audible_excess(prediction.levels[source], background)
        row = f"{strikes.SOURCES[source].label:<22}"
        for region in bands.REGIONS.values():
            most = float(np.nanmax(excess[bands.between(region)]))
            cell = hearing.grade(most) + (f" {signed(most)} dB" if round(most) > 0 else "")
            row += f"{cell:<19}"
        lines.append(row)
    grades = "; ".join(f"{word}: up to {limit:g}" for limit, word in hearing.GRADES[1:-1])
    lines += wrapped(
        f"Fast maximum of a step over hearing threshold and {_background(prediction)}, in the band "
        f"where most stands out. {grades}; {hearing.GRADES[-1][1]}: more. Thud, knock, click and "
        "these grades are our own."
    )
    return lines + _maxima(prediction)


def _maxima(prediction: Prediction) -> list[str]:
    """A-weighted maxima of steps, and what no level is given of; nothing without them."""
    walkers = prediction.extras.get("people")
    if walkers is None:
        return []
    columns = (
        (bare_name(prediction), "LAFmax_bare_db", 18), ("this ceiling", "LAFmax_db", 14),
        ("1 step in 10", "LAFmax_90_percent_db", 14),
        *([("perfect", "LAFmax_best_case_db", 12)] if hung(prediction) else []),
    )  # fmt: skip
    lines = ["", f"{'LAFmax, dB(A)':<20}" + "".join(f"{name:>{w}}" for name, _, w in columns)]
    for source, one in walkers.items():
        cells = "".join(f"{one[key]:>{width}.1f}" for _, key, width in columns)
        lines.append(f"{strikes.SOURCES[source].label:<20}{cells}")
    for one in prediction.extras.get("events", {}).values():
        shown = {key: f"{one[key]:.1f}" if key in one else "" for _, key, _ in columns}
        cells = "".join(f"{shown[key]:>{width}}" for _, key, width in columns)
        lines.append(f"{one['label']:<24}{cells[4:]}")
    left_out = prediction.extras.get("not_predicted", {})
    said = "; ".join(f"{what} ({why})" for what, why in left_out.items())
    text = "Under this ceiling one step in ten exceeds the third column, over steps and places."
    return lines + wrapped(text + (f" Not predicted: {said}." if said else ""))


def _background(prediction: Prediction) -> str:
    room = prediction.design.room
    if not room.background:
        return "no background noise (the design gives none)"
    return f"background {room.background_name}"


def findings(prediction: Prediction) -> list[str]:
    """The graded warnings."""
    lines = heading("Warnings")
    if not prediction.warnings:
        return [*lines, "None: no resonance lies in the footfall range, 10-100 Hz."]
    for warning in prediction.warnings:
        lines += [f"{warning.severity.upper()}: {warning.code}", *wrapped(warning.message, "  ")]
    return lines


def wanted(prediction: Prediction) -> list[str]:
    """The target and the margins to it; nothing without a target."""
    target = prediction.target
    if target is None:
        return []
    lines = heading(f"Target: {target_words(target)}")
    cases = target_cases(prediction)
    if not cases:
        return lines + wrapped(UNKNOWN_TARGET)
    margins = target["margin_db"]
    for case, name in cases.items():
        value = target["predicted"][case]
        lines.append(f"{name:<17}{value:6.1f}   margin {signed(margins[case], 1)}")
    if "ceiling" in cases and max(margins["ceiling"], margins["best_case"]) < 0:
        lines += wrapped(_out_of_reach(prediction.design))
    return lines + wrapped(
        "Margins in dB or points, positive on the good side; predicted, "
        f"{target_path(prediction)}; no verdict."
    )


def _out_of_reach(design: Design) -> str:
    """Of a target that perfect hangers miss: what else of the ceiling has not been tried."""
    left = {"an empty cavity": "a porous fill"} if design.cavity.fill is None else {}
    left |= {"an open edge": "a sealed edge"} if open_walls(design) else {}
    if not left:
        return (
            "A ceiling alone cannot reach this target with these boards at this depth"
            f"{', whatever the hangers' if design.hangers else ''}."
        )
    what = "No hangers reach this target" if design.hangers else "This target is not reached"
    return (
        f"{what} with these boards at this depth, "
        f"{' and '.join(left)}. Try {' and '.join(left.values())} first."
    )


def resonant(prediction: Prediction) -> list[str]:
    """One-dimensional resonances, the springs and masses behind them, and the governing spring."""
    r, units = prediction.resonances, prediction.design.units
    held_by = called(prediction.design.hangers)
    lines = heading("Resonances")
    floor = "slab" if prediction.design.floor.slab else "joists and deck"
    rows = [("floor alone, lowest", r.floor_fundamental, f"{floor}, without the ceiling")]
    if r.hanger_only is not None:
        rows.append((f"{held_by} only", r.hanger_only, "ceiling on them, no air"))
    rows += [
        (
            "air only",
            r.air_only,
            f"floor and ceiling, no {held_by}" if hung(prediction) else "floor and ceiling",
        ),
        ("mass-spring-mass", r.mass_spring_mass, "all springs, both masses"),
    ]
    for name, value, what in rows:
        shown = f"{value:6.1f} Hz" if np.isfinite(value) else "not found"
        lines.append(f"{name:<23}{shown:>9}  {what}")
    springs = ", ".join(
        f"{name} {show(value, 'stiffness per area', units)}"
        for name, value in (("air", r.air_spring), (held_by, r.hanger_spring)) if value > 0
    )  # fmt: skip
    masses = " and ".join(
        f"{name} {show(value, 'mass per area', units)}"
        for name, value in (("all above the cavity", r.floor_mass), ("ceiling", r.ceiling_mass))
    )
    lines += wrapped(f"Springs: {springs}. Masses: {masses}.")
    return lines + wrapped(_governs(prediction, held_by))


def _governs(prediction: Prediction, held_by: str) -> str:
    r = prediction.resonances
    share = r.air_spring / (r.air_spring + r.hanger_spring)
    if r.hanger_spring <= 0:
        return "The air is the only spring between floor and ceiling; depth or mass lower it."
    without_air = pair_frequency(r.hanger_spring, r.floor_mass, r.ceiling_mass)
    if r.governing_spring == "air":
        filled = prediction.design.cavity.fill is not None
        text = (
            f"The air governs: {share:.0%} of the stiffness. Perfect hangers could bring "
            f"{r.mass_spring_mass:.1f} Hz down to {r.air_only:.1f} Hz, not lower; "
            f"{'depth or mass' if filled else 'depth, mass or a porous fill'} would."
        )
    else:
        text = (
            f"The {held_by} govern: {1 - share:.0%} of the stiffness. Softer ones can bring "
            f"{r.mass_spring_mass:.1f} Hz down to {r.air_only:.1f} Hz; more depth alone not below "
            f"{without_air:.1f} Hz."
        )
    return text


def modes(prediction: Prediction) -> list[str]:
    """Coupled modes in which the ceiling moves as one, and the lowest that is mostly floor."""
    r = prediction.resonances
    lines = heading(f"Coupled modes that matter most below {r.coupled_to:.0f} Hz")
    chosen = {i for i, mode in enumerate(r.coupled) if mode.heave >= advice.HEAVES}
    strongest = sorted(chosen, key=lambda i: -r.coupled[i].heave)[: MODES_SHOWN - 1]
    floor = next((i for i, mode in enumerate(r.coupled) if mode.share[0] >= 0.5), None)
    if floor is not None and floor not in strongest:
        strongest.append(floor)
    if not strongest:
        return [*lines, f"No mode below {r.coupled_to:.0f} Hz moves the ceiling as a whole."]
    names = [*r.leaf_names, "air"]
    width = min(11, 62 // len(names) - 2)
    heads = [name if len(name) <= width else SHORT_LEAVES.get(name, name[:width]) for name in names]
    lines.append(f"{'Hz':>7}  {'heave':>5}  " + "  ".join(f"{head:>{width}}" for head in heads))
    for i in sorted(strongest, key=lambda i: r.coupled[i].frequency):
        mode = r.coupled[i]
        shares = "  ".join(f"{share:>{width}.0%}" for share in mode.share)
        lines.append(f"{mode.frequency:>7.1f}  {mode.heave:>5.0%}  {shares}")
    return lines + wrapped(
        f"heave: how far the ceiling moves as one, which is what radiates. Others: share of the "
        f"moving energy. {len(r.coupled)} modes in all; the JSON output has every one."
    )


def levers(prediction: Prediction) -> list[str]:
    """What each change of the design gains, best first."""
    lines = heading("What would change it: less thud of a barefoot walker, as heard")
    aim = lever_aim(prediction)
    column = f"{aim}  " if aim else ""
    lines.append(f"{'20-80 Hz':>9}  {'most, in band':<18}  {column}change")
    for lever in prediction.levers:
        band = f"{signed(lever.band_gain_db, 1)} dB at {lever.band_hz:g} Hz"
        head = f"{signed(lever.gain_db, 1):>6} dB  {band:<18}  "
        if aim:
            told = "-" if lever.target_value is None else f"{lever.target_value:.0f}"
            head += f"{told:>{len(aim)}}  "
        lines += wrapped(lever.change, head)
    said = "Plus: that much quieter than this design. Minus: louder."
    if aim:
        said += f" {aim_said(prediction)}"
    if prediction.loads and any(lever.kind == "mass" for lever in prediction.levers):
        said = f"{said} {another_layer(prediction.loads)}".strip()
    return lines + wrapped(said)


def loads(prediction: Prediction) -> list[str]:
    """Loads on the hangers at rest, when they were computed (`impact.gravity.Loads`)."""
    checked = prediction.loads
    if checked is None:
        return []
    hangers = prediction.design.hangers
    lines = heading(said_of(hangers, f"Loads {'on the hangers ' if hangers else ''}at rest"))
    for line in checked.lines_of_text():
        lines += wrapped(line, "", "    ")
    return lines


def ratings(prediction: Prediction) -> list[str]:
    """Single numbers of bare floor, this ceiling and the best case, with clause."""
    lines = heading("Ratings: the ceiling alone, and in the building with its flanking walls")
    columns = [("bare", 6, prediction.ratings_bare), ("ceiling", 9, prediction.ratings)]
    columns += [("best", 6, prediction.ratings_best)] if hung(prediction) else []
    columns += [("building", 10, prediction.ratings_in_building)]
    heads = "".join(f"{name:>{width}}" for name, width, _ in columns)
    lines.append(f"{'':<12}{heads}  clause")
    for row in summary.ROWS:
        values = [column.get(row.key) for *_, column in columns]
        if row.key == "unfavourable_sum_db" or all(value is None for value in values):
            continue
        cells = ["-" if value is None else format(value, "g") for value in values]
        clause = f"ASTM {astm.LATEST}" if row.key == "IIC" else row.clause
        clause = clause.removesuffix(", check the standard")
        pairs = zip(cells, columns, strict=True)
        numbers = "".join(f"{cell:>{width}}" for cell, (_, width, _) in pairs)
        lines.append(f"{row.symbol:<12}{numbers}  {clause}")
    if prediction.walls:
        lines += wrapped(_walls(prediction))
    return lines + wrapped(
        f"{summary.which_way()} None of them counts what is below 50 Hz. From memory: check the "
        f"standard.{too_quiet(prediction)}"
    )


def _walls(prediction: Prediction) -> str:
    """One sentence on the flanking walls: whose they are, and the loudest of them."""
    walls = prediction.walls
    loudest = max(walls, key=lambda wall: wall["Ln_w"])
    whose = "given" if loudest["given"] else "NOT given, usual ones taken"
    mass = show(loudest["mass_per_area_kg_m2"], "mass per area", prediction.design.units)
    site = prediction.ratings_on_site
    count = "1 flanking wall" if len(walls) == 1 else f"{len(walls)} flanking walls"
    return (
        f"In the building: ceiling and {count} ({whose}); there Ln,w reads "
        f"L'n,w and IIC reads AIIC. Loudest wall: {loudest['name']}, {mass}, alone L'n,w "
        f"{loudest['Ln_w']:g}. L'nT,w of the building {site['LnT_w']:g}, NISR {site['NISR']:g}. "
        "Walls by energy averages, uncertain by 5 dB and more (judgement)."
    )


def defaults(prediction: Prediction) -> list[str]:
    """What the file left out and what was used instead."""
    used = prediction.design.defaults
    if not used:
        return []
    lines = heading(f"Left out of the design file, and used instead ({len(used)})")
    for default in used:
        lines += wrapped(f"{default.path} = {default.value} [{default.source}]", "", "    ")
    return lines


def notes(prediction: Prediction) -> list[str]:
    """Remarks of the reader, such as a value outside a model's range."""
    remarks = prediction.notes
    if not remarks:
        return []
    lines = heading("Remarks on the input")
    for remark in remarks:
        lines += wrapped(remark, "- ")
    return lines


def safety(prediction: Prediction) -> list[str]:
    """Safety lines, and whether the loads were checked."""
    return cautions((load_line(prediction), *prediction.cautions))


def load_line(prediction: Prediction) -> str:
    """One line on the hangers' loads: the verdict, or that nobody has checked them."""
    checked = prediction.loads
    if checked is None:
        return "Loads not checked."
    fragile = "; the ceiling cannot lose a hanger" if checked.fragile else ""
    line = f"Loads on the hangers at rest, computed: {checked.in_words}{fragile}."
    if not checked.hangers:
        line = "The ceiling hangs on joists of its own"
    elif not checked.judged:
        line = "Loads on the hangers computed, but no rated load is known to hold them against"
    if not checked.judged:
        line = f"Loads not checked. {line}."
    more = to_mend((finding.code for finding in checked.findings), but=OF_HANGERS)
    if more:
        line = f"{line.removesuffix('.')}; to be mended first: {more}."
    return said_of(prediction.design.hangers, line)

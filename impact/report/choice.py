"""The answer of a search: text, JSON, CSV, dataset, and the picture of stiffness against thud."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from impact import __version__
from impact.base import bands
from impact.base.plain import finite
from impact.base.units import factor, height_left, show, unit_of
from impact.design.fixings import called, cautions_of, said_of, table_of
from impact.report import style
from impact.report.bandtable import target_name, target_words
from impact.report.choice_limits import in_the_way
from impact.report.lines import cautions, heading, wrapped
from impact.study.choose import Choice, Row
from impact.study.choose_axes import FIELDS
from impact.study.choose_rating import needed
from impact.study.choose_sound import CENTRES

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure

COLUMNS = (
    "hangers", "dynamic_stiffness_n_m", "channel_spacing_m", "hanger_spacing_m", "layers",
    "clear_depth_m", "fill_m", "thud_db", "heard_db", "drop_m", "headroom_m", "cost",
    "hanger_count", "worst_load_n", "least_load_n", "spare_load_n", "lost_load_n", "feasible",
    "front", "failed",
)  # fmt: skip
SAME = 0.1  # dB: the search's own error
HOW = (
    "The rows are solved like a prediction; the search behind them interpolates (0.1 dB about, 0.3"
    " dB at most in trials).",
    "Heard ranks: thud over the threshold of hearing, from 20 Hz up. Thud: fast maximum of a"
    " barefoot walker, 16 to 80 Hz, mean over the room described; 16 and 20 Hz rule it, which are"
    " hardly heard.",
    "f0: floor and ceiling on air and hangers, Hz. Drop: what the ceiling takes below joists, slab"
    " or old ceiling. Finished: the least height left, below bulkheads and ducts too, with the"
    " long-term sag. Worst: greatest load on one hanger. Can lose one: without any one hanger no"
    " other goes beyond its rated load; ? where none is given. A fill that lies on the boards"
    " counts with the thickest tried.",
)


def text(made: Choice, prefer: str = "quietest") -> str:
    """Everything about a search, most important first, 80 columns wide."""
    lines = wrapped(made.design.name)
    lines += wrapped(f"impact {__version__}, design {made.design.digest[:12]}")
    lines += [*_verdict(made), *_rows(made), *_chosen(made, prefer), *_reasons(made)]
    lines += heading("How to read this")
    for sentence in HOW:
        lines += wrapped(said_of(made.design.hangers, sentence), "- ")
    lines += cautions(cautions_of(made.design))
    return "\n".join(line.rstrip() for line in lines)


def _verdict(made: Choice) -> list[str]:
    count, feasible = made.axes.count, int(made.feasible.sum())
    wanted = made.design.target
    if wanted is not None and needed(made.design) is not None:
        short = int(made.failed.get("target", np.zeros(1)).sum())
        title = f"{feasible + short} of {count} ceilings keep every limit but the target"
        lines = heading(title)
        if short:
            lines += wrapped(f"{short} of them fall short of the target, as screened.")
    else:
        lines = heading(f"{feasible} of {count} ceilings keep every limit")
        if not feasible:
            lines += wrapped(_why_none(made))
    lines += wrapped(in_the_way(made)) if in_the_way(made) else []
    for note in made.notes:
        lines += wrapped(note)
    return lines + _best(made)


def _best(made: Choice) -> list[str]:
    """The least thud of all that fits, on what was tried and on perfect hangers."""
    best = made.best_case
    if best is None:
        return []
    text = (
        "Of all that fits, whatever it carries or costs, the least thud as heard is"
        f" {best.perfect:.1f} dB on perfect hangers (none at all) and {best.found:.1f} dB on the"
        f" {called(made.design.hangers)} tried."
    )
    if best.found < best.perfect - SAME:
        text += (
            " Here perfect hangers are not the best: on this floor stiffer ones move the resonance"
            " out of the bands that are heard most, or tie ceiling and floor together. What they"
            " cost above 100 Hz is not in this number: predict it."
        )
    return wrapped(text)


def _why_none(made: Choice) -> str:
    others = np.isfinite(made.thud)
    for name, broken in made.failed.items():
        if name != "target":
            others = others & ~broken
    wanted = made.design.target
    if "target" in made.failed and others.any() and wanted and wanted.band_hz is not None:
        best = made.shown[0].reached if made.shown else None
        what = target_words(vars(wanted))
        reach = "" if best is None else f" The quietest below comes to {best:.1f} dB."
        return f"No ceiling here can reach the target, {what}.{reach} Look at the floor above."
    return (
        "No ceiling here keeps all limits; below are those that break fewest. The counts at the end"
        " say which limits stand in the way."
    )


def _rows(made: Choice) -> list[str]:
    """The shown part of the front."""
    units, priced = made.design.units, any(row.cost is not None for row in made.shown)
    wanted = made.design.target
    title = "The front: none is better in thud as heard, height and cost at once"
    lines = heading(title if len(made.front) else "Nearest misses")
    head = f"{'':2}{'heard':>6}{'thud':>6}{'f0':>6}{'drop':>11}{'finished':>14}{'worst':>10}"
    lines.append(head + (f"{'cost':>8}" if priced else "") + "  can lose one")
    for number, row in enumerate(made.shown, 1):
        mark = "*" if row is made.chosen else " "
        cells = (
            f"{mark}{number}{row.heard:>6.1f}{row.thud:>6.1f}{row.f0:>6.1f}"
            f"{show(row.drop, 'length', units):>11}{height_left(row.headroom, units):>14}"
            f"{show(row.worst, 'force', units):>10}"
        )
        if priced:
            cells += f"{'-' if row.cost is None else format(row.cost, '.0f'):>8}"
        lines.append(cells + f"  {_loses(row)}")
        lines += wrapped(words(row, units), "     ")
        if row.failed:
            lines += wrapped("breaks: " + ", ".join(row.failed), "     ")
        if row.reached is not None and wanted is not None:
            how = "predicted" if row.verified else "screened"
            name = target_name(wanted.quantity, wanted.band_hz)
            lines.append(f"     {name} {row.reached:.1f}, {how}")
    if len(made.front):
        lines += wrapped(f"{len(made.front)} on the front, {len(made.shown)} shown.")
    if made.loads.missing:
        lines += wrapped("Cost leaves out, for want of a price: " + ", ".join(made.loads.missing))
    return lines


def _loses(row: Row) -> str:
    most = row.design.hangers.load_maximum if row.design.hangers else None
    if not math.isfinite(row.lost):
        return "NO"
    return "?" if most is None else ("yes" if row.lost <= most else "NO")


def words(row: Row, units: str) -> str:
    """What a row is made of."""
    hangers, fill = row.design.hangers, row.design.cavity.fill
    assert hangers is not None

    def length(value: float) -> str:
        return show(value, "length", units)

    filled = f"{length(fill.thickness)} {fill.name}" if fill else "empty"
    layers = len(row.design.ceiling.layers)
    return (
        f"{hangers.name}, {show(hangers.dynamic_stiffness, 'stiffness', units)}, at"
        f" {length(hangers.channel_spacing)} x {length(hangers.hanger_spacing)};"
        f" {layers} layer{'' if layers == 1 else 's'}; clear depth"
        f" {length(row.design.cavity.clear_depth)}, {filled}"
    )


def _chosen(made: Choice, prefer: str) -> list[str]:
    """Which row was taken, and its lines for the design file."""
    if made.chosen is None:
        return []
    design = made.chosen.design
    hangers, fill = design.hangers, design.cavity.fill
    assert hangers is not None
    own = made.design.hangers

    def length(value: float) -> str:
        return show(value, "length", made.design.units)

    known = " of those known to reach the target" if made.chosen.reached is not None else ""
    lines = heading("Chosen (*): to be written into the design file")
    lines += wrapped(f"The {prefer} row{known}.")
    lines += ["[cavity]", f"clear_depth = '{length(design.cavity.clear_depth)}'"]
    if fill:
        lines += ["[cavity.fill]", f'material = "{fill.name}"',
                  f"thickness = '{length(fill.thickness)}'"]  # fmt: skip
    lines += [f"[{table_of(hangers)}]", f'class = "{hangers.name}"']
    same = own is not None and hangers.name == own.name
    if own is not None and same and hangers.dynamic_stiffness != own.dynamic_stiffness:
        unit = unit_of("stiffness", made.design.units)
        value = hangers.dynamic_stiffness / factor(unit, "stiffness")
        lines.append(f'dynamic_stiffness = "{value:.5g} {unit}"')
    if hangers.channel is not None and not same:  # the former class may have had another
        lines.append(f'channel = "{hangers.channel.name}"')
    lines.append(f"channel_spacing = '{length(hangers.channel_spacing)}'")
    if hangers.kind == "hanger":
        lines.append(f"hanger_spacing = '{length(hangers.hanger_spacing)}'")
    layers = len(design.ceiling.layers)
    lines.append(f"and board layers under [[ceiling.layers]]: {layers} in all.")
    if not same:
        text = "Take out what the file says of the former hangers' springs and loads."
        lines += wrapped(said_of(own, text))
    return lines


def _reasons(made: Choice) -> list[str]:
    """How many combinations break each limit, and how many break it alone."""
    lines = heading("Why the rest failed")
    lines.append(f"{'breaks':>8}{'only this':>11}  limit")
    for name, broken in made.failed.items():
        count = int(broken.sum())
        if count:
            lines.append(f"{count:>8}{made.only(name):>11}  {name}")
    return lines


def as_dict(made: Choice) -> dict[str, Any]:
    """Plain numbers and text for JSON, SI."""
    best = made.best_case
    return {
        "version": __version__,
        "design": made.design.name,
        "design_sha256": made.design.digest,
        "combinations": made.axes.count,
        "feasible": int(made.feasible.sum()),
        "best_case_heard_db": None
        if best is None
        else {"perfect_hangers": finite(best.perfect), "found": finite(best.found)},
        "failed": {
            name: {"count": int(broken.sum()), "only_this": made.only(name)}
            for name, broken in made.failed.items()
        },
        "front": len(made.front),
        "shown": [_plain(made, row) for row in made.shown],
        "chosen": None if made.chosen is None else _plain(made, made.chosen),
        "bands_hz": [bands.nominal(f) for f in CENTRES],
        "without_a_price": list(made.loads.missing),
        "notes": list(made.notes),
        "cautions": list(cautions_of(made.design)),
    }


def _plain(made: Choice, row: Row) -> dict[str, Any]:
    cells = cells_of(made, row.index)
    return {
        **{key: finite(v) if isinstance(v, float) else v for key, v in cells.items()},
        "thud_db": round(row.thud, 4), "heard_db": round(row.heard, 4),
        "level_db": [round(float(v), 4) for v in row.level],
        "f0_hz": finite(row.f0), "target_value": finite(row.reached),
        "target_predicted_in_full": None if row.reached is None else row.verified,
        "failed": list(row.failed),
    }  # fmt: skip


def cells_of(made: Choice, index: tuple[int, ...]) -> dict[str, Any]:
    """One combination by COLUMNS, all but whether it is on the front."""
    h, c, s, n, d, f = index
    a, loads, small = made.axes, made.loads, index[:4]
    numbers = {
        "dynamic_stiffness_n_m": a.hangers[h].dynamic_stiffness,
        "channel_spacing_m": a.channel_spacings[c], "hanger_spacing_m": a.hanger_spacings[s],
        "clear_depth_m": a.depths[d], "fill_m": a.fills[f],
        "thud_db": made.thud[index], "heard_db": made.heard[index], "drop_m": made.drop[index],
        "headroom_m": made.headroom[index], "cost": made.cost[index],
        "worst_load_n": loads.worst[small], "least_load_n": loads.least[small],
        "spare_load_n": loads.spare[small], "lost_load_n": loads.lost[small],
    }  # fmt: skip
    cells = {
        **{key: float(value) for key, value in numbers.items()},
        "hangers": a.hangers[h].name,
        "layers": a.layers[n],
        "hanger_count": _count(loads.count[small]),
        "feasible": bool(made.feasible[index]),
        "failed": "; ".join(name for name, broken in made.failed.items() if broken[index]),
    }
    return {key: cells[key] for key in COLUMNS if key in cells}


def _count(value: float) -> int:
    return int(value) if math.isfinite(value) else 0


def csv_text(made: Choice) -> str:
    """Every combination as a row; empty where a number does not exist."""
    out = io.StringIO()
    rows = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    rows.writeheader()
    front = {tuple(int(v) for v in each) for each in made.front}
    for index in np.ndindex(made.thud.shape):
        cells = cells_of(made, index) | {"front": index in front}
        rows.writerow({key: _cell(value) for key, value in cells.items()})
    return out.getvalue()


def _cell(value: Any) -> Any:
    """As written into CSV: six digits, 0 or 1, and nothing where there is no number."""
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, float):
        return f"{value:.6g}" if math.isfinite(value) else ""
    return value


def dataset(made: Choice) -> xarray.Dataset:
    """Every combination over the six axes, with units, ready for netCDF."""
    import xarray

    a = made.axes
    out = xarray.Dataset(coords={
        "hangers": ("hangers", np.arange(len(a.hangers))),
        "hanger_class": ("hangers", [h.name for h in a.hangers]),
        "dynamic_stiffness": ("hangers", [h.dynamic_stiffness for h in a.hangers],
                              {"units": "N m-1"}),
        "channel_spacings": ("channel_spacings", np.array(a.channel_spacings), {"units": "m"}),
        "hanger_spacings": ("hanger_spacings", np.array(a.hanger_spacings), {"units": "m"}),
        "layers": ("layers", np.array(a.layers)),
        "depths": ("depths", np.array(a.depths), {"units": "m", "long_name": "clear depth"}),
        "fills": ("fills", np.array(a.fills), {"units": "m", "long_name": "thickness of the fill"}),
        "band": ("band", [bands.nominal(f) for f in CENTRES], {"units": "Hz"}),
    })  # fmt: skip
    out["level"] = ((*FIELDS, "band"), made.level, {"units": "dB", "long_name": "walker, barefoot"})
    for name, values, unit in (
        ("thud", made.thud, "dB"), ("heard", made.heard, "dB"), ("drop", made.drop, "m"),
        ("headroom", made.headroom, "m"),
        ("cost", made.cost, "1"), ("feasible", made.feasible.astype("i1"), "1"),
    ):  # fmt: skip
        out[name] = (FIELDS, values, {"units": unit})
    for name in ("worst", "least", "spare", "lost"):
        out[f"{name}_load"] = (FIELDS[:4], getattr(made.loads, name), {"units": "N"})
    for name, broken in made.failed.items():
        out["breaks_" + name.replace(" ", "_")] = (FIELDS, broken.astype("i1"))
    out.attrs = {"title": made.design.name, "impact_version": __version__,
                 "design_sha256": made.design.digest,
                 "cautions": " ".join(cautions_of(made.design))}  # fmt: skip
    return out


def picture(made: Choice) -> Figure:
    """f0 and thud level against the stiffness of one hanger, with the air floor; call inside
    `style.look()`. Raises ValueError where nothing could be swept."""
    sweep, row = made.sweep, made.chosen or (made.shown[0] if made.shown else None)
    if sweep is None or row is None or row.design.hangers is None:
        raise ValueError("nothing to draw: no combination was solved")
    unit = unit_of("stiffness", made.design.units)
    scale = factor(unit, "stiffness")
    x = sweep.stiffness / scale
    figure = style.figure(8.0, 8.5)
    upper, middle, lower = figure.subplots(3, 1, sharex=True)
    for ax, y, floor, name in (
        (upper, sweep.f0, sweep.f0_air, "mass-spring-mass\nresonance f0 [Hz]"),
        (middle, sweep.heard, sweep.heard_air, "thud as heard\n[dB over threshold]"),
        (lower, sweep.thud, sweep.thud_air, "thud, 16-80 Hz [dB]"),
    ):
        held_by = said_of(row.design.hangers, "hangers of this stiffness")
        ax.plot(x, y, **{**style.series(0), "marker": ""}, label=held_by)
        ax.axhline(floor, **style.REFERENCE, label="perfect hangers: the air alone")
        ax.set_ylabel(name)
    here = row.design.hangers.dynamic_stiffness / scale
    upper.plot([here], [row.f0], linestyle="", marker="s", markersize=8, color=style.VERMILION,
               label="chosen" if made.chosen else "shown first")  # fmt: skip
    for ax, value in ((middle, row.heard), (lower, row.thud)):
        ax.plot([here], [value], linestyle="", marker="s", markersize=8, color=style.VERMILION)
    upper.set_xscale("log")
    ticks = [v for v in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
             if x[0] <= v <= x[-1] * 1.001]  # fmt: skip
    lower.set_xticks(ticks, [f"{v:g}" for v in ticks])
    lower.set_xticks([], minor=True)
    upper.set_ylim(bottom=0)
    one = said_of(row.design.hangers, "dynamic stiffness of one hanger")
    lower.set_xlabel(f"{one} [{unit}]")
    upper.legend(loc="upper left")
    for ax in (middle, lower):
        span = ax.get_ylim()
        if span[1] - span[0] < 4:  # a curve that hardly moves shall look so
            ax.set_ylim(sum(span) / 2 - 2, sum(span) / 2 + 2)
    style.titled(figure, made.design.name, f"   (design {made.design.digest[:12]})")
    foot = wrapped(words(row, made.design.units) + ".") + list(cautions_of(made.design))
    figure.supxlabel("\n".join(foot), fontsize=7.5)
    return figure

"""What faults of building cost, as text of 80 columns and as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from impact.base import bands
from impact.design.fixings import said_of
from impact.report import style
from impact.report.lines import heading, signed, wrapped
from impact.site.tolerance import LIMITS, RATED, REGIONS, Cost, Tolerance
from impact.sound.hearing import HEARD_FROM

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SPECTRA = 4  # numbers of bridged hangers drawn over frequency
TOO_LONG = (
    "A screw that is too long reaches the floor above and bridges its hanger: steps then go down "
    "the screw."
)
OUT_OF_REACH = (
    "No usual screw reaches the floor above here. A strap, rod or block that ties the boards to it "
    "bridges a hanger as a screw would: steps then go down it."
)
HOW = (  # sentences and what they are about: "" all, "bridged" hangers that yield, or a fault
    ("", "Faults are computed one at a time, with random places. Stiffness of a screw, of a clip "
     "that steel bypasses, of a packed fill and of an edge are estimates of workmanship, no "
     "source."),
    ("", "Thud is that of a barefoot walker, knock and click of hard heels, as heard: each band "
     "over the threshold of hearing, and nought where nothing is heard over threshold and "
     "background with the fault or without it; so is the worst band. Ln,w and IIC are the tapping "
     "machine's. Walls count where the design describes them. Plus is louder; for IIC minus is "
     "worse."),
    ("", "What costs thud stands first."),
    ("bridged", "Some faults make the thud quieter and stay faults: missing hangers leave their "
     "load to the others, screws let knock and click through."),
    ("", "Changes are those in a diffuse room; in the real one thud may move 2 dB more or less, "
     "knock and click 1.5 dB, a single band below 80 Hz up to 7 dB."),
    ("touching", "A touching edge is held still by its wall below 200 Hz; from there on the walls' "
     "own motion enters too, taken from usual walls where the design describes none."),
    ("contact", "Joists that meet are told up to 4 dB too loud above 160 Hz, by averages."),
    ("fill packed", "The frame of a packed fill counts up to 250 Hz only."),
)  # fmt: skip


def how(found: Tolerance) -> list[str]:
    """How to read the costs: what is said of faults that this ceiling can have."""
    about = {"", *(cost.key for cost in found.others)} | ({"bridged"} if found.curve else set())
    return [said_of(found.points, text) for key, text in HOW if key in about]


def bridges(found: Tolerance) -> str:
    """What bridges a hanger, before the numbers that cost so and so much."""
    what = TOO_LONG if found.screws_reach else OUT_OF_REACH
    text = f"{what} So few of them make it louder below, in the band named:"
    return said_of(found.points, text)


def page(found: Tolerance) -> str:
    """Sentences for the site first, then the curve, then the other faults."""
    lines = wrapped(f"What faults of building cost: {found.design}")
    hung = said_of(found.points, f", {found.hangers} hangers") if found.hangers else ""
    lines += wrapped(f"{found.cases} as-built states computed{hung}")
    if found.curve:
        lines += [*heading("On site"), *wrapped(bridges(found))]
        lines += _sentences(found)
        lines += [*heading(said_of(found.points, "Bridged hangers")), *_head("bridged")]
        lines += [f"{cost.count:<10}{_numbers(cost)}" for cost in found.curve]
    if found.chosen is not None:
        lines += [*heading(said_of(found.points, "The hangers you named")), *_head()]
        lines += [f"{'':<10}{_numbers(found.chosen)}", *_bands(found.chosen)]
    lines += [*heading("Other faults"), *_head(), *_others(found)]
    lines += heading("How to read this")
    for text in (*how(found), *found.cautions):
        lines += wrapped(text, "- ", "  ")
    return "\n".join(line.rstrip() for line in lines)


def _sentences(found: Tolerance) -> list[str]:
    lines = []
    for region in REGIONS:
        reached = found.thresholds[region]
        for sentence in dict.fromkeys(one.sentence for one in reached):
            lines += wrapped(f"{sentence} ({region}).", "  ", "  ")
        if not reached:
            lines += wrapped(f"No number of them costs {LIMITS[0]:.0f} dB in a band of {region}.",
                             "  ", "  ")  # fmt: skip
    return lines


def _head(label: str = "") -> list[str]:
    """Heads of the columns of `_numbers`, with their units."""
    return [
        f"{label:<10}{'thud':>7}{'knock':>7}{'click':>7}{'Ln,w':>6}{'IIC':>6}   worst band",
        f"{'':<10}{'dB':>7}{'dB':>7}{'dB':>7}",
    ]


def _numbers(cost: Cost) -> str:
    regions = "".join(f"{signed(cost.regions[name], 1):>7}" for name in REGIONS)
    ratings = "".join(f"{signed(cost.ratings[name]):>6}" for name in RATED)
    band, loss = cost.worst
    worst = f"{signed(loss, 1)} dB at {bands.named(band)}" if loss >= 0.5 else "-"
    return f"{regions}{ratings}   {worst}"


def _others(found: Tolerance) -> list[str]:
    from impact.site.faults import worded

    lines: list[str] = []
    last = ""
    for cost in (found.others[place] for place in found.in_order):
        if cost.key != last:
            lines.append(worded(cost.key, found.points).name)
        last = cost.key
        lines += [f"  {cost.words}", f"{'':<10}{_numbers(cost)}"]
    return lines


def _bands(cost: Cost) -> list[str]:
    """Loss per band of one case, seven bands a line."""
    lines = []
    for start in range(0, len(bands.NOMINAL), 7):
        part = slice(start, start + 7)
        lines.append("Hz".ljust(6) + "".join(f"{bands.label(b):>8}" for b in bands.NOMINAL[part]))
        losses = cost.change_db[part]
        lines.append("dB".ljust(6) + "".join(f"{signed(loss, 1):>8}" for loss in losses))
    return lines


def picture(found: Tolerance) -> Figure:
    """Loss against share of bridged hangers, and loss over frequency; call inside `style.look()`.

    Raises ValueError where nothing can be bridged.
    """
    if not found.curve:
        raise ValueError("no hangers that could be bridged")
    figure = style.figure(8.0, 8.4)
    upper, lower = figure.subplots(2, 1)
    shares(upper, found)
    spectra(lower, found)
    style.titled(figure, found.design, f"   (design {found.digest[:12]})")
    style.cautioned(figure, found.cautions)
    return figure


def shares(ax: Axes, found: Tolerance) -> Axes:
    """Loss of thud, knock and click against the share of hangers that are bridged."""
    share = [100 * cost.count / found.hangers for cost in found.curve]
    for number, (name, ((low, high), _)) in enumerate(REGIONS.items()):
        losses = [cost.regions[name] for cost in found.curve]
        label = f"{name}, {max(low, HEARD_FROM):g}-{high:g} Hz"
        ax.plot(share, losses, label=label, **style.series(number))
    rated = [cost.ratings["Ln_w"] for cost in found.curve]
    ax.plot(share, rated, label="Ln,w", **style.series(3))
    ax.set_title(said_of(found.points, "loss against share of bridged hangers"), loc="left")
    label = f"share of {found.hangers} hangers bridged [%]"
    ax.set_xlabel(said_of(found.points, label))
    ax.set_ylabel("louder by [dB]")
    ax.set_xlim(0, 100)
    ax.legend(loc="best")
    return ax


def spectra(ax: Axes, found: Tolerance) -> Axes:
    """Mean loss per band for a few numbers of bridged hangers; 5 to 95 % of places for the first
    of them."""
    some = [cost for cost in found.curve if cost.count]
    places = np.unique(np.linspace(0, len(some) - 1, SPECTRA).round().astype(int))
    for number, place in enumerate(places):
        cost = some[place]
        look = style.series(number)
        ax.plot(bands.CENTRES, cost.change_db, label=f"{cost.count} bridged", **look)
        if number == 0 and cost.cases > 1:
            ax.fill_between(
                bands.CENTRES, cost.low_db, cost.high_db, label="90 % of its places", **style.BAND
            )
    ax.axhline(0, **style.REFERENCE)
    ax.set_title("loss per band, mean over places", loc="left")
    ax.set_ylabel("louder by [dB]")
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + 0.4 * (high - low))  # room for the key, which hid points
    ax.legend(loc="upper center", ncols=2)
    return style.band_axis(ax)

"""What faults of building cost, in the report: for the contractor in words, for the engineer in
numbers. All numbers are those of `impact tolerance --format json`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from impact.design.fixings import said_of
from impact.report import style
from impact.report.page_blocks import (
    Answer,
    Block,
    Gallery,
    Items,
    Paragraph,
    Picture,
    Run,
    Runs,
    Section,
    Table,
)
from impact.report.page_pictures import HEIGHT, MARGINS, SMALL, WIDTH, octave_axis, thin
from impact.report.tolerance import bridges, how, shares, spectra
from impact.site.faults import worded
from impact.site.tolerance import LIMITS, RATED, REGIONS

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from impact.site.tolerance import Tolerance

TITLE = "What faults of building cost"
SOURCE = "tolerance"  # of the numbers: where they stand is a path in that command's JSON
HEARD = 1.0  # dB, a fault that costs less of thud, knock and click is told as hardly any sound
UNSEEN = "No hanger here yields, so no screw can bridge one."
ALONE = (
    "One fault at a time, the largest case that was tried; how much louder thud, knock and click "
    "are heard below. What costs thud stands first."
)


def answer_of(found: Tolerance, units: str) -> Answer:
    """The faults' numbers by path."""
    return Answer(found.as_dict(), units, SOURCE)


def contractor(found: Tolerance, units: str) -> Section:
    """Thresholds of bridged hangers in words, and what to watch, the costliest first."""
    answer = answer_of(found, units)
    blocks: list[Block] = [_unseen(found)]
    if found.curve:
        blocks = [
            Paragraph((bridges(found),)),
            Items(tuple(_reached(answer, r) for r in REGIONS)),
        ]
    rows: list[tuple[Runs, ...]] = []
    for number in found.costliest:
        fault = worded(found.others[number].key, found.points)
        cost = _louder(answer, f"faults[{number}]", found.others[number].regions)
        rows.append(((fault.name,), cost, (fault.test,), (fault.remedy,)))
    head = ("Watch for", "Costs up to", "How to find it", "What to do")
    return Section(TITLE, (*blocks, Table(head, tuple(rows), ALONE)))


def _reached(answer: Answer, region: str) -> Runs:
    """One region: how few bridged hangers reach each limit, and what they cost."""
    runs: list[Run] = []
    last = None
    for number, one in enumerate(answer.get(f"thresholds.{region}")):
        if one["count"] == last:
            continue
        last = one["count"]
        path = f"thresholds.{region}[{number}]"
        verb = "costs" if last == 1 else "cost"
        of = (" of ", answer.value(f"{path}.hangers", 0)) if not runs else ()
        runs += [
            "; " if runs else f"{region.capitalize()}: ", answer.value(f"{path}.count", 0),
            " bridged" if not runs else "", *of, f" {verb} ", answer.value(f"{path}.loss_db", 0),
            " dB at ", _band(answer, f"{path}.band_hz"), " Hz",
        ]  # fmt: skip
    if not runs:
        return (f"{region.capitalize()}: no number of them costs {LIMITS[0]:.0f} dB in a band.",)
    return (*runs, ".")


def _louder(answer: Answer, path: str, regions: dict[str, float]) -> Runs:
    """Thud, knock and click that a fault makes louder, in that order."""
    runs: list[Run] = []
    for region in REGIONS:
        if round(regions[region]) >= HEARD:
            shown = answer.value(f"{path}.regions_db.{region}", 0, sign=True)
            runs += [", " if runs else "", f"{region} ", shown, " dB"]
    return tuple(runs) or ("hardly any sound",)


def engineer(found: Tolerance, units: str, seed: int) -> Section:
    """Loss against the number of bridged hangers, as picture and table, and all other faults.

    seed : of the random places.
    """
    answer = answer_of(found, units)
    said = f"{found.cases} as-built states computed, places drawn with seed {seed}."
    blocks: list[Block] = []
    if found.curve:
        rows = tuple(
            ((f"{cost.count}",), *_numbers(answer, f"bridged[{i}]", cost.heard_db))
            for i, cost in enumerate(found.curve)
        )
        caption = said_of(found.points, f"Bridged hangers of {found.hangers}, mean over places; dB,"
                          " plus is louder.")  # fmt: skip
        blocks = [
            Gallery((_share_picture(found), _spectra_picture(found))),
            Table(_head("bridged"), rows, caption, numeric=True, small=True),
        ]
    else:
        blocks.append(_unseen(found))
    others = tuple(
        ((f"{worded(found.others[i].key, found.points).name}: {found.others[i].words}",),
         *_numbers(answer, f"faults[{i}]", found.others[i].heard_db))
        for i in found.in_order
    )  # fmt: skip
    blocks += [
        Table(_head("fault"), others, "Other faults, one at a time; dB, plus is louder.",
              numeric=True, small=True),
        Items(tuple((text,) for text in (said, *how(found)))),
    ]  # fmt: skip
    return Section(TITLE, tuple(blocks))


def _unseen(found: Tolerance) -> Paragraph:
    return Paragraph((said_of(found.points, UNSEEN),))


def _head(first: str) -> tuple[str, ...]:
    return (first, *REGIONS, "Ln,w", "IIC", "worst band")


def _numbers(answer: Answer, path: str, losses: tuple[float, ...]) -> tuple[Runs, ...]:
    regions = [(answer.value(f"{path}.regions_db.{r}", 1, sign=True),) for r in REGIONS]
    rated = [(answer.value(f"{path}.ratings.{key}", 0, sign=True),) for key in RATED]
    worst: Runs = _worst(answer, path, losses, 1) if max(losses) >= 0.5 else ("–",)
    return (*regions, *rated, worst)


def _worst(answer: Answer, path: str, losses: tuple[float, ...], digits: int) -> Runs:
    """The largest loss that is heard, and its band."""
    at = losses.index(max(losses))
    loss = answer.value(f"{path}.heard_change_db[{at}]", digits, sign=True)
    return (loss, " dB at ", _band(answer, f"bands_hz[{at}]"), " Hz")


def _band(answer: Answer, path: str) -> Run:
    return answer.value(path, 0 if float(answer.get(path)).is_integer() else 1)


def _share_picture(found: Tolerance) -> Picture:
    most = found.curve[-1].regions
    said = ", ".join(f"{name} {most[name]:.0f} dB" for name in REGIONS)
    caption = said_of(found.points, "Loss against share of bridged hangers")
    return _picture(
        lambda ax: shares(ax, found),
        f"{caption}, from none to all. With all bridged: {said}.",
        f"{caption}.",
    )


def _spectra_picture(found: Tolerance) -> Picture:
    return _picture(
        lambda ax: octave_axis(spectra(ax, found)),
        said_of(
            found.points,
            "Loss in each third octave for some numbers of bridged hangers. The "
            "worst band of each number is in the table below.",
        ),
        "Loss per band, mean over places.",
    )


def _picture(draw_on: Callable[[Axes], Axes], alt: str, caption: str) -> Picture:
    def draw(figure: Figure) -> None:
        ax = style.place(figure, *MARGINS)
        draw_on(ax)
        thin(ax)
        ax.set_title("", loc="left")
        ax.tick_params(axis="both", labelsize=SMALL)
        for label in (ax.xaxis.label, ax.yaxis.label):
            label.set_fontsize(SMALL + 0.5)
        ax.legend(loc="upper left", fontsize=SMALL - 0.5)
        _make_room(ax)

    return Picture(draw, WIDTH, HEIGHT + 0.25, alt, (caption,))


def _make_room(ax: Axes) -> None:
    """Head room for the key above the lines."""
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + 0.45 * (high - low))

"""`impact diagnose`: which fault may stand behind a site measurement."""

from __future__ import annotations

from typing import Any

import click

from impact.cli import measuring, options

MOST_TIMES = 100  # beyond, one fault is as good as asserted
KEYS = (
    "bridged", "missing", "overloaded", "underloaded", "mis-seated", "touching", "fill missing",
    "fill packed", "level", "wrong hanger", "fixture", "contact", "flanking",
)  # fmt: skip


@click.command()
@options.design
@click.argument("measured", metavar="MEASURED", type=click.Path())
@options.output_format("json")
@options.plot
@measuring.measuring
@click.option(
    "--floors", type=click.IntRange(1, 100), default=12, show_default=True, metavar="N",
    help="Floors on which faults are tried: the drawing, and others like it whose inputs are drawn "
    "from their ranges. 1 is the drawing alone: quicker, and surer than it may be.",
)  # fmt: skip
@click.option(
    "--weight", "weights", multiple=True, metavar="FAULT=TIMES",
    help="What you know of the site: bridged=3 holds bridging screws three times as likely among "
    "the faults as without it, \"fill missing=0\" rules missing fill out. May be given several "
    f"times. Faults: {', '.join(KEYS)}. [default: none is favoured]",
)  # fmt: skip
@options.seed(0, "the places of faults")
def diagnose(
    design: str, measured: str, output_format: str, plot: str | None, floors: int,
    weights: tuple[str, ...], seed: int, **asked: Any,
) -> None:  # fmt: skip
    """Look for the fault behind a site measurement under DESIGN's ceiling.

    MEASURED is a meter's export as 'impact field' reads it, in third octaves. Bridging screws,
    touching edges, missing fill, sound by the walls and other faults are weighed against the
    difference to the prediction: a ranked list, what the data cannot tell apart, and the cheapest
    test on site for each. Each fault is tried on twelve floors, which takes about half a minute.

    \b
    Examples:
      impact diagnose my_room.toml tapping.csv --background quiet.csv
      impact diagnose my_room.toml tapping.csv --plot faults.png
      impact diagnose my_room.toml tapping.csv --weight bridged=3
    """
    times = _times(weights)
    options.check_targets("impact diagnose", (("--plot", plot, options.PLOT_KINDS),))
    from impact.chain import predict
    from impact.design.reader import read
    from impact.report import diagnosis as pages
    from impact.site.diagnose_measured import check, search

    plan = read(design)
    spectrum = measuring.spectrum(plan, measured, asked)
    check(spectrum, measured)
    found = search(predict(plan), spectrum, seed, path=measured, floors=floors, times=times)
    if output_format == "json":
        options.print_json(found.as_dict())
    else:
        click.echo(pages.page(found))
    if plot:
        about = f"impact diagnose, design {found.prediction.design.digest[:12]}"
        options.draw(plot, lambda: pages.picture(found), about)


def _times(weights: tuple[str, ...]) -> dict[str, float]:
    """What --weight says: fault -> times as likely; a usage error naming all that cannot be."""
    times: dict[str, float] = {}
    wrong = []
    for text in weights:
        key, _, number = (part.strip() for part in text.rpartition("="))
        try:
            value = float(number)
        except ValueError:
            value = -1.0
        if key not in KEYS:
            wrong.append(f"{text!r} names no fault; known: {', '.join(KEYS)}")
        elif not 0 <= value <= MOST_TIMES:
            wrong.append(f"{text!r}: times must be a number from 0 to {MOST_TIMES}")
        elif key in times:
            wrong.append(f"{text!r}: {key} is given twice")
        else:
            times[key] = value
    if wrong:
        raise click.BadParameter("; ".join(wrong), param_hint="--weight")
    return times

"""`impact diagnose`: which fault may stand behind a site measurement."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from impact.cli import measuring, options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.site.measured import Measurement

MOST_TIMES = 100  # beyond, one fault is as good as asserted
ERRORS = (0.00001, 0.01)  # m, of a deflection
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
    "from their ranges. 1 is the drawing alone: quicker, but too sure of itself.",
)  # fmt: skip
@click.option(
    "--weight", "weights", multiple=True, metavar="FAULT=TIMES",
    help="What you know of the site: bridged=3 holds bridged hangers three times as likely among "
    "the faults as without it, \"fill missing=0\" rules missing fill out. May be given several "
    f"times. Faults: {', '.join(KEYS)}. [default: none is favoured]",
)  # fmt: skip
@measuring.deflecting
@click.option(
    "--deflection-error", metavar="LENGTH", default="0.5 mm", show_default=True,
    help="Standard uncertainty of one deflection: a ruler reads to 0.5 mm, a caliper or dial gauge "
    "to 0.1 mm. Rubber clips give 1 mm or so: read them by gauge.",
)  # fmt: skip
@click.option(
    "--bare", type=click.Path(), metavar="FILE",
    help="Levels of the same source below the bare floor, before the ceiling went up, as 'impact "
    "calibrate' reads them; background and reverberation from that file or the design. They tell "
    "of the floor, little of hangers: in trials hardly more faults were found with them.",
)  # fmt: skip
@options.seed(0, "the places of faults")
def diagnose(
    design: str, measured: str, output_format: str, plot: str | None, floors: int,
    weights: tuple[str, ...], deflections: str | None, deflection_unit: str | None,
    deflection_error: str, bare: str | None, seed: int, **asked: Any,
) -> None:  # fmt: skip
    """Look for the fault behind a site measurement under DESIGN's ceiling.

    MEASURED is a meter's export as 'impact field' reads it, in third octaves. Bridged hangers,
    touching edges, missing fill, sound by the walls and other faults are weighed against the
    difference to the prediction: a ranked list, what the data cannot tell apart, and the cheapest
    test on site for each. Each fault is tried on twelve floors, which takes about half a minute.

    What a spectrum hardly tells, deflections of the hangers do: which are bridged, overloaded,
    mis-seated or of another type. Read all of them, or every third, by ruler or, on rubber clips
    and channels, which give about 1 mm, by caliper (--deflection-error). The page says when they
    would help. Levels below the bare floor (--bare) help less.

    \b
    Examples:
      impact diagnose my_room.toml tapping.csv --background quiet.csv
      impact diagnose my_room.toml tapping.csv --plot faults.png
      impact diagnose my_room.toml tapping.csv --weight bridged=3
      impact diagnose my_room.toml tapping.csv --deflections hangers.csv
      impact diagnose my_room.toml tapping.csv --bare before.csv
    """
    times, error = _times(weights), _error(deflection_error)
    options.check_targets("impact diagnose", (("--plot", plot, options.PLOT_KINDS),))
    from impact.chain import predict
    from impact.design.reader import read
    from impact.report import diagnosis as pages
    from impact.site.diagnose_beside import Beside, check_hangers
    from impact.site.diagnose_measured import check, search

    plan = read(design)
    spectrum = measuring.spectrum(plan, measured, asked)
    check(spectrum, measured)
    read_off = None
    if deflections is not None:
        check_hangers(plan, deflections)
        read_off = measuring.deflected(plan, deflections, deflection_unit, asked["decimal"])
    before = None if bare is None else _before(plan, bare, spectrum.source, asked)
    beside = Beside(read_off, error, before)
    found = search(
        predict(plan), spectrum, seed, path=measured, floors=floors, times=times, beside=beside
    )
    if output_format == "json":
        options.print_json(found.as_dict(), plan)
    else:
        click.echo(pages.page(found))
    if plot:
        about = f"impact diagnose, design {found.prediction.design.digest[:12]}"
        options.draw(plot, lambda: pages.picture(found), about)


def _before(plan: Design, path: str, source: str, asked: dict[str, Any]) -> Measurement:
    """The measurement below the bare floor, of the same source; what else belongs to it stands in
    its own file."""
    from impact.site.diagnose import BANDS
    from impact.site.diagnose_beside import check_bare

    own = {"source": source, "background": None, "corner": None, "reverberation": None}
    level = measuring.spectrum(plan, path, {**asked, **own}, ceiling=False)
    check_bare(level, path, BANDS)
    return level


def _error(text: str) -> float:
    """What --deflection-error says [m]; a usage error for what is no length within its range."""
    from impact.base.units import UnitError, parse

    least, most = ERRORS
    try:
        value = parse(text, "length")
    except UnitError as wrong:
        raise click.BadParameter(str(wrong), param_hint="--deflection-error") from None
    if not least <= value <= most:
        what = f"{text} lies outside {1000 * least:g} to {1000 * most:g} mm"
        raise click.BadParameter(what, param_hint="--deflection-error")
    return value


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

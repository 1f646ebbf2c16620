"""`impact calibrate`: fit the bare floor to a measurement of it, then predict the ceiling."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.site.measured import Measurement

SOURCES = (
    "tapping_machine", "rubber_ball", "walker_barefoot", "walker_hard_heel", "child_running",
)  # fmt: skip


@click.command()
@options.design
@click.argument("measured", metavar="MEASURED_BARE", type=click.Path())
@options.output_format("table", "json")
@options.plot
@click.option(
    "--source", type=click.Choice(SOURCES), metavar="NAME",
    help=f"What made the sound: {', '.join(SOURCES)}. [default: what the file names]",
)  # fmt: skip
@click.option(
    "--metric", type=click.Choice(("leq", "lfmax", "ln", "lnt")),
    help="What the levels are: Leq, fast maximum, L'n or L'nT. [default: what the file states]",
)  # fmt: skip
@click.option(
    "--profile", metavar="NAME", help="Which spectrum: name, number, or 'all' for the energy mean."
)
@click.option("--decimal", type=click.Choice((".", ",")), help="Decimal mark of the files.")
@click.option(
    "--background", type=click.Path(), metavar="FILE",
    help="Background in the room. [default: one labelled so in MEASURED_BARE]",
)  # fmt: skip
def calibrate(
    design: str, measured: str, output_format: str, plot: str | None, source: str | None,
    metric: str | None, profile: str | None, decimal: str | None, background: str | None,
) -> None:  # fmt: skip
    """Fit the floor of DESIGN to a measurement below it, without the new ceiling, and look again.

    MEASURED_BARE is a meter's export in third octaves: CSV, TSV, TXT or XLSX. Stiffness, mass and
    damping of the floor move within their catalogue ranges to what is most probable; what moved,
    and whether the data can tell, is printed, and the ceiling is predicted again. The more bands
    below 200 Hz, the more they tell.

    \b
    Examples:
      impact calibrate my_room.toml bare.csv --source tapping_machine --metric leq
      impact calibrate my_room.toml bare.csv --background quiet.csv --plot fit.png
    """
    options.check_targets("impact calibrate", (("--plot", plot, options.PLOT_KINDS),))
    from impact.design.reader import read

    plan = read(design)
    level = _level(plan, measured, background, (source, metric, profile, decimal))
    _show(plan, level, measured, output_format, plot)


def _level(
    plan: Design, path: str, background: str | None, asked: tuple[str | None, ...]
) -> Measurement:
    """The measurement as the prediction gives its source, without gaps and limits."""
    from impact.site import corrections, measured

    source, metric, profile, decimal = asked
    level = measured.read(path, source, metric, profile, decimal)
    quiet = measured.read_beside(
        background or path, level, "background", decimal, own=bool(background)
    )
    if quiet is None:
        level = level.told("no background measured: no correction")
    else:
        level = corrections.without_background(level, quiet, "iso", background or path)
    time = plan.room.reverberation_time
    level = level.told(f"reverberation time: {time:g} s of the design")
    return corrections.as_predicted(level, plan.room.volume, time)


def _show(
    plan: Design, level: Measurement, path: str, output_format: str, plot: str | None
) -> None:
    import json

    import numpy as np

    from impact.errors import Fault, InputError
    from impact.report import calibration as pages
    from impact.site import calibrate as fitting

    if level.octaves:
        raise InputError(path, [Fault("bands", "are octaves; a fit needs third octaves")])
    good = np.isfinite(level.level_db) & ~level.limit
    found = fitting.calibrate(
        plan, np.array(level.bands_hz)[good].tolist(), level.level_db[good],
        level.uncertainty_db[good], level.source,
    )  # fmt: skip
    again = fitting.repredicted(found)
    if output_format == "json":
        told = {**found.as_dict(), "what_was_taken": list(level.what_was_taken),
                "prediction": again.as_dict()}  # fmt: skip
        click.echo(json.dumps(told, indent=1, allow_nan=False))
    else:
        from impact.chain import predict

        click.echo(pages.page(found, predict(plan), again, level.what_was_taken))
    if plot:
        _draw(found, plan.name, plot)


def _draw(found: object, name: str, plot: str) -> None:
    from functools import partial

    from impact.base.files import write_whole
    from impact.report import calibration as pages
    from impact.report import style

    with style.look():
        figure = pages.picture(found, name)  # type: ignore[arg-type]
    write_whole(plot, partial(style.save, figure, description="impact calibrate"))
    click.echo(f"wrote {plot}", err=True)

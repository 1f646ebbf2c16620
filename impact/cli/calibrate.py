"""`impact calibrate`: fit the bare floor to a measurement of it, then predict the ceiling."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from impact.cli import measuring, options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.site.measured import Measurement


@click.command()
@options.design
@click.argument("measured", metavar="MEASURED_BARE", type=click.Path())
@options.output_format("json")
@options.plot
@measuring.measuring
def calibrate(
    design: str, measured: str, output_format: str, plot: str | None, **asked: Any
) -> None:
    """Fit the floor of DESIGN to a measurement below it, before the new ceiling; predict again.

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
    level = measuring.spectrum(plan, measured, asked, ceiling=False)
    _show(plan, level, measured, output_format, plot)


def _show(
    plan: Design, level: Measurement, path: str, output_format: str, plot: str | None
) -> None:
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
        other = fitting.nearer(found, again)
        options.print_json({
            **found.as_dict(), "nearer_to": None if other is None else other[0],
            "what_was_taken": list(level.what_was_taken),
            "prediction": again.as_dict(),
        })  # fmt: skip
    else:
        from impact.chain import predict

        click.echo(pages.page(found, predict(plan), again, level.what_was_taken))
    if plot:
        about = f"impact calibrate, design {plan.digest[:12]}"
        options.draw(plot, lambda: pages.picture(found, plan.name), about)

"""`impact field`: a measurement on site against the prediction; deflections of hangers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from impact.cli import measuring, options

if TYPE_CHECKING:
    from impact.design.parts import Design
    from impact.site.deflections import Deflections
    from impact.site.field import Comparison
    from impact.site.measured import Measurement


@click.command()
@options.design
@click.argument("measured", metavar="[MEASURED]", type=click.Path(), required=False)
@options.output_format("json", "csv")
@options.plot
@measuring.measuring
@click.option("--bare", is_flag=True, help="Measured without the new ceiling.")
@measuring.deflecting
def field(
    design: str,
    measured: str | None,
    output_format: str,
    plot: str | None,
    deflections: str | None,
    deflection_unit: str | None,
    **asked: Any,
) -> None:
    """Hold a site measurement against the prediction for DESIGN.

    MEASURED is a meter's export: CSV, TSV, TXT or XLSX, bands down or across, third octaves or
    octaves. What was taken for what is printed; where a file leaves it open, the command asks
    and names the option that answers. Levels are corrected for background and normalized as the
    prediction is; each band is judged with the uncertainty of both. Walls below count where DESIGN
    describes them under [[flanking]].

    \b
    Examples:
      impact field my_room.toml tapping.csv --background quiet.csv
      impact field my_room.toml ball.xlsx --source rubber_ball --profile all
      impact field my_room.toml --deflections hangers.csv
    """  # fmt: skip
    if measured is None and deflections is None:
        raise click.UsageError("Name a file MEASURED, or --deflections FILE, or both.")
    options.check_targets("impact field", (("--plot", plot, options.PLOT_KINDS),))
    from impact.design.reader import read

    plan = read(design)
    spectrum = (
        None
        if measured is None
        else measuring.spectrum(plan, measured, asked, ceiling=not asked["bare"])
    )
    found = None
    if deflections is not None:
        found = measuring.deflected(plan, deflections, deflection_unit, asked["decimal"])
    compared = None if spectrum is None else _compared(plan, spectrum, asked["bare"])
    _print(compared, found, output_format, plan)
    if plot and compared is not None:
        from impact.report import field as pages

        about = f"impact field, design {plan.digest[:12]}"
        options.draw(plot, lambda: pages.picture(compared), about)


def _compared(plan: Design, spectrum: Measurement, bare: bool) -> Comparison:
    from impact.chain import predict
    from impact.site import filters
    from impact.site.field import compare

    found = predict(plan)
    lines = found.joined.underfoot["bare" if bare else "design"]
    state = "bare" if bare else "ceiling"
    return compare(found.as_dict(), spectrum, state, filters.moved(lines))


def _print(
    compared: Comparison | None, found: Deflections | None, output_format: str, plan: Design
) -> None:
    from impact.report import field as pages

    if output_format == "json":
        options.print_json(pages.as_dict(compared, found), plan)
        return
    if output_format == "csv":
        click.echo(pages.csv_text(compared, found), nl=False)
        return
    if compared is not None:
        click.echo(pages.page(compared))
    if found is not None:
        click.echo("\n".join(pages.deflection_lines(found, plan.units, plan.hangers)))

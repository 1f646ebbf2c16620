"""`impact explain`: how one number came about."""

from __future__ import annotations

import click

from impact.cli import options

CASES = ("ceiling", "bare", "perfect")


@click.command()
@options.design
@click.argument("quantity", metavar="[QUANTITY]", required=False)
@click.option(
    "--case", type=click.Choice(CASES), default=CASES[0], show_default=True,
    help="For levels and ratings: below the ceiling, without it, or on perfect hangers.",
)  # fmt: skip
@options.output_format("json")
def explain(design: str, quantity: str | None, case: str, output_format: str) -> None:
    """Show how one number of DESIGN came about: values, equation, source, range, spread.

    QUANTITY is a resonance, mass, spring or rating, such as mass_spring_mass or Ln_w, or the level
    of a source in a band, such as walker_barefoot@63 or walker_barefoot@thud. Without it: what can
    be asked for, and the list of everything that the design file leaves to be assumed.

    \b
    Examples:
      impact explain my_room.toml
      impact explain my_room.toml mass_spring_mass
      impact explain my_room.toml walker_barefoot@31.5 --case bare
    """
    from impact.design.reader import read
    from impact.report import explain as report

    plan = read(design)

    if quantity is None:
        if output_format == "json":
            rows = [vars(one) for one in plan.defaults]
            options.print_json({"quantities": report.quantities(), "defaults_used": rows})
        else:
            click.echo(report.overview(plan))
        return
    chain = report.explain(plan, quantity, case)
    if output_format == "json":
        options.print_json(report.as_dict(plan, chain), plan)
    else:
        click.echo(report.page(plan, chain))

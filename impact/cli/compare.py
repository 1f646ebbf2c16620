"""`impact compare`: designs side by side."""

from __future__ import annotations

import click

from impact.cli import options


@click.command()
@click.argument("designs", metavar="DESIGN OTHER [OTHER...]", nargs=-1, type=click.Path())
@options.output_format("json")
@options.plot
def compare(designs: tuple[str, ...], output_format: str, plot: str | None) -> None:
    """Set designs side by side, band by band: the first against each other one.

    A difference is the other design minus the first: negative is quieter. First comes what is
    heard, in short, and what the files say differently; three designs and more share one table. An
    alarm is printed when a single number improves while the low bands (16 to 200 Hz) get worse.

    \b
    Examples:
      impact compare my_room.toml softer.toml deeper.toml
      impact compare my_room.toml softer.toml --plot both.png
    """
    if len(designs) < 2:
        raise click.UsageError("Give at least two design files: the first is compared with each.")
    from impact.chain import predict
    from impact.design.reader import read
    from impact.report import comparison
    from impact.study.compare import compare as side_by_side

    read_all = [read(path) for path in designs]
    first, *others = [predict(design) for design in read_all]
    pairs = [side_by_side(first, other) for other in others]
    if plot:
        from impact.report import plots

        options.draw(plot, lambda: plots.designs([first, *others]), "impact compare")
    if output_format == "json":
        options.print_json(pairs[0] if len(pairs) == 1 else pairs)
        return
    pages = [comparison.page(pair) for pair in pairs]
    if others[1:]:
        pages.insert(0, comparison.overview([first, *others]))
    click.echo("\n\n".join(pages))

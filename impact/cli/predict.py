"""`impact predict`: levels below the floor, resonances, warnings and what would help."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.chain import Prediction


@click.command()
@options.design
@options.output_format("json", "csv")
@options.output("Write everything into FILE.nc (netCDF) as well.")
@options.plot
@click.option(
    "--source", "sources", type=click.Choice(options.SOURCES), multiple=True, metavar="NAME",
    help="Sources of band table, CSV and plot; may be given several times: "
    f"{', '.join(options.SOURCES)}. [default: the first three; CSV: all; JSON always holds all]",
)  # fmt: skip
@click.option(
    "--samples", type=click.IntRange(20, 5000), metavar="N",
    help="Draw N floors at random for the 90 % band, 20 to 5000, seconds each. "
    "[default: each input moved alone, and all of them at once on up to 256 floors]",
)  # fmt: skip
@options.seed(1, "the draws")
def predict(
    design: str, output_format: str, output: str | None, plot: str | None,
    sources: tuple[str, ...], samples: int | None, seed: int,
) -> None:  # fmt: skip
    """Predict the sound below the floor and ceiling described in DESIGN.

    Third octaves from 10 Hz to 5 kHz for tapping machine, rubber ball and people walking: under the
    bare floor, with the ceiling, and with perfect hangers. With them come the resonances, a graded
    warning about footsteps, what each change would gain, and the ratings.

    \b
    Examples:
      impact predict examples/01_basement_rental.toml
      impact predict my_room.toml --source walker_barefoot --plot steps.png
      impact predict my_room.toml --format json > my_room.json
      impact predict my_room.toml --samples 100 --seed 7
    """
    options.check_targets(
        "impact predict", (("-o", output, (".nc",)), ("--plot", plot, options.PLOT_KINDS))
    )
    from impact.base.parallel import with_copies
    from impact.chain import predict as run
    from impact.design.reader import read

    with with_copies():
        prediction = run(read(design), samples or 0, seed)
    chosen = tuple(dict.fromkeys(sources))
    _print(prediction, output_format, chosen)
    if output:
        _write_dataset(prediction, output)
    if plot:
        _draw(prediction, plot, chosen)


def _print(prediction: Prediction, output_format: str, chosen: tuple[str, ...]) -> None:
    from impact.report import bandtable, tables

    if output_format == "json":
        options.print_json(prediction.as_dict())
    elif output_format == "csv":
        click.echo(bandtable.csv_text(prediction, chosen or options.SOURCES), nl=False)
        for caution in (tables.load_line(prediction), *prediction.cautions):
            click.echo(caution, err=True)
    else:
        click.echo(tables.page(prediction, chosen or bandtable.SHOWN))


def _write_dataset(prediction: Prediction, output: str) -> None:
    from impact.base.files import write_whole

    data = prediction.to_dataset()
    write_whole(output, lambda path: data.to_netcdf(path, engine="scipy"))
    click.echo(f"wrote {output}", err=True)


def _draw(prediction: Prediction, plot: str, chosen: tuple[str, ...]) -> None:
    from impact.report import plots

    about = f"impact predict, design {prediction.design.digest[:12]}"
    options.draw(plot, lambda: plots.spectra(prediction, chosen or plots.SHOWN), about)

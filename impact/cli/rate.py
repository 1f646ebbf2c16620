"""`impact rate`: single numbers of any spectrum."""

from __future__ import annotations

import click

from impact.cli import options

KINDS = ("any", "normalized", "field", "heavy")
EDITIONS = ("E989-21", "E989-18")


@click.command()
@click.argument("spectrum", metavar="SPECTRUM.csv", type=click.Path())
@click.option(
    "--kind",
    type=click.Choice(KINDS),
    default=KINDS[0],
    show_default=True,
    help="What the levels are: normalized Ln of a tapping machine; L'nT measured in the field; "
    "fast maxima of a heavy source (rubber ball); or any: every rating the bands allow.",
)
@click.option(
    "--edition",
    type=click.Choice(EDITIONS),
    default=EDITIONS[0],
    show_default=True,
    help="Edition of ASTM E989; up to 2018 no band may exceed the contour by more than 8 dB.",
)
@options.output_format("json")
def rate(spectrum: str, kind: str, edition: str, output_format: str) -> None:
    """Rate a spectrum: Ln,w, CI, IIC, LiA,Fmax and their kin, with their clauses.

    SPECTRUM.csv holds the line 'band_hz,level_db' and below it one band and its level in dB per
    line: third octaves, or octaves, which are recognised. Lines that start with # are comments.
    Bands that a rating needs and the file lacks are named, not guessed.
    """
    from impact.rating import sheet
    from impact.rating.reader import read_spectrum

    bands_hz, levels_db = read_spectrum(spectrum)
    result = sheet.Sheet.of(bands_hz, levels_db, kind, edition, spectrum)
    if output_format == "json":
        click.echo(result.json())
        for line in result.missing_lines():
            click.echo(line, err=True)
    else:
        click.echo(result.text())

"""`impact tolerance`: what faults of building cost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.site.tolerance import Tolerance


@click.command()
@options.design
@options.output_format("table", "json")
@options.plot
@click.option(
    "--bridged", metavar="N,N,...",
    help="Also the cost of screws bridging just these hangers, numbered as on the layout plan.",
)  # fmt: skip
@click.option(
    "--places", type=click.IntRange(2, 500), default=24, show_default=True,
    help="Random places tried for each number of bridged hangers.",
)  # fmt: skip
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True,
              help="Start of the random places.")  # fmt: skip
def tolerance(
    design: str, output_format: str, plot: str | None, bridged: str | None, places: int, seed: int
) -> None:
    """Show what faults of building would cost the ceiling in DESIGN.

    Screws that bridge hangers, hangers missing or overloaded, edges that touch walls, fill left
    out, a lamp screwed through: what each makes louder, band by band, before anything is built.

    \b
    Examples:
      impact tolerance examples/01_basement_rental.toml --plot tolerance.png
      impact tolerance my_room.toml --bridged 3,17
      impact tolerance my_room.toml --format json
    """
    numbers = _numbers(bridged)
    options.check_targets("impact tolerance", (("--plot", plot, options.PLOT_KINDS),))
    import json

    from impact.design.reader import read
    from impact.report import tolerance as pages
    from impact.site.tolerance import tolerance as run

    found = run(read(design), seed, places, numbers)
    if output_format == "json":
        click.echo(json.dumps(found.as_dict(), indent=1, allow_nan=False))
    else:
        click.echo(pages.page(found))
    if plot:
        _draw(found, plot)


def _numbers(text: str | None) -> tuple[int, ...]:
    """Numbers of hangers, from 1; InputError when it is no such list."""
    from impact.errors import Fault, InputError

    if text is None:
        return ()
    parts = [part.strip() for part in text.split(",")]
    if not all(part.isascii() and part.isdigit() and 0 < len(part) < 6 for part in parts):
        what = f"{text[:40]!r}; must be numbers of hangers from 1, such as 3,17"
        raise InputError("impact tolerance", [Fault("--bridged", what)])
    return tuple(int(part) for part in parts)


def _draw(found: Tolerance, plot: str) -> None:
    from functools import partial

    from impact.base.files import write_whole
    from impact.report import style
    from impact.report import tolerance as pages

    if not found.curve:
        click.echo("nothing drawn: this ceiling has no hangers that could be bridged", err=True)
        return
    with style.look():
        figure = pages.picture(found)
    about = f"impact tolerance, design {found.digest[:12]}"
    write_whole(plot, partial(style.save, figure, description=about))
    click.echo(f"wrote {plot}", err=True)

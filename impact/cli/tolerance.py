"""`impact tolerance`: what faults of building cost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from impact.cli import options

if TYPE_CHECKING:
    from impact.site.tolerance import Tolerance


@click.command()
@options.design
@options.output_format("json")
@options.plot
@click.option(
    "--bridged", metavar="N,N,...",
    help="Also the cost of bridging just these hangers or channel fixings, numbered as on "
    "the layout plan.",
)  # fmt: skip
@click.option(
    "--places", type=click.IntRange(2, 500), default=24, show_default=True, metavar="N",
    help="Random places tried for each number of bridged points, 2 to 500.",
)  # fmt: skip
@options.seed(0, "the places tried")
def tolerance(
    design: str, output_format: str, plot: str | None, bridged: str | None, places: int, seed: int
) -> None:
    """Show what faults of building would cost the ceiling in DESIGN.

    Hangers or channel fixings bridged by screw or strap, missing or overloaded, edges that touch
    walls, fill left out, a lamp screwed through, a ceiling's own joists that meet the floor: what
    each makes louder, band by band, before anything is built.

    \b
    Examples:
      impact tolerance examples/01_basement_rental.toml --plot tolerance.png
      impact tolerance my_room.toml --bridged 3,17
      impact tolerance my_room.toml --format json
    """
    numbers = _numbers(bridged)
    options.check_targets("impact tolerance", (("--plot", plot, options.PLOT_KINDS),))
    from impact.design.reader import read
    from impact.report import tolerance as pages
    from impact.site.tolerance import tolerance as run

    plan = read(design)
    found = run(plan, seed, places, numbers)
    if output_format == "json":
        options.print_json({**found.as_dict(), "remarks": pages.how(found)}, plan)
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
    from impact.report import tolerance as pages

    if not found.curve:
        from impact.design.fixings import said_of

        what = said_of(found.points, "this ceiling has no hangers that could be bridged")
        click.echo(f"nothing drawn: {what}", err=True)
        return
    about = f"impact tolerance, design {found.digest[:12]}"
    options.draw(plot, lambda: pages.picture(found), about)

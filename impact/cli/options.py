"""Arguments and options that several commands share, so that they read alike everywhere."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

# No check of existence here: the reader names file, fault and remedy, as for every other fault.
design = click.argument("design", metavar="DESIGN", type=click.Path())


def output_format(*choices: str) -> Decorator:
    """Option --format with the given choices; the first one is the default."""
    return click.option(
        "--format",
        "output_format",
        type=click.Choice(choices),
        default=choices[0],
        show_default=True,
        help="Form of what is printed.",
    )


def output(what: str) -> Decorator:
    """Option -o FILE; `what` says what is written there."""
    return click.option("-o", "--output", type=click.Path(), metavar="FILE", help=what)


PLOT_KINDS = (".png", ".svg", ".pdf")
plot = click.option(
    "--plot", type=click.Path(), metavar="FILE", help="Draw it into FILE (.png, .svg or .pdf)."
)

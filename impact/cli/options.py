"""Arguments and options that several commands share, so that they read alike everywhere."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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


def check_targets(command: str, targets: Sequence[tuple[str, str | None, tuple[str, ...]]]) -> None:
    """Refuse files that cannot be written, before the calculation; all faults at once.

    targets : (option, path or None, endings it may have). Raises InputError in `command`'s name.
    """
    from pathlib import Path

    from impact.base.files import check_target
    from impact.errors import Fault, InputError

    faults = []
    for option, path, kinds in targets:
        if path is None:
            continue
        suffix = Path(path).suffix.lower()
        if suffix not in kinds:
            what = f"{path}: cannot be written as '{suffix}'; name a file that ends in "
            faults.append(Fault(option, what + " or ".join(kinds)))
            continue
        try:
            check_target(path)
        except InputError as error:
            faults += [Fault(option, f"{path}: {fault.what}") for fault in error.faults]
    if faults:
        raise InputError(command, faults)

"""Arguments and options that several commands share, so that they read alike everywhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from pathlib import Path

    from impact.errors import Fault

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


# For commands that write several files of their own.
stem = click.option(
    "-o", "--output", metavar="STEM",
    help="Begin the file names with STEM, which may name a folder. [default: the design's file "
    "name, in this folder]",
)  # fmt: skip


def not_ours(paths: Iterable[Path], marker: str) -> list[Fault]:
    """Faults of files that may not be written: not writable, or there already without `marker`, by
    which a command knows its own files again."""
    from impact.base.files import check_target
    from impact.errors import Fault, InputError

    faults: list[Fault] = []
    for path in paths:
        try:
            check_target(path)
        except InputError as error:
            faults += [Fault(str(path), fault.what) for fault in error.faults]
            continue
        if path.exists() and marker.encode() not in path.read_bytes():
            what = "was not written by this command and is not replaced; move it or use -o"
            faults.append(Fault(str(path), what))
    return faults


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

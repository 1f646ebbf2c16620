"""Arguments and options that several commands share, so that they read alike everywhere."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from impact.design.parts import Design
    from impact.errors import Fault

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]

SOURCES = (
    "tapping_machine", "rubber_ball", "walker_barefoot", "walker_hard_heel", "child_running",
)  # fmt: skip
UNITS = ("imperial", "metric")

# No check of existence here: the reader names file, fault and remedy, as for every other fault.
design = click.argument("design", metavar="DESIGN", type=click.Path())


def output_format(*others: str) -> Decorator:
    """Option --format: text, which is the default, or one of `others`."""
    return click.option(
        "--format",
        "output_format",
        type=click.Choice(("text", *others)),
        default="text",
        show_default=True,
        help="Form of what is printed.",
    )


def units(default: str | None, what: str) -> Decorator:
    """Option --units; `what` says whose units they are."""
    return click.option(
        "--units", type=click.Choice(UNITS), default=default, show_default=True, help=what
    )


def seed(default: int, what: str) -> Decorator:
    """Option --seed; `what` says what is drawn at random."""
    return click.option(
        "--seed", type=click.IntRange(0), default=default, show_default=True, metavar="N",
        help=f"Seed of {what}; the same seed gives the same answer.",
    )  # fmt: skip


def output(what: str) -> Decorator:
    """Option -o FILE; `what` says what is written there."""
    return click.option("-o", "--output", type=click.Path(), metavar="FILE", help=what)


# For commands that write several files of their own.
stem = click.option(
    "-o", "--output", metavar="STEM",
    help="Begin the file names with STEM; of a folder, with the design's file name in it. "
    "[default: the design's file name, in this folder]",
)  # fmt: skip


def beginning(output: str | None, design: str) -> str:
    """What the names of the files written of `design` begin with, given -o STEM or None."""
    name = Path(design).stem
    if output and (output.endswith(("/", os.sep)) or Path(output).is_dir()):
        return str(Path(output) / name)  # or names begin with nothing: ".html" is hidden
    return output or name


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


def print_json(answer: object, plan: Design | None = None) -> None:
    """Plain data as JSON on stdout, with the standing cautions where the answer is of a design.

    plan : that design; its cautions speak of what it has.
    Raises ValueError where a number is not finite.
    """
    import json

    if isinstance(answer, dict) and "cautions" not in answer and (plan or "design" in answer):
        from impact.base.cautions import CAUTIONS
        from impact.design.fixings import cautions_of

        said = CAUTIONS if plan is None else cautions_of(plan)
        answer = {**answer, "cautions": list(said)}
    click.echo(json.dumps(answer, indent=1, allow_nan=False))


def draw(path: str, make: Callable[[], Figure], about: str) -> None:
    """Draw what `make` draws in the project's look and write it, whole, into `path`.

    about : what the file says of itself.
    """
    from functools import partial

    from impact.base.files import write_whole
    from impact.report import letters, style

    with style.look():
        figure = make()
    write_whole(path, partial(style.save, figure, description=about))
    click.echo(f"wrote {path}", err=True)
    tell_boxes([letters.written(figure)])


def tell_boxes(texts: Iterable[str]) -> None:
    """Say once, on stderr, which letters of what was drawn no font here has."""
    from impact.report import letters
    from impact.report.lines import wrapped

    if told := letters.boxes(texts):
        click.echo("\n".join(wrapped(f"note: {told}", "", "  ")), err=True)


def check_targets(command: str, targets: Sequence[tuple[str, str | None, tuple[str, ...]]]) -> None:
    """Refuse files that cannot be written, before the calculation; all faults at once.

    targets : (option, path or None, endings it may have). Raises InputError in `command`'s name.
    """
    from impact.errors import InputError

    faults = [fault for target in targets for fault in target_faults(*target)]
    if faults:
        raise InputError(command, faults)


def target_faults(option: str, path: str | None, kinds: tuple[str, ...]) -> list[Fault]:
    """Faults of one file to write: an ending that is not in `kinds`, or a place not writable."""
    from pathlib import Path

    from impact.base.files import check_target
    from impact.errors import Fault, InputError

    if path is None:
        return []
    suffix = Path(path).suffix.lower()
    if suffix not in kinds:
        why = f"cannot be written as '{suffix}'" if suffix else "has no ending to say its form"
        what = f"{path}: {why}; name a file that ends in "
        return [Fault(option, what + " or ".join(kinds))]
    try:
        check_target(path)
    except InputError as error:
        return [Fault(option, f"{path}: {fault.what}") for fault in error.faults]
    return []

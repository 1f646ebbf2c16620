"""The console command `impact`: a table of commands, each loaded only when it is called.

A command module raises `InputError` and knows nothing of exit codes; they are settled here.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
from collections.abc import Iterator, Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import click

from impact import __version__
from impact.errors import InputError

# What a disk or device says that takes no more of an answer.
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
# The reader of a pipe went away, as `head` does: what a shell tells of a program that the signal
# SIGPIPE (13) ended, 128 + 13 (POSIX, Shell Command Language, 2.8.2 Exit Status).
READER_GONE = 128 + 13
# Command -> (module, what it does in one line). The module holds a click command of the same name
# and imports nothing heavier than click at its top. A row whose module is absent is not listed.
COMMANDS: dict[str, tuple[str, str]] = {
    "init": ("impact.cli.init", "Write a commented design file to fill in."),
    "materials": ("impact.cli.materials", "List or show materials and hanger classes."),
    "predict": ("impact.cli.predict", "Predict levels, resonances and footfall warnings."),
    "rate": ("impact.cli.rate", "Rate any spectrum: Ln,w, CI, IIC and their kin."),
    "choose": ("impact.cli.choose", "Search hangers, spacings, layers and depths."),
    "layout": ("impact.cli.layout", "Place the hangers, draw plan and section, count parts."),
    "listen": ("impact.cli.listen", "Write footsteps before and after as sound files."),
    "compare": ("impact.cli.compare", "Set designs side by side, band by band."),
    "report": ("impact.cli.report", "Write a page for the client and the engineer."),
    "tolerance": ("impact.cli.tolerance", "Show what faults of building cost."),
    "field": ("impact.cli.field", "Hold a site measurement against the prediction."),
    "diagnose": ("impact.cli.diagnose", "Find the likely fault behind a measurement."),
    "calibrate": ("impact.cli.calibrate", "Fit the bare floor to a measurement of it."),
    "survey": ("impact.cli.survey", "Print a survey form, or turn one into a design."),
    "explain": ("impact.cli.explain", "Show how one number came about."),
}

# What to do first, in this order; only the commands that exist are shown.
FIRST_STEPS: tuple[tuple[str, str, str], ...] = (
    ("init", "impact init my_room.toml", "a design file to fill in, every line explained"),
    ("predict", "impact predict my_room.toml", "levels below, resonances, what would help"),
    ("choose", "impact choose my_room.toml", "which hangers, layers and depth"),
    ("layout", "impact layout my_room.toml", "where each hanger goes and what it carries"),
    ("report", "impact report my_room.toml", "a page for the client and the engineer"),
    ("rate", "impact rate spectrum.csv", "single numbers of any spectrum"),
)

HELP = """Footsteps under hung ceilings.

From a design file (floor, hangers, ceiling, room below) to sound levels in the
room below, third octave by third octave from 10 Hz to 5 kHz.
"""


class LazyGroup(click.Group):
    """Group that imports a command's module when the command is called, not before."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of the commands whose module exists, in the table's order."""
        return [name for name, (module, _) in COMMANDS.items() if find_spec(module)]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, or None."""
        if cmd_name not in self.list_commands(ctx):
            return None
        command = getattr(import_module(COMMANDS[cmd_name][0]), cmd_name)
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, but an unknown command names the nearest known one."""
        from difflib import get_close_matches

        name = args[0]
        names = self.list_commands(ctx)
        if name not in names and not name.startswith("-"):
            near = get_close_matches(name, names, n=1)
            hint = f" Did you mean '{near[0]}'?" if near else " 'impact --help' lists them all."
            ctx.fail(f"There is no command '{name}'.{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """First steps, then the table of commands, without importing any of them."""
        names = self.list_commands(ctx)
        first = [(line, why) for name, line, why in FIRST_STEPS if name in names]
        for title, rows in (
            ("Start here", first),
            ("Commands", [(name, COMMANDS[name][1]) for name in names]),
        ):
            if rows:
                with formatter.section(title):
                    formatter.write_dl(rows)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Where to read on, and what the exit codes mean."""
        formatter.write_paragraph()
        formatter.write_text("'impact COMMAND --help' tells more about each.")
        formatter.write_paragraph()
        formatter.write_text(
            "Exit codes: 0 answered (a poor result included), 2 the input cannot be used, "
            f"1 a fault of this program, {READER_GONE} what read the answer stopped early."
        )

    def make_context(
        self, info_name: str | None, args: list[str], *rest: Any, **extra: Any
    ) -> click.Context:
        """As click does; help that nobody reads on ends quietly."""
        with _quiet_end():
            return super().make_context(info_name, args, *rest, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        """As click does; an answer that nobody reads on ends quietly."""
        with _quiet_end():
            return super().invoke(ctx)

    def main(self, args: Sequence[str] | None = None, *rest: Any, **options: Any) -> Any:
        """Run; turn errors into one message on stderr and an exit code."""
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):  # "η" in a coding that has none is "\\u03b7"
                stream.reconfigure(errors="backslashreplace")
        try:
            return super().main(args, *rest, **options)
        except InputError as error:
            _tell(str(error))
            sys.exit(2)
        except Exception as error:
            if isinstance(error, OSError) and error.errno in NO_ROOM:
                what = f"{error.strerror}); make room, or print elsewhere"
                _tell(f"impact: the answer could not be printed ({what}")
                sys.exit(2)
            if os.environ.get("IMPACT_TRACEBACK") == "1":
                raise
            _tell(unexpected(error))
            sys.exit(1)


@contextlib.contextmanager
def _quiet_end() -> Iterator[None]:
    """Exit code READER_GONE, and no word, where what is printed into is a pipe that nobody reads;
    what is still to be flushed goes nowhere (Python's documentation, "Note on SIGPIPE")."""
    try:
        yield
    except BrokenPipeError as error:
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise click.exceptions.Exit(READER_GONE) from error


def _tell(message: str) -> None:
    """On stderr; where that is closed or full the exit code alone tells."""
    with contextlib.suppress(OSError, AttributeError):
        click.echo(message, err=True)


def unexpected(error: Exception) -> str:
    """The one line shown for an error nobody foresaw."""
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return (
        f"impact {__version__} failed, which is a fault of this program and not of your input "
        f"({what[:300]}). Please report it with the command and the file; "
        "IMPACT_TRACEBACK=1 shows where."
    )


@click.group(cls=LazyGroup, help=HELP, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="impact")
def main() -> None:
    """Console entry point; see HELP."""

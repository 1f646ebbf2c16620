"""Command lines from the program's own table of commands and options, with sound and unsound words.

They run in this process in a folder of their own. The solver is replaced by a stop: a command line
that reaches it has been accepted. Files that no command may touch stand by and are looked at after
each trial.
"""

from __future__ import annotations

import contextlib
import os
import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import click
from click.testing import CliRunner

from impact.cli.main import main

from . import seeds, trials
from .trials import ACCEPTED, REJECTED, Wrong

WORDS = (
    "good.toml", "good.toml", "good.toml", "bad.toml", "empty.toml", "none.toml", "folder",
    "pipe", "spectrum.csv", "spectrum.csv", "link.nc", "link.png",
    "precious.nc", "out.nc", "out.png", "out.svg",
    "out.pdf", "out.csv", "out.txt", "no/where.nc", "folder/out.nc", "", " ", "-", "--", "-1", "0",
    "1", "1e9", "nan", "inf", "1e400", "25", "NC 25", "5 mm", "9 1/4 in", "5 mm, 9 mm",
    "1 mm : 9 mm : 5", "1 mm : 9 mm : 1000000000", "1 N/mm : 9 N/mm : 99999", ":", ",", ",,,",
    "own", "rubber-in-shear clip", "metric", "imperial", "svg,dxf", "svg,exe", "json", "csv",
    "text", "table", "E989-18", "heavy", "walker_barefoot", "x" * 300, "a\nb", "\u202e",
    "\U0001f3e0",
    "%s", "../precious.nc", "/dev/null", "/dev/full", "~", "$HOME", "*", "--help", "--version",
    "9" * 400, "2,5", "-5 mm", "1/0 in", "gypsum board", "Ln_w", "room.length",
)  # fmt: skip
# Files that stand where a command would like to write by default, and are not its own.
FOREIGN = ("good_layout.pdf", "good_child_bare.wav", "good_client.html", "out_layout.png",
           "out.nc_layout.svg", "design.toml", "precious.nc")  # fmt: skip


class Reached(BaseException):
    """The solver was called: the command line was accepted."""


def run(count: int, seed: int, folder: Path) -> Iterator[tuple[str, str, str]]:
    """(kind, seed, verdict) of `count` command lines."""
    with workshop(folder / "commands") as place:
        for number in range(count):
            label = f"{seed}/command/{number}"
            words = line(random.Random(label))
            yield "command line", label, trials.judged(lambda words=words: trial(words, place))


def line(rng: random.Random) -> list[str]:
    """A command line without the program's name."""
    context = click.Context(main)
    names = main.list_commands(context)
    name = rng.choice([*names, *names, "", "prdict", "-x"])
    command = main.get_command(context, name)
    if command is None:
        return [name, *rng.choices(WORDS, k=rng.randrange(4))]
    if isinstance(command, click.Group):
        sub = rng.choice(sorted(command.commands))
        command, name = command.commands[sub], f"{name} {sub}"
    words = name.split()
    wanted = [p for p in command.params if isinstance(p, click.Argument)]
    for _ in range(len(wanted) + rng.choice((-1, 0, 0, 0, 0, 0, 0, 1))):
        sound = "spectrum.csv" if name == "rate" else "good.toml"
        words.append(sound if rng.random() < 0.7 else rng.choice(WORDS))
    options = [p for p in command.params if isinstance(p, click.Option)]
    for option in rng.sample(options, k=min(len(options), rng.choice((0, 0, 1, 1, 2, 4)))):
        words.append(rng.choice(option.opts))
        if not option.is_flag:
            words.append(_value(option, rng))
    return words


def _value(option: click.Option, rng: random.Random) -> str:
    sound: list[str] = []
    if isinstance(option.type, click.Choice):
        sound = [str(each) for each in option.type.choices]
    elif isinstance(option.type, click.Path):
        sound = ["out.nc", "out.png", "out.csv", "out.svg", "out.html", "out.txt"]
    elif option.metavar == "LIST":
        sound = ["own", "5 in, 9 1/4 in", "100 mm : 400 mm : 3", "1,2", "1 N/mm, 2 N/mm"]
    return rng.choice(sound if sound and rng.random() < 0.6 else WORDS)


@contextlib.contextmanager
def workshop(place: Path) -> Iterator[Path]:
    """A folder with files sound and unsound, as the working folder; heavy libraries are loaded."""
    import matplotlib.figure  # noqa: F401  its loading time is no fault of a command line

    shutil.rmtree(place, ignore_errors=True)
    (place / "folder").mkdir(parents=True)
    texts = {"good.toml": seeds.JOISTS, "bad.toml": seeds.JOISTS.replace("mm", "mn"),
             "empty.toml": "", "spectrum.csv": seeds.SPECTRA[0]}  # fmt: skip
    for name, text in texts.items():
        (place / name).write_text(text, encoding="utf-8")
    for name in FOREIGN:
        (place / name).write_text(f"{name}: not written by any command", encoding="utf-8")
    os.mkfifo(place / "pipe")
    (place / "link.nc").symlink_to("precious.nc")
    (place / "link.png").symlink_to("precious.nc")
    before = Path.cwd()
    os.chdir(place)
    try:
        with mock.patch.dict(os.environ, {"HOME": str(place)}):
            yield place
    finally:
        os.chdir(before)


@contextlib.contextmanager
def stopped(words: list[str]) -> Iterator[None]:
    """Stop where the solver is called; a layout is quick and may run to its end."""
    import impact.energy.paths
    import impact.motion.assemble

    def stop(*_: Any, **__: Any) -> Any:
        raise Reached

    with contextlib.ExitStack() as stack:
        if words[:1] != ["layout"]:
            stack.enter_context(mock.patch.object(impact.motion.assemble, "modes", stop))
            stack.enter_context(mock.patch.object(impact.energy.paths, "transfer", stop))
        yield


def trial(words: list[str], place: Path) -> str:
    """Run one command line and look at the exit code, what is printed, and every file."""
    before = contents(place)
    verdict = ACCEPTED
    try:
        with stopped(words):
            result = CliRunner().invoke(main, words)
        if result.exit_code not in (0, 2):
            raise Wrong(f"exit code {result.exit_code} of {words}: {result.stderr[-300:]}")
        printed = result.stdout
        for word in words:  # a file name comes back as it was typed
            printed = printed.replace(word, "") if word else printed
        if "Traceback" in result.output or trials.CONTROL.search(printed):
            raise Wrong(f"{words}: {result.output[-300:]!r}")
        if result.exit_code == 2:
            verdict = REJECTED
            if len(result.stderr.strip()) < 10:
                raise Wrong(f"{words}: refused without a word")
    except Reached:
        pass
    finally:
        after = contents(place)
        for path in set(after) - set(before):
            path.unlink()
    changed = [p.name for p, what in before.items() if after.get(p) != what]
    for path in changed:
        (place / path).write_bytes(before[place / path])
    if set(changed) - {Path(word).name for word in words}:
        raise Wrong(f"{words} changed {changed}, which were not named")
    if changed and verdict == REJECTED:
        raise Wrong(f"{words} was refused and changed {changed}")
    if any(path.name.startswith(".") for path in set(after) - set(before)):
        raise Wrong(f"{words} left a temporary file")
    return verdict


def contents(place: Path) -> dict[Path, bytes]:
    """Every ordinary file below a folder, links not followed, and what it holds."""
    return {path: path.read_bytes() for path in sorted(place.rglob("*"))
            if path.is_file() and not path.is_symlink()}  # fmt: skip

"""The frame of the command line: help is instant, errors are one message and an exit code."""

from __future__ import annotations

import errno
import os
import shlex
import subprocess
import sys

import click
import pytest
from click.testing import CliRunner

from impact import __version__
from impact.base import bands
from impact.cli import main as frame
from impact.errors import Fault, InputError

HEAVY = ("numpy", "scipy", "xarray", "matplotlib", "pint", "pandas", "jinja2", "ezdxf")
COMMANDS = frame.main.list_commands(click.Context(frame.main))

SHOW_EVERY_HELP = f"""
import sys
from impact.cli.main import main
for command in [None, *{COMMANDS!r}]:
    main([command, "--help"] if command else ["--help"], standalone_mode=False)
    loaded = [name for name in {HEAVY!r} if name in sys.modules]
    assert not loaded, f"impact {{command or ''}} --help loads {{loaded}}"
"""


def test_every_help_is_instant():
    done = subprocess.run(
        [sys.executable, "-c", SHOW_EVERY_HELP], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("Usage:") == 1 + len(COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_table_holds_commands_with_help(command):
    loaded = frame.main.get_command(click.Context(frame.main), command)
    assert loaded is not None
    assert loaded.name == command
    assert loaded.help, f"impact {command} has no help"


def test_help_teaches_what_to_do_first():
    result = CliRunner().invoke(frame.main, ["--help"])
    assert result.exit_code == 0
    assert "Start here" in result.stdout
    assert "Exit codes" in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 80
    for command in COMMANDS:
        assert frame.COMMANDS[command][1] in result.stdout


def test_first_steps_name_commands_of_the_table():
    assert {name for name, _, _ in frame.FIRST_STEPS} <= set(frame.COMMANDS)


def test_a_command_without_module_is_not_listed(monkeypatch):
    monkeypatch.setitem(frame.COMMANDS, "dream", ("impact.cli.dream", "Not there."))
    result = CliRunner().invoke(frame.main, ["--help"])
    assert "dream" not in result.stdout
    assert CliRunner().invoke(frame.main, ["dream"]).exit_code == 2


def test_unknown_command_names_the_nearest():
    result = CliRunner().invoke(frame.main, ["raet"])
    assert result.exit_code == 2
    assert "Did you mean 'rate'?" in result.stderr


def test_version():
    assert __version__ in CliRunner().invoke(frame.main, ["--version"]).stdout


def _fail_with(error: Exception, monkeypatch):
    """Result of a command that raises `error`."""

    @click.command()
    def broken() -> None:
        raise error

    monkeypatch.setattr(frame.LazyGroup, "get_command", lambda *_: broken)
    return CliRunner().invoke(frame.main, ["rate"])


def test_input_error_is_one_message_and_exit_2(monkeypatch):
    result = _fail_with(InputError("floor.toml", [Fault("room.length", "0 m")]), monkeypatch)
    assert result.exit_code == 2
    assert result.stderr == "floor.toml: 1 fault\n  room.length: 0 m\n"


def test_unexpected_error_is_one_line_and_exit_1(monkeypatch):
    result = _fail_with(ZeroDivisionError("some\nwhere"), monkeypatch)
    assert result.exit_code == 1
    assert result.stderr.count("\n") == 1
    assert "ZeroDivisionError: some where" in result.stderr
    assert "report" in result.stderr


def test_a_full_disk_is_no_fault_of_the_program(monkeypatch):
    """An answer sent into a file on a full disk; nothing else of the system is taken for it."""
    result = _fail_with(OSError(errno.ENOSPC, "No space left on device"), monkeypatch)
    assert result.exit_code == 2
    assert result.stderr == (
        "impact: the answer could not be printed (No space left on device); make room, or print"
        " elsewhere\n"
    )
    assert _fail_with(OSError(errno.ENOENT, "gone"), monkeypatch).exit_code == 1


RATE = [sys.executable, "-m", "impact", "rate"]


def test_letters_that_the_terminal_lacks_are_escapes(tmp_path):
    """A terminal or pipe in Latin-1, which has no "房": U+623F."""
    rows = "".join(f"{band:g},50\n" for band in bands.NOMINAL[10:26])
    (tmp_path / "房.csv").write_text("band_hz,level_db\n" + rows, encoding="utf-8")
    latin = {**os.environ, "PYTHONIOENCODING": "latin-1"}
    done = subprocess.run(
        [*RATE, "房.csv"], cwd=tmp_path, env=latin, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert b"\\u623f.csv" in done.stdout


@pytest.mark.parametrize("where", ["2>&-", "2>/dev/full"])
def test_the_exit_code_stands_where_stderr_takes_nothing(where, tmp_path):
    line = f"{shlex.join(RATE)} none.csv {where}"
    assert subprocess.run(line, shell=True, cwd=tmp_path, check=False).returncode == 2


@pytest.mark.parametrize("asked", [["--help"], ["rate", "--help"], ["materials"]])
def test_a_reader_that_went_away_is_no_fault(asked):
    """As `impact ... | head -1`: a shell gives 128 + 13 for a program ended by SIGPIPE (POSIX)."""
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-m", "impact", *asked], stdout=writing, stderr=subprocess.PIPE,
        check=False,
    )  # fmt: skip
    os.close(writing)
    assert done.returncode == 141
    assert done.stderr == b""


def test_traceback_on_request(monkeypatch):
    monkeypatch.setenv("IMPACT_TRACEBACK", "1")
    result = _fail_with(ZeroDivisionError("where"), monkeypatch)
    assert isinstance(result.exception, ZeroDivisionError)

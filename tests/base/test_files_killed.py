"""Killed at any moment, an output file is the old or the new one; reruns give the same bytes."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "examples" / "06_cannot_lose_a_hanger.toml"
SIZE = 3_000_000  # bytes: writing takes some milliseconds, so that a kill falls into it
WRITER = f"""
import sys
from impact.base.files import write_whole
pieces = [letter * {SIZE} for letter in (b"a", b"b")]
def slowly(data):
    def write(path):
        with open(path, "wb") as file:
            for start in range(0, {SIZE}, 100_000):
                file.write(data[start:start + 100_000])
                file.flush()
    return write
print("ready", flush=True)
for number in range(10**9):
    data = pieces[number % 2]
    write_whole(sys.argv[1], slowly(data) if number % 3 else data)
"""


def test_killed_while_writing(tmp_path):
    target, rng, seen = tmp_path / "out.nc", random.Random(4), set()
    target.write_bytes(b"a" * SIZE)
    for _ in range(8):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(target)], stdout=subprocess.PIPE, text=True
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        time.sleep(rng.uniform(0.0, 0.06))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        content = target.read_bytes()
        assert len(content) == SIZE
        assert content in (b"a" * SIZE, b"b" * SIZE)
        seen.update(path.name for path in tmp_path.iterdir())
    # what a kill may leave behind is a hidden file beside it, never another one
    assert all(name == "out.nc" or name.startswith(".out.") for name in seen)


def run(folder: Path, words: list[str], hash_seed: str) -> dict[str, bytes]:
    """Files that one command writes in an empty folder, and what it prints."""
    folder.mkdir()
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "TZ": f"UTC-{hash_seed}"}
    done = subprocess.run(
        [sys.executable, "-m", "impact", *words], cwd=folder, env=environment, check=True,
        capture_output=True,
    )  # fmt: skip
    written = {path.name: path.read_bytes() for path in folder.iterdir()}
    return {**written, "printed": done.stdout}


def alike(tmp_path: Path, words: list[str], count: int) -> None:
    """Two runs, in two processes with other hash seeds and clocks, write the same bytes."""
    one, other = (run(tmp_path / seed, words, seed) for seed in ("1", "7"))
    assert len(one) == count
    assert one.keys() == other.keys()
    for name, content in one.items():
        assert content == other[name], f"{name} differs from run to run"


def test_a_layout_is_written_alike_each_time(tmp_path):
    """Drawings of all formats, DXF with its dates and handles included."""
    alike(tmp_path, ["layout", str(EXAMPLE), "--drawings", "svg,pdf,png,dxf"], 6)


@pytest.mark.fuzz
@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_a_prediction_is_written_alike_each_time(tmp_path, kind):
    words = ["predict", str(EXAMPLE), "-o", "all.nc", "--plot", f"steps.{kind}"]
    alike(tmp_path, words, 3)


@pytest.mark.fuzz
def test_sound_files_are_written_alike_each_time(tmp_path):
    alike(tmp_path, ["listen", str(EXAMPLE), "--seconds", "4"], 6)


@pytest.mark.fuzz
def test_a_report_is_written_alike_each_time(tmp_path):
    alike(tmp_path, ["report", str(EXAMPLE), "-o", "report"], 3)

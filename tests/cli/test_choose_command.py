"""`impact choose` as a user runs it, on a small invented room."""

from __future__ import annotations

import json

import pytest
import xarray
from click.testing import CliRunner
from texts import EXAMPLES, SMALL_ROOM

from impact import gravity
from impact.cli.main import main
from impact.design.reader import read

SMALL = SMALL_ROOM.replace("[hangers]", '[hangers]\nload_minimum = "20 N"') + "count = 2\n"
FEW = ("--classes", "own", "--stiffness", "50 N/mm, 100 N/mm", "--channel-spacing", "600 mm",
       "--hanger-spacing", "400 mm, 800 mm", "--layers", "2", "--depth", "80 mm, 120 mm",
       "--fill", "0 mm")  # fmt: skip


@pytest.fixture
def run(tmp_path):
    file = tmp_path / "small.toml"
    file.write_text(SMALL, encoding="utf-8")
    return lambda *options: CliRunner().invoke(main, ["choose", str(file), *options])


def test_text_csv_and_picture(run, tmp_path):
    table, drawing = tmp_path / "all.csv", tmp_path / "k.svg"
    result = run(*FEW, "-o", str(table), "--plot", str(drawing))
    assert result.exit_code == 0, result.stderr
    for words in ("of 8 ceilings keep every limit", "Why the rest failed", "licensed engineer"):
        assert words in result.stdout
    for word in ("compliant", "soundproof"):
        assert word not in result.stdout.lower()
    assert len(table.read_text(encoding="utf-8").splitlines()) == 1 + 8
    assert "the air alone" in drawing.read_text(encoding="utf-8")
    assert max(len(line) for line in result.stdout.splitlines()) <= 80


def test_json_and_netcdf(run, tmp_path):
    data = tmp_path / "all.nc"
    result = run(*FEW, "-o", str(data), "--format", "json")
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert answer["combinations"] == 8
    shown = answer["shown"][0]
    assert len(shown["level_db"]) == len(answer["bands_hz"]) == 8
    with xarray.open_dataset(data, engine="scipy") as kept:
        assert kept["thud"].units == "dB"
        assert int(kept["feasible"].sum()) == answer["feasible"]


def test_all_faults_of_the_options_at_once(run):
    result = run("--depth", "80", "--layers", "two", "--hanger-spacing", "500 mm",
                 "--classes", "rubber in shear clop", "--stiffness", "5 N/mm:2 N/mm:3")  # fmt: skip
    assert result.exit_code == 2
    for option in ("--depth", "--layers", "--hanger-spacing", "--classes", "--stiffness"):
        assert option in result.stderr
    assert "did you mean 'rubber-in-shear clip'" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    ("option", "given", "said"),
    [
        ("--layers", "0,2", "'0,2' must hold counts from 1 to 8"),
        ("--layers", "1:9", "1 to 8"),
        ("--depth", "3 in : 9 in", "LOW : HIGH : COUNT"),
        ("--depth", "3 in : 9 in : 900", "2 to 200 values"),
        ("--depth", "-3 in", "no value that can be tried"),
        ("--fill", ",", "no value that can be tried"),
        ("--classes", ",", "no value to try"),
    ],
)
def test_lists_that_cannot_be_tried(run, option, given, said):
    result = run(option, given)
    assert result.exit_code == 2
    assert said in result.stderr


def test_what_is_chosen_can_be_written_into_the_file(run, tmp_path):
    """The lines printed, put in place of the file's own, make the ceiling that was chosen: the same
    levels within 0.1 dB."""
    from impact.study.choose_sound import exact, exact_levels

    chosen = json.loads(run(*FEW, "--format", "json").stdout)["chosen"]
    said = run(*FEW).stdout.split("into the design file\n")[1].splitlines()[1:]
    lines = [line for line in said[: said.index("")] if line[:1] == "[" or " = " in line]
    start, end = SMALL.index("[cavity]"), SMALL.index("[[ceiling.layers]]")
    file = tmp_path / "chosen.toml"
    file.write_text(SMALL[:start] + "\n".join(lines) + "\n" + SMALL[end:], encoding="utf-8")
    design = read(file)
    assert design.hangers.dynamic_stiffness == pytest.approx(chosen["dynamic_stiffness_n_m"])
    assert chosen["level_db"] == pytest.approx(exact_levels(design, exact(design)), abs=0.1)


def test_another_class_keeps_the_channel_it_was_tried_with(run, tmp_path):
    """Rubber clips bring a 7/8 in channel where none is named, neoprene hangers one of 1 1/2 in."""
    before = read(tmp_path / "small.toml").hangers
    options = "--classes|neoprene hanger|--hanger-spacing|800 mm|--layers|7|--depth|150 mm"
    printed = run(*options.split("|"), "--channel-spacing", "600 mm", "--fill", "0 mm").stdout
    said = printed.split("into the design file\n")[1].splitlines()[1:]
    lines = [line for line in said[: said.index("")] if line[:1] == "[" or " = " in line]
    assert 'class = "neoprene hanger"' in lines
    start, end = SMALL.index("[cavity]"), SMALL.index("[[ceiling.layers]]")
    file = tmp_path / "chosen.toml"
    file.write_text(SMALL[:start] + "\n".join(lines) + "\n" + SMALL[end:], encoding="utf-8")
    assert read(file).hangers.channel == before.channel


@pytest.mark.parametrize(("seconds", "shown"), [(1.9, False), (2.1, True)])
def test_a_progress_bar_after_two_seconds(monkeypatch, capsys, seconds, shown):
    from impact.cli import choose

    clock = iter([0.0, seconds])
    monkeypatch.setattr(choose.time, "monotonic", lambda: next(clock, seconds))
    with choose._Bar() as tell:
        tell(1, 4)
    assert ("solving" in capsys.readouterr().err) is shown


def test_a_file_that_cannot_be_written_is_refused_first(run, tmp_path):
    result = run(*FEW, "-o", str(tmp_path / "all.xls"))
    assert result.exit_code == 2
    assert ".csv or .nc" in result.stderr


@pytest.mark.parametrize(
    ("name", "first", "word"),
    [
        ("04_one_layer_too_many", "overloaded", "above rated maximum"),
        ("06_cannot_lose_a_hanger", "cannot_lose_one", "within"),
    ],
)
def test_examples_show_what_they_say(name, first, word):
    checked = gravity.loads(read(EXAMPLES / f"{name}.toml"), coupled=False)
    assert first in [finding.code for finding in checked.findings]
    assert checked.verdict == word


def test_one_layer_less_hangs_within():
    from dataclasses import replace

    design = read(EXAMPLES / "04_one_layer_too_many.toml")
    fewer = replace(design, ceiling=replace(design.ceiling, layers=design.ceiling.layers[:2]))
    assert gravity.loads(fewer, coupled=False).verdict == "within"


def test_softer_hangers_gain_nothing():
    """Ten times softer: f0 falls by less than 5 % and the thud as heard by less than 0.5 dB."""
    from impact.study.choose_axes import Axes, own_hangers, stiffened, variant
    from impact.study.choose_rows import _f0
    from impact.study.choose_sound import band_levels, heard, search

    design = read(EXAMPLES / "05_softer_hangers_gain_nothing.toml")
    own = own_hangers(design)
    springs = stiffened(own, [own.dynamic_stiffness, own.dynamic_stiffness / 10])
    depth = design.cavity.clear_depth
    line = Axes(springs, (own.channel_spacing,), (own.hanger_spacing,), (2,), (depth,), (0.0,))
    level = band_levels(design, search(design, line).square["walker_barefoot"])
    hard, soft = heard(level).reshape(-1)
    assert hard - soft < 0.5
    f0 = [_f0(variant(design, k, own.channel_spacing, own.hanger_spacing, 2, depth, 0.0))
          for k in springs]  # fmt: skip
    assert 0.95 * f0[0] < f0[1] < f0[0]

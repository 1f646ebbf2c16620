"""`impact layout`: what it writes, says and refuses to overwrite."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import designs
import pytest
from click.testing import CliRunner

from impact.cli import layout as command
from impact.cli import options
from impact.cli.main import main
from impact.errors import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "01_basement_rental.toml"
NAMES = [f"room_layout.{kind}" for kind in command.FORMATS] + ["room_installation.txt"]


@pytest.fixture
def here(tmp_path, monkeypatch):
    pytest.importorskip("ezdxf")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "room.toml").write_text(EXAMPLE.read_text())
    return tmp_path


def call(*arguments):
    return CliRunner().invoke(main, ["layout", *arguments])


def test_all_files_under_the_name_of_the_design(here):
    result = call("room.toml")
    assert result.exit_code == 0, result.output
    for name in NAMES:
        assert (here / name).stat().st_size > 500
        assert f"wrote {name}" in result.output
    assert "LOADS AT REST" in result.output
    assert "licensed engineer" in result.output


@pytest.mark.parametrize("given", ["sheets/", "sheets"])
def test_of_a_folder_the_names_in_it_are_the_design_s(here, given):
    """Not nothing, with which a report was written into .html, a file that folders do not show."""
    (here / "sheets").mkdir()
    result = call("room.toml", "-o", given, "--drawings", "svg")
    assert result.exit_code == 0, result.output
    found = sorted(p.name for p in (here / "sheets").iterdir())
    assert found == ["room_installation.txt", "room_layout.svg"]
    for begun in ("reports/", "reports"):
        assert options.beginning(begun, "rooms/a.toml") == begun.replace("/", "/a")
    assert options.beginning(None, "rooms/a.toml") == "a"


def test_a_second_run_replaces_its_own_files_with_the_same_bytes(here):
    call("room.toml")
    first = {name: (here / name).read_bytes() for name in NAMES}
    result = call("room.toml")
    assert result.exit_code == 0, result.output
    assert {name: (here / name).read_bytes() for name in NAMES} == first
    assert sorted(p.name for p in here.iterdir()) == sorted([*NAMES, "room.toml"])


def test_files_of_somebody_else_are_kept_and_nothing_is_written(here):
    (here / "room_installation.txt").write_text("my own notes\n")
    (here / "room_layout.pdf").write_bytes(b"%PDF my own\n")
    result = call("room.toml")
    assert result.exit_code == 2
    assert "room_installation.txt" in result.output
    assert "room_layout.pdf" in result.output
    assert "-o" in result.output
    assert (here / "room_installation.txt").read_text() == "my own notes\n"
    assert not (here / "room_layout.svg").exists()


def test_stem_formats_and_units(here):
    (here / "out").mkdir()
    result = call("room.toml", "-o", "out/a", "--drawings", "svg", "--units", "metric")
    assert result.exit_code == 0, result.output
    assert sorted(p.name for p in (here / "out").iterdir()) == [
        "a_installation.txt",
        "a_layout.svg",
    ]
    assert b" mm<" in (here / "out" / "a_layout.svg").read_bytes()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("room.toml", "--drawings", "svg,bmp"), "'bmp' cannot be written; choose from svg"),
        (("room.toml", "-o", "nowhere/a"), "does not exist"),
        (("missing.toml",), "missing.toml"),
    ],
)
def test_refusals_name_the_remedy_without_traceback(here, arguments, words):
    result = call(*arguments)
    assert result.exit_code == 2
    assert words in result.output
    assert "Traceback" not in result.output


def test_cad_left_out_with_a_remark_unless_asked_for(here, monkeypatch, capsys):
    from impact.report import drawing_dxf

    monkeypatch.setattr(drawing_dxf, "available", lambda: False)
    command.run(designs.basement(), "b", explicit=False)
    assert "pip install ezdxf" in capsys.readouterr().out
    assert not (here / "b_layout.dxf").exists()


def test_loads_reach_sheet_and_screen(here, capsys):
    """The L-shaped room overloads some of its clips and leaves others too light: said on the
    screen, on the sheet and on the drawing, with what a lost hanger does first of all."""
    design = replace(designs.l_shaped(), units="metric")
    made = command.run(design, "b", ("svg",))
    said = capsys.readouterr().out
    text = re.sub(r"\s+", " ", said)
    assert said.index("cannot lose a hanger") < said.index("48 hangers:")
    for words in ("above their rated maximum of 160 N", "below their rated minimum of 45 N",
                  "left at the perimeter", "with creep (factor 1.3)", "in the cold (1.4 times",
                  "dead load on the floor above", "(coupled)", "below 'duct'"):  # fmt: skip
        assert words in text
    assert max(map(len, said.splitlines())) <= 80
    sheet = (here / "b_installation.txt").read_text()
    assert "CANNOT LOSE A HANGER" in sheet.split("CAUTIONS")[0]
    worst = max(made.loads)
    assert f"{worst:.0f} N" in sheet
    assert "LOAD TOO HIGH" in (here / "b_layout.svg").read_text()


def test_broken_rules_are_told_first(here, capsys):
    points = ((0.15, 0.5), (0.15, 0.52))
    design = replace(designs.basement(), hangers=replace(designs.hangers(), positions=points))
    command.run(design, "b", ("svg",))
    said = capsys.readouterr().out
    assert "RULES BROKEN" in said
    assert "broken: hangers on joists" in said


def test_a_link_is_not_written_through(here):
    (here / "else.svg").write_text("precious")
    (here / "b_layout.svg").symlink_to(here / "else.svg")
    with pytest.raises(InputError, match="symbolic link"):
        command.run(designs.basement(), "b", ("svg",))
    assert (here / "else.svg").read_text() == "precious"

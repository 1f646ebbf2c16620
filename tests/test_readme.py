"""What the documents tell people to type exists."""

from __future__ import annotations

import re
import textwrap
from pathlib import Path

import click
import pytest

from impact.cli.main import main
from impact.design import reader, starter

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
HOUSE = DEVELOPERS.partition("\n## The house\n")[2].partition("\n## ")[0]
PLACES = [place for place in re.findall(r"^\| (.+?) \|", HOUSE, re.MULTILINE) if "`" in place]


def test_commands_exist():
    named = set(re.findall(r"(?:^    |`)impact ([a-z]+)", README, re.MULTILINE))
    assert "predict" in named
    assert named <= set(main.list_commands(click.Context(main)))


def test_options_of_predict_exist():
    command = main.get_command(click.Context(main), "predict")
    known = {option for each in command.params for option in each.opts}
    lines = re.findall(r"^    impact predict .*", README, re.MULTILINE)
    assert len(lines) >= 4
    for line in lines:
        assert set(re.findall(r"(?<= )--?[a-z]+", line.split("#")[0])) <= known


def test_the_set_up_is_two_commands():
    assert "python3 -m venv .venv && . .venv/bin/activate\n" in README
    assert 'pip install -e ".[test]"\n' in README


def test_examples_exist():
    for name in re.findall(r"examples/\w+\.toml", README):
        assert (ROOT / name).is_file(), name


def test_every_folder_has_a_place_in_the_house():
    named = {name for place in PLACES for name in re.findall(r"`(\w+)[/.]", place)}
    packages = {path.parent.name for path in (ROOT / "impact").glob("*/__init__.py")}
    assert len(packages) > 10
    assert packages <= named


@pytest.mark.parametrize("place", PLACES)
def test_places_of_the_house_exist(place):
    folder = ""
    for name in re.findall(r"`([^`]+)`", place):
        folder = name.rpartition("/")[0] or folder
        tries = [ROOT / name, ROOT / "impact" / name, ROOT / "impact" / folder / name,
                 ROOT / folder / name]  # fmt: skip
        assert any(list(each.parent.glob(each.name)) or each.is_dir() for each in tries), name


def test_own_hanger_and_board_of_the_readme_can_be_used(tmp_path):
    """The lines as printed, behind the starter of `impact init` that asks for them."""
    block = re.search(r'^    \[hanger_classes\."my clip"\].*(?:\n    .*|\n)*', README, re.MULTILINE)
    text = starter.starter("imperial").replace(
        'class = "rubber-in-shear clip"', 'class = "my clip"'
    )
    text = text.replace('material = "fire-type gypsum board"', 'material = "my board"')
    path = tmp_path / "own.toml"
    path.write_text(text + textwrap.dedent(block.group()), encoding="utf-8")
    design = reader.read(path)
    assert design.hangers.dynamic_stiffness == 80e3  # 80 N/mm
    # 75 lb/ft3, 16.0185 kg/m3 each (NIST SP 811): half a per mille for the digits
    assert design.ceiling.layers[0].material.density == pytest.approx(75 * 16.0185, rel=5e-4)

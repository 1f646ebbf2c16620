"""`impact materials`: everything listed, one shown with spread and source, 80 columns."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from impact.cli import materials
from impact.cli.main import main
from impact.design import catalogue


def run(*arguments):
    return CliRunner().invoke(main, ["materials", *arguments])


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_list_holds_every_name_and_fits_the_screen(units):
    result = run("--units", units)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert max(len(line) for line in lines) <= 80
    for entry in catalogue.entries():
        assert any(line.startswith(f"  {entry.name} ") for line in lines), entry.name


def test_kinds_of_the_command_are_those_of_the_catalogue():
    assert set(materials.KINDS) == set(catalogue.FILES)
    assert set(materials._SHORT) == set(catalogue.FILES)


def test_one_is_shown_with_spread_condition_and_source():
    """Common practice for rubber clips: 50 to 200 kN/m, which is 50 to 200 N/mm."""
    result = run("Rubber in shear clip")
    assert result.exit_code == 0
    assert "100 N/mm (from 50 N/mm to 200 N/mm)" in result.stdout
    assert "at mid load" in result.stdout
    assert "common practice, no source" in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 80


def test_every_entry_can_be_shown():
    for entry in catalogue.entries():
        result = run(entry.name)
        assert result.exit_code == 0
        assert result.stdout.startswith(f"{entry.name} ({entry.kind})")
        assert result.stdout.count("source: ") == len(entry.properties)
        assert max(len(line) for line in result.stdout.splitlines()) <= 80


def test_json_is_in_si_with_units_and_sources():
    data = json.loads(run("rubber-in-shear clip", "--format", "json").stdout)
    assert len(data) == 1
    stiffness = data[0]["properties"]["dynamic_stiffness"]
    assert (stiffness["value"], stiffness["low"], stiffness["high"]) == (1e5, 5e4, 2e5)
    assert stiffness["unit"] == "N/m"
    assert stiffness["source"]
    everything = json.loads(run("--format", "json").stdout)
    assert len(everything) == len(catalogue.entries())


def test_part_of_a_name_lists_what_matches():
    result = run("gypsum", "--kind", "board")
    assert result.exit_code == 0
    assert "fire-type gypsum board" in result.stdout
    assert "OSB" not in result.stdout


def test_unknown_name_suggests_and_exits_2():
    result = run("rubbr in shear clip")
    assert result.exit_code == 2
    assert "did you mean 'rubber-in-shear clip'" in result.stderr
    assert run("qqqq").exit_code == 2
    assert run("").exit_code == 2

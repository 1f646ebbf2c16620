"""`impact rate` as a user runs it."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from impact.cli.main import main

# ISO 717-2:2020 Table C.1: bare floor; printed Ln,w 79, unfavourable sum 28.0.
C1 = """band_hz,level_db
100,62.1
125,63.2
160,63.5
200,66.2
250,68.5
315,70.0
400,71.7
500,73.1
630,73.8
800,73.5
1000,73.8
1250,73.3
1600,73.1
2000,73.0
2500,72.4
3150,71.2
"""
# ISO 717-2:2020 Table D.4: octaves of a heavy source, 55 dB.
D4 = "band_hz,level_db\n63,65.3\n125,64.5\n250,58.0\n500,55.8\n"


@pytest.fixture
def run(tmp_path):
    """Run `impact rate` on a file with the given content."""

    def runner(content: str, *options: str):
        path = tmp_path / "spectrum.csv"
        path.write_text(content, encoding="utf-8")
        return CliRunner().invoke(main, ["rate", str(path), *options])

    return runner


def test_json_of_the_standards_example(run):
    result = run(C1, "--format", "json")
    assert result.exit_code == 0
    ratings = json.loads(result.stdout)
    assert (ratings["Ln_w"], ratings["CI"], ratings["unfavourable_sum_db"]) == (79, -11, 28.0)
    assert ratings["CI_50_2500"] is None
    assert "CI,50-2500: not rated, missing 50, 63, 80 Hz" in result.stderr


def test_json_of_heavy_source_octaves(run):
    result = run(D4, "--format", "json")
    assert json.loads(result.stdout)["LiA_Fmax"] == 55
    assert "1000, 2000 Hz" in result.stderr


def test_text_says_quantity_and_clause(run):
    text = run(C1).stdout
    assert "Ln,w                 79 dB  ISO 717-2:2020, 4.3" in text
    assert "not rated, missing 50, 63, 80 Hz" in text
    field = run(C1, "--kind", "field").stdout
    assert "L'nT,w               79 dB" in field
    assert "NISR" in field


def test_edition_turns_the_8_db_rule_on(run):
    # By hand in test_astm_jis: 32 without the rule, 29 with it.
    assert json.loads(run(C1, "--format", "json").stdout)["IIC"] == 32
    older = run(C1, "--format", "json", "--edition", "E989-18")
    assert json.loads(older.stdout)["IIC"] == 29
    said = " ".join(run(C1).stdout.split())
    assert "With the 8 dB rule the IIC contour gives 29" in said
    said = " ".join(run(C1, "--edition", "E989-18").stdout.split())
    assert "Without the 8 dB rule the IIC contour gives 32" in said


def test_choices_equal_those_of_the_library():
    from impact.cli import rate
    from impact.rating import astm, summary

    assert set(rate.KINDS) == set(summary.KINDS)
    assert set(rate.EDITIONS) == set(astm.EDITIONS)
    assert rate.EDITIONS[0] == astm.LATEST


def test_faults_exit_2_with_every_line_named(run):
    result = run("band_hz,level_db\n100,x\n111,60\n")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "spectrum.csv: 2 faults" in result.stderr
    assert "line 2" in result.stderr
    assert "line 3" in result.stderr
    assert "Traceback" not in result.stderr


def test_a_missing_file_exits_2():
    result = CliRunner().invoke(main, ["rate", "no-such-spectrum.csv"])
    assert result.exit_code == 2
    assert "no-such-spectrum.csv" in result.stderr
    assert "does not exist" in result.stderr


def test_a_sum_over_gaps_says_so(run):
    """100, 200 and 400 Hz leave out 125, 160, 250 and 315: four bands."""
    said = run("band_hz,level_db\n100,60\n200,61\n400,62\n").output
    assert "100 to 400 Hz, 4 bands missing" in " ".join(said.split())
    assert "missing" not in run(C1).output.split("Clause")[1].split("The file")[0]


def test_an_export_of_a_meter_is_sent_to_its_reader(run):
    result = run("Hz;dB\n100;60,1\n")
    assert result.exit_code == 2
    assert "exports of meters are read by impact field" in result.output

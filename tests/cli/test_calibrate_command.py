"""`impact calibrate`: what it refuses, and its page; the fit itself in tests/site."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import designs
import numpy as np
import pytest
from click.testing import CliRunner

from impact.cli.main import main
from impact.design.reader import read
from impact.report import calibration as pages
from impact.site import calibrate
from impact.spread import inputs

EXAMPLE = "examples/03_metric_particleboard.toml"


@pytest.fixture
def run():
    return lambda *words: CliRunner().invoke(main, ["calibrate", *words])


def file(tmp_path, rows):
    path = tmp_path / "bare.csv"
    path.write_text("band_hz,level_db\n" + "".join(f"{b},{v}\n" for b, v in rows))
    return str(path)


def test_a_missing_file_and_octaves_are_refused(run, tmp_path):
    found = run(EXAMPLE, str(tmp_path / "none.csv"), "--source", "tapping_machine")
    assert found.exit_code == 2
    assert "none.csv" in found.stderr
    octaves = file(tmp_path, [(63, 80), (125, 81), (250, 82), (500, 80)])
    found = run(EXAMPLE, octaves, "--source", "tapping_machine", "--metric", "ln")
    assert found.exit_code == 2
    assert "third octaves" in found.stderr


def test_too_few_bands_are_refused_before_anything_slow(run, tmp_path):
    thirds = file(tmp_path, [(100, 80), (125, 81), (160, 82)])
    found = run(EXAMPLE, thirds, "--source", "tapping_machine", "--metric", "ln")
    assert found.exit_code == 2
    assert "at least 4" in found.stderr
    assert "Traceback" not in found.stderr


@pytest.fixture
def made():
    """A fit put together by hand: nothing is computed."""
    rows = [
        calibrate.Fitted("floor_damping", "damping of the floor", -1.0, 0.5, 0.06, 0.03, 0.12,
                         0.04, 0.03, 0.06, False),
        calibrate.Fitted("hanger_stiffness", "dynamic stiffness of the hangers", 0.0, 1.0, 1.0,
                         0.5, 2.0, 1.0, 0.5, 2.0, True),
    ]  # fmt: skip
    levels = np.array([80.0, 81.0, 82.0, 79.0])
    return calibrate.Calibration(
        "tapping_machine", (50.0, 63.0, 80.0, 100.0), levels, np.full(4, 3.0), levels + 3,
        levels + 1, tuple(rows), designs.basement(), (), (4.0, 0.4),
    )  # fmt: skip


def flat_prediction():
    flat = {"walker_barefoot": np.full(28, 50.0)}
    bare = {"tapping_machine": np.full(28, 80.0)}
    return SimpleNamespace(
        levels=flat, bare=bare, building={}, spread=None, cautions=("Overhead load.",)
    )


def test_the_page_fits_80_columns_and_says_what_the_data_can_tell(made):
    before = flat_prediction()
    page = pages.page(made, before, before, ("taken as L'n",))
    assert max(len(line) for line in page.split("\n")) <= 80
    assert "50%  yes" in page
    assert "nothing of: dynamic stiffness of the hangers" in " ".join(page.split())
    # chi² over four bands: 4.0 / 4 and 0.4 / 4
    assert "1.0 before, 0.1 after" in " ".join(page.split())
    assert "Overhead load." in page
    assert "FIT IS POOR" not in page
    poor = replace(made, chi2=(40.0, 17.0))  # over four bands: 4.25, over twice u in the mean
    assert "THE FIT IS POOR" in pages.page(poor, before, before)


def test_inputs_of_any_name_keep_to_their_column(made):
    # every input of the examples, all of them told, with wide ranges
    designs_there = sorted(Path("examples").glob("0*.toml"))
    labels = {item.label for path in designs_there for item in inputs.inputs(read(str(path)))}
    assert max(map(len, labels)) > 34  # the column: else nothing is tried here
    rows = [calibrate.Fitted(label, label, 0.0, 0.8, 1.0, 0.01, 99.0, 10.25, 10.25, 99.75, True)
            for label in sorted(labels)]  # fmt: skip
    lines = pages.page(replace(made, fitted=tuple(rows)), *[flat_prediction()] * 2).split("\n")
    assert max(map(len, lines)) <= 80
    shown = " ".join(" ".join(lines).split())
    for label in labels:  # broken over two lines, or whole, with its numbers behind it
        assert f"{label} x1.00 x10.25 x10.25-x99.75 80% hardly" in shown


def test_json_says_what_the_data_can_tell(made):
    told = json.loads(json.dumps(made.as_dict(), allow_nan=False))
    assert [one["data_can_tell"] for one in told["inputs"]] == ["yes", "no"]
    assert told["chi_square"] == {"before": 4.0, "after": 0.4, "bands": 4}

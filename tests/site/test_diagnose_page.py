"""What the search for a fault prints and draws, and its command, with faults put down by hand."""

from __future__ import annotations

import json

import numpy as np
import predictions
import pytest
from click.testing import CliRunner
from designs import basement
from weighed import BANDS, ERROR, by_hand, measured

from impact import chain
from impact.base import bands
from impact.cli.diagnose import KEYS
from impact.cli.diagnose import diagnose as command
from impact.cli.main import main
from impact.design import reader
from impact.report import diagnosis as pages
from impact.report import style
from impact.site import diagnose_cases, faults
from impact.site import diagnose_measured as measured_search
from impact.site.diagnose_cases import Ensemble


@pytest.fixture(autouse=True)
def stated_error(monkeypatch):
    """Predictions by hand state no band: the search then takes the models' own error."""
    monkeypatch.setattr(measured_search, "PredictionError", lambda *given: ERROR)


@pytest.fixture
def searched():
    known, places = by_hand(), [bands.index(band) for band in BANDS]
    level = predictions.CEILING + known.shifts["bridged"][0][places]
    return measured_search.search(predictions.by_hand(), measured(level), known=known)


def test_page_and_tests(searched):
    text = pages.page(searched)
    assert max(map(len, text.splitlines())) <= 80
    assert "Most likely screws bridging hangers (probability " in text
    assert "), best fit: case 1." in " ".join(text.split())
    assert "push test" in text
    assert "Would not show here at all: ceiling out of level." in text
    assert "licensed engineer" in text
    assert "No explanation fits well" not in text
    efforts = [faults.FAULTS[key].effort for key, _ in searched.tests]
    assert efforts == sorted(efforts)


def test_page_where_nothing_shows():
    level = np.full(len(BANDS), predictions.CEILING)
    text = pages.page(
        measured_search.search(predictions.by_hand(), measured(level), known=by_hand())
    )
    assert "Cannot tell from this: as designed fits best" in text
    # nothing points to a fault: what such a measurement cannot show is looked for, and no
    # signature of an unlikely fault stands beside the differences
    assert "Nothing here points to a fault." in text
    assert "1. ceiling out of level: laser or water level" in text
    assert "push test" not in text
    assert all(line.endswith(" -") for line in text.splitlines() if line.startswith("    50  "))


def test_page_where_no_fault_stands_out():
    # two faults with one signature between them
    known = by_hand()
    same = known.shifts["bridged"][:2]
    known = Ensemble(
        30, dict.fromkeys(("bridged", "overloaded", "fixture"), known.members["bridged"][:2]),
        {"bridged": same, "overloaded": same, "fixture": same},
    )  # fmt: skip
    level = predictions.CEILING + same[1]
    search = measured_search.search(predictions.by_hand(), measured(level[7:20]), known=known)
    said = " ".join(pages.page(search).split())
    assert "Something is wrong, but no fault stands out. First of them: " in said
    assert "(probability 33 %)" in said
    assert said.count("(33 %)") == 2  # each of those it is not told from, with its own
    assert {key for key, _ in search.tests} == {"bridged", "overloaded", "fixture"}


def test_picture_shows_measurement_and_faults(searched):
    with style.look():
        figure = pages.picture(searched)
    labels = [text.get_text() for text in figure.axes[0].get_legend().get_texts()]
    assert labels[1] == "measured minus predicted"
    assert any("screws bridging hangers" in label for label in labels)


def test_command(tmp_path, monkeypatch):
    known = by_hand()
    level = predictions.CEILING + known.shifts["fill missing"][0]
    rows = [f"{band:g},{level[bands.index(band)]:.1f}" for band in BANDS]
    path = tmp_path / "site.csv"
    path.write_text("band_hz,level_db\n" + "\n".join(rows) + "\n", encoding="utf-8")
    monkeypatch.setattr(reader, "read", lambda name: basement())
    monkeypatch.setattr(chain, "predict", lambda design: predictions.by_hand())
    monkeypatch.setattr(diagnose_cases, "ensemble", lambda *given: known)
    asked = ["diagnose", "x.toml", str(path), "--source", "tapping_machine", "--metric", "ln"]
    result = CliRunner().invoke(main, [*asked, "--format", "json"])
    assert result.exit_code == 0, result.output
    given = json.loads(result.stdout)
    assert given["verdict"] == "fill missing"
    assert given["ranked"][0]["key"] == "fill missing"
    assert given["bands_hz"] == [float(band) for band in BANDS]
    assert given["floors"] == 1
    assert given["nearer_to"] is None
    floors = next(each for each in command.params if each.name == "floors")
    assert floors.default == diagnose_cases.FLOORS
    known_of = ["--weight", "fill missing = 0", "--weight", "bridged=2.5"]
    told = CliRunner().invoke(main, [*asked, *known_of])
    assert told.exit_code == 0, told.output
    said = " ".join(told.stdout.split())
    assert "Most likely cavity fill missing" not in said
    assert (
        "held beforehand, as told: cavity fill missing ruled out; screws bridging hangers 2.5 "
        "times as likely" in said
    )
    missing = CliRunner().invoke(main, ["diagnose", "x.toml", str(tmp_path / "none.csv")])
    assert missing.exit_code == 2
    assert "Traceback" not in missing.stderr


def test_page_of_another_source():
    levels = {**predictions.flat(50.3), "rubber_ball": np.full(28, 80.0)}
    prediction = predictions.by_hand(levels=levels)
    level = measured(np.full(len(BANDS), 79.0))  # by hand: 1.0 dB from the ball, 28.7 dB as named
    found = measured_search.search(prediction, level, known=by_hand())
    assert found.as_dict()["nearer_to"] == "rubber ball below the ceiling"
    text = pages.page(found)
    assert "rubber ball below the ceiling (1 dB apart, rms)" in " ".join(text.split())
    assert "tapping machine below the ceiling (29 dB)" in " ".join(text.split())
    near = measured(np.full(len(BANDS), 53.0))  # 2.7 dB as named
    text = pages.page(measured_search.search(predictions.by_hand(), near, known=by_hand()))
    assert "ANOTHER MEASUREMENT" not in text


def test_wrong_weights_are_all_named_at_once():
    assert tuple(faults.FAULTS) == KEYS  # the command names them without loading numpy
    given = ("rust=2", "bridged=-1", "level=many", "fixture=1", "fixture=2", "touching")
    asked = [part for text in given for part in ("--weight", text)]
    result = CliRunner().invoke(main, ["diagnose", "x.toml", "y.csv", *asked])
    assert result.exit_code == 2
    said = " ".join(result.stderr.split())
    for words in (
        "'rust=2' names no fault; known: bridged, missing,",
        "'bridged=-1': times must be a number from 0 to 100",
        "'level=many': times must be a number from 0 to 100",
        "'fixture=2': fixture is given twice",
        "'touching' names no fault",
    ):
        assert words in said, said

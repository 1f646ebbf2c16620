"""`impact field` and `impact survey` as a person calls them."""

from __future__ import annotations

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner

from impact.cli.main import main
from impact.motion.underfoot import Underfoot

EXAMPLE = str(Path(__file__).parents[2] / "examples" / "01_basement_rental.toml")
METER = ("# tapping machine\nHz;LZeq;Background LZeq\n"
         "50;60,5;40\n63;61,0;41\n80;59,0;42\n100;55,5;52\n")  # fmt: skip


def call(*args):
    return CliRunner().invoke(main, [str(arg) for arg in args])


@pytest.fixture
def quick(monkeypatch):
    """A flat prediction, invented: what is predicted is not the matter here."""
    import impact.chain

    numbers = {"Ln_w": 50, "CI": 1, "CI_50_2500": 5, "IIC": 58}
    levels = {"tapping_machine": [50.3] * 28}
    plain = {"design": "invented", "levels_db": levels, "ratings": numbers,
             "levels_bare_db": levels, "ratings_bare": numbers}  # fmt: skip
    lines = Underfoot(np.array([10.0]), np.array([0]), np.ones(1), np.ones((1, 1), complex),
                      {"power": np.ones((1, 1))})  # fmt: skip
    joined = SimpleNamespace(underfoot={"design": lines, "bare": lines})
    made = SimpleNamespace(as_dict=lambda: plain, joined=joined)
    monkeypatch.setattr(impact.chain, "predict", lambda design, *a, **k: made)


def test_field_prints_what_it_took(tmp_path, quick):
    (tmp_path / "m.csv").write_text(METER)
    done = call("field", EXAMPLE, tmp_path / "m.csv", "--reverberation", "0.6 s",
                "--plot", tmp_path / "p.png")  # fmt: skip
    assert done.exit_code == 0, done.output
    for words in (
        "separator semicolon, decimal comma", "taken: LZeq", "background correction: ISO",
        "normalized to A0 = 10 m2", "only limits, background too close: 100 Hz",
    ):  # fmt: skip
        assert words in " ".join(done.output.split())
    assert (tmp_path / "p.png").stat().st_size > 10_000


def test_field_as_json_and_csv(tmp_path, quick):
    (tmp_path / "m.csv").write_text(METER)
    plain = json.loads(call("field", EXAMPLE, tmp_path / "m.csv", "--format", "json").output)
    assert plain["bands_hz"] == [50, 63, 80, 100]
    assert plain["measured_limit_only"] == [False, False, False, True]
    rows = call("field", EXAMPLE, tmp_path / "m.csv", "--format", "csv").output.splitlines()
    assert rows[0].startswith("band_hz,")
    assert len(rows) == 5


@pytest.mark.parametrize(("bare", "level"), [((), 61.211), (("--bare",), 61.625)])
def test_field_normalizes_by_the_air_that_the_ceiling_leaves(tmp_path, quick, bare, level):
    """L'n = L + 10 lg(0.16 V/(T 10 m2)) (ISO 16283-2) by hand, 60.5 dB at 50 Hz and T = 0.6 s.

    The room is 16 x 13 ft and 8 ft 3 in up to the joists, 48.592 m3: +1.125 dB. The ceiling hangs
    9 in lower and leaves 7 ft 6 in, 44.174 m3: +0.711 dB.
    """
    (tmp_path / "m.csv").write_text(METER)
    done = call("field", EXAMPLE, tmp_path / "m.csv", "--reverberation", "0.6 s", *bare,
                "--format", "json")  # fmt: skip
    assert json.loads(done.output)["measured_db"][0] == pytest.approx(level, abs=0.006)  # printed


def test_questions_and_faults_end_with_2_and_no_traceback(tmp_path):
    (tmp_path / "q.csv").write_text("band_hz,level_db\n50,60\n63,61\n80,59\n")
    (tmp_path / "b.csv").write_text("Hz;LZeq\n50;6O\n63;61\n80;59\n")
    (tmp_path / "d.csv").write_text("1,2\n")
    for args, words in (
        (("q.csv",), "--source"),
        (("q.csv", "--source", "tapping_machine"), "--metric"),
        (("b.csv", "--source", "tapping_machine"), "line 2"),
        (("none.csv",), "does not exist"),
    ):
        done = call("field", EXAMPLE, tmp_path / args[0], *args[1:])
        assert done.exit_code == 2
        assert words in done.output
        assert "Traceback" not in done.output
    done = call("field", EXAMPLE, "--deflections", tmp_path / "d.csv")
    assert done.exit_code == 2
    assert "--deflection-unit" in done.output
    assert call("field", EXAMPLE).exit_code == 2


def test_deflections_against_the_load_check(tmp_path):
    """Readings made of the load check itself, but for one that is half: that one is named."""
    from impact import gravity
    from impact.design.reader import read

    hangers = gravity.loads(read(EXAMPLE), coupled=False).hangers
    readings = [hanger.deflection * (0.5 if i == 3 else 1) for i, hanger in enumerate(hangers)]
    text = "".join(f"{i};{1000 * x:.4f} mm\n" for i, x in enumerate(readings, 1))
    (tmp_path / "d.csv").write_text(text)
    done = call("field", EXAMPLE, "--deflections", tmp_path / "d.csv", "--format", "json")
    assert done.exit_code == 0, done.output
    assert json.loads(done.output)["deflections"]["outliers"] == [4]


def test_survey_prints_and_refuses(tmp_path):
    blank = call("survey")
    assert blank.exit_code == 0
    (tmp_path / "form.txt").write_text(blank.output)
    done = call("survey", tmp_path / "form.txt", "-o", tmp_path / "made.toml")
    assert done.exit_code == 2
    assert "[room.length] is blank" in done.output
    assert not (tmp_path / "made.toml").exists()
    for kind in ("txt", "md", "pdf"):
        assert call("survey", "--checklist", "-o", tmp_path / f"c.{kind}").exit_code == 0
        assert (tmp_path / f"c.{kind}").exists()


def test_survey_leaves_an_existing_design_alone(tmp_path):
    (tmp_path / "form.txt").write_text(call("survey").output)
    (tmp_path / "made.toml").write_text("mine")
    done = call("survey", tmp_path / "form.txt", "-o", tmp_path / "made.toml")
    assert done.exit_code == 2
    assert "exists already" in done.output
    assert (tmp_path / "made.toml").read_text() == "mine"

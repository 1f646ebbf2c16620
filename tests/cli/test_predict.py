"""`impact predict` as a user runs it. The engine is replaced where only the edge is tested."""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path

import predictions
import pytest
import xarray
from click.testing import CliRunner

from impact import chain
from impact.base.bands import NOMINAL
from impact.cli import options, predict
from impact.cli.main import main
from impact.dataset import APART
from impact.design import reader
from impact.heard import strikes
from impact.report import plots

EXAMPLE = "01_basement_rental.toml"


@pytest.fixture
def run(monkeypatch, predicted):
    """Run the command on an example whose prediction is known already."""
    known = predicted(EXAMPLE)
    monkeypatch.setattr(reader, "read", lambda path: path)
    monkeypatch.setattr(chain, "predict", lambda design, samples=0, seed=1: known)
    return lambda *options: CliRunner().invoke(main, ["predict", EXAMPLE, *options])


@pytest.fixture
def refuse(monkeypatch):
    """Run the command where a calculation would be a fault: it must be refused before."""

    def never(path):
        raise AssertionError("read before the files were checked")

    monkeypatch.setattr(reader, "read", never)
    return lambda *options: CliRunner().invoke(main, ["predict", EXAMPLE, *options])


def test_samples_and_seed_reach_the_engine(monkeypatch, run, predicted):
    asked = []

    def engine(design, samples=0, seed=1):
        asked.append((samples, seed))
        return predicted(EXAMPLE)

    monkeypatch.setattr(chain, "predict", engine)
    assert run().exit_code == 0
    assert run("--samples", "50", "--seed", "7").exit_code == 0
    assert asked == [(0, 1), (50, 7)]
    for wrong in ("5", "many", "-20"):
        assert run("--samples", wrong).exit_code == 2


def test_the_90_percent_band_is_in_every_form(run, predicted):
    answer = json.loads(run("--format", "json").stdout)
    for source, level in answer["levels_db"].items():
        low, high = answer["levels_low_db"][source], answer["levels_high_db"][source]
        assert len(low) == len(high) == len(level) == 28
        # the models' error alone, 3.1 dB standard, puts the ends 1.645 times as far or farther
        # from the median, which lies near the prediction
        assert all(b - a >= 2 * 1.6 * 3.1 for a, b in zip(low, high, strict=True))
        assert all(a < x < b for a, x, b in zip(low, level, high, strict=True))
    assert answer["spread"]["measure_next"]["thud"]
    table = " ".join(run().stdout.split())
    assert "uncalibrated below 50 Hz" in table
    assert "Measure this next" in table
    rows = list(csv.DictReader(io.StringIO(run("--format", "csv").stdout)))
    assert float(rows[3]["rubber_ball_ceiling_low_db"]) < float(rows[3]["rubber_ball_ceiling_db"])
    data = predicted(EXAMPLE).to_dataset()
    assert bool((data["level_low"] < data["level_high"]).all())


def test_table(run):
    result = run()
    assert result.exit_code == 0, result.stderr
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "resonance_in_footfall_range" in result.stdout
    for source in ("tapping machine", "rubber ball", "walker, barefoot"):
        assert source in result.stdout


def test_json_is_what_python_gives(run, predicted):
    result = run("--format", "json")
    assert result.exit_code == 0
    assert json.loads(result.stdout) == json.loads(json.dumps(predicted(EXAMPLE).as_dict()))


def test_csv_has_a_row_for_each_band(run, predicted):
    result = run("--format", "csv", "--source", "rubber_ball")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert [float(row["band_hz"]) for row in rows] == list(NOMINAL)
    for row, level in zip(rows, predicted(EXAMPLE).bare["rubber_ball"], strict=True):
        assert float(row["rubber_ball_bare_db"]) == pytest.approx(level, abs=0.0051)  # 2 digits
    assert not [name for name in rows[0] if name.startswith("tapping")]
    assert "licensed engineer" in result.stderr


def test_files_are_written_beside_the_answer(run, predicted, tmp_path):
    data, plot = tmp_path / "answer.nc", tmp_path / "answer.svg"
    result = run("-o", str(data), "--plot", str(plot), "--format", "json")
    assert result.exit_code == 0, result.stderr
    json.loads(result.stdout)  # what was written is told on stderr
    assert f"wrote {data}" in result.stderr
    with xarray.open_dataset(data, engine="scipy") as kept:
        level = kept["level"].sel(source="walker_barefoot", band=31.5)
        assert (level.units, level.reference) == ("dB", "20 uPa")  # ISO 1683
        assert str(level.quantity.values) == "fast maximum, this room"
        assert str(kept["quantity"].sel(source="tapping_machine").values) == "normalized level"
        wanted = predicted(EXAMPLE).levels["walker_barefoot"][NOMINAL.index(31.5)]
        assert float(level) == pytest.approx(wanted)
        assert kept.attrs["design_sha256"] == predicted(EXAMPLE).design.digest
        assert "defaults_used" in kept.attrs
        answer = predicted(EXAMPLE).as_dict()
        summary = json.loads(kept.attrs["summary"])
        assert set(answer) - set(summary) == set(APART)  # what stands as variable or attribute
        assert summary["loads"]["verdict"] == answer["loads"]["verdict"]
        assert kept.attrs["cautions"] == " ".join(answer["cautions"])
        heave = [mode["heave"] for mode in answer["coupled_modes"]]
        assert kept["coupled_mode_heave"].values == pytest.approx(heave)
        # sqrt((k_air + k_hangers)(1/m_1 + 1/m_2)) / 2 pi, any textbook
        masses = summary["mass_per_area_kg_m2"].values()
        square = sum(summary["stiffness_per_area_n_m3"].values()) * sum(1 / m for m in masses)
        found = summary["resonances_hz"]["mass_spring_mass"]
        assert found == pytest.approx(math.sqrt(square) / (2 * math.pi))
    drawing = plot.read_text(encoding="utf-8")
    assert "licensed engineer" in drawing
    assert sorted(each.name for each in tmp_path.iterdir()) == ["answer.nc", "answer.svg"]


def test_a_failed_plot_leaves_the_old_file(run, monkeypatch, tmp_path):
    def broken(*_):
        raise ZeroDivisionError

    plot = tmp_path / "old.png"
    plot.write_bytes(b"old")
    monkeypatch.setattr(plots, "spectra", broken)
    assert run("--plot", str(plot)).exit_code == 1
    assert plot.read_bytes() == b"old"
    assert len(list(tmp_path.iterdir())) == 1


def test_files_are_refused_before_the_calculation_all_at_once(refuse, tmp_path):
    result = refuse("-o", str(tmp_path / "a.txt"), "--plot", str(tmp_path / "none" / "b.png"))
    assert result.exit_code == 2
    assert "2 faults" in result.stderr
    assert "name a file that ends in .nc" in result.stderr
    assert "does not exist; make it first" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize("options", [("--source", "hammer"), ("--format", "xml"), ("--loud",)])
def test_unknown_options_exit_2(refuse, options):
    result = refuse(*options)
    assert result.exit_code == 2
    assert options[-1] in result.stderr


def test_bad_design_exits_2_with_every_fault(tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_text('[room]\nlength = "5"\n[floor]\n[chimney]\n', encoding="utf-8")
    result = CliRunner().invoke(main, ["predict", str(path)])
    assert result.exit_code == 2
    assert result.stdout == ""
    for part in ("wrong.toml", "room.length", "chimney"):
        assert part in result.stderr
    assert "Traceback" not in result.stderr


def test_a_poor_finding_exits_0(monkeypatch):
    monkeypatch.setattr(reader, "read", lambda path: path)
    loud = predictions.by_hand(levels=predictions.flat(110.0))
    monkeypatch.setattr(chain, "predict", lambda design, samples=0, seed=1: loud)
    result = CliRunner().invoke(main, ["predict", EXAMPLE])
    assert result.exit_code == 0
    assert "loud" in result.stdout


def test_choices_equal_those_of_the_library():
    assert tuple(strikes.SOURCES) == options.SOURCES
    (drawn,) = (each for each in predict.predict.params if each.name == "samples")
    assert drawn.type.min == chain.FEWEST


def test_a_path_given_to_predict_is_told_what_reads_it():
    with pytest.raises(TypeError, match=r"impact.predict\(impact.read\(path\)\)"):
        chain.predict("my_room.toml")
    with pytest.raises(TypeError, match="takes a design"):
        chain.predict(None)
    design = reader.read(Path(__file__).parents[2] / "examples" / EXAMPLE)
    for samples, seed, said in ((5, 1, "too few"), (-1, 1, "too few"), (0, -1, "from 0 up")):
        with pytest.raises(ValueError, match=said):
            chain.predict(design, samples, seed)

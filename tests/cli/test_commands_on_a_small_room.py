"""Commands from file to screen on one small invented room: what is printed, drawn and written."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from texts import SMALL_ROOM

from impact import chain
from impact.cli.main import main
from impact.design.reader import read
from impact.site import calibrate
from impact.spread import samples

METER = "Hz;LZeq\n" + "".join(
    f"{band};{70 - n}\n" for n, band in enumerate((50, 63, 80, 100, 125, 160, 200, 250, 315))
)


@pytest.fixture(scope="module")
def known():
    """What takes long, by its name and the design: each is computed once."""
    return {}


def once(monkeypatch, known, module, name):
    """Let `module.name(design or fit, ...)` be computed once for each design."""
    whole = getattr(module, name)

    def get(first, *more, **named):
        design = getattr(first, "design", first)
        more = () if more == (0, 1) else more  # no samples, the first seed: what is not said
        key = (name, design.digest, *map(str, (*more, *named)))
        if key not in known:
            known[key] = whole(first, *more, **named)
        return known[key]

    monkeypatch.setattr(module, name, get)


@pytest.fixture
def run(tmp_path, monkeypatch, known):
    """Runs a command in a folder with room.toml, deeper.toml and meter.csv; it must answer."""
    for module, name in (
        (chain, "predict"), (calibrate, "calibrate"), (calibrate, "repredicted"),
    ):  # fmt: skip
        once(monkeypatch, known, module, name)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "room.toml").write_text(SMALL_ROOM, encoding="utf-8")
    (tmp_path / "deeper.toml").write_text(SMALL_ROOM.replace("100 mm", "200 mm"), encoding="utf-8")
    (tmp_path / "meter.csv").write_text(METER, encoding="utf-8")

    def _run(*words: str) -> str:
        result = CliRunner().invoke(main, list(words))
        assert result.exit_code == 0, result.output
        assert max(map(len, result.stdout.splitlines())) <= 80 or "json" in words
        return result.stdout

    return _run


def test_compare(run):
    """The same design beside itself differs by nothing; text and JSON say so of both others."""
    said = run("compare", "room.toml", "room.toml", "deeper.toml")
    assert said.count("Small room") >= 4
    pairs = json.loads(run("compare", "room.toml", "room.toml", "--format", "json"))
    walker = pairs["difference_db"]["walker_barefoot"]
    assert len(walker) == 28
    assert set(walker) == {0.0}


def test_drawn_floors(run):
    """The band of drawn floors lies about the level and says how far the usual one lies from it;
    the draws are those of the seed. How many are asked for is tested with the command's options;
    six are enough here."""
    made = chain.predict(read("room.toml"))
    one = samples.sampled(made.joined, made.levels, made.spread, 6, 1)
    assert "6" in one.method
    assert "band without drawn floors" in one.remark
    assert one.numbers["thud"]["low_db"] < 0 < one.numbers["thud"]["high_db"]
    assert (samples.draw(20, 3, 7) == samples.draw(20, 3, 7)).all()
    assert (samples.draw(20, 3, 7) != samples.draw(20, 3, 8)).any()


def test_a_small_room_is_measured_in_its_corners(run):
    """ISO 16283-2: below 25 m3 the procedure for small rooms is added."""
    assert "as ISO 16283-2 measures it" in run("predict", "room.toml")


def test_explain_without_a_name_lists_all(run):
    known = json.loads(run("explain", "room.toml", "--format", "json"))
    assert "mass_spring_mass" in known["quantities"]
    assert "floor.joists.fastener_diameter" in {one["path"] for one in known["defaults_used"]}
    assert "mass_spring_mass" in run("explain", "room.toml")


@pytest.mark.parametrize(("ending", "begins"), [("txt", b""), ("md", b"# "), ("pdf", b"%PDF")])
def test_survey_forms_and_checks(run, tmp_path, ending, begins):
    for words in ((), ("--checklist",), ("--checklist", "room.toml")):
        assert run("survey", *words, "-o", f"sheet.{ending}") == f"wrote sheet.{ending}\n"
        content = (tmp_path / f"sheet.{ending}").read_bytes()
        assert content.startswith(begins)
        assert len(content) > 1000
    if ending == "txt":
        assert run("survey", "--checklist", "room.toml") == content.decode()


def test_calibrate(run, tmp_path):
    """A fit comes closer to the data than the design was, knows each input no worse than before
    (Bayes, linear and normal), and is drawn."""
    words = ("calibrate", "room.toml", "meter.csv", "--source", "tapping_machine")
    found = json.loads(run(*words, "--format", "json", "--plot", "fit.svg"))
    assert len(found["prediction"]["bands_hz"]) == 28
    assert found["chi_square"]["after"] < found["chi_square"]["before"]
    assert all(one["ratio"] <= 1 for one in found["inputs"])
    assert any(one["ratio"] < 1 for one in found["inputs"])
    assert (tmp_path / "fit.svg").read_text(encoding="utf-8").count("<svg") == 1
    assert "Cautions" in run(*words)  # the end of the page


def test_tolerance(run, tmp_path):
    """A bridged hanger that is named is priced, and the curve is drawn."""
    said = run("tolerance", "room.toml", "--places", "2", "--bridged", "1", "--plot", "t.png")
    assert "The hangers you named" in said
    assert (tmp_path / "t.png").read_bytes().startswith(b"\x89PNG")


def test_diagnose(run, tmp_path):
    said = run("diagnose", "room.toml", "meter.csv", "--source", "tapping_machine",
               "--plot", "d.png")  # fmt: skip
    assert said.index("Answer") < said.index("Test on site") < said.index("Explanations")
    assert (tmp_path / "d.png").read_bytes().startswith(b"\x89PNG")

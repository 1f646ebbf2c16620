"""`impact report`: which files it writes, and which it leaves alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

import impact.chain
from impact.cli.main import main
from impact.report import pdf
from impact.site import tolerance

EXAMPLE = Path(__file__).parents[2] / "examples" / "06_cannot_lose_a_hanger.toml"


@pytest.fixture
def here(tmp_path, monkeypatch, predicted):
    """A folder with a design, and a predict that answers from the run's own store."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my_room.toml").write_text(EXAMPLE.read_text())
    made = predicted(EXAMPLE.name)
    calls = []

    def predict(design):
        calls.append(design)
        return made

    monkeypatch.setattr(impact.chain, "predict", predict)
    return tmp_path, calls


@pytest.fixture
def short_paper(monkeypatch):
    """A PDF that takes no time: for tests that do not look into it."""

    def save(made, path, sheets):
        path.write_bytes(b"%PDF " + made.marker.encode())
        return path

    monkeypatch.setattr(pdf, "pages", lambda made: [])
    monkeypatch.setattr(pdf, "save", save)


def call(*arguments):
    return CliRunner().invoke(main, ["report", *arguments])


def test_both_files_under_the_name_of_the_design_and_one_prediction(here):
    folder, calls = here
    result = call("my_room.toml")
    assert result.exit_code == 0, result.output
    assert (folder / "my_room.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert (folder / "my_room.pdf").read_bytes().startswith(b"%PDF")
    assert sorted(p.name for p in folder.iterdir()) == ["my_room.html", "my_room.pdf",
                                                        "my_room.toml"]  # fmt: skip
    assert len(calls) == 1
    assert "--faults" in (folder / "my_room.html").read_text(encoding="utf-8")  # how to get them


def test_a_rerun_replaces_both(here, short_paper):
    folder, _ = here
    assert call("my_room.toml").exit_code == 0
    names = ("my_room.html", "my_room.pdf")
    again = {name: (folder / name).read_bytes() for name in names}
    assert call("my_room.toml").exit_code == 0
    assert {name: (folder / name).read_bytes() for name in names} == again


def test_faults(here, short_paper, monkeypatch):
    folder, _ = here
    asked = []

    def cost(design, seed):
        asked.append((design.name, seed))
        return made_up

    made_up = tolerance.Tolerance("A room", "0" * 64, 3, (), dict.fromkeys(tolerance.REGIONS, ()),
                                  (), None, 17)  # fmt: skip
    monkeypatch.setattr(tolerance, "tolerance", cost)
    result = call("my_room.toml", "--faults")
    assert result.exit_code == 0, result.output
    assert asked == [("Cannot lose a hanger", 0)]
    text = (folder / "my_room.html").read_text(encoding="utf-8")
    assert text.count("What faults of building cost") == 2  # engineer's and contractor's
    assert "17 as-built states computed" in text


def test_files_of_somebody_else_are_kept(here):
    folder, calls = here
    (folder / "my_room.html").write_text("<p>my own page</p>")
    result = call("my_room.toml")
    assert result.exit_code == 2
    assert "my_room.html" in result.output
    assert "-o" in result.output
    assert (folder / "my_room.html").read_text() == "<p>my own page</p>"
    assert not (folder / "my_room.pdf").exists()
    assert calls == []  # refused before the calculation


def test_stem_and_others(here, short_paper):
    folder, calls = here
    (folder / "b.toml").write_text(EXAMPLE.read_text())
    result = call("my_room.toml", "-o", "page", "--against", "b.toml", "b.toml")
    assert result.exit_code == 0, result.output
    assert len(calls) == 3
    assert "The options" in (folder / "page.html").read_text(encoding="utf-8")


def test_two_designs_without_against(here):
    result = call("my_room.toml", "b.toml")
    assert result.exit_code == 2
    assert "--against" in result.output


def test_a_missing_design(here):
    result = call("absent.toml")
    assert result.exit_code == 2
    assert "absent.toml" in result.output


def test_a_stem_that_ends_like_a_file_makes_no_double_ending(here, short_paper):
    folder, _ = here
    assert call("my_room.toml", "-o", "for_client.pdf").exit_code == 0
    made = sorted(p.name for p in folder.iterdir() if p.suffix != ".toml")
    assert made == ["for_client.html", "for_client.pdf"]

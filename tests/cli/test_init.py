"""`impact init`: a starter that reads, is never written over anything, and fits the screen."""

from __future__ import annotations

import tomllib

import pytest
from click.testing import CliRunner

from impact.base import units
from impact.cli.main import main
from impact.design import reference
from impact.design.reader import read


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_starter_reads_without_fault_or_warning(tmp_path, units):
    path = tmp_path / "room.toml"
    result = CliRunner().invoke(main, ["init", str(path), "--units", units])
    assert result.exit_code == 0, result.output
    assert "impact predict" in result.stdout
    design = read(path)
    assert design.units == units
    assert design.warnings == ()
    text = path.read_text("utf-8")
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_every_sleeping_line_wakes_up_as_toml_that_reads(tmp_path, units):
    """Each '# key = value' of a waking table, switched on alone, is a key the reader takes."""
    from impact.design.starter import starter

    lines = starter(units).splitlines()
    woken = 0
    for i, line in enumerate(lines):
        body = line.removeprefix("# ")
        if (
            not line.startswith("# ")
            or " = " not in body
            or not body.split(" = ")[0].isidentifier()
        ):
            continue
        table = next(above for above in reversed(lines[:i]) if above.lstrip("# ").startswith("["))
        if table.startswith("#"):
            continue
        text = "\n".join([*lines[:i], body, *lines[i + 1 :]])
        if body.startswith("mat "):
            text = text.replace(body, body + '\nbond = "floating"\n[[floor.layers]]\n'
                                'material = "OSB"\nthickness = "18 mm"')  # fmt: skip
            text = _second_layer_first(text)
        tomllib.loads(text)
        path = tmp_path / f"{i}.toml"
        path.write_text(text, "utf-8")
        read(path)
        woken += 1
    assert woken >= 20


def _second_layer_first(text: str) -> str:
    """A floating layer needs a deck below it: swap the two layers."""
    head, first, second = text.split("[[floor.layers]]")
    second, tail = second.split("\n\n", 1) if "\n\n" in second else (second, "")
    deck = second.split('thickness = "18 mm"')[0] + 'thickness = "18 mm"\n'
    rest = second.split('thickness = "18 mm"')[1]
    return f"{head}[[floor.layers]]{deck}[[floor.layers]]{first}{rest}\n\n{tail}"


def test_existing_file_is_left_alone(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("precious", "utf-8")
    result = CliRunner().invoke(main, ["init", str(path)])
    assert result.exit_code == 2
    assert "exists already" in result.stderr
    assert path.read_text("utf-8") == "precious"
    link = tmp_path / "link.toml"
    link.symlink_to(tmp_path / "nowhere.toml")
    assert CliRunner().invoke(main, ["init", str(link)]).exit_code == 2
    assert not (tmp_path / "nowhere.toml").exists()


def test_missing_folder_is_named(tmp_path):
    result = CliRunner().invoke(main, ["init", str(tmp_path / "no" / "room.toml")])
    assert result.exit_code == 2
    assert "does not exist" in result.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["room.csv", "room"])
def test_a_design_file_ends_in_toml(tmp_path, name):
    result = CliRunner().invoke(main, ["init", str(tmp_path / name)])
    assert result.exit_code == 2
    assert "name a file that ends in .toml" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_default_name_is_design_toml(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, ["init"]).exit_code == 0
    assert read("design.toml").name == "My room"


def test_every_key_of_the_schema_can_be_looked_up():
    """Each row that the reader knows stands in the reference with its range, in 80 columns."""
    from impact.design import schema_ceiling, schema_floor, schema_room

    result = CliRunner().invoke(main, ["init", "--keys"])
    assert result.exit_code == 0
    told = {line.split()[0] for line in result.output.splitlines() if line.startswith("  ")}
    for module in (schema_room, schema_floor, schema_ceiling):
        for name, rows in vars(module).items():
            if not name.isupper() or name.startswith("_") or not isinstance(rows, tuple):
                continue
            keys = {key.name for key in rows if getattr(key, "holds", "table") not in
                    ("table", "tables")}  # fmt: skip
            assert keys <= told, (name, keys - told)
    assert max(map(len, result.output.splitlines())) <= 80
    slab = CliRunner().invoke(main, ["init", "--keys", "slab"]).output
    assert "[floor.slab]" in slab
    assert "[floor.joists]" not in slab
    assert "40 mm to 1 m" in " ".join(slab.split())


def test_an_unknown_table_is_refused_with_the_known_ones():
    result = CliRunner().invoke(main, ["init", "--keys", "roof"])
    assert result.exit_code == 2
    assert "[floor.slab]" in result.output


def test_every_example_shown_for_a_key_would_be_accepted():
    """`like ...` must lie within the range beside it: a walker of "2 kg" would be refused."""
    told = " ".join(CliRunner().invoke(main, ["init", "--keys"]).output.split())
    shown = 0
    for _, rows in reference.TABLES.values():
        for key in rows:
            if not key.dimension or key.hard is None:
                continue
            range_ = "; {} to {}".format(*key.hard)
            before = told[: told.index(range_, told.index(f" {key.name} {key.help}"))]
            low, high = (units.parse(end, key.dimension) for end in key.hard)
            for one in before[before.rindex("like ") + 5 :].split(" or "):
                assert low <= units.parse(one.strip('"'), key.dimension) <= high, (key.name, one)
                shown += 1
    assert shown > 100

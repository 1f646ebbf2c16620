"""What is said of published floors like a design: the figures of the validation runs, and which of
them belong to which floor."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

import impact
from impact.advice import evidence

VALIDATION = Path(__file__).parents[2] / "validation"
HARRIS = VALIDATION / "harris_joist_floors"
EXAMPLES = VALIDATION.parent / "examples"


def _rows(name: str) -> list[dict[str, str]]:
    with (VALIDATION / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_figures_are_those_of_the_last_validation_run() -> None:
    points = {
        (row["case"], row["item"], row["quantity"]): int(float(row["difference"]))
        for row in _rows("points.csv")
        if row["quantity"] in ("IIC", "Ln_w")
    }
    ranges = {
        (row["case"], row["item"]): row
        for row in _rows("results.csv")
        if row["quantity"] == "level" and row["high_hz"] == "5000" and row["low_hz"] == "10"
    }
    for one in evidence.checks():
        assert one["kind"] in evidence.KINDS
        if "differences" in one:
            ours = [points[one["case"], item, one["quantity"]] for item in one["items"]]
            assert ours == one["differences"], one["floor"]
            continue
        (item,) = one["items"]
        row = ranges[one["case"], item]
        for key in ("mean", "mean_absolute", "worst"):
            assert float(row[key]) == pytest.approx(one[f"{key}_db"], abs=0.051), key
        assert float(row["worst_hz"]) == one["worst_hz"]


def test_every_published_joist_floor_belongs_to_what_is_said_of_its_kind() -> None:
    for path in sorted(HARRIS.glob("row_*.toml")):
        item = path.stem.replace("_", " ")
        found, _ = evidence.of(impact.read(path))
        told = [one for one in found if item in one["items"]]
        assert [one["case"] for one in told] == ["harris_joist_floors"], item


def test_a_hung_ceiling_is_said_to_stand_on_physics_alone() -> None:
    found, without = evidence.of(impact.read(EXAMPLES / "01_basement_rental.toml"))
    assert [one["kind"] for one in found] == ["bare joists"]
    assert evidence.NOTHING["hung"] in without
    assert evidence.LOW in without


def test_an_old_ceiling_is_boards_on_joists() -> None:
    found, _ = evidence.of(impact.read(EXAMPLES / "02_old_ceiling_left.toml"))
    assert [one["kind"] for one in found] == ["bare joists", "boards on joists"]


def test_only_solid_slabs_are_held_against_solid_slabs() -> None:
    constructions = VALIDATION / "constructions"
    found, _ = evidence.of(impact.read(constructions / "slab_concrete.toml"))
    assert [one["kind"] for one in found] == ["bare slab"]
    for other in ("slab_hollow", "slab_ribbed", "cross_laminated", "timber_concrete"):
        found, without = evidence.of(impact.read(constructions / f"{other}.toml"))
        assert found == []
        assert without[0] == evidence.NOTHING["bare slab"]

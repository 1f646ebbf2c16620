"""What faults cost: the table's own sums, thresholds, and how the command answers and refuses.

Low bands are put aside here (their solver has its tests in test_faults): all bands come from the
energy balance, which costs milliseconds.
"""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from designs import basement, hangers, on_slab

from impact.base import bands
from impact.base.cautions import CAUTIONS
from impact.cli.main import main
from impact.design import reader
from impact.errors import DesignError
from impact.report import style
from impact.report import tolerance as pages
from impact.site import shifts
from impact.site import tolerance as costs


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(
        shifts, "joined_power", lambda at, states, wanted: shifts.energy_power(at, states)
    )


@pytest.fixture
def found(quick):
    return costs.tolerance(basement(), places=3, bridged=(2, 3))


def test_page_of_channels_speaks_of_no_hangers(quick):
    design = replace(basement(), hangers=hangers("resilient channel"))
    found = costs.tolerance(design, places=2, bridged=(1,))
    with style.look():
        upper, _ = pages.picture(found).axes
    page, _ = pages.page(found).split("How to read this")  # then: standing cautions
    for text in (page, upper.get_xlabel(), upper.get_title("left")):
        assert "hanger" not in text.lower()
        assert "channel fixings" in text.lower()


def test_curve_starts_at_nothing_and_ends_at_all(found):
    first, last = found.curve[0], found.curve[-1]
    assert (first.count, last.count) == (0, found.hangers)
    assert np.array(first.change_db) == pytest.approx(0.0, abs=1e-9)
    assert first.ratings == {"Ln_w": 0, "IIC": 0}
    counts = [cost.count for cost in found.curve]
    assert counts == sorted(counts)


def test_points_that_add_by_hand(found):
    # uncorrelated points: with c the loss of all N bridged as a power ratio, n of them give
    # 1 + n/N (c - 1); holds for the energy balance used here, so only rounding is left
    whole = 10 ** (np.array(found.curve[-1].change_db) / 10)
    for cost in found.curve[1:]:
        hand = 1 + cost.count / found.hangers * (whole - 1)
        assert 10 ** (np.array(cost.change_db) / 10) == pytest.approx(hand, rel=1e-9)


def test_region_is_the_energy_sum_of_its_bands(found):
    # a loss of a region lies between the least and the largest loss of its bands
    for cost in found.curve[1:]:
        for name, (region, _) in costs.REGIONS.items():
            losses = np.array(cost.change_db)[bands.between(region)]
            assert losses.min() - 1e-9 <= cost.regions[name] <= losses.max() + 1e-9


def test_thresholds_are_the_first_in_the_curve(found):
    for name, reached in found.thresholds.items():
        region = dict(costs.REGIONS).get(name)
        part = bands.between(region[0]) if region else slice(None)
        for one in reached:
            before = [c for c in found.curve if c.count < one.count]
            assert all(np.max(np.array(c.change_db)[part]) < one.limit_db for c in before)
            assert one.loss_db >= one.limit_db
            assert one.sentence.startswith(f"{one.count} bridged of {found.hangers} cost")
            assert f"at {bands.label(one.band_hz)} Hz" in one.sentence


def test_named_hangers_are_one_case_of_the_curve(found):
    assert found.chosen is not None
    two = next(cost for cost in found.curve if cost.count == 2)
    assert found.chosen.change_db == pytest.approx(two.change_db, abs=1e-9)


def test_wrong_numbers_are_refused(quick):
    with pytest.raises(DesignError, match=r"--bridged: 0, 99; hangers are numbered 1 to"):
        costs.tolerance(basement(), bridged=(0, 3, 99))


def test_a_slab_has_faults_too(quick):
    found = costs.tolerance(on_slab(), places=2)
    assert found.curve
    assert {cost.key for cost in found.others} >= {"missing", "touching", "flanking"}


def test_page_fits_and_cautions(found):
    text = pages.page(found)
    assert max(map(len, text.splitlines())) <= 80
    assert "1 of" in text
    assert "licensed engineer" in text
    assert "compliant" not in text


def test_picture_has_both_panels(found):
    with style.look():
        figure = pages.picture(found)
    assert [ax.get_ylabel() for ax in figure.axes] == ["louder by [dB]"] * 2


def test_command_gives_json_of_the_same(found, monkeypatch):
    monkeypatch.setattr(reader, "read", lambda path: basement())
    asked = ["tolerance", "x.toml", "--format", "json", "--places", "3", "--bridged", "2,3"]
    result = CliRunner().invoke(main, asked)
    assert result.exit_code == 0, result.output
    given = json.loads(result.stdout)
    assert given.pop("cautions") == list(CAUTIONS)
    assert given == json.loads(json.dumps(found.as_dict()))


@pytest.mark.parametrize("text", ["", "1;2", "-3", "one", "1,,2", "1234567"])
def test_command_refuses_what_is_no_list(text):
    result = CliRunner().invoke(main, ["tolerance", "x.toml", "--bridged", text])
    assert result.exit_code == 2
    assert "--bridged" in result.stderr
    assert "Traceback" not in result.stderr

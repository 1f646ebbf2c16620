"""What changes do to the tapping machine's levels, by ratios, beside whole predictions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import basement

from impact import chain
from impact.advice import findings, target
from impact.base import bands
from impact.design.parts import Target
from impact.heard import changed
from impact.heard.joined import join
from impact.rating import summary


@pytest.fixture(scope="module")
def solved():
    return join(basement())


def test_no_change_moves_no_level(solved):
    own = changed.balance(basement())
    found = changed.tapped(solved, own, {"none": (basement(), own)})["none"]
    assert found == pytest.approx(chain.levels_of(solved, "design")["tapping_machine"], abs=1e-9)


def test_twice_the_power_is_three_decibels_within_reach_alone(solved):
    own = changed.balance(basement())
    twice = replace(own, power_per_force=2 * own.power_per_force)
    found = changed.tapped(solved, own, {"twice": (basement(), twice)})["twice"]
    moved = found - chain.levels_of(solved, "design")["tapping_machine"]
    inside = np.zeros(len(bands.NOMINAL), bool)
    inside[bands.between((100.0, 3150.0))] = True
    assert moved[inside] == pytest.approx(10 * np.log10(2), abs=1e-6)
    assert moved[~inside] == pytest.approx(0.0, abs=1e-9)


def test_a_missed_target_is_told_of_each_change_and_one_that_is_met_is_not():
    """The tolerance of 2 points is that of `changed.tapped`."""
    base = basement()
    missed = chain.predict(replace(base, target=Target("IIC", 90.0, None, "at least")))
    told = {lever.kind: lever.target_value for lever in missed.levers}
    assert told.pop("floor") is None
    for kind, value in told.items():
        whole = join(findings.variants(base)[kind][1])
        level = chain.levels_of(whole, "design")["tapping_machine"]
        iic = summary.rate(bands.NOMINAL, level, kind="normalized")["IIC"]
        assert value == pytest.approx(iic, abs=2), kind
    assert told["mass"] > missed.ratings["IIC"]
    met = replace(base, target=Target("IIC", 20.0, None, "at least"))
    assert chain._aims(met, missed.ratings, findings.variants(met)) == {}


@pytest.mark.parametrize(("quantity", "band", "told"), [
    ("IIC", None, True), ("Ln_w", None, True), ("Ln_w_CI_50_2500", None, False),
    ("LnT_w", None, False), ("walker_barefoot", 63.0, False),
])  # fmt: skip
def test_what_a_contour_from_100_hz_makes(quantity, band, told):
    assert target.from_100(Target(quantity, 50.0, band, "at most")) is told

"""The fit of a bare floor: its algebra on closed forms, the fit on floors that are known."""

from __future__ import annotations

import json
from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.base import bands
from impact.design.origin import Spread
from impact.design.parts import OldCeiling
from impact.energy import paths as energy
from impact.errors import InputError
from impact.heard import strikes
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.site import calibrate
from impact.spread.inputs import changed, inputs

RANGES = (
    ("floor.joists.youngs_modulus", 8e9, 12e9), ("floor.joists.edge_fixity", 0.0, 0.3),
    ("floor.loss_factor", 0.02, 0.06), ("hangers.dynamic_stiffness", 80e3, 180e3),
)  # fmt: skip
TOP = bands.index(100.0)


def floor():
    """A larger floor than any other test of the fit knows, invented ranges."""
    base = designs.l_shaped()
    return replace(base, spreads=tuple(Spread(*row, "invented") for row in RANGES))


def heard(design):
    """Tapping machine below the bare floor (TOP + 1,), all modes solved anew on more lines."""
    built = assemble(design, 115.0)
    low = lowband.transfers(built, built.bare, list(bands.CENTRES[: TOP + 1]), (14, 12))
    power = np.zeros(28)
    power[: TOP + 1] = low.power["design"]
    mobility = np.full(28, 1e-5 + 0j)
    return strikes.band_levels(strikes.SOURCES["tapping_machine"], power, design, mobility)[
        : TOP + 1
    ]


def test_sharp_resonances_take_lines_enough(monkeypatch):
    # sixteen times as many lines must change nothing; as many as for usual losses miss 1 to 2 dB
    base, places = designs.basement(), np.array([4, 7, 10])
    joists = replace(base.floor.joists, loss_factor=0.008)
    sharp = replace(base, floor=replace(base.floor, loss_factor=0.008, joists=joists))

    def levels():
        return calibrate.Bare(sharp, "tapping_machine", places).levels(sharp)[places]

    found = levels()
    monkeypatch.setattr(lowband, "enough", lambda stack, centre, lines: lines)
    few = levels()
    monkeypatch.setattr(calibrate, "LINES", 16 * calibrate.LINES)
    dense = levels()
    assert found == pytest.approx(dense, abs=0.3)
    assert np.all(np.abs(few - dense) > 0.8)


def test_what_remains_is_the_closed_form_for_one_input():
    # normal prior of variance 1, n data of slope j and uncertainty u: 1/(1 + n j²/u²)
    # (Tarantola, Inverse Problem Theory, 2005, eq. 3.56; any text on Bayes' rule for a mean)
    slope, uncertainty = np.full((5, 1), 2.0), np.full(5, 4.0)
    assert calibrate.remaining(slope, uncertainty)[0, 0] == pytest.approx(1 / (1 + 5 * 4 / 16))
    # data that do not depend on an input leave its prior alone, and do not mix it with others
    both = calibrate.remaining(np.column_stack([slope, np.zeros(5)]), uncertainty)
    assert both[1, 1] == pytest.approx(1.0)
    assert both[0, 1] == pytest.approx(0.0, abs=1e-15)


def test_what_remains_is_the_integral_over_the_posterior():
    # the same for two correlated inputs by brute force: moments of exp(-chi²/2) on a grid
    slope = np.array([[1.0, 0.5], [0.2, -1.0], [0.7, 0.7]])
    uncertainty = np.array([0.5, 1.0, 2.0])
    axis = np.linspace(-6, 6, 401)
    a, b = np.meshgrid(axis, axis, indexing="ij")
    predicted = slope[:, 0, None, None] * a + slope[:, 1, None, None] * b
    chi = np.sum((predicted / uncertainty[:, None, None]) ** 2, axis=0) + a**2 + b**2
    weight = np.exp(-chi / 2)
    weight /= weight.sum()
    grid = [[float((weight * x * y).sum()) for y in (a, b)] for x in (a, b)]
    assert calibrate.remaining(slope, uncertainty) == pytest.approx(np.array(grid), abs=1e-6)


def test_the_most_probable_point_of_a_straight_model_is_ridge_regression():
    # least squares of the stacked system [J/u; 1] z = [d/u; 0], solved by numpy on its own
    rng = np.random.default_rng(5)
    slope, data, uncertainty = rng.standard_normal((9, 3)), rng.standard_normal(9), np.full(9, 0.7)
    items = inputs(floor())[:3]
    z, found = calibrate._most_probable(lambda z: slope @ z, items, data, uncertainty)
    stacked = np.vstack([slope / uncertainty[:, None], np.eye(3)])
    direct = np.linalg.lstsq(stacked, np.r_[data / uncertainty, np.zeros(3)], rcond=None)[0]
    assert z == pytest.approx(direct, abs=1e-3)  # the search stops at 1e-3
    assert found == pytest.approx(slope, abs=1e-9)


@pytest.fixture(scope="module")
def fit():
    """A floor softer, looser damped and more fixed than its design; noise of 1.5 dB, seeded."""
    design = floor()
    truth = {"joist_stiffness": -1.2, "edge_fixity": 1.0, "floor_damping": -1.3,
             "hanger_stiffness": 1.5}  # fmt: skip
    items = inputs(design)
    real = changed(design, items, np.array([truth[item.key] for item in items]))
    rng = np.random.default_rng(20)
    at = np.arange(2, TOP + 1)
    measured = heard(real)[at] + 1.5 * rng.standard_normal(len(at))
    found = calibrate.calibrate(
        design, [bands.NOMINAL[i] for i in at], measured, np.full(len(at), 1.5),
        model_db=np.full(28, 0.5),
    )  # fmt: skip
    return truth, found, real


def test_the_fit_finds_the_floor_within_what_it_says_remains(fit):
    truth, found, _ = fit
    for one in found.fitted:
        if one.key in ("joist_stiffness", "floor_damping", "edge_fixity"):
            # three standard deviations of what remains: 99.7 % of good fits
            assert abs(one.z - truth[one.key]) < 3 * one.ratio + 0.1, one
    by_key = {one.key: one for one in found.fitted}
    assert by_key["floor_damping"].verdict == "yes"
    assert by_key["floor_damping"].after < by_key["floor_damping"].before
    # 9 bands, 3 inputs fitted: chi² of 9 about 9 before fitting, its 99.9 % point 27.9 (tables)
    assert found.chi2[1] < 27.9
    assert found.chi2[1] < found.chi2[0]


def test_the_bare_floor_says_nothing_of_the_hangers(fit):
    _, found, _ = fit
    hanger = next(one for one in found.fitted if one.key == "hanger_stiffness")
    assert hanger.z == 0.0
    assert hanger.verdict == "no"
    assert found.design.hangers == floor().hangers


def test_the_fitted_design_sounds_like_the_real_floor_and_carries_less_spread(fit):
    _, found, real = fit
    near = np.abs(heard(found.design) - heard(real))[2:]
    far = np.abs(heard(floor()) - heard(real))[2:]
    assert near.mean() < 0.6 * far.mean()
    # noise of 1.5 dB in nine bands spread over three inputs leaves about 1.5 sqrt(3/9) dB
    assert near.mean() < 1.5
    item = next(one for one in found.items if one.key == "floor_damping")
    ratio = next(one for one in found.fitted if one.key == "floor_damping").ratio
    ends = [item.change(found.design, z).floor.loss_factor for z in (-1.6449, 1.6449)]
    middle = found.design.floor.loss_factor
    # before, the range was 0.02 to 0.06, a factor of 3
    assert ends[0] < middle < ends[1]
    assert ends[1] / ends[0] == pytest.approx(3**ratio, rel=0.25)
    json.dumps(found.as_dict(), allow_nan=False)


def test_a_floor_with_its_old_ceiling_is_solved_above_the_reach_of_loading_too():
    """Bands where the sound no longer loads the leaf go another way through the stack."""
    old = OldCeiling((designs.FIVE_EIGHTHS,), "nailed", 0.3, 3e6, None)
    design = replace(floor(), old_ceiling=old)
    places = np.array([bands.index(160.0)])
    found = calibrate.Bare(design, "tapping_machine", places)
    # the energy balance, an independent method, agrees within 10 dB in a single band (up to 8 dB
    # seen between the two below 200 Hz, see `impact.heard.joined`)
    high = energy.transfer(design, np.array(bands.CENTRES), ceiling=False).power_per_force
    there = strikes.band_levels(
        strikes.SOURCES["tapping_machine"], high, design, found._mobility
    )  # fmt: skip
    assert abs(found.levels(design)[places[0]] - there[places[0]]) < 10


def test_faults_are_told_together_and_name_the_remedy():
    with pytest.raises(InputError) as caught:
        calibrate.calibrate(designs.basement(), [50.0, 63.0], [60.0, 61.0], [1.0, 1.0])
    text = str(caught.value)
    assert "no input of it has a range" in text
    assert "2 bands; at least 4" in text

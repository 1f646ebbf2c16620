"""A measurement below the bare floor as evidence: conditioning by hand and against scipy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import basement
from scipy.stats import multivariate_normal
from weighed import BANDS, ERROR, by_hand

from impact.base import bands
from impact.design.origin import Spread
from impact.site import diagnose, diagnose_bare, diagnose_errors
from impact.site.bench import Change
from impact.site.calibrate import Bare
from impact.site.diagnose_bare import BareFloor, Measured, bare_floor
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.site.faults import Member
from impact.site.measured import deviations
from impact.spread.expansion import draws
from impact.spread.inputs import END, inputs

ZERO = np.zeros((28, 28))
OF = [bands.index(band) for band in BANDS]


def below(residual, levels=None, inputs=ZERO, across=ZERO, bands_hz=BANDS, **changes) -> BareFloor:
    levels = np.zeros((1, 28)) if levels is None else levels
    deviation = deviations(bands_hz)
    return BareFloor(tuple(bands_hz), np.asarray(residual, float), deviation, levels, inputs,
                     across, **changes)  # fmt: skip


def test_one_band_by_hand():
    """u the models' own in one band, v of ISO 12999-1 at 100 Hz, 2.0 dB. X = u²/2, S = u² + v²; a
    floor 6 dB louder than predicted lets expect 6 X/S, known X²/S better."""
    u = PredictionError().deviation[bands.index(100.0)]
    found = below([6.0], bands_hz=(100.0,)).known((100.0,))
    gain = u**2 / 2 / (u**2 + 2.0**2)
    assert diagnose_bare.SHARED == 0.5
    assert found.shift[0, 0] == pytest.approx(6 * gain)
    assert found.less[0, 0] == pytest.approx(gain * u**2 / 2)


def test_what_inputs_share_is_conditioned_as_scipy_has_it():
    """Joint normal of three bands below both: p(r | b) = p(r, b)/p(b)."""
    rng = np.random.default_rng(5)
    mixing = rng.standard_normal((56, 8))
    joint = mixing @ mixing.T
    three = (63.0, 125.0, 500.0)
    at = [bands.index(band) for band in three]
    floor = below([3.0, -2.0, 1.0], inputs=joint[28:, 28:], across=joint[:28, 28:], bands_hz=three)
    models = PredictionError().covariance(three)
    noise = np.diag(deviations(three) ** 2)
    ceiling = models + joint[:28, :28][np.ix_(at, at)]
    cross = 0.5 * models + joint[:28, 28:][np.ix_(at, at)]
    bare = models + noise + joint[28:, 28:][np.ix_(at, at)]
    whole = multivariate_normal(np.zeros(6), np.block([[ceiling, cross], [cross.T, bare]]))
    alone = multivariate_normal(np.zeros(3), bare)
    found = floor.known(three)
    known = multivariate_normal(found.shift[0], ceiling - found.less)
    for spectrum in rng.standard_normal((4, 3)) * 5:
        expected = whole.logpdf([*spectrum, *floor.residual]) - alone.logpdf(floor.residual)
        assert known.logpdf(spectrum) == pytest.approx(expected)


def test_floors_weigh_by_what_was_measured_below_them():
    levels = np.array([np.zeros(28), np.full(28, 8.0)])
    wide = 0.6
    floor = below(np.full(len(BANDS), 8.0), levels, 16 * np.ones((28, 28)))
    found = floor.known(BANDS, wide)
    own = PredictionError().covariance(BANDS) + np.diag(deviations(BANDS) ** 2) + wide**2 * 16
    about = 4 + np.sqrt(1 - wide**2) * np.array([-4.0, 4.0])
    logs = [multivariate_normal(np.full(len(BANDS), one), own).logpdf(floor.residual)
            for one in about]  # fmt: skip
    assert found.log_weight[1] - found.log_weight[0] == pytest.approx(logs[1] - logs[0])


def test_what_inputs_do_goes_along_by_its_share():
    """A change that takes away what inputs do to the level within a kernel leaves the models' part
    of what both levels share, and of half of it half."""
    floor = below(np.full(len(BANDS), 8.0), np.zeros((2, 28)), 16 * np.ones((28, 28)),
                  9 * np.ones((28, 28)))  # fmt: skip
    models = PredictionError().covariance(BANDS)
    own = models + np.diag(deviations(BANDS) ** 2) + 0.6**2 * 16
    for goes in (0.0, 0.5, 1.0):
        cross = floor.shared * models + goes * 0.6**2 * 9
        found = floor.known(BANDS, 0.6, goes)
        assert found.shift[0] == pytest.approx(cross @ np.linalg.solve(own, floor.residual))
        assert found.less == pytest.approx(cross @ np.linalg.solve(own, cross.T))


def test_evidence_by_scipy():
    """A case on each of two floors: the mean over floors, weighed by the bare floor."""
    slope = np.clip(np.arange(28) - 7.0, 0, 15)
    rows = np.array([slope, 1.4 * slope])
    by_inputs = np.outer(np.linspace(3, 5, 28), np.linspace(3, 5, 28))
    known = Ensemble(
        30, {"bridged": [Member(1, "a case", Change())] * 2}, {"bridged": rows},
        {"bridged": np.array([0, 1])}, np.array([np.zeros(28), np.linspace(3, 5, 28)]),
    )  # fmt: skip
    error = PredictionError(np.full(28, 4.3), by_inputs)
    floor = below(np.full(len(BANDS), 4.0), known.levels, by_inputs, by_inputs)
    scales = diagnose.Scales(known, BANDS, error=error, bare=floor)
    residual = slope[OF] + 5.0
    evidence = scales.shown["bridged"].log_evidence(residual[None])[0]
    stated = error.covariance(BANDS) + np.diag(deviations(BANDS) ** 2)
    wide = diagnose_errors.width(2, by_inputs[np.ix_(OF, OF)], stated - by_inputs[np.ix_(OF, OF)])
    told = floor.known(BANDS, wide)
    middle = known.levels[:, OF].mean(axis=0)
    about = middle + np.sqrt(1 - wide**2) * (known.levels[:, OF] - middle) + told.shift
    base = stated - (1 - wide**2) * by_inputs[np.ix_(OF, OF)] - told.less
    each = [
        multivariate_normal.pdf(residual, m + s[OF], base + np.diag((0.1 * s[OF]) ** 2))
        for m, s in zip(about, rows, strict=True)
    ]
    weight = np.exp(told.log_weight)
    assert np.exp(evidence) == pytest.approx(float(weight @ each / weight.sum()), rel=1e-9)


def test_a_floor_louder_than_predicted_takes_off_what_it_explains():
    """Bands up by 6 dB below floor and ceiling alike: less is left of it, as is the uncertainty."""
    known = by_hand()
    plain = diagnose.weigh(known, BANDS, np.full(len(BANDS), 6.0), error=ERROR)
    found = diagnose.weigh(
        known, BANDS, np.full(len(BANDS), 6.0), error=ERROR,
        bare=below(np.full(len(BANDS), 6.0)),
    )  # fmt: skip
    assert np.all(np.abs(found.residual) < np.abs(plain.residual))
    assert np.all(found.uncertainty < plain.uncertainty)


def test_levels_and_covariances_of_a_design():
    """One input moves the bare floor alone, one the ceiling alone: variances of END are those of
    the levels at the ends, over END²; nothing goes together but the first's own share."""
    design = basement()
    loss = design.floor.loss_factor
    assert design.hangers is not None
    design = replace(design, spreads=(
        Spread("floor.loss_factor", loss / 1.5, 1.5 * loss, "invented"),
        Spread("hangers.loss_factor", 0.05, 0.2, "invented"),
    ))  # fmt: skip
    items = inputs(design)
    z = draws(len(items))
    floor = next(n for n, item in enumerate(items) if item.kind == "floor")
    moved = 2.0 * z[:, [floor]] * np.ones(28)
    bare = Bare(design, "tapping_machine", np.array(OF))
    drawn = bare.levels(design)
    louder = replace(design, floor=replace(design.floor, loss_factor=loss / 1.5))
    found = bare_floor(
        design, [design, louder], "tapping_machine",
        Measured(BANDS, drawn[OF] + 3.0, deviations(BANDS)), items, moved,
    )  # fmt: skip
    assert found.residual == pytest.approx(3.0)
    assert found.levels[1] == pytest.approx(bare.levels(louder))
    quieter = bare.levels(replace(design, floor=replace(design.floor, loss_factor=1.5 * loss)))
    place = bands.index(500.0)  # far above single modes effects are all but straight
    slope = (quieter - found.levels[1])[place] / (2 * END)
    assert found.inputs[place, place] == pytest.approx(slope**2, rel=0.1)
    assert found.across[place, place] == pytest.approx(2.0 * slope, rel=0.1)

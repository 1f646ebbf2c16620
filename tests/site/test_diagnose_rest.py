"""Deflections as evidence: likelihoods by hand and by numbers, Bayes, what shows."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm
from weighed import BANDS, ERROR

from impact.base import bands
from impact.site import diagnose, diagnose_rest
from impact.site.bench import Change
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_rest import AtHangers, Floors, Readings, Rest
from impact.site.faults import Member
from impact.site.settled import Settled

DRAWN = 0.005  # m
HANGERS = 6
ERROR_M = 0.0005


def settled(lines=None) -> Settled:
    """Six hangers of 5 mm: one bridged that moves a tenth, all others as drawn; channels; another
    type twice as stiff."""
    one = np.ones((1, HANGERS))
    bridged, at = one.copy(), one == 0
    bridged[0, 2], at[0, 2] = 0.1, True
    mis, line = one.copy(), one == 0
    mis[0, :2], line[0, :2] = 0.1, True
    return Settled(
        np.full(HANGERS, DRAWN), np.array([0, 0, 1, 1, 2, 2]) if lines is None else lines,
        {"bridged": bridged, "mis-seated": mis, "wrong hanger": one / 2},
        {"bridged": at, "mis-seated": line, "wrong hanger": one == 1}, np.zeros(1),
    )  # fmt: skip


MEMBERS = {
    "bridged": [Member(1, "one", Change())], "mis-seated": [Member(1, "a line", Change())],
    "wrong hanger": [Member(2.0, "twice", Change())],
    "touching": [Member(1, "a wall", Change(walls=("west",)))],
}  # fmt: skip


def weighing(read=range(HANGERS), values=None, floors=None, wide=1.0) -> Rest:
    readings = Readings(tuple(read), np.zeros(len(read)) if values is None else values, ERROR_M)
    return Rest(MEMBERS, AtHangers(settled(), readings, floors or Floors()), wide)


def density(values, chance, middle=0.0, sigma=diagnose_rest.STATIC) -> float:
    """By numbers: the mean over the common factor and the reader's care of the product over hangers
    of `chance`, a list of (weight, ratio) for each."""
    slip = diagnose_rest.SLIPS / (diagnose_rest.SLIP * DRAWN)

    def of(g, care):
        out = 1.0
        for value, lots in zip(values, chance, strict=True):
            one = 0.0
            for weight, ratio in lots:
                at = DRAWN * np.exp(g) * ratio
                wide = care * np.hypot(ERROR_M, diagnose_rest.OWN * at)
                one += weight * ((1 - diagnose_rest.SLIPS) * norm.pdf(value, at, wide) + slip)
            out *= one
        return out * norm.pdf(g, middle, sigma)

    ends = middle - 6 * sigma, middle + 6 * sigma
    return float(np.mean([
        quad(of, *ends, args=(care,), epsabs=0, epsrel=1e-6, limit=200)[0]
        for care in diagnose_rest.CARE
    ]))  # fmt: skip


def likelihood(rest: Rest, key: str, values) -> float:
    found = rest.weighed(np.array([values])).of(key, np.array([0]), np.array([0]))
    return float(found[0, 0])


LOW = [0.0051, 0.0048, 0.0006, 0.0050, 0.0053, 0.0049]  # the third stands still


def test_likelihood_as_drawn():
    # six hangers know g to some 0.06; in steps of a tenth the integral is known to a few hundredths
    expected = density(LOW, [[(1.0, 1.0)]] * HANGERS)
    assert likelihood(weighing(), "", LOW) == pytest.approx(np.log(expected), abs=0.05)
    assert likelihood(weighing(), "touching", LOW) == pytest.approx(np.log(expected), abs=0.05)


def test_likelihood_of_one_bridged_hanger():
    """Each hanger with 1/6 the bridged one; in LATER of the cases the screw came after."""
    later = diagnose_rest.LATER
    lots = [(1 / HANGERS, 0.1), (1 - 1 / HANGERS, 1.0)]
    shown = density(LOW, [lots] * HANGERS)
    drawn = density(LOW, [[(1.0, 1.0)]] * HANGERS)
    expected = np.log((1 - later) * shown + later * drawn)
    # a ratio between places of the grid is divided between them: 0.1 is e^-2.303
    assert likelihood(weighing(), "bridged", LOW) == pytest.approx(expected, abs=0.05)
    assert expected - np.log(drawn) > 2  # one reading of ten uncertainties, but it may be a slip


def test_likelihood_of_another_type():
    """Twice as stiff: all give half, known to STATIC and ANOTHER in quadrature."""
    half = [0.5 * value for value in (0.0051, 0.0048, 0.0052, 0.0050, 0.0053, 0.0049)]
    wide = np.hypot(diagnose_rest.STATIC, diagnose_rest.ANOTHER)
    expected = density(half, [[(1.0, 1.0)]] * HANGERS, -np.log(2), wide)
    assert likelihood(weighing(), "wrong hanger", half) == pytest.approx(np.log(expected), abs=0.05)


def test_likelihood_of_a_channel_is_a_mean_over_lines():
    first = [0.0005, 0.0006, 0.0050, 0.0052, 0.0049, 0.0050]
    later = diagnose_rest.LATER
    still, drawn = [(1.0, 0.1)], [(1.0, 1.0)]
    lines = [density(first, [still if n // 2 == line else drawn for n in range(HANGERS)])
             for line in range(3)]  # fmt: skip
    as_drawn = density(first, [drawn] * HANGERS)
    expected = np.log((1 - later) * np.mean(lines) + later * as_drawn)
    assert likelihood(weighing(), "mis-seated", first) == pytest.approx(expected, abs=0.05)
    # two still hangers of one line are a line, two of different lines are none
    apart = [0.0005, 0.0052, 0.0050, 0.0006, 0.0049, 0.0050]
    odds = [likelihood(weighing(), "mis-seated", each) - likelihood(weighing(), "bridged", each)
            for each in (first, apart)]  # fmt: skip
    assert odds[0] > 0 > odds[1]


def test_floors_weigh_by_what_their_hangers_would_give():
    """On a floor whose hangers are half as stiff, g is about ln 2: by hand as kernels stand."""
    floors = Floors(np.array([0.0, np.log(2)]), 0.1, 0.3)
    wide = 0.6
    rest = weighing(floors=floors, wide=wide)
    middle = 0.1 + np.sqrt(1 - wide**2) * (np.log(2) - 0.1)
    sigma = np.hypot(wide * 0.3, diagnose_rest.STATIC)
    double = [2 * value for value in (0.0051, 0.0048, 0.0052, 0.0050, 0.0053, 0.0049)]
    found = rest.weighed(np.array([double])).of("", np.array([0, 1]), np.array([0, 1]))[0]
    expected = density(double, [[(1.0, 1.0)]] * HANGERS, middle, sigma)
    assert found[1] == pytest.approx(np.log(expected), abs=0.05)
    assert found[1] > found[0] + 1


def test_a_gap_tells_nothing():
    gap = [*LOW[:2], np.nan, *LOW[3:]]
    without = weighing(read=(0, 1, 3, 4, 5))
    rest = [LOW[n] for n in (0, 1, 3, 4, 5)]
    assert likelihood(weighing(), "", gap) == pytest.approx(likelihood(without, "", rest))


def test_what_readings_show():
    """By hand: a reading off by 4.5 mm of 0.71 mm (0.5 and a tenth of 5 mm) is a square of 40, less
    what the common factor takes of it: ((4.5 5)/0.5)² / (1/0.15² + 6 25/0.5) = 5.9."""
    assert weighing().shows("bridged", 1).tolist() == [True]
    assert weighing(read=(0, 1, 3)).shows("bridged", 1).tolist() == [False]  # not where it is
    assert weighing().shows("touching", 2).tolist() == [False, False]
    variance = 0.5**2 + 0.5**2
    along = 4.5 * 5 / variance
    square = 4.5**2 / variance - along**2 / (1 / 0.15**2 + 6 * 25 / variance)
    assert diagnose_rest.STATIC == 0.15
    assert square == pytest.approx(34.6, abs=0.1)
    assert square > diagnose_rest.SHOWN


def test_readings_are_simulated_as_they_are_weighed():
    # 4000 sets: the mean of a ratio to 1 % or so
    rest = weighing()
    rng = np.random.default_rng(1)
    none = np.zeros(4000, int)
    drawn = rest.simulated(rng, "", none, none)
    assert np.median(drawn) == pytest.approx(DRAWN, rel=0.02)
    bridged = rest.simulated(rng, "bridged", none, none)
    low = 1 / 2 / diagnose_rest.SLIP  # of slips, that read anything to SLIP times what is drawn
    slips = diagnose_rest.SLIPS
    share = (1 - diagnose_rest.LATER) * (1 - slips) + slips * low
    assert np.mean(bridged[:, 2] < 0.5 * DRAWN) == pytest.approx(share, abs=0.02)
    # each is weighed highest, in the mean, by what it comes from (Gibbs' inequality)
    for key, values in (("", drawn), ("bridged", bridged)):
        weighed = rest.weighed(values[:1000])
        mean = {of: float(np.mean(weighed.of(of, none[:1], none[:1]))) for of in ("", "bridged")}
        assert max(mean, key=lambda of: mean[of]) == key


def test_odds_of_faults_are_multiplied():
    """Bayes: two faults of one signature are alike in a spectrum; readings multiply their odds by
    the ratio of their likelihoods."""
    slope = np.clip(np.arange(28) - 7.0, 0, 15)
    keys = ("bridged", "touching")
    known = Ensemble(HANGERS, {key: MEMBERS[key] for key in keys}, dict.fromkeys(keys, slope[None]))
    whole = settled()
    at = AtHangers(
        Settled(whole.drawn, whole.lines, {"bridged": whole.moved["bridged"]},
                {"bridged": whole.touched["bridged"]}, whole.stages),
        Readings(tuple(range(HANGERS)), np.array(LOW), ERROR_M),
    )  # fmt: skip
    residual = slope[[bands.index(band) for band in BANDS]]
    plain = {o.key: o for o in diagnose.weigh(known, BANDS, residual, error=ERROR).ranked}
    assert plain["bridged"].log_evidence == pytest.approx(plain["touching"].log_evidence)
    found = diagnose.weigh(known, BANDS, residual, error=ERROR, hangers=at)
    told = {one.key: one for one in found.ranked}
    gained = likelihood(weighing(), "bridged", LOW) - likelihood(weighing(), "", LOW)
    odds = told["bridged"].log_evidence - told["touching"].log_evidence
    assert odds == pytest.approx(gained, abs=1e-6)
    share = told["bridged"].probability / told["touching"].probability
    before = told["bridged"].prior / told["touching"].prior
    assert np.log(share) == pytest.approx(gained + np.log(before), abs=1e-6)
    assert found.fit == pytest.approx(1.0)  # of the spectrum alone


def test_readings_and_hangers_go_together():
    known = Ensemble(
        HANGERS, {"touching": MEMBERS["touching"]}, {"touching": np.full((1, 28), 9.0)}
    )
    scales = diagnose.Scales(known, BANDS, error=ERROR)
    with pytest.raises(ValueError, match="readings go with hangers"):
        scales.weigh_all(np.zeros((1, len(BANDS))), np.zeros((1, HANGERS)))

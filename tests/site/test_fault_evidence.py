"""What the trials of the search bring beside a spectrum: readings, what is kept, how both go in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import basement
from weighed import ERROR, by_hand

from impact.link.springs import fixing
from impact.site import diagnose, diagnose_rest
from impact.site.bench import Change
from impact.site.diagnose_errors import PredictionError
from impact.site.diagnose_rest import AtHangers, Readings
from impact.site.faults import Member
from impact.site.settled import Hung, Settled
from validation.fault_trials import kept, readings, trials
from validation.fault_trials.readings import Chance
from validation.fault_trials.trials import MEASURED, Site, Truth

SURE = Chance(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, (1.5, 1.5))  # nothing left to chance
STEP = 1e-6  # m


@pytest.fixture(scope="module")
def hung():
    return Hung(basement())


def read(hung, key="", change=None, chance=SURE, real=None, seed=1):
    case = None if change is None else Member(1, "a case", change)
    rng = np.random.default_rng(seed)
    return readings.read(basement(), real or basement(), hung, key, case, chance, rng, STEP)


def test_without_chance_readings_are_those_drawn(hung):
    assert read(hung) == pytest.approx(hung.drawn, abs=STEP)
    assert read(hung, "touching", Change(walls=("west",))) == pytest.approx(hung.drawn, abs=STEP)


def test_softer_hangers_give_as_much_more(hung):
    design = basement()
    assert design.hangers is not None
    soft = replace(design.hangers, dynamic_stiffness=design.hangers.dynamic_stiffness / 2)
    assert read(hung, real=replace(design, hangers=soft)) == pytest.approx(
        2 * hung.drawn, abs=2 * STEP
    )


def test_faults_move_hangers(hung):
    own = fixing(basement())
    count = len(hung.drawn)
    assert np.isnan(read(hung, "missing", Change(stiffness=((4, 0j),)))[4])
    over = read(hung, "overloaded", Change(stiffness=((4, 9 * own),)))
    assert over[4] == pytest.approx(1.5 * hung.drawn[4], abs=STEP)
    wrong = Change(stiffness=tuple((n, 2 * own) for n in range(count)))
    # by equilibrium: twice as stiff, the same weight
    assert np.sum(2 * read(hung, "wrong hanger", wrong)) == pytest.approx(
        np.sum(hung.drawn), rel=0.01
    )
    late = replace(SURE, later=1.0)
    bridged = Change(stiffness=((4, 40 * own),))
    assert read(hung, "bridged", bridged)[4] < 0.7 * hung.drawn[4]
    assert read(hung, "bridged", bridged, late) == pytest.approx(hung.drawn, abs=STEP)


def test_what_is_solved_is_kept(tmp_path):
    path, solved = tmp_path / "a.toml", []

    def solve():
        solved.append(1)
        return len(solved)

    path.write_text("one", encoding="utf-8")
    assert [kept._once(tmp_path / "kept", path, "what", solve) for _ in range(2)] == [1, 1]
    assert kept._once(tmp_path / "kept", path, "else", solve) == 2
    path.write_text("another", encoding="utf-8")  # a changed design is solved anew
    assert kept._once(tmp_path / "kept", path, "what", solve) == 3
    assert kept._once(None, path, "what", solve) == 4


def test_readings_find_what_a_spectrum_cannot_tell():
    """Two faults of one signature, one of which no ruler sees: readings that stand still find the
    one, readings as drawn the other; the spectrum alone tosses a coin between them."""
    known = by_hand()
    shift = known.shifts["bridged"][:1]
    keys = ("bridged", "touching")
    cases = dict.fromkeys(keys, known.members["bridged"][:1])
    ensemble = replace(known, members=cases, shifts=dict.fromkeys(keys, shift))
    still = np.ones((1, 6))
    still[0, 2] = 0.05
    drawn = np.full(6, 0.01)
    at = AtHangers(
        Settled(drawn, np.zeros(6, int), {"bridged": still}, {"bridged": still < 1}, np.zeros(1)),
        Readings(tuple(range(6)), np.zeros(6)),
    )  # fmt: skip
    scales = diagnose.Scales(ensemble, MEASURED, error=ERROR, hangers=at)
    site = Site(
        MEASURED, lambda rng: np.zeros(len(MEASURED)),
        lambda key, case: drawn * (still[0] if key == "bridged" else 1.0),
    )  # fmt: skip
    truth = Truth(dict.fromkeys(keys, shift), members=cases)
    found = trials.run(scales, truth, 40, 1, site=site)
    for key in keys:
        assert found[key].trials == 40
        assert found[key].first >= 38
    plain = diagnose.Scales(ensemble, MEASURED, error=ERROR)
    alone = trials.run(plain, truth, 40, 1, PredictionError(np.full(28, 1.0)))
    assert alone["bridged"].first + alone["touching"].first == 40  # one order for all


def test_late_faults_are_those_of_the_search():
    assert readings.ASSUMED.later == diagnose_rest.LATER
    assert readings.ASSUMED.own == diagnose_rest.OWN

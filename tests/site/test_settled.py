"""Deflections of hangers where something is built otherwise: against the load check and by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from designs import basement

from impact import gravity
from impact.design.parts import Design
from impact.site import faults, settled
from impact.site.bench import Change
from impact.site.faults import Member


@pytest.fixture(scope="module")
def hung():
    return settled.Hung(basement())


def deflections(design: Design) -> np.ndarray:
    return np.array([one.by_boards for one in gravity.loads(design, coupled=False).hangers])


def test_as_drawn_it_is_the_load_check(hung):
    assert hung.drawn == pytest.approx(deflections(basement()), rel=1e-9)
    assert hung.moved(np.ones((1, len(hung.drawn)))) == pytest.approx(1.0, abs=1e-9)


def test_hangers_of_another_type_are_those_of_another_design(hung):
    design = basement()
    assert design.hangers is not None
    other = replace(design.hangers, static_stiffness=3 * design.hangers.static_stiffness)
    moved = hung.moved(np.full((1, len(hung.drawn)), 3.0))[0]
    expected = deflections(replace(design, hangers=other))
    assert moved * hung.drawn == pytest.approx(expected, rel=1e-9)
    # equilibrium: stiffnesses times deflections carry the same weight, whatever they are
    assert np.sum(3 * moved * hung.drawn) == pytest.approx(np.sum(hung.drawn), rel=1e-9)


def test_a_lost_hanger_is_the_load_checks(hung):
    """The most that another carries, by the load check's own way; forces go as deflections. All of
    the load there, the part under the boards here: alike where all weight is spread alike, so of
    the greatest the place, and the share to 15 %."""
    checked = gravity.loads(basement(), coupled=False)
    at = len(hung.drawn) // 2
    stiffer = np.ones((1, len(hung.drawn)))
    stiffer[0, at] = 0.0
    moved = hung.moved(stiffer)[0]
    assert np.isnan(moved[at])
    force = moved * hung.drawn
    most = int(np.nanargmax(force))
    one = checked.hangers[at]
    assert most == one.lost_at
    more = one.lost_load / checked.hangers[most].load
    assert moved[most] == pytest.approx(more, rel=0.15)
    assert np.nansum(force) == pytest.approx(np.sum(hung.drawn), rel=1e-3)  # LOST holds a millionth


def test_a_bridged_hanger_stands_still_and_its_neighbours_give_less(hung):
    """k/K of the drawn share at most, K the screw beside; 12 to 60 times as stiff here."""
    stiffer = np.ones((1, len(hung.drawn)))
    stiffer[0, 5] = 40.0
    moved = hung.moved(stiffer)[0]
    assert moved[5] < 0.15
    assert np.delete(moved, 5).min() < 0.99


def test_what_carries_too_much_moves_too_much():
    # by hand: two of four, evenly in the logarithm between the ends: at 1/4 and 3/4 of the way
    low, high = settled.OVERLOADED
    stiffer = np.array([[1.0, 8.0, 1.0, 5.0]])
    moved = settled.by_load("overloaded", stiffer)
    ratio = high / low
    assert moved[0] == pytest.approx([1.0, low * ratio**0.25, 1.0, low * ratio**0.75])
    soft = np.array([[1.0, 0.5]])
    assert settled.by_load("underloaded", soft) == pytest.approx(soft)


def test_cases_say_where_they_are():
    hung = SimpleNamespace(
        drawn=np.ones(3), lines=np.zeros(3, int), stages=np.zeros(1),
        moved=lambda stiffer: np.where(stiffer > 0, 1 / np.maximum(stiffer, 1e-9), np.nan),
    )  # fmt: skip
    own = 1e5 * (1 + 0.1j)
    cases = {
        "bridged": [Member(1, "", Change(stiffness=((1, 4 * own),)))],
        "missing": [Member(1, "", Change(stiffness=((2, 0j),)))],
        "touching": [Member(1, "", Change(walls=("west",)))],
    }
    found = settled.settled(hung, cases, {key: [own] for key in cases})
    assert set(found.moved) == {"bridged", "missing"}
    assert found.moved["bridged"][0] == pytest.approx([1, 0.25, 1])
    assert found.touched["bridged"].tolist() == [[False, True, False]]
    assert np.isnan(found.moved["missing"][0, 2])
    assert set(settled.SHOWN_AT_REST) <= set(faults.FAULTS)


def test_ceilings_on_nothing_that_yields_are_refused():
    with pytest.raises(ValueError, match="no hangers"):
        settled.Hung(replace(basement(), hangers=None))

"""As-built states: the quick way against the whole system solved anew, and laws that must hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import basement, hangers, joists, l_shaped

from impact.base import bands
from impact.design.axes import shown_wall
from impact.design.lines import own_joist_lines
from impact.design.parts import IndependentJoists, Patch
from impact.energy import paths as energy
from impact.link import inner_waves, springs
from impact.motion import halves, lowband, striking, whole
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.motion.stack import Stack
from impact.site import bench as benches
from impact.site import faults, opened, shifts
from impact.site.bench import Change

LOADED, UNLOADED = 5, 12  # 31.5 Hz, where sound loads the boards; 160 Hz, where it does not


@pytest.fixture(scope="module")
def at():
    return faults.bench(basement(), places=2)


def states(at):
    """One state of every kind, several changes at once included."""
    screw = faults.screwed(at)
    return [
        Change(),
        Change(stiffness=((3, screw),)),
        Change(stiffness=((0, screw), (7, screw), (9, 0j))),
        Change(stiffness=tuple((n, at.own * 3) for n in range(at.hangers))),
        Change(stiffness=((2, 0j), (4, at.own * 0.5))),
        Change(walls=("west", "north")),
        Change(fixtures=(1,)),
        Change(stiffness=((1, screw),), walls=("east",), fixtures=(0,)),
        Change(air="unfilled"),
        Change(air="packed", stiffness=((5, screw),)),
        Change(air="lifted"),
    ]


@pytest.mark.parametrize("place", [LOADED, UNLOADED])
def test_bordered_system_is_the_whole_system_solved_anew(at, place):
    # same equations solved in another order: only rounding may differ, far below 1e-9
    edges, omega = bands.edges(bands.CENTRES[place]), 2 * np.pi * bands.CENTRES[place]
    area, changes = permitted(at.design), states(at)
    quick = benches.powers(at, changes, bands.CENTRES[place])(omega)
    for number, change in enumerate(changes):
        anew = stacks.reduce(benches.built(at, change), *edges)
        struck = striking.over_area(anew, *area)
        full = stacks.answer(anew, stacks.line(anew, omega, struck)).power.sum()
        assert quick[number] == pytest.approx(full, rel=1e-9), change


def test_a_floor_without_mirrors_is_solved_whole():
    # a plain room comes in four shares, one off the middle of its floor in one; the same equations
    area, centre = permitted(basement()), bands.CENTRES[LOADED]
    assert len(opened.band(faults.bench(basement(), 1).stack, area, centre).shares) == 4
    at, omega = faults.bench(l_shaped(), places=1), 2 * np.pi * centre
    area = permitted(at.design)
    assert len(opened.band(at.stack, area, centre).shares) == 1
    change = Change(stiffness=((3, faults.screwed(at)), (5, 0j)), walls=("east",), fixtures=(0,))
    quick = benches.powers(at, [change], centre)(omega)[0]
    anew = stacks.reduce(benches.built(at, change), *bands.edges(centre))
    full = stacks.answer(anew, stacks.line(anew, omega, striking.over_area(anew, *area)))
    assert quick == pytest.approx(full.power.sum(), rel=1e-9)


def test_no_fault_is_the_design_itself(at):
    # against the solver of predictions, which knows nothing of faults, at the same frequencies
    place = LOADED
    drawn = assemble(at.design, at.assembly.highest)
    plain = lowband.transfers(drawn, drawn.whole, [bands.CENTRES[place]], benches.LINES)
    quick = benches.modal_power(at, [Change(), Change(stiffness=())], [place])
    assert quick[:, 0] == pytest.approx(plain.power["design"][0], rel=1e-9)


def test_sharp_resonances_take_lines_enough(monkeypatch):
    # sixteen times as many lines must change nothing; as many as for usual losses miss 1 to 2 dB
    base = basement()
    joists = replace(base.floor.joists, loss_factor=0.008)
    sharp = replace(
        base, floor=replace(base.floor, loss_factor=0.008, joists=joists),
        ceiling=replace(base.ceiling, loss_factor=0.008),
    )  # fmt: skip
    at, places = faults.bench(sharp, places=1), [4, 11]
    found = benches.modal_power(at, [Change()], places)[0]
    usual = benches.LINES
    monkeypatch.setattr(benches, "LINES", tuple(16 * count for count in usual))
    monkeypatch.setattr(lowband, "enough", lambda stack, centre, lines: lines)
    dense = benches.modal_power(at, [Change()], places)[0]
    monkeypatch.setattr(benches, "LINES", usual)
    few = benches.modal_power(at, [Change()], places)[0]
    assert 10 * np.log10(found / dense) == pytest.approx(0, abs=0.3)
    assert np.all(np.abs(10 * np.log10(few / dense)) > 1)


def test_frequencies_interlace_with_each_bridge(at):
    # one more spring on an undamped system moves each eigenvalue up, not beyond the next one
    # (Cauchy; Golub and Van Loan, Matrix Computations, 4th ed., 2013, theorem 8.1.8)
    rng = np.random.default_rng(3)
    before = eigenvalues(at, ())
    bridged: list[int] = []
    for number in rng.permutation(at.hangers)[:4]:
        bridged.append(int(number))
        after = eigenvalues(at, tuple(bridged))
        small = 1e-9 * after[-1]
        assert np.all(after >= before - small)
        assert np.all(after[:-1] <= before[1:] + small)
        assert after.sum() > before.sum()  # the screw does hold something
        before = after


def eigenvalues(at, bridged: tuple[int, ...]) -> np.ndarray:
    """Squared angular frequencies of the ceiling with screws, air taken as a spring alone."""
    pair = (len(at.stack.leaves) - 2, len(at.stack.leaves) - 1)
    hangers = next(joint for joint in at.stack.joints if joint.name == "hangers")
    joints = [joint for joint in at.assembly.whole.joints if joint.name != "air"]
    if bridged:
        rows = list(bridged)
        joints.append(springs.points(
            "screws", pair, (hangers.shapes[pair[0]][rows], -hangers.shapes[pair[1]][rows]),
            np.full(len(rows), faults.SCREW), 0.0,
        ))  # fmt: skip
    bare = Stack(at.stack.leaves, tuple(joints), at.stack.walked, at.stack.radiating)
    return np.linalg.eigvalsh(whole.build(halves.of(bare), 2 * np.pi * 30, 250.0).stiffness)


def test_a_bridge_can_lower_a_band(at):
    # no law makes levels rise with each bridge: a resonance that moves away lowers its band
    one = [Change(stiffness=((n, faults.screwed(at)),)) for n in range(at.hangers)]
    power = benches.modal_power(at, [Change(), *one], range(3, 9))
    assert np.any(power[1:] < power[0])
    assert np.any(power[1:] > power[0])


def test_high_bands_mix_points_as_the_energy_balance_adds_them(at):
    # all hangers bridged must be the ceiling drawn with such hangers
    stiff = faults.screwed(at)
    every = Change(stiffness=tuple((n, stiff) for n in range(at.hangers)))
    hung = as_stiff(at, abs(stiff) / abs(at.own))
    mixed = shifts.energy_power(at, [every], exact=False)[0]
    assert mixed == pytest.approx(energy.transfer(hung, shifts.CENTRES).power_per_force, rel=1e-9)


def as_stiff(at, ratio):
    """The design with hangers so many times as stiff, of the same mass."""
    hangers = at.design.hangers
    other = inner_waves.stiffer(hangers, ratio * hangers.dynamic_stiffness)
    return replace(at.design, hangers=other)


def legs(design):
    """The design on channels whose legs resonate at 1.7 kHz, as the catalogue has single ones."""
    return replace(design, hangers=replace(hangers("resilient channel"), own_resonance=1730.0))


@pytest.mark.parametrize("design", [basement(), legs(basement())])
def test_hangers_of_any_stiffness_are_those_a_design_would_have(design):
    # asked for together, so that most lie between those solved. Powers read off straight lines,
    # less what they gave as drawn, were 7 dB off about the legs' resonance, 30 dB on another design
    ratios = (0.2, 0.3, 0.5, 0.7, 1.0, 2.0, 3.3, 5.2, 9.0, 14.0, 30.0)
    at = faults.bench(design)
    states = [Change(stiffness=tuple((n, ratio * at.own) for n in range(at.hangers)))
              for ratio in ratios]  # fmt: skip
    found = shifts.energy_power(at, states)[:, 12:]
    predicted = [
        energy.transfer(as_stiff(at, ratio), shifts.CENTRES, exact=True).power_per_force[12:]
        for ratio in ratios
    ]
    off = 10 * np.log10(found / predicted)
    assert np.sqrt(np.mean(off**2)) < 0.5
    assert np.max(np.abs(off)) < 3
    assert off[4] == pytest.approx(0, abs=1e-9)  # as drawn
    assert off[-1] == pytest.approx(0, abs=1e-6)  # the stiffest, a bridging screw, is solved


def test_stiffnesses_solved_are_few_and_hold_the_ends():
    assert shifts._nodes([31.0, 30.0, 12.0, 6.0, 2.0, 1.0]) == [1.0, 6.0, 31.0]
    assert shifts._nodes([0.0, 0.4]) == [0.1, 1.0]  # gone: as the softest
    assert shifts._nodes([0.5]) == [0.5, 1.0]
    assert shifts._nodes([1.0]) == [1.0]


def test_touching_all_round_is_the_design_that_says_so(at):
    direct = energy.transfer(shifts.touching(at.design, ()), shifts.CENTRES).power_per_force
    mixed = shifts.energy_power(at, [Change(walls=benches.WALLS)], exact=False)[0]
    assert mixed == pytest.approx(direct, rel=1e-9)
    west, east = (
        shifts.energy_power(at, [Change(walls=(w,))], exact=False)[0] for w in ("west", "east")
    )
    assert west == pytest.approx(east, rel=1e-12)  # equal walls


def test_what_a_fault_moves_is_told_as_a_prediction_tells_it(at):
    # a prediction solves the bays of a joist floor and averages slabs; so must what faults cost,
    # or an edge is told 7 dB too loud. From 160 Hz up, where the energy balance counts.
    def predicted(design):
        return energy.transfer(design, shifts.CENTRES, exact=True).power_per_force[12:]

    unfilled = replace(at.design, cavity=replace(at.design.cavity, fill=None))
    stiff = Change(stiffness=tuple((n, 3 * at.own) for n in range(at.hangers)))
    changes = [Change(), Change(walls=benches.WALLS), Change(air="unfilled"), stiff]
    drawn, *found = shifts.energy_power(at, changes)[:, 12:]
    as_drawn = predicted(at.design)
    assert drawn == pytest.approx(as_drawn, rel=1e-9)
    for quick, design, within in zip(
        found, (shifts.touching(at.design, ()), unfilled, as_stiff(at, 3.0)), (1e-4, 1e-4, 1e-4),
        strict=True,
    ):  # fmt: skip
        assert 10 * np.log10(quick / predicted(design)) == pytest.approx(0, abs=within)
    averages = shifts.energy_power(at, changes[:2], exact=False)[:, 12:]
    moved = 10 * np.log10(averages[1] / averages[0] / (found[0] / drawn))
    assert np.max(moved) > 2  # what averages told instead


def test_the_search_tells_faults_as_a_prediction_does(at):
    # what `diagnose` weighs, above the bands solved by modes; averages stood there once
    states = [Change(walls=benches.WALLS), Change(air="unfilled")]
    unfilled = replace(at.design, cavity=replace(at.design.cavity, fill=None))
    drawn, *built = (
        energy.transfer(one, shifts.CENTRES, exact=True).power_per_force
        for one in (at.design, shifts.touching(at.design, ()), unfilled)
    )
    level, moved = shifts.level_changes(at, states, wanted=[])
    assert level[15:] == pytest.approx(10 * np.log10(drawn)[15:], abs=1e-6)
    assert moved[:, 15:] == pytest.approx(10 * np.log10(built / drawn)[:, 15:], abs=1e-3)


def test_walls_add_their_own_power(at, monkeypatch):
    # powers add; the ceiling's own is put in by hand
    monkeypatch.setattr(shifts, "joined_power", lambda bench, keys, _: np.ones((len(keys), 28)))
    power = shifts.total_power(at, [Change(), Change(flanking_db=0.0), Change(flanking_db=-10.0)])
    more = power[1] - power[0]
    assert power[0] == pytest.approx(1.0)
    assert power[2] - power[0] == pytest.approx(0.1 * more, rel=1e-6)
    assert np.all(more > 0)


def test_every_fault_has_cases_words_and_a_test(at):
    rng = np.random.default_rng(0)
    for key, fault in faults.FAULTS.items():
        cases = faults.members(at, key, rng, 2)
        assert cases or key == "contact", key  # of joists that a hung ceiling has not
        assert all(case.words and case.change != Change() for case in cases)
        assert fault.test
        assert 1 <= fault.effort <= 4


def test_faults_of_channels_speak_of_no_hangers():
    """The rule of `design.fixings`: no hanger is spoken of where there is none."""
    design = replace(basement(), hangers=hangers("resilient channel"))
    known, rng = faults.bench(design, places=1), np.random.default_rng(0)
    said = [one.words for key in faults.FAULTS for one in faults.members(known, key, rng, 1)]
    for key in faults.FAULTS:
        fault = faults.worded(key, design.hangers)
        said += [fault.name, fault.test, fault.remedy]
    assert not [text for text in said if "hanger" in text.lower()]
    assert not faults.members(known, "mis-seated", rng, 1)  # in clips, of which there are none
    bridged = faults.worded("bridged", design.hangers).name
    assert bridged == "channel fixings bridged by screw or strap"


def test_what_a_design_cannot_have(at):
    rng = np.random.default_rng(0)
    nailed = replace(at.design, hangers=replace(at.design.hangers, kind="direct"))
    empty = replace(at.design, cavity=replace(at.design.cavity, fill=None))
    for design, keys in (
        (
            nailed,
            (
                "bridged",
                "missing",
                "overloaded",
                "underloaded",
                "mis-seated",
                "wrong hanger",
                "contact",
            ),
        ),
        (empty, ("fill missing", "fill packed", "contact")),
    ):
        known = faults.bench(design, places=1)
        assert [key for key in faults.FAULTS if not faults.members(known, key, rng, 1)] == [*keys]


@pytest.fixture(scope="module")
def own():
    """A ceiling on joists of its own, 38 x 140 mm at 400 mm, EI = 10 GPa b h3/12."""
    base = basement()
    beam = joists(0.038, 0.14, 0.4)
    return faults.bench(replace(base, hangers=None, independent=IndependentJoists(beam)), places=2)


def test_own_joists_meet_the_floor_where_they_are(own):
    lines = own_joist_lines(own.design)
    places = own.fixtures[-own.contacts :]
    assert own.contacts == 4
    assert {y for _, y in places} <= set(lines)
    assert len({y for _, y in places}) == 4
    assert all(0 < x < own.design.room.length for x, _ in places)
    rng = np.random.default_rng(0)
    cases = faults.members(own, "contact", rng, 1)
    assert [case.size for case in cases] == [1, 1, 1, 1, 4]
    fixtures = {place for case in faults.members(own, "fixture", rng, 1)
                for place in case.change.fixtures}  # fmt: skip
    assert fixtures == {0, 1}  # a lamp is screwed to boards


def test_a_contact_of_joists_is_the_whole_system_solved_anew(own):
    centre, area = bands.CENTRES[UNLOADED], permitted(own.design)
    omega, change = 2 * np.pi * centre, Change(fixtures=(2, 5))
    quick = benches.powers(own, [change], centre)(omega)[0]
    anew = stacks.reduce(benches.built(own, change), *bands.edges(centre))
    full = stacks.answer(anew, stacks.line(anew, omega, striking.over_area(anew, *area)))
    assert quick == pytest.approx(full.power.sum(), rel=1e-9)


def test_contacts_by_energy_add_and_lie_by_the_modes(own):
    """Uncorrelated points: four add four times one. Modes and energy know nothing of each other;
    over 160 to 250 Hz with four contacts they lie 3 to 4 dB apart, energy above: 5 dB."""
    states = [Change(), Change(fixtures=(2,)), Change(fixtures=(2, 3, 4, 5))]
    drawn, one, four = shifts.energy_power(own, states)
    assert four - drawn == pytest.approx(4 * (one - drawn), rel=1e-9)
    assert np.all(one >= drawn)
    assert np.all(one[12:17] > 1.5 * drawn[12:17])  # from 160 to 400 Hz it is heard
    modes = benches.modal_power(own, states[2:], range(12, 15))[0]
    assert 10 * np.log10(np.mean(four[12:15] / modes)) == pytest.approx(0, abs=5)


def test_fixtures_of_the_design_come_first():
    lamp = Patch("lamp", 1.0, 2.0, 0.4, 0.2, mass=2.0)
    design = basement()
    with_lamp = replace(design, room=replace(design.room, fixtures=(lamp,)))
    places = faults.fixture_places(with_lamp, 3)
    assert places[0] == pytest.approx((1.2, 2.1))
    assert len(places) == 4
    room = design.room
    assert all(0 < x < room.length and 0 < y < room.width for x, y in places)


def test_walls_are_named_as_the_file_means_them(at):
    assert shown_wall(at.design, "west") == "west"
    joists = replace(at.design.floor.joists, along="width")
    turned = replace(at.design, floor=replace(at.design.floor, joists=joists))
    assert shown_wall(turned, "west") == "south"
    assert shown_wall(turned, "north") == "east"


@pytest.mark.parametrize(("system", "words"), [("imperial", "1 3/16 in"), ("metric", "30 mm")])
def test_a_length_of_a_fault_is_told_in_the_units_of_the_design(system, words):
    # 30 mm is 1.181 in, nearest sixteenth 1 3/16 in = 1.1875 in
    at = faults.bench(replace(basement(), units=system), places=0)
    one = faults.members(at, "level", np.random.default_rng(0), 1)[0]
    assert words in one.words

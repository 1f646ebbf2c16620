"""Laws that hold for any stack, and one-dimensional resonances by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from designs import basement

from impact.base import air, bands
from impact.leaf.plate import Plate, modes
from impact.link import springs
from impact.link.joint import Joint
from impact.motion import sizes, striking, whole
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.motion.stack import Stack


@pytest.fixture(scope="module")
def built():
    return assemble(basement(), 130.0)


def free_plate(name: str, mass: float, side: float = 3.0, bending: float = 2000.0) -> Plate:
    return Plate(name, side, side, mass, bending, bending, 0.3 * bending, 0.35 * bending, 0.05,
                 "free")  # fmt: skip


def sandwich(masses: list[float], airs: list[float]) -> Stack:
    """Free plates with only a uniform air spring between them [N/m3]."""
    leaves = tuple(modes(free_plate(f"leaf {i}", m), 400.0) for i, m in enumerate(masses))
    joints: list[Joint] = []
    for i, spring in enumerate(airs):
        ones = [
            leaf.project(leaf.x.cosines(1, 0.0, 3.0), leaf.y.cosines(1, 0.0, 3.0))[0]
            for leaf in leaves[i : i + 2]
        ]
        joints.append(
            springs.area(f"air {i}", (i, i + 1), (ones[0], ones[1]), spring, 0.0, np.zeros(1))
        )
    return Stack(leaves, tuple(joints), 0, len(leaves) - 1)


def heaves(stack: Stack) -> list[float]:
    found = whole.coupled_modes(stack, 120.0)
    return [m.frequency for m in found if m.heave > 0.05 and m.frequency > 1]


def test_new_ceiling_under_a_floor_by_hand():
    # 40 and 21.5 kg/m2 on 276 mm of isothermal air: (1/2pi) sqrt(101.3k/0.276 (1/40+1/21.5))
    hand = np.sqrt(101325 / 0.276 * (1 / 40 + 1 / 21.5)) / (2 * np.pi)
    assert hand == pytest.approx(25.7, abs=0.1)
    assert heaves(sandwich([40.0, 21.5], [101325 / 0.276])) == pytest.approx([hand], rel=1e-6)


def test_old_ceiling_left_against_taken_down():
    # the floor carries 10.7 kg/m2 of old board; 41 mm empty gap: 76 Hz against 26 Hz
    left = heaves(sandwich([50.7, 21.5], [1.4 * 101325 / 0.041]))
    assert left == pytest.approx([76.0], abs=0.6)


def test_power_in_is_power_out(built):
    for stack in (built.whole, built.bare):
        for centre in (bands.CENTRES[4], bands.CENTRES[8]):
            reduced = stacks.reduce(stack, *bands.edges(centre))
            struck = striking.over_area(reduced, *permitted(built.design))
            at = stacks.line(reduced, 2 * np.pi * centre, struck)
            found = stacks.answer(reduced, at)
            lost = stacks.dissipated(reduced, at, found)
            assert found.power + lost == pytest.approx(found.mobility.real, rel=1e-9)


def test_reciprocity(built):
    reduced = stacks.reduce(built.whole, *bands.edges(bands.CENTRES[7]))
    here, there = np.array([[1.1, 0.9]]), np.array([[2.7, 2.2]])
    both = striking.at_points(reduced, np.vstack([here, there]))
    omega = 2 * np.pi * 50.0
    found = stacks.answer(reduced, stacks.line(reduced, omega, both))
    transfer = both.T @ found.of(0)
    assert transfer[0, 1] == pytest.approx(transfer[1, 0], rel=1e-9)


def test_added_spring_interlaces(built):
    leaves = built.whole.leaves
    at = np.array([[1.234, 1.0]])
    extra = springs.points(
        "screw", (0, 1), (leaves[0].shapes(at), leaves[1].shapes(at)), np.array([5e5]), 0.0
    )
    stiffer = Stack(leaves, (*built.whole.joints, extra), 0, 1)
    before, after = (
        np.array([m.frequency for m in whole.coupled_modes(s, 90.0)])
        for s in (built.whole, stiffer)
    )
    count = min(len(before), len(after)) - 1
    assert np.all(after[:count] >= before[:count] - 1e-6)
    assert np.all(after[:count] <= before[1 : count + 1] + 1e-6)


def test_design_and_best_case_from_one_factorization(built):
    reduced = stacks.reduce(built.whole, *bands.edges(bands.CENTRES[6]))
    struck = striking.over_area(reduced, *permitted(built.design))
    at = stacks.line(reduced, 2 * np.pi * 40.0, struck)
    names = np.array([j.name for j in built.whole.joints])[reduced.joint_of]
    stays = names != "hangers"
    design, best = stacks.answer_both(reduced, at, stays)
    assert design.power == pytest.approx(stacks.answer(reduced, at).power, rel=1e-8)
    assert best.power == pytest.approx(stacks.answer(reduced, at, rows=stays).power, rel=1e-8)
    assert not np.allclose(design.power, best.power, rtol=0.01)


def band_power(stack, design, centre, lines=10, size=sizes.USUAL):
    from impact.motion.lowband import frequencies

    reduced = stacks.reduce(stack, *bands.edges(centre), size)
    struck = striking.over_area(reduced, *permitted(design))
    total = 0.0
    for f, weight in zip(*frequencies(centre, lines), strict=True):
        total += (
            weight * stacks.answer(reduced, stacks.line(reduced, 2 * np.pi * f, struck)).power.sum()
        )
    return 10 * np.log10(total)


@pytest.mark.parametrize("band", [2, 6, 9])
def test_doubling_moves_no_band(built, band):
    centre = bands.CENTRES[band]
    own = band_power(built.whole, built.design, centre)
    usual = sizes.USUAL
    for more in (
        {"lines": 20},
        {"size": replace(usual, dynamic=2 * usual.dynamic)},
        {"size": replace(usual, short=2 * usual.short)},
    ):
        assert band_power(built.whole, built.design, centre, **more) == pytest.approx(own, abs=0.2)


def test_a_square_room_works():
    # repeated roots: the two diagonals of a square must not upset anything
    design = basement()
    design = replace(
        design, room=replace(design.room, width=4.2), floor=replace(design.floor, width=4.2)
    )
    almost = replace(
        design, room=replace(design.room, width=4.2001), floor=replace(design.floor, width=4.2001)
    )
    levels = [band_power(assemble(d, 60.0).whole, d, bands.CENTRES[5]) for d in (design, almost)]
    assert levels[0] == pytest.approx(levels[1], abs=0.05)


def test_hangers_to_infinity_tie_the_points(built):
    reduced = stacks.reduce(built.whole, *bands.edges(bands.CENTRES[6]))
    struck = striking.over_area(reduced, *permitted(built.design))
    at = stacks.line(reduced, 2 * np.pi * 40.0, struck)
    names = np.array([j.name for j in built.whole.joints])[reduced.joint_of]
    own = stacks.compliances(reduced, at.omega)
    stiff, tied = own.copy(), own.copy()
    stiff[names == "hangers"] = 1e-13
    tied[names == "hangers"] = 0.0
    powers = [stacks.answer(reduced, at, compliance=c).power.sum() for c in (stiff, tied)]
    assert powers[0] == pytest.approx(powers[1], rel=1e-4)


def test_piston_radiates_as_the_closed_form_says():
    # k L small: W = rho c k² S² v²/(2 pi), v rms (baffled source; Fahy & Gardonio 2007 ch. 3)
    from impact.sound import radiation

    leaf = modes(free_plate("piston", 10.0, side=0.5), 50.0)
    omega = 2 * np.pi * 5.0
    pattern = radiation.pattern(leaf, omega, slice(None))
    one = leaf.project(leaf.x.cosines(1, 0.0, 0.5), leaf.y.cosines(1, 0.0, 0.5))[0, 0]
    velocity = one * 10.0 * 0.5  # modal velocities of a uniform 1 m/s: mass x projection x sqrt(S)
    power = pattern.weight @ np.abs(pattern.rows @ velocity) ** 2
    k = omega / air.SPEED
    hand = air.IMPEDANCE * k**2 * 0.25**2 / (2 * np.pi)
    assert power == pytest.approx(hand, rel=2e-3)


def test_radiation_of_single_modes_is_that_of_the_pattern():
    """Every mode by itself: the diagonal of the resistance matrix, however its ways are turned."""
    from impact.sound import radiation

    leaf = modes(free_plate("plate", 10.0, side=2.0), 200.0)
    omega, some = 2 * np.pi * np.array([90.0, 100.0]), np.array([0, 2, 3, 7])
    for keep in (np.arange(12), some):
        alone = radiation.resistances(leaf, omega, keep)
        for fewest in (True, False):
            rows = radiation.pattern(leaf, omega, keep, fewest=fewest).rows
            np.testing.assert_allclose(alone, np.sum(rows**2, axis=-2), atol=1e-9 * alone.max())
    one = radiation.resistances(leaf, omega[1], some)
    assert one.shape == (4,)
    np.testing.assert_allclose(one, radiation.resistances(leaf, omega[1:], some)[0], rtol=1e-12)


def test_a_room_above_takes_what_the_upper_face_gives():
    """eta = rho c sigma/(omega m'') for each face (ISO 12354-1:2017, eq. C.1 has both), sigma =
    1/sqrt(1 - (k_b/k)²) of a wave far faster than sound: 2 % at 1 kHz, k L = 73. A room of 4 m has
    no mode below c/2L = 43 Hz and takes nothing; nor does any where none is."""
    slab = Plate("slab", 4.0, 4.0, 500.0, 2e7, 2e7, 4e6, 8e6, 0.05, "supported")
    leaf = modes(slab, 60.0)
    stack = Stack((leaf,), (), 0, 0)
    omega, slow = 2 * np.pi * 1000.0, 2 * np.pi * 40.0
    reduced = stacks.reduce(stack, 30.0, 40.0)
    (found,) = stacks.inverses(reduced, omega)
    taken = (1 / found - leaf.squares[reduced.keep[0]] + omega**2).imag / omega
    ratio = np.sqrt(2) * np.pi / 4.0 / (omega / air.SPEED)  # of the first mode's wavenumber
    assert taken[0] == pytest.approx(air.IMPEDANCE / 500.0 / np.sqrt(1 - ratio**2), rel=0.02)
    for still, at in ((reduced, slow), (replace(reduced, room_above=False), omega)):
        (found,) = stacks.inverses(still, at)
        assert 1 / found == pytest.approx(leaf.squares[reduced.keep[0]] - at**2, rel=1e-12)

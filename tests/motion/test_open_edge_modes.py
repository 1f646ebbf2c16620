"""A ceiling whose edge is open, in modes: by hand, by laws, beside finite elements, at limits."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import designs
import numpy as np
import pytest

from impact.base import air, bands
from impact.leaf import plate as plates
from impact.leaf import vented
from impact.leaf.vented import Vented
from impact.link import cavity, slot
from impact.link.cavity import Gap
from impact.link.gaps import lowest_gap
from impact.link.joint import Joint
from impact.motion import lowband, mirror, striking
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.motion.stack import Stack
from impact.site import bench as benches
from impact.spread import elimination
from validation.finite_elements import compare, model, reference
from validation.finite_elements.radiation import Radiator, gauss_cells


def edged(gap: float, walls: tuple[str, ...] = (), fill: bool = True, **hangers):
    """The basement with an open edge, touching at `walls`."""
    base = designs.basement()
    kind = "touching" if walls else "free"
    edge = replace(base.ceiling.perimeter, kind=kind, gap=gap, touching_walls=walls)
    hung = replace(base.hangers, **hangers)
    inside = replace(base.cavity, fill=base.cavity.fill if fill else None)
    return replace(base, ceiling=replace(base.ceiling, perimeter=edge), hangers=hung, cavity=inside)


def stiff(mass: float) -> plates.Leaf:
    """A free plate that only heaves and rocks in the bands looked at."""
    return plates.modes(
        plates.Plate("stiff", 3.0, 2.0, mass, 1e7, 1e7, 3e6, 3.5e6, 0.0, "free"), 90.0
    )


def test_two_masses_on_air_that_leaves_by_its_gap_by_hand():
    """Even motion of two rigid plates, 40 over 20 kg/m2, 0.1 m apart, 3 m x 2 m, a gap of 10 mm in
    boards of 25 mm along the two walls of 3 m: with s = K/d the pressure is p = s (w1 - w2 - V/S),
    the plates have F - S p = -omega² m1 S w1, p = -omega² m2 w2, and V of both gaps p = -omega² rho
    L V/(2 x 3 m), L = 2.5 v + L_room + L_cavity. To 3e-3: at 60 Hz the depth makes the spring
    (k d)²/6 = 0.002 stiffer than K/d."""
    gap, width, area = Gap(0.1), 0.01, 6.0
    boards = vented.open_at(stiff(20.0), ("south", "north"), width, 0.025, 0.5)
    leaves = (stiff(40.0), boards)
    ones = [each.project(each.x.cosines(1, 0.0, 3.0), each.y.cosines(1, 0.0, 2.0))[0]
            for each in leaves]  # fmt: skip
    none = np.zeros(1)
    joints = (cavity.joint(gap, (0, 1), (ones[0], ones[1]), none, none),
              slot.joint(boards, gap, 1))  # fmt: skip
    stack = Stack(leaves, joints, 0, 1)
    reduced = replace(stacks.reduce(stack, 20.0, 60.0), loaded=False, room_above=False, reach=0.0)
    for frequency in (20.0, 35.0, 60.0):
        omega = 2 * np.pi * frequency
        middle = striking.at_points(reduced, np.array([[1.5, 1.0]]))
        found = stacks.answer(reduced, stacks.line(reduced, omega, middle))
        even = np.flatnonzero(np.abs(boards.coefficients[:, :, : boards.vents]).sum((0, 1)) > 0)
        volume = found.of(1)[even, 0] @ ones[1][0][even] * np.sqrt(area)
        spring = air.BULK_ADIABATIC * (1 + 0.02j) / 0.1
        k = omega / air.SPEED
        room = 2 / np.pi * (np.log(4 / (width * np.hypot(k, 3.5278 / 2.0))) - 0.57722)
        inside = 2 / np.pi * np.log(2 * 0.1 / np.pi / width)
        inertance = 2.5 * slot.friction(width, omega) + room + inside
        system = np.array([
            [-(omega**2) * 40.0 * area, 0, 0, area], [0, -(omega**2) * 20.0, 0, -1],
            [0, 0, -(omega**2) * 1.204 * inertance / 6.0, -1],
            [spring, -spring, -spring / area, -1],
        ])  # fmt: skip
        hand = np.linalg.solve(system, [1.0, 0, 0, 0])
        assert volume == pytest.approx(hand[2], rel=3e-3)


@pytest.fixture(scope="module")
def opened():
    return assemble(edged(0.006), 130.0)


def test_power_in_is_power_out_and_places_may_be_exchanged(opened):
    for centre in (bands.CENTRES[4], bands.CENTRES[8]):
        reduced = stacks.reduce(opened.whole, *bands.edges(centre))
        struck = striking.at_points(reduced, np.array([[1.1, 0.9], [2.7, 2.2]]))
        at = stacks.line(reduced, 2 * np.pi * centre, struck)
        found = stacks.answer(reduced, at)
        lost = stacks.dissipated(reduced, at, found)
        assert found.power + lost == pytest.approx(found.mobility.real, rel=1e-9)
        there = struck.T @ found.of(reduced.stack.walked)
        assert there[0, 1] == pytest.approx(there[1, 0], rel=1e-9)


@pytest.mark.parametrize("walls", [(), ("west",)])
def test_mirrored_halves_are_the_whole(walls):
    """With one wall touched there is no mirror along x; the same equations, 1e-9."""
    made = assemble(edged(0.006, walls), 80.0)
    reduced = stacks.reduce(made.whole, *bands.edges(bands.CENTRES[7]))
    groups = mirror.split(reduced, ("hangers",), worth=10)
    assert sum(map(len, groups)) == (2 if walls else 4)
    struck, omega = np.array([[1.1, 0.9]]), 2 * np.pi * np.array([50.0])
    both = mirror.answers(reduced, groups, omega, mirror.at_points(groups, struck), ("hangers",))
    at = stacks.line(reduced, omega, striking.at_points(reduced, struck))
    assert both[0].power == pytest.approx(stacks.answer(reduced, at).power, rel=1e-9)


def power(design, places=(0, 4, 8)) -> np.ndarray:
    made = assemble(design, 80.0)
    return lowband.transfers(made, made.whole, [bands.CENTRES[p] for p in places]).power["design"]


def test_a_gap_of_nothing_is_a_closed_edge():
    """Friction holds the air of a gap of 0.1 micrometre, as w³: 1e-9."""
    assert power(edged(1e-7)) == pytest.approx(power(edged(0.0)), rel=1e-9)


def test_a_wide_gap_leaves_the_floor_alone():
    """Waves longer than the room hear what the floor above displaces, whatever hangs below it on
    soft hangers: 10 to 25 Hz. Two metres of gap round an empty cavity of 0.6 m leave the inertia of
    its air, which comes to the floor's mass (0.7 of some 30 kg/m2 and what flows in sideways):
    within 1.2 dB, where a closed one is up to 18 dB off, and nearer with each wider gap."""
    places = (0, 1, 2, 3, 4)

    def hung(gap: float):
        one = edged(gap, (), False, dynamic_stiffness=10.0)
        return replace(one, cavity=replace(one.cavity, clear_depth=0.6))

    made = assemble(hung(0.0), 80.0)
    bare = lowband.transfers(made, made.bare, [bands.CENTRES[p] for p in places]).power["design"]
    away = [
        np.abs(10 * np.log10(power(hung(gap), places) / bare)).max() for gap in (0, 0.05, 0.5, 2)
    ]
    assert away[0] > 10
    assert sorted(away, reverse=True) == away
    assert away[-1] < 1.2


def test_another_air_by_low_rank_is_the_stack_built_anew():
    """What `tolerance` and `diagnose` do when the fill is left out, with its gap: 1e-9."""
    design = edged(0.006)
    bare = replace(lowest_gap(design), fill=0.0)
    at = benches.prepare(design, airs={"empty": benches.Air(bare)}, highest=130.0)
    change, centre = benches.Change(air="empty", walls=("east",)), bands.CENTRES[6]
    quick = benches.powers(at, [change], centre)(2 * np.pi * centre)[0]
    anew = stacks.reduce(benches.built(at, change), *bands.edges(centre))
    struck = striking.over_area(anew, *permitted(design))
    full = stacks.answer(anew, stacks.line(anew, 2 * np.pi * centre, struck)).power.sum()
    assert quick == pytest.approx(full, rel=1e-9)


def by_elements(gas: model.GasLayer, frequency: float, force: np.ndarray) -> float:
    """Power of ceiling and gaps of the case below, in one baffle, by finite elements."""
    assembly = elements(gas)
    omega = 2 * np.pi * frequency
    system = reference.System(assembly, 0.15)
    answer = system.respond(omega, system.load(force))
    x, wx = gauss_cells(assembly.length, 0.25)
    y, wy = gauss_cells(assembly.width, 0.25)
    grid = system.grid
    surface = grid.x.values(x), grid.y.values(y)
    places = [np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)]
    weights, moved = [np.kron(wx, wy)], [reference._spread(surface, answer[system.field(1)])]
    scale = abs(gas.bulk / gas.depth)
    pressure = scale * answer[system.field(2)]
    for side in gas.open_sides:
        ends = {"west": 0.0, "east": assembly.length, "south": 0.0, "north": assembly.width}
        along_y = side in ("west", "east")
        xs, ys = (np.array([ends[side]]), y) if along_y else (x, np.array([ends[side]]))
        at = reference._spread((grid.x.values(xs), grid.y.values(ys)), pressure)
        places.append(np.stack(np.meshgrid(xs, ys, indexing="ij"), axis=-1).reshape(-1, 2))
        weights.append(wy if along_y else wx)
        moved.append(-at / (omega**2 * gas.gap_density))
    radiator = Radiator(np.vstack(places), np.concatenate(weights))
    return float(radiator.power(omega, 1j * omega * np.vstack(moved))[0])


def elements(gas: model.GasLayer) -> model.Assembly:
    floor = model.Leaf(
        "floor", model.Plate(4e5, 4e5, 1.6e5, 0.2, 60.0), (), 0.06, "simply supported"
    )
    ceiling = model.Leaf("ceiling", model.Plate(868.0, 694.4, 291.2, 0.25, 21.5), (), 0.05, "free")
    hangers = tuple((x, y) for x in (0.3, 1.2, 2.1) for y in (0.3, 1.0, 1.7))
    return model.Assembly("open", 2.4, 2.0, (floor, ceiling), gases=(gas,),
                          points=(model.PointSprings(0, 1, hangers, 1e5, 0.1),))  # fmt: skip


@pytest.mark.parametrize("sides", [("west", "east", "south", "north"), ("west", "south")])
def test_beside_finite_elements(monkeypatch, sides):
    """The same plain numbers, the same inertance of the gap in both: 0.1 dB, as far as the elements
    answer other cases. All in one baffle, as the elements' sound is."""
    ours_inertance = 3.5
    monkeypatch.setattr(slot, "at_room", lambda edge, omega: np.full(edge.vents, ours_inertance))
    monkeypatch.setattr(Vented, "at_walls", lambda edge, wave: np.ones((len(wave), edge.vents)))
    bulk = 141855.0 * (1 + 0.02j)
    width, depth, gap = 0.006, 0.025, Gap(0.12)
    force = np.array([[0.7, 0.8]])
    for frequency in (25.0, 90.0):
        omega = 2 * np.pi * frequency
        own = depth / width * slot.friction(width, omega) + ours_inertance
        own = own + slot.end(width, slot.longest(gap.clear))
        gas = model.GasLayer(0, 1, gap.clear, bulk, 1.204, 1.204, sides, complex(1.204 * own))
        theirs = by_elements(gas, frequency, force)
        made = compare.stack(replace(elements(gas), gases=()), 200.0)
        boards = vented.open_at(made.leaves[1], sides, width, depth, 12.0)
        leaves = (made.leaves[0], boards)
        shapes, kx, ky = compare._cosines(elements(gas), list(leaves), (0, 1), 200.0)
        hung = replace(made.joints[0], shapes={0: made.joints[0].shapes[0], 1: np.hstack([
            np.zeros((9, boards.vents)), made.joints[0].shapes[1]])})  # fmt: skip
        flat = Joint(
            "air", {0: shapes[0], 1: -shapes[1]}, partial(compare._compliance, gas, kx, ky),
            np.hypot(kx, ky), False,
        )  # fmt: skip
        joints = (flat, hung, slot.joint(boards, gap, 1))
        reduced = stacks.reduce(Stack(leaves, joints, 0, 1), frequency * 0.9, frequency * 1.1)
        reduced = replace(reduced, loaded=False, room_above=False)
        at = stacks.line(reduced, omega, striking.at_points(reduced, force))
        ours = float(stacks.answer(reduced, at).power[0])
        assert 10 * np.log10(ours / theirs) == pytest.approx(0.0, abs=0.1), frequency


def test_what_a_changed_fill_does_in_the_eliminated_system(opened):
    """`spread` eliminates the gap with the air: the same power as the stack, 1e-9."""
    centre = bands.CENTRES[6]
    reduced = stacks.reduce(opened.whole, *bands.edges(centre))
    lines = elimination.lines(
        reduced,
        2 * np.pi * np.array([centre]),
        striking.over_area(reduced, *permitted(opened.design)),
    )
    own = stacks.compliances(reduced, 2 * np.pi * np.array([centre]))
    assert lines.own == pytest.approx(own, rel=1e-12)

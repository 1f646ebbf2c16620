"""What each input does to the low bands, against the stack solved anew and against closed forms."""

from __future__ import annotations

from dataclasses import replace

import floors
import numpy as np
import pytest

from impact.base import bands, levels
from impact.design.parts import OldCeiling
from impact.leaf.plate import Plate, modes
from impact.motion import lowband, mirror, striking
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.spread import condensed, elimination, modal
from impact.spread.inputs import END, inputs
from impact.spread.shift import Frame


def supported(**changes):
    plate = Plate("floor", 4.0, 3.0, 20.0, 900.0, 500.0, 0.0, 300.0, 0.03, "supported")
    return replace(plate, **changes)


def test_a_changed_plate_in_its_old_modes_has_the_frequencies_of_the_closed_form():
    # simply supported orthotropic plate (Leissa, Vibration of Plates, NASA SP-160 eq. 9.13):
    # m w² = Dx a⁴ + 2 (Dnu + 2 D66) a² b² + Dy b⁴, a = m pi / Lx, b = n pi / Ly; sines stay its
    # modes, so old modes give it exactly
    leaf = modes(supported(), 150.0)
    count = 12
    changed = supported(bending_x=1500.0, bending_y=400.0, twisting=350.0, mass=26.0)
    stiffness, mass = Frame(leaf, count).difference(changed)
    squares = (np.diag(stiffness) + leaf.omega[:count] ** 2) / (1 + np.diag(mass))
    m, n = np.meshgrid(np.arange(1, 20), np.arange(1, 20), indexing="ij")
    a, b = m * np.pi / 4.0, n * np.pi / 3.0

    def closed(dx, dy, d66, mass):
        return ((dx * a**4 + 4 * d66 * a**2 * b**2 + dy * b**4) / mass).ravel()

    order = np.argsort(closed(900.0, 500.0, 300.0, 20.0))[:count]
    assert squares == pytest.approx(closed(1500.0, 400.0, 350.0, 26.0)[order], rel=1e-6)
    diagonal = Frame(leaf, count).diagonal(changed)
    assert diagonal[0] == pytest.approx(np.diag(stiffness))
    assert diagonal[1] == pytest.approx(np.diag(mass))


def test_fixity_moves_the_frequencies_as_a_beam_with_springs_at_its_ends():
    # limit of a clamped beam over a hinged one: (4.730/pi)² = 2.267 for the first mode (any table
    # of beams, e.g. Blevins 1979 table 8-1); a plate with little stiffness across is nearly such a
    # beam: what is left there holds 0.1 % of the energy
    beam = supported(bending_y=0.05, twisting=0.05)
    leaf = modes(beam, 20.0)
    stiffness, _ = Frame(leaf, 1).difference(replace(beam, fixity=1.0))
    ratio = np.sqrt(1 + stiffness[0, 0] / leaf.omega[0] ** 2)
    assert ratio == pytest.approx(2.267, rel=5e-3)


@pytest.fixture(scope="module")
def assembly():
    return assemble(floors.uncertain(), 70.0)


def with_old_ceiling(design):
    """The same with its boards under the joists as an old ceiling above the new one."""
    old = OldCeiling(design.ceiling.layers, "nailed", 0.3, 2e6, None)
    return replace(design, old_ceiling=old)


OMEGA = 2 * np.pi * np.array([29.0, 30.0])


def two_lines(stack, design):
    """The 31.5 Hz band of a stack: cut down and prepared whole, each line of it for `answer`."""
    low, high = bands.edges(bands.CENTRES[bands.index(31.5)])
    reduced = stacks.reduce(stack, low, high)
    struck = striking.over_area(reduced, *permitted(design))
    each = [stacks.line(reduced, omega, struck) for omega in OMEGA]
    return reduced, elimination.lines(reduced, OMEGA, struck), each


def as_designed(small):
    dynamic = np.zeros((1, len(OMEGA), *small.fixed.shape[-1:] * 2), complex)
    modes = small.dynamic.shape[-1]
    dynamic = dynamic[..., :modes, :modes]
    dynamic[..., range(modes), range(modes)] = small.dynamic
    return dynamic


@pytest.mark.parametrize("kind", ["whole", "bare", "old ceiling"])
def test_the_small_system_gives_the_power_of_the_whole(assembly, kind):
    design, stack = assembly.design, assembly.bare if kind == "bare" else assembly.whole
    if kind == "old ceiling":
        design = with_old_ceiling(design)
        stack = assemble(design, 70.0).whole
    reduced, at, each = two_lines(stack, design)
    found = condensed.condense([at])
    whole = [stacks.answer(reduced, one).power.sum() for one in each]
    assert found.power == pytest.approx(whole, rel=1e-9)
    small = found.small
    same = condensed.powers(small, as_designed(small), small.compliance[None])
    assert same[0] == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize("hangers", ["in rows", "anywhere"])
def test_mirrored_parts_give_the_power_of_the_whole(hangers):
    design = floors.uncertain()
    if hangers == "anywhere":
        places = ((0.5, 0.4), (1.3, 2.9), (3.6, 0.7), (2.0, 1.5), (3.9, 3.1))
        design = replace(design, hangers=replace(design.hangers, positions=places))
    stack = assemble(design, 70.0).whole
    reduced, _, each = two_lines(stack, design)
    groups = mirror.split(reduced, elimination.FREE, permitted(design), worth=0)
    # channels through such places have no image along the joists, hangers none at all
    assert [len(group) for group in groups] == ([2] if hangers == "anywhere" else [1, 1, 1, 1])
    struck = mirror.over_area(groups, permitted(design), np.zeros((0, 2))).columns
    power = sum(
        condensed.condense([
            elimination.lines(part.reduced, OMEGA, one)
            for part, one in zip(group, columns, strict=True)
        ]).power for group, columns in zip(groups, struck, strict=True)
    )  # fmt: skip
    whole = [stacks.answer(reduced, one).power.sum() for one in each]
    assert power == pytest.approx(whole, rel=1e-7)  # shapes are even or odd to 1e-9


def test_other_hangers_in_the_small_system_are_those_of_the_stack_solved_anew(assembly):
    reduced, at, each = two_lines(assembly.whole, assembly.design)
    small = condensed.condense([at]).small
    anew = []
    for one in each:
        other = stacks.compliances(reduced, one.omega)
        other[at.free] *= 0.3
        anew.append(stacks.answer(reduced, one, compliance=other).power.sum())
    found = condensed.powers(small, as_designed(small), 0.3 * small.compliance[None])
    assert found[0] == pytest.approx(anew, rel=1e-9)


@pytest.mark.parametrize("old", [False, True])
def test_other_boards_air_and_edge_are_those_of_the_stack_solved_anew(old):
    """A state with softer air, a stiffer edge, softer fixings of an old ceiling and boards of other
    D: what is left out of the small system, in any state, is the stack's own."""
    design = with_old_ceiling(floors.uncertain()) if old else floors.uncertain()
    reduced, at, each = two_lines(assemble(design, 70.0).whole, design)
    assert (len(at.far) > 0) == old
    factors = {"air": 1.5, "perimeter": 0.4, "old fixings": 1.7}
    own = at.own * np.array([factors.get(name, 1.0) for name in reduced.names])
    boards = at.boards * np.linspace(0.8, 1.3, at.boards.shape[1])
    states = np.stack([at.own, own]), np.stack([at.boards, boards])
    small = elimination.eliminate(at, *states)
    dynamic = np.repeat(as_designed(small), 2, axis=0)
    hangers = np.repeat(small.compliance[None], 2, axis=0)
    found = condensed.powers(small, dynamic, hangers, np.array([1, 0]))
    place, shapes = reduced.stack.radiating, reduced.shapes[reduced.stack.radiating]
    for number, one in enumerate(each):
        inverse = (*one.inverse[:place], boards[number])
        gram = one.gram + (shapes * (boards[number] - one.inverse[place])) @ shapes.T
        radiate = (one.pattern.rows * boards[number]) @ shapes.T
        other = replace(one, inverse=inverse, gram=gram, radiate=radiate)
        anew = stacks.answer(reduced, other, compliance=own[number]).power.sum()
        assert found[0, number] == pytest.approx(anew, rel=1e-9)
        same = stacks.answer(reduced, one).power.sum()
        assert found[1, number] == pytest.approx(same, rel=1e-9)


@pytest.mark.parametrize("name", ["air", "perimeter", "old fixings", "old air"])
def test_slopes_are_the_differences_of_the_stack_solved_anew(assembly, name):
    design = assembly.design
    if name.startswith("old"):
        design = with_old_ceiling(design)
    stack = assemble(design, 70.0).whole
    reduced, at, each = two_lines(stack, design)
    links = condensed.condense([at]).links[0]
    mine = reduced.of((name,))
    step = 1e-4
    for number, one in enumerate(each):
        own = at.own[number]
        ahead, behind = (
            stacks.answer(reduced, one, compliance=np.where(mine, own * (1 + s), own)).power.sum()
            for s in (step, -step)
        )
        slope = float(np.real(np.sum((links[number] * own)[mine])))
        # central differences are right to the step squared, rounding to 1e-16 / step
        assert slope == pytest.approx((ahead - behind) / (2 * step), rel=1e-5)


def test_inputs_at_their_ends_against_floors_solved_anew():
    design = floors.uncertain()
    built = assemble(design, 115.0)
    wanted = {"joist_stiffness", "floor_mass", "floor_damping", "edge_fixity", "hanger_stiffness",
              "edge_stiffness", "ceiling_mass", "ceiling_stiffness"}  # fmt: skip
    items = [item for item in inputs(design) if item.key in wanted]
    found = modal.changes(built, items).ends
    count = bands.index(63.0) + 1

    def level(one):
        built = assemble(one, 71.0)
        low = lowband.transfers(built, built.whole, list(bands.CENTRES[:count]), (6, 5))
        return levels.decibel(low.power["design"])

    base = level(design)
    for item, ends in zip(items, found, strict=True):
        anew = level(item.change(design, END)) - base
        # four lines per band here and six there, old modes: half a decibel in the mean, against
        # effects of up to 9 dB
        assert np.mean(np.abs(ends[1, :count] - anew)) < 0.5, item.key


def test_a_design_without_uncertain_hangers_has_a_band_as_well():
    """Only the floor's damping has a range: more of it makes no band louder."""
    design = floors.uncertain()
    items = [item for item in inputs(design) if item.key == "floor_damping"]
    ends = modal.changes(assemble(design, 60.0), items, top=bands.index(40.0)).ends
    assert (ends[0, 1] < 0).all()
    assert (ends[0, 0] > 0).all()

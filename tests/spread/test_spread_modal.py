"""What each input does to the low bands, against the stack solved anew and against closed forms."""

from __future__ import annotations

from dataclasses import replace

import floors
import numpy as np
import pytest

from impact.base import bands, levels
from impact.leaf.plate import Plate, modes
from impact.motion import lowband, striking
from impact.motion import stack as stacks
from impact.motion.assemble import assemble, permitted
from impact.spread import condensed, modal
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


def one_line(stack, design, band=31.5, frequency=30.0):
    low, high = bands.edges(bands.CENTRES[bands.index(band)])
    reduced = stacks.reduce(stack, low, high)
    struck = striking.over_area(reduced, *permitted(design))
    return reduced, stacks.line(reduced, 2 * np.pi * frequency, struck)


@pytest.mark.parametrize("kind", ["whole", "bare"])
def test_the_small_system_gives_the_power_of_the_whole(assembly, kind):
    reduced, at = one_line(getattr(assembly, kind), assembly.design)
    small = condensed.condense(reduced, at)
    whole = stacks.answer(reduced, at).power.sum()
    assert small.power == pytest.approx(whole, rel=1e-9)
    same = condensed.powers(small, np.diag(small.dynamic)[None], small.compliance[None])
    assert same[0] == pytest.approx(whole, rel=1e-9)


def test_other_hangers_in_the_small_system_are_those_of_the_stack_solved_anew(assembly):
    reduced, at = one_line(assembly.whole, assembly.design)
    small = condensed.condense(reduced, at)
    own = stacks.compliances(reduced, at.omega)
    other = own.copy()
    other[small.rows] *= 0.3
    anew = stacks.answer(reduced, at, compliance=other).power.sum()
    found = condensed.powers(small, np.diag(small.dynamic)[None], 0.3 * small.compliance[None])
    assert found[0] == pytest.approx(anew, rel=1e-9)


@pytest.mark.parametrize("name", ["air", "hangers"])
def test_slopes_are_the_differences_of_the_stack_solved_anew(assembly, name):
    reduced, at = one_line(assembly.whole, assembly.design)
    small = condensed.condense(reduced, at)
    own = stacks.compliances(reduced, at.omega)
    names = np.array([joint.name for joint in reduced.stack.joints])[reduced.joint_of]
    step = 1e-4
    ahead, behind = (
        stacks.answer(
            reduced, at, compliance=np.where(names == name, own * (1 + s), own)
        ).power.sum()
        for s in (step, -step)
    )
    slope = float(np.real(np.sum((small.links * own)[names == name])))
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

"""Resonances of a design against closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import designs
import pytest

from impact.advice.resonance import frequency, pair_frequency, resonances
from impact.design.parts import Layer, Mat
from impact.motion.assemble import assemble
from impact.motion.fundamental import fundamental, of_bare


def supported(mass: float) -> float:
    """First mode of the slab of `designs`, 4.2 x 3.6 m on four simple edges, with this mass per
    area: pi/2 (1/a^2 + 1/b^2) sqrt(D/m) [Hz] (Leissa 1969), D = 30e9 0.15^3/12/0.96 N m."""
    bending = 30e9 * 0.15**3 / 12 / 0.96
    return math.pi / 2 * (1 / 4.2**2 + 1 / 3.6**2) * math.sqrt(bending / mass)


def test_fundamental_of_a_slab():
    """345 kg/m2: 33.6 Hz; 0.1 % as plate modes are checked."""
    found = fundamental(assemble(designs.on_slab(), 60.0).bare)
    assert found == pytest.approx(supported(345.0), rel=1e-3)


def test_a_light_floating_floor_rides_on_the_slab():
    """9.9 kg/m2 on 20 MN/m3, f0 some 230 Hz: at the slab's fundamental it only adds its mass. It
    holds 3 % of the energy there, which must not hide the mode. 0.2 % for what the mat still gives:
    (33/230)^2 of 3 %."""
    design = designs.on_slab()
    mat = Mat("mat", 20e6, 0.1, 0.01)
    top = Layer(designs.PLYWOOD, 0.018, "floating", "across", mat)
    design = replace(design, floor=replace(design.floor, layers=(top,)))
    found = fundamental(assemble(design, 60.0).bare)
    assert found == pytest.approx(supported(345.0 + 550.0 * 0.018), rel=2e-3)


def test_a_heavy_fill_and_screed_do_not_hide_the_lowest_mode():
    """60 kg/m2 of sand on boards between the joists and 100 kg/m2 of screed on 14 MN/m3 (f0 some
    70 Hz): the floor's lowest mode moves all of them as one, and most of its energy is not the
    joists' own. By hand, joists along x and the screed's plate on four simple edges (Leissa 1969):
    omega2 m = EI/b (pi/a)^4 + D ((pi/a)^2 + (pi/c)^2)^2. 10 %: nailed to the joists the deck makes
    them stiffer by that much, and the mat gives a little."""
    base = designs.sanded(designs.basement())
    screed = Layer(
        replace(designs.PLYWOOD, name="screed", density=2000.0, youngs_modulus=20e9,
                youngs_modulus_across=20e9, shear_modulus=8e9),
        0.05, "floating", "along", Mat("mat", 14e6, 0.1, 0.03),
    )  # fmt: skip
    floor = replace(base.floor, layers=(*base.floor.layers, screed))
    stack = assemble(replace(base, floor=floor), 60.0).bare
    along, across = (math.pi / floor.joists.span) ** 2, (math.pi / floor.width) ** 2
    joists = floor.joists.bending_stiffness / floor.joists.spacing * along**2
    plate = 20e9 * 0.05**3 / 12 / (1 - 0.25**2) * (along + across) ** 2
    mass = sum(leaf.plate.whole_mass for leaf in stack.leaves)
    expected = math.sqrt((joists + plate) / mass) / 2 / math.pi
    assert of_bare(stack) == pytest.approx(expected, rel=0.1)


def test_masses_on_one_spring_by_hand():
    """40 and 21.5 kg/m2 on 101.325 kPa/0.276 m: 25.7 Hz; 21.5 alone: 20.8 Hz; printed to 0.1 Hz."""
    spring = 101325 / 0.276
    assert pair_frequency(spring, 40.0, 21.5) == pytest.approx(25.7, abs=0.1)
    assert frequency(spring, 21.5) == pytest.approx(20.8, abs=0.1)


def test_resonances_of_a_ceiling_below_a_slab_by_hand():
    """12 hangers of 120 kN/m over 4.2 x 3.6 m, 95 238 N/m3; 0.2 m of air, 1.4 x 101 325 Pa/0.2 m =
    709 275 N/m3; 345 kg/m2 above and two boards of 0.0159 m x 690 kg/m3 = 21.942 kg/m2 below.
    sqrt(95 238/21.942)/2 pi = 10.485 Hz; 1/345 + 1/21.942 = 0.048473 m2/kg: sqrt(709 275 x
    0.048473)/2 pi = 29.51 Hz, and with the hangers beside the air 31.43 Hz. 1e-3: four digits."""
    base = designs.on_slab()
    points = tuple((x, y) for x in (0.6, 1.6, 2.6, 3.6) for y in (0.6, 1.8, 3.0))
    channel = replace(base.hangers.channel, mass_per_length=0.0)
    kind = replace(base.hangers, positions=points, mass=0.0, channel=channel)
    cavity = replace(base.cavity, clear_depth=0.2, fill=None)
    found = resonances(assemble(replace(base, cavity=cavity, hangers=kind), 60.0))
    assert found.hanger_only == pytest.approx(10.485, rel=1e-3)
    assert found.air_only == pytest.approx(29.51, rel=1e-3)
    assert found.mass_spring_mass == pytest.approx(31.43, rel=1e-3)
    assert found.governing_spring == "air"
    stiff = replace(kind, dynamic_stiffness=8 * 120e3)  # 762 kN/m3
    held = replace(base, cavity=cavity, hangers=stiff)
    assert resonances(assemble(held, 60.0)).governing_spring == "hangers"

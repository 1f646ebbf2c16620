"""Sound through an open gap round a ceiling in the energy balance, against closed forms by hand."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

import impact
from impact.base import bands
from impact.design.parts import OldCeiling
from impact.energy import open_gap, paths
from impact.heard.joined import join
from impact.link.cavity import Gap
from impact.link.gaps import free_share

C, RHO = 343.2, 1.204


def handed_on(f, width, depth, cavity=10.0):
    """Power through a gap over that of a diffuse field on its area, between deep rooms [-]: at a
    wall p² is four times that of the field, which brings p²/(4 rho c)."""
    omega = 2 * np.pi * np.asarray(f, float)
    flow = open_gap.flow(Gap(cavity), width, depth, omega)
    return 16 * RHO * C * RHO * omega * np.abs(flow) ** 2 / width


def test_a_narrow_gap_is_a_plug_of_air_that_sounds_as_a_line():
    """By hand, 2 mm wide in boards 25 mm deep at 50 Hz: k = 0.9154 1/m, ends of 2 x 2 mm
    (ln(4/(k w)) - 0.577)/pi = 9.06 mm each, so a plug of L = 43.1 mm. It moves with
    p/(i omega rho L) and sounds as a line source in a corner of two planes, W' = rho omega U² per
    length (Morse and Ingard, Theoretical Acoustics, ch. 7: rho omega U²/4 in the open, four times
    that in a quarter), p² = 16 rho c times what falls on a unit of area: 16 w/(k L²) = 18.8.
    Friction adds 15 % to the 25 mm, and takes 17 % off."""
    stuck = np.sqrt(2 * 1.84e-5 / (RHO * 2 * np.pi * 50.0)) / 0.002
    column = 25.0 * abs(1 + stuck - 1j * (stuck + 2 * stuck**2)) + 18.12  # mm, nearly in phase
    assert column == pytest.approx(47.5, abs=0.3)
    assert handed_on(50.0, 0.002, 0.025) == pytest.approx(18.8 * (43.12 / column) ** 2, rel=0.02)


def test_a_gap_between_rooms_by_the_printed_formula():
    """Gomperts and Kihlman 1967 as in Hopkins, Sound Insulation, ch. 4 (from memory, check the
    source), for a gap of width b in the middle of a wall in a diffuse field, K = k b, X = t/b:

        tau = 4 K cos²(K e)/(sin²(K X + 2 K e)/cos²(K e) + K²/2 (1 + cos(K X) cos(K X + 2 K e))),
        e = (ln(8/K) - 0.5772)/pi .

    A gap w beside a wall is half of one b = 2 w with its image, in a field of twice p². Friction,
    left out there, is 5 % of the tube at 10 mm and 125 Hz, 0.2 dB; and ends are there tubes, here
    masses: 0.4 dB."""
    width, depth = 0.01, 0.05
    for f in (125.0, 250.0, 500.0):
        big, long = 4 * np.pi * f / C * width, 2 * np.pi * f / C * depth
        end = big * (np.log(8 / big) - 0.5772) / np.pi
        edge = np.sin(long + 2 * end) ** 2 / np.cos(end) ** 2
        rest = big**2 / 2 * (1 + np.cos(long) * np.cos(long + 2 * end))
        tau = 2 * 4 * big * np.cos(end) ** 2 / (edge + rest)
        assert 10 * np.log10(handed_on(f, width, depth) / tau) == pytest.approx(0.0, abs=0.6), f


@pytest.mark.parametrize(("width", "depth"), [(0.006, 0.025), (0.012, 0.025), (0.006, 0.1)])
def test_no_gap_takes_more_than_its_radiation_lets_it(width, depth):
    """With its inertia tuned away a gap takes p²/(4 Re Z), tau = 4/(k w), and never more (any
    textbook of acoustics: a matched load); friction keeps it below."""
    f = np.geomspace(60, 5000, 400)
    most = handed_on(f, width, depth) * 2 * np.pi * f / C * width / 4
    assert 0.6 < most.max() < 1.0


def edged(design, gap: float):
    edge = replace(design.ceiling.perimeter, kind="free", gap=gap)
    return replace(design, ceiling=replace(design.ceiling, perimeter=edge))


def test_a_closed_edge_is_as_before_and_a_crack_passes_nothing():
    """Friction in a crack goes as 1/w³: of 1 micrometre nothing is left."""
    f = np.array(bands.CENTRES)[12:]
    shut = paths.transfer(edged(designs.basement(), 0.0), f)
    assert "gap" not in shut.paths
    crack = paths.transfer(edged(designs.basement(), 1e-6), f)
    assert crack.power_per_force == pytest.approx(shut.power_per_force, rel=1e-6)
    assert crack.paths["gap"].min() > 0


@pytest.mark.parametrize("which", ["joists", "slab"])
def test_modes_and_energy_meet(which):
    """Two ways to one answer, nothing shared but the gap's own impedance: where they meet within 2
    dB, as with a closed edge; the gap makes 10 dB and more of it. Below a slab the fill lies on the
    boards, and the gap hears of the floor's edges alone, which stand still. Below joists 1 dB more:
    modes take them as stiff across their depth, and lack 1.2 dB of the floor alone at 315 Hz."""
    if which == "slab":
        design = designs.on_slab()
    else:
        design = impact.read("examples/01_basement_rental.toml")
    found = join(edged(design, 0.006))
    assert np.abs(found.mismatch_db["design"]).max() < (2.0 if which == "slab" else 3.0)
    gap, whole = found.paths["gap"], np.sum(list(found.paths.values()), axis=0)
    assert which == "slab" or (gap / whole)[found.crossover] > 0.9


@pytest.mark.parametrize("kind", ["concrete", "hollow"])
def test_modes_and_energy_meet_along_the_free_edges_of_a_slab(kind):
    """On two sides a slab is free along the other walls, and the gap there hears all of its motion,
    not the little that a supported edge leaves where a fill stops sound: 10 to 13 dB more, by the
    modes."""
    base = designs.on_slab()
    slab = replace(base.floor.slab, edges="two sides")
    if kind == "hollow":
        slab = replace(slab, mass_per_area=276.0, bending_stiffness_along=17.6e6,
                       bending_stiffness_across=17.6e6, twisting_stiffness=7.0e6)  # fmt: skip
    found = join(edged(replace(base, floor=replace(base.floor, slab=slab)), 0.006))
    assert np.abs(found.mismatch_db["design"]).max() < 2.5


def test_share_of_the_gap_along_free_edges():
    """4.2 m along the span and 3.6 m across: 4.2/7.8 of it, as of one wall of each kind; none on
    four sides, below joists, or where nothing is open; all below old boards."""
    base = edged(designs.on_slab(), 0.006)
    two = replace(base, floor=replace(base.floor, slab=replace(base.floor.slab, edges="two sides")))
    assert free_share(base) == free_share(edged(designs.basement(), 0.006)) == 0.0
    assert free_share(two) == pytest.approx(4.2 / 7.8)
    assert free_share(edged(two, 0.0)) == 0.0
    old = OldCeiling((designs.FIVE_EIGHTHS,), "nailed", 0.2, 3e6, None)
    assert free_share(edged(replace(designs.basement(), old_ceiling=old), 0.006)) == 1.0
    partly = replace(two.ceiling.perimeter, kind="touching", touching_walls=("west", "south"))
    partly = replace(two, ceiling=replace(two.ceiling, perimeter=partly))
    assert free_share(partly) == pytest.approx(4.2 / 7.8)

"""What feet feel, against floors worked by hand."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from types import SimpleNamespace

import designs
import numpy as np
import pytest

from impact.base import bands
from impact.design.lines import joist_lines
from impact.design.parts import Design, Fill, IndependentJoists, Layer, Mat, OldCeiling
from impact.heard import feeling
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.motion.underfoot import Underfoot
from impact.source import people, step

EXAMPLE = "03_metric_particleboard.toml"
PLACES = 3


def resting(centres: np.ndarray, square: float, mobility: float = 0.0) -> Underfoot:
    """One line a band, the same square everywhere, a real mobility."""
    count = len(centres)
    squares = {name: np.full((count, PLACES), square) for name in ("foot", "floor", "ceiling")}
    return Underfoot(
        centres, np.arange(count), np.ones(count), np.full((count, PLACES), mobility, complex),
        squares,
    )  # fmt: skip


def test_bands_go_from_4_to_80_hz():
    nominal = np.array(feeling.LABELS)
    assert len(nominal) == len(feeling.CENTRES) == 14
    # nominal labels lie within 2.3 % of the exact base-ten centres (IEC 61260-1:2014 Annex E)
    assert np.abs(feeling.CENTRES / nominal - 1).max() < 0.023


def test_velocity_of_walking_is_force_times_mobility():
    """By hand: |Y| = 1e-4 m/(N s), and a walker's mean-square force in a band is that of one step,
    2 int |F|² df, times the pace."""
    one = step.Step(mass=80.0, pace=2.0)
    top = bands.index(80.0) + 4
    joined = SimpleNamespace(underfoot={"bare": resting(np.array(bands.CENTRES[:top]), 1e-8)})
    below = resting(feeling.BELOW, 1e-8)
    found = feeling.squares(joined, "bare", below, one, "floor")
    assert found.shape == (PLACES, 14)
    for band in (0, 7, 13):
        centre = feeling.CENTRES[band]
        f = np.linspace(centre * 10**-0.05, centre * 10**0.05, 4001)
        force = 2 * np.trapezoid(np.abs(step.spectrum(one, f)) ** 2, f) * 2.0
        assert found[:, band] == pytest.approx(np.full(PLACES, 1e-8 * force), rel=0.01)


def test_a_large_room_is_felt_in_the_bands_that_are_solved():
    """Bands to 31.5 Hz solved: they are as they are where all are solved; 1e-12 for rounding."""
    one = step.Step(mass=80.0, pace=2.0)
    few, all_of_them = (
        SimpleNamespace(underfoot={"bare": resting(np.array(bands.CENTRES[:top]), 1e-8)})
        for top in (bands.index(31.5) + 1, bands.index(80.0) + 4)
    )
    below = resting(feeling.BELOW, 1e-8)
    part, full = (feeling.squares(j, "bare", below, one, "floor") for j in (few, all_of_them))
    assert part.shape == (PLACES, 10)
    assert part == pytest.approx(full[:, :10], rel=1e-12)


@pytest.mark.parametrize(("crossover", "solved"), [(5, 11), (8, 14), (16, 14)])
def test_what_is_left_out_is_said(monkeypatch, crossover, solved):
    """Modes are solved one band beyond the crossover's: 31.5 Hz means to 40 Hz, the 11th from 4."""
    centres = np.array(bands.CENTRES[: crossover + 2])
    joined = SimpleNamespace(
        crossover=crossover, underfoot=dict.fromkeys(("bare", "design"), resting(centres, 1e-8)),
        assembly=SimpleNamespace(design=designs.on_slab()),
    )  # fmt: skip
    monkeypatch.setattr(feeling, "_below", lambda *_: resting(feeling.BELOW, 1e-8))
    monkeypatch.setattr(feeling, "_timber_both", lambda _: None)
    felt = feeling.feel(joined)
    assert len(felt["bands_hz"]) == solved
    one = felt["walkers"]["walker_barefoot"]["bare"]
    assert len(one["floor_velocity_m_s"]) == solved
    told = felt["left_out"]
    assert (told is None) == (solved == 14)
    if told:
        assert "up to 40 Hz" in told
        assert "lower bound" in told


def test_response_factor_of_one_mode_is_that_of_the_guide():
    """SCI P354 by hand for a single lightly damped mode struck once a step where its shape is 1.

    Effective impulse I = 60 f_p^1.43/f_n^1.3 Q/700 (eq. 18) gives a peak velocity I/m that dies
    away as exp(-zeta w t); r.m.s. acceleration over a step, weighting 16/f above 16 Hz (curve b).
    Ours goes through the measured step's spectrum, which stands up to 4 dB beside the impulse
    (`tests/source/test_step.py`): 5 dB.
    """
    mode, mass, zeta, pace = 20.0, 2000.0, 0.03, 1.95
    w = 2 * math.pi * mode
    impulse = 60 * pace**1.43 / mode**1.3 * (76 * 9.81) / 700
    decay = (1 - math.exp(-2 * zeta * w / pace)) / (2 * zeta * w / pace)
    by_hand = impulse / mass * w * math.sqrt(decay / 2) * (16 / mode) / 0.005

    def answered(centres: np.ndarray) -> Underfoot:
        rows = [lowband.frequencies(float(centre), 60) for centre in centres]
        frequency = np.concatenate([f for f, _ in rows])
        omega = 2 * math.pi * frequency
        y = 1j * omega / mass / (w**2 - omega**2 + 2j * zeta * w * omega)
        return Underfoot(
            frequency, np.repeat(np.arange(len(centres)), 60), np.concatenate([g for _, g in rows]),
            np.zeros((len(y), 1), complex), {"floor": np.abs(y[:, None]) ** 2},
        )  # fmt: skip

    joined = SimpleNamespace(underfoot={"bare": answered(np.array(bands.CENTRES[:14]))})
    below = answered(feeling.BELOW)
    square = feeling.squares(joined, "bare", below, step.Step(mass=76.0, pace=pace), "floor")[0]
    a = np.sqrt(square) * 2 * np.pi * feeling.CENTRES
    found = feeling.standards.response_factor(feeling.CENTRES, a)
    assert abs(20 * math.log10(found / by_hand)) < 5


def test_criterion_is_the_strictest_that_is_kept():
    """Gordon (1991), from memory: 50, 25, 12.5, 6.25, 3.12 um/s from 8 Hz up."""
    still = np.zeros(14)
    for velocity, name in ((60e-6, "above VC-A"), (40e-6, "VC-A"), (10e-6, "VC-C"), (3e-6, "VC-E")):
        moving = still.copy()
        moving[8] = velocity
        assert feeling.criterion(moving) == name


def test_timber_checks_of_a_floor_worked_by_hand():
    """EN 1995-1-1 7.3.3 for 38 x 235 joists at 406 mm over 4.2 m, E 10 GPa, deck loose on them.

    (EI)_l = 10e9 x 0.038 x 0.235^3/12/0.4064 = 1.0112e6 N m (+ deck: 18 mm plywood laid across,
    4 GPa x 0.018^3/12/0.91 = 2.1 kN m, 0.2 %); shear 0.6 GPa x 0.038 x 0.235 x 5/6 = 4.465 MN:
    k2 EI/GA = 0.5595 x 4.1096e5/4.465e6 = 5.15 %, leaving 0.9617e6. f1 = pi/(2 x 17.64)
    sqrt(0.9638e6/35) = 14.78 Hz at 35 kg/m2.
    """
    base = designs.basement()
    loose = replace(base.floor.joists, deck_fastening="none")
    design = replace(base, floor=replace(base.floor, joists=loose))
    found = feeling.timber(assemble(design, 60.0), 35.0)
    assert found["f1"] == pytest.approx(14.78, abs=0.03)
    assert found["applies"]
    # v = 4 (0.4 + 0.6 n40)/(35 x 3.6 x 4.2 + 200), n40 as in eq. (7.7) with (EI)_b of 8 GPa deck
    across = 8e9 * 0.018**3 / 12 / 0.91
    n40 = (((40 / 14.78) ** 2 - 1) * (3.6 / 4.2) ** 4 * 0.9638e6 / across) ** 0.25
    assert found["n40"] == pytest.approx(n40, rel=0.005)
    assert found["velocity"] == pytest.approx(4 * (0.4 + 0.6 * n40) / (529.2 + 200), rel=0.005)
    assert found["velocity_limit"] == pytest.approx(120 ** (0.1478 - 1), rel=0.002)
    # what floats on the deck, and lies on what floats, does not stiffen it
    mat = Mat("mat", 10e6, 0.1, 0.02)
    boards = (Layer(designs.GYPSUM, 0.0125, "floating", "across", mat),
              Layer(designs.GYPSUM, 0.0125, "glued", "across"))  # fmt: skip
    layers = (*design.floor.layers, *boards)
    afloat = replace(design, floor=replace(design.floor, layers=layers))
    again = feeling.timber(assemble(afloat, 60.0), 35.0)
    assert [again[key] for key in ("f1", "n40")] == [found[key] for key in ("f1", "n40")]


def test_what_joists_carry_for_good():
    """EN 1995-1-1 7.3.3(3): self weight and other permanent actions. By hand, 38 mm of 16 in: a
    fill of 150 mm x 15 kg/m3 = 2.25 kg/m2, 2.25 (1 - 38/406.4) = 2.0396 between the joists; an old
    ceiling of 12 mm x 690 kg/m3 = 8.28 below 100 mm x 20 kg/m3, 1.813 between them; sand of 60
    kg/m2 on boards of 22 mm x 460 kg/m3 x 0.9065 = 9.174."""
    base = designs.basement()
    fill = replace(base.cavity.fill, on_boards=True)
    lies = replace(base, cavity=replace(base.cavity, fill=fill))
    own = replace(base, hangers=None, independent=IndependentJoists(designs.joists(depth=0.12)))
    wool = Fill("mineral wool", 0.1, 10e3, 20.0)
    plaster = (Layer(designs.GYPSUM, 0.012, "nailed", "across"),)
    old = replace(lies, old_ceiling=OldCeiling(plaster, "nailed", 0.3, 1e6, wool))

    def carried(design: Design) -> tuple[float, float, float]:
        made = assemble(design, 40.0)
        mass = feeling.permanent(made)
        return mass["bare"], mass["ceiling"] - mass["bare"], made.ceiling_mass

    bare, more, hung = carried(base)
    assert more - hung == pytest.approx(2.0396, abs=2e-4)
    again, more, hung = carried(lies)
    assert (again, more - hung) == (bare, pytest.approx(2.25))
    again, more, _ = carried(own)
    assert (again, more) == (bare, pytest.approx(2.0396, abs=2e-4))
    again, more, hung = carried(old)
    assert again - bare == pytest.approx(8.28 + 1.813, abs=1e-3)
    assert more - hung == pytest.approx(2.25)
    again, _, _ = carried(designs.sanded(base))
    assert again - bare == pytest.approx(60 + 9.174, abs=1e-3)


@pytest.mark.parametrize("kind", ["steel", "open-web"])
def test_clauses_for_timber_are_not_told_of_steel(kind):
    """A C-joist, and a bar joist, open-web too, by its 4 kg for the half litre of a metre: steel
    weighs 7.85 kg a litre."""
    base = designs.basement()
    wood = base.floor.joists
    steel = replace(wood, kind=kind, mass_per_length=4.0, volume_per_length=4.0 / 7850)
    made = assemble(replace(base, floor=replace(base.floor, joists=steel)), 40.0)
    assert feeling._timber_both(made) is None
    assert feeling._of_steel(made.design)
    truss = replace(wood, kind="open-web", mass_per_length=4.0, volume_per_length=4.0 / 550)
    made = assemble(replace(base, floor=replace(base.floor, joists=truss)), 40.0)
    assert feeling._timber_both(made) is not None


def test_a_joist_alone_bends_as_a_beam():
    """One kilonewton in the middle, F l^3/(48 EI) + F l/(4 GA) for 4.2 m: 3.757 + 0.235 = 3.99 mm
    by hand. A deck a thousand times softer leaves the joist alone; 4 % for what it still takes
    (some 0.3 % by its stiffness over the spacing) and modes left out."""
    base = designs.basement()
    cloth = replace(designs.PLYWOOD, youngs_modulus=8e6, youngs_modulus_across=8e6,
                    shear_modulus=3e6)  # fmt: skip
    deck = replace(base.floor.layers[0], material=cloth)
    joists = replace(base.floor.joists, deck_fastening="none")
    design = replace(base, floor=replace(base.floor, joists=joists, layers=(deck,)))
    found = feeling.deflection(assemble(design, 60.0).bare, joist_lines(design.floor))
    assert found == pytest.approx(3.99, rel=0.04)


def test_an_example_is_ready_for_json(predicted):
    answer = predicted(EXAMPLE)
    feel = json.loads(json.dumps(answer.as_dict()["feel"], allow_nan=False))
    assert list(feel["walkers"]) == list(people.SOURCES)
    for walked in feel["walkers"].values():
        for case in ("bare", "ceiling"):
            one = walked[case]
            for what in ("floor", "ceiling"):
                v, a = (np.array(one[f"{what}_{kind}"]) for kind in
                        ("velocity_m_s", "acceleration_m_s2"))  # fmt: skip
                assert a == pytest.approx(v * 2 * np.pi * feeling.CENTRES, rel=2e-3)
            # beside the foot a floor moves more than on its average
            assert one["response_factor_foot"] > one["response_factor_floor"]
    # the ceiling's mass on the joists: f1 falls with the root of the masses
    assert feel["timber_left_out"] is None
    bare, ceiling = feel["timber"]["bare"], feel["timber"]["ceiling"]
    ratio = math.sqrt(bare["mass_per_area_kg_m2"] / ceiling["mass_per_area_kg_m2"])
    assert ceiling["f1"] / bare["f1"] == pytest.approx(ratio, rel=1e-6)

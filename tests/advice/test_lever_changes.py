"""The changes that levers try are what their words say: counted and weighed by hand."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest
from predictions import flat

from impact.advice import findings as advice
from impact.base import bands
from impact.design.parts import Fill, IndependentJoists, Layer, Mat, OldCeiling


def kilograms(layers) -> float:
    return sum(layer.thickness * layer.material.density for layer in layers)


def test_one_more_board_deeper_softer_heavier():
    base = designs.basement()
    found = advice.variants(base)
    assert set(found) == {"mass", "depth", "stiffness", "floor"}  # wool is there, no old ceiling
    words, more = found["mass"]
    assert words == "one more layer of gypsum board (5/8 in, 15.9 mm)"
    assert kilograms(more.ceiling.layers) == pytest.approx(3 * 0.0159 * 690)
    assert more.ceiling.layers[-1].bond == "nailed"
    metric = advice.variants(replace(base, units="metric"))["mass"][0]
    assert metric == "one more layer of gypsum board (15.9 mm)"
    assert found["depth"][1].cavity.clear_depth == pytest.approx(0.041 + 0.05)
    softer = found["stiffness"][1].hangers
    assert (softer.dynamic_stiffness, softer.static_stiffness) == (60e3, 42.5e3)
    heavier = found["floor"][1].floor.layers
    assert kilograms(heavier) - kilograms(base.floor.layers) == pytest.approx(20.0)
    assert found["floor"][0] == "4 psf (20 kg/m2) more mass on the floor above"
    assert found["depth"][0] == "2 in (50 mm) more cavity depth"
    there = advice.variants(replace(base, units="metric"))
    said = {kind: words for kind, (words, _) in there.items()}
    assert said["floor"] == "20 kg/m2 (4 psf) more mass on the floor above"
    assert said["depth"] == "50 mm (2 in) more cavity depth"
    for kind, (_, changed) in found.items():  # and nothing else
        other = {"mass": "ceiling", "depth": "cavity", "stiffness": "hangers", "floor": "floor"}
        assert replace(changed, **{other[kind]: getattr(base, other[kind])}) == base


def test_boards_straight_on_joists_have_no_depth_to_give():
    """Such a design is refused with a gap; it was told what 50 mm more would gain."""
    base = designs.basement()
    fixed = replace(
        base, hangers=designs.hangers("direct"), cavity=replace(base.cavity, clear_depth=0)
    )
    assert set(advice.variants(fixed)) == {"mass", "floor"}


@pytest.mark.parametrize(("made", "clear", "thickness"), [
    (designs.on_slab, 0.035, None), (designs.on_slab, 0.041, 0.041), (designs.on_slab, 0.15, 0.1),
    (designs.basement, 0.013, 0.1),  # channels on joists 235 mm deep
])  # fmt: skip
def test_wool_is_tried_where_it_fits_and_there_is_none(made, clear, thickness):
    """As thick as the cavity with the joists' bays, 100 mm at most, and not in less than 40 mm."""
    base = made()
    found = advice.variants(
        replace(base, cavity=replace(base.cavity, clear_depth=clear, fill=None))
    )
    assert ("fill" in found) is (thickness is not None)
    if thickness is not None:
        words, filled = found["fill"]
        assert filled.cavity.fill.thickness == thickness
        assert f"{1000 * thickness:.0f} mm" in words
        assert words.endswith("of mineral wool in the cavity")
        inches = {0.1: "3 15/16 in (100 mm)", 0.041: "1 5/8 in (41 mm)"}[thickness]
        assert words.startswith(inches) is (base.units == "imperial")  # 3.937 and 1.614 in


def test_an_old_ceiling_taken_down_leaves_its_wool():
    base = designs.basement()
    wool = Fill("glass wool", 0.1, 8e3, 20.0)
    old = OldCeiling(base.ceiling.layers[:1], "nailed", 0.4, 2e7, wool)
    without = replace(base, old_ceiling=old, cavity=replace(base.cavity, fill=None))
    down = advice.variants(without)["old ceiling"][1]
    assert down.old_ceiling is None
    assert down.cavity.fill == wool
    both = replace(base, old_ceiling=old)  # the cavity's own wool goes before
    assert advice.variants(both)["old ceiling"][1].cavity.fill == base.cavity.fill


def test_mass_on_the_floor_lies_below_what_floats():
    """A floating screed on its mat stays on top with what is glued to it: the mass goes onto the
    deck."""
    base = designs.basement()
    mat = Mat("mat", 10e6, 0.1, 0.02)
    screed = Layer(replace(designs.GYPSUM, name="screed"), 0.05, "floating", "across", mat)
    tiles = Layer(replace(designs.GYPSUM, name="tiles"), 0.01, "glued", "across")
    floor = replace(base.floor, layers=(*base.floor.layers, screed, tiles))
    layers = advice.variants(replace(base, floor=floor))["floor"][1].floor.layers
    names = [layer.material.name for layer in layers]
    assert names == ["plywood", "added mass", "screed", "tiles"]
    assert layers[1].thickness * layers[1].material.density == pytest.approx(20.0)


def test_ceilings_without_springs_have_none_to_soften():
    base = designs.basement()
    own = replace(base, hangers=None, independent=IndependentJoists(base.floor.joists))
    for design in (own, replace(base, hangers=designs.hangers("resilient channel"))):
        assert "stiffness" not in advice.variants(design)


def test_levers_are_told_best_first_with_the_band_that_gains_most():
    """3 dB less in all bands of the thud is 3 dB; 6 dB less at 50 Hz alone is a band's gain."""
    base = designs.basement()
    changes = {kind: advice.variants(base)[kind] for kind in ("mass", "depth")}
    level = flat(60.0)["walker_barefoot"]
    one = level.copy()
    one[bands.index(50.0)] -= 6.0
    found = advice.levers(changes, level, [one, level - 3.0])
    assert [lever.kind for lever in found] == ["depth", "mass"]
    assert found[0].gain_db == pytest.approx(3.0)
    assert (found[1].band_hz, found[1].band_gain_db) == (50.0, pytest.approx(6.0))
    assert 0 < found[1].gain_db < 6.0
    worse = advice.levers(changes, level, [level + 1.0, np.array(level)])
    assert [lever.kind for lever in worse] == ["depth", "mass"]
    assert worse[1].gain_db == pytest.approx(-1.0)

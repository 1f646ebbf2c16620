"""Inputs with their ranges, and the closed forms of an expansion whose effects add."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import floors
import numpy as np
import predictions
import pytest
from scipy import stats

import impact
from impact.spread import expansion, result
from impact.spread.inputs import END, inputs, moved, unfollowed
from tests.fuzz import seeds
from tests.texts import FEWEST

CONSTRUCTIONS = Path(__file__).parents[2] / "validation/constructions"


def test_ends_of_a_range_are_its_5_and_95_percent_points():
    # standard normal quantiles: any table, z(0.95) = 1.6449
    assert pytest.approx(stats.norm.ppf(0.95), abs=1e-4) == END
    assert moved(2.0, 1.0, 8.0, -END) == pytest.approx(1.0)
    assert moved(2.0, 1.0, 8.0, END) == pytest.approx(8.0)
    assert moved(2.0, 1.0, 8.0, 0.0) == 2.0
    # equal ratios: half way up, the geometric mean of 2 and 8
    assert moved(2.0, 1.0, 8.0, END / 2) == pytest.approx(4.0)
    # zero at an end: equal steps, and never below zero
    assert moved(0.0, 0.0, 0.3, END) == pytest.approx(0.3)
    assert moved(0.4, 0.0, 1.0, -2 * END) == 0.0


def test_every_range_of_a_floor_is_an_input_that_changes_what_it_names():
    design = floors.uncertain()
    by_key = {item.key: item for item in inputs(design)}
    assert len(by_key) == len(inputs(design))
    high = {key: item.change(design, END) for key, item in by_key.items()}
    joists = design.floor.joists
    # E 10 -> 12 GPa in every bending stiffness of the joist: EI = E b h³ / 12
    stiff = high["joist_stiffness"].floor.joists
    assert stiff.bending_stiffness == pytest.approx(12e9 * joists.width * joists.depth**3 / 12)
    assert stiff.mass_per_length == joists.mass_per_length
    # 450 -> 520 kg/m3 of joists and 550 -> 620 of plywood go together
    heavy = high["floor_mass"].floor
    assert heavy.joists.mass_per_length == pytest.approx(520 * joists.width * joists.depth)
    assert heavy.layers[0].mass_per_area == pytest.approx(620 * 0.018)
    assert high["hanger_stiffness"].hangers.dynamic_stiffness == pytest.approx(180e3)
    assert high["edge_stiffness"].ceiling.perimeter.bead_modulus == pytest.approx(1.2e6)
    assert high["rebound"].tapping.rebound == pytest.approx(0.4)
    assert high["edge_fixity"].floor.joists.edge_fixity == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("text", "damping", "stiffness"),
    [
        (seeds.CHANNELS, "floor.loss_factor", "resilient_channels.dynamic_stiffness"),
        (seeds.SCREWED, "floor.loss_factor", "direct_fixing.dynamic_stiffness"),
        (seeds.SLAB, "floor.slab.loss_factor", "hangers.dynamic_stiffness"),
    ],
)
def test_ranges_count_whatever_table_they_stand_in(text, damping, stiffness, make):
    """The range that the reader notes for a table, by path, is the input's at its upper end."""
    design = make(text)
    known = {spread.path: spread.high for spread in design.spreads}
    high = {item.key: item.change(design, END) for item in inputs(design)}
    assert high["floor_damping"].floor.loss_factor == pytest.approx(known[damping])
    moved_points = high["hanger_stiffness"].hangers
    assert moved_points.dynamic_stiffness == pytest.approx(known[stiffness])


def test_ranges_of_a_ceilings_own_joists_and_of_loose_fill_move_what_they_name(make):
    design = make(seeds.OWN_JOISTS)
    known = {spread.path: spread for spread in design.spreads}
    high = {item.key: item.change(design, END) for item in inputs(design)}
    before, after = design.independent.joists, high["ceiling_joist_stiffness"].independent.joists
    # E I with I = b h³/12 of 45 x 120 mm at the modulus' upper end; the floor's joists stay
    modulus = known["independent_joists.youngs_modulus"].high
    assert after.bending_stiffness == pytest.approx(modulus * 0.045 * 0.120**3 / 12)
    assert high["ceiling_joist_stiffness"].floor == design.floor
    heavy = high["ceiling_joist_mass"].independent.joists
    assert heavy.mass_per_length == pytest.approx(
        known["independent_joists.density"].high * 0.045 * 0.120
    )
    assert heavy.bending_stiffness == before.bending_stiffness

    design = make(seeds.CHANNELS)  # with loose fill between its joists
    known = {spread.path: spread for spread in design.spreads}
    high = {item.key: item.change(design, END) for item in inputs(design)}
    loss = known["floor.infill.loss_factor"].high
    assert high["infill_damping"].floor.infill.loss_factor == pytest.approx(loss)
    # its mass goes as its density: from the middle of the range, in equal ratios, to its end
    density = known["floor.infill.density"]
    ratio = high["infill_mass"].floor.infill.mass_per_area / design.floor.infill.mass_per_area
    assert ratio == pytest.approx((density.high / density.low) ** 0.5)


def test_a_design_without_ranges_has_no_inputs():
    import designs

    assert inputs(designs.basement()) == ()


def test_a_range_that_nothing_follows_is_told(make):
    """Spacing is taken as built, a depth has no input; hangers, boards and a catalogue's own ranges
    have theirs."""
    ranged = ('spacing = "600 mm"', 'spacing = {value = "600 mm", low = "590 mm", high = "610 mm"}')
    stiff = (
        'class = "rubber-in-shear clip"',
        'class = "rubber-in-shear clip"\n'
        'dynamic_stiffness = {value = "90 N/mm", low = "70 N/mm", high = "120 N/mm"}',
    )
    heavy = (
        'thickness = "12.5 mm"',
        'thickness = "12.5 mm"\n'
        'density = {value = "700 kg/m3", low = "650 kg/m3", high = "750 kg/m3"}',
    )
    assert unfollowed(make()) == ()
    assert unfollowed(make(FEWEST, stiff, heavy)) == ()
    assert unfollowed(make(FEWEST, stiff, heavy, ranged)) == ("floor.joists.spacing",)
    deep = '[cavity]\nclear_depth = {value = "100 mm", low = "90 mm", high = "110 mm"}\n'
    assert unfollowed(make(FEWEST, more=deep)) == ("cavity.clear_depth",)
    design = replace(predictions.by_hand().design, spreads=make(FEWEST, ranged).spreads)
    (said, *_) = predictions.by_hand(design=replace(design, warnings=())).notes
    assert said == "The 90 % band follows no range of floor.joists.spacing: taken as it stands."


def test_a_mat_keeps_its_range_above_boards_laid_twice(tmp_path):
    """Two boards written as one row of `count = 2`: the mat is on the third layer, second row."""
    once = (CONSTRUCTIONS / "floating_topping.toml").read_text(encoding="utf-8")
    twice = once.replace('thickness = "18 mm"', 'thickness = "18 mm"\ncount = 2')
    assert twice != once
    (file := tmp_path / "twice.toml").write_text(twice, encoding="utf-8")
    design = impact.read(file)
    (mat,) = (item for item in inputs(design) if item.key == "mat_stiffness")
    stiffer = mat.change(design, END).floor.layers[2].mat
    assert stiffer.stiffness_per_area > 1.2 * design.floor.layers[2].mat.stiffness_per_area


def test_effects_are_parabolas_with_tangents_but_for_corners():
    z = np.array([[-2.0], [-END], [0.0], [END], [2.0]])
    # z² - z: END² + END below, END² - END above; the tangent at END has the slope 2 END - 1
    ends = np.array([[[END**2 + END], [END**2 - END]]])
    out = 2.0 - END
    wanted = [END**2 + END + out * (2 * END + 1), END**2 + END, 0, END**2 - END,
              END**2 - END + out * (2 * END - 1)]  # fmt: skip
    assert expansion.summed(ends, z)[:, 0] == pytest.approx(wanted)
    # nothing to one side: straight, and no rise on the other
    corner = expansion.summed(np.array([[[0.0], [3.29]]]), z)[:, 0]
    assert corner == pytest.approx([0, 0, 0, 3.29, 2 * 3.29 / END])


def test_band_of_straight_effects_is_the_root_of_summed_squares():
    # JCGM 100:2008 (GUM) 5.1.2: independent effects add in quadrature; with straight effects of
    # 3 and 4 dB at the ends, 5 dB at the 5 and 95 % points of the sum. The draws are 4096 points
    # of a Sobol sequence: their quantiles are good to about 1 %.
    ends = np.array([[-3.0, 3.0], [4.0, -4.0]])[:, :, None]
    changes = expansion.summed(ends, expansion.draws(2))
    low, high = result.limits(np.zeros(1), changes, np.zeros(1))
    assert low[0] == pytest.approx(-5.0, abs=0.1)
    assert high[0] == pytest.approx(5.0, abs=0.1)
    # and the model's own standard uncertainty joins likewise: 12 dB / 1.6449 gives 13 in all
    low, high = result.limits(np.zeros(1), changes, np.array([12 / END]))
    assert high[0] - low[0] == pytest.approx(26.0, abs=0.1)


def test_a_one_sided_effect_gives_a_one_sided_band():
    ends = np.array([[0.0, -6.0]])[:, :, None]
    low, high = result.limits(np.zeros(1), expansion.summed(ends, expansion.draws(1)), np.zeros(1))
    assert low[0] == pytest.approx(-6.0, abs=0.1)
    assert high[0] == pytest.approx(0.0, abs=0.01)


def test_shares_are_sobol_indices():
    # scipy.stats.sobol_indices (Saltelli's estimator) on the same sum of effects
    ends = np.array([[-3.0, 1.0], [0.5, 2.0], [0.0, -4.0], [1.0, -1.0]])

    def effects(z):
        return expansion.summed(ends[:, :, None], z.T)[:, 0]

    shares = expansion.variance(ends)
    found = stats.sobol_indices(
        func=effects, n=2**13, dists=[stats.norm()] * len(ends), rng=np.random.default_rng(1)
    )
    # the estimator scatters by about 1/sqrt(n) = 0.01; four times that allowed
    assert shares / shares.sum() == pytest.approx(found.first_order, abs=0.04)
    # effects add: the first-order indices sum to one
    assert found.first_order.sum() == pytest.approx(1.0, abs=0.04)

"""From file to design: what arrives in SI, what is listed as default, spread and warning."""

from __future__ import annotations

import math

import pytest
from texts import FEWEST, SLAB

from impact.base import bands
from impact.design.lines import joist_lines
from impact.design.placing import place
from impact.design.reader import read
from impact.errors import DesignError

INCH, POUND = 0.0254, 4.4482216152605


def paths(design):
    return {default.path for default in design.defaults}


def test_fewest_keys_make_a_design_and_the_rest_is_listed(make):
    design = make()
    assert design.floor.joists.span == 4.0
    assert design.hangers.hanger_spacing == pytest.approx(1.2)  # two of 600 mm fit into 48 in
    assert design.cavity.clear_depth == pytest.approx(0.041)
    assert {"room.reverberation_time", "floor.loss_factor", "floor.joists.along",
            "floor.joists.material", "hangers.dynamic_stiffness", "hangers.channel_spacing",
            "hangers.edge_distance", "hangers.channel", "cavity.clear_depth", "tapping.rebound",
            "ceiling.perimeter.kind", "ceiling.perimeter.gap", "ceiling.loss_factor",
            "materials.gypsum board"} <= paths(design)  # fmt: skip
    for default in design.defaults:
        assert default.value
        assert default.source


def test_what_is_given_is_not_listed_as_default(make):
    more = '[tapping]\nrebound = 0.2\n[ceiling.perimeter]\nkind = "sealed"\n'
    design = make(FEWEST, ('class = "rubber-in-shear clip"',
                           'class = "rubber-in-shear clip"\ndynamic_stiffness = "90 N/mm"'),
                  more=more)  # fmt: skip
    assert design.tapping.rebound == 0.2
    assert not {"tapping.rebound", "ceiling.perimeter.kind", "hangers.dynamic_stiffness"} & paths(
        design
    )
    assert design.hangers.dynamic_stiffness == pytest.approx(90e3)
    assert "hangers.dynamic_stiffness" not in {s.path for s in design.spreads}


def test_joists_of_a_2_by_10_by_hand(make):
    """1 1/2 x 9 1/4 in: second moment 98.93 in4 in every lumber table; E 10 GPa, 460 kg/m3."""
    design = make(FEWEST, ('width = "60 mm"', 'width = "1 1/2 in"\nmaterial = "softwood"'),
                  ('depth = "220 mm"', 'depth = "9 1/4 in"'))  # fmt: skip
    joists = design.floor.joists
    assert joists.bending_stiffness == pytest.approx(10e9 * 98.93 * INCH**4, rel=1e-4)
    assert joists.mass_per_length == pytest.approx(460 * 13.875 * INCH**2, rel=1e-9)
    assert joists.axial_stiffness == pytest.approx(10e9 * 13.875 * INCH**2, rel=1e-9)


FIRST = ('spacing = "600 mm"', 'spacing = "600 mm"\nfirst_from_wall = "150 mm"')


def test_where_the_joists_stand(make):
    """By hand: 4 m span along the width, so they stand along the 5 m: from 0.15 m every 0.6 m to
    4.95 m. On a floor 6 m wide whose room begins 0.7 m from its edge the first over the room is at
    0.7 + 0.15 = 0.85 m of the floor, the first of all at 0.25 m."""
    assert "floor.joists.first_from_wall" in paths(make())
    design = make(FEWEST, FIRST)
    assert "floor.joists.first_from_wall" not in paths(design)
    assert place(design).joists == pytest.approx([0.15 + 0.6 * i for i in range(9)])
    wide = make(FEWEST, FIRST, ("[room]", '[room]\noffset_across = "0.7 m"'),
                ("[floor.joists]", '[floor]\nwidth = "6 m"\n[floor.joists]'))  # fmt: skip
    assert joist_lines(wide.floor) == pytest.approx([0.25 + 0.6 * i for i in range(10)])
    assert place(wide).joists == pytest.approx([0.15 + 0.6 * i for i in range(9)])


def test_before_the_first_joist_stands_no_other(make):
    said = 'first_from_wall = "700 mm"'
    with pytest.raises(DesignError, match="first_from_wall: 700 mm is more than their spacing of "
                                          "600 mm, so that another would stand"):  # fmt: skip
        make(FEWEST, ('spacing = "600 mm"', f'spacing = "600 mm"\n{said}'))


def test_damped_boards_are_damped(make):
    """Two boards of 12.5 mm with a loss factor of 0.2: more than the 0.03 that boards in place
    usually lose. What is stated of the ceiling goes first, and the boards' own is said to be left
    aside; a board below 0.03 changes nothing."""
    own = 'thickness = "12.5 mm"\nloss_factor = '
    damped = make(FEWEST, ('thickness = "12.5 mm"', own + "0.2\ncount = 2"))
    assert damped.ceiling.loss_factor == pytest.approx(0.2)
    (said,) = [each for each in damped.defaults if each.path == "ceiling.loss_factor"]
    assert (said.value, said.source[:15]) == ("0.2", "the boards' own")
    assert [s.high for s in damped.spreads if s.path == "ceiling.loss_factor"] == [0.4]
    assert make(FEWEST, ('thickness = "12.5 mm"', own + "0.01")).ceiling.loss_factor == 0.03
    stated = make(
        FEWEST, ('thickness = "12.5 mm"', own + "0.2"), more="[ceiling]\nloss_factor = 0.05\n"
    )
    assert stated.ceiling.loss_factor == 0.05
    assert any(w.startswith("ceiling.layers[0].loss_factor: not used") for w in stated.warnings)
    deck = make(FEWEST, ('thickness = "22 mm"', 'thickness = "22 mm"\nloss_factor = 0.2'))
    assert any(w.startswith("floor.layers[0].loss_factor: not used") for w in deck.warnings)


def test_x_runs_along_the_joists(make):
    """The file's length and width turn into x and y; so do patches, walls and positions."""
    more = """
[[room.bulkheads]]
x = "1 m"
y = "0.5 m"
length = "3 m"
width = "0.4 m"
drop = "200 mm"
[ceiling.perimeter]
kind = "sealed"
touching_walls = ["west", "north"]
"""
    along_width = make(more=more)
    assert (along_width.room.length, along_width.room.width) == (4.0, 5.0)
    patch = along_width.room.bulkheads[0]
    assert (patch.x, patch.y, patch.length, patch.width) == (0.5, 1.0, 0.4, 3.0)
    # file: west is x = 0, north is y = width; inside the axes change places
    assert along_width.ceiling.perimeter.touching_walls == ("south", "east")
    along_length = make(FEWEST, ('span = "4 m"', 'span = "5 m"\nalong = "length"'), more=more)
    assert (along_length.room.length, along_length.room.width) == (5.0, 4.0)
    assert along_length.room.bulkheads[0].x == 1.0
    assert along_length.ceiling.perimeter.touching_walls == ("west", "north")


def test_room_lies_under_the_middle_of_a_longer_floor(make):
    design = make(FEWEST, ('span = "4 m"', 'span = "4.6 m"'))
    assert design.floor.length == pytest.approx(4.6)
    assert design.room.offset_x == pytest.approx(0.3)
    assert "room.offset_along" in paths(design)
    given = make(
        FEWEST, ('span = "4 m"', 'span = "4.6 m"'), ("height", 'offset_along = "0 m"\nheight')
    )
    assert given.room.offset_x == 0.0


def test_count_expands_and_units_may_be_mixed(make):
    design = make(FEWEST, ('thickness = "12.5 mm"', 'thickness = "5/8 in"\ncount = 3'))
    assert len(design.ceiling.layers) == 3
    assert design.ceiling.thickness == pytest.approx(3 * 0.625 * INCH)


def test_changed_properties_change_only_that_layer(make):
    density = '{value = "800 kg/m3", low = "760 kg/m3", high = "840 kg/m3"}'
    changed = 'thickness = "12.5 mm"\ndensity = ' + density
    more = '[[ceiling.layers]]\nmaterial = "gypsum board"\nthickness = "12.5 mm"\n'
    design = make(FEWEST, ('thickness = "12.5 mm"', changed), more=more)
    first, second = (layer.material for layer in design.ceiling.layers)
    assert (first.density, second.density) == (800, 615)
    assert first.name != second.name
    assert first.youngs_modulus == second.youngs_modulus
    spreads = {spread.path: spread for spread in design.spreads}
    assert spreads[f"materials.{first.name}.density"].low == 760
    assert "ceiling.layers[0].density" not in spreads


def test_mass_per_area_instead_of_density(make):
    """2.5 psf is 12.206 kg/m2."""
    design = make(
        FEWEST, ('thickness = "12.5 mm"', 'thickness = "5/8 in"\nmass_per_area = "2.5 psf"')
    )
    assert design.ceiling.layers[0].mass_per_area == pytest.approx(2.5 * 4.882428, rel=1e-6)


def test_own_material_and_hanger_class(make):
    more = """
[materials."heavy board"]
based_on = "gypsum board"
density = "1000 kg/m3"
[hanger_classes."blue clip"]
dynamic_stiffness = {value = "80 N/mm", low = "70 N/mm", high = "95 N/mm", source = "our test"}
loss_factor = 0.08
load_maximum = "40 lb"
"""
    board, clip = ('"gypsum board"', '"Heavy Board"'), ('"rubber-in-shear clip"', '"blue clip"')
    design = make(FEWEST, board, clip, more=more)
    assert design.ceiling.layers[0].material.density == 1000
    assert design.ceiling.layers[0].material.youngs_modulus == pytest.approx(1.9e9)
    assert design.hangers.dynamic_stiffness == pytest.approx(80e3)
    assert design.hangers.load_maximum == pytest.approx(40 * POUND)
    spread = {s.path: s for s in design.spreads}["hangers.dynamic_stiffness"]
    assert (spread.low, spread.high, spread.source) == (70e3, 95e3, "our test")
    assert "hanger_classes.blue clip.dynamic_to_static" in paths(design)


def test_static_stiffness_leads_to_dynamic_by_the_ratio(make):
    design = make(FEWEST, ('class = "rubber-in-shear clip"', 'class = "rubber-in-shear clip"\n'
                           'static_stiffness = "60 N/mm"\ndynamic_to_static = 1.5'))  # fmt: skip
    assert design.hangers.dynamic_stiffness == pytest.approx(90e3)
    assert design.hangers.static_stiffness == pytest.approx(60e3)


def test_load_deflection_gives_the_slope_in_the_middle(make):
    """100 N at 1 mm, 300 N at 2 mm: half of 300 N lies on the second stretch, 200 N/mm."""
    design = make(FEWEST, ('class = "rubber-in-shear clip"', 'class = "rubber-in-shear clip"\n'
                           'load_deflection = [["100 N", "1 mm"], ["300 N", "2 mm"]]'))  # fmt: skip
    assert design.hangers.load_deflection == ((100.0, 0.001), (300.0, 0.002))
    assert design.hangers.static_stiffness == pytest.approx(200e3)
    assert design.hangers.dynamic_stiffness == pytest.approx(1.4 * 200e3)


@pytest.mark.parametrize(
    ("fixing", "kind"),
    [
        ('[resilient_channels]\nclass = "single-leg resilient channel"', "resilient channel"),
        ('[direct_fixing]\nclass = "screws"', "direct"),
    ],
)
def test_other_fixings_sit_at_every_joist(make, fixing, kind):
    design = make(FEWEST, ('[hangers]\nclass = "rubber-in-shear clip"', fixing))
    assert design.hangers.kind == kind
    assert design.hangers.hanger_spacing == pytest.approx(0.6)
    assert (design.hangers.channel is None) == (kind == "direct")
    assert design.cavity.clear_depth == pytest.approx(0.013 if kind != "direct" else 0.0)


def test_ceiling_on_joists_of_its_own(make):
    fixing = """[independent_joists]
width = "38 mm"
depth = "140 mm"
spacing = "400 mm"
[cavity]
clear_depth = "250 mm"
"""
    design = make(FEWEST, ('[hangers]\nclass = "rubber-in-shear clip"', fixing))
    assert design.hangers is None
    assert design.independent.joists.span == 4.0
    assert design.independent.joists.spacing == pytest.approx(0.4)


def test_floating_floor_covering_and_sand(make):
    more = """
[[floor.layers]]
material = "sand-cement screed"
thickness = "50 mm"
bond = "floating"
mat = "rock wool mat 80 kg/m3, 30 mm"
[floor.covering]
material = "carpet and pad"
[floor.infill]
material = "sand"
thickness = "60 mm"
"""
    design = make(more=more)
    top = design.floor.layers[-1]
    assert top.mat.stiffness_per_area == pytest.approx(11e6)
    assert design.floor.covering.contact_stiffness == pytest.approx(3e7)
    # 1600 kg/m3 x 0.06 m between joists of 60 mm at 600 mm: nine tenths of 96 kg/m2
    assert design.floor.infill.mass_per_area == pytest.approx(0.9 * 96)
    # and softwood boards of 22 mm, 460 kg/m3
    assert design.floor.fill_mass == pytest.approx(0.9 * (96 + 460 * 0.022))
    # half of what 60 mm of sand and 22 mm of boards leave of 220 mm above, the rest below
    assert design.floor.infill.below_deck == pytest.approx(0.069)
    assert design.floor.bay_depth == pytest.approx(0.069)
    told = {default.path for default in design.defaults}
    keys = ("carried_by", "board_thickness", "below_deck")
    assert {f"floor.infill.{key}" for key in keys} <= told


def test_fill_below_a_slab_is_told_to_lie_on_the_boards(make):
    """A slab has no joists that could hold it: the reason given must not speak of them."""
    slab = SLAB.format(slab='kind = "concrete"\nthickness = "180 mm"')
    design = make(slab, more='[cavity.fill]\nmaterial = "mineral wool"\nthickness = "100 mm"\n')
    assert design.cavity.fill.on_boards
    (told,) = (one for one in design.defaults if one.path == "cavity.fill.carried_by")
    assert told.source == "no joists are open to it from below"


def test_loose_fill_on_an_old_ceiling(make):
    more = """
[floor.infill]
mass_per_area = "72 kg/m2"
carried_by = "old ceiling"
[old_ceiling]
fixing = "lath"
[[old_ceiling.layers]]
material = "lath and plaster"
thickness = "22 mm"
"""
    floor = make(more=more).floor
    assert floor.infill.boards is None
    assert floor.fill_mass == 72
    # 72 kg/m2 on nine tenths of the plan: 50 mm of dry sand, 1600 kg/m3; 170 of 220 mm stay free
    assert floor.infill.thickness == pytest.approx(0.05)
    assert floor.bay_depth == pytest.approx(0.17)
    assert floor.infill.below_deck == pytest.approx(0.17)


@pytest.mark.parametrize(
    ("joists", "deck", "low", "high", "said"),
    [
        ('width = "60 mm"\ndepth = "220 mm"', "", 0.03, 0.12, "timber joist floors"),
        ('class = "open-web truss 14 in"', "", 0.03, 0.12, "timber joist floors"),
        ('class = "steel C-joist 203 mm, 1.6 mm"', "", 0.03, 0.12, "of steel joists no source"),
        # SCI P354 Table 4.1, from memory: 1.1 % of critical bare, 3 % furnished, 4.5 % with
        # partitions; a loss factor at resonance is twice that
        ('class = "steel bar joist 14 in"', "concrete", 0.022, 0.09, "SCI P354, from memory"),
    ],
)
def test_damping_of_a_floor_quotes_what_it_is_of(make, joists, deck, low, high, said):
    changes = [('width = "60 mm"\ndepth = "220 mm"', joists)]
    if deck:
        changes.append(('material = "particleboard"', f'material = "{deck}"'))
    design = make(FEWEST, *changes)
    path = "floor.loss_factor"
    told = next(each for each in design.defaults if each.path == path)
    spread = next(each for each in design.spreads if each.path == path)
    assert design.floor.loss_factor == 0.06 == pytest.approx(2 * 0.03)
    assert (spread.low, spread.high) == pytest.approx((low, high))
    assert said in told.source
    assert said in spread.source


@pytest.mark.parametrize("name", ["I-joist 11 7/8 in", "open-web truss 14 in",
                                  "steel C-joist 203 mm, 1.6 mm"])  # fmt: skip
def test_joists_of_other_kinds(make, name):
    design = make(FEWEST, ('width = "60 mm"\ndepth = "220 mm"', f'class = "{name}"'))
    joists = design.floor.joists
    assert joists.kind != "solid"
    assert math.isfinite(joists.shear_stiffness)
    # a joist without a catalogue class needs EI and mass, and says what else it took
    own = make(
        FEWEST,
        (
            'width = "60 mm"\ndepth = "220 mm"',
            'kind = "i-joist"\nwidth = "64 mm"\n'
            'depth = "302 mm"\nbending_stiffness = "370e6 lbf in2"\nmass_per_length = "4.5 kg/m"',
        ),
    )
    # 370e6 lbf in2 x 4.4482 N x 0.0254^2 m2 = 1.0618e6 N m2
    assert own.floor.joists.bending_stiffness == pytest.approx(1.0618e6, rel=1e-4)
    assert "floor.joists.shear_stiffness" in paths(own)


def test_background_curve_by_its_name(make):
    """ANSI/ASA S12.2-2019, NC 25: 80 dB in the 16 Hz octave, which three bands make up."""
    room = make(FEWEST, ("height =", 'background = "nc-25"\nheight =')).room
    assert room.background_name == "NC 25"
    assert len(room.background) == len(bands.NOMINAL)
    first = room.background[bands.index(12.5) : bands.index(20) + 1]
    assert 10 * math.log10(sum(10 ** (level / 10) for level in first)) == pytest.approx(80)


def test_background_as_a_table(make):
    more = '[room.background]\n"50" = 40\n"100" = 30\n"5000" = 10\n'
    design = make(more=more)
    assert design.room.background[bands.index(50)] == 40
    assert design.room.background[bands.index(10)] == 40
    assert 30 < design.room.background[bands.index(63)] < 40
    assert "room.background" in paths(design)


def test_absorption_area_gives_the_reverberation_time(make):
    """Sabine, below the ceiling: V = 5 x 4 x (2.5 - 0.1 - 0.0125) = 47.75 m3, so T = 55.3 V / (c A)
    = 55.3 x 47.75 / (343.2 x 10) = 0.769 s."""
    more = '[cavity]\nclear_depth = "100 mm"\n'
    design = make(FEWEST, ("height =", 'absorption_area = "10 m2"\nheight ='), more=more)
    assert design.room.reverberation_time == pytest.approx(0.769, abs=0.001)


def test_prices_per_foot_become_prices_per_metre(make):
    more = "[prices]\nchannel_per_ft = 0.3048\nboard_per_ft2 = 0.09290304\n"
    more += '[prices.by_name]\n"sand" = 2\n'
    design = make(more=more)
    assert design.prices["channel_per_m"] == pytest.approx(1.0)
    assert design.prices["board_per_m2"] == pytest.approx(1.0)
    assert design.prices["by_name: sand"] == 2.0


def test_target_knows_which_side_is_wanted(make):
    assert make(more='[target]\nquantity = "IIC"\nlimit = 50\n').target.sense == "at least"
    target = make(more='[target]\nquantity = "rubber_ball"\nlimit = 60\nband_hz = 63\n').target
    assert (target.sense, target.band_hz) == ("at most", 63)


def test_a_target_on_the_wrong_side_is_asked_about(make):
    """A higher IIC is better, a lower level: "at most" and "at least" are slips there."""
    said = {}
    for quantity, sense in (("IIC", "at most"), ("Ln_w", "at least"), ("IIC", "at least")):
        more = f'[target]\nquantity = "{quantity}"\nlimit = 50\nsense = "{sense}"\n'
        said[quantity, sense] = [w for w in make(more=more).warnings if "target.sense" in w]
    assert "higher is better of IIC; is 'at least' meant?" in said["IIC", "at most"][0]
    assert "lower is better of Ln_w; is 'at most' meant?" in said["Ln_w", "at least"][0]
    assert said["IIC", "at least"] == []


def test_unusual_values_warn_with_range_and_source(make):
    design = make(FEWEST, ('spacing = "600 mm"', 'spacing = "900 mm"'))
    assert any("floor.joists.spacing" in w and "250 mm to 700 mm" in w for w in design.warnings)


def test_no_depth_is_usual_for_boards_straight_on_the_joists(make):
    """Nor is a hung ceiling of 900 mm: that is told."""
    clips = '[hangers]\nclass = "rubber-in-shear clip"'
    screwed = FEWEST.replace(clips, '[direct_fixing]\nclass = "screws"')
    assert not make(screwed, more='[cavity]\nclear_depth = "0 mm"\n').warnings
    deep = make(more='[cavity]\nclear_depth = "900 mm"\n').warnings
    assert any("cavity.clear_depth" in w and "8 mm to 800 mm" in w for w in deep)


def test_a_hanger_taller_than_the_cavity_is_said(make):
    """The catalogue's 25 mm spring hangers are 130 mm high at least (common practice)."""
    spring = ('class = "rubber-in-shear clip"', 'class = "spring hanger 25 mm"')
    shallow, deep = '[cavity]\nclear_depth = "80 mm"\n', '[cavity]\nclear_depth = "200 mm"\n'
    found = [w for w in make(FEWEST, spring, more=shallow).warnings if "spring hanger 25 mm" in w]
    assert len(found) == 1
    assert "130 mm" in found[0]
    assert "80 mm" in found[0]
    assert not [w for w in make(FEWEST, spring, more=deep).warnings if "hanger" in w]
    known = ('class = "rubber-in-shear clip"', 'class = "spring hanger 25 mm"\nheight = "75 mm"')
    assert not [w for w in make(FEWEST, known, more=shallow).warnings if "hanger" in w]


def test_digest_follows_the_content(make):
    first = make()
    assert first.digest == make().digest
    assert len(first.digest) == 64
    assert make(more="# a remark\n").digest != first.digest


def test_every_spread_holds_the_value_in_use(make):
    design = make()
    spreads = {s.path: s for s in design.spreads}
    held = {
        "hangers.dynamic_stiffness": design.hangers.dynamic_stiffness,
        "hangers.channel.bending_stiffness": design.hangers.channel.bending_stiffness,
        "floor.loss_factor": design.floor.loss_factor,
        "floor.joists.slip_modulus_per_length": design.floor.joists.slip_modulus_per_length,
        "materials.particleboard.youngs_modulus": design.floor.layers[0].material.youngs_modulus,
        "room.reverberation_time": design.room.reverberation_time,
        "tapping.rebound": design.tapping.rebound,
        "ceiling.loss_factor": design.ceiling.loss_factor,
        "ceiling.perimeter.bead_modulus": design.ceiling.perimeter.bead_modulus,
    }
    for path, value in held.items():
        assert spreads[path].low <= value <= spreads[path].high, path
        assert spreads[path].low < spreads[path].high


def test_reading_leaves_heavy_libraries_alone():
    """The door is light: no numpy, no pint for units of the trade."""
    import subprocess
    import sys

    code = (
        "import sys; from impact.design.reader import read; read(sys.argv[1]);"
        "print([m for m in ('numpy', 'scipy', 'pint', 'matplotlib') if m in sys.modules])"
    )
    from pathlib import Path

    example = Path(__file__).parents[2] / "examples" / "01_basement_rental.toml"
    done = subprocess.run([sys.executable, "-c", code, str(example)], capture_output=True,
                          text=True, check=True)  # fmt: skip
    assert done.stdout.strip() == "[]"


def test_missing_file_names_the_remedy(tmp_path):
    with pytest.raises(DesignError, match="impact init"):
        read(tmp_path / "none.toml")


@pytest.mark.parametrize("asked", ["basement", "Basement.toml", "basment.toml"])
def test_a_missing_file_is_answered_with_one_called_alike(tmp_path, asked):
    with pytest.raises(DesignError, match=r"impact init|does not exist$"):
        read(tmp_path / asked)  # an empty folder
    (tmp_path / "basement.toml").write_text("")
    (tmp_path / "notes.txt").write_text("")
    with pytest.raises(DesignError, match=rf"did you mean '{tmp_path}/basement.toml'\?"):
        read(tmp_path / asked)


def test_what_sound_leaves_aside_of_the_plan_is_said(make):
    """1 x 1 m cut out of the room's rectangle: nothing is silently taken for something else."""
    cut = '[[room.notches]]\nname = "stair"\nx = "0 m"\ny = "0 m"\nlength = "1 m"\nwidth = "1 m"\n'
    whole, less = make(), make(more=cut)
    area = whole.room.length * whole.room.width
    (said,) = set(less.warnings) - set(whole.warnings)
    assert "'stair'" in said
    assert f"{100 / area:.0f} %" in said
    lamp = make(more=cut.replace('"1 m"', '"15 cm"').replace("notches", "openings"))
    (said,) = set(lamp.warnings) - set(whole.warnings)
    assert "less than 1 % of it, are left aside" in said  # and not 0 %

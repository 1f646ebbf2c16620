"""Sections of joists and slabs as they are read from a file, by hand: every stiffness and mass."""

from __future__ import annotations

import math

import pytest
from texts import FEWEST, SLAB

from impact.errors import DesignError

SIZE = 'width = "60 mm"\ndepth = "220 mm"'
WOOD = 'density = "420 kg/m3"\nyoungs_modulus = "11 GPa"\nshear_modulus = "690 MPa"'


def test_a_solid_joist_by_hand(make):
    """55 x 220 mm, 11 GPa, 690 MPa, 420 kg/m3: E b h3/12, E b h, 5/6 G b h, E h b3/12, b h; the
    torsion of a rectangle of 1 to 4 is 0.281 G h b3 (Timoshenko and Goodier, art. 109)."""
    made = make(FEWEST, (SIZE, f'width = "55 mm"\ndepth = "220 mm"\n{WOOD}')).floor.joists
    b, h = 0.055, 0.220
    assert made.bending_stiffness == pytest.approx(11e9 * b * h**3 / 12)
    assert made.axial_stiffness == pytest.approx(11e9 * b * h)
    assert made.shear_stiffness == pytest.approx(5 / 6 * 690e6 * b * h)
    assert made.lateral_stiffness == pytest.approx(11e9 * h * b**3 / 12)
    assert made.torsional_stiffness == pytest.approx(0.281 * 690e6 * h * b**3, rel=5e-3)
    assert made.mass_per_length == pytest.approx(420 * b * h)
    assert made.volume_per_length == pytest.approx(b * h)


def test_a_stiffness_of_the_file_goes_before_that_of_the_section(make):
    given = 'lateral_stiffness = "50 kN m2"\nshear_stiffness = "5 MN"\nmass_per_length = "6 kg/m"'
    made = make(FEWEST, (SIZE, f"{SIZE}\n{WOOD}\n{given}")).floor.joists
    assert (made.lateral_stiffness, made.shear_stiffness, made.mass_per_length) == (5e4, 5e6, 6.0)
    assert made.bending_stiffness == pytest.approx(11e9 * 0.06 * 0.22**3 / 12)


@pytest.mark.parametrize(
    ("kind", "density", "loss"), [("i-joist", 550.0, 0.03), ("steel", 7850.0, 0.01)]
)
def test_what_is_taken_for_a_joist_without_a_class(make, kind, density, loss):
    """EI = EA (0.45 h)2 of two flanges 0.9 h apart; EI/40 sideways; its mass by its density."""
    own = (f'kind = "{kind}"\nwidth = "64 mm"\ndepth = "300 mm"\n'
           'bending_stiffness = "900 kN m2"\nmass_per_length = "4.5 kg/m"')  # fmt: skip
    made = make(FEWEST, (SIZE, own)).floor.joists
    assert made.axial_stiffness == pytest.approx(900e3 / 0.135**2)
    assert made.lateral_stiffness == pytest.approx(900e3 / 40)
    assert made.volume_per_length == pytest.approx(4.5 / density)
    assert made.loss_factor == loss


STEEL = 'class = "steel C-joist 203 mm, 1.6 mm"'
BARS = 'class = "steel bar joist 14 in"'
BOARD, POUR = '"particleboard"', '"concrete"'


@pytest.mark.parametrize(
    ("joists", "deck", "held", "spacing"),
    [(SIZE, BOARD, "nailed", "200 mm"), (STEEL, BOARD, "screwed", "200 mm"),
     (BARS, BOARD, "screwed", "200 mm"), (BARS, POUR, "welded", "300 mm"),
     (STEEL, POUR, "screwed", "300 mm"), (SIZE, POUR, "nailed", "200 mm")],
)  # fmt: skip
def test_a_deck_is_held_as_is_usual_on_its_joists(make, joists, deck, held, spacing):
    made = make(FEWEST, (SIZE, joists), (BOARD, deck))
    assert made.floor.joists.deck_fastening == held
    told = {one.path: one.value for one in made.defaults}
    assert told["floor.joists.deck_fastening"] == held
    assert told["floor.joists.fastener_spacing"] == spacing


def test_slip_of_a_deck_on_steel_by_hand(make):
    """Boards of 720 kg/m3 (the catalogue's particleboard) by screws of 4.2 mm every 200 mm: twice
    EN 1995-1-1 Table 7.1, on bar joists as on sections (clause 7.1(3)). Steel deck of 0.76 mm,
    29.92 thousandths, below concrete: 1.15e-3 / 0.17298 = 6.648e-3 in/kip a weld, 26.34 kN/mm every
    300 mm; it may be as good as one with the joists."""
    twice = 2 * 1000 * 720**1.5 * 4.2 / 23 / 0.2
    for joists in (STEEL, BARS):
        found = make(FEWEST, (SIZE, joists)).floor.joists
        assert found.slip_modulus_per_length == pytest.approx(twice, rel=1e-6)
    made = make(FEWEST, (SIZE, BARS), (BOARD, POUR))
    assert made.floor.joists.slip_modulus_per_length == pytest.approx(26.34e6 / 0.3, rel=1e-3)
    (spread,) = [s for s in made.spreads if s.path == "floor.joists.slip_modulus_per_length"]
    assert spread.low < 0.6 * 87.8e6 < 10 * 87.8e6 < spread.high
    for said, slip in (("glued", math.inf), ("none", 0.0)):
        held = f'{BARS}\ndeck_fastening = "{said}"'
        assert (
            make(FEWEST, (SIZE, held), (BOARD, POUR)).floor.joists.slip_modulus_per_length == slip
        )


def test_welds_hold_concrete_on_steel_alone(make):
    for joists, deck in ((SIZE, POUR), (STEEL, BOARD)):
        with pytest.raises(DesignError, match="deck_fastening: 'welded' is of a steel deck below"):
            make(FEWEST, (SIZE, f'{joists}\ndeck_fastening = "welded"'), (BOARD, deck))
    thick = f'{BARS}\nfastener_diameter = "6 mm"'
    warned = make(FEWEST, (SIZE, thick), (BOARD, POUR)).warnings
    assert any("fastener_diameter: not used" in one for one in warned)


def test_hollow_units_by_hand(make):
    """A unit of 1200 x 200 mm with six round cores of 150 mm: 0.4418 is void; I of the rest is
    1200 200^3/12 - 6 pi 150^4/64 = 650.9e6 mm4 of 800e6. D = 30.5e9 0.2^3/12/0.96, and the rest of
    2300 kg/m3 0.2 m."""
    share = 6 * math.pi * 150**2 / 4 / (1200 * 200)
    left = (1200 * 200**3 / 12 - 6 * math.pi * 150**4 / 64) / (1200 * 200**3 / 12)
    assert left == pytest.approx(650.9 / 800, rel=1e-3)
    text = f'kind = "hollow"\nthickness = "200 mm"\nhollow_share = {share!r}'
    made = make(SLAB.format(slab=text)).floor.slab
    full = 30.5e9 * 0.2**3 / 12 / (1 - 0.2**2)
    assert made.bending_stiffness_along == pytest.approx(left * full)
    across = 1.501  # finite elements of such a cell, `test_hollow`: less than along
    assert made.bending_stiffness_across == pytest.approx(full / across, rel=0.02)
    assert made.twisting_stiffness == pytest.approx(left * full * (1 - 0.2) / 2)
    assert made.mass_per_area == pytest.approx((1 - share) * 0.2 * 2300)
    assert made.edges == "two sides"


def test_cores_side_by_side(make):
    """Void of pi/4 0.9: cores of 0.9 h that touch, I = h^3/12 - pi (0.9 h)^4/64 per 0.9 h."""
    text = f'kind = "hollow"\nthickness = "200 mm"\nhollow_share = {0.9 * math.pi / 4!r}'
    made = make(SLAB.format(slab=text)).floor.slab
    left = 1 - math.pi * 0.9**4 / 64 / 0.9 * 12
    full = 30.5e9 * 0.2**3 / 12 / (1 - 0.2**2)
    assert made.bending_stiffness_along == pytest.approx(left * full)


def test_what_the_file_says_of_a_slab_goes_before_its_section(make):
    text = ('kind = "hollow"\nthickness = "200 mm"\nmass_per_area = "300 kg/m2"\n'
            'bending_stiffness_across = "4 MN m"\nedges = "four sides"')  # fmt: skip
    made = make(SLAB.format(slab=text)).floor.slab
    assert (made.mass_per_area, made.bending_stiffness_across) == (300.0, 4e6)
    assert made.edges == "four sides"
    full = 30.5e9 * 0.2**3 / 12 / (1 - 0.2**2)
    assert made.bending_stiffness_along == pytest.approx((1 - 0.75 * 0.35 * 0.75**2) * full)


RIBBED = ('kind = "ribbed"\nthickness = "300 mm"\nrib_width = "120 mm"\nrib_depth = "220 mm"\n'
          'rib_spacing = "600 mm"')  # fmt: skip


def test_a_ribbed_slab_by_hand(make):
    """A T of one concrete: 600 x 80 mm above 120 x 220 mm. Centroid from the top (0.048 x 0.04 +
    0.0264 x 0.19)/0.0744 = 93.23 mm; I by Steiner; across the plate alone; mass 2300 (0.08 +
    0.0264/0.6). Twist: G 0.08^3/12 of the plate, and a quarter of the rib's torsion, 1 to 1.833."""
    made = make(SLAB.format(slab=RIBBED)).floor.slab
    middle = (0.048 * 0.04 + 0.0264 * 0.19) / 0.0744
    inertia = (0.6 * 0.08**3 / 12 + 0.048 * (middle - 0.04) ** 2
               + 0.12 * 0.22**3 / 12 + 0.0264 * (0.19 - middle) ** 2)  # fmt: skip
    assert made.bending_stiffness_along == pytest.approx(30.5e9 * inertia / 0.6, rel=1e-6)
    assert made.bending_stiffness_across == pytest.approx(30.5e9 * 0.08**3 / 12 / 0.96)
    assert made.mass_per_area == pytest.approx(2300 * (0.08 + 0.0264 / 0.6))
    shear = 30.5e9 / 2.4
    rib = (
        0.2205 * 0.22 * 0.12**3
    )  # beta between 0.196 at 1.5 and 0.229 at 2.0; Timoshenko, art. 109
    twist = shear * 0.08**3 / 12 + shear * rib / (4 * 0.6)
    assert made.twisting_stiffness == pytest.approx(twist, rel=0.01)
    assert made.axis[0] == pytest.approx(middle / 0.3, rel=1e-6)
    assert made.axis[1] == pytest.approx(0.04 / 0.3)


def test_a_timber_concrete_slab_takes_glued_wood_for_its_ribs(make):
    """70 mm of concrete on 120 x 240 mm at 700 mm, joined stiffly: mass by both densities."""
    text = ('kind = "composite"\nthickness = "310 mm"\nrib_width = "120 mm"\n'
            'rib_depth = "240 mm"\nrib_spacing = "700 mm"')  # fmt: skip
    design = make(SLAB.format(slab=text))
    ribs = design.floor.slab.mass_per_area - 2300 * 0.07
    density = ribs / (0.12 * 0.24 / 0.7)
    assert 380 < density < 500  # glued laminated timber of all classes, EN 14080, from memory
    assert "floor.slab.rib_material" in {one.path for one in design.defaults}


def test_cross_laminated_timber_across_by_hand(make):
    """40/20/40 mm of 11 and 0.3667 GPa, the middle across: E1 0.02^3/12 + E2 (0.1^3 - 0.02^3)/12;
    the middle of a symmetric layup is its axis."""
    layup = "".join(
        f'[[floor.slab.layup]]\nthickness = "{t} mm"\ndirection = "{d}"\n'
        for t, d in ((40, "along"), (20, "across"), (40, "along"))
    )
    made = make(SLAB.format(slab='kind = "cross-laminated"\n' + layup)).floor.slab
    weak = made.surface_modulus
    by_hand = 11e9 * 0.02**3 / 12 + weak * (0.1**3 - 0.02**3) / 12
    assert made.bending_stiffness_across == pytest.approx(by_hand, rel=1e-6)
    assert made.axis == pytest.approx((0.5, 0.5))


def test_a_mass_per_area_with_its_range_is_a_density_with_its_range(make):
    """12.5 mm of 9 to 11 kg/m2: 720 to 880 kg/m3."""
    board = 'material = "gypsum board"\nthickness = "12.5 mm"'
    ranged = '\nmass_per_area = {value = "10 kg/m2", low = "9 kg/m2", high = "11 kg/m2"}'
    design = make(FEWEST, (board, board + ranged))
    (layer,) = design.ceiling.layers
    assert layer.mass_per_area == pytest.approx(10.0)
    (found,) = [one for one in design.spreads if one.path.endswith("density")
                and "ceiling" in one.path]  # fmt: skip
    assert (found.low, found.high) == pytest.approx((720.0, 880.0))


def test_screwed_boards_are_nailed_ones_and_told_so(make):
    """Screws and nails alike let two boards slide on each other: neither makes them one section."""
    second = '\n[[floor.layers]]\nmaterial = "OSB"\nthickness = "15 mm"\nbond = "{}"\n'
    screwed, nailed = (make(more=second.format(bond)) for bond in ("screwed", "nailed"))
    assert screwed.floor.layers == nailed.floor.layers
    told = {each.path: each.source for each in screwed.defaults}
    assert told["floor.layers[1].bond"] == "screwed counts as nailed"

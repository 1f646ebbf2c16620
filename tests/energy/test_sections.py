"""Section formulas against hand-worked sections and textbook limits."""

import math

import pytest

from impact.base import sections as s


def test_unequal_layers_by_hand():
    """40/20/40 mm, outer layers 12 GPa, middle 0.4 GPa, per metre.

    By hand: symmetric, axis at 50 mm. Outer: 2 (12e9)(0.04^3/12 + 0.04 0.03^2) = 2 12e9 (5.3333e-6
    +
    36e-6) = 992 000; middle: 0.4e9 0.02^3/12 = 266.67. Sum 992 266.7 N m.
    """
    plies = [s.Ply(0.04, 12e9), s.Ply(0.02, 0.4e9), s.Ply(0.04, 12e9)]
    assert s.bonded_bending(plies) == pytest.approx(992_266.67, rel=1e-6)


def test_unsymmetric_layers_by_hand():
    """30 mm of 10 GPa under 10 mm of 30 GPa: equal E t, so the axis is midway between the two
    mid-planes (15 and 35 mm): 25 mm. B = 10e9 (0.03^3/12 + 0.03 0.01^2) + 30e9 (0.01^3/12 + 0.01
    0.01^2)
    = 52 500 + 32 500 = 85 000 N m."""
    plies = [s.Ply(0.03, 10e9), s.Ply(0.01, 30e9)]
    assert s.neutral_axis(plies) == pytest.approx(0.025)
    assert s.bonded_bending(plies) == pytest.approx(85_000)


def test_one_material_in_layers_is_the_solid_plate():
    """E t^3/12 whatever the cut."""
    cut = [s.Ply(0.013, 5e9), s.Ply(0.04, 5e9), s.Ply(0.007, 5e9)]
    assert s.bonded_bending(cut) == pytest.approx(5e9 * 0.06**3 / 12)
    assert s.sliding_bending(cut) < 0.4 * s.bonded_bending(cut)


def test_gamma_method_by_hand_and_its_limits():
    """EN 1995-1-1 eq. B.5: EA 2e8 N, K/s 1e7 N/m2, L 4 m: 1/(1 + 9.8696 2e8/(1e7 16)) = 0.07498."""
    assert s.gamma(4, 2e8, 1e7) == pytest.approx(0.07498, rel=1e-3)
    assert s.gamma(4, 2e8, math.inf) == 1
    glued = s.slipping_composite((1e4, 5e5), (2e8, 1e8), 0.1, math.inf, 4)
    # full composite of two bars: sum EI + EA1 EA2/(EA1 + EA2) a^2
    assert glued == pytest.approx(5.1e5 + 2e8 * 1e8 / 3e8 * 0.01)
    assert s.slipping_composite((1e4, 5e5), (2e8, 1e8), 0.1, 0.0001, 4) == pytest.approx(5.1e5)


def test_cross_laminated_against_the_gamma_method():
    """Three layers 40/20/40, L = 4 m, E 11 GPa, G 690 MPa, rolling 69 MPa; layers across left out.

    Gamma method (EN 1995-1-1 Annex B used for cross-laminated timber: joint stiffness G_R b /
    t_mid, two
    outer layers about the middle): gamma = 1/(1 + pi^2 11e9 0.04 0.02/(69e6 16)) with half of
    the middle layer's compliance to each side: K = 2 G_R/t per side, so t/2 = 0.01:
    gamma = 1/(1 + 9.8696 11e9 0.04 0.01/(69e6 16)) = 0.9622.
    EI = 2 11e9 (0.04^3/12 + 0.9622 0.04 0.03^2) = 879 429. Shear inside the outer layers is extra
    in
    the shear analogy, so the two differ by a few per cent.
    """
    plate = s.cross_laminated([(0.04, True), (0.02, False), (0.04, True)], 11e9, 690e6, 450, 4.0)
    assert plate.along == pytest.approx(879_429, rel=0.05)
    assert plate.mass_per_area == pytest.approx(45)
    # across: the middle layer alone and the outer ones at E/30
    assert plate.across == pytest.approx(11e9 * (0.02**3 / 12) + 909_333 / 30, rel=0.01)


def test_unequal_cross_layers_keep_their_order():
    """60 along under 20 across under 20 along is the same plate turned over."""
    up = [(0.06, True), (0.02, False), (0.02, True)]
    one = s.cross_laminated(up, 11e9, 690e6, 450, 4.0)
    two = s.cross_laminated(up[::-1], 11e9, 690e6, 450, 4.0)
    assert one.along == pytest.approx(two.along)
    assert one.along > s.cross_laminated([up[0], up[2], up[1]], 11e9, 690e6, 450, 4.0).along


def test_ribbed_slab_by_hand_and_limit():
    """Flange 100 mm, rib 100 x 200 at 500 mm, E 30 GPa: areas 0.05 and 0.02, centres 0.05 and 0.2,
    axis 0.092857; I = 4.1667e-5 + 0.05 0.042857^2 + 6.6667e-5 + 0.02 0.107143^2 = 4.29762e-4 m4
    per rib."""
    plate = s.ribbed(0.1, 0.1, 0.2, 0.5, 30e9, 0.2, 2400)
    assert plate.along == pytest.approx(30e9 * 4.29762e-4 / 0.5, rel=1e-4)
    assert plate.mass_per_area == pytest.approx(2400 * 0.14)
    flat = 30e9 * 0.1**3 / 12 / (1 - 0.04)
    assert plate.across == pytest.approx(flat, rel=0.25)
    assert plate.across > flat


def test_hollow_slab_limits():
    """No core: the solid plate both ways. With cores: stiffer along than across, and lighter by
    the area of the circle."""
    solid = 30e9 * 0.2**3 / 12 / 0.96
    none = s.hollow(0.2, 1e-9, 0.2, 30e9, 0.2, 2400)
    assert none.along == pytest.approx(solid)
    assert none.across == pytest.approx(solid)
    cored = s.hollow(0.2, 0.15, 0.2, 30e9, 0.2, 2400)
    assert cored.along > cored.across
    assert cored.mass_per_area == pytest.approx(2400 * (0.2 - math.pi * 0.15**2 / 4 / 0.2))


@pytest.mark.parametrize("plies", [[], [s.Ply(0, 1e9)], [s.Ply(0.1, -1)]])
def test_impossible_sections_are_refused(plies):
    with pytest.raises(ValueError, match=r"layer|above 0"):
        s.bonded_bending(plies)

"""Layers under a round face against closed forms of elasticity: endless, held, spread."""

import math

import pytest

from impact.source import layered

A = 0.015  # m, radius of the tapping machine's hammer (ISO 10140-5 Annex E)
ENDLESS = math.inf


def stiffness(layers, radius):
    """Mean pressure times area over mean displacement [N/m] of an endless solid like the layers:
    w = 16 (1 - nu^2) p a/(3 pi E) (Timoshenko and Goodier, sec. 139)."""
    young, poisson = layered.modulus(layers, radius), layers[0][1]
    return 3 * math.pi**2 * radius * young / (16 * (1 - poisson**2))


def test_layers_of_one_material_are_endless():
    assert layered.modulus([(1e9, 0.3, 0.004), (1e9, 0.3, ENDLESS)], A) == 1e9
    # and as computed, where the next differs by nothing that counts
    almost = [(1e9, 0.3, 0.004), (1.000001e9, 0.3, ENDLESS)]
    assert layered.modulus(almost, A) == pytest.approx(1e9, rel=1e-5)


@pytest.mark.parametrize("share", [1 / 20, 1 / 50])
def test_a_thin_soft_layer_on_a_rigid_one_cannot_give_way_sideways(share):
    """K = M pi a^2/h, M = E (1 - nu)/((1 + nu)(1 - 2 nu)) the modulus of confined compression (any
    text on elasticity); its rim of width h is the 1 % that is asked for."""
    young, poisson, thick = 1e9, 0.25, share * A
    confined = young * (1 - poisson) / ((1 + poisson) * (1 - 2 * poisson))
    layers = [(young, poisson, thick), (1e16, 0.25, ENDLESS)]
    assert stiffness(layers, A) == pytest.approx(confined * math.pi * A**2 / thick, rel=0.01)


def test_a_thin_stiff_plate_spreads_the_load():
    """Infinite plate on an endless solid under a point force: w = F l^2/(3 sqrt(3) D) with l^3 =
    2 D (1 - nu0^2)/E0 (A. H. A. Hogg, Phil. Mag. 25 (1938) 576; from memory, and by Hankel's
    transform by hand). Without friction below it; of a solid that keeps its volume, nu0 = 0.5,
    normal and tangential motion are apart, so that a bond changes nothing. 12 thicknesses in l, for
    which the face is a point and shear in the plate is small: 1 %."""
    soft, poisson, thick = 1e8, 0.5, 0.02
    young = 1e4 * soft
    bending = young * thick**3 / 12 / (1 - poisson**2)
    spread = (2 * bending * (1 - poisson**2) / soft) ** (1 / 3)
    by_hand = 3 * math.sqrt(3) * bending / spread**2
    layers = [(young, poisson, thick), (soft, poisson, ENDLESS)]
    assert stiffness(layers, thick / 2) == pytest.approx(by_hand, rel=0.01)


def test_a_layer_parted_in_two_is_the_layer():
    one = [(0.7e9, 0.3, 0.012), (20e9, 0.2, ENDLESS)]
    two = [(0.7e9, 0.3, 0.005), (0.7e9, 0.3, 0.007), (20e9, 0.2, ENDLESS)]
    assert layered.modulus(two, A) == pytest.approx(layered.modulus(one, A), rel=1e-6)


def test_what_is_thinner_than_a_tenth_of_a_face_hardly_counts_between_like_solids():
    """Soft paint of 0.1 mm on stone: in series with the stone, K1 = M pi a^2/h of the paint as
    above: 1/(1/K1 + 1/K2)."""
    paint, stone = (2e9, 0.3, 1e-4), (30e9, 0.2, ENDLESS)
    confined = 2e9 * 0.7 / (1.3 * 0.4)
    first, second = confined * math.pi * A**2 / 1e-4, stiffness([stone], A)
    assert stiffness([paint, stone], A) == pytest.approx(1 / (1 / first + 1 / second), rel=0.02)

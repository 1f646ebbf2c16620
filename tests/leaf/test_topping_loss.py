"""What a deck loses as it bends when something is poured over it: each layer by its energy."""

from dataclasses import replace

import numpy as np
import pytest
from designs import basement, sanded

from impact.design.parts import Layer, Material
from impact.leaf import build, loss
from impact.leaf.plate import modes

OSB = Material("OSB", 620.0, 4.9e9, 2.0e9, 0.3, 0.02, 1.08e9)
GYPSUM = Material("topping", 1840.0, 12e9, 12e9, 0.2, 0.015, 5e9, poured=True)
FLOOR = basement().floor


def _floor(bond: str, material: Material = GYPSUM, own: float = 0.06):
    layers = (Layer(OSB, 0.018, "nailed", "across"), Layer(material, 0.025, bond, "across"))
    return replace(FLOOR, layers=layers, loss_factor=own, infill=None)


def test_poured_topping_glued_on_a_deck_by_hand():
    # Steiner by hand, in GPa and mm. Along: axis (2*18*9 + 12*25*30.5)/336 = 28.196; boards 2*486 +
    # 36*19.196² = 14238, topping 15625 + 300*2.304² = 17217. Across: axis 25.615; boards 4.9*486 +
    # 88.2*16.615² = 26729, topping 15625 + 300*4.885² = 22784.
    boards, topping = 14238 + 26729, 17217 + 22784
    hand = (0.06 * boards + 0.015 * topping) / (boards + topping)
    assert build.deck_loss(_floor("glued")) == pytest.approx(hand, rel=1e-4)


def test_poured_topping_that_slides_by_hand():
    boards, topping = (2.0 + 4.9) * 18**3, 2 * 12 * 25**3  # E t³, both ways
    hand = (0.06 * boards + 0.015 * topping) / (boards + topping)
    assert build.deck_loss(_floor("loose")) == pytest.approx(hand, rel=1e-9)


def test_boards_and_floors_that_lose_less_stay():
    assert build.deck_loss(_floor("nailed", replace(GYPSUM, poured=False))) == pytest.approx(0.06)
    assert build.deck_loss(_floor("glued", own=0.01)) == pytest.approx(0.01)


def test_fill_between_joists_adds_to_all():
    plain = build.deck_loss(_floor("glued"))
    filled = replace(_floor("glued"), infill=sanded(basement(), loss=0.05).floor.infill)
    assert build.deck_loss(filled) == pytest.approx(plain + 0.05)


def test_share_of_the_plate_is_how_its_stiffness_moves_the_mode():
    # Rayleigh: d ln(omega²)/d ln D = U_plate/U of each mode; D raised by 1e-4, so 1e-4 of error
    plate = build.floor_plate(_floor("glued"), (0.4, 0.8, 1.2, 1.6, 2.0))
    more = 1e-4
    raised = {
        key: getattr(plate, key) * (1 + more)
        for key in ("bending_x", "bending_y", "bending_nu", "twisting")
    }
    first, second = modes(plate, 200.0), modes(replace(plate, **raised), 200.0)
    moved = np.log(second.omega[:30] ** 2 / first.omega[:30] ** 2) / np.log1p(more)
    assert np.ptp(moved) > 0.3  # modes of joists and of the deck
    np.testing.assert_allclose(loss.share_of_plate(first)[:30], moved, atol=1e-3)
    want = 0.06 + (plate.plate_loss - 0.06) * moved
    np.testing.assert_allclose(first.losses[:30], want, atol=1e-4)


def test_without_joists_all_modes_lose_what_the_plate_does():
    plate = replace(build.floor_plate(_floor("glued"), (0.4,)), ribs_x=None, ribs_y=None)
    np.testing.assert_allclose(modes(plate, 100.0).losses, plate.plate_loss, rtol=1e-6)

"""Section formulas against hand-worked sections and textbook limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from impact.base.sections import bonded_bending, joined_bending


def test_unequal_layers_by_hand():
    """40/20/40 mm, outer layers 12 GPa, middle 0.4 GPa, per metre.

    By hand: symmetric, axis at 50 mm. Outer: 2 (12e9)(0.04^3/12 + 0.04 0.03^2) = 2 12e9 (5.3333e-6
    + 36e-6) = 992 000; middle: 0.4e9 0.02^3/12 = 266.67. Sum 992 266.7 N m.
    """
    found = bonded_bending([0.04, 0.02, 0.04], [12e9, 0.4e9, 12e9])
    assert found == pytest.approx(992_266.67, rel=1e-6)


def test_unsymmetric_layers_by_hand():
    """30 mm of 10 GPa under 10 mm of 30 GPa: equal E t, so the axis is midway between the two
    mid-planes (15 and 35 mm): 25 mm. B = 10e9 (0.03^3/12 + 0.03 0.01^2) + 30e9 (0.01^3/12 + 0.01
    0.01^2) = 52 500 + 32 500 = 85 000 N m; the same turned over."""
    assert bonded_bending([0.03, 0.01], [10e9, 30e9]) == pytest.approx(85_000)
    assert bonded_bending([0.01, 0.03], [30e9, 10e9]) == pytest.approx(85_000)


def test_one_material_in_layers_is_the_solid_plate():
    """E t^3/12 whatever the cut."""
    found = bonded_bending([0.013, 0.04, 0.007], [5e9] * 3)
    assert found == pytest.approx(5e9 * 0.06**3 / 12)


def test_a_joint_that_slips_by_hand_and_its_limits():
    """EN 1995-1-1 eq. B.5: EA 2e8 N, K 1e7 N/m2, L 4 m: gamma = 1/(1 + 9.8696 2e8/(1e7 16)) =
    0.07498. With EA2 1e8 N, a 0.1 m: 1.49959e7 1e8/(1.149959e8) 0.01 = 130 404 N m2, by hand to
    five digits. Rigid: two bars, EA1 EA2/(EA1 + EA2) a^2; hardly held: nothing."""
    k2, axial = (math.pi / 4) ** 2, (2e8, 1e8)
    assert joined_bending(k2, axial, 0.1, 1e7) == pytest.approx(130_404, rel=1e-4)
    assert joined_bending(k2, axial, 0.1, math.inf) == pytest.approx(2e16 / 3e8 * 0.01)
    assert joined_bending(k2, axial, 0.1, 0.0001) < 1e-3
    both = joined_bending(np.array([k2, 1e-12]), axial, 0.1, 1e7)
    assert both == pytest.approx([130_404, 2e16 / 3e8 * 0.01], rel=1e-4)

"""Section stiffness of joists and slabs, against printed tables and independent integration."""

from __future__ import annotations

import math

import numpy as np
import pytest

from impact.base.sections import bonded_bending
from impact.design.build_joists import rectangle_torsion, sheet_stiffness, slip_modulus
from impact.design.build_slab import ribbed_stiffness

# Timoshenko and Goodier, Theory of Elasticity, art. 109: J = beta a b^3, printed to three digits.
TORSION = [(1.0, 0.1406), (1.5, 0.196), (2.0, 0.229), (2.5, 0.249), (3.0, 0.263), (4.0, 0.281),
           (5.0, 0.291), (10.0, 0.312)]  # fmt: skip


@pytest.mark.parametrize(("ratio", "beta"), TORSION)
def test_torsion_of_rectangles(ratio, beta):
    """0.5 %: the accuracy that Roark states for the polynomial."""
    assert rectangle_torsion(0.04, 0.04 * ratio) == pytest.approx(
        beta * 0.04 * ratio * 0.04**3, rel=5e-3
    )
    assert rectangle_torsion(0.04 * ratio, 0.04) == rectangle_torsion(0.04, 0.04 * ratio)


def test_slip_modulus_of_en_1995_worked_by_hand():
    """EN 1995-1-1 Table 7.1, rho 420 kg/m3: nail 3.1 mm, 8607.4 x 2.4724 / 30 = 709.4 N/mm;
    screw 4 mm, 8607.4 x 4 / 23 = 1496.9 N/mm. Four digits worked."""
    assert slip_modulus(420, 0.0031, "nailed") == pytest.approx(709.4e3, rel=1e-3)
    assert slip_modulus(420, 0.004, "screwed") == pytest.approx(1496.9e3, rel=1e-3)


def test_a_steel_deck_gives_at_its_fasteners_by_hand():
    """Diaphragm Design Manual (from memory): 0.0299 in of sheet, its root 0.1729; a weld 1.15e-3 /
    0.1729 = 6.651e-3 in/kip, 150.4 kip/in; 1 kip/in is 175.127 kN/m (NIST SP 811). A screw gives
    1.30/1.15 times as much."""
    weld = sheet_stiffness(0.0299 * 0.0254, "welded")
    assert weld == pytest.approx(150.4 * 175.127e3, rel=1e-3)
    assert sheet_stiffness(0.0299 * 0.0254, "screwed") == pytest.approx(weld * 1.15 / 1.30)


def integrated(thicknesses, moduli, slices=100_000):
    """Bending stiffness per width by cutting the depth into thin slices."""
    edges = np.concatenate([[0], np.cumsum(thicknesses)])
    z = (np.arange(slices) + 0.5) * edges[-1] / slices
    e = np.asarray(moduli)[np.searchsorted(edges, z, side="right") - 1]
    middle = (e * z).sum() / e.sum()
    return (e * (z - middle) ** 2).sum() * edges[-1] / slices


@pytest.mark.parametrize(
    "thicknesses", [[0.04, 0.02, 0.04], [0.03, 0.02, 0.05], [0.02, 0.03, 0.04, 0.02, 0.06]]
)
def test_layup_of_unequal_lamellae(thicknesses):
    """Slices of 1 micrometre: 1e-4."""
    moduli = [11e9 if i % 2 == 0 else 0.37e9 for i in range(len(thicknesses))]
    assert bonded_bending(thicknesses, moduli) == pytest.approx(
        integrated(thicknesses, moduli), rel=1e-4
    )


def test_symmetric_layup_by_hand():
    """40/20/40 mm: 11e9 (0.1^3 - 0.02^3)/12 + 0.37e9 0.02^3/12 = 909 333 + 247 N m."""
    found = bonded_bending([0.04, 0.02, 0.04], [11e9, 0.37e9, 11e9])
    assert found == pytest.approx(909_580, rel=1e-6)


def test_two_equal_beams_rigidly_joined_are_one():
    """E b (2h)^3 / 12; without connection the sum of two E b h^3 / 12."""
    beam = (10e9, 0.1, 0.2)
    assert ribbed_stiffness(beam, beam, math.inf, 5.0) == pytest.approx(10e9 * 0.1 * 0.4**3 / 12)
    assert ribbed_stiffness(beam, beam, 0.0, 5.0) == pytest.approx(2 * 10e9 * 0.1 * 0.2**3 / 12)


def test_gamma_method_against_the_differential_equation():
    """Newmark's partial interaction under a sine load, exact for a sine:
    1/EI = 1/EI_full + (1/EI_none - 1/EI_full) / (1 + a2 L2/pi2),
    a2 = K (1/EA1 + 1/EA2 + r2/EI_none); r the distance of the centroids."""
    plate, rib, slip, span = (30e9, 0.6, 0.07), (12e9, 0.12, 0.24), 4e7, 6.0
    none = ribbed_stiffness(plate, rib, 0.0, span)
    full = ribbed_stiffness(plate, rib, math.inf, span)
    arm = (plate[2] + rib[2]) / 2
    axial = [p[0] * p[1] * p[2] for p in (plate, rib)]
    a2 = slip * (1 / axial[0] + 1 / axial[1] + arm**2 / none)
    exact = 1 / (1 / full + (1 / none - 1 / full) / (1 + a2 * span**2 / math.pi**2))
    assert none < exact < full
    assert ribbed_stiffness(plate, rib, slip, span) == pytest.approx(exact, rel=1e-9)

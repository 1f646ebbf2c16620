"""Slabs from the file: stiffness and mass of every kind, and the face that a hammer meets."""

from __future__ import annotations

from pathlib import Path

import pytest
from texts import SLAB

from impact import read

HERE = Path(__file__).parents[2] / "validation" / "constructions"


def test_concrete_slab_by_the_plate_formula(make):
    """D = E h3 / 12 (1 - nu2), 140 mm, 30.5 GPa, 0.2: 7.265 MN m; D_66 = D (1 - nu) / 2."""
    slab = make(SLAB.format(slab='kind = "concrete"\nthickness = "140 mm"')).floor.slab
    assert slab.bending_stiffness_along == pytest.approx(7.265e6, rel=1e-3)
    assert slab.twisting_stiffness == pytest.approx(0.4 * 7.265e6, rel=1e-3)
    assert slab.mass_per_area == pytest.approx(322.0)
    assert slab.edges == "four sides"


def test_cross_laminated_slab(make):
    layup = "".join(
        f'[[floor.slab.layup]]\nthickness = "{t} mm"\ndirection = "{d}"\n'
        for t, d in ((40, "along"), (20, "across"), (40, "along"))
    )
    slab = make(SLAB.format(slab='kind = "cross-laminated"\n' + layup)).floor.slab
    assert slab.thickness == pytest.approx(0.1)
    assert slab.bending_stiffness_along == pytest.approx(909_580, rel=1e-5)  # by hand
    assert slab.bending_stiffness_across < slab.bending_stiffness_along / 20
    assert slab.edges == "two sides"


@pytest.mark.parametrize(
    "slab",
    [
        'kind = "hollow"\nthickness = "200 mm"',
        'kind = "lightweight"\nthickness = "150 mm"',
        'kind = "ribbed"\nthickness = "300 mm"\nrib_width = "120 mm"\nrib_depth = "220 mm"\n'
        'rib_spacing = "600 mm"',
        'kind = "composite"\nthickness = "310 mm"\nrib_width = "120 mm"\nrib_depth = "240 mm"\n'
        'rib_spacing = "700 mm"\nslip_modulus_per_length = "60 MN/m2"',
    ],
)
def test_other_slabs(make, slab):
    made = make(SLAB.format(slab=slab)).floor.slab
    assert 50 < made.mass_per_area < 500
    assert made.bending_stiffness_along >= made.bending_stiffness_across > 0
    assert made.twisting_stiffness > 0


@pytest.mark.parametrize(
    ("name", "modulus"),
    [
        # concrete 30.5 GPa, Hopkins 2007 Table A2, whatever the ribs below it do
        ("slab_concrete", 30.5e9),
        ("slab_ribbed", 30.5e9),
        ("timber_concrete", 30.5e9),
        # spruce across the grain, E/30 of 11 GPa (EN 338, from memory, check the standard)
        ("cross_laminated", 0.37e9),
    ],
)
def test_a_hammer_meets_the_face_not_the_bending_of_ribs_or_lamellae(name, modulus):
    assert read(HERE / f"{name}.toml").floor.slab.surface_modulus == pytest.approx(modulus)

"""What a hammer meets on a slab without layers: its face, not the bending of ribs or lamellae."""

from __future__ import annotations

from pathlib import Path

import pytest

from impact import read

HERE = Path(__file__).parents[2] / "validation" / "constructions"


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
def test_face(name, modulus):
    assert read(HERE / f"{name}.toml").floor.slab.surface_modulus == pytest.approx(modulus)

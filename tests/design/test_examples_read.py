"""Every example is a design that reads without fault or warning, and says that it is invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from impact.design.reader import read
from impact.errors import DesignError

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_example_reads(path):
    design = read(path)
    assert design.warnings == ()
    assert design.path == str(path)
    assert "nvented" in path.read_text("utf-8")


def test_the_standing_examples_are_there():
    assert {"01_basement_rental", "02_old_ceiling_left"} <= {path.stem for path in EXAMPLES}


def test_basement_rental_is_what_the_question_asks():
    """2 x 10 at 16 in, 13 ft span, 9 in to spend, two 5/8 in boards of 2.2 psf each (1 %: the
    trade's weight has two digits)."""
    design = read(EXAMPLES[0])
    joists = design.floor.joists
    assert joists.depth == pytest.approx(9.25 * 0.0254)
    assert joists.spacing == pytest.approx(16 * 0.0254)
    assert joists.span == pytest.approx(13 * 0.3048)
    assert design.cavity.clear_depth + design.ceiling.thickness == pytest.approx(9 * 0.0254)
    mass = sum(layer.mass_per_area for layer in design.ceiling.layers)
    assert mass == pytest.approx(2 * 2.2 * 4.882428, rel=0.01)


def test_old_ceiling_stays_forty_one_millimetres_above():
    design = read(EXAMPLES[1])
    assert design.old_ceiling is not None
    assert design.cavity.fill is None
    assert design.cavity.clear_depth == pytest.approx(0.041, abs=0.0005)


def test_a_broken_example_would_be_seen(tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text(EXAMPLES[0].read_text("utf-8").replace("16 in", "16"), "utf-8")
    with pytest.raises(DesignError):
        read(path)

"""Shapes at places in rows, and projections, are the same however they are summed."""

from __future__ import annotations

import designs
import numpy as np
import pytest

from impact.leaf import pairs
from impact.motion.assemble import assemble


@pytest.fixture(scope="module")
def leaf():
    return assemble(designs.basement(), 60.0).whole.leaves[-1]


def test_places_in_rows_are_places_one_by_one(leaf, monkeypatch):
    """One place at a time is the plain sum over products; 1e-10 of the largest: rounding."""
    monkeypatch.setattr(pairs, "ENTRIES", 1)  # more than one block
    places = np.array([(x, y) for x in (0.3, 1.1, 2.5, 0.9, 3.9) for y in (0.2, 1.7, 3.1)])
    together = leaf.shapes(places)
    for place, shapes in zip(places, together, strict=True):
        alone = leaf.shapes(place[None])[0]
        assert shapes == pytest.approx(alone, abs=1e-10 * np.abs(together).max())


@pytest.mark.parametrize(("left", "right"), [(2, 5), (5, 2), (1, 1)])
def test_projection_is_the_double_sum(leaf, left, right):
    """Sum over both sides' functions as written; 1e-10 of the largest: rounding."""
    rng = np.random.default_rng(1)
    a, b = rng.standard_normal((left, leaf.x.count)), rng.standard_normal((right, leaf.y.count))
    plain = np.einsum("am,bk,mkn->abn", a, b, leaf.coefficients)
    assert leaf.project(a, b) == pytest.approx(plain, abs=1e-10 * np.abs(plain).max())


def test_chosen_pairs_are_those_of_the_whole_projection(leaf, monkeypatch):
    """The double sum as written, at some of its places; 1e-10 of the largest: rounding."""
    monkeypatch.setattr(pairs, "ENTRIES", 1)
    rng = np.random.default_rng(2)
    a, b = rng.standard_normal((5, leaf.x.count)), rng.standard_normal((4, leaf.y.count))
    first, second = np.array([0, 0, 1, 3, 4, 4]), np.array([1, 3, 0, 2, 0, 3])
    plain = np.einsum("am,bk,mkn->abn", a, b, leaf.coefficients)[first, second]
    found = pairs.summed(leaf, a, b, first, second)
    assert found == pytest.approx(plain, abs=1e-10 * np.abs(plain).max())

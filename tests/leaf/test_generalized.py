"""Generalized eigenvalues against two masses by hand."""

from __future__ import annotations

import numpy as np
import pytest

from impact.leaf import generalized


@pytest.mark.parametrize("largest", [generalized.LARGE, 0])
def test_two_masses_on_three_springs(monkeypatch, largest):
    """m = 1 and 4 kg, 2 N/m to either wall, 2 N/m between: (4 - w²)(4 - 4 w²) = 4, w² = (5 -+
    sqrt(13))/2."""
    monkeypatch.setattr(generalized, "LARGE", largest)
    stiffness, mass = np.array([[4.0, -2.0], [-2.0, 4.0]]), np.diag([1.0, 4.0])
    squares, vectors = generalized.generalized(stiffness, mass)
    np.testing.assert_allclose(squares, (5 + np.sqrt(13) * np.array([-1, 1])) / 2, rtol=1e-13)
    np.testing.assert_allclose(vectors.T @ mass @ vectors, np.eye(2), atol=1e-13)
    np.testing.assert_allclose(stiffness @ vectors, mass @ vectors * squares, atol=1e-12)

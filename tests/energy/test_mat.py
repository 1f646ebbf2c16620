"""What a mat hands down over a band."""

import numpy as np
import pytest

from impact.design.parts import Mat
from impact.energy import mat

OMEGA = 2 * np.pi * np.geomspace(50, 5000, 40)


def test_points_through_a_light_mat_are_springs():
    """1/|Y1 + Y2 + i omega/k|^2 (Cremer/Heckl/Petersson 2005 ch. 5), k = s'' times the piece; a
    band holds the mean over five places, 3 % off the middle where it goes as omega^-2."""
    y1, y2 = np.full(40, 1e-5 + 0j), np.full(40, 2e-5 + 1e-5j)
    one = Mat("m", 8e6, 0.1, 0.02)
    expected = 1 / np.abs(y1 + y2 + 1j * OMEGA / (8e6 * (1 + 0.1j) * 0.3)) ** 2
    assert mat.conductance(one, 0.3, (y1, y2), OMEGA) == pytest.approx(expected, rel=0.03)

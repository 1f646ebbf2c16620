"""What feet feel: EN 1995-1-1 floor, base curves."""

import math

import numpy as np
import pytest

from impact.sound import feel

# Worked floor: joists 45 x 220 at 400 mm, E 9 GPa, 18 mm deck of 4.93 GPa, span 3.7 m, width
# 4.4 m, 35 kg/m2, damping 1 %, b = 100. The four results computed from EN 1995-1-1 (7.4)-(7.7).
FLOOR = feel.JoistFloor(
    span=3.7,
    width=4.4,
    stiffness_along=9e9 * 0.045 * 0.220**3 / 12 / 0.400,
    stiffness_across=4.93e9 * 0.018**3 / 12,
    mass_per_area=35.0,
)


def test_timber_floor():
    """f1 18.383 Hz, n40 7.2746, v 0.024758, limit 0.023317 m/(N s2): the floor does not pass."""
    f1 = feel.first_frequency(FLOOR.span, FLOOR.stiffness_along, FLOOR.mass_per_area)
    assert f1 == pytest.approx(18.383, abs=0.001)  # to the last printed digit, as all here
    assert feel.modes_to_40(FLOOR) == pytest.approx(7.2746, abs=1e-4)
    assert feel.unit_impulse_velocity(FLOOR) == pytest.approx(0.024758, abs=1e-6)
    assert feel.velocity_limit(f1, 0.01, 100.0) == pytest.approx(0.023317, abs=1e-6)
    check = feel.timber_check(FLOOR, deflection_limit=1.5)  # 160 - 40 x 1.5 = 100
    assert not check.velocity_within
    assert check.applies


def test_velocity_parameter_is_that_of_the_annex():
    """UK annex: b = 180 - 60 a to 1 mm/kN, 160 - 40 a to 2 (from memory, check the standard)."""
    for a, b in ((0.5, 150.0), (0.8, 132.0), (1.0, 120.0), (1.5, 100.0), (2.0, 80.0)):
        assert feel.velocity_parameter(a) == pytest.approx(b, abs=1e-9)


def test_no_modes_to_count_above_40_hz():
    stiff = feel.JoistFloor(2.0, 4.4, 1e7, 1e4, 35.0)
    assert feel.first_frequency(2.0, 1e7, 35.0) > 40
    assert feel.modes_to_40(stiff) == 0.0


def test_concrete_strip():
    """Simply supported strip, 6 m, 0.3 m, 27 GPa, 2400 kg/m3, with 4 kN/m2: f1 10.127 Hz."""
    f1 = feel.first_frequency(6.0, 27e9 * 0.3**3 / 12, 2400 * 0.3 + 4000 / 9.81)
    assert f1 == pytest.approx(10.127, abs=0.001)


def test_base_curve():
    """ISO 10137 / BS 6472:1992: 0.01 m/s2 at 1 Hz, 0.005 from 4 to 8, 0.1 mm/s from 8 to 80 Hz."""
    assert feel.base_acceleration([1.0, 4.0, 6.0, 8.0]) == pytest.approx(
        [0.01, 0.005, 0.005, 0.005]
    )
    assert feel.base_velocity([8.0, 20.0, 80.0]) == pytest.approx([1e-4] * 3, rel=0.01)  # 0.0995


def test_criteria_halve_from_curve_to_curve():
    """Gordon (1991), from memory: VC-A 50 um/s is half the base curve, each next half again."""
    values = [feel.vibration_criterion(f"VC-{letter}", 20.0) for letter in "ABCDE"]
    assert values[0] == pytest.approx(50e-6)
    assert np.array(values[:-1]) / np.array(values[1:]) == pytest.approx([2.0] * 4, rel=0.01)
    low = feel.vibration_criterion("VC-A", 4.0)
    assert low * 2 * math.pi * 4 == pytest.approx(50e-6 * 2 * math.pi * 8)  # equal acceleration


@pytest.mark.parametrize("curve", ["b", "g"])
def test_weightings_are_continuous(curve):
    for corner in (2.0, 4.0, 5.0, 8.0, 16.0):
        below, above = feel.weighting(corner * (1 - 1e-9), curve), feel.weighting(corner, curve)
        assert below == pytest.approx(above, rel=1e-6)


def test_response_factor_of_the_base_curve_is_one():
    """By definition, for a vibration in one band, weighted with the curve turned over ("g")."""
    bands = np.array([1.0, 4.0, 6.3, 16.0, 63.0])
    for place, frequency in enumerate(bands):
        acceleration = np.zeros(5)
        acceleration[place] = feel.base_acceleration(frequency)
        assert feel.response_factor(bands, acceleration, "g") == pytest.approx(1.0, rel=1e-9)


def test_response_factor_with_b():
    """By hand: 0.01 m/s2 at 10 Hz (weight 1) and 0.02 at 32 Hz (weight 0.5): sqrt(2) x 2 = 2.83.

    100 Hz lies outside 1 to 80 Hz and does not count.
    """
    factor = feel.response_factor([10.0, 32.0, 100.0], [0.01, 0.02, 9.0])
    assert factor == pytest.approx(2.83, abs=0.005)


def test_faults_name_value_and_range():
    with pytest.raises(ValueError, match="between 50 and 150"):
        feel.velocity_limit(10.0, 0.01, 200.0)
    with pytest.raises(ValueError, match="span -1"):
        feel.JoistFloor(-1.0, 4.0, 1e6, 1e4, 30.0)
    with pytest.raises(ValueError, match="unknown"):
        feel.weighting(10.0, "k")

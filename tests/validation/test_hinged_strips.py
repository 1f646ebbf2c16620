"""Hinged strips of the notes against a row of them solved strip by strip."""

import numpy as np
import pytest

from validation import strips


def test_a_row_of_strips_solved_joint_by_joint(monkeypatch):
    """Joints z_0, z_1, ... of 120 strips in a ring: w = (z_n + z_n+1)/2 and a turn of
    (z_n+1 - z_n)/b, energies b (D k4 - w2 m) w2 + (G J k2 - w2 m b3/12) turn2, a unit force in the
    middle of one strip, summed over k. Losses of 0.4, so that nothing comes round the ring; 2 % for
    the steps of k."""
    monkeypatch.setattr(strips, "LOSS", 0.4)
    modulus, shear, thick, width, density, frequency = 10e9, 0.6e9, 0.022, 0.09, 460.0, 250.0
    omega, count = 2 * np.pi * frequency, 120
    mass, slender = density * thick, thick / width
    twist = width * thick**3 / 3 * (1 - 0.63 * slender + 0.052 * slender**5)
    mean = (np.eye(count) + np.roll(np.eye(count), 1, axis=1)) / 2
    turn = (np.roll(np.eye(count), 1, axis=1) - np.eye(count)) / width
    k, step = np.linspace(0, 120, 2401, retstep=True)
    lossy = 1 + 0.4j
    bent = width * (modulus * thick**3 / 12 * lossy * k**4 - mass * omega**2)
    turned = shear * twist * lossy * k**2 - mass * width**3 / 12 * omega**2
    force = mean[0].astype(complex)
    motion = np.array([
        force @ np.linalg.solve(one * mean.T @ mean + other * turn.T @ turn, force)
        for one, other in zip(bent, turned, strict=True)
    ])  # fmt: skip
    direct = 1j * omega * np.trapezoid(motion, dx=step) / np.pi  # both signs of k over 2 pi
    found, over = strips.hinged(modulus, shear, thick, width, density, frequency)
    assert found == pytest.approx(direct.real, rel=0.02)
    assert over > found  # joints are softer than middles


def test_a_plate_alike_both_ways_is_the_thin_plates():
    """H = sqrt(Bx By): 1/(8 sqrt(B m)), here B = 10 GPa x (20 mm)3/12 = 6667 N m, 10 kg/m2."""
    found = strips.as_plate(10e9, 10e9, 5e9, 0.02, 500.0)
    assert found == pytest.approx(1 / (8 * np.sqrt(6666.7 * 10)), rel=1e-4)

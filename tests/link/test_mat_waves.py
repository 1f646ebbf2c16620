"""Mats: springs at low frequency, rods above; frame and air apart and locked, in closed form."""

import numpy as np
import pytest

from impact.base import air
from impact.design.parts import Mat
from impact.link import mat

OMEGA = 2 * np.pi * np.geomspace(50, 5000, 40)


def rod(density, modulus, thickness, omega):
    """Blocked force of a rod per velocity of its far end: Z/(i sin x) (Cremer/Heckl/Petersson
    2005 ch. 3, rods as springs)."""
    wave = np.sqrt(density * modulus)
    return wave / (1j * np.sin(omega * thickness * np.sqrt(density / modulus)))


@pytest.mark.parametrize("flow", [0.0, 50e3])
def test_far_below_its_own_waves_it_is_the_spring(flow):
    """Z11 = Z12 = s''(1 + i eta)/(i omega) at 5 Hz; 64 kg/m3, 20 mm weigh 1e-4 of s''/omega^2.

    Porous: the air is isothermal within 1 % at 5 Hz (warm layers far thicker than pores), and its
    pores fill 99 % of the mat.
    """
    one = Mat("m", 8e6, 0.1, 0.02, density=64.0, flow_resistivity=flow)
    omega = np.array([2 * np.pi * 5.0])
    for impedance in mat.impedances(one, omega):
        assert impedance * 1j * omega == pytest.approx(8e6 * (1 + 0.1j), rel=0.015)


def test_a_porous_mat_softer_than_its_air_is_as_soft_as_measured():
    """4 MN/m3 over 15 mm are 60 kPa, less than the 101 of isothermal air: at 5 Hz it is s'' all the
    same, within 1.5 % as above."""
    one = Mat("m", 4e6, 0.1, 0.015, density=64.0, flow_resistivity=50e3)
    omega = np.array([2 * np.pi * 5.0])
    for impedance in mat.impedances(one, omega):
        assert impedance * 1j * omega == pytest.approx(4e6 * (1 + 0.1j), rel=0.015)


def test_first_resonance_of_a_rod_held_at_both_ends():
    """c/2d = sqrt(s''/m'')/2 (any text on vibration); 1 % is the step of the search."""
    one = Mat("m", 8e6, 0.01, 0.02, density=64.0)
    omega = 2 * np.pi * np.geomspace(600, 2000, 300)
    found = omega[np.argmax(np.abs(mat.impedances(one, omega)[1]))] / 2 / np.pi
    assert found == pytest.approx(0.5 * np.sqrt(8e6 / (64 * 0.02)), rel=0.01)


def test_air_that_does_not_drag_is_a_second_rod_beside_the_frame():
    """Flow resistivity 1 Pa s/m2: two rods side by side; 3 % for the drag that is left."""
    one = Mat("m", 15e6, 0.1, 0.02, density=64.0, flow_resistivity=1.0)
    frame = 15e6 * 0.02 * (1 + 0.1j) - air.PRESSURE
    both = rod(64.0, frame, 0.02, OMEGA) + rod(air.DENSITY, air.BULK_ADIABATIC, 0.02, OMEGA)
    assert mat.impedances(one, OMEGA)[1] == pytest.approx(both, rel=0.03)


def test_air_that_is_held_makes_one_rod_of_both():
    """Flow resistivity 1e9: density and stiffness add, the air isothermal; 4 % near the
    resonances, for pores of 99 % of the volume."""
    one = Mat("m", 15e6, 0.1, 0.02, density=64.0, flow_resistivity=1e9)
    locked = rod(64.0 + air.DENSITY, 15e6 * 0.02 * (1 + 0.1j), 0.02, OMEGA)
    assert mat.impedances(one, OMEGA)[1] == pytest.approx(locked, rel=0.04)


@pytest.mark.parametrize("flow", [0.0, 10e3, 200e3])
def test_a_mat_only_loses_energy(flow):
    """Power in, whatever both faces do: Re Z11 >= |Re Z12| (passive two-port, symmetric)."""
    one = Mat("m", 8e6, 0.1, 0.02, density=100.0, flow_resistivity=flow)
    own, across = mat.impedances(one, OMEGA)
    assert np.all(own.real >= np.abs(across.real) * (1 - 1e-9))

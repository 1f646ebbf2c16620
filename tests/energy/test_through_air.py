"""Air between leaves: closed forms, a published resonance, reciprocity, losses that help."""

import itertools

import numpy as np
import pytest

from impact.base import air
from impact.energy import gap_waves, through_air
from impact.link.cavity import Gap


def test_resonance_of_a_lining():
    """Hopkins 2007 Fig. 4.48: 51 | 10.8 kg/m2 with 37 mm of air, 104 Hz (printed to 1 Hz).

    Normal incidence; the air's loss and the room's load do not move the peak by 1 Hz.
    """
    f = np.linspace(70, 130, 601)
    gap, straight = Gap(0.037), np.array([1.0])
    answer = through_air._answers(gap, 2 * np.pi * f, (51, 10.8), straight, 0.0)[0]
    assert f[int(np.argmax(answer))] == pytest.approx(104, abs=1)


def test_hangers_are_a_spring_beside_the_air():
    """Two masses on both springs, f0 = 1/2 pi sqrt((K/d + k'')(1/m1 + 1/m2)) (any text on
    vibration), 5 MN/m3 beside 37 mm of air: 184 Hz. 2 %: at the peak what hangers alone hand on is
    taken off."""
    f = np.linspace(150, 220, 701)
    gap, straight = Gap(0.037), np.array([1.0])
    answer = through_air._answers(gap, 2 * np.pi * f, (51, 10.8), straight, 0.0, 5e6)[0]
    springs = air.DENSITY * air.SPEED**2 / 0.037 + 5e6
    expected = np.sqrt(springs * (1 / 51 + 1 / 10.8)) / (2 * np.pi)
    assert f[int(np.argmax(answer))] == pytest.approx(expected, rel=0.02)


def test_waves_of_a_slab_above_coincidence_come_in_their_own_direction():
    """sin² = fc/f (trace of sound along the slab); through a thin layer, far above its resonance, a
    slant makes the spring K/d cos² (Euler's equation across it): |v2/v1|² = (K/d cos² omega² m)².
    fc = c²/2 pi sqrt(m/B) = 200 Hz; at 800 Hz cos² = 3/4. Edges of so large a slab are nothing.
    8 %: the band's width, at which the mean of f^-4 is 1.03, its own of cos², and k d = 0.29."""
    mass, gap = 300.0, Gap(0.02)
    bending = mass * (air.SPEED**2 / (2 * np.pi * 200.0)) ** 2
    slab = gap_waves.Waves((bending, bending, bending), mass, 3e4, 4e4)
    found = through_air.passage(gap, np.array([800.0]), 1e9, 200.0, waves=slab).forced[0]
    spring = air.DENSITY * air.SPEED**2 / 0.02 / 0.75
    assert found == pytest.approx((spring / (2 * np.pi * 800.0) ** 2 / 200.0) ** 2, rel=0.08)


def test_far_above_resonance_it_is_mass_and_spring():
    """|v2/v1| = s/(omega^2 m) while the layer is thin: 12 dB an octave, 2 % at k d < 0.15."""
    gap, omega = Gap(0.02), 2 * np.pi * np.array([400.0])
    ratio = through_air._answers(gap, omega, (1e9, 20.0), np.array([1.0]), 0.0)[0][0]
    s = air.DENSITY * air.SPEED**2 / 0.02
    assert np.sqrt(ratio) == pytest.approx(s / (omega**2 * 20 - s), rel=0.02)


def test_reciprocity_of_sound_and_bending():
    """n_air eta_air,plate = n_plate eta_plate,air with eta_plate,air = rho c sigma/(omega m) and
    n_air = V omega^2/(2 pi^2 c^3): worked through energies instead of the closed form."""
    f, sigma, bending, mass, area, volume = 500.0, 0.1, 400.0, 9.0, 12.0, 4.0
    omega = 2 * np.pi * f
    n_air = volume * omega**2 / (2 * np.pi**2 * air.SPEED**3)
    n_plate = area / (4 * np.pi) * np.sqrt(mass / bending)
    loss = n_plate / n_air * air.IMPEDANCE * sigma / (omega * mass)
    energy = volume / (air.DENSITY * air.SPEED**2)  # of 1 Pa2
    got = sigma * through_air.fed_to_bending(np.array([f]), bending, mass)[0] * area
    assert got == pytest.approx(omega * loss * energy)


def test_fill_takes_sound_away():
    """More fill and more flow resistance never pass more above 250 Hz, in a 0.3 m cavity."""
    f = np.array([250.0, 500, 1000, 2000])
    passed = [through_air.passage(Gap(0.3, fill=t, flow_resistivity=r), f, 20.0, 10.0).forced
              for t, r in ((0.0, 0.0), (0.1, 5e3), (0.2, 10e3), (0.3, 10e3))]  # fmt: skip
    for less, more in itertools.pairwise(passed):
        assert np.all(more < less)


def test_joists_stop_air_only_where_nothing_is_open():
    """Closed bays: no flow across; open-web or deep slot: nearly as along; above c/2b: all."""
    closed = Gap(0.0, bay=0.2, open_share=0.9)
    assert through_air.sideways_share(closed, 2 * np.pi * 100, 0.4) == 0
    assert through_air.sideways_share(closed, 2 * np.pi * 1000, 0.4) == 1
    deep = Gap(0.5, bay=0.2, open_share=0.9)
    assert through_air.sideways_share(deep, 2 * np.pi * 100, 0.4) > 0.9
    assert through_air.sideways_share(Gap(0.0, 0.2, 0.9, blocks=False), 600.0, 0.4) == 1

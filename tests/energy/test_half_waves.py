"""Half waves along joists: in cosines, in what they radiate, under a blow; and a gap below them."""

import numpy as np
import pytest

from impact.base import air
from impact.energy import bay_air, bay_cavity, half_waves, radiating
from impact.link import cavity
from impact.link.cavity import Gap

SIDES = (4.0, 5.0)


def test_shares_of_cosines_in_a_sine():
    """By quadrature of sin(3 pi x/L) cos(n pi x/L); all shares together are the sine (Parseval)."""
    x = (np.arange(2000) + 0.5) / 2000
    sine = np.sqrt(2) * np.sin(3 * np.pi * x)
    found = half_waves.shares(3, 400)
    for n in (0, 1, 2, 4, 10):
        cosine = np.cos(n * np.pi * x) * np.sqrt(1 if n == 0 else 2)
        assert found[2, n] == pytest.approx(np.mean(sine * cosine) ** 2, abs=1e-5)
    assert found.sum(axis=1) == pytest.approx(1.0, abs=1e-4)


def test_odd_half_waves_far_longer_sound_than_the_floor_are_a_source_of_volume():
    """sigma = 32 k0² S/(m² n² pi⁵) (C. E. Wallace, J. Acoust. Soc. Am. 51 (1972) 946, from memory;
    by hand from W = rho c k0² Q²/2 pi, Q the flow). 1 %: k0 L is not quite nil."""
    sound = 0.05
    found = half_waves.radiation(sound, SIDES, (3, 3))
    for m, n in ((1, 1), (3, 1), (3, 3)):
        expected = 32 * sound**2 * SIDES[0] * SIDES[1] / (m**2 * n**2 * np.pi**5)
        assert found[m - 1, n - 1] == pytest.approx(expected, rel=0.01)


def test_a_piston_far_wider_than_sound_radiates_fully():
    """sigma = 1 - J1(2ka)/ka -> 1 (any textbook of acoustics)."""
    assert half_waves.radiation(20.0, SIDES, (2, 2), sines=False)[0, 0] == pytest.approx(
        1, rel=0.03
    )


@pytest.mark.parametrize("f", [500.0, 1000.0])
@pytest.mark.parametrize("slower", [1.3, 2.0, 3.0])
def test_the_mean_over_directions_is_the_published_one(f, slower):
    """Of all half waves whose wavenumber is `slower` times that of sound: Leppington's mean over
    directions within 0.3 dB. Those that run along one wall are 1 to 3 dB louder or quieter."""
    sound = 2 * np.pi * f / air.SPEED
    found = half_waves.radiation(sound, SIDES, (90, 110))
    m, n = np.arange(1, 91)[:, None] * np.pi / SIDES[0], np.arange(1, 111) * np.pi / SIDES[1]
    wave = np.hypot(m, n)
    some = np.abs(wave - slower * sound) < 0.8
    mean = radiating.free_waves(np.full(wave.shape, f), f * (wave / sound) ** 2, *SIDES)
    apart = 10 * np.log10(found[some].mean() / mean[some].mean())
    assert apart == pytest.approx(0.0, abs=0.3)
    along = some & (m < 0.5 * sound + 0 * n)
    assert abs(10 * np.log10(found[along].mean() / mean[along].mean())) > 0.5


def test_sums_over_directions_and_their_mean_meet_where_they_change():
    """On both sides of MANY half waves of sound: all half waves together within 0.2 dB."""
    edge = half_waves.MANY * np.pi / min(SIDES)
    below, above = (half_waves.radiation(x * edge, SIDES, (40, 50)) for x in (0.9999, 1.0001))
    assert 10 * np.log10(below.mean() / above.mean()) == pytest.approx(0.0, abs=0.2)


def test_blows_away_from_the_ends_move_the_longest_wave_more():
    """Mean of 2 sin²(pi x/4) from 0.5 to 3.5 m: 1 + sin(pi/4) 4/(3 pi) = 1.300, by hand; everywhere
    it is 1."""
    wave = np.array([np.pi / 4])
    assert half_waves.struck(wave, 4.0, (0.5, 3.5)) == pytest.approx(1.3001, abs=1e-4)
    assert half_waves.struck(wave, 4.0, (0.0, 4.0)) == pytest.approx(1.0)


def test_half_waves_of_hinged_and_clamped_joists():
    """m pi/L, and 4.730, 7.853, 10.996 over L of a clamped beam (any text on vibration)."""
    hinged, clamped = half_waves.along(4.0, 0.0, 3.0), half_waves.along(4.0, 1.0, 3.0)
    assert hinged[:3] * 4 == pytest.approx(np.pi * np.arange(1, 4))
    assert clamped[:3] * 4 == pytest.approx([4.730, 7.853, 10.996], rel=1e-3)
    assert hinged[-1] > 3.0


def test_a_gap_alike_for_all_cosines_leaves_the_wave_as_it_is():
    """t times a wave is t times it, whose sound is |t|² that of the leaf above; the ceiling moves
    |t|², as far as its cosines are followed (98 % of slow sound's)."""
    sound, through = 4.0, 0.3 - 0.2j
    sigma = half_waves.radiation(sound, SIDES, (12, 12))
    ratio = np.linspace(0.05, 1.9, 20)
    found = bay_cavity.heard(sound, SIDES, np.full((20, 8), through), ratio, sigma)
    size = abs(through) ** 2
    assert found.power == pytest.approx(size * sigma, rel=1e-6)
    assert found.square[:4, :4] == pytest.approx(size, rel=0.1)


def test_a_leaf_that_gives_way_takes_from_what_each_cosine_hands_on():
    """Leaf and load alike for all cosines: w/(1 + R Z) with R = H, since the shares of all sines in
    one cosine make 1 (any text on Fourier series). 7 %: sines that end 8 beyond the cosines leave
    out up to 5 % of it."""
    sound, follow, load, own = 4.0, 0.8 - 0.1j, 2e5 + 1e4j, 3e-6 - 2e-6j
    sigma, ratio = half_waves.radiation(sound, SIDES, (12, 12)), np.linspace(0.05, 1.9, 20)
    known = np.pi * np.arange(1, 60) / 4, np.pi * np.arange(1, 70) / 5
    back = np.full((20, 8), load), (*known, np.full((59, 69), own))
    found = bay_cavity.heard(sound, SIDES, np.full((20, 8), follow), ratio, sigma, back)
    plain = bay_cavity.heard(
        sound, SIDES, np.full((20, 8), follow / (1 + own * load)), ratio, sigma
    )  # fmt: skip
    assert found.power[:6, :6] == pytest.approx(plain.power[:6, :6], rel=0.07)
    assert found.square[:6, :6] == pytest.approx(plain.square[:6, :6], rel=0.07)


def test_closed_bays_hold_air_against_half_waves_and_join_them():
    """Far below the resonances of a bay 4 m long its air has one pressure, that of the means 2
    sqrt(2)/(m pi) of odd half waves: 8/pi²/(m m') of the spring K of a face that moves as a whole,
    by hand, and nothing of even ones. 2 %: its length is not nil."""
    gap = Gap(0.0, bay=0.2, open_share=0.9)
    whole = 1 / cavity.compliance(gap, 2 * np.pi * 2.0, np.array([1e-6]), np.asarray(0.0))[0]
    found = bay_air.along(gap, 2 * np.pi * 2.0, np.array([1, 2, 3]), SIDES[0], 0.0) / whole
    expected = 8 / np.pi**2 * np.array([[1, 0, 1 / 3], [0, 0, 0], [1 / 3, 0, 1 / 9]])
    assert found.real == pytest.approx(expected, abs=0.02)


def test_a_blow_that_keeps_off_the_ends_moves_two_half_waves_alike():
    """Of sin(pi x/4) and sin(3 pi x/4) from 0.5 to 3.5 m: -(sqrt(2) - 1) 2/(3 pi), by hand; all
    over the length they have nothing in common."""
    wave = np.array([1, 3]) * np.pi / 4
    found = half_waves.together(wave, 4.0, (0.5, 3.5))
    assert found[0, 1] == pytest.approx(-(np.sqrt(2) - 1) * 2 / (3 * np.pi), abs=1e-9)
    assert half_waves.together(wave, 4.0, (0.0, 4.0)) == pytest.approx(np.eye(2), abs=1e-9)

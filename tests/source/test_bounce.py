"""Blows on floors that throw back, against closed forms, energy and a general integrator."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import j1

from impact.base import bands
from impact.source import bounce, tapping

CENTRES = np.array(bands.CENTRES)
MASS, FACE = tapping.MASS, 1.2e7  # N/m: a wooden face


def shift(found, expected):
    return 10 * np.log10(np.asarray(found) / expected)


@pytest.mark.parametrize(
    ("stiffness", "impedance", "dashpot"),
    [(1.2e7, 1000, 0), (1.2e7, 2000, 0), (1.2e7, 300, 0), (1e9, 1e5, 0), (5e9, 1e6, 0),
     (2e5, 1e4, 0.3), (1e5, 1e3, 2.0), (3e4, 500, 0.2)],
)  # fmt: skip
def test_one_real_impedance_is_the_closed_form(stiffness, impedance, dashpot):
    """Hopkins (2007) ch. 3.6: e = exp(-pi zeta/sqrt(1 - zeta^2)), 0 from critical damping up, and
    the closed spectrum; 0.15 dB for the steps in time, where it is 30 to 90 dB down."""
    found = bounce.bounce(CENTRES, np.full(28, 1 / impedance), MASS, stiffness, dashpot=dashpot)
    expected = tapping.transfer_square(CENTRES, stiffness, impedance, dashpot)
    assert shift(found.square, expected) == pytest.approx(0, abs=0.15)
    zeta = math.sqrt(stiffness * MASS) / (2 * impedance) + dashpot / 2
    own = math.exp(-math.pi * zeta / math.sqrt(1 - zeta**2)) if zeta < 1 else 0.0
    assert found.rebound == pytest.approx(own, abs=0.003)


PAD, RIGID = 21.2e3, np.zeros(28)  # N/m: 0.03 GN/m3 under the face, 32.8 Hz; nothing yields


@pytest.mark.parametrize("eta", [0.1, 0.3, 0.5])
def test_a_pad_loses_the_same_share_at_every_frequency(eta):
    """m x'' = -C D^a x, a = (2/pi) atan eta, followed step by step with the derivative of order a
    as Gruenwald and Letnikov have it, a sum over the past: weights 1, -a, -a (1 - a)/2, ... (any
    text on fractional calculus). C w^a cos(a pi/2) = K at w0. Force within 1 % of its peak."""
    natural = math.sqrt(PAD / MASS)
    power, count = 2 / math.pi * math.atan(eta), 3000
    step = 1.1 * math.pi / natural / count
    weights = np.cumprod(np.concatenate([[1.0], 1 - (power + 1) / np.arange(1, count)]))
    scale = PAD / math.cos(power * math.pi / 2) / (natural * step) ** power
    place, speed, placed, force = 0.0, 1.0, np.zeros(count), np.zeros(count)
    for i in range(1, count):
        place += step * speed
        placed[i] = place
        force[i] = scale * weights[: i + 1] @ placed[i::-1]
        speed -= step * force[i] / MASS
    times, found = bounce.history(CENTRES, RIGID, MASS, PAD, eta)
    lift_off = np.flatnonzero(force[1:] <= 0)[0] * step
    assert len(found) * times == pytest.approx(lift_off, rel=0.01)
    there = np.interp(times * np.arange(len(found)), step * np.arange(count), force)
    assert found == pytest.approx(there, abs=0.01 * force.max())
    assert lift_off < math.pi / natural  # shorter than without loss


@pytest.mark.parametrize("eta", [0.2, 0.4])
def test_with_loss_a_covering_gains_less_than_40_lg(eta):
    """Far above f0 the mass has not turned while the pad is pressed: F = m v0 (K(w)/K) (f0/f)^2, so
    per m v0 the spectrum lies at sqrt(1 + eta^2) (f/f0)^a above the line 40 lg(f/f0) of ISO 12354-2
    Annex C, a = (2/pi) atan eta. The bend of the force at lift-off adds its own spectrum, with e
    of the speed and so at most 10 lg(1 + e^2), 3 dB without loss; 0.3 dB for lobes in a band."""
    f0, power = math.sqrt(PAD / MASS) / 2 / math.pi, 2 / math.pi * math.atan(eta)
    found = bounce.bounce(CENTRES, RIGID, MASS, PAD, eta)
    high = slice(bands.index(400), bands.index(2000) + 1)
    ratio = CENTRES[high] / f0
    line = 10 * np.log10(1 + eta**2) + 20 * power * np.log10(ratio) - 40 * np.log10(ratio)
    above = 10 * np.log10(found.square[high] * (1 + found.rebound) ** 2) - line
    assert np.all((above > -0.3) & (above < 10 * np.log10(1 + found.rebound**2) + 0.3))


@pytest.mark.parametrize("mass", [0.3, 1.0, 3.0])
def test_a_floor_that_is_a_mass_with_a_dashpot(mass):
    """Y = 1/(R + i w M), against scipy's integrator with its event at lift-off.

    Two masses and a spring throw the hammer back, or let it follow, which no real impedance at one
    frequency tells. e within 0.02, spectrum within 0.3 dB to 1 kHz: Y is told by third octaves.
    """
    resistance = 800.0

    def moves(_, state):
        hammer, floor, speed, floor_speed = state
        force = FACE * (hammer - floor)
        return [speed, floor_speed, -force / MASS, (force - resistance * floor_speed) / mass]

    def lifts(time, state):
        return FACE * (state[0] - state[1]) if time > 1e-6 else 1.0

    lifts.terminal, lifts.direction = True, -1
    times = np.arange(0, 0.05, 2e-6)
    run = solve_ivp(moves, (0, 0.05), [0, 0, 1.0, 0], rtol=1e-9, atol=1e-12, events=lifts,
                    t_eval=times)  # fmt: skip
    force = FACE * (run.y[0] - run.y[1])
    impulse = np.trapezoid(force, run.t)
    expected = []
    for centre in CENTRES:
        lines = centre * (10**-0.05 + bands.WIDTH * (np.arange(24) + 0.5) / 24)
        sums = np.trapezoid(force * np.exp(-2j * np.pi * np.outer(lines, run.t)), run.t)
        expected.append(np.mean(np.abs(sums) ** 2) / impulse**2)
    mobility = 1 / (resistance + 2j * np.pi * CENTRES * mass)
    found = bounce.bounce(CENTRES, mobility, MASS, FACE)
    assert found.rebound == pytest.approx(max(impulse / MASS - 1, 0), abs=0.02)
    low = CENTRES < 1100
    assert shift(found.square, expected)[low] == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize("impedance", [400.0, 1500.0, 4000.0, 1e5])
def test_the_floor_takes_just_what_the_hammer_loses(impedance):
    """Conservation of energy: the work on a real impedance, int F^2/Z dt, is m v0^2 (1 - e^2)/2.

    1 %: near e = 1 the loss is 3 % of m v0^2, which 1e-4 of e moves by 0.7 %."""
    step, force = bounce.history(CENTRES, np.full(28, 1 / impedance), MASS, 1e7)
    left = max(force.sum() * step / MASS - 1, 0)
    assert np.sum(force**2) * step / impedance == pytest.approx(MASS / 2 * (1 - left**2), rel=0.01)


def test_a_yielding_floor_leaves_less_rebound():
    """Light deck (overdamped, K > 4 Z^2/m): none. A base that stays: as given. Between, less."""
    found = [
        tapping.on_floor(CENTRES, 0.4, stiffness, np.full(28, 1 / impedance))[0]
        for stiffness, impedance in (
            (1.2e7, 1200), (1.2e7, 1500), (1.2e7, 2500), (1.2e7, 4000), (5e9, 1e7),
        )
    ]  # fmt: skip
    assert found[0] == pytest.approx(0, abs=1e-3)
    assert found == sorted(found)
    assert found[-1] == pytest.approx(0.397, abs=0.002)  # z = 0.28 + 0.0025


def test_what_contact_and_floor_lose_adds_up():
    """On a real impedance both are dashpots behind one spring: z = z_contact + sqrt(K m)/(2 Z), e =
    exp(-pi z/sqrt(1 - z^2)). By hand, e = 0.4 alone: ln 0.4 = -0.916, z = 0.28, loss factor 0.56.
    K = 1e7 N/m, m = 0.5 kg, Z = 4000 N s/m: z = 0.28 + 0.2795 = 0.5595, e = 0.12 (the lossless
    contact leaves 0.40, so the lesser of the two, 0.4, would be three times that)."""
    assert tapping.contact_loss(0.4) == pytest.approx(0.56, abs=0.001)
    assert (tapping.contact_loss(1), tapping.contact_loss(0)) == (0, 2)
    assert tapping.contact_loss(math.exp(-math.pi)) == pytest.approx(math.sqrt(2))  # z = 1/sqrt 2
    yielding = np.full(28, 1 / 4000)
    assert tapping.on_floor(CENTRES, 0.4, 1e7, yielding)[0] == pytest.approx(0.120, abs=0.003)
    assert tapping.on_floor(CENTRES, 1, 1e7, yielding)[0] == pytest.approx(0.401, abs=0.003)
    assert tapping.on_floor(CENTRES, 0, 1e7, yielding)[0] == 0
    with pytest.raises(ValueError, match="between 0 and 1"):
        tapping.contact_loss(1.2)


def test_joists_throw_a_hammer_back_that_boards_alone_would_keep():
    """Boards of 790 N s/m keep the hammer (zeta 1.5). Where what runs off below 500 Hz is a seventh
    of that, as with joists close by, some of it comes back: e > 0, and no more energy than there
    was. The mean mobility of a strip of boards held at both sides, in `validation/blows.py`."""
    boards = np.full(28, 1 / 790.0)
    joists = np.where(CENTRES < 550, 1 / 5500.0, boards)
    assert bounce.bounce(CENTRES, boards, MASS, 1.1e7).rebound < 1e-3
    assert 0.3 < bounce.bounce(CENTRES, joists, MASS, 1.1e7).rebound < 0.8


def test_thin_layer_on_a_mat_cuts_the_blow_off_as_a_covering_does():
    """8 mm of laminate (D = 211 N m, 6.8 kg/m2) on 115 MN/m3, a plate on springs: above its
    resonance w0^2 = s''/m, Re Y = 1/(8 sqrt(D m) sqrt(1 - (w0/w)^2)), nothing below. In time its
    Y = s/(8 sqrt(D m) sqrt(s^2 + w0^2)) is an instant answer less w0 J1(w0 t) (Abramowitz and
    Stegun 29.3.55 from memory), on which a hammer is followed step by step; below, it is a spring
    8 sqrt(D s'') (Timoshenko, Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., ch. 8).
    0.3 dB to 315 Hz, 1.2 dB to 500 Hz, where it is 13 dB down: Y is told by third octaves."""
    bending, mass, mat, face = 4.5e9 * 0.008**3 / 12 / 0.91, 6.8, 115e6, 2 * 0.015 * 0.37e9 / 0.91
    plate, lowest = 8 * math.sqrt(bending * mass), math.sqrt(mat / mass)

    step, count = 4e-6, 1200
    times = step * (np.arange(count) + 0.5)
    late = -lowest * j1(lowest * times) / plate
    force, hammer, layer, speed = np.zeros(count), 0.0, 0.0, 1.0
    for i in range(count):
        force[i] = max(face * (hammer - layer), 0) / (1 + face / plate * step / 2)
        speed -= step * force[i] / MASS
        hammer += step * speed
        layer += step * (force[i] / plate + step * late[: i + 1][::-1] @ force[: i + 1])
    impulse = force.sum() * step

    def above(frequency):  # integral of f/sqrt(f^2 - f0^2)
        return math.sqrt(max(frequency**2 - (lowest / 2 / math.pi) ** 2, 0))

    mobility = [
        (above(c * 10**0.05) - above(c * 10**-0.05)) / (c * bands.WIDTH) / plate for c in CENTRES
    ]
    found = bounce.bounce(CENTRES, mobility, MASS, face)
    assert found.rebound == pytest.approx(impulse / MASS - 1, abs=0.02)
    for band, within in ((100, 0.3), (160, 0.3), (200, 0.3), (250, 0.3), (315, 0.4), (500, 1.2)):
        centre = CENTRES[bands.index(band)]
        lines = centre * (10**-0.05 + bands.WIDTH * (np.arange(24) + 0.5) / 24)
        sums = np.exp(-2j * np.pi * np.outer(lines, times)) @ force * step
        expected = np.mean(np.abs(sums) ** 2) / impulse**2
        assert shift(found.square[bands.index(band)], expected) == pytest.approx(0, abs=within)
    spring = 1 / (1 / (8 * math.sqrt(bending * mat)) + 1 / face)  # 1.12 MN/m
    x = 100 / (math.sqrt(spring / MASS) / 2 / math.pi)
    half_sine = (math.cos(math.pi * x / 2) / (1 - x**2)) ** 2
    assert shift(found.square[bands.index(100)], half_sine) == pytest.approx(0, abs=0.15)

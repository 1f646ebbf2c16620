"""Waves inside hangers: rods and thin legs beside finite elements of textbooks, and the classes."""

from dataclasses import replace

import numpy as np
import pytest

from impact.design import catalogue
from impact.energy import transfer
from impact.energy.balance import point_link
from impact.link import inner_waves
from tests.designs import basement, hangers

RATIOS = np.array([0.02, 0.3, 0.7, 0.95, 1.0, 1.4, 2.0, 3.3, 5.2])
LOSS = 0.05
STEEL, STEEL_DENSITY = 210e9, 7850.0  # any handbook


def condensed(stiffness, mass, moved, held, omega):
    """Force at the last of `held` per displacement at the first: what ends do to each other."""
    dynamic = stiffness * (1 + 1j * LOSS) - omega**2 * mass
    free = [i for i in range(len(dynamic)) if i not in (*moved, *held)]
    inner = np.linalg.solve(dynamic[np.ix_(free, free)], dynamic[np.ix_(free, moved)])
    return dynamic[np.ix_(held, moved)] - dynamic[np.ix_(held, free)] @ inner


def test_rod_beside_finite_elements():
    """400 linear elements of consistent mass: EA/h [[1 -1][-1 1]], rho A h/6 [[2 1][1 2]].

    E = A = rho = L = 1, so that half a wave fits at omega = pi. 0.5 % is the elements' own error.
    """
    count = 400
    stiffness, mass = np.zeros((2, count + 1, count + 1))
    for i in range(count):
        part = np.ix_([i, i + 1], [i, i + 1])
        stiffness[part] += count * np.array([[1, -1], [-1, 1]])
        mass[part] += np.array([[2, 1], [1, 2]]) / count / 6
    ends = [condensed(stiffness, mass, [0], [0, count], np.pi * one)[:, 0] for one in RATIOS]
    for law, at, sign in ((inner_waves.rod_end, 0, 1), (inner_waves.rod, 1, -1)):
        ours, theirs = law(RATIOS, LOSS) * (1 + 1j * LOSS), sign * np.array(ends)[:, at]
        assert np.all(np.abs(ours - theirs) < 5e-3 * np.abs(theirs))


def test_leg_beside_finite_elements():
    """60 cubic (Hermite) beam elements, both ends held from turning; EI = m' = L = 1, first
    resonance omega = 22.3733 (any table of beams). 0.1 % for the elements."""
    count = 60
    h = 1 / count
    bend = np.array([
        [12, 6 * h, -12, 6 * h], [6 * h, 4 * h**2, -6 * h, 2 * h**2],
        [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h**2, -6 * h, 4 * h**2],
    ]) / h**3  # fmt: skip
    weigh = np.array([
        [156, 22 * h, 54, -13 * h], [22 * h, 4 * h**2, 13 * h, -3 * h**2],
        [54, 13 * h, 156, -22 * h], [-13 * h, -3 * h**2, -22 * h, 4 * h**2],
    ]) * h / 420  # fmt: skip
    size = 2 * count + 2
    stiffness, mass = np.zeros((2, size, size))
    for i in range(count):
        part = np.ix_(range(2 * i, 2 * i + 4), range(2 * i, 2 * i + 4))
        stiffness[part] += bend
        mass[part] += weigh
    theirs = []
    for one in RATIOS:
        held = [0, 1, size - 2, size - 1]
        theirs.append(condensed(stiffness, mass, [0, 1], held, 22.3733 * one)[[0, 2], 0] / 12)
    for law, at, sign in ((inner_waves.leg_end, 0, 1), (inner_waves.leg, 1, -1)):
        ours, ends = law(RATIOS, LOSS) * (1 + 1j * LOSS), sign * np.array(theirs)[:, at]
        assert np.all(np.abs(ours - ends) < 1e-3 * np.abs(ends))


@pytest.mark.parametrize("loss", [0.02, 0.05, 0.3])
def test_no_point_gives_energy_away(loss):
    """Forces on both ends of a passive link take power whatever the ends do: the matrix [[e, -k],
    [-k, e]] has an imaginary part that is nowhere negative, that is e - k and e + k have none. A
    spring of the transfer stiffness alone does not: it turns its sign at the resonance."""
    ratio = np.linspace(0.05, 9, 2000)
    for across, end in ((inner_waves.rod, inner_waves.rod_end),
                        (inner_waves.leg, inner_waves.leg_end)):  # fmt: skip
        k, e = ((1 + 1j * loss) * law(ratio, loss) for law in (across, end))
        assert np.min(np.imag(e - k)) > 0
        assert np.min(np.imag(e + k)) > 0
        assert np.min(np.imag(k)) < 0
    for kind in ("hanger", "resilient channel"):
        own = replace(hangers(kind), own_resonance=500.0, loss_factor=loss)
        f = 1000 * 10 ** (np.arange(-14, 8) / 10)
        spring = inner_waves.in_band(own, f)
        mean = inner_waves.stiffness(own, f)[0].mean(axis=1)
        assert np.all(np.imag(spring) >= loss * np.real(spring) * (1 - 1e-9))
        assert np.abs(spring) == pytest.approx(np.abs(mean), rel=1e-9)


def test_two_ends_beside_the_equations_of_motion():
    """v1 = free + Y1 F1, v2 = Y2 F2, F1 = -(e v1 - k v2)/iw, F2 = (k v1 - e v2)/iw, solved as they
    stand; 1e-12 of rounding."""
    omega, y1, y2 = 2 * np.pi * 900.0, 3e-5 - 8e-5j, 4e-4 + 2e-4j
    k, e = -3e5 + 2e5j, 1e5 + 4e5j
    matrix = np.array([[1 + y1 * e / (1j * omega), -y1 * k / (1j * omega)],
                       [-y2 * k / (1j * omega), 1 + y2 * e / (1j * omega)]])  # fmt: skip
    force = np.linalg.solve(matrix, [1.0, 0.0])[1] / y2
    found = point_link(3.0, k, y1, y2, omega, e)
    assert found == pytest.approx(3 * abs(force) ** 2, rel=1e-12)
    assert point_link(3.0, k, y1, y2, omega, k) == pytest.approx(
        point_link(3.0, k, y1, y2, omega), rel=1e-12
    )


def test_a_little_more_resonance_is_a_little_more_sound():
    """Legs that resonate at 944 Hz, or 1 % higher: half a decibel in each band, no more. As
    mere springs they took away what boards and joists resist: here 11 dB too much at 800 Hz."""
    base = replace(basement(), hangers=replace(hangers("resilient channel"), loss_factor=0.05,
                                               hanger_spacing=0.4064))  # fmt: skip
    f = np.array([315.0, 400.0, 500.0, 630.0, 800.0, 1000.0])
    levels = [
        transfer(replace(base, hangers=replace(base.hangers, own_resonance=own)), f).power_per_force
        for own in (935.0, 944.0, 954.0)
    ]
    assert np.abs(np.diff(10 * np.log10(levels), axis=0)).max() < 0.5


def test_at_rest_they_are_the_spring():
    for law in (inner_waves.rod, inner_waves.leg):
        assert law(1e-9, LOSS) == pytest.approx(1.0, rel=1e-6)


def test_channels_are_springs_to_some_400_hz_and_stiffer_above():
    """Davy, Guigou-Carter, Villot, JASA 131 (2012) 4615, abstract, from memory: compliance of steel
    studs fitted to 126 walls, about constant to 400 Hz, then falling as a power of frequency that
    is no integer. Constant: within 3 dB. Power: between 1 and 3 over the decade (waves in beams
    alone would give 1.5)."""
    f = np.array([100.0, 400.0, 4000.0])
    for name in ("single-leg resilient channel", "double-leg resilient channel"):
        entry = catalogue.find(name, "resilient channel")
        own = replace(hangers("resilient channel"), own_resonance=entry.value("own_resonance"))
        square = np.mean(np.abs(inner_waves.stiffness(own, f)[0]) ** 2, axis=1)
        assert 0 <= 10 * np.log10(square[1] / square[0]) < 3
        assert 1 < np.log10(square[2] / square[1]) / 2 < 3


@pytest.mark.parametrize(
    ("name", "short", "long"),
    [
        ("single-leg resilient channel", 0.032, 0.048),
        ("double-leg resilient channel", 0.028, 0.045),
    ],
)
def test_legs_resonate_as_sheet_0_5_mm_thick_does(name, short, long):
    """22.4/(2 pi L²) t sqrt(E/12 rho) of a beam held at both ends (any table); 3 % of rounding."""
    found = catalogue.find(name, "resilient channel").properties["own_resonance"]
    low, high = (
        22.37 / (2 * np.pi * leg**2) * 0.0005 * np.sqrt(STEEL / 12 / STEEL_DENSITY)
        for leg in (long, short)
    )
    assert (found.low, found.high) == pytest.approx((low, high), rel=0.03)


def test_a_plain_spring_stays_one():
    own = hangers()
    across, end = inner_waves.stiffness(own, np.array([50.0, 5000.0]))
    assert across == pytest.approx(end)
    assert across == pytest.approx(own.dynamic_stiffness * (1 + 1j * own.loss_factor))


def test_rubber_resonates_as_half_a_wave_in_it():
    """sqrt(G/rho)/2t: G 0.5 to 1.2 MPa, 1100 kg/m3, 20 to 8 mm of rubber in shear (handbooks of
    rubber, from memory); 3 % of rounding."""
    found = catalogue.find("rubber-in-shear clip", "hanger").properties["own_resonance"]
    low, high = (np.sqrt(g / 1100) / 2 / t for g, t in ((0.5e6, 0.020), (1.2e6, 0.008)))
    assert (found.low, found.high) == pytest.approx((low, high), rel=0.03)


def test_a_band_of_the_modes_has_one_stiffness_and_its_mean_is_below_the_root_of_the_squares():
    """Steps of third octaves: 230 and 280 Hz lie in that of 250 Hz. |mean| <= root mean square."""
    own = replace(hangers(), own_resonance=700.0)
    low, high, next_ = inner_waves.in_band(own, np.array([230.0, 280.0, 290.0]))
    assert low == high != next_
    square = np.mean(np.abs(inner_waves.stiffness(own, np.array([10**2.4]))[0]) ** 2)
    assert abs(low) <= np.sqrt(square)
    # x/sin x at the centre, points all alike; within 10 % for points that differ, far below f1
    assert abs(low) == pytest.approx(own.dynamic_stiffness * 1.122 / np.sin(1.122), rel=0.1)


def test_a_stiffer_point_of_the_same_mass():
    """f1 = sqrt(k/m)/2: four times the stiffness, twice the resonance."""
    own = replace(hangers(), own_resonance=1000.0)
    assert inner_waves.stiffer(own, 4 * own.dynamic_stiffness).own_resonance == pytest.approx(2000)


def test_what_hangers_hand_on_above_their_own_resonance():
    """Power by soft points goes with |k|²: where rods average x²/|sin x|² = x²/sinh(x eta/2)cosh of
    the same over many resonances (integral of 1/|sin|²), paths by points must rise by as much.
    Above six resonances; boards and joists hold back the peaks: 4 dB less at most.
    """
    design = basement()
    f = np.array([3150.0, 4000.0])
    own = replace(design.hangers, own_resonance=500.0)
    plain = transfer(design, f).paths["points"]
    waves = transfer(replace(design, hangers=own), f).paths["points"]
    x = np.pi * f / 500
    half = x * own.loss_factor / 2
    expected = x**2 / (np.sinh(half) * np.cosh(half))
    gain = 10 * np.log10(waves / plain / expected)
    assert np.all(gain < 1)
    assert np.all(gain > -4)

"""The box-shaped room against closed forms and limits."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from designs import basement

from impact.base import air
from impact.leaf import build
from impact.leaf.plate import modes
from impact.sound import room

BOX = room.Box(5.0, 4.0, 2.5, 0.5, highest=200.0)
PISTON = np.array([0])


def test_closed_form_down_the_room_is_the_sum_of_its_modes():
    """Against the modal series of the docstring with 20000 terms; its tail falls as 1/n²."""
    omega, z = 2 * math.pi * 87.0, 1.3
    delta = 6.9078 / BOX.reverberation_time
    place = int(np.flatnonzero(np.isclose(BOX.wavenumbers, np.pi / 5.0))[0])
    n = np.arange(20000)
    wave = (n * np.pi / 2.5) ** 2 + (np.pi / 5.0) ** 2
    terms = (2 - (n == 0)) / 2.5 * np.cos(n * np.pi * z / 2.5)
    series = np.sum(
        1j * omega * air.DENSITY * air.SPEED**2 * terms
        / (wave * air.SPEED**2 - omega**2 + 2j * delta * omega)
    )  # fmt: skip
    closed = BOX.down(omega, np.array([z]), np.array([place]))[0, 0]
    assert closed == pytest.approx(series, rel=1e-4)


def test_uniform_pressure_is_an_air_spring_with_a_leak():
    """rho c² v/(H i w) far above the leak and far below the first mode: 141.8 kPa/2.5 m; the next
    term of kz cot kz is (kH)²/3, 0.3 % at 2 Hz. At w = 1/tau half the square of that."""
    tight = replace(BOX, leak_time=1e6, reverberation_time=1e6)
    omega = 2 * math.pi * 2.0
    got = tight.down(omega, np.array([2.5]), PISTON)[0, 0]
    assert abs(got) * omega == pytest.approx(1.204 * 343.2**2 / 2.5, rel=5e-3)
    leaky = replace(BOX, leak_time=1 / omega)
    level = abs(leaky.down(omega, np.array([2.5]), PISTON)[0, 0]) / abs(got)
    assert level == pytest.approx(math.sqrt(0.5), rel=5e-3)


def test_mean_over_the_depth_is_the_mean():
    """Quadrature over 4001 depths, travelling and evanescent shapes, 55 Hz."""
    omega, shapes = 2 * math.pi * 55.0, np.arange(len(BOX.wavenumbers))
    z = np.linspace(0, 2.5, 4001)
    field = np.abs(BOX.down(omega, z, shapes)) ** 2
    expected = np.trapezoid(field, z, axis=0) / 2.5
    assert BOX.mean_square_down(omega, shapes) == pytest.approx(expected, rel=1e-3)


def test_a_mode_rings_with_the_room_s_reverberation_time():
    """Half-power width of an isolated mode 2.2/T: the (0,0,1) mode at 68.64 Hz, 4.4 Hz wide."""
    still = replace(BOX, reverberation_time=1.0)
    frequency = np.linspace(60, 78, 7201)
    top = np.array(
        [abs(still.down(2 * math.pi * f, np.array([2.5]), PISTON)[0, 0]) ** 2 for f in frequency]
    )
    above = frequency[top >= top.max() / 2]
    assert above[-1] - above[0] == pytest.approx(2.2, rel=0.02)  # 2.199/T, neighbours 1 %


@pytest.fixture(scope="module")
def ceiling():
    design = basement()
    plate = build.board_plate(
        "ceiling", design.ceiling.layers, design.room.length, design.room.width, 0.03, (0.0, 0.0)
    )
    return design, modes(plate, 160.0)


def test_volume_average_is_the_average_of_many_places(ceiling):
    """Midpoint rule over 20 x 20 x 20 places, one random motion of the ceiling, 63 Hz."""
    design, leaf = ceiling
    ears = room.ears(design, leaf, highest=200.0)
    keep = np.arange(40)
    motion = np.random.default_rng(3).standard_normal((40, 2)) + 0j
    n = (np.arange(20) + 0.5) / 20
    box = ears.box
    grid = np.stack(
        np.meshgrid(n * box.length, n * box.width, n * box.height, indexing="ij"), axis=-1
    ).reshape(-1, 3)
    omega = 2 * math.pi * 63.0
    everywhere = np.mean(np.abs(ears.pressure(omega, motion, keep, grid)) ** 2, axis=0)
    found = ears.squares(omega, motion, keep)
    assert found["average"] == pytest.approx(everywhere, rel=0.01)
    alone = room.ears(design, leaf, highest=200.0, places=False).squares(omega, motion, keep)
    assert alone.keys() == {"average"}
    assert np.array_equal(alone["average"], found["average"])


def test_more_shapes_change_nothing_that_matters(ceiling):
    """Three times as high a limit, all shapes kept: the average moves by less than 0.1 dB, a
    listener by less than 0.3 dB."""
    design, leaf = ceiling
    keep = np.arange(60)
    motion = np.random.default_rng(5).standard_normal((60, 3)) + 0j
    for frequency in (12.0, 31.0, 80.0):
        omega = 2 * math.pi * frequency
        usual = room.ears(design, leaf, highest=200.0).squares(omega, motion, keep)
        more = room.ears(design, leaf, highest=600.0)
        object.__setattr__(more, "box", _Everything(**vars_of(more.box)))
        fine = more.squares(omega, motion, keep)
        for name, limit in (("average", 0.1), ("inside", 0.1), ("middle", 0.3), ("pillow", 0.3)):
            apart = 10 * np.abs(np.log10(usual[name] / fine[name]))
            assert apart.max() < limit, (frequency, name)


class _Everything(room.Box):
    """A box that keeps every shape it has."""

    def kept(self, frequency: float) -> np.ndarray:
        return np.arange(len(self.wavenumbers))


def vars_of(box: room.Box) -> dict:
    names = ("length", "width", "height", "reverberation_time", "leak_time", "highest")
    return {name: getattr(box, name) for name in names}


def test_high_up_the_box_is_the_diffuse_room():
    """Many modes: a random ceiling's volume average over a band of modes equals 4 rho c W/A of
    a diffuse room, W = rho c v²/cos(angle) from each shape faster than sound, none within 10 % of
    grazing. Averaged over 300-360 Hz, where the box has some 150 modes: within 1 dB."""
    box = room.Box(5.0, 4.0, 2.5, 0.5, highest=400.0)
    frequency = np.linspace(300, 360, 1200)
    square, power = 0.0, 0.0
    for f in frequency:
        omega = 2 * math.pi * f
        shapes = box.kept(f)
        k = omega / air.SPEED
        travelling = box.wavenumbers[shapes] < 0.9 * k
        chosen = shapes[travelling]
        # unit mean-square velocity on every shape: all incoherent
        square += box.mean_square_down(omega, chosen).sum() / (box.length * box.width)
        # radiation of a large plate on each shape: rho c / cos(theta)
        cosine = np.sqrt(1 - (box.wavenumbers[chosen] / k) ** 2)
        power += np.sum(air.IMPEDANCE / cosine)
    absorption = 55.26 * box.volume / (air.SPEED * box.reverberation_time)  # Sabine, 24 ln10 V/cT
    diffuse = 4 * air.IMPEDANCE * power / absorption
    assert 10 * math.log10(square / diffuse) == pytest.approx(0.0, abs=1.0)


def test_the_room_s_air_stiffens_a_light_ceiling():
    """By hand: 21.5 kg/m2 and 40 kg/m2 on 101.3 kPa/0.276 m are 25.7 Hz; with the closed room's
    141.8 kPa/2.4 m added on the ceiling, the 2 x 2 eigenproblem gives 26.7 Hz."""
    spring, below = 101.325e3 / 0.276, 141.8e3 / 2.4
    stiffness = np.array([[spring, -spring], [-spring, spring + below]])
    mass = np.array([40.0, 21.5])
    free = np.sqrt(spring * (1 / 40 + 1 / 21.5)) / (2 * math.pi)
    root = np.sqrt(mass)
    closed = np.sqrt(np.linalg.eigvalsh(stiffness / root / root[:, None])[1]) / (2 * math.pi)
    assert free == pytest.approx(25.7, abs=0.1)
    assert closed == pytest.approx(26.7, abs=0.1)
    # the joint's own stiffness on the uniform shape is that spring, below its first mode (68 Hz):
    # k H cot(k H) at 5 Hz is 1.6 % less than 1
    box = room.Box(4.2, 3.6, 2.4, 100.0, leak_time=100.0, highest=50.0)
    design = basement()
    plate = build.board_plate("ceiling", design.ceiling.layers, 4.2, 3.6, 0.03, (0.0, 0.0))
    link = room.joint(box, modes(plate, 50.0), 0, (0.0, 0.0))
    assert 1 / link.compliance(2 * math.pi * 5.0)[0].real == pytest.approx(below, rel=0.025)


def test_places_lie_in_the_room():
    """Ears of who sits, 1.2 m above the floor in the middle; a pillow 0.3 m from one wall and 1 m
    from the other, 0.6 m up, and in a closet no farther than its middle. z runs down from the
    ceiling."""
    assert room.listener(BOX, "middle")[0] == pytest.approx((2.5, 2.0, 2.5 - 1.2))
    assert room.listener(BOX, "pillow")[0] == pytest.approx((0.3, 1.0, 2.5 - 0.6))
    closet = room.Box(0.5, 1.6, 2.5, 0.5, highest=100.0)
    assert room.listener(closet, "pillow")[0] == pytest.approx((0.25, 0.8, 2.5 - 0.6))
    assert len(room.corners(BOX)) == 8
    with pytest.raises(ValueError, match="pillow"):
        room.listener(BOX, "sofa")


def test_air_of_the_room_ends_at_the_ceiling():
    """By hand: 4.2 x 3.6 m, 2.4 m to the joists; 41 mm of cavity and two boards of 15.9 mm leave
    2.3272 m, so 36.288 m3 and 35.187 m3."""
    design = basement()
    assert room.volume(design, ceiling=False) == pytest.approx(36.288, abs=1e-3)
    assert room.volume(design) == pytest.approx(35.187, abs=1e-3)
    assert room.of_design(design).volume == pytest.approx(room.volume(design))

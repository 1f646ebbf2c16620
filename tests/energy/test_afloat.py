"""A topping in a slab's own modes: two plates on a spring by hand, waves at edges by quadrature."""

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.base import air, bands
from impact.design.parts import Mat, Slab
from impact.energy import afloat, radiating, slab_modes
from impact.energy.leaves import floating_leaves, slab_leaf
from impact.leaf.plate import Plate, modes

STIFF, MASS, ETA, LENGTH, WIDTH = 1.2e6, 120.0, 0.03, 4.3, 3.1
MAT = Mat("plain spring", 4e7, 0.1, 0.01, None, 0.0, 0.0)


def floor_with_topping():
    """An isotropic slab on four sides below a board on a mat without mass."""
    design = designs.on_slab()
    plate = Slab("concrete", 0.12, MASS, STIFF, STIFF, 0.4 * STIFF, 0.2, ETA, 0.0, "four sides",
                 in_situ_loss=False)  # fmt: skip
    board = replace(design.ceiling.layers[0], thickness=0.04, bond="floating", mat=MAT)
    floor = replace(design.floor, slab=plate, layers=(board,), covering=None, length=LENGTH,
                    width=WIDTH, loss_factor=ETA)  # fmt: skip
    room = replace(design.room, length=LENGTH, width=WIDTH, offset_x=0.0, offset_y=0.0)
    return replace(design, floor=floor, room=room)


def by_hand(leaf, f):
    """S <v²> of the slab per mean-square force on the topping, mean over frequencies: 2 x 2 for
    each sin sin, both supported; blows 0.5 m and more from the edges."""
    m, n = (a.ravel() for a in np.mgrid[1:30, 1:30])
    kx, ky = m * np.pi / LENGTH, n * np.pi / WIDTH
    struck = np.ones(len(m))
    for k, side in ((kx, LENGTH), (ky, WIDTH)):
        ends = np.array([0.5, side - 0.5])
        part = (ends / 2 - np.sin(2 * np.outer(k, ends)) / (4 * k[:, None])) @ [-1, 1]
        struck = struck * 2 * part / (ends[1] - ends[0])
    bx, by, both = leaf.stiffness
    bent = (bx * kx**4 + 2 * both * kx**2 * ky**2 + by * ky**4) * (1 + 1j * leaf.loss[0])
    spring, found = MAT.stiffness_per_area * (1 + 1j * MAT.loss_factor), []
    for omega in 2 * np.pi * f:
        system = np.empty((len(m), 2, 2), complex)
        system[:, 0, 0] = bent - omega**2 * leaf.mass + spring
        slab = STIFF * (1 + 1j * ETA) * (kx**2 + ky**2) ** 2
        system[:, 1, 1] = slab - omega**2 * MASS + spring
        system[:, 0, 1] = system[:, 1, 0] = -spring
        moved = np.linalg.solve(system, np.array([1.0, 0.0])[:, None])[:, 1, 0]
        found.append(np.sum(struck * np.abs(omega * moved) ** 2) / (LENGTH * WIDTH))
    return np.mean(found)


@pytest.mark.parametrize("centre", [100.0, 160.0, 250.0, 400.0])
def test_two_plates_on_a_spring_by_hand(centre, monkeypatch):
    """Light air. At the 20 lines of a band within 1 %, modes that are left out; beside 400 lines
    within 6 %, 0.25 dB, for losses of 3 %."""
    monkeypatch.setattr(air, "IMPEDANCE", 1e-3)
    slab_modes._slab.cache_clear()
    design, exact = floor_with_topping(), bands.CENTRES[bands.index(centre)]
    f = np.array([exact])
    found = slab_modes.known(design, slab_leaf(design.floor, f), f, (0.0, 0.0))
    leaf = floating_leaves(design.floor, f)[0][1]
    for lines, within in ((20, 0.01), (400, 0.06)):
        expected = by_hand(leaf, exact * 10 ** (((np.arange(lines) + 0.5) / lines - 0.5) / 10))
        assert found.square[0] * found.passed[0] == pytest.approx(expected, rel=within)
    slab_modes._slab.cache_clear()


def test_waves_inside_a_supported_slab_are_those_of_its_sines():
    plate = Plate("slab", LENGTH, WIDTH, MASS, STIFF, 0.6 * STIFF, 0.1 * STIFF, 0.2 * STIFF, ETA,
                  "supported", shear=(2e7, np.inf))  # fmt: skip
    leaf = modes(plate, 400.0)
    x2, y2 = afloat.inside(leaf)
    at = np.argmax(np.abs(leaf.coefficients).reshape(-1, len(x2)), axis=0)
    m, n = np.divmod(at, leaf.y.count)
    np.testing.assert_allclose(x2, ((m + 1) * np.pi / LENGTH) ** 2, rtol=1e-6)
    np.testing.assert_allclose(y2[:40], ((n + 1) * np.pi / WIDTH)[:40] ** 2, rtol=1e-5)


def test_free_edge_by_quadrature():
    """cos kx - sin kx + exp(-kx) on sin qx along a half line, dying out at two slow rates and drawn
    on to none; on waves of sound a supported edge has k/(k² - q²), whose square counts half."""
    x = np.linspace(0, 4000, 800_001)
    k, ratio = 1.0, 0.49
    wave = (np.cos(k * x) - np.sin(k * x) + np.exp(-k * x)) / np.sqrt(2)
    dying = 2 * np.exp(-0.004 * x) - np.exp(-0.008 * x)
    free, held = [], []
    for q in np.sqrt(ratio) * np.cos(radiating.ANGLES):
        free.append(2 * np.trapezoid(wave * dying * np.sin(q * x), x) ** 2)
        held.append((k / (k**2 - q**2)) ** 2)
    found = afloat.at_free_edge(np.array([ratio]))[0]
    assert found == pytest.approx(np.mean(free) / np.mean(held), rel=0.02)


def test_edges_of_unlike_and_of_like_waves():
    """Waves much shorter than the slab's hand on next to nothing; no edge more than a wave with
    free ends leaves beside its two nearest sines, each (2/pi)² both ways."""
    assert afloat.at_free_edge(np.array([0.01]))[0] < 1e-5
    rest = 1 - (2 * (2 / np.pi) ** 2) ** 2
    np.testing.assert_allclose(afloat.at_free_edge(np.array([0.98, 1.0, 1.05])), rest)


def test_only_one_leaf_all_over_is_alone():
    floating = floating_leaves(floor_with_topping().floor, np.array([250.0]))
    assert afloat.alone(floating) is floating[0]
    assert afloat.alone([]) is None
    assert afloat.alone([*floating, *floating]) is None
    lines = replace(MAT, line_spacing=0.4)
    assert afloat.alone([(lines, floating[0][1])]) is None

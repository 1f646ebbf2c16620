"""Rows of bays whose boards hang on points, or on joists of their own."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import zeta

from impact.base import air
from impact.energy import bay_parts, bays, leaves, ribbed
from impact.leaf.build import Section
from impact.link.cavity import Gap

BOARD = Section(10.0, 450.0, 300.0, 70.0, 130.0, 0.0, 0.0125)
EVEN = Section(10.0, 450.0, 450.0, 135.0, 157.5, 0.0, 0.0125)  # 2 D66 + Dnu = D: isotropic
NONE = bay_parts.Ribs(0.4, lambda k2: np.zeros_like(k2), 0.0, 0.0, 0.0, 0.0, 0.0)
JOISTS = bay_parts.Ribs(0.4, lambda k2: np.full_like(k2, 3e5), 2e3, 0.0, 4.0, 0.05, 0.05)
F = np.array([100.0, 200.0, 315.0])
GLUE = Gap(5e-6, fill=5e-6, flow_resistivity=1e12)  # a spring of 2e10 N/m3 that lets no air flow


def power(deck, ribs, lower=(), count=1):
    made = bay_parts.Build((), deck, ribs, lower, (4.0, 5.0), count)
    return ribbed.field(made, F)


def test_points_at_rest():
    """zeta(3) a³/(16 pi³ B): 2 sum over n of 1/(4 B q³), q = 2 pi n/a (a line of force on a plate,
    B q³ 4 its stiffness: any text on plates). 1 %: twelve orders leave 0.3 %."""
    found = bay_parts.Sheet(EVEN, 0.0).between_points(np.zeros(1), 1.0, 0.3)
    expected = zeta(3) * 0.3**3 / (16 * np.pi**3 * 450.0)
    assert found.real == pytest.approx(expected, rel=0.01)


def test_a_line_of_an_orthotropic_plate_in_motion():
    """The same sum, each line's mean over ky by quadrature of the plate's equation. 0.5 %: orders
    beyond the eighth and the end of the quadrature."""
    kx, omega, pitch, loss = 2.0, 2 * np.pi * 250, 0.3, 0.05

    def stiff(ky, q):
        bent = 450 * q**4 + 2 * (70 + 2 * 130) * q**2 * ky**2 + 300 * ky**4
        return bent * (1 + 1j * loss) - omega**2 * 10

    total = 0j
    for n in (*range(-8, 0), *range(1, 9)):
        q = kx + 2 * np.pi * n / pitch
        for part, unit in ((np.real, 1), (np.imag, 1j)):
            area = quad(lambda ky, q, part: part(1 / stiff(ky, q)), 0, 1500, (q, part), limit=400)
            total += unit * area[0] / np.pi
    found = bay_parts.Sheet(BOARD, loss).between_points(np.array([kx]), omega, pitch)[0]
    assert found == pytest.approx(total, rel=0.005)


@pytest.mark.parametrize("f", [50.0, 150.0, 300.0])
def test_points_of_all_joists_at_once(f):
    """A board held at points 0.3 m apart on lines 0.4 m apart, a wave kx along: what one point
    gives way is the double sum of 1/(a s D) over all wavenumbers of the lattice. The row has n = 0
    of it and, for each other n, a line alone. 2 %: what other lines do to that one, e^(-q s)."""
    sheet, omega, pitch, spacing, kx = bay_parts.Sheet(BOARD, 0.05), 2 * np.pi * f, 0.3, 0.4, 1.5
    n, m = np.arange(-40, 41), np.arange(-400, 401)
    q, ky = np.meshgrid(kx + 2 * np.pi * n / pitch, 2.0 + 2 * np.pi * m / spacing, indexing="ij")
    each = 1 / (pitch * spacing * sheet.stiffness(q, ky, omega))
    of_row = each[n == 0].sum()
    rest = sheet.between_points(np.array([kx]), omega, pitch)[0] / pitch
    assert of_row + rest == pytest.approx(each.sum(), rel=0.02)
    assert abs(rest) > 0.05 * abs(each.sum())  # it counts


def test_share_of_directions_that_nails_leave_alone():
    """Counted over directions of sound: those in which no wave k of the board differs from the
    sound's by 2 pi/pitch along the joist. 1 %: 200,000 directions."""
    rng = np.random.default_rng(0)
    f, pitch = np.array([250.0, 400.0, 500.0, 800.0]), 0.3
    leaf = leaves.plate_leaf("board", EVEN, 20.0, (4.0, 5.0), 0.03, f)
    turned = rng.normal(size=(200_000, 3))
    along = (turned / np.linalg.norm(turned, axis=1)[:, None])[:, 0]
    found = bays._even_lines(leaf, pitch, 2 * np.pi * f)
    for at, share in zip(f, found, strict=True):
        k = (10.0 * (2 * np.pi * at) ** 2 / 450.0) ** 0.25
        other = np.abs(np.abs(along) * 2 * np.pi * at / air.SPEED - 2 * np.pi / pitch)
        assert share == pytest.approx(np.mean(other > k), abs=0.01)
    assert 0 < found[1] < 1


def test_a_ceiling_stuck_to_the_deck_lends_it_its_joists():
    """Two sheets with air between them so thin that it holds them together are one sheet of both
    masses and stiffnesses, wherever the joists are fastened, every 0.4 m or every 0.6 m.
    0.25 dB: both thicknesses in one spring; the shortest waves see each joist of a period alone."""
    half = bay_parts.Sheet(EVEN, 0.05)
    both = Section(20.0, 900.0, 900.0, 270.0, 315.0, 0.0, 0.025)
    for spacing, count in ((0.4, 1), (0.6, 3)):
        ribs = replace(JOISTS, spacing=spacing)
        lower = bay_parts.Lower(half, GLUE, ribs=ribs)
        stuck = power(half, NONE, (lower,), count)
        whole = power(bay_parts.Sheet(both, 0.05), ribs)
        for ours, one in ((stuck.power, whole.power), (stuck.deck, whole.deck)):
            assert 10 * np.log10(ours / one) == pytest.approx(0.0, abs=0.25)


def test_several_joists_in_a_period_are_the_same_row():
    """Counting two or three joists as one period changes nothing (translation). 0.3 dB: fewer
    places across each bay."""
    sheet = bay_parts.Sheet(EVEN, 0.05)
    lower = (bay_parts.Lower(sheet, Gap(0.0, 0.2, 0.9), 1e7 + 0j, pitch=0.3),)
    one = power(sheet, JOISTS, lower)
    for count in (2, 3):
        more = power(sheet, JOISTS, lower, count)
        assert 10 * np.log10(more.power / one.power) == pytest.approx(0.0, abs=0.3)
        assert 10 * np.log10(more.joists / one.joists) == pytest.approx(0.0, abs=0.3)

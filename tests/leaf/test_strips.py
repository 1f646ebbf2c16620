"""Loose fill on boards from joist to joist: a row of beams with hinges over their supports."""

from dataclasses import replace

import designs
import numpy as np
import pytest
from scipy.linalg import eigh

from impact.leaf import mirror, strips

FLOOR = designs.sanded(designs.basement()).floor
EVEN = (0.6, 1.2, 1.8, 2.4, 3.0)
ODD = (0.5, 1.3, 1.7, 2.4, 3.1)  # without a mirror image
REACH, HIGHEST = 12.0, 500.0


def squares(lines, hold):
    """omega² of the functions across when springs `hold` [N/m2] keep every joist's line still."""
    plate = strips.fill_plate(FLOOR)
    basis, bare = strips.hinged(plate.width, lines, 5)
    at = basis.values(np.array(lines))
    stiffness = np.diag(bare * plate.bending_y) + hold * at.T @ at
    return eigh(stiffness, eigvals_only=True) / plate.mass


@pytest.mark.parametrize("lines", [EVEN, ODD])
def test_over_still_joists_each_bay_is_a_beam_on_two_supports(lines):
    """omega = (pi/l)² sqrt(D/m), l the length of a bay (beam on two supports, any handbook), with D
    and m as they are drawn. 1e-4: springs that are not quite stiff."""
    plate = strips.fill_plate(FLOOR)
    bays = np.diff(np.r_[0.0, lines, plate.width])
    expected = np.sort((np.pi / bays) ** 4 * plate.bending_y / plate.mass)
    assert squares(lines, 1e12)[: len(bays)] == pytest.approx(expected, rel=1e-4)


def test_a_strip_keeps_the_frequency_of_the_boards_as_they_lie():
    """Boards of E = 10 GPa, 22 mm, over the clear width s - b, with 60 kg/m2 over the plan, all of
    it on the clear width, and 460 kg/m3 of their own: f = pi/2 w² sqrt(E t³/12 m) (beam on two
    supports). 1e-9: the same formula, the mapping to the whole spacing being exact."""
    joists = FLOOR.joists
    clear = joists.spacing - joists.width
    mass = 60.0 * joists.spacing / clear + 460.0 * 0.022
    by_hand = np.pi / 2 / clear**2 * np.sqrt(10e9 * 0.022**3 / 12 / mass)
    plate = strips.fill_plate(FLOOR)
    drawn = np.pi / 2 / joists.spacing**2 * np.sqrt(plate.bending_y / plate.mass)
    assert drawn == pytest.approx(by_hand, rel=1e-9)


@pytest.mark.parametrize("lines", [EVEN, ODD])
def test_without_supports_every_hinge_is_a_mechanism(lines):
    """Beams that hang together by hinges and rest on the two walls move without bending in as many
    ways as there are hinges (a hinged chain; any textbook of structures)."""
    plate = strips.fill_plate(FLOOR)
    leaf = strips.modes(plate, lines, REACH, HIGHEST)
    along = leaf.x.count
    first = (np.pi / 0.6) ** 2 * np.sqrt(plate.bending_y / plate.mass)
    assert np.all(leaf.omega[: len(lines) * along] < 1e-3 * first)
    assert leaf.omega[len(lines) * along] > 0.5 * first


@pytest.mark.parametrize("lines", [EVEN, ODD])
def test_functions_are_orthonormal_and_rest_on_the_walls(lines):
    basis, _ = strips.hinged(3.6, lines, 4)
    points = np.linspace(0, 3.6, 9_001)
    values = basis.values(points)
    # trapezium of 0.4 mm: its error is of second order, some (pi n h/l)²/12 = 6e-6
    product = np.trapezoid(values[:, :, None] * values[:, None, :], points, axis=0)
    assert product == pytest.approx(np.eye(basis.count), abs=1e-4)
    assert basis.values(np.array([0.0, 3.6])) == pytest.approx(0.0, abs=1e-12)


def test_cosines_over_a_part_of_the_side():
    """Against a sum over 20,000 points; 1e-4: its step."""
    basis, _ = strips.hinged(3.6, ODD, 4)
    step = 2.0 / 20_000
    points = 0.7 + (np.arange(20_000) + 0.5) * step
    psi = np.cos(np.pi * np.outer(np.arange(5), points - 0.7) / 2.0) * np.sqrt(2 / 2.0)
    psi[0] /= np.sqrt(2)
    expected = psi @ basis.values(points) * step
    assert basis.cosines(5, 0.7, 2.0) == pytest.approx(expected, abs=1e-4)


def test_its_mirror():
    """Joists that stand as in the mirror make modes that keep or change sign; others do not."""
    plate = strips.fill_plate(FLOOR)
    assert mirror.signs(strips.modes(plate, EVEN, REACH, HIGHEST), 1) is not None
    assert mirror.signs(strips.modes(plate, ODD, REACH, HIGHEST), 1) is None


def test_weight_without_boards_of_its_own():
    """On an old ceiling fill is that ceiling's mass, and there is no such leaf."""
    infill = replace(FLOOR.infill, boards=None)
    floor = replace(FLOOR, infill=infill)
    assert floor.fill_mass == 60.0
    with pytest.raises(ValueError, match="boards"):
        strips.strip_bending(floor)

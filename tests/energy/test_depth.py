"""A joist across its depth beside the plane elasticity of the same strip below a deck.

The reference shares nothing with the code but the deck's own line: orthotropic plane stress, in
each wave along the grain solved exactly over the depth (state vector u, w, shear, normal stress).
"""

import numpy as np
import pytest
from scipy.linalg import solve_banded

from impact.energy import depth, ribbed
from impact.energy.bay_parts import Build, Lower, Ribs, Sheet, Strips
from impact.leaf.build import Section
from impact.link.cavity import Gap

ALONG, ACROSS, SHEAR, POISSON = 10e9, 10e9 / 30, 10e9 / 16, 0.4  # softwood classes of EN 338
DENSITY, LOSS, WIDTH, DEPTH = 450.0, 0.06, 0.038, 0.235
DECK = Sheet(Section(11.2, 970.0, 2381.0, 380.0, 570.0, 0.0, 0.018), LOSS)
STONE = Sheet(Section(57.0, 9000.0, 9000.0, 1800.0, 3600.0, 0.0, 0.043), LOSS)
LOSSY = 1 + 1j * LOSS
CRUSH = ACROSS * WIDTH / DEPTH * LOSSY
MASS = DENSITY * WIDTH * DEPTH


def bending(k2):
    own = ALONG * WIDTH * DEPTH**3 / 12
    return own / (1 + k2 * own / (SHEAR * WIDTH * DEPTH * 5 / 6))


def strip(k, omega):
    """Stiffness (4, 4) [N/m2] of (u, w) at the upper and lower face of the strip."""
    small = POISSON * ACROSS / ALONG
    scale = LOSSY / (1 - POISSON * small)
    c11, c33, c13, c44 = ALONG * scale, ACROSS * scale, POISSON * ACROSS * scale, SHEAR * LOSSY
    inertia = DENSITY * omega**2
    a = np.zeros((4, 4), complex)  # d/dz of (u, w, tau, sigma) for u sin kx, w cos kx
    a[0, 1], a[0, 2] = k, 1 / c44
    a[1, 0], a[1, 3] = -c13 * k / c33, 1 / c33
    a[2, 0], a[2, 3] = k**2 * (c11 - c13**2 / c33) - inertia, k * c13 / c33
    a[3, 1], a[3, 2] = -inertia, -k
    unit = np.array([1, 1, c44.real * k, c44.real * k])
    root, shape = np.linalg.eig(a * unit / unit[:, None])
    shape, order = shape * unit[:, None], np.argsort(root.real)
    root, shape = root[order], shape[:, order]
    above = np.r_[1, 1, np.exp(-root[2:] * DEPTH)]
    below = np.r_[np.exp(root[:2] * DEPTH), 1, 1]
    moved = np.vstack([shape[:2] * above, shape[:2] * below])
    pulled = np.vstack([-shape[2:] * above, shape[2:] * below])
    return WIDTH * pulled @ np.linalg.inv(moved)


def exact(deck, omega, along):
    """Motion of the upper and the lower face per force on the deck above them, (2, n)."""
    found = []
    for k in along:
        whole = strip(k, omega)
        whole[1, 1] += 1 / deck.under_line(np.array(k**2), omega)
        found.append(np.linalg.solve(whole, [0, 1, 0, 0])[[1, 3]])
    return np.array(found).T


def mean_square(values, along):
    return np.trapezoid(np.abs(values) ** 2, along)


GRID = np.concatenate([np.geomspace(0.05, 2, 120)[:-1], np.linspace(2, 80, 500)])


@pytest.mark.parametrize("deck", [DECK, STONE])
@pytest.mark.parametrize("frequency", [125.0, 500.0, 1000.0, 1600.0, 2000.0, 2500.0])
def test_both_faces_beside_plane_elasticity(deck, frequency):
    """Within 1 dB, where one beam is up to 8 dB off: a rod knows neither the grain's own bending
    nor how waves short against the depth crowd at a face."""
    omega = 2 * np.pi * frequency
    upper, lower = exact(deck, omega, GRID)
    beam = bending(GRID**2) * GRID**4 * LOSSY - omega**2 * MASS
    rod = depth.Rod(beam, CRUSH)
    moved = 1 / (1 / deck.under_line(GRID**2, omega) + rod.face())
    for found, true in ((moved, upper), (moved * rod.at([1.0])[0][:, 0], lower)):
        apart = 10 * np.log10(mean_square(found, GRID) / mean_square(true, GRID))
        assert abs(apart) < 1.0


def test_one_beam_is_far_off_at_2_khz():
    omega = 2 * np.pi * 2000.0
    _, lower = exact(DECK, omega, GRID)
    beam = bending(GRID**2) * GRID**4 * LOSSY - omega**2 * MASS
    stiff = 1 / (1 / DECK.under_line(GRID**2, omega) + beam)
    assert 10 * np.log10(mean_square(lower, GRID) / mean_square(stiff, GRID)) > 4


@pytest.mark.parametrize("frequency", [250.0, 1000.0, 2000.0])
def test_what_averages_take_for_a_joist(frequency):
    """By definition: lower faces over beams behind half their depth."""
    omega = 2 * np.pi * frequency
    _, lower = exact(DECK, omega, GRID)
    above = 1 / DECK.under_line(GRID**2, omega)
    beam = bending(GRID**2) * GRID**4 * LOSSY - omega**2 * MASS
    half = 2 * CRUSH
    system = np.array([[above + half, -half + 0 * above], [-half + 0 * above, half + beam]])
    behind = np.linalg.solve(system.transpose(2, 0, 1), np.array([1, 0])[:, None])[:, 1, 0]
    true = mean_square(lower, GRID) / mean_square(behind, GRID)
    found = depth.under(DECK, np.array([omega]), bending, MASS, CRUSH)[0]
    assert abs(10 * np.log10(found / true)) < 1.0


def test_slow_motion_moves_the_whole_depth():
    beam = np.array([3e4 - 2e4j, -5e4 + 1e3j])
    rod = depth.Rod(beam, CRUSH)
    ratio, give = rod.at([0.3, 1.0])
    np.testing.assert_allclose(rod.face(), beam, rtol=2e-3)
    np.testing.assert_allclose(ratio, 1, atol=2e-3)
    by_hand = np.array([[0.3, 0.3], [0.3, 1.0]]) / CRUSH  # by what lies above both
    np.testing.assert_allclose(give, [by_hand] * 2, rtol=3e-3)
    stiff = depth.Rod(beam, np.inf)
    assert (stiff.face() == beam).all()
    ratio, give = stiff.at([0.3, 1.0])
    assert (ratio == 1).all()
    assert (give == 0).all()


def test_quarter_wave_by_hand():
    """sqrt(E90/rho)/4d of a rod without loss: the far face runs away, the near one stands."""
    quarter = np.sqrt(ACROSS / DENSITY) / 4 / DEPTH
    assert quarter == pytest.approx(916, rel=1e-3)
    beam = np.array([-((2 * np.pi * quarter) ** 2) * MASS])
    rod = depth.Rod(beam, ACROSS * WIDTH / DEPTH + 0j)
    ratio, give = rod.at([1.0])
    assert abs(ratio[0, 0]) > 1e6
    assert abs(rod.face()[0]) > 1e12
    assert abs(give[0, 0, 0]) > 1.0


LAYERS = 3000


def layered(beam, heights, springs):
    """Forces (1 + A, 1 + A) [N/m2] on the upper face and on A ends of springs fixed at `heights`
    per motion of one of them, and the lower face's motion: a joist cut into many springs and
    masses, solved as it stands."""
    layer = CRUSH * LAYERS
    share = np.full(LAYERS + 1, beam / LAYERS)
    share[[0, -1]] /= 2
    middle = share + layer * np.r_[1, np.full(LAYERS - 1, 2), 1]
    ties = np.zeros((LAYERS + 1, len(heights)), complex)
    for end, (height, spring) in enumerate(zip(heights, springs, strict=True)):
        place = round(height * LAYERS)
        middle[place] += spring
        ties[place, end] = -spring
    beside = np.full(LAYERS, -layer)
    first = np.r_[-layer, np.zeros(LAYERS - 1)]  # of the upper face on those below it
    edge = np.column_stack([first, ties[1:]])
    inner = solve_banded((1, 1), np.stack([beside, middle[1:], beside]), edge)
    whole = np.block([[middle[:1, None], ties[:1]], [ties[:1].T, np.diag(springs)]])
    return whole - edge.T @ inner, -inner[-1]


@pytest.mark.parametrize("frequency", [200.0, 900.0, 1300.0, 3000.0])
def test_three_places_of_a_joist_beside_many_springs(frequency):
    """Deck above, battens a third down its side, boards below: all hear each other. What 3000
    layers miss of the rod falls with the square of their number."""
    beam = 3e5 * LOSSY - (2 * np.pi * frequency) ** 2 * MASS
    heights, springs = [0.32, 1.0], [1.2e9 * (1 + 0.05j), 2e6 + 1e5j]
    whole, _ = layered(beam, heights, springs)
    rod = depth.Rod(np.array([beam]), CRUSH)
    found = rod.held(heights, springs, np.eye(2)[None])[0]
    found[0, 0] += rod.face()[0]
    np.testing.assert_allclose(found, whole, rtol=1e-4, atol=1e-5 * abs(whole[0, 2]))
    for count in (0, 1):  # without and with battens, the boards apart
        _, true = layered(beam, heights[:count], springs[:count])
        moved, give = rod.lower_face(heights[:count], springs[:count], np.eye(count)[None])
        np.testing.assert_allclose(moved[0], true, rtol=1e-4)
        pressed, _ = layered(beam, [*heights[:count], 1.0], [*springs[:count], 1e4 + 0j])
        own = 1 / (1 / pressed[-1, -1] - 1e-4)  # what the spring there leaves of 1e4 N/m2
        assert 1 / give[0] == pytest.approx(own, rel=2e-3)


def row(crush, *lower):
    ribs = Ribs(0.4, bending, 1e3, 0.0, MASS, 0.05, LOSS, crush)
    made = Build((), DECK, ribs, lower, (4.0, 5.0))
    return ribbed.field(made, np.array([1600.0]), places=(0.0,))


@pytest.mark.parametrize("fill", [False, True])
def test_hung_boards_hear_the_lower_face(fill):
    """In the row: stiff joists are the limit of hard ones; soft ones hand on several dB more from
    where a quarter of a wave fits, below battens with fill as well (1.3 kHz below these)."""
    boards = Lower(
        Sheet(Section(10.8, 920.0, 920.0, 276.0, 322.0, 0.0, 0.0159), 0.03),
        Gap(0.013, DEPTH, 1 - WIDTH / 0.4, True, 0.2, 10e3), hangers=2e5 + 1e4j,
    )  # fmt: skip
    battens = Lower(
        Strips(70.0, 1500.0, 0.1), Gap(0.0, 0.06, 1 - WIDTH / 0.4, True, 0.0, 0.0),
        1.2e9 * (1 + 0.05j), height=0.3,
    )  # fmt: skip
    lower = (battens, boards) if fill else (boards,)
    stiff, hard, soft = (row(crush, *lower) for crush in (np.inf, 1e14, CRUSH.real))
    for name in ("deck", "joists", "power", "hung", "under"):
        assert getattr(hard, name) == pytest.approx(getattr(stiff, name), rel=1e-3)
    assert stiff.under == pytest.approx(stiff.joists)
    assert 10 * np.log10(soft.under / stiff.under) > 3

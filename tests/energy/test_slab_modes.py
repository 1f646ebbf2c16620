"""A slab's own modes in the balance: closed sums over sin sin by hand, limits, and modes solved."""

from dataclasses import replace
from pathlib import Path

import designs
import numpy as np
import pytest
from scipy.integrate import quad

import impact
from impact.base import air, bands
from impact.design.parts import Slab
from impact.energy import half_waves, paths, slab_modes, upper
from impact.energy.leaves import slab_leaf
from impact.heard.joined import join

CONSTRUCTIONS = Path(__file__).parents[2] / "validation" / "constructions"
STIFF, MASS, ETA = 7.0e6, 330.0, 0.03
INSET = 0.5  # m, from edges that no blow falls nearer to (validation/notes/modes_and_energy.md)


def slab_of(length: float, width: float):
    """An isotropic slab on four sides with one loss factor, as large as its room."""
    design = designs.on_slab()
    plate = Slab("concrete", 0.14, MASS, STIFF, STIFF, 0.4 * STIFF, 0.2, ETA, 0.0, "four sides",
                 in_situ_loss=False)  # fmt: skip
    floor = replace(design.floor, slab=plate, layers=(), covering=None, length=length, width=width,
                    loss_factor=ETA)  # fmt: skip
    room = replace(design.room, length=length, width=width, offset_x=0.0, offset_y=0.0)
    return replace(design, floor=floor, room=room)


def by_hand(length: float, width: float, f: np.ndarray, points: np.ndarray):
    """Re Y, S <v^2> per mean-square force and mean square at points over that of the slab, means
    over frequencies f: any text on a simply supported plate; what modes radiate is left out."""
    m, n = (a.ravel() for a in np.mgrid[1:40, 1:40])
    kx, ky = m * np.pi / length, n * np.pi / width
    square = STIFF / MASS * (kx**2 + ky**2) ** 2 * (1 + 1j * ETA)
    struck = np.ones(len(m))
    for k, side in ((kx, length), (ky, width)):
        ends = np.array([INSET, side - INSET])
        part = (ends / 2 - np.sin(2 * np.outer(k, ends)) / (4 * k[:, None])) @ [-1, 1]
        struck = struck * 2 * part / (ends[1] - ends[0])
    omega = 2 * np.pi * f[:, None]
    near = np.abs(square - omega**2) ** 2
    mean_mass = MASS * length * width
    mobility = (struck * omega * square.imag / near).sum(axis=1).mean() / mean_mass
    weight = (struck * omega**2 / near).mean(axis=0) / (mean_mass * MASS)
    there = 4 * np.mean(np.sin(np.outer(points[:, 0], kx)) ** 2
                        * np.sin(np.outer(points[:, 1], ky)) ** 2, axis=0)  # fmt: skip
    return mobility, weight.sum(), (weight @ there) / weight.sum()


def found_of(design, f):
    f = np.array(f)
    return slab_modes.known(design, slab_leaf(design.floor, f), f, (0.0, 0.0))


@pytest.mark.parametrize("z", [300.0**2 * (1 + 0.02j), 700.0**2 * (1 + 0.3j)])
def test_means_over_a_band(z):
    """Closed against quadrature."""
    low, high = 250.0, 320.0
    squares = slab_modes.band_means(np.array([z]), low, high)
    for got, part in zip(squares, (lambda w: w**2, lambda w: w * z.imag), strict=True):
        whole = quad(lambda w, part=part: part(w) / abs(z - w**2) ** 2, low, high, limit=200)[0]
        assert got[0] == pytest.approx(whole / (high - low), rel=1e-6)


@pytest.mark.parametrize("centre", [63.0, 125.0, 250.0, 500.0])
def test_a_supported_slab_by_hand(centre, monkeypatch):
    """Mobility, motion and what hangers see of it against sums over sin sin. Light air, so that
    what modes radiate is no loss. 1 %: 2000 lines by hand, modes beyond those that are kept."""
    monkeypatch.setattr(air, "IMPEDANCE", 1e-3)
    slab_modes._slab.cache_clear()
    design = slab_of(4.3, 3.1)
    exact = bands.CENTRES[bands.index(centre)]
    low, high = bands.edges(exact)
    points = np.array(slab_modes.place(design).points)
    lines = low + (high - low) * (np.arange(2000) + 0.5) / 2000
    mobility, square, under = by_hand(4.3, 3.1, lines, points)
    found = found_of(design, [exact])
    slab_modes._slab.cache_clear()
    assert found.moving[0] == 1
    assert found.mobility[0] == pytest.approx(mobility, rel=0.01)
    assert found.square[0] == pytest.approx(square, rel=0.01)
    assert found.under[0] == pytest.approx(under, rel=0.01)


def test_many_modes_are_an_endless_plate():
    """Re Y = 1/(8 sqrt(B m'')) (Cremer, Heckl & Petersson) where many lie in a band: 20 to 30 of
    them, blows away from the edges, 3 bands: 0.3 dB in the mean."""
    design = slab_of(8.3, 6.1)
    f = np.array(bands.CENTRES)[bands.index(400.0) : bands.index(630.0) + 1]
    found = found_of(design, f)
    assert 0 < found.moving.min() < 1
    level = 10 * np.log10(found.mobility * 8 * np.sqrt(STIFF * MASS))
    assert level.mean() == pytest.approx(0.0, abs=0.3)


def test_cosines_of_the_room_hold_what_a_sine_has_in_them():
    """Shares of modes in the cosines between hard walls against the product of both sides' series,
    (4/pi)² m²/(m² - n²)² (`half_waves.shares`, of any text on Fourier series)."""
    slab = found_of(slab_of(4.3, 3.1), [bands.CENTRES[bands.index(250.0)]]).slab
    got = slab.shares(np.arange(6), (9, 8)).reshape(6, 9, 8)
    m, n = (a.ravel() for a in np.mgrid[1:9, 1:9])
    order = np.argsort((m / 4.3) ** 2 + (n / 3.1) ** 2)[:6]
    x, y = half_waves.shares(8, 9), half_waves.shares(8, 8)
    for mode, place in enumerate(order):
        expected = np.outer(x[m[place] - 1], y[n[place] - 1])
        assert got[mode] == pytest.approx(expected, abs=1e-6)


def test_a_slab_that_reaches_beyond_its_room():
    """The room's cosines hold the part above it, told as if all of the slab lay there: half of a
    mode that is alike on both sides of the middle, the same shares as of the whole, sum 1."""
    design = slab_of(4.0, 3.0)
    design = replace(design, room=replace(design.room, length=2.0))
    slab = found_of(design, [bands.CENTRES[bands.index(160.0)]]).slab
    shares = slab.shares(np.arange(5), (40, 40)).sum(axis=1)
    assert shares == pytest.approx(1.0, abs=0.01)


def test_averages_hold_above_and_where_nothing_is_asked_for():
    """From many modes on, and below `reach`, the balance is what it is without them, exactly."""
    design = slab_of(4.3, 3.1)
    f = np.array(bands.CENTRES)
    alone = paths.transfer(design, f)
    exact = paths.transfer(design, f, exact=True, reach=(300.0, 300.0))
    many = upper.build(design, f, (300.0, 300.0)).modes.moving == 0
    assert many[f < 300].all()
    assert many[-3:].all()
    assert not many[(f > 300) & (f < 900)].any()
    assert exact.power_per_force[many] == pytest.approx(alone.power_per_force[many], rel=1e-12)
    assert exact.mobility[many] == pytest.approx(alone.mobility[many], rel=1e-12)


@pytest.mark.parametrize("name", ["slab_hollow", "slab_lightweight", "cross_laminated"])
def test_modes_and_energy_meet_below_slabs(name):
    """Two methods that share the slab's own modes, and neither ceiling, air nor hangers, within 1.5
    dB in each of three bands, with the ceiling, on perfect hangers and bare (it was 2.4 to 3.1)."""
    apart = join(impact.read(CONSTRUCTIONS / f"{name}.toml")).mismatch_db
    assert max(np.abs(each).max() for each in apart.values()) < 1.5


def test_what_floats_on_a_slab_takes_in_what_its_modes_do():
    """Re Y under a topping on a mat, two endless plates, within 0.5 dB of the modes in three bands
    about the mat's resonance (over a still base 4.4 / 3.9 / 2.4). The floor below it is then within
    2 dB (4 as a diffuse field of free waves, 10 over a still base)."""
    design = impact.read(CONSTRUCTIONS / "cross_laminated_floating.toml")
    joined = join(design)
    three = slice(joined.crossover - 1, joined.crossover + 2)
    f = np.array(bands.CENTRES)[three]
    averages = paths.transfer(design, f, ceiling=False, exact=True)
    level = 10 * np.log10(averages.mobility.real / joined.mobility[three].real)
    assert np.abs(level).max() < 0.5
    assert np.abs(joined.mismatch_db["bare"]).max() < 2

"""Waves of the air in a gap: sums over single rooms, closed forms of sources in a duct, counts."""

from pathlib import Path

import numpy as np
import pytest

import impact
from impact.base import air, bands
from impact.energy import bay_parts, gap_waves, radiating, ribbed, transfer
from impact.heard.joined import join
from impact.leaf.build import Section
from impact.link import porous
from impact.link.cavity import Gap
from impact.motion import lowband
from impact.motion.assemble import assemble
from tests.texts import SLAB
from validation.finite_elements import cases, compare

CONSTRUCTIONS = Path(__file__).parents[2] / "validation" / "constructions"
SIDES = (3.0, 4.0)
SOUND = 2 * np.pi * 400 / air.SPEED


def _in_rooms(wave, resonance, loss, rooms=400):
    """Mean over rooms, of about SIDES, of the sum over all cosines of a supported wave's shares
    times a resonance at `resonance`: the projections of sin(kx x) sin(ky y), worked out at once."""
    draw = np.random.default_rng(3)
    found = []
    while len(found) < rooms:
        angle = draw.uniform(0, np.pi / 2)
        along = wave * np.array([np.cos(angle), np.sin(angle)])
        half = np.round(along * np.array(SIDES) * draw.uniform(0.85, 1.15, 2) / np.pi)
        if half.min() < 1:
            continue
        sides = half * np.pi / along  # a room in which this wave fits
        shares, q = [], []
        for side, count in zip(sides, half, strict=True):
            order = np.arange(int(SOUND * side / np.pi) + 1)
            x = (np.arange(4000) + 0.5) / 4000 * side
            cosine = np.cos(np.pi * order[:, None] * x / side) * np.where(order > 0, 2, 1)[:, None]
            sine = np.sqrt(2) * np.sin(np.pi * count * x / side)
            overlap = (cosine / np.sqrt(np.where(order > 0, 2, 1))[:, None]) @ sine / 4000
            shares.append(overlap**2)
            q.append(np.pi * order / side)
        heard = np.hypot(q[0][:, None], q[1])
        inside = heard < SOUND
        rings = _resonance(heard, resonance, loss)
        found.append((np.multiply.outer(*shares) * rings)[inside].sum())
    return np.mean(found)


def _resonance(heard, resonance, loss):
    return 1 / ((1 - (heard / resonance) ** 2) ** 2 + loss**2)


@pytest.mark.parametrize("times", [0.3, 0.45, 1.2, 1.6, 3.0])
def test_a_wave_in_the_cosines_of_its_rooms(times):
    """1 dB: 400 rooms leave 0.4 dB of chance; the rest is that the nearest cosines are taken at
    eight places and all others as if they lay everywhere. Beside the resonance, 0.75, it is 1.6."""
    resonance, loss = 0.9 * SOUND, 0.05
    grid = gap_waves.grid(400)
    inside = grid[0] < 1
    values = _resonance(SOUND * grid[0], resonance, loss)[inside][None]
    heard = grid[0][inside], grid[1][inside]
    wave = np.array([times * SOUND])
    ours = gap_waves.summed(wave, heard, values, SOUND, SIDES)[0, 0]
    assert 10 * np.log10(ours / _in_rooms(wave[0], resonance, loss)) == pytest.approx(0, abs=1.0)


def test_far_slower_waves_sound_twice_as_from_a_plate_in_a_plane():
    """Leppington's edges, `radiating.free_waves`, doubled by the walls (Maidanik 1962). 2 %: terms
    of (q/k)² of both expansions, k = 15 q."""
    ratio, area = gap_waves.grid(400)
    inside = ratio < 1
    wave = np.array([15 * SOUND])
    loud = 1 / np.sqrt(1 - ratio[inside] ** 2)
    found = gap_waves.summed(wave, (ratio[inside], area[inside]), loud[None], SOUND, SIDES)[0, 0]
    f = 400.0
    plane = radiating.free_waves(np.array([f]), f * 15.0**2, *SIDES)[0]
    assert found / plane == pytest.approx(2, rel=0.02)


def test_a_source_gives_a_gap_what_it_gives_a_flat_duct(monkeypatch):
    """Volume velocity Q: rho omega Q²/4d between plates d apart (any text on waveguides, the wave
    without a node across), rho c k0² Q²/2 pi into a half space: pi/(2 k0 d). 3 %: a loss factor of
    0.002 has 1 % of the resonance beyond the wavenumber of sound; k0 d = 0.14."""
    monkeypatch.setattr(porous, "EMPTY_LOSS", 0.002)
    depth, mass, omega = 0.03, 20.0, 2 * np.pi * 250
    sound = omega / air.SPEED
    ratio, area = gap_waves.grid(4000)
    inside = ratio < 1
    resisted = gap_waves.limp(Gap(depth), omega, mass, ratio, np.zeros(len(ratio)), 0j)[1]
    into_gap = (resisted * area)[inside].sum()
    assert into_gap / air.IMPEDANCE == pytest.approx(np.pi / (2 * sound * depth), rel=0.03)


def test_modes_of_a_gap_get_no_more_energy_than_those_of_the_leaf():
    """However much would come in. The number of cosines of a room of 20 x 15 m from 380 to 420 Hz,
    counted; 8 %: those along single walls, P k/4 pi S of all."""
    low, high = 2 * np.pi * np.array([380.0, 420.0])
    x, y = np.meshgrid(np.arange(200) / 20.0, np.arange(200) / 15.0)
    k = np.pi * np.hypot(x, y)
    count = np.sum((k >= low / air.SPEED) & (k < high / air.SPEED)) / (high - low) / 300
    energy, per_mode = 1e9, 3.0
    kept = energy * gap_waves.shared(energy, per_mode, 2 * np.pi * 400 / air.SPEED)
    assert kept == pytest.approx(count * per_mode, rel=0.08)
    assert gap_waves.shared(1e-9, per_mode, SOUND) == pytest.approx(1)


def test_cosines_come_to_no_net_flow_at_the_edges():
    """Faster than sound they are heard as any wave is; far slower as (k0/q)² of a supported edge
    times the mean of cos², 1/2. 2 %: terms of (k0/q)²."""
    ratio = np.array([0.5, 12.0])
    f = np.full(2, 400.0)
    supported = radiating.free_waves(f, f * ratio**2, *SIDES)
    found = gap_waves.loudness(SOUND * ratio, SOUND, SIDES) / supported
    assert found == pytest.approx([1.0, 0.5 / 144], rel=0.02)


@pytest.mark.parametrize("ratio", [0.7, 1.0, 1.4, 3.0])
def test_a_gap_that_is_alike_for_all_cosines_changes_no_pattern(ratio):
    """t(q) = t: the face below moves as the leaf above does, t times as much, and the cosines it
    was taken apart into come to that again: nothing is left to them (linearity). Exact."""
    heard = gap_waves.grid(24)
    loud = gap_waves.loudness(SOUND * heard[0], SOUND, SIDES)
    through = np.full(heard[0].shape, 0.3 - 0.1j)
    wave = np.array([ratio * SOUND])
    alike, apart = gap_waves.handed_on(wave, heard, through, loud, SOUND, SIDES)
    assert alike == pytest.approx(0.3 - 0.1j)
    assert apart == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("f", [100.0, 200.0, 400.0])
def test_below_a_full_gap_the_slab_is_heard_as_without_one(f):
    """Air that cannot flow is a spring p0/d in each place (isothermal), and the limp leaf below
    moves s/(omega² m - s) of the slab, below, at and above its coincidence (125 Hz). 0.5 dB: the
    leaf's load by the air, the spring's loss, the air's depth. Cosine by cosine it was 3.8 and
    1.7 dB less at 100 and 200 Hz."""
    mass, depth = 200.0, 0.005
    gap = Gap(depth, fill=depth, flow_resistivity=1e5)
    slab = gap_waves.Waves((7.8e6, 7.8e6, 7.8e6), 345.0, 3.0, 4.0)
    spring = 101325 / depth
    expected = (spring / ((2 * np.pi * f) ** 2 * mass - spring)) ** 2
    found = gap_waves.below_slab(gap, np.array([f]), mass, slab).forced
    assert 10 * np.log10(found / expected) == pytest.approx(0.0, abs=0.5)


def test_slab_over_a_thin_empty_gap():
    """Modes and energy, two methods, within 1.5 dB where they meet (0.4): they were 6 dB apart, and
    2.1 with a diffuse field of the slab's waves in place of its modes."""
    joined = join(impact.read(CONSTRUCTIONS / "slab_thin_gap.toml"))
    assert np.abs(joined.mismatch_db["design"]).max() < 1.5


def test_deck_without_joists_over_a_thin_gap():
    """Averages over an endless row, of joists that are nothing, against finite elements of a deck
    of 4 x 5 m over 30 mm of empty air (`validation/finite_elements`, thin_gap_deck, six forces). 1
    dB in the mean of 125 to 400 Hz; so few forces and one room leave 2 dB in a band."""
    deck, boards = (
        bay_parts.Sheet(
            Section(
                x.mass, x.bending_x, x.bending_y, x.poisson * np.sqrt(x.bending_x * x.bending_y),
                x.twisting, 0.0, 0.0,
            ), loss,
        )
        for x, loss in ((cases.DECK, 0.06), (cases.BOARDS, 0.05))
    )  # fmt: skip
    joists = bay_parts.Ribs(0.6, lambda k2: 0 * k2, 0.0, 0.0, 0.0, 0.0, 0.06)
    below = bay_parts.Lower(boards, Gap(0.03, blocks=False))
    sides = cases.LENGTH, cases.WIDTH
    build = bay_parts.Build((), deck, joists, (below,), sides, room_above=False)
    rows = [row for row in compare.stored("thin_gap_deck") if row["band_hz"] >= 125]
    centres = np.array([bands.CENTRES[bands.index(row["band_hz"])] for row in rows])
    found = ribbed.field(build, centres).power
    apart = 10 * np.log10(found / [row["radiated_power"] for row in rows])
    assert np.abs(apart).max() < 2
    assert abs(apart.mean()) < 1


@pytest.mark.parametrize("heard", [0.2, 0.7, 1.6])
def test_a_free_edge_leaves_little_in_long_cosines(heard):
    """Integrals along a line, quenched by exp(-x/1000), of cos x - sin x + exp(-x), whose second
    and third derivative vanish at 0, and of sin x, both times cos(q x); energies 2 : 1 far off."""
    x = (np.arange(2_000_000) + 0.5) * 5e-3
    quenched = np.exp(-x / 1000) * np.cos(heard * x) * 5e-3
    free, held = ((shape * quenched).sum()
                  for shape in (np.cos(x) - np.sin(x) + np.exp(-x), np.sin(x)))  # fmt: skip
    ratio = free**2 / 2 / held**2
    assert gap_waves.free_edge(np.array(1.0), np.array(heard)) == pytest.approx(ratio, rel=0.02)


def apart(path, f, *changed):
    """Averages less modes [dB] at bands f below a slab of 150 mm in a room of 1.9 x 1.6 m, over
    120 mm and hangers of no stiffness; changed : (old, new) in the design's text."""
    text = (SLAB + "count = {count}\n").format(slab='kind = "concrete"\nthickness = "150 mm"',
                                              count=1)  # fmt: skip
    small = ('"5 m"', '"1.9 m"'), ('"4 m"', '"1.6 m"'), ('"200 mm"', '"120 mm"')
    hung = ('[hangers]', '[hangers]\ndynamic_stiffness = "0.5 N/mm"\nchannel_spacing = "500 mm"\n'
            'channel = "furring channel 7/8 in, 18 mil"')  # fmt: skip
    for old, new in (*small, hung, *changed):
        assert old in text
        text = text.replace(old, new)
    path.write_text(text)
    design = impact.read(path)
    centres = [bands.CENTRES[bands.index(one)] for one in f]
    stack = assemble(design, bands.edges(centres[-1])[1])
    modes = lowband.transfers(stack, stack.whole, centres, (6, 4)).power["design"]
    energy = transfer(design, np.array(centres), exact=True).power_per_force
    return 10 * np.log10(energy / modes)


@pytest.mark.parametrize(("thickness", "count", "f"), [
    ("15.9 mm", 2, (1250.0, 1600.0, 2000.0)), ("30 mm", 1, (800.0, 1000.0, 1250.0)),
])  # fmt: skip
def test_boards_below_a_slab_do_not_ring_at_their_coincidence(tmp_path, thickness, count, f):
    """150 mm of concrete over 60 of 120 mm filled, the boards' coincidence at the last bands, by
    averages and by modes, on hangers of no stiffness: 2 dB. Waves of the slab are four times as
    long as those of sound there, and find the boards' own only at edges; as a diffuse field they
    made 14 and 19 dB more."""
    fill = ("[hangers]", '[cavity.fill]\nmaterial = "glass wool"\nthickness = "60 mm"\n[hangers]')
    boards = ('"12.5 mm"', f'"{thickness}"'), ("count = 1", f"count = {count}")
    assert np.abs(apart(tmp_path / "design.toml", f, fill, *boards)).max() < 2


@pytest.mark.parametrize(("thickness", "f", "within"), [
    ("30 mm", (630.0, 800.0), 2.0), ("50 mm", (500.0, 630.0, 800.0), 5.0),
])  # fmt: skip
def test_boards_over_an_empty_gap_ring_with_its_air(tmp_path, thickness, f, within):
    """60 mm of concrete with nothing in the gap, below the coincidence of boards, and at that of
    50 mm, 630 Hz, where few modes meet. Free waves that are fed by what limp boards are pressed
    with made -4 below coincidence and +9 there. Modes are right: they agree with finite elements
    (`validation/finite_elements`, `heavy_boards_slab`)."""
    boards, slab = ('"12.5 mm"', f'"{thickness}"'), ('"150 mm"', '"60 mm"')
    assert np.abs(apart(tmp_path / "design.toml", f, boards, slab)).max() < within


def test_bending_boards_below_a_layer_of_air_by_hand():
    """Air between two faces is a column with sides: p2 = X (v1 - v2 cos), X = rho omega/(i k sin),
    k² = omega² rho/K - q², depth d in sin and cos. Boards answer with p2 = Z v2, Z = i omega m +
    D q⁴/(i omega): v2/v1 = X/(Z + X cos), at any q; a limp leaf is D = 0."""
    omega, depth, mass, stiff = 2 * np.pi * 500.0, 0.12, 43.0, 27778.0 * (1 + 0.03j)
    ratio = np.array([0.3, 0.9, 1.13, 1.6])  # the third is the boards' own waves
    q = omega / air.SPEED * ratio
    density, bulk = porous.empty()
    k = np.sqrt(omega**2 * density / bulk - q**2 + 0j)
    column = density * omega / (1j * k * np.sin(k * depth))
    for bent in (0.0, stiff * q**4):
        boards = 1j * omega * mass + bent / (1j * omega)
        found = gap_waves.limp(Gap(depth), omega, mass, ratio, np.zeros(4), 0j, bent)[0]
        assert found == pytest.approx(column / (boards + column * np.cos(k * depth)), rel=1e-6)

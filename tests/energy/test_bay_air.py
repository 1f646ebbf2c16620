"""Half waves joined by air: a system of two by hand, all of them solved at once, limits, energy."""

from dataclasses import replace

import numpy as np
import pytest

from impact.base import air
from impact.energy import bay_air, bay_parts, half_waves, ribbed
from impact.leaf.build import Section
from impact.link import cavity, porous
from impact.link.cavity import Gap

SIDES = (4.0, 5.0)
PLATE = Section(10.0, 450.0, 450.0, 135.0, 158.0, 0.0, 0.0125)
STILL = bay_parts.Ribs(0.6, lambda k2: 0 * k2, 0.0, 0.0, 0.0, 0.0, 0.0)


def test_two_half_waves_by_hand():
    """One box, u1 = a1 - g1 (k11 u1 + k13 u3) and u3 likewise, blows a of no common phase:
    <|u1|²> = (|1 + g3 k33|² <|a1|²> + |g1 k13|² <|a3|²>)/|det|², Cramer's rule, and with a common
    part r the cross term. A half wave between them, of the other parity, takes no part."""
    g, k11, k33, k13 = np.array([2.0, 7.0, 1.0 - 0.5j]), 0.7 + 0.2j, 0.3, 0.4 - 0.1j
    a = np.array([1.5, 1.0, -2.0 + 1j])
    springs = np.array([[k11, 0, k13], [0, 0.1, 0], [k13, 0, k33]])
    alone = 1 / (1 + g * np.diagonal(springs))
    stiff = np.diagonal(springs)[:, None, None].astype(complex)
    for common, air_ in ((0.0, springs), (0.3, springs), (0.3, springs[None])):
        together = np.array([[1.3, 0, common], [0, 0.9, 0], [common, 0, 0.8]])
        seen = a[:, None, None]
        found = bay_air.joined(
            bay_air.Solved(
                seen, np.abs(seen) ** 2 + 0j, stiff * alone[:, None, None], alone[:, None, None]
            ),
            g[:, None, None], stiff, [(0, 0.0, air_)], together, 2 * np.pi * 300.0, 4.0, 1.0,
        )  # fmt: skip
        got = found.inverse @ found.by_place @ np.conj(np.swapaxes(found.inverse, 1, 2))
        det = (1 + g[0] * k11) * (1 + g[2] * k33) - g[0] * g[2] * k13**2
        one, other = (1 + g[2] * k33) * a[0] / det, -g[0] * k13 * a[2] / det
        whole = 1.3 * abs(one) ** 2 + 0.8 * abs(other) ** 2 + 2 * common * (one * other.conj()).real
        assert got[0, 0, 0] == pytest.approx(whole / 1.3)
        assert got[1, 0, 0] == pytest.approx(abs(a[1] * alone[1]) ** 2)


def test_air_that_gives_way_alike_in_all_cosines_joins_nothing():
    """The cosines of all half waves are whole: sum over n of C_mn C_m'n is 1 for m = m', else 0
    (Parseval). 1 %: they end at 400."""
    parts = half_waves.parts(6, 400)
    assert parts @ parts.T == pytest.approx(np.eye(6), abs=0.01)


def row(fill: float, flow: float = 0.0) -> bay_parts.Build:
    gap = Gap(0.0, bay=0.2, open_share=0.9, fill=fill, flow_resistivity=flow)
    deck = bay_parts.Sheet(replace(PLATE, mass=20.0, bending_x=3e3, bending_y=3e3), 0.03)
    return bay_parts.Build(
        (), deck, STILL, (bay_parts.Lower(bay_parts.Sheet(PLATE, 0.03), gap, 1e7),), SIDES
    )  # fmt: skip


def test_input_power_is_lost_where_half_waves_are_joined(monkeypatch):
    """Air without loss between two faces: Re Y = omega eta (m1 S <v1²> + m2 S <v2²>) + what the
    lower one sounds (Cremer/Heckl/Petersson 2005), which only holds if what the air takes from one
    half wave the others get. 6 % in the mean of six bands, as of a deck alone."""
    monkeypatch.setattr(porous, "empty", lambda: (1.204, 141855.0))
    seen: list[float] = []
    square = ribbed.RowWaves.square

    def noted(self, leaf, *where):
        found = square(self, leaf, *where)
        if self.half and leaf == 1:
            place = 2 * np.pi / (0.6 * self.half * 2 * np.pi * SIDES[0])
            seen.append(float(found.sum() * place))
        return found

    monkeypatch.setattr(ribbed.RowWaves, "square", noted)
    f = np.geomspace(130, 500, 6)
    found = ribbed.field(row(0.0), f, places=(0.0,))
    lost = 2 * np.pi * f * 0.03 * (20.0 * found.deck + 10.0 * np.array(seen)) + found.power
    assert np.mean(lost / found.mobility.real) == pytest.approx(1.0, abs=0.06)


def test_air_held_by_a_fill_is_as_before(monkeypatch):
    """A bay full of dense wool answers each place by itself (`link.cavity`): nothing is joined, and
    nothing moves by more than 1 %; empty at the resonance of a bay's length it does by 3 % and
    more."""
    apart = []
    for build in (row(0.2, 1e6), row(0.0)):
        f = np.array([air.SPEED / 2 / SIDES[0] * 3])
        joined = ribbed.field(build, f, places=(0.0,)).deck
        monkeypatch.setattr(bay_air, "HIGHEST", 0.0)
        apart.append(abs(ribbed.field(build, f, places=(0.0,)).deck / joined - 1)[0])
        monkeypatch.undo()
    assert apart[0] < 0.01
    assert apart[1] > 0.03


def test_air_above_boards_on_joists_of_their_own_is_that_of_hard_walls():
    """Floor and boards without joists: for each wave across, the half waves m of both under springs
    K_mm' = sum over n of C_m'n C_mn/compliance(n), all at once,
    (D1 + K) w1 - K w2 = F_m, (D2 + K) w2 = K w1; <w2²> = sum over m' of |R_mm'|² where blows fall
    anywhere. 2 % up to NEAR times sound across, and some get most from other half waves."""
    gap = Gap(0.05, bay=0.2, open_share=0.9, fill=0.1, flow_resistivity=6e3)
    build = replace(
        row(0.0), lower=(bay_parts.Lower(bay_parts.Sheet(PLATE, 0.03), gap, 0j, ribs=STILL),),
        room_above=False,
    )  # fmt: skip
    omega, places, count = 2 * np.pi * 160.0, 3, 9
    kx, across = np.pi / SIDES[0] * np.arange(1, count + 1), np.array([0.3, 1.4, 3.0])
    harmonics = 2 * np.pi / 0.6 * np.arange(-2, 3)
    waves = ribbed.RowWaves(
        build, omega, np.repeat(kx, places), np.tile(across, count), harmonics, places
    )
    got = waves.square(1)[:, 2].reshape(count, places)
    parts = half_waves.parts(count, count + bay_air.BEYOND)
    cosines = np.pi / SIDES[0] * np.arange(parts.shape[1])
    sound = 1j * omega * air.IMPEDANCE * waves.sigma[:, 2].reshape(count, places)
    alone = []
    for place, wave in enumerate(across):
        spring = (parts / cavity.compliance(gap, omega, cosines, np.asarray(wave))) @ parts.T
        one = build.deck.stiffness(kx, wave, omega)
        other = build.lower[0].sheet.stiffness(kx, wave, omega) + sound[:, place]
        whole = np.block([
            [np.diag(one) + spring, -spring], [-spring, np.diag(other) + spring],
        ])  # fmt: skip
        moved = omega**2 * np.abs(np.linalg.inv(whole)[count:, :count]) ** 2
        assert got[:, place] == pytest.approx(moved.sum(axis=1), rel=0.02)
        alone.append(np.diagonal(moved) / moved.sum(axis=1))
    assert np.min(alone) < 0.5

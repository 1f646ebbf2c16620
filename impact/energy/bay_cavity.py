"""Sound below a hung ceiling from the waves of the leaf above it, a finite row of bays.

The air between hard walls takes a wave of m half waves along the joists and j across in its cosines
n and l, by C²mn C²jl (`half_waves.shares`), and hands each on to the ceiling by t(n, l): its motion
per force on the leaf above, over that leaf's without it. What the cosines nearest to a wave have in
common leaves its pattern whole, so that the ceiling sounds as the leaf above would; what differs
from that sounds cosine by cosine, as in `gap_waves.handed_on`, which has no directions. Here joists
make them: the waves of a row that sound most run along few half waves of the joists.

Where the gap is empty and the leaf above it light (boards on joists, loose fill), its cosines push
back on that leaf, each by a load Z of its own, and a wave is no longer handed on by itself. A leaf
that would move by w without the ceiling moves in a cosine by w/(1 + R Z), R its motion per force in
that cosine, the sum of C²mn C²jl H over its waves: Thévenin's source, as for any two systems in
touch; what one cosine makes of another is left out. Then all its waves are taken so, from their
motion without the ceiling, w/(1 - G Z) where they move by w, G their motion per force with it.

A row's waves across lie between those of the room; shares and sound of j between whole numbers are
taken linearly between them. Derived here, from Fourier series (any text) and `gap_waves`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from impact.energy import half_waves, through_air
from impact.energy.bay_parts import Build
from impact.link import cavity
from impact.link.cavity import Gap

if TYPE_CHECKING:
    from impact.energy.ribbed import RowWaves

MORE = 8  # half waves beyond the cosines that they move


@dataclass(frozen=True)
class Heard:
    """What a hung ceiling does per mean square of waves of m (rows) and j half waves (columns, both
    from 1): all (M, J) [-].

    whole : radiation factor of the ceiling's own wave, in its cosines. power : sound of what the
    wave in the leaf above hands on, over rho c. square : mean square of the ceiling's motion by it.
    """

    whole: NDArray
    power: NDArray
    square: NDArray


def heard(
    sound: float, sides: tuple[float, float], through: NDArray, ratio: NDArray, sigma: NDArray,
    back: tuple[NDArray, tuple[NDArray, NDArray, NDArray]] | None = None,
) -> Heard:  # fmt: skip
    """through : t (Q, T), complex, at wavenumbers `ratio` (Q,) / `sound` k0 [1/m] and T directions
    in equal parts of a quarter turn; beyond the last ratio nothing is heard. sides [m] of the room;
    sigma : radiation factors (M, J) of the leaf above, in place of the ceiling. back : Z
    [N/m3] there, and half waves (M,) and waves across (K,) [1/m] with H (M, K) [m3/N] at them; t
    then is motion of the ceiling per motion of the leaf above."""
    counts = [
        max(int(ratio[-1] * sound * side / np.pi), many) + 2
        for side, many in zip(sides, sigma.shape, strict=True)
    ]
    q, p = (np.pi * np.arange(count) / side for count, side in zip(counts, sides, strict=True))
    side = np.hypot(q[:, None], p)

    def at(values: NDArray, x: NDArray, y: NDArray) -> NDArray:
        turn = 2 / np.pi * np.arctan2(y, x[:, None] + 1e-12) * values.shape[1] - 0.5
        place = np.interp(np.hypot(x[:, None], y) / sound, ratio, np.arange(len(ratio)))
        return half_waves.between(values, place, turn, first=0)

    t = at(through, q, p)
    if back is not None:
        sines = [count + MORE for count in counts]
        waves = [np.pi * np.arange(1, n + 1) / x for n, x in zip(sines, sides, strict=True)]
        c, d = (half_waves.shares(*pair) for pair in zip(sines, counts, strict=True))
        load, (*known, alone) = back
        x, y = (
            np.interp(k, here, np.arange(len(here))) for k, here in zip(waves, known, strict=True)
        )
        free = half_waves.between(alone, x[:, None], y, first=0)
        t = t / (1 + c.T @ free @ d * at(load, q, p))
    loud = half_waves.radiation(sound, sides, (counts[0], counts[1]), sines=False)
    inside = side <= ratio[-1] * sound
    c, d = (half_waves.shares(*pair) for pair in zip(sigma.shape, counts, strict=True))
    near_c, near_d = _nearest(c), _nearest(d)

    def summed(values: NDArray) -> NDArray:
        return np.asarray(c @ (values * inside) @ d.T)

    alike = near_c @ t @ near_d.T
    square, cross, alone = summed(np.abs(t) ** 2 * loud), summed(np.conj(t) * loud), summed(loud)
    apart = square.real - 2 * np.real(alike * cross) + np.abs(alike) ** 2 * alone.real
    power = np.abs(alike) ** 2 * sigma + np.maximum(apart, 0.0)
    return Heard(alone.real, power, summed(np.abs(t) ** 2).real)


def in_rows(waves: RowWaves, values: NDArray) -> tuple[NDArray, NDArray, NDArray]:
    """Half waves (M,) and waves across (K,) [1/m], rising, and `values` (N, M) of them (M, K)."""
    along, across = waves.kx[:: waves.half], np.abs(waves.across[: waves.half]).ravel()
    order = np.argsort(across)
    return along, across[order], values.reshape(len(along), -1)[:, order]


def _nearest(share: NDArray) -> NDArray:
    """Shares of the two cosines beside each sine, of both together."""
    m, n = np.arange(1, len(share) + 1)[:, None], np.arange(share.shape[1])
    found = np.where(np.abs(m - n) == 1, share, 0.0)
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def springs(
    gap: Gap, omega: float, kx: NDArray, ky: NDArray, spacing: float
) -> tuple[NDArray, NDArray, NDArray]:
    """Dynamic stiffnesses of an air gap between two faces: above, across, below [N/m3].

    Layers as in `link.cavity`; joists let less air across. With a fill the spring of
    `link.cavity.compliance`, the same as for modes: what a fill takes from a face that moves alone
    is part of the floor's and the ceiling's loss factors, which are those in place.
    """
    if gap.fill > 0:
        spring = 1 / cavity.compliance(gap, omega, kx + 0 * ky, ky + 0 * kx)
        return spring, spring, spring
    side = np.sqrt(kx**2 + through_air.sideways_share(gap, omega, spacing) * ky**2)
    (a, _), (c, d) = cavity.layers(gap, omega, side)
    return 1j * omega * a / c, 1j * omega / c, 1j * omega * d / c


def per_mode(build: Build, squares: Sequence[float], mobility: float) -> float:
    """Energy per mode of all above a hung ceiling per mean-square force [J/N2], `gap_waves.shared`.

    squares : of deck, joists and the leaves between, as in `ribbed.Field` [m4/(N s)2]; mobility :
    real part at the face struck [m/(N s)]. n = 2 m'' Re Y/pi modes per rad/s and area (Cremer/
    Heckl/Petersson 2005). Endless below floating leaves, whose own modes take part in Re Y: nothing
    then goes back.
    """
    if build.floating:
        return float("inf")
    masses = [build.deck.section.mass, build.ribs.mass / build.ribs.spacing]
    masses += [item.sheet.mass for item in build.lower[:-1]]
    return float(np.dot(masses, squares) * np.pi / (2 * sum(masses) * mobility))

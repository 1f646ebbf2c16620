"""Sound below a hung ceiling from the waves of the leaf above it, a finite row of bays.

The air between hard walls takes a wave of m half waves along the joists and j across in its cosines
n and l, by C²mn C²jl (`half_waves.shares`), and hands each on to the ceiling by t(n, l): its motion
per force on the leaf above, over that leaf's without it. What the cosines nearest to a wave have in
common leaves its pattern whole, so that the ceiling sounds as the leaf above would; what differs
from that sounds cosine by cosine, as in `gap_waves.handed_on`, which has no directions. Here joists
make them: the waves of a row that sound most run along few half waves of the joists.

A row's waves across lie between those of the room; shares and sound of j between whole numbers are
taken linearly between them. Derived here, from Fourier series (any text) and `gap_waves`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from impact.energy import half_waves, through_air
from impact.energy.bay_parts import Build
from impact.link import cavity
from impact.link.cavity import Gap


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
    sound: float, sides: tuple[float, float], through: NDArray, ratio: NDArray, sigma: NDArray
) -> Heard:
    """through : t (Q, T), complex, at wavenumbers `ratio` (Q,) / `sound` k0 [1/m] and T directions
    in equal parts of a quarter turn; beyond the last ratio nothing is heard. sides [m] of the room;
    sigma : radiation factors (M, J) of the leaf above, in place of the ceiling."""
    counts = [
        max(int(ratio[-1] * sound * side / np.pi), many) + 2
        for side, many in zip(sides, sigma.shape, strict=True)
    ]
    q, p = (np.pi * np.arange(count) / side for count, side in zip(counts, sides, strict=True))
    side, turn = np.hypot(q[:, None], p), np.arctan2(p, q[:, None] + 1e-12)
    at = np.interp(side / sound, ratio, np.arange(len(ratio)))
    t = half_waves.between(through, at, 2 * turn / np.pi * through.shape[1] - 0.5, first=0)
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

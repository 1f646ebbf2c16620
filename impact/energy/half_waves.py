"""Half waves of a finite floor along its joists, in the air below it and in what it radiates.

A joist floor is supported at both ends of its joists, whose lengths are known and hold few half
waves: along them waves are sin(m pi x/L) and nothing between. Across, where many bays and joists
make them, they are taken as endless. Beside modes of the same floors in rooms whose sides are moved
by 5 %, sums over m follow each room, where integrals over all wavenumbers along gave their mean, 2
to 6 dB off in single bands at 125 to 250 Hz (`validation/notes/modes_and_energy.md`).

The air between hard walls knows cosines only. A sine of m half waves is, in these,

    C²mn = (4/pi)² m²/(m² - n²)², m + n odd, half of it for n = 0; their sum is 1

(any text on Fourier series): mostly the two beside it. So it is across as well.

What half waves radiate in a baffle is a sum over directions, exact (C. E. Wallace, J. Acoust. Soc.
Am. 51 (1972) 946, from memory; F. Fahy, P. Gardonio 2007 sec. 3.5): averages over the direction of
waves (`radiating.free_waves`) are up to 9 dB above where both components are slower than sound and
5 dB below where one is faster.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.base.quadrature import gauss
from impact.energy import gap_waves, radiating
from impact.leaf import basis

# Half waves of sound on the shorter side from which directions are left to their mean: from there
# on that of `radiation` is within 0.1 dB of it, and sums over directions would cost more than all.
MANY = 24


def along(length: float, fixity: float, reach: float) -> NDArray:
    """Wavenumbers (M,) [1/m] of the half waves along joists of `length` [m] up to `reach` [1/m] and
    one beyond; m pi/L of hinged ends, those of a beam with `fixity` (`leaf.basis.restrained`)."""
    count = int(reach * length / np.pi) + 1
    if fixity == 0:
        return np.pi / length * (np.arange(count) + 1)
    return np.asarray(np.diag(basis.restrained(length, count, fixity).bend) ** 0.25)


def struck(wave: NDArray, length: float, stands: tuple[float, float]) -> NDArray:
    """Mean of 2 sin²(k x) (M,) over the places x from `stands[0]` to `stands[1]` [m] where a source
    may stand, of waves k (M,) [1/m] over `length` [m]: a blow away from the ends moves long waves
    more than their mean. Held ends are taken as if the wave began at the nearest node."""
    return np.diagonal(together(wave, length, stands))


def together(wave: NDArray, length: float, stands: tuple[float, float]) -> NDArray:
    """Means of 2 sin(k x) sin(k' x) (M, M) [-] of two waves of `struck`: how far a blow that falls
    there moves both alike; nil but for k = k' where it may fall anywhere."""
    shift = (wave * length - np.pi * np.round(wave * length / np.pi)) / 2
    low, high = stands

    def mean(k: NDArray, behind: NDArray) -> NDArray:  # of cos(k x - behind)
        middle, half = (high + low) / 2, (high - low) / 2
        return np.asarray(np.cos(k * middle - behind) * np.sinc(k * half / np.pi))

    down, up = (np.subtract.outer, np.add.outer)
    return mean(down(wave, wave), down(shift, shift)) - mean(up(wave, wave), up(shift, shift))


def parts(sines: int, cosines: int) -> NDArray:
    """C_mn (sines, cosines) [-] of m = 1.. in n = 0..: see the heading."""
    m, n = np.arange(1, sines + 1)[:, None], np.arange(cosines)
    odd = (m + n) % 2 == 1
    found = np.where(odd, 4 / np.pi * m / np.where(odd, m**2 - n**2, 1), 0.0)
    return np.asarray(found / np.where(n == 0, np.sqrt(2), 1))


def shares(sines: int, cosines: int) -> NDArray:
    """C²mn (sines, cosines) [-] of m = 1.. in n = 0..: see the heading."""
    return parts(sines, cosines) ** 2


def radiation(
    sound: float, sides: tuple[float, float], counts: tuple[int, int], sines: bool = True
) -> NDArray:
    """Radiation factors `counts` [-] of products of half waves along both `sides` [m], in a baffle.

    sines : from one half wave on, else cosines from none on. W = rho c S <v²> sigma, summed over
    the hemisphere of `sound` k0 [1/m] as in `sound.radiation`.
    """
    if sound * min(sides) < MANY * np.pi:
        return _radiation(round(sound, 9), sides, counts, sines)
    along_, across = (
        np.pi / side * (np.arange(count) + int(sines))
        for side, count in zip(sides, counts, strict=True)
    )
    wave = np.hypot(along_[:, None], across)
    if not sines:
        return gap_waves.loudness(wave, sound, sides)
    return over_directions(sound, wave, sides)


def over_directions(sound: float, wave: NDArray, sides: tuple[float, float]) -> NDArray:
    """Radiation factors of waves `wave` [1/m] in a face of `sides` [m], the mean over directions,
    shape of `wave`: `radiating.free_waves`, in which waves slower than `sound` k0 [1/m] radiate
    from the edges."""
    f = np.full(wave.shape, sound * air.SPEED / 2 / np.pi)
    return radiating.free_waves(f, f * (wave / sound) ** 2, min(sides), max(sides))


@lru_cache(maxsize=96)
def _radiation(
    sound: float, sides: tuple[float, float], counts: tuple[int, int], sines: bool
) -> NDArray:
    (u, du), (v, dv) = (_quarter(sound * side) for side in sides)
    x = _transform(sound * np.sin(u), sides[0], counts[0], sines) * (du * np.cos(u))
    across = sound * np.outer(np.cos(u), np.sin(v))
    y = _transform(across, sides[1], counts[1], sines) @ dv
    return np.asarray(x @ y.T * (sound / np.pi) ** 2 / (sides[0] * sides[1]))


def _quarter(waves: float) -> tuple[NDArray, NDArray]:
    """Angles over a quarter turn and their weights [rad] for a side of k L = `waves` [rad]."""
    points, weights = gauss(int(np.ceil(0.45 * waves)) + 10)
    return points * np.pi / 2, weights * np.pi / 2


def _transform(wave: NDArray, side: float, count: int, sines: bool) -> NDArray:
    """|∫ s(x) exp(i q x) dx|² (count, ...) [m2] of half waves s of mean square 1 over a `side` [m],
    at q `wave` (...,) [1/m]."""
    order = (np.arange(count) + int(sines)).reshape(-1, *[1] * wave.ndim)
    own = order * np.pi / side
    apart = own**2 - wave**2
    close = np.abs(apart) < 1e-6
    top = 2 * (own if sines else wave) * np.where(order % 2, np.cos(wave * side / 2),
                                                  np.sin(wave * side / 2))  # fmt: skip
    found = (top / np.where(close, 1.0, apart)) ** 2
    found = np.where(close, side**2 / np.where(order == 0, 1, 4), found)
    return np.asarray(found * np.where(order == 0, 1, 2))


def between(table: NDArray, x: NDArray, y: NDArray, first: int = 1) -> NDArray:
    """`table` (M, J) of whole half waves from `first` on at any numbers of them x, y [-], bilinear;
    in the table's unit and the shape of both. Outside, the nearest."""
    return mixed(table, places(table.shape, x, y, first))


Places = tuple[NDArray, NDArray, NDArray]


def places(shape: tuple[int, ...], x: NDArray, y: NDArray, first: int = 1) -> Places:
    """Where `between` looks in tables of a `shape` for half waves x, y [-], found once for several:
    the lowest of four neighbours, as a place in the flat table, and the shares of the higher ones
    either way [-], in shapes that fit together as x and y do."""
    i, along_ = _place(x - first, shape[0])
    j, across = _place(y - first, shape[1])
    return i * shape[1] + j, along_, across


def mixed(table: NDArray, where: Places) -> NDArray:
    """`table` (M, J) between its numbers, at `places` of its shape; in its unit, [-] or other,
    and the shape of the places."""
    flat, (at, along_, across) = np.ravel(table), where
    row = table.shape[1]
    low = flat.take(at) * (1 - across) + flat.take(at + 1) * across
    high = flat.take(at + row) * (1 - across) + flat.take(at + row + 1) * across
    return np.asarray(low * (1 - along_) + high * along_)


def _place(order: NDArray, count: int) -> tuple[NDArray, NDArray]:
    inside = np.clip(order, 0, count - 1)
    low = np.minimum(inside.astype(int), count - 2)
    return low, inside - low

"""Air below a finite row of joists: its ends are hard, and it joins half waves.

Where boards lie straight on the joists each bay is a box of air (`link.cavity`). Over its width it
moves in cosines, and so it does along it, as its ends are hard, while the faces move in half waves
along the joists. A half wave m presses the cosines n by C_mn (`half_waves.parts`), each gives way
by its own compliance 1/k_n, and what presses back on half wave m' is

    k_mm' = sum over n of C_m'n k_n C_mn ,

nil unless m + m' is even: exact for faces whose half waves are whole over the room's length. Near a
resonance of the box, k_n large, it joins m and m ± 2 as strongly as it holds either alone.

The row of bays is solved for one half wave at a time, u = (1 + G L)^-1 A, with k_mm in L (letters
as in `ribbed`). What joins half waves is a small system beside it: with T = (1 + G L)^-1, b the
boxes' share of u, and D the springs k_mm' without k_mm,

    u = T A - T G E y ,   L u = L T A + (1 - L T G) E y ,   y = D (1 + Q D)^-1 E^T T A ,

E picks the boxes, Q = E^T T G E (elimination, any textbook of linear algebra). So forces y join
what a blow makes, A, for all means over blows: mean squares stay exact. Derived here.

So does the air above boards on joists of their own, which move in half waves from wall to wall as
the floor does: of each wave across that the air carries, how far both faces part is one more motion
of a bay, and its springs are the same sum, less what the wave has by itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.energy import half_waves
from impact.energy.bay_parts import Build
from impact.link import cavity
from impact.link.cavity import Gap

if TYPE_CHECKING:
    from impact.energy.ribbed import RowWaves

BOXES = 1.3  # of a plate's free wavenumber: cosines over the width of a closed bay
BEYOND = 12  # cosines of a closed bay's air beyond the half waves of its faces
# Half waves are joined as far as the air's own waves reach: cosines slower than NEAR times sound do
# not resonate, and few half waves lie between. All half waves and cosines move no third octave of
# two floors by more than 0.1 dB up to 500 Hz; from 630 Hz to 1 kHz, where nails let go of the
# lines, joining them would move bare floors by 0.1 to 1.2 dB, at several times the cost.
NEAR, FEW, HIGHEST = 1.5, 6, 560.0


class Solved(NamedTuple):
    """What `ribbed` keeps of a row of bays at N waves of M harmonics with U motions: seen (N, M,
    U), by_place, pull and inverse (N, U, U); see there."""

    seen: NDArray
    by_place: NDArray
    pull: NDArray
    inverse: NDArray


def boxes(width: float, spacing: float, reach: float, across: NDArray) -> Iterator[
    tuple[NDArray, float]
]:  # fmt: skip
    """What each orthonormal cosine over a bay's `width` [m] takes of waves `across` (N, M) [1/m],
    and its wavenumber, up to `reach` [1/m]."""
    middle = np.exp(0.5j * across * spacing)
    for order in range(int(reach * width / np.pi) + 1):
        wave, turn = order * np.pi / width, np.exp(0.5j * order * np.pi)
        there, back = (np.sinc((across + sign * wave) * width / 2 / np.pi) for sign in (1, -1))
        size = np.sqrt(width * (1 if order == 0 else 2)) / 2
        yield size * middle * (turn * there + np.conj(turn) * back), wave


def along(gap: Gap, omega: float, whole: NDArray, length: float, wave: float) -> NDArray:
    """Springs k_mm' (M, M) [N/m3] of a box `length` [m] long between half waves of whole numbers
    (M,), for a cosine `wave` [1/m] over its width, at omega [rad/s]; see the heading."""
    parts = half_waves.parts(whole.max(), whole.max() + BEYOND)[whole - 1]
    cosines = np.pi / length * np.arange(parts.shape[1])
    spring = 1 / cavity.compliance(gap, omega, cosines, np.asarray(wave))
    return np.asarray((parts * spring) @ parts.T)


def closed(waves: RowWaves, build: Build, leaf: int) -> Iterator[
    tuple[NDArray, float, NDArray, NDArray]
]:  # fmt: skip
    """Closed bays above a leaf: what each cosine over a bay's width takes of a wave (N, M), its
    wavenumber [1/m], springs of its air between half waves (M, M), and of each wave by itself (N,),
    both in N/m3."""
    gap, spacing = build.lower[leaf - 1].gap, build.ribs.spacing
    if not gap.closed:
        return
    faces = [build.deck, *(item.sheet for item in build.lower)][leaf - 1 : leaf + 1]
    reach = BOXES * max(x.wavenumber(waves.omega) for x in faces)
    own_across = waves.across[: waves.half or None]  # half waves along share places across
    for shape, wave in boxes(gap.open_share * spacing, spacing, reach, own_across):
        if waves.half:
            shape = np.tile(shape, (len(waves.across) // waves.half, 1))
            springs = along(gap, waves.omega, waves.whole, waves.sides[0], wave)
            yield shape, wave, springs, np.repeat(np.diagonal(springs), waves.half)
            continue
        own = 1 / cavity.compliance(gap, waves.omega, waves.kx, np.asarray(wave))
        yield shape, wave, own, own


def between_walls(waves: RowWaves, build: Build, leaf: int) -> Iterator[
    tuple[NDArray, float, NDArray, NDArray]
]:  # fmt: skip
    """Air above boards on joists of their own: one harmonic (N, M) of each wave, as far as sound
    reaches across (NEAR), and as in `closed`, springs of P places across (P, M, M) and what K_mm
    has more than the wave by itself (N,), all per length [N/m2]."""
    item, sound = build.lower[leaf - 1], waves.omega / air.SPEED
    too_high = waves.omega > 2 * np.pi * HIGHEST
    if item.ribs is None or item.gap.closed or not waves.half or too_high:
        return
    for order in np.flatnonzero(np.abs(waves.across).min(axis=0) <= NEAR * sound):
        across = waves.across[:, order]
        springs = build.period * np.array([
            along(item.gap, waves.omega, waves.whole, waves.sides[0], wave)
            for wave in across[: waves.half]
        ])  # fmt: skip
        own = build.period / cavity.compliance(item.gap, waves.omega, waves.kx, across)
        shape = np.zeros(waves.across.shape)
        shape[:, order] = 1.0
        yield shape, 0.0, springs, np.diagonal(springs, axis1=1, axis2=2).T.ravel() - own


def joined(
    alone: Solved, gram: NDArray, stiff: NDArray, tubes: Sequence[tuple[int, float, NDArray]],
    together: NDArray, omega: float, length: float, spacing: float,
) -> Solved:  # fmt: skip
    """Half waves joined by air.

    alone : each by itself, N = M P of M half waves (outer) and P places across. gram : G (N, U, U)
    over the spacing, stiff : L. tubes : of each box its place in u, wave over the width [1/m] and
    springs (M, M), or (P, M, M). together (M, M) : means of 2 sin sin over where blows fall.
    length : of the box, spacing : of the joists [m].
    """
    sound = omega / air.SPEED
    tubes = [each for each in tubes if each[1] <= NEAR * sound]
    half, places = len(together), len(gram) // len(together)
    first = min(half, int(NEAR * sound * length / np.pi) + FEW)
    picked, count = [each[0] for each in tubes], len(tubes)
    springs = [each[2][..., :first, :first] * (1 - np.eye(first)) for each in tubes]
    inner = alone.inverse @ gram
    moved = inner[:, :, picked]
    pushed = -stiff @ moved
    pushed[:, picked, range(count)] += 1
    shape = (half, places)
    own = inner[:, picked][:, :, picked].reshape(*shape, count, count)
    blow = (alone.inverse[:, picked] @ np.swapaxes(alone.seen, 1, 2)).reshape(*shape, count, -1)
    square = np.zeros((*shape, count, count), complex)
    with_blow = np.zeros(blow.shape, complex)
    for parity in (0, 1):
        at = np.arange(parity, first, 2)
        size = len(at) * count
        if len(at) < 2:
            continue
        between = np.zeros((places, len(at), count, len(at), count), complex)
        for box, spring in enumerate(springs):
            between[:, :, box, :, box] = spring[..., at[:, None], at]
        flat = between.reshape(places, size, size)
        loop = np.einsum("mpxy,pmynz->pmxnz", own[at], between).reshape(-1, size, size)
        force = flat @ np.linalg.inv(np.eye(size) + loop)
        of = np.moveaxis(blow[at], 1, 0).reshape(places, size, -1)
        mean = np.kron(together[np.ix_(at, at)], np.ones((count, count)))
        both = force @ (of @ np.conj(np.swapaxes(of, 1, 2)) * mean)
        rows = (places, len(at), count, size)
        squares = both.reshape(rows) @ np.conj(np.swapaxes(force.reshape(rows), 2, 3))
        share = np.diagonal(together)[at][:, None, None, None]
        square[at] = np.moveaxis(squares, 1, 0) / share
        found = ((force * mean) @ of).reshape(places, len(at), count, -1)
        with_blow[at] = np.moveaxis(found, 1, 0) / share
    total = half * places
    seen = np.swapaxes(with_blow.reshape(total, count, -1), 1, 2)
    cross = np.swapaxes(seen, 1, 2) @ np.conj(alone.seen)
    by_place = np.block([
        [alone.by_place, np.conj(np.swapaxes(cross, 1, 2)) / spacing**2],
        [cross / spacing**2, square.reshape(total, count, count) / spacing**2],
    ])  # fmt: skip
    return Solved(
        np.concatenate([alone.seen, seen], axis=2), by_place,
        np.concatenate([alone.pull, pushed], axis=2),
        np.concatenate([alone.inverse, -moved], axis=2),
    )  # fmt: skip

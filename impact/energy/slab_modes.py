"""A slab in its own room: its modes, each with its energy, in place of a diffuse field of waves.

A slab has few modes in a third octave, two or three at 125 Hz, five at 300 to 800 Hz. Averages know
how many there are in the mean, not where they lie: up to 8 dB in a band
(`validation/notes/slabs_in_the_balance.md`).
As long as they are few, what a blow gives a slab, what the air and the hangers get of it and what
it radiates are sums over the modes of its plate (`leaf.plate`). The rest of the balance stays: a
ceiling hears each mode through the air and at its hangers by what averages say of it, and modes do
not know of the ceiling.

A mode of unit mass with omega_n² (1 + i eta) = z_n, of mean square phi² where it is struck, has

    S <v²> = phi²/m'' w²/|z_n - w²|²,   Re Y = phi² w Im z_n/|z_n - w²|²

per mean-square force (superposition of modes, any text; L. Cremer, M. Heckl, B. A. T. Petersson,
Structure-Borne Sound, 3rd ed. 2005, ch. 5, from memory). Over all places of the blow energies add
(within half a metre of the edges it does not fall: nearly so). Means over a band are closed, as
1/|z - w²|² = -Im(1/(z - w²))/Im z. What a mode radiates to both sides is part of its loss.

Air between hard walls takes a mode in its cosines, by shares that are integrals over the room, and
hands each on to the ceiling by t(q) as in `gap_waves`, line by line: in a thin gap modes and
cosines both resonate. What the four strongest cosines of a mode have in common leaves its pattern
whole, so that the ceiling sounds as the slab would; what differs sounds cosine by cosine. With a
leaf that floats on the slab each mode is struck, and moves, through it: `afloat`.

Over an empty gap boards bend, each cosine by itself as between guided edges: they take what they
ring with from one cosine of the air and give it back, where free waves of their own are fed by all
of it and give nothing. Of a fill, whose air keeps no waves, they take the latter.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from impact.base import air, bands
from impact.design.parts import Design, Floor
from impact.design.placing import place
from impact.energy import afloat, gap_waves, half_waves
from impact.energy.gap_waves import Waves
from impact.energy.leaves import PlateLeaf, floating_leaves, slab_leaf
from impact.energy.through_air import Passage
from impact.leaf.plate import modes
from impact.link.cavity import Gap
from impact.link.joint import EVERY
from impact.motion import striking
from impact.motion.assemble import floor_plates, permitted
from impact.sound import radiation

MANY = 32.0  # modes in a band: from there on averages alone, up to half of it modes alone
LINES, TOGETHER = 20, 5  # frequencies in a band, and for how many cosines sound alike
REACH = 2.0  # of sound's wavenumber: cosines beyond it, and slower than the slab, are not heard
NEAR = 4  # cosines of a mode that carry its pattern
HELD = 0.9995  # of a band's motion, by modes that are followed
# Below a leaf that floats modes are wanted up to MORE of its wavenumber, at most MOST of the slab's
# own: much slower waves of a thin leaf move a slab little. So up to where modes are half of it all.
MOST, MORE = 2.0, 1.15


@dataclass(frozen=True)
class Known:
    """What modes say of a slab, per band (n,); 0 where they have no share in `moving`.

    moving, heard : share of modes, 0 to 1, in what the slab does and in what is heard of it below a
    ceiling. mobility : Re Y under the source [m/(N s)]. square : mean square of the motion times
    area per mean-square force [m4/(N s)2]. radiation : factor. under : mean square where hangers
    are fixed over that of the slab. passed : square below the one leaf that floats, struck itself,
    over `square` [-].
    """

    slab: _Slab
    centres: NDArray
    moving: NDArray
    heard: NDArray
    mobility: NDArray
    square: NDArray
    radiation: NDArray
    under: NDArray
    passed: NDArray

    def passage(
        self, gap: Gap, mass_below: float, hangers: NDArray, waves: Waves, averages: Passage,
        boards: tuple[Waves, NDArray] | None = None,
    ) -> Passage:  # fmt: skip
        """What the air below does to the modes, as far as they count, else as of `averages`.

        mass_below [kg/m2]; hangers (n,) [N/m3] : springs beside the air. boards : waves of the leaf
        below and its loss factor (n,); limp, and beside that as in averages, where None or filled.
        """
        found = np.array([averages.forced, averages.taken, averages.pressed])
        if gap.fill:
            boards = None
        for i in np.flatnonzero(self.heard):
            band = self.slab.band(float(self.centres[i]))
            own = None if boards is None else (boards[0], float(boards[1][i]))
            one = np.array(
                _through(self.slab, band, gap, mass_below, complex(hangers[i]), waves, own)
            )
            found[:, i] += self.heard[i] * (one - found[:, i])
        accepted = averages.accepted
        if boards is not None and accepted is not None:
            accepted = (1 - self.heard) * accepted
        return replace(
            averages, forced=found[0], taken=found[1], pressed=found[2], accepted=accepted
        )


def known(design: Design, slab: PlateLeaf, f: NDArray, reach: tuple[float, float]) -> Known:
    """`Known` of a design's `slab` in bands about f (n,) [Hz]; reach : as in `paths.transfer`."""
    few = _few(f, slab)
    moving, heard = (np.where(f < lowest, 0.0, few) for lowest in reach)
    room = design.room
    where = room.length, room.width, room.offset_x, room.offset_y
    points = place(design).points if design.hangers is not None else ()
    made = _slab(_Asked(design.floor, where, points, design))
    rows = np.zeros((5, len(f)))
    for i in np.flatnonzero(moving):
        one = made.band(float(f[i]))
        rows[:, i] = one.mobility, one.square, one.radiation, one.under, one.passed
    return Known(made, f, moving, heard, *rows)


def _few(f: NDArray, slab: PlateLeaf) -> NDArray:
    """Share (n,) that modes have in bands about f [Hz]: 1 while at most MANY/2 of them lie there
    and `half_waves.MANY`/2 half waves of sound on the shorter side, 0 from twice either on."""
    number = slab.modes_per_hertz * f * bands.WIDTH / MANY
    sound = 2 * f / air.SPEED * slab.short / half_waves.MANY
    return np.asarray(np.clip(-np.log2(np.maximum(number, sound)), 0.0, 1.0))


def band_means(squares: NDArray, low: float, high: float) -> tuple[NDArray, NDArray]:
    """Means over `low` to `high` [rad/s] of w²/|z - w²|² [s2] and w Im z/|z - w²|² [s], shape of
    `squares` z = omega_n² (1 + i eta), eta > 0 [rad2/s2]: see the heading."""
    pole = np.sqrt(squares)

    def motion(w: float) -> NDArray:
        return np.asarray((w + pole / 2 * np.log((w - pole) / (w + pole))).imag / squares.imag)

    def taken(w: float) -> NDArray:
        return np.asarray(np.log(w**2 - squares).imag / 2)

    return (motion(high) - motion(low)) / (high - low), (taken(high) - taken(low)) / (high - low)


@dataclass(frozen=True, eq=False)
class _Band:
    """The modes that make a band: their places in the leaf, radiation factors, squares with sound's
    losses, and the five of `Known`; centre [Hz]; above : what floats."""

    centre: float
    keep: NDArray
    sigma: NDArray
    squares: NDArray
    mobility: float
    square: float
    radiation: float
    under: float
    passed: float
    above: afloat.Topping | None

    def answers(self, omega: float) -> NDArray:
        """1/|z - w²|² of each (m,) [s4], below a leaf what stands for it."""
        if self.above is None:
            return np.asarray(1 / np.abs(self.squares - omega**2) ** 2)
        return self.above.answers(omega, self.squares, self.keep)


class _Slab:
    """The modes of a slab as far as they are few, what strikes and holds them; bands as asked."""

    def __init__(self, asked: _Asked) -> None:
        design, centres = asked.design, np.array(bands.CENTRES)
        plate = floor_plates(design)[-1]
        self.floor = floor = design.floor
        few = _few(centres, slab_leaf(floor, centres))
        highest = bands.edges(centres[max(np.flatnonzero(few), default=0)])[1]
        half = centres[max(np.flatnonzero(few > 0.5), default=0)]
        floats = afloat.alone(floating_leaves(floor, np.array([half])))
        if floats is not None:
            slab, omega = slab_leaf(floor, np.array([half])), 2 * np.pi * half
            wave = float(np.minimum(floats[1].wavenumber(omega), MOST * slab.wavenumber(omega)))
            highest = max(highest, afloat.frequency(plate, MORE * wave))
        leaf = modes(plate, highest)
        self.leaf, self.mass, room = leaf, plate.mass, design.room
        self.struck = striking.mean_squares(leaf, permitted(design))
        self.area = plate.length * plate.width
        self.room = (room.offset_x, room.length), (room.offset_y, room.width)
        self.hung: NDArray = np.full(len(leaf.omega), 1 / (self.mass * self.area))
        if asked.points:
            at = np.array(asked.points) + np.array([room.offset_x, room.offset_y])
            self.hung = np.mean(leaf.shapes(at) ** 2, axis=0)
        self.waves = afloat.inside(leaf) if floats is not None else None
        self.kept: dict[float, _Band] = {}

    def band(self, centre: float) -> _Band:
        """The band about `centre` [Hz]."""
        if centre not in self.kept:
            self.kept[centre] = self._band(centre)
        return self.kept[centre]

    def _above(self, centre: float) -> afloat.Topping | None:
        found = afloat.alone(floating_leaves(self.floor, np.array([centre])))
        if found is None or self.waves is None:
            return None
        alone = slab_leaf(self.floor, np.array([centre])).mass
        return afloat.Topping(*found, self.waves, self.mass, alone)

    def _band(self, centre: float) -> _Band:
        low, high = (2 * np.pi * edge for edge in bands.edges(centre))
        omega, leaf, above = 2 * np.pi * centre, self.leaf, self._above(centre)

        def moving(squares: NDArray) -> NDArray:
            if above is None:
                return self.struck * band_means(squares, low, high)[0]
            each = [w**2 * above.answers(w, squares, EVERY) for w in _lines(centre)]
            return self.struck * np.mean(each, axis=0)

        first = moving(leaf.squares)
        order = np.argsort(-first)
        count = int(np.searchsorted(np.cumsum(first[order]), HELD * first.sum())) + 1
        keep = np.sort(order[:count])
        sigma = self.mass / air.IMPEDANCE * radiation.resistances(leaf, omega, keep)
        sound = 2j * air.IMPEDANCE * omega / self.mass
        factor = np.ones(len(leaf.omega))
        factor[keep] = sigma
        lossy = leaf.squares + sound * factor
        moved, taken = band_means(lossy, low, high)
        weight, bare = moving(lossy), float(self.struck @ moved)
        mine = weight[keep] / weight[keep].sum()
        return _Band(
            centre, keep, sigma, lossy[keep], float(self.struck @ taken), bare / self.mass,
            float(mine @ sigma), float(mine @ self.hung[keep]) * self.mass * self.area,
            float(weight.sum()) / bare, above,
        )  # fmt: skip

    def shares(self, keep: NDArray, counts: tuple[int, int]) -> NDArray:
        """Shares (n, N L) [-] of modes in cosines of the room, as if all of the slab lay above."""
        leaf = self.leaf
        sides = zip((leaf.x, leaf.y), counts, self.room, strict=True)
        x, y = (side.cosines(count, *part) for side, count, part in sides)
        ahead = np.tensordot(x, leaf.coefficients[:, :, keep], 1)  # (N, My, n)
        found = np.matmul(ahead.transpose(2, 0, 1), y.T) ** 2
        whole = self.area / (self.room[0][1] * self.room[1][1])
        return np.asarray(self.mass * whole * found.reshape(len(keep), -1))


@dataclass(frozen=True)
class _Asked:
    """What the modes of a slab depend on; designs that agree in it share them."""

    floor: Floor
    room: tuple[float, ...]
    points: tuple[tuple[float, float], ...]
    design: Design = field(compare=False)


def _lines(centre: float) -> NDArray:
    """Frequencies in a band about `centre` [Hz], in equal steps of their logarithm [rad/s]."""
    steps = ((np.arange(LINES) + 0.5) / LINES - 0.5) / 10
    return np.asarray(2 * np.pi * centre * 10**steps)


@lru_cache(maxsize=8)
def _slab(asked: _Asked) -> _Slab:
    return _Slab(asked)


def _through(
    slab: _Slab, band: _Band, gap: Gap, mass_below: float, hangers: complex, waves: Waves,
    boards: tuple[Waves, float] | None = None,
) -> tuple[float, float, float]:  # fmt: skip
    """`Passage.forced`, `taken` and `pressed` in one band: `gap_waves.below_slab`, mode by mode.
    boards : waves and loss factor of a leaf below that bends."""
    highest = 2 * np.pi * bands.edges(band.centre)[1]
    top = max(REACH * highest / air.SPEED, waves.shortest(highest))
    if band.above is not None:
        x2, y2 = band.above.waves
        top = max(top, float(np.sqrt(np.max((x2 + y2)[band.keep]))))
    sides = slab.room[0][1], slab.room[1][1]
    counts = int(top * sides[0] / np.pi) + 2, int(top * sides[1] / np.pi) + 2
    n, m = (np.pi * np.arange(count) / side for count, side in zip(counts, sides, strict=True))
    cosines = np.hypot(n[:, None], m).ravel()
    bent = np.zeros(len(cosines), complex)
    if boards is not None:
        bent += (1 + 1j * boards[1]) * boards[0].bent(n[:, None] ** 2, m**2).ravel()
    share = slab.shares(band.keep, counts)
    strong = np.argpartition(-share, NEAR - 1, axis=1)[:, :NEAR]
    near = np.take_along_axis(share, strong, axis=1)
    near = near / near.sum(axis=1, keepdims=True)
    sums, loud, per_mode = np.zeros(5), np.empty(0), waves.per_mode
    lines = _lines(band.centre)
    for i, omega in enumerate(lines):
        sound = omega / air.SPEED
        if i % TOGETHER == 0:
            middle = lines[i + TOGETHER // 2] / air.SPEED
            loud = half_waves.radiation(middle, sides, counts, sines=False).ravel()
        through, resisted = gap_waves.limp(
            gap, omega, mass_below, cosines / sound, loud, hangers, bent
        )
        pressing = np.abs(through * (1 - bent / (omega**2 * mass_below))) ** 2
        moved = slab.struck[band.keep] * omega**3 * band.answers(omega)
        alike = np.sum(near * through[strong], axis=1)
        table = np.array([np.abs(through) ** 2 * loud, pressing, loud, resisted])
        loud_square, square, alone, taken = (share @ table.T).T
        cross = np.real(alike * (share @ (np.conj(through) * loud)))
        apart = np.maximum(loud_square - 2 * cross + np.abs(alike) ** 2 * alone, 0.0)
        power = np.abs(alike) ** 2 * band.sigma + apart
        stored = gap_waves.stored(gap, omega, mass_below) * float(moved @ square) / moved.sum()
        kept = gap_waves.shared(stored, per_mode, sound)
        at_walls = (omega * mass_below) ** 2 / air.IMPEDANCE * square
        sums += np.array([
            kept * (moved @ power), moved @ band.sigma, kept * (moved @ taken), moved.sum(),
            kept * (moved @ at_walls),
        ])  # fmt: skip
    return sums[0] / sums[1], sums[2] / sums[3] * (gap.fill == 0), sums[4] / sums[1]

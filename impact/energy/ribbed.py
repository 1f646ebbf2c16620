"""Deck on joists, what floats on it and hangs below it: periodic across the joists, without end.

Between the first modes and the many, a joist floor is neither: the joists stand at equal distances,
so that the bays' resonances agree and do not average out, and what they make of the sound below has
the wavenumbers of joists and bays, not those of a diffuse field. A floor of equal bays is
solved exactly by sums over its harmonics (B. R. Mace, J. Sound Vib. 73 (1980) 473; J. Brunskog, P.
Hammer, Acta Acustica/Acustica 89 (2003) 296, for timber floors under the tapping machine); with
losses its mean-square motion is that of a finite floor averaged over frequency and place.

Per wavenumber (kx, kappa = ky + 2 pi n/s) the plates answer by p = H (S e^(-i kappa y0) e1 - C^H L
u): H inverts their dynamic stiffness, air, mats and sound included; S is the part of the blow that
reaches the deck; u are deflection and slope of the deck and deflection of the leaf below on the
joists, u = 1/s sum C p; L holds joists and nails. Means over places y0 of the blow are closed.
Where boards lie straight on the joists, u also holds how the two faces of a bay part in each
cosine over its width, and L the springs of its air: the same closed boxes as for modes. Loose fill
on boards is a limp leaf; its hinges and its bending are motions in u. Nails are points, between
which boards give way (`bay_parts.Sheet.between_points`). A ceiling on joists of its own has their
deflections and slopes in u too; where they stand otherwise than the floor's, s is the length after
which both repeat, and u holds all joists in it. Its edges are held. Hangers are a spring in L
too, as far as all of a long wave move alike: then they push together with the air. What single
points set in motion besides is for averages (`paths`).

Along the joists the floor is as long as it is and supported at both ends: kx = m pi/L, a sum in
place of an integral (`half_waves`). What half waves of a face held at its edges radiate is exact
along, and across as of the nearest whole numbers; harmonics are heard each by itself, as by edges
anywhere in a bay. A face that hangs free has the pattern of the leaf above as the air hands it on:
`bay_cavity`. Air in closed bays, and above boards on joists of their own, has hard ends, which join
half waves: `bay_air`. Sums over waves across have a closed rest where they converge slowly
(`bay_motions.beyond`). Blows fall where they may along the joists; across, a floor's edges take
from its waves about what blows that keep away from them add (0.2 dB, tried).
Beside modes and finite elements in `validation/notes/modes_and_energy.md`.
"""

from __future__ import annotations

import operator
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property, reduce

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.energy import bay_air, bay_cavity, bay_pressure, depth, gap_waves, half_waves
from impact.energy.bay_motions import Motions, beyond, chain_inverse, hinged
from impact.energy.bay_parts import FULL, REACH, Build, Grid, Ribs, Strips
from impact.link import mat as mats
from impact.link.joint import EVERY

# Against three times as many frequencies, six times the places across, four times the directions:
# no band from 160 to 630 Hz of four floors moves by over 0.6 dB (1.2 at 160 Hz, two close boards).
PLACES = (-1 / 30, 0.0, 1 / 30)  # in each third octave, lg f/fm


@dataclass(frozen=True)
class Field:
    """Answer per mean-square force, averaged over its places and each third octave; (n,) each.

    deck, joists : mean-square velocity times area [m4/s2/N2], joists as if the deck moved with them
    everywhere. mobility : of the face struck, complex [m/(N s)]. power : radiated by the lowest
    leaf [W/N2]; hung : what its hangers alone would make of it. All are 0 where only motion was
    asked for. pressed : mean-square pressure times area in the lowest cavity, as gaps along its
    walls hear it (`bay_pressure`) [Pa2 m2/N2]; only of a build that is `vented`. under : as joists,
    of their lower faces.
    """

    deck: NDArray
    joists: NDArray
    mobility: NDArray
    power: NDArray
    hung: NDArray
    pressed: NDArray
    under: NDArray


def field(
    build: Build, frequencies: NDArray, heard_from: float = 0.0,
    places: tuple[float, ...] = PLACES, grid: Grid = FULL,
) -> Field:  # fmt: skip
    """Solve `build` at `places` (lg f/fm) of each third octave. frequencies (n,) [Hz].

    heard_from : third octaves below it [Hz] are asked for deck and joists only, in half the time.
    """
    rows = []
    for centre in np.asarray(frequencies, float).tolist():
        omega = (2 * np.pi * centre * 10**place for place in places)
        rows.append(np.mean([_at(build, w, centre >= heard_from, grid) for w in omega], axis=0))
    deck, joists, mobility, *others = np.array(rows).T
    return Field(deck.real, joists.real, mobility, *(each.real for each in others))


def _at(build: Build, omega: float, heard: bool, grid: Grid) -> tuple[complex, ...]:
    """The seven answers of `Field` at one frequency [rad/s]."""
    sheets = [build.deck, *(item.sheet for item in build.lower), *(x for x, _ in build.floating)]
    reach = REACH * max(sheet.wavenumber(omega) for sheet in sheets)
    period = 2 * np.pi / build.period
    count = (int(np.ceil(reach / (period * build.count))) + 1) * build.count
    for item in build.lower:
        if isinstance(item.sheet, Strips):
            count = max(count, item.sheet.orders(omega, build.ribs.spacing))
    harmonics = period * np.arange(-count, count + 1)
    # half waves along the joists, places over one period across, by symmetry half of it
    kx = half_waves.along(build.length, build.fixity, reach)
    places = max(grid.across, min(grid.finest, grid.points // len(kx))) // build.count
    across = period / 2 * (np.arange(places) + 0.5) / places
    waves = RowWaves(
        build, omega, np.repeat(kx, places), np.tile(across, len(kx)), harmonics, places
    )
    weight = half_waves.struck(kx, build.length, build.struck)
    weight = np.repeat(weight, places)[:, None] * period / (2 * np.pi * places * build.length)
    square = waves.square(0)
    deck = float((weight * square).sum())
    share = weight[:, 0] * build.period**2
    joists, under = (float(share @ x) for x in (waves.on_joists(), waves.under_joists()))
    if not heard:
        return deck, joists, 0j, 0.0, 0.0, 0.0, under
    mobility = complex((weight * waves.mobility()).sum())
    last = 0 if build.light else len(build.lower)  # a light one's go all through the leaf above it
    face = weight * (waves.square(last) if last else square)
    power = float((face * half_waves.mixed(waves.radiation, waves.places)).sum())
    hung = pressed = 0.0
    if build.hung:
        above = len(build.lower) - 1
        cut = weight * (waves.square(above) if above else square)
        moved = [(weight * waves.square(n)).sum() for n in range(1, above)] + [cut.sum()][:above]
        per_mode = bay_cavity.per_mode(build, [deck, joists, *moved], mobility.real)
        power, hung, pressed = _below(build, waves, (weight, face, cut), per_mode, grid)
    if build.vented:
        pressed += bay_pressure.at_walls(build, waves, weight)
    return deck, joists, mobility, air.IMPEDANCE * power, air.IMPEDANCE * hung, pressed, under


def _below(
    build: Build, waves: RowWaves, shares: tuple[NDArray, NDArray, NDArray], per_mode: float,
    grid: Grid,
) -> tuple[float, float, float]:  # fmt: skip
    """Sound below a hung ceiling over rho c, of its hangers alone, and pressure times area in the
    gap (`bay_pressure`) of waves slower than sound, per mean-square force.

    shares : weights (N, 1) of the waves, and weighted mean squares (N, M) of the ceiling and of the
    leaf above it. Waves faster than sound go through as they are, with all that joists and hangers
    make of them; of slower ones, and of all below a light leaf, `bay_cavity` says what becomes.
    per_mode : of that file.
    """
    weight, face, cut = shares
    sound, fast = waves.omega / air.SPEED, waves.side < waves.omega / air.SPEED
    ratio, area = gap_waves.grid(grid.steps)
    turn = np.tile(np.pi / 2 * (np.arange(grid.turns) + 0.5) / grid.turns, len(ratio))
    side = sound * np.repeat(ratio, grid.turns)
    middle = waves.across.shape[1] // 2
    harmonics = waves.across[0] - waves.across[0, middle]
    here = waves.omega, side * np.cos(turn), side * np.sin(turn), harmonics
    cosines, above = RowWaves(build, *here), len(build.lower) - 1
    handed, slow, back = cosines.handed_on(), np.where(fast, 0.0, cut), None
    if build.light:
        own, load = cosines.per_force(above)[:, middle], cosines.load[:, middle]
        alone, moved = own / (1 - own * load), handed / own
        free = 1 - (own := waves.per_force(above)) * waves.load
        back = load.reshape(-1, grid.turns), bay_cavity.in_rows(waves, own / free)
        cut = cut / np.abs(free) ** 2
    else:
        alone, cut = RowWaves(replace(build, lower=build.lower[:-1]), *here).alone(), slow
        moved = handed / alone
    table = bay_cavity.heard(
        sound, build.sides, moved.reshape(-1, grid.turns), ratio, waves.radiation, back
    )
    stored = gap_waves.stored(build.lower[-1].gap, waves.omega, build.lower[-1].sheet.mass)
    square = float((cut * half_waves.mixed(table.square, waves.places)).sum())
    kept = gap_waves.shared(stored * square, per_mode, sound)
    loud = np.where(fast, half_waves.mixed(table.whole, waves.places), 0.0)
    own_way = 0.0 if build.light else (face * loud).sum()
    power = own_way + kept * (cut * half_waves.mixed(table.power, waves.places)).sum()
    hung = (weight * waves.by_hangers(build) * loud).sum()
    pressure = 0.0
    if build.vented:
        pressed = np.abs(handed / alone) ** 2 * bay_pressure.per_velocity(build, cosines)
        pressure = kept * bay_pressure.of_slower(
            build, sound, (waves.side, slow), (ratio, area),
            pressed.reshape(-1, grid.turns).mean(axis=-1),
        )  # fmt: skip
    return float(power), float(hung), float(pressure)


class RowWaves:
    """The answer at wavenumbers (kx, ky) (N,), each with its harmonics (M,).

    Letters as at the top of this file: h[i][j] (N, M) are H of leaves i and j, the deck 0. Of the U
    motions u of a joist, rows[i] (N, M, U) are C, seen (N, M, U) = C H e1 S is what each wave of a
    blow makes them, held[i] (N, M, U) = H C^H what their forces make of a leaf, sight[i] = C H;
    inverse (N, U, U) = (1 + G L)^-1 with G = 1/s sum C H C^H, pull = L (1 + G L)^-1. half : places
    across of each half wave along, 0 for plane waves; where air joins half waves the forces of
    `bay_air` follow the U motions in seen, pull and inverse. load (N, M) : of the last leaf with
    its air, Z of `bay_cavity`.
    """

    def __init__(
        self, build: Build, omega: float, kx: NDArray, ky: NDArray, harmonics: NDArray,
        half: int = 0,
    ) -> None:  # fmt: skip
        self.omega, self.kx, self.spacing = omega, kx, build.period
        self.half, self.sides = half, build.sides
        self.across = ky[:, None] + harmonics
        self.side = np.hypot(kx[:, None], self.across)
        self.sigma = half_waves.over_directions(omega / air.SPEED, self.side, build.sides)
        self._plates(build)
        self._lines(build)

    def _plates(self, build: Build) -> None:
        """H, S, and what the blow does to the face struck."""
        omega, kx, ky = self.omega, self.kx[:, None], self.across
        deck = build.deck.stiffness(kx, ky, omega)
        self.passed = np.ones_like(deck)  # force on the deck / force on the face struck
        self.own = np.zeros_like(deck)  # its motion with the deck held
        sound = 1j * omega * air.IMPEDANCE * self.sigma
        load = sound * build.room_above
        for sheet, mat in build.floating:  # from the top
            own, over = (1j * omega * z for z in mats.impedances(mat, np.array([omega])))
            whole = sheet.stiffness(kx, ky, omega) + load + own
            self.own = self.own + self.passed**2 / whole
            self.passed = self.passed * over / whole
            load = own - over**2 / whole
        stiff, between = [deck + load], []
        for item in build.lower:
            if item.gap.closed:  # boxes, see `_lines`
                above = across = below = np.zeros_like(deck)
            else:
                apart = build.ribs.spacing if item.gap.bay else 0.0
                above, across, below = bay_cavity.springs(item.gap, omega, kx, ky, apart)
            stiff[-1] = stiff[-1] + above
            self.lowest = across, below
            between.append(across)
            stiff.append(item.sheet.stiffness(kx, ky, omega) + below)
        stiff[-1] = stiff[-1] + sound
        if build.lower:  # the last leaf with its air, on the one above
            self.load = above - across**2 / stiff[-1]
        self.h = chain_inverse(stiff, between)

    def _lines(self, build: Build) -> None:
        """u = (1 + G L)^-1 A, and the mean of A A^H over the places of the blow."""
        ribs, here = build.ribs, np.ones(len(self.kx))
        motions, tubes = Motions(len(here)), []
        self.slopes: list[tuple[int, int]] = []  # places of slopes, and whose they are
        self.carriers = []  # of each joist, what hangers are fixed to; 0 for its own lower face
        for line in ribs.lines(build.count):
            at = np.exp(1j * self.across * line)
            held = joist = self._joist(motions, 0, ribs, line)
            beside, below = [], []  # what the joist's sides hold, and its lower face
            for leaf, item in enumerate(build.lower, start=1):
                if isinstance(item.sheet, Strips):
                    share = hinged(
                        motions, leaf, item.sheet, self.omega, (build.period, self.across)
                    )
                    beside.append((item.height, item.nails, share))
                elif item.nails or item.hangers:
                    place = motions.add({leaf: at}, 0 * self.kx)
                    carrier = joist if item.nails else held
                    spring = item.held(self.kx, self.omega)
                    if carrier == joist:
                        below.append((1.0, spring, {place: here}))
                    else:
                        motions.tie({carrier: here}, {place: here}, spring)
                    held = place if item.nails else held
                for shape, wave, spring, alone in bay_air.closed(self, build, leaf):
                    box = motions.add({leaf - 1: at * shape, leaf: -at * shape}, alone)
                    tubes.append((box, wave, spring))
            motions.hold(joist, self.rod, [*beside, *below])
            self.carriers.append(held)
        for leaf, item in enumerate(build.lower, start=1):
            for shape, wave, spring, alone in bay_air.between_walls(self, build, leaf):
                gap = motions.add({leaf - 1: shape, leaf: -shape}, alone)
                tubes.append((gap, wave, spring))
            if item.ribs is not None:
                for line in item.ribs.lines(round(build.period / item.ribs.spacing)):
                    self._joist(motions, leaf, item.ribs, line)
        self.face = motions.lower_face(0, self.rod, beside)  # where sides hold, one joist alone
        rows, stiff = motions.rows(len(self.h), np.ones_like(self.h[0][0])), motions.stiffness()
        h = [[each[..., None] for each in line] for line in self.h]
        everywhere = range(len(rows))
        self.sight = [_sum(rows[j] * h[i][j] for j in everywhere) for i in everywhere]
        conj = [np.conj(each) for each in rows]
        self.held = [_sum(conj[j] * h[i][j] for j in everywhere) for i in everywhere]
        self.seen = self.sight[0] * self.passed[..., None]
        gram = _sum(np.swapaxes(rows[i], 1, 2) @ self.held[i] for i in everywhere)
        for place, leaf in self.slopes:
            gram[:, place, place] += beyond(self.h[leaf][leaf], self.across)
        self.inverse = np.linalg.inv(np.eye(gram.shape[1]) + gram @ stiff / self.spacing)
        self.pull = stiff @ self.inverse
        self.by_place = np.swapaxes(self.seen, 1, 2) @ np.conj(self.seen) / self.spacing**2
        if self.half and tubes and self.omega < 2 * np.pi * bay_air.HIGHEST:
            mean = half_waves.together(self.kx[:: self.half], build.length, build.struck)
            self.seen, self.by_place, self.pull, self.inverse = bay_air.joined(
                bay_air.Solved(self.seen, self.by_place, self.pull, self.inverse),
                gram / self.spacing, stiff, tubes, mean, self.omega, self.sides[0], self.spacing,
            )  # fmt: skip

    def _joist(self, motions: Motions, leaf: int, ribs: Ribs, line: float) -> int:
        """A joist of a leaf at `line` [m]: the place of its deflection; then comes its slope."""
        k2, lossy, at = self.kx**2, 1 + 1j * ribs.loss, np.exp(1j * self.across * line)
        bent = ribs.bending(k2) * k2**2 * lossy - self.omega**2 * ribs.mass
        rod = depth.Rod(bent, ribs.crush * lossy)
        if leaf == 0:
            self.rod = rod
        turned = (ribs.torsion * k2 + ribs.sideways * k2**2) * lossy - self.omega**2 * ribs.rotary
        place = motions.add({leaf: at}, rod.face())
        self.slopes.append((motions.add({leaf: 1j * self.across * at}, turned), leaf))
        return place

    @cached_property
    def orders(self) -> tuple[NDArray, NDArray]:
        """Half waves along and across the room, (N, 1) and (N, M) [-], whole numbers or between."""
        x, y = self.sides
        return self.kx[:, None] * x / np.pi, np.abs(self.across) * y / np.pi

    @cached_property
    def whole(self) -> NDArray:
        """Whole half waves along the room (M,) [-], those nearest to each along the joists."""
        return np.maximum(np.round(self.orders[0][:: self.half or 1, 0]).astype(int), 1)

    @cached_property
    def radiation(self) -> NDArray:
        """Radiation factors [-] of whole half waves (m, j) of the room's face, as these go."""
        m, j = (int(np.ceil(each.max())) + 1 for each in self.orders)
        return half_waves.radiation(self.omega / air.SPEED, self.sides, (m, j))

    @cached_property
    def places(self) -> half_waves.Places:
        """Where these waves (N, M) stand in tables of whole half waves, of `radiation`'s shape."""
        return half_waves.places(self.radiation.shape, *self.orders)

    def mobility(self) -> NDArray:
        """Share of each wave in the mean mobility of the face struck (N, M) [m3/(N s)]."""
        pulled = np.sum((self.held[0] @ self.pull) * self.seen, axis=-1) / self.spacing
        deck = self.h[0][0] * self.passed - pulled
        return np.asarray(1j * self.omega * (self.own + self.passed * deck))

    def per_force(self, leaf: int) -> NDArray:
        """Motion of each wave (N, M) of a leaf per plane force on it [m3/N]."""
        drawn = self.held[leaf] @ self.pull[..., : self.sight[leaf].shape[-1]]
        return self.h[leaf][leaf] - np.sum(drawn * self.sight[leaf], axis=-1) / self.spacing

    def _middle(self, moved: int, pushed: int) -> NDArray:
        """Motion of a leaf per plane force on one of them (N,), of the middle harmonic alone."""
        place = self.across.shape[1] // 2
        drawn = (self.held[moved][:, place, None, :] @ self.pull)[:, 0]
        back = np.sum(drawn * self.sight[pushed][:, place], axis=-1) / self.spacing
        return np.asarray(self.h[moved][pushed][:, place] - back)

    def alone(self) -> NDArray:
        """Motion of the last leaf, deck or one below, per plane force on it (N,) [m3/N]."""
        return self._middle(len(self.h) - 1, len(self.h) - 1)

    def handed_on(self) -> NDArray:
        """Motion of the last leaf per plane force on the one above it (N,) [m3/N]."""
        return self._middle(len(self.h) - 1, len(self.h) - 2)

    def square(self, leaf: int, where: slice = EVERY) -> NDArray:
        """Mean-square velocity of each wave (N, M) of a leaf, 0 the deck, `where` of the
        harmonics [m6/s2/N2]."""
        free = (self.h[leaf][0] * self.passed)[:, where]
        return self.omega**2 * self.mean_square(free, self.held[leaf][:, where], where)

    def mean_square(self, free: NDArray, held: NDArray, where: slice = EVERY) -> NDArray:
        """Mean square (N, M) over the places of the blow of what it makes `free` (N, M) without
        joists, and they for unit forces `held` (N, M, U) [m6/N2]."""
        drawn = held @ self.pull
        cross = np.sum(drawn * self.seen[:, where], axis=-1) / self.spacing
        both = np.sum((drawn @ self.by_place) * np.conj(drawn), axis=-1).real
        square = np.abs(free) ** 2 - 2 * np.real(cross * np.conj(free)) + both
        return np.asarray(np.maximum(square, 0.0))

    def by_hangers(self, build: Build) -> NDArray:
        """Mean-square velocity of each wave (N, M) of a hung leaf, by hangers alone [m6/s2/N2]."""
        if not build.hung or not build.lower[-1].hangers:
            return np.zeros(self.across.shape)
        last = build.lower[-1]
        own = last.sheet.stiffness(self.kx[:, None], self.across, self.omega)
        own = own + 1j * self.omega * air.IMPEDANCE * self.sigma
        carrier = self.carriers[0]
        moved = self.on_joists(carrier) if carrier else self.under_joists()
        spring = 1 / (1 / last.hangers + (0.0 if carrier else self.face[1][:, None]))
        pulled = np.abs(spring / (spring + self.spacing * own)) ** 2
        return np.asarray(pulled * self.spacing**2 * moved[:, None])

    def on_joists(self, motion: int = 0) -> NDArray:
        """Mean-square velocity of a motion (N,), first the deck on the joists [m4/s2/N2]."""
        return self._of_joists(self.inverse[:, motion])

    def under_joists(self) -> NDArray:
        """As `on_joists`, of lower faces (N,) [m4/s2/N2]; battens with them, what hangs apart."""
        return self._of_joists((self.face[0][:, None, :] @ self.inverse)[:, 0])

    def _of_joists(self, row: NDArray) -> NDArray:
        """Mean-square velocity (N,) [m4/s2/N2] of a sum of motions, `row` (N, U) of `inverse`."""
        square = np.sum((row[:, None] @ self.by_place)[:, 0] * np.conj(row), axis=-1)
        return np.asarray(self.omega**2 * square.real)


def _sum(terms: Iterable[NDArray]) -> NDArray:
    return reduce(operator.add, terms)

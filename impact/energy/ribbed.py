"""Deck on joists, with what floats on it and hangs below it, as an endless periodic structure.

Between the first modes and the many, a joist floor is neither: the joists stand at equal distances,
so that the bays' resonances agree and do not average out, and what they make of the sound below has
the wavenumbers of joists and bays, not those of a diffuse field. An endless floor of equal bays is
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

Waves slower than sound are heard through the edges, where they are cut off: what is left over there
holds all wavenumbers of sound alike (Leppington, as in `radiating.free_waves`). The face towards
the room radiates so by itself, unless it hangs free: then waves of its own come to no net flow at
its edges (what forces a free plate is its inertia), and the leaf above it sounds from its edges
into the cavity: `gap_waves`. It goes on as any sound does, by t/d: motion per
force on the leaf above, of the ceiling and of that leaf without it. A finite floor's waves have
neighbours that are heard and others that are not; so of those just faster than sound a part is
lost. Beside modes and finite elements in `validation/README.md`.
"""

from __future__ import annotations

import operator
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, reduce

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.energy import bay_pressure, gap_waves, radiating, through_air
from impact.energy import mat as mats
from impact.energy.bay_motions import Motions, beyond, chain_inverse, hinged
from impact.energy.bay_parts import REACH, Build, Ribs, Strips
from impact.link import cavity
from impact.link.cavity import Gap

ALONG, ACROSS = 96, 6  # waves along the joists; places in half a period of those across
TURNS, STEPS = 12, 24  # directions of sound in plan, and in height by equal steps of cos(theta)
BINS = 60  # of waves slower than sound; all in one sound alike from the edges
# Walls double what edges sound into a cavity (`gap_waves`; a deck without joists is right with it).
# Here it is left out: a wave of a row comes with harmonics, which are summed as if each were cut
# off by itself, while along the joists whole bays end. With it ceilings are 1 to 1.5 dB louder,
# above what modes say.
WALLS = 0.5
BOXES = 1.3  # of a plate's free wavenumber: cosines over the width of a closed bay
# Against 17 times as many points: no band from 160 to 630 Hz of three invented floors moves by more
# than 0.5 dB.
PLACES = (-1 / 30, 0.0, 1 / 30)  # in each third octave, lg f/fm
ALL = slice(None)


@dataclass(frozen=True)
class Field:
    """Answer per mean-square force, averaged over its places and each third octave; (n,) each.

    deck, joists : mean-square velocity times area [m4/s2/N2], joists as if the deck moved with them
    everywhere. mobility : of the face struck, complex [m/(N s)]. power : radiated by the lowest
    leaf [W/N2]; hung : what its hangers alone would make of it. All are 0 where only motion was
    asked for. pressed : mean-square pressure times area in the lowest cavity, as gaps along its
    walls hear it (`bay_pressure`) [Pa2 m2/N2]; only of a build that is `vented`.
    """

    deck: NDArray
    joists: NDArray
    mobility: NDArray
    power: NDArray
    hung: NDArray
    pressed: NDArray


def field(
    build: Build, frequencies: NDArray, heard_from: float = 0.0, places: tuple[float, ...] = PLACES
) -> Field:
    """Solve `build` at `places` (lg f/fm) of each third octave. frequencies (n,) [Hz].

    heard_from : third octaves below it [Hz] are asked for deck and joists only, in half the time.
    """
    rows = []
    for centre in np.asarray(frequencies, float):
        heard = bool(centre >= heard_from)
        one = [_at(build, 2 * np.pi * centre * 10**place, heard) for place in places]
        rows.append(np.mean(np.array(one), axis=0))
    deck, joists, mobility, *others = np.array(rows).T
    return Field(deck.real, joists.real, mobility, *(each.real for each in others))


def _at(build: Build, omega: float, heard: bool) -> tuple[complex, ...]:
    """The six answers of `Field` at one frequency [rad/s]."""
    sheets = [build.deck, *(item.sheet for item in build.lower), *(x for x, _ in build.floating)]
    reach = REACH * max(sheet.wavenumber(omega) for sheet in sheets)
    k0, period = omega / air.SPEED, 2 * np.pi / build.period
    count = (int(np.ceil(reach / (period * build.count))) + 1) * build.count
    for item in build.lower:
        if isinstance(item.sheet, Strips):
            count = max(count, item.sheet.orders(omega, build.ribs.spacing))
    harmonics = period * np.arange(-count, count + 1)
    # motion: a grid over one period, by symmetry a quarter of it
    step = (np.arange(ALONG) + 0.5) / ALONG
    places = ACROSS // build.count
    kx, across = reach * step**1.5, period / 2 * (np.arange(places) + 0.5) / places
    weight = np.repeat(1.5 * reach * step**0.5 / ALONG, places) * 4 * (period / 2 / places)
    waves = _Waves(build, omega, np.repeat(kx, places), np.tile(across, ALONG), harmonics)
    weight = weight[:, None] / (4 * np.pi**2)
    square = waves.square(0)
    deck = float((weight * square).sum())
    joists = float((weight[:, 0] * waves.on_joists()).sum()) * build.period**2
    if not heard:
        return deck, joists, 0j, 0.0, 0.0, 0.0
    # sound: over all directions, and what lies a little beyond
    ratio, area = gap_waves.grid(STEPS)
    side = k0 * np.repeat(ratio, TURNS)
    turn = np.tile(np.pi / 2 * (np.arange(TURNS) + 0.5) / TURNS, len(ratio))
    sound = _Waves(build, omega, side * np.cos(turn), side * np.sin(turn), harmonics)
    middle = slice(len(harmonics) // 2, len(harmonics) // 2 + 1)  # the harmonic that is sound
    last = len(build.lower)
    # d2k = k0^2 cos(theta) d(cos theta) d(phi)
    weigh = k0**2 / (2 * np.pi) * np.repeat(area * (ratio < 1), TURNS) / TURNS
    leaf = last - 1 if build.hung else last  # that sounds from its edges
    cut = weight * (waves.square(leaf) if leaf else square)
    mobility, pressed = complex((weight * waves.mobility()).sum()), 0.0
    if build.hung:
        near = gap_waves.near(side, build.sides)  # where a finite floor's waves are heard
        weigh = weigh * gap_waves.loudness(near, k0, build.sides).mean(axis=-1)
        per_mode = _per_mode(build, waves, weight, (deck, joists), mobility.real)
        edges, pressed = _through_cavity(build, sound, (ratio, area), (waves.side, cut), per_mode)
    else:
        weigh = weigh * sound.sigma[:, middle][:, 0]
        edges = (cut * waves.sigma * (waves.side > k0)).sum()
    fast = sound.square(last, middle)[:, 0] @ weigh
    hung = float(air.IMPEDANCE * (sound.by_hangers(build) @ weigh))
    power = float(air.IMPEDANCE * (fast + edges))
    pressed += bay_pressure.at_walls(build, waves, weight) if build.vented else 0.0
    return deck, joists, mobility, power, hung, pressed


def _through_cavity(
    build: Build, heard: _Waves, grid: tuple[NDArray, NDArray], cut: tuple[NDArray, NDArray],
    per_mode: float,
) -> tuple[float, float]:  # fmt: skip
    """Sound below a hung ceiling from waves of the leaf above it that are slower than sound, power
    over rho c, and mean-square pressure times area in the gap (`bay_pressure`): what `gap_waves`
    has of them at wavenumbers of sound, passed on.

    heard : waves of `gap_waves.grid` and their directions: what the ceiling does for a force on the
    leaf above, over what that leaf does without it. cut : wavenumbers [1/m] of that leaf and their
    mean squares. per_mode : of `_per_mode`.
    """
    middle, sound = heard.across.shape[1] // 2, heard.omega / air.SPEED
    if cut[0].max() <= sound:  # thick leaves far above coincidence: none is slower
        return 0.0, 0.0
    harmonics = heard.across[0] - heard.across[0, middle]
    above = replace(build, lower=build.lower[:-1])
    without = _Waves(above, heard.omega, heard.kx, heard.across[:, middle], harmonics)
    through = np.abs(heard.handed_on() / without.alone()) ** 2
    loud = gap_waves.loudness(np.hypot(heard.kx, heard.across[:, middle]), sound, build.sides)
    values = np.array([through, through * loud]).reshape(2, -1, TURNS).mean(axis=-1)
    bins = np.linspace(1.0, np.sqrt(cut[0].max() / sound), BINS + 1) ** 2 * sound
    part = np.histogram(cut[0], bins, weights=cut[1])[0]
    middles = (bins[1:] + bins[:-1]) / 2
    square, power = part @ gap_waves.summed(middles, grid, values, sound, build.sides, WALLS).T
    pressure = 0.0
    if build.vented:
        pressed = (through * bay_pressure.per_velocity(build, heard)).reshape(1, -1, TURNS)
        over = gap_waves.cut_off if build.lower[-1].gap.fill else gap_waves.summed
        (pressure,) = part @ over(middles, grid, pressed.mean(axis=-1), sound, build.sides, WALLS).T
    stored = gap_waves.stored(build.lower[-1].gap, heard.omega, build.lower[-1].sheet.mass)
    kept = gap_waves.shared(stored * square, per_mode, sound)
    return float(power * kept), float(pressure * kept)


def _per_mode(
    build: Build, waves: _Waves, weight: NDArray, square: tuple[float, float], mobility: float
) -> float:
    """Energy per mode of all above a hung ceiling, `gap_waves.shared`; square : of deck and joists,
    as in `Field`. n = 2 m'' Re Y/pi modes per rad/s and area (Cremer/Heckl/Petersson 2005). Endless
    below floating leaves, whose own modes take part in Re Y: nothing then goes back."""
    if build.floating:
        return float("inf")
    masses = [build.deck.section.mass, build.ribs.mass / build.ribs.spacing]
    moved = list(square)
    for leaf, item in enumerate(build.lower[:-1], start=1):
        masses.append(item.sheet.mass)
        moved.append(float((weight * waves.square(leaf)).sum()))
    return float(np.dot(masses, moved) * np.pi / (2 * sum(masses) * mobility))


class _Waves:
    """The answer at wavenumbers (kx, ky) (N,), each with its harmonics (M,).

    Letters as at the top of this file: h[i][j] (N, M) are H of leaves i and j, the deck 0. Of the U
    motions u of a joist, rows[i] (N, M, U) are C, seen (N, M, U) = C H e1 S is what each wave of a
    blow makes them, held[i] (N, M, U) = H C^H what their forces make of a leaf, sight[i] = C H;
    inverse (N, U, U) = (1 + G L)^-1 with G = 1/s sum C H C^H, pull = L (1 + G L)^-1.
    """

    def __init__(
        self, build: Build, omega: float, kx: NDArray, ky: NDArray, harmonics: NDArray
    ) -> None:
        self.omega, self.kx, self.spacing = omega, kx, build.period
        self.across = ky[:, None] + harmonics
        self.side = np.hypot(kx[:, None], self.across)
        self.sigma = _radiation(omega, self.side, build.sides)
        self._plates(build)
        self._lines(build)

    def _plates(self, build: Build) -> None:
        """H, S, and what the blow does to the face struck."""
        omega, kx, ky = self.omega, self.kx[:, None], self.across
        deck = build.deck.stiffness(kx, ky, omega)
        self.passed = np.ones_like(deck)  # force on the deck / force on the face struck
        self.own = np.zeros_like(deck)  # motion of that face with the deck held
        load = np.zeros_like(deck)
        for sheet, mat in build.floating:  # from the top
            own, over = (1j * omega * z for z in mats.impedances(mat, np.array([omega])))
            stiff = sheet.stiffness(kx, ky, omega) + load + own
            self.own = self.own + self.passed**2 / stiff
            self.passed = self.passed * over / stiff
            load = own - over**2 / stiff
        stiff, between = [deck + load], []
        for item in build.lower:
            if item.gap.closed:  # boxes, see `_lines`
                above = across = below = np.zeros_like(deck)
            else:
                apart = build.ribs.spacing if item.gap.bay else 0.0
                above, across, below = _gap(item.gap, omega, kx, ky, apart)
            stiff[-1] = stiff[-1] + above
            self.lowest = across, below
            between.append(across)
            stiff.append(item.sheet.stiffness(kx, ky, omega) + below)
        stiff[-1] = stiff[-1] + 1j * omega * air.IMPEDANCE * self.sigma
        self.h = chain_inverse(stiff, between)

    def _lines(self, build: Build) -> None:
        """u = (1 + G L)^-1 A, and the mean of A A^H over the places of the blow."""
        ribs, here = build.ribs, np.ones(len(self.kx))
        motions = Motions(len(here))
        self.slopes: list[tuple[int, int]] = []  # places of slopes, and whose they are
        self.carriers = []  # of each joist, what hangers are fixed to
        for line in ribs.lines(build.count):
            at = np.exp(1j * self.across * line)
            held = joist = self._joist(motions, 0, ribs, line)
            for leaf, item in enumerate(build.lower, start=1):
                if isinstance(item.sheet, Strips):
                    share = hinged(
                        motions, leaf, item.sheet, self.omega, (build.period, self.across)
                    )
                    motions.tie({joist: here}, share, item.nails)
                elif item.nails or item.hangers:
                    place = motions.add({leaf: at}, 0 * self.kx)
                    carrier = joist if item.nails else held
                    spring = item.held(self.kx, self.omega)
                    motions.tie({carrier: here}, {place: here}, spring)
                    held = place if item.nails else held
                for shape, spring in self._boxes(build, leaf):
                    motions.add({leaf - 1: at * shape, leaf: -at * shape}, spring)
            self.carriers.append(held)
        for leaf, item in enumerate(build.lower, start=1):
            if item.ribs is not None:
                for line in item.ribs.lines(round(build.period / item.ribs.spacing)):
                    self._joist(motions, leaf, item.ribs, line)
        one = np.ones_like(self.h[0][0])
        rows, stiff = motions.rows(len(self.h), one), motions.stiffness()
        h = [[each[..., None] for each in line] for line in self.h]
        everywhere = range(len(rows))
        self.sight = [_sum(rows[j] * h[i][j] for j in everywhere) for i in everywhere]
        self.held = [_sum(np.conj(rows[j]) * h[i][j] for j in everywhere) for i in everywhere]
        self.seen = self.sight[0] * self.passed[..., None]
        gram = _sum(np.swapaxes(rows[i], 1, 2) @ self.held[i] for i in everywhere)
        for place, leaf in self.slopes:
            gram[:, place, place] += beyond(self.h[leaf][leaf], self.across)
        self.inverse = np.linalg.inv(np.eye(gram.shape[1]) + gram @ stiff / self.spacing)
        self.pull = stiff @ self.inverse

    def _joist(self, motions: Motions, leaf: int, ribs: Ribs, line: float) -> int:
        """A joist of a leaf at `line` [m]: the place of its deflection; then comes its slope."""
        k2, lossy, at = self.kx**2, 1 + 1j * ribs.loss, np.exp(1j * self.across * line)
        bent = ribs.bending(k2) * k2**2 * lossy - self.omega**2 * ribs.mass
        turned = (ribs.torsion * k2 + ribs.sideways * k2**2) * lossy - self.omega**2 * ribs.rotary
        place = motions.add({leaf: at}, bent)
        self.slopes.append((motions.add({leaf: 1j * self.across * at}, turned), leaf))
        return place

    @cached_property
    def by_place(self) -> NDArray:
        """Mean over places of the blow of A A^H (N, U, U), A = u without joists."""
        return np.asarray(np.swapaxes(self.seen, 1, 2) @ np.conj(self.seen) / self.spacing**2)

    def _boxes(self, build: Build, leaf: int) -> Iterator[tuple[NDArray, NDArray]]:
        """Closed bays above a leaf: what each orthonormal cosine over a bay's width takes of a wave
        (N, M), and the spring of its air (N,) [N/m3]; none where air lies under the joists too."""
        gap, spacing = build.lower[leaf - 1].gap, build.ribs.spacing
        if not gap.closed:
            return
        width = gap.open_share * spacing
        faces = [build.deck, *(item.sheet for item in build.lower)][leaf - 1 : leaf + 1]
        reach = BOXES * max(x.wavenumber(self.omega) for x in faces)
        middle = np.exp(0.5j * self.across * spacing)
        for order in range(int(reach * width / np.pi) + 1):
            wave, turn = order * np.pi / width, np.exp(0.5j * order * np.pi)
            there, back = (
                np.sinc((self.across + sign * wave) * width / 2 / np.pi) for sign in (1, -1)
            )
            size = np.sqrt(width * (1 if order == 0 else 2)) / 2
            shape = size * middle * (turn * there + np.conj(turn) * back)
            spring = 1 / cavity.compliance(gap, self.omega, self.kx, np.asarray(wave))
            yield shape, spring

    def mobility(self) -> NDArray:
        """Share of each wave in the mean mobility of the face struck (N, M)."""
        pulled = np.sum((self.held[0] @ self.pull) * self.seen, axis=-1) / self.spacing
        deck = self.h[0][0] * self.passed - pulled
        return np.asarray(1j * self.omega * (self.own + self.passed * deck))

    def _middle(self, moved: int, pushed: int) -> NDArray:
        """Motion of a leaf per plane force on one of them (N,), of the middle harmonic alone."""
        place = self.across.shape[1] // 2
        drawn = (self.held[moved][:, place, None, :] @ self.pull)[:, 0]
        back = np.sum(drawn * self.sight[pushed][:, place], axis=-1) / self.spacing
        return np.asarray(self.h[moved][pushed][:, place] - back)

    def alone(self) -> NDArray:
        """Motion of the last leaf, deck or one below, per plane force on it (N,)."""
        return self._middle(len(self.h) - 1, len(self.h) - 1)

    def handed_on(self) -> NDArray:
        """Motion of the last leaf per plane force on the one above it (N,)."""
        return self._middle(len(self.h) - 1, len(self.h) - 2)

    def square(self, leaf: int, where: slice = ALL) -> NDArray:
        """Mean-square velocity of each wave (N, M) of a leaf, 0 the deck, `where` of the
        harmonics."""
        free = (self.h[leaf][0] * self.passed)[:, where]
        return self.omega**2 * self.mean_square(free, self.held[leaf][:, where], where)

    def mean_square(self, free: NDArray, held: NDArray, where: slice = ALL) -> NDArray:
        """Mean square (N, M) over the places of the blow of what it makes `free` (N, M) without
        joists, and they for unit forces `held` (N, M, U)."""
        drawn = held @ self.pull
        cross = np.sum(drawn * self.seen[:, where], axis=-1) / self.spacing
        both = np.sum((drawn @ self.by_place) * np.conj(drawn), axis=-1).real
        square = np.abs(free) ** 2 - 2 * np.real(cross * np.conj(free)) + both
        return np.asarray(np.maximum(square, 0.0))

    def by_hangers(self, build: Build) -> NDArray:
        """Mean-square velocity of the middle wave (N,) of a hung leaf, from its hangers alone."""
        if not build.hung or not build.lower[-1].hangers:
            return np.zeros(len(self.kx))
        last, place = build.lower[-1], self.across.shape[1] // 2
        own = last.sheet.stiffness(self.kx, self.across[:, place], self.omega)
        own = own + 1j * self.omega * air.IMPEDANCE * self.sigma[:, place]
        pulled = np.abs(last.hangers / (last.hangers + self.spacing * own)) ** 2
        return np.asarray(pulled * self.spacing**2 * self.on_joists(self.carriers[0]))

    def on_joists(self, motion: int = 0) -> NDArray:
        """Mean-square velocity of a motion (N,), first that of the deck on the joists."""
        row = self.inverse[:, motion : motion + 1, :]
        square = (row @ self.by_place) @ np.conj(np.swapaxes(row, 1, 2))
        return np.asarray(self.omega**2 * square[:, 0, 0].real)


def _sum(terms: Iterable[NDArray]) -> NDArray:
    return reduce(operator.add, terms)


def _radiation(omega: float, side: NDArray, sides: tuple[float, float]) -> NDArray:
    """Radiation factor of waves of wavenumber `side` in a face of `sides` [m], shape of `side`.

    `radiating.free_waves`, in which waves slower than sound radiate from the edges.
    """
    f = omega / 2 / np.pi
    critical = f * (side * air.SPEED / omega) ** 2
    return radiating.free_waves(np.full(side.shape, f), critical, min(sides), max(sides))


def _gap(
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

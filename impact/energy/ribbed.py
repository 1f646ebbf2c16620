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
cosine over its width, and L the springs of its air: the same closed boxes as for modes.

Waves slower than sound are heard through the edges, where they are cut off: what is left over there
holds all wavenumbers of sound alike (Leppington, as in `radiating.free_waves`). The face towards
the room radiates so by itself, unless it hangs free: then waves of its own come to no net flow at
its edges (what forces a free plate is its inertia), and the leaf above it sounds from its edges
into the cavity. It goes on as any sound does, by t/d: motion per force on the leaf above, of the
ceiling and of that leaf without it. Seen beside modes and finite elements in
`validation/README.md`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Mat
from impact.energy import mat as mats
from impact.energy import radiating, through_air
from impact.leaf.build import Section
from impact.link import cavity
from impact.link.cavity import Gap

ALONG, ACROSS = 96, 6  # waves along the joists; places in half a period of those across
TURNS, STEPS = 12, 24  # directions of sound in plan, and in height by equal steps of cos(theta)
REACH = 1.5  # of the largest wavenumber of a free plate
BOXES = 1.3  # of it too: cosines over the width of a closed bay
# Against 17 times as many points: no band from 160 to 630 Hz of three invented floors moves by more
# than 0.5 dB.
PLACES = (-1 / 30, 0.0, 1 / 30)  # in each third octave, lg f/fm
ALL = slice(None)


@dataclass(frozen=True)
class Sheet:
    """A plate: its section and loss factor."""

    section: Section
    loss: float

    def stiffness(self, kx: NDArray, ky: NDArray, omega: float) -> NDArray:
        """Dynamic stiffness per area B k^4 (1 + i eta) - omega^2 m'' [N/m3]; orthotropic plate,
        2 (D_nu + 2 D_66) kx^2 ky^2 between (Cremer/Heckl/Petersson 2005). Of the shape of the
        wavenumbers."""
        s, x2, y2 = self.section, kx**2, ky**2
        mixed = 2 * (s.bending_nu + 2 * s.twisting)
        bent = s.bending_x * x2**2 + mixed * x2 * y2 + s.bending_y * y2**2
        return np.asarray(bent * (1 + 1j * self.loss) - omega**2 * s.mass)

    def wavenumber(self, omega: float) -> float:
        """Its largest free wavenumber at omega [rad/s], across its weaker direction [1/m]."""
        s = self.section
        return float((omega**2 * s.mass / min(s.bending_x, s.bending_y)) ** 0.25)


@dataclass(frozen=True)
class Lower:
    """A leaf below: the air above it, and for the first one the nails [N/m2] that hold it."""

    sheet: Sheet
    gap: Gap
    nails: complex = 0j


@dataclass(frozen=True)
class Ribs:
    """Joists at `spacing` [m]: bending EI of k^2 [N m2], torsion GJ and sideways stiffness about
    the deck [N m2], mass [kg/m], rotary inertia about the deck [kg m], loss factor."""

    spacing: float
    bending: Callable[[NDArray], NDArray]
    torsion: float
    sideways: float
    mass: float
    rotary: float
    loss: float


@dataclass(frozen=True)
class Build:
    """From the top: floating sheets with the mats below them (top first), deck, ribs, and at most
    two leaves below."""

    floating: tuple[tuple[Sheet, Mat], ...]
    deck: Sheet
    ribs: Ribs
    lower: tuple[Lower, ...]
    sides: tuple[float, float]  # of the face that radiates [m]

    @property
    def hung(self) -> bool:
        """Whether the last leaf touches no joist."""
        return bool(self.lower) and self.lower[-1].nails == 0


@dataclass(frozen=True)
class Field:
    """Answer per mean-square force, averaged over its places and each third octave; (n,) each.

    deck, joists : mean-square velocity times area [m4/s2/N2], joists as if the deck moved with them
    everywhere. mobility : of the face struck, complex [m/(N s)]. power : radiated by the lowest
    leaf [W/N2]. Both are 0 where only motion was asked for.
    """

    deck: NDArray
    joists: NDArray
    mobility: NDArray
    power: NDArray


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
    deck, joists, mobility, power = np.array(rows).T
    return Field(deck.real, joists.real, mobility, power.real)


def _at(build: Build, omega: float, heard: bool) -> tuple[float, float, complex, float]:
    """The four answers of `Field` at one frequency [rad/s]."""
    sheets = [build.deck, *(item.sheet for item in build.lower), *(x for x, _ in build.floating)]
    reach = REACH * max(sheet.wavenumber(omega) for sheet in sheets)
    k0, period = omega / air.SPEED, 2 * np.pi / build.ribs.spacing
    harmonics = period * np.arange(-(n := int(np.ceil(reach / period)) + 1), n + 1)
    # motion: a grid over one period, by symmetry a quarter of it
    step = (np.arange(ALONG) + 0.5) / ALONG
    kx, across = reach * step**1.5, period / 2 * (np.arange(ACROSS) + 0.5) / ACROSS
    weight = np.repeat(1.5 * reach * step**0.5 / ALONG, ACROSS) * 4 * (period / 2 / ACROSS)
    waves = _Waves(build, omega, np.repeat(kx, ACROSS), np.tile(across, ALONG), harmonics)
    weight = weight[:, None] / (4 * np.pi**2)
    square = waves.square(0)
    deck = float((weight * square).sum())
    joists = float((weight[:, 0] * waves.on_joists()).sum()) * build.ribs.spacing
    if not heard:
        return deck, joists, 0j, 0.0
    # sound: over the half sphere, d2k/kz = k0 d(cos theta) d(phi)
    cosine = np.repeat((np.arange(STEPS) + 0.5) / STEPS, TURNS)
    turn = np.tile(np.pi / 2 * (np.arange(TURNS) + 0.5) / TURNS, STEPS)
    side = k0 * np.sqrt(1 - cosine**2)
    sound = _Waves(build, omega, side * np.cos(turn), side * np.sin(turn), harmonics)
    middle = slice(len(harmonics) // 2, len(harmonics) // 2 + 1)  # the harmonic that is sound
    # d2k = k0^2 cos(theta) d(cos theta) d(phi)
    out = (sound.last(middle) * sound.sigma[:, middle])[:, 0]
    fast = k0**2 / (2 * np.pi) * out @ cosine / len(cosine)
    leaf = len(build.lower) - 1 if build.hung else int(waves.below)  # that sounds from its edges
    cut = waves.square(leaf) if leaf else square
    edges = (weight * cut * waves.sigma * (waves.side > k0)).sum()
    if build.hung:
        edges *= _through_cavity(build, sound, cosine)
    mobility = complex((weight * waves.mobility()).sum())
    return deck, joists, mobility, float(air.IMPEDANCE * (fast + edges))


def _through_cavity(build: Build, heard: _Waves, cosine: NDArray) -> float:
    """Sound below a hung ceiling / sound that the edges of the leaf above it make without it.

    heard : waves of all directions of sound, cosine (N,) of their angles.
    """
    middle = heard.across.shape[1] // 2
    harmonics = heard.across[0] - heard.across[0, middle]
    above = replace(build, lower=build.lower[:-1])
    without = _Waves(above, heard.omega, heard.kx, heard.across[:, middle], harmonics)
    through = np.abs(heard.handed_on() / without.alone()) ** 2
    return float(np.average(through, weights=heard.sigma[:, middle] * cosine))


class _Waves:
    """The answer at wavenumbers (kx, ky) (N,), each with its harmonics (M,).

    Letters as at the top of this file: h11, h12, h22 (N, M) are H of deck and first leaf. Of the U
    motions u of a joist, seen (N, M, U) = C H e1 S is what each wave of a blow makes them, held
    (N, M, U) = H C^H what their forces make of the deck; inverse (N, U, U) = (1 + G L)^-1 with
    G = 1/s sum C H C^H, pull = L (1 + G L)^-1.
    """

    def __init__(
        self, build: Build, omega: float, kx: NDArray, ky: NDArray, harmonics: NDArray
    ) -> None:
        self.omega, self.kx, self.spacing = omega, kx, build.ribs.spacing
        self.across = ky[:, None] + harmonics
        self.side = np.hypot(kx[:, None], self.across)
        self.sigma = _radiation(omega, self.side, build.sides)
        self._plates(build)
        self._lines(build)

    def _plates(self, build: Build) -> None:
        """H, S, what the blow does to the face struck, and the last leaf's motion."""
        omega, kx, ky = self.omega, self.kx[:, None], self.across
        sound = 1j * omega * air.IMPEDANCE * self.sigma
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
        deck = deck + load
        self.below, self.two = bool(build.lower), len(build.lower) > 1
        self.further = np.ones_like(deck)  # motion of the last leaf / of the one after the deck
        if not self.below:
            self.h11 = 1 / (deck + sound)
            self.h12 = self.h22 = np.zeros_like(deck)
            return
        first = build.lower[0]
        if first.gap.closed:  # boxes, see `_lines`
            z11 = z12 = z22 = np.zeros_like(deck)
        else:
            z11, z12, z22 = _gap(first.gap, omega, kx, ky, build.ribs.spacing)
        below = first.sheet.stiffness(kx, ky, omega) + z22
        if self.two:
            last = build.lower[1]
            y11, y12, y22 = _gap(last.gap, omega, kx, ky, 0.0)
            stiff = last.sheet.stiffness(kx, ky, omega) + y22 + sound
            below, self.further = below + y11 - y12**2 / stiff, y12 / stiff
        else:
            below = below + sound
        deck = deck + z11
        both = deck * below - z12**2
        self.h11, self.h12, self.h22 = below / both, z12 / both, deck / both

    def _lines(self, build: Build) -> None:
        """u = (1 + G L)^-1 A, and the mean of A A^H over the places of the blow."""
        ribs, k2, omega = build.ribs, self.kx**2, self.omega
        lossy = 1 + 1j * ribs.loss
        one, none = np.ones_like(self.h11), np.zeros_like(self.h11)
        rows = [(one, none), (1j * self.across, none)]  # what deck and leaf share in each motion
        springs = [
            ribs.bending(k2) * k2**2 * lossy - omega**2 * ribs.mass,
            (ribs.torsion * k2 + ribs.sideways * k2**2) * lossy - omega**2 * ribs.rotary,
        ]
        nails = build.lower[0].nails if build.lower else 0j
        if nails:
            springs[0] = springs[0] + nails
            springs.append(np.full(k2.shape, nails))
            rows.append((none, one))
        for shape, spring in self._boxes(build):
            rows.append((shape, -shape))
            springs.append(spring)
        stiff = np.zeros((len(k2), len(rows), len(rows)), complex)
        stiff[:, np.arange(len(rows)), np.arange(len(rows))] = np.stack(springs, axis=-1)
        if nails:
            stiff[:, 0, 2] = stiff[:, 2, 0] = -nails
        on_deck, on_leaf = (np.stack(part, axis=-1) for part in zip(*rows, strict=True))
        h11, h12, h22 = (h[..., None] for h in (self.h11, self.h12, self.h22))
        self.sight = (on_deck * h11 + on_leaf * h12, on_deck * h12 + on_leaf * h22)
        self.seen = self.sight[0] * self.passed[..., None]
        up, down = np.conj(on_deck), np.conj(on_leaf)
        self.held = (up * h11 + down * h12, up * h12 + down * h22)  # of deck and leaf
        gram = sum(
            np.swapaxes(seen, 1, 2) @ held
            for seen, held in zip((on_deck, on_leaf), self.held, strict=True)
        )
        self.inverse = np.linalg.inv(np.eye(len(rows)) + gram @ stiff / self.spacing)
        self.pull = stiff @ self.inverse

    @cached_property
    def by_place(self) -> NDArray:
        """Mean over places of the blow of A A^H (N, U, U), A = u without joists."""
        return np.asarray(np.swapaxes(self.seen, 1, 2) @ np.conj(self.seen) / self.spacing**2)

    def _boxes(self, build: Build) -> Iterator[tuple[NDArray, NDArray]]:
        """Closed bays: what each orthonormal cosine over a bay's width takes of a wave (N, M), and
        the spring of its air (N,) [N/m3]; none where air lies under the joists too."""
        if not build.lower or not build.lower[0].gap.closed:
            return
        first, spacing = build.lower[0], self.spacing
        width = first.gap.open_share * spacing
        reach = BOXES * max(x.wavenumber(self.omega) for x in (build.deck, first.sheet))
        middle = np.exp(0.5j * self.across * spacing)
        for order in range(int(reach * width / np.pi) + 1):
            wave, turn = order * np.pi / width, np.exp(0.5j * order * np.pi)
            there, back = (
                np.sinc((self.across + sign * wave) * width / 2 / np.pi) for sign in (1, -1)
            )
            size = np.sqrt(width * (1 if order == 0 else 2)) / 2
            shape = size * middle * (turn * there + np.conj(turn) * back)
            spring = 1 / cavity.compliance(first.gap, self.omega, self.kx, np.asarray(wave))
            yield shape, spring

    def mobility(self) -> NDArray:
        """Share of each wave in the mean mobility of the face struck (N, M)."""
        pulled = np.sum((self.held[0] @ self.pull) * self.seen, axis=-1) / self.spacing
        deck = self.h11 * self.passed - pulled
        return np.asarray(1j * self.omega * (self.own + self.passed * deck))

    def _middle(self, free: NDArray, moved: int, pushed: int) -> NDArray:
        """Motion of deck (0) or first leaf (1) per plane force on one of them (N,), of the
        middle harmonic alone; free : the same without joists (N, M)."""
        place = free.shape[1] // 2
        drawn = (self.held[moved][:, place, None, :] @ self.pull)[:, 0]
        back = np.sum(drawn * self.sight[pushed][:, place], axis=-1) / self.spacing
        return np.asarray(free[:, place] - back)

    def alone(self) -> NDArray:
        """Motion of the last leaf, deck or first one below, per plane force on it (N,)."""
        return self._middle(self.h22, 1, 1) if self.below else self._middle(self.h11, 0, 0)

    def handed_on(self) -> NDArray:
        """Motion of the last leaf per plane force on the one above it (N,)."""
        if not self.two:
            return self._middle(self.h12, 1, 0)
        return self._middle(self.h22, 1, 1) * self.further[:, self.further.shape[1] // 2]

    def last(self, where: slice) -> NDArray:
        """Mean-square velocity of each wave (N, M) of the last leaf, `where` of the harmonics."""
        return self.square(int(self.below), where) * np.abs(self.further[:, where]) ** 2

    def square(self, leaf: int, where: slice = ALL) -> NDArray:
        """Mean-square velocity of each wave (N, M), leaf 0 the deck, 1 the first below."""
        free = ((self.h11, self.h12)[leaf] * self.passed)[:, where]
        drawn = self.held[leaf][:, where] @ self.pull
        cross = np.sum(drawn * self.seen[:, where], axis=-1) / self.spacing
        both = np.sum((drawn @ self.by_place) * np.conj(drawn), axis=-1).real
        square = np.abs(free) ** 2 - 2 * np.real(cross * np.conj(free)) + both
        return np.asarray(self.omega**2 * np.maximum(square, 0.0))

    def on_joists(self) -> NDArray:
        """Mean-square velocity of the deck on the joists (N,)."""
        row = self.inverse[:, :1, :]
        square = (row @ self.by_place) @ np.conj(np.swapaxes(row, 1, 2))
        return np.asarray(self.omega**2 * square[:, 0, 0].real)


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

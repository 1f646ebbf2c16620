"""Air in a gap as a finite floor drives it: by its waves as they are cut off at the walls.

Between leaves that lie wide apart sound runs in all directions. In a gap thinner than half a wave
it is one wave in the plane, k_g² = k0² - (rho/d) (1/m1 + 1/m2) between limp leaves, and crosses an
empty room many times before it dies. So the gap has energy of its own, as in the balances of A. J.
Price, M. J. Crocker, J. Acoust. Soc. Am. 47 (1970) 683, and R. J. M. Craik, Appl. Acoust. 64 (2003)
325 (both from memory). Here what it takes and hands on is summed over all wavenumbers q of sound,
the leaf below being limp, which has k_g as its resonance.

What feeds it is derived here. A wave sin(kx x) sin(ky y) of a supported leaf, seen in the cosines
of a room with hard walls, is 16/pi² k²/(k + q)² (pi/L)²/(k - q)² in every other of them: mostly in
the nearest two along each side, pi/L off, and the rest is what its edges do. An edge x = 0 keeps ky
and gives kx²/(k² - q²)² with k² = kx² + ky², q² = qx² + ky², to all directions of q alike. Averaged
over directions of k all edges give, at q, as much as

    sigma = 8 k0² k² / (pi q (k² - q²)²) (1/Lx + 1/Ly) I(k/q)

    I(u) = 2/(pi u²) (E(u) - (1 - u²) K(u)), u < 1;   2/(pi u) E(1/u), u > 1   (moduli)

would, were it the radiation factor of motion even over all wavenumbers of sound; for k above and
below q. Far above q that is twice Leppington's (`radiating.free_waves`), whose plate lies in a
plane: a wall stands at the edge (G. Maidanik, J. Acoust. Soc. Am. 34 (1962) 809).

The face below has waves of its own, which a pattern of other wavenumbers finds only at edges
(`accepted`): a slab is far above its coincidence where boards come to theirs.

What is the same for all cosines near a wave leaves its pattern whole, and the face below sounds
from it as the leaf would; only what differs among them is taken cosine by cosine (`handed_on`).

`tests/energy/test_gap_waves.py` holds it beside sums over single rooms;
`validation/notes/modes_and_energy.md` beside modes and finite elements.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ellipe, ellipk

from impact.base import air
from impact.energy import radiating
from impact.link import cavity
from impact.link.cavity import Gap

STEPS = 48  # directions of sound below a slab
PLACES = np.cos(np.pi * (np.arange(8) + 0.5) / 8)  # of the nearest cosines, in units of `spread`
MAIN = (8 / np.pi**2) ** 2  # their share in a wave: of 1/(2 n + 1)², n any integer, that of two
NARROW = 0.1  # of k0: nearer to a wave, where cosines lie dense, all are taken with the nearest
SMALLEST = 1e-3  # ratio of wavenumbers below which the limit is taken


@dataclass(frozen=True)
class Waves:
    """Free waves of a slab, or of boards: stiffness as in `radiating` [N m], mass [kg/m2], sides
    [m]."""

    stiffness: radiating.Stiffness
    mass: float
    short: float
    long: float

    @cached_property
    def weights(self) -> tuple[NDArray, NDArray]:
        """Stiffnesses [N m] of the directions of waves and the share of each in the modes (D,)."""
        stiff, count = np.unique(radiating.in_directions(self.stiffness), return_counts=True)
        return stiff, count / np.sqrt(stiff) / np.sum(count / np.sqrt(stiff))

    @cached_property
    def per_mode(self) -> float:
        """Energy of a mode per mean-square velocity and area [J s2/m4], see `shared`."""
        stiff, weight = self.weights
        return float(4 * np.pi * self.mass / (weight @ np.sqrt(self.mass / stiff)))

    def bent(self, x2: NDArray, y2: NDArray) -> NDArray:
        """D k⁴ [N/m3] at squared wavenumbers x2, y2 [1/m2] along both sides, of shapes that fit
        together: what a leaf resists with as it bends."""
        bx, by, both = self.stiffness
        return np.asarray(bx * x2**2 + 2 * both * x2 * y2 + by * y2**2)

    def shortest(self, omega: float) -> float:
        """Largest wavenumber of free waves at `omega` [rad/s], 1/m."""
        return float((omega**2 * self.mass / self.weights[0].min()) ** 0.25)


@dataclass(frozen=True)
class Heard:
    """What a gap below a slab does, at each frequency (F,).

    forced : power that the limp leaf below radiates / what the slab would radiate free [-].
    taken : power the slab loses to the gap per mean-square velocity and area [Pa s/m].
    pressed : mean-square pressure in the gap over the power per area that the slab would radiate
    free [Pa2 m2/W]: in the slab's own waves, as far as they run along a wall faster than sound, and
    in the gap's, which its edges feed. kept : share of its energy, `shared` [-].
    """

    forced: NDArray
    taken: NDArray
    pressed: NDArray
    kept: NDArray


def grid(steps: int) -> tuple[NDArray, NDArray]:
    """Wavenumbers along a gap / that of sound, rising, and the share of the area 2 pi k0² that each
    stands for [-], (Q,) each.

    `steps` directions of sound, equal steps of cos(theta), then what lies beyond, up to 2, and is
    heard from the edges of the leaf below.
    """
    cosine = (np.arange(steps)[::-1] + 0.5) / steps
    few = steps // 5
    beyond = 1 + (np.arange(few) + 0.5) / few
    return np.r_[np.sqrt(1 - cosine**2), beyond], np.r_[cosine / steps, beyond / few]


def mean_over_directions(ratio: NDArray) -> NDArray:
    """I(u) of the heading, shape of `ratio` u = k/q [-]; 1/2 far below 1, 1/u far above."""
    slow = np.clip(ratio, SMALLEST, 1 - 1e-9) ** 2
    fast = np.maximum(ratio, 1 + 1e-9)
    below = 2 / np.pi * (ellipe(slow) - (1 - slow) * ellipk(slow)) / slow
    above = 2 / np.pi / fast * ellipe(1 / fast**2)
    return np.where(np.asarray(ratio) < 1, below, above)


def from_edges(wave: NDArray, heard: NDArray, sound: float, sides: tuple[float, float]) -> NDArray:
    """sigma of the heading [-]: edges of waves k of a leaf at wavenumbers q of sound.

    wave k, heard q [1/m] of shapes that fit together; sound k0 [1/m], sides [m]. 0 in `_middle`.
    """
    lines = 1 / sides[0] + 1 / sides[1]
    beyond = np.abs(wave - heard) > _middle(sound, sides)[0]
    apart = np.where(beyond, wave**2 - heard**2, np.inf)
    seen = wave**2 / (heard * apart**2) * mean_over_directions(wave / heard)
    return np.asarray(8 / np.pi * sound**2 * lines * seen)


def spread(sides: tuple[float, float]) -> float:
    """sqrt(2) pi/L [1/m], L the harmonic mean of the sides [m]: how far the four cosines nearest to
    a wave, pi/L off along both sides, are from its wavenumber at most."""
    return float(np.pi / np.sqrt(2) * (1 / sides[0] + 1 / sides[1]))


def _middle(sound: float, sides: tuple[float, float]) -> tuple[float, float]:
    """How far about a wave all is counted as if in its nearest cosines [1/m], and its share of the
    wave; what lies beyond falls as one over the distance."""
    wide = max(spread(sides), NARROW * sound)
    return wide, 1 - (1 - MAIN) * spread(sides) / wide


def near(wave: NDArray, sides: tuple[float, float]) -> NDArray:
    """Wavenumbers (..., PLACES) [1/m] of the cosines nearest to waves (...,) of any direction."""
    return np.asarray(np.abs(np.asarray(wave)[..., None] + spread(sides) * PLACES))


def loudness(wave: NDArray, sound: float, sides: tuple[float, float]) -> NDArray:
    """Radiation factor of cosines of a face, of shape of `wave` q [1/m]; k0 `sound`, sides [m].

    Slower than sound they come to no net flow at its edges, where they are largest: at wavenumbers
    p of sound they leave p/(q² - p²), a supported edge q/(q² - p²); means of the squares
    over p = k0 cos(theta).
    """
    ratio = np.maximum(np.asarray(wave) / sound, SMALLEST)
    f = np.full(ratio.shape, sound * air.SPEED / 2 / np.pi)
    found = radiating.free_waves(f, f * ratio**2, min(sides), max(sides))
    p2 = np.cos(radiating.ANGLES) ** 2 / np.maximum(ratio, 1 + 1e-9)[..., None] ** 2
    left = (p2 / (1 - p2) ** 2).mean(axis=-1) / ((1 - p2) ** -2).mean(axis=-1)
    return np.where(ratio > 1, left, 1.0) * found


def summed(
    wave: NDArray, heard: tuple[NDArray, NDArray], values: NDArray, sound: float,
    sides: tuple[float, float], walls: float = 1.0,
) -> NDArray:  # fmt: skip
    """Sum (K, W) over all cosines of what waves (W,) [1/m] hold there times `values` (K, Q).

    heard : wavenumbers (Q,) and areas as of `grid`; beyond the last nothing is heard. sound k0
    [1/m], sides [m]; walls : 1, or 1/2 where an edge sounds as in a plane.
    """
    places = near(wave, sides) / sound
    own = [np.interp(places, heard[0], each, right=0.0).mean(axis=-1) for each in values]
    at_edges = cut_off(wave, heard, values, sound, sides, walls)
    return np.asarray(at_edges + _middle(sound, sides)[1] * np.array(own))


def cut_off(
    wave: NDArray, heard: tuple[NDArray, NDArray], values: NDArray, sound: float,
    sides: tuple[float, float], walls: float = 1.0,
) -> NDArray:  # fmt: skip
    """What of `summed` the edges of the waves do, without their nearest cosines: (K, W), a sum of
    shares [-] times `values` (K, Q); arguments as there. In a fill these are the wave itself
    (`handed_on`)."""
    ratio, area = heard
    edges = walls * from_edges(wave[:, None], sound * ratio, sound, sides) * area
    return np.asarray(values @ edges.T)


def handed_on(
    wave: NDArray, heard: tuple[NDArray, NDArray], through: NDArray, loud: NDArray, sound: float,
    sides: tuple[float, float], walls: float = 1.0,
) -> tuple[NDArray, NDArray]:  # fmt: skip
    """What a gap does to a wave as a whole, complex, and the power of what it changes in it (W,).

    A gap hands each cosine q of a `wave` on by a factor t(q), `through` (Q,). Their mean over the
    cosines nearest to the wave leaves the pattern as it is, so that the face below sounds from it
    as the leaf above would, edges included; only what differs, |t(q) - mean|², is taken cosine by
    cosine, each `loud` (Q,) by itself. A gap that is a spring in each place (a fill) thus hands on
    the pattern and nothing else; of one that resonates the mean is small. Arguments as `summed`.
    """
    places = np.minimum(near(wave, sides) / sound, heard[0][-1])
    alike = np.interp(places, heard[0], through).mean(axis=-1)
    values = np.array([np.abs(through) ** 2 * loud, through * loud, loud])
    both, cross, alone = summed(wave, heard, values, sound, sides, walls)
    apart = both.real - 2 * np.real(np.conj(alike) * cross) + np.abs(alike) ** 2 * alone.real
    return alike, np.maximum(apart, 0.0)


def stored(gap: Gap, omega: float, mass: float) -> float:
    """Energy in a gap per area over a limp leaf, per mean-square velocity of that [J s2/m4].

    d/K p² at resonance, where energies of spring and inertia are alike, p = omega m'' v. mass
    [kg/m2], omega [rad/s].
    """
    none = np.zeros(1)
    return float(np.real(cavity.compliance(gap, omega, none, none))[0] * (omega * mass) ** 2)


def shared(energy: float, per_mode: float, sound: float) -> float:
    """Share that a gap keeps of the `energy` per area it would hold if the leaf above did not heed
    it: 1/(1 + E/(n e)) [-].

    Energy goes back through the same edges, so that a mode of the gap has at most as much as one of
    the leaf (Lyon/DeJong 1995). per_mode e : energy of a mode of the leaf; n = k0/2 pi c modes
    per area and rad/s of the gap, as far as its leaves are limp. sound k0 [1/m].
    """
    return 1 / (1 + energy / (sound / (2 * np.pi * air.SPEED) * per_mode))


def free_edge(wave: NDArray, heard: NDArray) -> NDArray:
    """What a free edge of a leaf with waves k leaves in cosines q over what a supported one does:
    2 q⁴/(k² + q²)² [-], shapes that fit together [1/m]. From cos kx - sin kx + exp(-kx), which no
    moment and no force holds at x = 0, for sin kx of the same energy far from the edge."""
    return np.asarray(2 * heard**4 / (wave**2 + heard**2) ** 2)


def accepted(gap: Gap, f: float, slab: Waves, below: Waves) -> float:
    """What free waves of a leaf `below` with free edges take up of the pressure in a gap, over the
    power that the `slab` above would radiate free [Pa2 m2/W]: blocked pressure times radiation
    factor, if that pressure came from all directions alike.

    Both leaves are supported or free rectangles, whose waves k and k' lie mostly in the cosines
    nearest to them. Then |p/v|² at the blocked face, uniform over the wavenumbers of sound, makes
    2 pi k0² times the mean of both spectra's product: the slab's edges at k' (`from_edges`), the
    boards' edges at k (`free_edge`), and where k and k' meet, k0²/(2 k' w), w the width that is
    counted as the wave itself. Derived here from the sums of the heading. f [Hz].
    """
    omega, sound = 2 * np.pi * f, 2 * np.pi * f / air.SPEED
    stiff, own = (radiating.in_directions(each.stiffness) for each in (slab, below))
    above, boards = (each**-0.5 / np.sum(each**-0.5) for each in (stiff, own))
    limit = radiating.critical(stiff, slab.mass)
    k, other = sound * np.sqrt(limit / f), sound * np.sqrt(radiating.critical(own, below.mass) / f)
    inertia = 1j * omega * slab.mass

    def pressure(q: NDArray) -> NDArray:
        matrix = cavity.layers(gap, omega, q)
        return np.asarray(np.abs(inertia / (inertia * matrix[1, 0] + matrix[0, 0])) ** 2)

    sides = slab.short, slab.long
    at_slab = above @ from_edges(k[:, None], other, sound, sides) @ (boards * pressure(other))
    seen = free_edge(other[:, None], k) * from_edges(
        other[:, None], k, sound, (below.short, below.long)
    )
    at_boards = boards @ seen @ (above * pressure(k))
    wide = _middle(sound, sides)[0]
    meeting = np.maximum(0.0, 1 - np.abs(k - other) / (2 * wide)) * sound**2 / (2 * other * wide)
    all_of_it = at_slab + at_boards + above @ (meeting * pressure(k))
    radiated = above @ radiating.free_waves(np.full(k.shape, f), limit, *sides)
    return float(all_of_it / (air.IMPEDANCE * radiated))


def below_slab(
    gap: Gap, frequencies: NDArray, mass_below: float, waves: Waves,
    hangers: NDArray | complex = 0j,
) -> Heard:  # fmt: skip
    """Sound through a gap from the free waves of a slab. frequencies (F,) [Hz].

    mass_below [kg/m2]; hangers (F,) [N/m3] : springs beside the air. What a fill takes is part of
    the slab's loss factor in place, and not `taken` from it.
    """
    sides, heard = (waves.short, waves.long), grid(STEPS)
    stiff, weight = waves.weights
    limit = radiating.critical(stiff, waves.mass)
    rows = []
    beside = np.broadcast_to(np.asarray(hangers, complex), len(frequencies))
    for f, spring in zip(np.asarray(frequencies, float), beside.tolist(), strict=True):
        omega, sound = 2 * np.pi * f, 2 * np.pi * f / air.SPEED
        loud = loudness(sound * heard[0], sound, sides)
        through, resisted = limp(gap, omega, mass_below, heard[0], loud, spring)
        wave = sound * np.sqrt(limit / f)
        values = np.array([np.abs(through) ** 2, resisted])
        square, taken = summed(wave, heard, values, sound, sides) @ weight
        kept = shared(stored(gap, omega, mass_below) * square, waves.per_mode, sound)
        free = radiating.free_waves(f, limit, *sides)
        alike, apart = handed_on(wave, heard, through, loud, sound, sides)
        power = kept * weight @ (np.abs(alike) ** 2 * free + apart)
        _, others = handed_on(wave, heard, through, np.ones_like(loud), sound, sides)
        along = 2 / np.pi * np.arcsin(np.minimum(sound / wave, 1.0))
        held = (omega * mass_below) ** 2 / air.IMPEDANCE / (weight @ free)
        rows.append((
            power / (weight @ free), kept * taken * (gap.fill == 0),
            held * kept * (weight @ (np.abs(alike) ** 2 * along + others)),
            kept,
        ))  # fmt: skip
    return Heard(*np.array(rows).T)


def limp(
    gap: Gap, omega: float, mass: float, ratio: NDArray, loud: NDArray, hangers: complex,
    bent: NDArray | float = 0.0,
) -> tuple[NDArray, NDArray]:  # fmt: skip
    """v2/v1 [-] and Re p1/v1 [Pa s/m] at wavenumbers `ratio` (Q,) / k0 where v1 is given, above a
    limp leaf, or one that resists with `bent` (Q,) [N/m3] besides.

    omega [rad/s], mass [kg/m2] of that leaf, loud (Q,) its radiation factors, hangers [N/m3] beside
    the air. Transfer matrices of the gap (`link.cavity.layers`).
    """
    matrix = cavity.layers(gap, omega, omega / air.SPEED * ratio)
    load = 1j * omega * mass + bent / (1j * omega) + air.IMPEDANCE * loud
    spring = hangers / (1j * omega)
    upper, across, lower = (
        each / matrix[1, 0] + spring for each in (matrix[0, 0], 1.0, matrix[1, 1])
    )
    return across / (load + lower), np.real(upper - across**2 / (load + lower))

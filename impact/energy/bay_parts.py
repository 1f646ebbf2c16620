"""What a row of equal bays is made of, for `ribbed`: plates, strips, joists, leaves below."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from impact.design.parts import Mat
from impact.leaf.build import Section
from impact.link.cavity import Gap

ORDERS = 12  # of lines between points, either way: their compliance falls with the third power
REACH = 1.5  # of the largest wavenumber of a free plate


class Grid(NamedTuple):
    """Where `ribbed` solves a row: fewest and most places in half a period of waves across, as many
    with all half waves along the joists in between; directions of sound in plan, and in height by
    equal steps of cos(theta)."""

    across: int
    finest: int
    points: int
    turns: int
    steps: int


FULL = Grid(6, 18, 500, 12, 24)
# For what a change does to a floor, in half the time. On two floors with an old ceiling loss
# factors make of a band what they make on the full grid within 0.3 dB, nails within 0.6 dB, in the
# root of the mean square 0.1 and 0.2 dB.
ROUGH = Grid(4, 18, 250, 6, 12)


@dataclass(frozen=True)
class Sheet:
    """A plate: its section and loss factor."""

    section: Section
    loss: float

    @property
    def mass(self) -> float:
        """Mass per area [kg/m2]."""
        return self.section.mass

    def stiffness(self, kx: NDArray, ky: NDArray, omega: float) -> NDArray:
        """Dynamic stiffness per area B k^4 (1 + i eta) - omega^2 m'' [N/m3]; orthotropic plate,
        2 (D_nu + 2 D_66) kx^2 ky^2 between (Cremer/Heckl/Petersson 2005). Of the shape of the
        wavenumbers."""
        s, x2, y2 = self.section, kx**2, ky**2
        mixed = 2 * (s.bending_nu + 2 * s.twisting)
        bent = s.bending_x * x2**2 + mixed * x2 * y2 + s.bending_y * y2**2
        return np.asarray(bent * (1 + 1j * self.loss) - omega**2 * s.mass)

    def between_points(self, kx: NDArray, omega: float, pitch: float) -> NDArray:
        """What points `pitch` [m] apart along x press into it more than an even line would, per
        force per length [m2/N], shape of `kx` [1/m].

        Equal forces but for their phase, F exp(i kx x) at each, are a line F/pitch that runs as kx
        and others as q = kx + 2 pi n/pitch. A line along x deflects under itself by the mean over
        ky of 1/(dynamic stiffness): 1/(2 By a b (a + b)) per force per length, where ky² = -a² and
        -b² make that stiffness nil (residues); 1/(4 B q³) of a slow isotropic plate. Their sum over
        all n but 0 comes to zeta(3) pitch³/(16 pi³ B) at rest. Derived here from the plate's
        equation; other joists are taken to be far for waves so short.
        """
        order = np.concatenate([-np.arange(ORDERS, 0, -1), np.arange(1, ORDERS + 1)])
        q2 = (np.asarray(kx)[..., None] + 2 * np.pi * order / pitch) ** 2
        return self.under_line(q2, omega).sum(axis=-1)

    def under_line(self, q2: NDArray, omega: float) -> NDArray:
        """Deflection under a line along x per force per length [m2/N], 1/(2 By a b (a + b)), of the
        shape of `q2`, squared wavenumbers along it [1/m2]; see `between_points`."""
        s, complex_ = self.section, 1 + 1j * self.loss
        half = (s.bending_nu + 2 * s.twisting) * q2 / s.bending_y
        rest = (s.bending_x * q2**2 - omega**2 * s.mass / complex_) / s.bending_y
        root = np.sqrt(half**2 - rest + 0j)
        a, b = np.sqrt(half + root), np.sqrt(half - root)
        return np.asarray(1 / (2 * s.bending_y * complex_ * a * b * (a + b)))

    def wavenumber(self, omega: float) -> float:
        """Its largest free wavenumber at omega [rad/s], across its weaker direction [1/m]."""
        s = self.section
        return float((omega**2 * s.mass / min(s.bending_x, s.bending_y)) ** 0.25)


@dataclass(frozen=True)
class Strips:
    """Loose fill on short boards that lie from joist to joist: mass [kg/m2], bending stiffness
    across [N m] as in `leaf.strips`, loss factor. By itself it is limp; hinges and bending are
    motions of each bay."""

    mass: float
    bending: float
    loss: float

    def stiffness(self, kx: NDArray, ky: NDArray, omega: float) -> NDArray:
        """Dynamic stiffness per area of the limp mass, -omega^2 m'' [N/m3]; shapes as `Sheet`."""
        return np.asarray(-(omega**2) * self.mass + 0j * (kx + ky))

    def wavenumber(self, omega: float) -> float:
        """Of free waves across at omega [rad/s], [1/m]."""
        return float((omega**2 * self.mass / self.bending) ** 0.25)

    def orders(self, omega: float, spacing: float) -> int:
        """How many sines of a bay of width `spacing` [m] are wanted at omega [rad/s]."""
        return int(REACH * self.wavenumber(omega) * spacing / np.pi) + 2


@dataclass(frozen=True)
class Ribs:
    """Joists at `spacing` [m]: bending EI of k^2 [N m2], torsion GJ and sideways stiffness about
    the deck [N m2], mass [kg/m], rotary inertia about the deck [kg m], loss factor, stiffness from
    face to face across the grain [N/m2] (`depth`)."""

    spacing: float
    bending: Callable[[NDArray], NDArray]
    torsion: float
    sideways: float
    mass: float
    rotary: float
    loss: float
    crush: float = np.inf

    def lines(self, count: int) -> NDArray:
        """Places (count,) [m] of `count` of them, symmetric about 0."""
        return (np.arange(count) - (count - 1) / 2) * self.spacing


@dataclass(frozen=True)
class Lower:
    """A leaf below: the air above it, and per length of joist the nails (of strips the battens)
    that hold it to the joists, or the hangers, as far as all of a wave move alike [N/m2]. pitch :
    of the nails along a joist [m], 0 for a line. ribs : joists of its own, which no other leaf
    touches. height : of battens, how far down the joists' sides, of their depth [-]."""

    sheet: Sheet | Strips
    gap: Gap
    nails: complex = 0j
    hangers: complex = 0j
    pitch: float = 0.0
    ribs: Ribs | None = None
    height: float = 1.0

    def held(self, kx: NDArray, omega: float) -> complex | NDArray:
        """Nails with what they press into the sheet between each other, or hangers [N/m2], for
        waves `kx` (N,) [1/m] along the joists."""
        if not self.nails or not self.pitch or isinstance(self.sheet, Strips):
            return self.nails or self.hangers
        different, place = np.unique(kx, return_inverse=True)  # places across share theirs
        between = self.sheet.between_points(different, omega, self.pitch)
        return np.asarray(1 / (1 / self.nails + between)[place])


@dataclass(frozen=True)
class Build:
    """From the top: floating sheets with the mats below them (top first), deck, ribs, and the
    leaves below. count : of joists after which all repeats, where a leaf below has other ribs.
    vented : whether sound of the lowest cavity is asked for, at an open edge. span : of the joists
    [m], 0 where it is the face's; fixity of their ends as in `leaf.basis`; stands : from where to
    where along them a blow may fall [m], None for anywhere. room_above : whether the uppermost face
    loses sound to a room too."""

    floating: tuple[tuple[Sheet, Mat], ...]
    deck: Sheet
    ribs: Ribs
    lower: tuple[Lower, ...]
    sides: tuple[float, float]  # of the face that radiates [m]
    count: int = 1
    vented: bool = False
    span: float = 0.0
    fixity: float = 0.0
    stands: tuple[float, float] | None = None
    room_above: bool = True

    @property
    def length(self) -> float:
        """Of the joists [m]."""
        return self.span or self.sides[0]

    @property
    def struck(self) -> tuple[float, float]:
        """From where to where along the joists a blow may fall [m]."""
        return self.stands or (0.0, self.length)

    @property
    def period(self) -> float:
        """Length after which all repeats [m]."""
        return self.ribs.spacing * self.count

    @property
    def hung(self) -> bool:
        """Whether the last leaf touches no joist and has none of its own: its edges are free."""
        return bool(self.lower) and not self.lower[-1].nails and self.lower[-1].ribs is None

    @property
    def light(self) -> bool:
        """Whether the last leaf hangs below boards or loose fill with nothing but air between."""
        return self.hung and len(self.lower) > 1 and self.lower[-1].gap.fill == 0

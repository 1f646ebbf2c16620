"""What a row of equal bays is made of, for `ribbed`: plates, strips, joists, leaves below."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from impact.design.parts import Mat
from impact.leaf.build import Section
from impact.link.cavity import Gap

REACH = 1.5  # of the largest wavenumber of a free plate


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
class Lower:
    """A leaf below: the air above it, and per length of joist the nails (of strips the battens)
    that hold it to the joists, or the hangers, as far as all of a wave move alike [N/m2]."""

    sheet: Sheet | Strips
    gap: Gap
    nails: complex = 0j
    hangers: complex = 0j


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
    """From the top: floating sheets with the mats below them (top first), deck, ribs, and the
    leaves below."""

    floating: tuple[tuple[Sheet, Mat], ...]
    deck: Sheet
    ribs: Ribs
    lower: tuple[Lower, ...]
    sides: tuple[float, float]  # of the face that radiates [m]

    @property
    def hung(self) -> bool:
        """Whether the last leaf touches no joist."""
        return bool(self.lower) and self.lower[-1].nails == 0

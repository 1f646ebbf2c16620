"""The open gap round a ceiling: air that flows between the cavity and the room.

Per metre of wall a flow U [m2/s] through a gap of width w in boards of thickness t needs the
pressure i omega rho L U, L a pure number (an inertance, complex with its losses):

    L = t/w v + L_room + L_cavity .

In the gap v = 1/(1 - tanh s/s), s = w/2 sqrt(i omega rho/eta): viscous flow between two walls (C.
Zwikker and C. W. Kosten, Sound Absorbing Materials, 1949, ch. 2, from memory, check the source; as
s -> 0 Poiseuille's resistance 12 eta t/w²). At a wall the gap and its mirror image are a strip of
2 w, whose potential far off is that of a line, near it that of a cylinder of radius w/2 (conformal
map of a strip, any textbook of hydrodynamics). So, gamma Euler's constant,

    L_room = 2/pi (ln(4/(w q)) - gamma),    L_cavity = 2/pi ln(2 d/(pi w)) .

q is the wavenumber across the gap's length, |k_m² - k²|^1/2 for flow that runs as cos(k_m y) along
it (small argument of Hankel's and Bessel's functions; for k_m = 0 the end correction of M. C.
Gomperts and T. Kihlman, Acustica 18 (1967) 144-150, as in Hopkins, Sound Insulation (2007), ch. 4,
from memory), and no less than 2 pi exp(-gamma)/B, where a room of breadth B lets no wave be longer:
there L_room = 2/pi ln(2 B/(pi w)). That, and L_cavity for a cavity of depth d, come from the map
cosh(pi z/d) of half a strip with a sink in its corner (derived here): what it adds to flow even
over the depth, which the cosines of `cavity` have. Those that a solution leaves out, beyond a
wavenumber K, are in L_cavity as their integral. Where a fill lies on the boards all this happens in
it; where air is left below it, in that air.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from impact.base import air
from impact.design.parts import Design
from impact.leaf.plate import Leaf
from impact.leaf.vented import Vented, open_at
from impact.link import cavity, porous
from impact.link.cavity import Gap
from impact.link.gaps import open_walls
from impact.link.joint import EVERY, Joint

NAME = "gap"  # of the joint
STIFF = (2 * np.pi * 3000.0) ** 2  # rad²/s²: what ties the air's mass where a stack is undamped


def opened(design: Design, leaf: Leaf, highest: float) -> Leaf:
    """The new ceiling's leaf with the air in its gap, up to `highest` [Hz]; itself where no edge is
    open."""
    edge, room = design.ceiling.perimeter, design.room
    walls = open_walls(design)
    if not walls:
        return leaf
    sound = 2 * np.pi * highest / air.SPEED
    reach = 1.2 * sound + 2 * np.pi / min(room.length, room.width)
    return open_at(leaf, walls, edge.gap, design.ceiling.thickness, reach)


def friction(width: float, omega: Any) -> Any:
    """v of the heading (…,) [-], for a gap of `width` [m] at omega (…,) [rad/s]."""
    s = width / 2 * np.sqrt(1j * np.asarray(omega) * air.DENSITY / porous.VISCOSITY)
    return 1 / (1 - np.tanh(s) / s)


def end(width: float, wave: Any) -> Any:
    """L_room (…,) [-] of a gap of `width` [m] at q = `wave` (…,) [rad/m], not below 0."""
    return np.maximum(2 / np.pi * (np.log(4 / (width * np.asarray(wave))) - np.euler_gamma), 0.0)


def longest(breadth: Any) -> Any:
    """The least q [rad/m] between walls `breadth` B (…,) [m] apart: 2 pi exp(-gamma)/B."""
    return 2 * np.pi * np.exp(-np.euler_gamma) / breadth


def inertance(width: float, thickness: float, wave: Any, deep: Any) -> Any:
    """L of the heading (…,) [-] without friction, of a gap of `width` [m] in boards of `thickness`
    [m]; wave : q in the room (…,) [rad/m]; deep : the air on the boards (…,) [m]."""
    return thickness / width + end(width, wave) + end(width, longest(deep))


def medium(gap: Gap, omega: Any) -> tuple[Any, float]:
    """Density (…,) [kg/m3] and depth [m] of what lies on the boards: air, or fill to the top."""
    left = gap.depth - sum(gap.fill_depth())
    if left > cavity.THIN:
        return air.DENSITY + np.zeros(np.shape(omega)), left
    return porous.fluid(omega, gap.flow_resistivity)[0], gap.depth


def at_room(edge: Vented, omega: Any) -> np.ndarray:
    """L_room (…, V) [-] at omega (…, 1) [rad/s]."""
    square = np.abs(edge.wave**2 - (np.asarray(omega) / air.SPEED) ** 2)
    return np.asarray(end(edge.width, np.sqrt(square + longest(edge.across) ** 2)))


def at_cavity(edge: Vented, gap: Gap, omega: Any, reach: float) -> np.ndarray:
    """L_cavity (…, V) [-] at omega (…, 1) [rad/s] beside cosines up to wavenumber `reach` [rad/m],
    0 where there are none."""
    density, depth = medium(gap, omega)
    near = density / air.DENSITY * end(edge.width, longest(depth)) + np.zeros(edge.wave.shape)
    if reach <= 0:
        return np.asarray(near)
    spring, along, sideways = cavity.per_area(gap, omega)
    flow = np.where(edge.normal == 0, along, sideways)
    slow = np.sqrt(edge.wave**2 - np.asarray(omega) ** 2 * spring / flow + 0j)
    last = np.sqrt(np.maximum(reach**2 - edge.wave**2, 0.0)) + np.pi / (2 * edge.across)
    return near + 2 / np.pi * np.arctan(slow / last) / (slow * flow * air.DENSITY)


def compliance(edge: Vented, gap: Gap, omega: Any, reach: float = 0.0) -> np.ndarray:
    """What opposes the air beside its own mass in the gap, per unit of that, as a compliance (…, V)
    [s²/rad²]: -1/(omega² (L w/t - 1)). omega (…, 1) [rad/s]; reach as in `at_cavity`."""
    own = edge.depth / edge.width
    ends = at_room(edge, omega) + at_cavity(edge, gap, omega, reach)
    more = (friction(edge.width, omega) - 1) * own + ends
    return np.asarray(-own / (np.asarray(omega) ** 2 * more))


def joint(edge: Vented, gap: Gap, below: int) -> Joint:
    """The same as a link to rest of the air of an `edge`, leaf number `below`."""

    def cut(omega: float | np.ndarray, reach: float) -> np.ndarray:
        found = compliance(edge, gap, np.reshape(omega, (-1, 1)), reach)
        return found if np.ndim(omega) else found[0]

    def mass(omega: float) -> tuple[np.ndarray, np.ndarray]:
        inertia = -1 / (omega**2 * cut(omega, 0.0).real)
        return STIFF * inertia, inertia

    return Joint(
        NAME, {below: np.eye(edge.vents, len(edge.omega))},
        lambda omega, places=EVERY: cut(omega, 0.0)[..., places],
        np.zeros(edge.vents), local=False, undamped=mass, cut=cut,
    )  # fmt: skip


def joints(leaf: Leaf, gap: Gap, below: int) -> list[Joint]:
    """`joint` of a leaf whose edge is open; none of another."""
    return [joint(leaf, gap, below)] if isinstance(leaf, Vented) else []

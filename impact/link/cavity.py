"""The air between two leaves as an equivalent fluid: spring, sideways flow and losses in one model.

A shallow layer of pressure p, the same over its depth, obeys volume conservation

    (d/K) p - div( (d/rho) grad p ) / omega² = w_above - w_below

with rigid side walls. In orthonormal cosines this is a compliance per area for each shape,

    1/k_r = d/K - ( kx² (d/rho)_x + ky² (d/rho)_y ) / omega² ,

which is the air spring K/d for kx = ky = 0, the cavity's own cross modes where it crosses zero,
and a locally reacting spring where the fill's resistance makes rho large. Derived here from Euler's
equation and mass conservation (any acoustics textbook, e.g. Allard and Atalla 2009 ch. 1).

A deep layer, or a fill, does not hold one pressure: sound needs time for the depth, is used up in
the fill, and dies out across it where leaves bend in shorter waves than the air's. What one leaf
hands to the other is then p_below/w_above of the layers' transfer matrix (Allard and Atalla ch.
11): for a single one 1/k_r = sin(kz d) kz/(rho omega²), kz² = omega² rho/K - kx² - ky², of which
the form above is the limit kz d -> 0. Its magnitude is taken, with the phase of the shallow layer:
a push that comes late feeds energy in unless the stiffnesses that act on one leaf alone are kept
too (inertia and resistance of the air it moves), and these are left out beside its own mass.

Depth is volume over area: joists displace air. Across the joists air passes only below them:
(d/rho)_y is the series of the open bay and the slot under the joist. Where boards lie straight on
the joists there is no slot: each bay is a cavity of its own, its shapes are cosines over its clear
width, and air flows freely inside it. Below its first cross mode, c/(2 width) or some 450 Hz, it
then answers what the boards displace over its width, and not each place by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache, reduce
from typing import Any

import numpy as np

from impact.link import porous
from impact.link.joint import EVERY, Joint

THIN = 1e-6  # m: a layer no thicker is none


@dataclass(frozen=True)
class Gap:
    """One cavity.

    clear : depth below the joists (or the whole depth where there are none) [m].
    bay : depth between the joists [m], 0 without.
    open_share : share of the plan between the joists, 1 - b/s.
    blocks : whether the joists stop sideways air (solid webs) or not (open webs).
    fill : thickness of the porous fill [m], lying in the bays first.
    flow_resistivity : of the fill [Pa s/m2].
    """

    clear: float
    bay: float = 0.0
    open_share: float = 1.0
    blocks: bool = True
    fill: float = 0.0
    flow_resistivity: float = 0.0

    @property
    def depth(self) -> float:
        """Volume over area [m]."""
        return self.clear + self.bay * self.open_share

    @property
    def closed(self) -> bool:
        """Whether every bay is a cavity of its own: solid joists and boards straight on them."""
        return self.blocks and self.bay > 0 and self.clear == 0

    def fill_depth(self) -> tuple[float, float]:
        """Fill in the bays and below them, as volume over area [m]."""
        in_bay = min(self.fill, self.bay) if self.bay > 0 else 0.0
        below = min(max(self.fill - self.bay, 0.0), self.clear)
        return in_bay * self.open_share, below


def per_area(gap: Gap, omega: Any) -> tuple[Any, Any, Any]:
    """Volume stiffness and sideways flow of a shallow layer: d/K [m/Pa] and (d/rho) along and
    across the joists [m4/kg] at omega [rad/s], any shape; see the heading.

    Of the plan; of closed bays, of the area between the joists.
    """
    rho_e, bulk_e = porous.empty()
    in_bay, below = gap.fill_depth()
    filled = in_bay + below
    if filled > 0:
        rho_f, bulk_f = porous.fluid(omega, gap.flow_resistivity)
    else:
        rho_f, bulk_f = rho_e, bulk_e
    spring = (gap.depth - filled) / bulk_e + filled / bulk_f
    if gap.closed:
        share = gap.open_share
        inside = (gap.bay - in_bay / share) / rho_e + in_bay / share / rho_f
        return spring / share, inside, inside
    slot = (gap.clear - below) / rho_e + below / rho_f
    # along the joists: bays (their share of the plan) and slot side by side
    along = slot + (gap.bay * gap.open_share - in_bay) / rho_e + in_bay / rho_f
    if gap.bay > 0 and gap.blocks:
        share = gap.open_share
        bay = slot + (gap.bay - in_bay / share) / rho_e + in_bay / share / rho_f
        across = 1 / (share / bay + (1 - share) / slot)
    else:
        across = along
    return spring, along, across


def compliance(gap: Gap, omega: Any, kx: np.ndarray, ky: np.ndarray) -> np.ndarray:
    """1/k_r [m3/N] for shapes with wavenumbers kx, ky (L,) [rad/m] at omega [rad/s], a number or
    (F, 1) for several at once."""
    share = gap.open_share if gap.closed else 1.0
    return _compliance(per_area(gap, omega), fluids(gap, omega, share), omega, kx, ky)


def _compliance(
    flows: tuple[Any, Any, Any], parts: list[tuple[float, Any, Any]], omega: Any,
    kx: np.ndarray, ky: np.ndarray,
) -> np.ndarray:  # fmt: skip
    """`compliance` from `per_area` and `fluids`."""
    spring, along, across = flows
    shallow = spring - (kx**2 * along + ky**2 * across) / omega**2
    side = np.sqrt(kx**2 + (across / along if np.all(along) else 0.0) * ky**2 + 0j)
    deep, straight = 0j, 1 + 0j  # lower row of `layers`
    for fluid in parts:
        c, s, z = _way(*fluid, side)
        deep, straight = deep * c + straight * s / z, deep * s * z + straight * c
    return np.asarray(shallow * np.abs(deep / (shallow * omega)))


@lru_cache(maxsize=256)  # lines of a band are asked for again by each part and variant
def _at(gap: Gap, lines: tuple[float, ...]) -> tuple[Any, Any]:
    """`per_area` and `fluids` at `lines` (F,) [rad/s]: (F, 1)."""
    omega = np.array(lines)[:, None]
    share = gap.open_share if gap.closed else 1.0
    return per_area(gap, omega), fluids(gap, omega, share)


def at_lines(gap: Gap, omega: float | np.ndarray, kx: np.ndarray, ky: np.ndarray) -> np.ndarray:
    """`compliance` [m3/N] at omega (…,) [rad/s], one or several: (…, L); kx, ky (L,) [rad/m]."""
    found = _compliance(
        *_at(gap, tuple(np.ravel(omega).tolist())), np.reshape(omega, (-1, 1)), kx, ky
    )
    return found if np.ndim(omega) else found[0]


def fluids(gap: Gap, omega: Any, share: float = 1.0) -> list[tuple[float, Any, Any]]:
    """Layers from the top, fill in the bay first, then air: thickness [m], wavenumber [1/m],
    impedance [Pa s/m].

    share : of the plan to which the thickness belongs; 1 for volume over the whole area.
    """
    filled = sum(gap.fill_depth())
    parts = []
    for depth, full in ((filled, True), (gap.depth - filled, False)):
        if depth > THIN:
            rho, bulk = porous.fluid(omega, gap.flow_resistivity) if full else porous.empty()
            wavenumber, impedance = omega * np.sqrt(rho / bulk + 0j), np.sqrt(rho * bulk + 0j)
            parts.append((depth / share, wavenumber, impedance))
    return parts


def layer(thickness: float, wavenumber: Any, impedance: Any, side: np.ndarray) -> np.ndarray:
    """Transfer matrices (2, 2, ...) of a layer of fluid from its upper to its lower face, (p, v)
    each, for wavenumbers `side` along it [1/m]; [1] and [Pa s/m]. Allard and Atalla ch. 11."""
    c, s, z = _way(thickness, wavenumber, impedance, side)
    return np.array([[c, z * s], [s / z, c]])


def _way(
    thickness: float, wavenumber: Any, impedance: Any, side: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """cos and i sin of the way through a layer, and its impedance for that way."""
    kz = np.sqrt(wavenumber**2 - side**2 + 0j)
    there = np.exp(1j * kz * thickness)  # and back by its inverse: cos and i sin in one
    back = 1 / there
    return (there + back) / 2, (there - back) / 2, impedance * wavenumber / kz


def chain(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    """Product of transfer matrices (2, 2, ...) as of `layer` ([-], [Pa s/m]), first the upper."""
    return np.asarray(np.einsum("ij...,jk...->ik...", first, second))


def layers(gap: Gap, omega: Any, side: np.ndarray, share: float = 1.0) -> np.ndarray:
    """Transfer matrices (2, 2, ...) of a whole gap, as `layer`; share as in `fluids`.

    side : wavenumbers along the gap [1/m], any shape; unloaded by what lies in it but the fill.
    """
    return reduce(chain, [layer(*fluid, side) for fluid in fluids(gap, omega, share)])


def undamped(
    gap: Gap, omega: float, kx: np.ndarray, ky: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Spring [N/m3] and inertia in series with it [kg/m2] of each shape, losses left out.

    Where a fill resists the sideways flow, |d/rho| stands for it: such air stays in its place.
    """
    spring, along, across = per_area(gap, omega)
    flow = kx**2 * abs(along) + ky**2 * abs(across)
    with np.errstate(divide="ignore"):
        return np.full(len(kx), 1 / spring.real), 1 / flow


def static_stiffness(gap: Gap, omega: float = 2 * np.pi * 25) -> float:
    """Air spring per area of the plan [N/m3] of the shallow layer, without sideways flow, real part
    at `omega` (25 Hz). Closed bays press on their own share of the plan only."""
    share = gap.open_share if gap.closed else 1.0
    return float(np.real(share / per_area(gap, omega)[0]))


def joint(
    gap: Gap, leaves: tuple[int, int], projections: tuple[np.ndarray, np.ndarray],
    kx: np.ndarray, ky: np.ndarray, name: str = "air",
) -> Joint:  # fmt: skip
    """The air as a link between the leaf above and the leaf below.

    projections : (L, n) of both leaves' shapes on the orthonormal cosines; kx, ky (L,) [rad/m].
    """
    above, below = leaves

    def at(omega: float | np.ndarray, places: Any = EVERY) -> np.ndarray:
        return at_lines(gap, omega, kx[places], ky[places])

    return Joint(
        name,
        {above: projections[0], below: -projections[1]},
        at,
        np.hypot(kx, ky),
        local=False,
        undamped=lambda omega: undamped(gap, omega, kx, ky),
        waves=(kx, ky),
    )

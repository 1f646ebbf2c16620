"""The air between two leaves as an equivalent fluid: spring, sideways flow and losses in one model.

Pressure p is uniform over the (shallow) depth and obeys volume conservation

    (d/K) p - div( (d/rho) grad p ) / omega² = w_above - w_below

with rigid side walls. In orthonormal cosines this is a compliance per area for each shape,

    1/k_r = d/K - ( kx² (d/rho)_x + ky² (d/rho)_y ) / omega² ,

which is the air spring K/d for kx = ky = 0, the cavity's own cross modes where it crosses zero,
and a locally reacting spring where the fill's resistance makes rho large. Derived here from Euler's
equation and mass conservation (any acoustics textbook, e.g. Allard and Atalla 2009 ch. 1).

Depth is volume over area: joists displace air. Across the joists air passes only below them:
(d/rho)_y is the series of the open bay and the slot under the joist.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impact.link import porous
from impact.link.joint import Joint


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

    def fill_depth(self) -> tuple[float, float]:
        """Fill in the bays and below them, as volume over area [m]."""
        in_bay = min(self.fill, self.bay) if self.bay > 0 else 0.0
        below = min(max(self.fill - self.bay, 0.0), self.clear)
        return in_bay * self.open_share, below


def _per_area(gap: Gap, omega: float) -> tuple[complex, complex, complex]:
    """d/K [m/Pa] and (d/rho) along and across the joists [m4/kg] at omega [rad/s]."""
    rho_e, bulk_e = porous.empty()
    in_bay, below = gap.fill_depth()
    filled = in_bay + below
    if filled > 0:
        rho_f, bulk_f = porous.fluid(omega, gap.flow_resistivity)
    else:
        rho_f, bulk_f = rho_e, bulk_e
    spring = (gap.depth - filled) / bulk_e + filled / bulk_f
    slot = (gap.clear - below) / rho_e + below / rho_f
    # along the joists: bays (their share of the plan) and slot side by side
    along = slot + (gap.bay * gap.open_share - in_bay) / rho_e + in_bay / rho_f
    if gap.bay > 0 and gap.blocks:
        share = gap.open_share
        bay = slot + (gap.bay - in_bay / share) / rho_e + in_bay / share / rho_f
        across = 1 / (share / bay + (1 - share) / slot) if gap.clear > 0 else 0j
    else:
        across = along
    return spring, along, across


def compliance(gap: Gap, omega: float, kx: np.ndarray, ky: np.ndarray) -> np.ndarray:
    """1/k_r [m3/N] for shapes with wavenumbers kx, ky (L,) [rad/m] at omega [rad/s]."""
    spring, along, across = _per_area(gap, omega)
    return spring - (kx**2 * along + ky**2 * across) / omega**2


def undamped(
    gap: Gap, omega: float, kx: np.ndarray, ky: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Spring [N/m3] and inertia in series with it [kg/m2] of each shape, losses left out.

    Where a fill resists the sideways flow, |d/rho| stands for it: such air stays in its place.
    """
    spring, along, across = _per_area(gap, omega)
    flow = kx**2 * abs(along) + ky**2 * abs(across)
    with np.errstate(divide="ignore"):
        return np.full(len(kx), 1 / spring.real), 1 / flow


def static_stiffness(gap: Gap, omega: float = 2 * np.pi * 25) -> float:
    """Air spring per area [N/m3] without sideways flow, real part at `omega` (25 Hz)."""
    zero = np.zeros(1)
    return float(np.real(1 / compliance(gap, omega, zero, zero)[0]))


def joint(
    gap: Gap, leaves: tuple[int, int], projections: tuple[np.ndarray, np.ndarray],
    kx: np.ndarray, ky: np.ndarray, name: str = "air",
) -> Joint:  # fmt: skip
    """The air as a link between the leaf above and the leaf below.

    projections : (L, n) of both leaves' shapes on the orthonormal cosines; kx, ky (L,) [rad/m].
    """
    above, below = leaves
    return Joint(
        name,
        {above: projections[0], below: -projections[1]},
        lambda omega: compliance(gap, omega, kx, ky),
        np.hypot(kx, ky),
        local=False,
        undamped=lambda omega: undamped(gap, omega, kx, ky),
        waves=(kx, ky),
    )

"""Air as it is in a cavity: empty, or inside a porous fill, at frequencies down to 10 Hz.

Johnson-Champoux-Allard model (J. F. Allard and N. Atalla, Propagation of Sound in Porous Media,
2nd ed., Wiley 2009, ch. 5; Johnson et al., J. Fluid Mech. 176 (1987) 379; Champoux and Allard,
J. Appl. Phys. 70 (1991) 1975). The frame is taken as rigid. It goes from isothermal to adiabatic
compression by itself, which one-parameter fits outside their range (below f/sigma = 0.01) do not.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from impact.base import air

VISCOSITY = 1.84e-5  # Pa s, air at 20 C
PRANDTL = 0.71
HEAT_RATIO = 1.4
POROSITY = 0.99  # fibrous fills; from memory
EMPTY_LOSS = 0.02  # loss factor of sound in an empty joist cavity; from memory, thin base


def fluid(omega: Any, flow_resistivity: float) -> tuple[Any, Any]:
    """Effective density [kg/m3] and bulk modulus [Pa] of air inside a fill, e^{+i omega t}.

    omega : rad/s, any shape. flow_resistivity : sigma [Pa s/m2]. Characteristic lengths: viscous
    from sigma for cylindrical pores, sqrt(8 eta / (sigma phi)); thermal twice that (fibres: Allard
    and Atalla sec. 5.3.4).
    """
    viscous = np.sqrt(8 * VISCOSITY / (flow_resistivity * POROSITY))
    thermal = 2 * viscous
    rho0 = air.DENSITY
    g = np.sqrt(1 + 4j * VISCOSITY * rho0 * omega / (flow_resistivity * viscous * POROSITY) ** 2)
    density = rho0 / POROSITY * (1 + flow_resistivity * POROSITY / (1j * omega * rho0) * g)
    h = np.sqrt(1 + 1j * rho0 * omega * PRANDTL * thermal**2 / (16 * VISCOSITY))
    warm = 1 + 8 * VISCOSITY / (1j * thermal**2 * PRANDTL * omega * rho0) * h
    bulk = HEAT_RATIO * air.PRESSURE / POROSITY / (HEAT_RATIO - (HEAT_RATIO - 1) / warm)
    return density, bulk


def empty() -> tuple[complex, complex]:
    """Density and bulk modulus of the open air of a cavity, adiabatic, with a small loss."""
    return air.DENSITY + 0j, air.BULK_ADIABATIC * (1 + 1j * EMPTY_LOSS)

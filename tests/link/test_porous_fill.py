"""Air in a fill against the exact solution for the air in a round tube, of which the model is an
interpolation."""

from __future__ import annotations

import math

import pytest
from scipy.special import jv

from impact.link import porous


def tube(omega: float, radius: float) -> complex:
    """2 J1(k r)/(k r J0(k r)), k² = -i omega rho/eta: mean of the viscous profile in a round tube
    (C. Zwikker and C. W. Kosten, Sound Absorbing Materials, 1949, ch. 2); air at 20 C."""
    k = (-1j * omega * 1.204 / 1.84e-5) ** 0.5 * radius
    return complex(2 * jv(1, k) / (k * jv(0, k)))


@pytest.mark.parametrize("resistivity", [5e3, 10e3, 60e3])
@pytest.mark.parametrize(
    ("frequency", "near"), [(10, 2e-3), (50, 7e-3), (200, 0.03), (1000, 0.06), (4000, 0.06)]
)
def test_air_in_fibres_is_that_in_tubes(resistivity, frequency, near):
    """rho/(1 - F) and gamma P/(1 + (gamma - 1) F'), pores of radius sqrt(8 eta/(sigma phi)), which
    give the flow resistance of Poiseuille, for F and twice that for F', at sqrt(Pr) times the
    argument; porosity 0.99. The model has both ends of the scale right and is some 5 % off between
    (Champoux and Allard 1991): near 0 where flow resistance rules, 6 % above."""
    omega, radius = 2 * math.pi * frequency, math.sqrt(8 * 1.84e-5 / (resistivity * 0.99))
    density, bulk = porous.fluid(omega, resistivity)
    viscous = 1.204 / 0.99 / (1 - tube(omega, radius))
    thermal = 1.4 * 101325 / 0.99 / (1 + 0.4 * tube(omega, 2 * radius * math.sqrt(0.71)))
    assert abs(density / viscous - 1) < near
    assert abs(bulk / thermal - 1) < near


def test_slow_air_is_dragged_and_warms_nothing():
    """At 1 Hz the pressure falls by sigma v along the fill, so that i omega rho is sigma, and the
    air is isothermal: 101 325 Pa/0.99."""
    density, bulk = porous.fluid(2 * math.pi, 10e3)
    assert (1j * 2 * math.pi * density).real == pytest.approx(10e3, rel=1e-4)
    assert bulk.real == pytest.approx(101325 / 0.99, rel=1e-4)

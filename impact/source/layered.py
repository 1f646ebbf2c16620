"""How a stack of layers gives way right under a round face that is wider than they are thick."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import j1

Solid = tuple[float, float, float]  # Young's modulus [Pa], Poisson's ratio [-], thickness [m]
STEPS, LAST = 1500, 80.0  # waves k a that a face of radius a presses with; beyond, only the top
DEEP = 8.0  # k times a depth from which on nothing is felt: exp(-16) of it comes back


def modulus(layers: Sequence[Solid], radius: float) -> float:
    """Young's modulus [Pa] of the endless solid, of the uppermost layer's Poisson's ratio, that
    gives way as `layers` do, from the top down, under a face of `radius` [m].

    The last of the layers has no lower end; all hold to each other. The face presses evenly and
    without friction, and what gives way is the mean over it: of an endless solid 16 (1 - nu^2) p a/
    (3 pi E) (Timoshenko and Goodier, Theory of Elasticity, sec. 139), 8 % more than below a rigid
    face of the same force, alike for all layers here. By Hankel's transform w = 2 p int J1(ka)^2
    C(k)/k dk, with C(k) the displacement of the surface per sinusoidal pressure on it: Airy's
    function (A + B z) e^(-kz) + (C + D z) e^(kz) in each layer (D. M. Burmister, J. Appl. Phys. 16
    (1945) 89, for two and three of them; from memory).
    """
    young, poisson, _ = layers[0]
    if all(each[:2] == (young, poisson) for each in layers):
        return young
    return _modulus(tuple(layers), radius)


@lru_cache(maxsize=256)
def _modulus(layers: tuple[Solid, ...], radius: float) -> float:
    young, poisson, _ = layers[0]
    even = (np.arange(STEPS) + 0.5) / STEPS
    x, step = LAST * even**3, 3 * LAST * even**2 / STEPS  # close where a stiff layer spreads it
    k = x / radius
    softer = _yielding(layers, k) * young * k / (2 * (1 - poisson**2))  # 1 of the endless solid
    weight = (j1(x) / x) ** 2 * step
    whole = 4 / (3 * np.pi)  # of the weight over all waves
    return float(young * whole / (whole + weight @ (softer - 1)))


def _yielding(layers: Sequence[Solid], k: NDArray) -> NDArray:
    """Displacement of the surface per pressure (N,) [m/Pa] of waves `k` (N,) [1/m]."""
    *above, (young, poisson, _) = layers
    state = _states(young, poisson, k, np.zeros_like(k))[:, :, :2]  # that die away downwards
    for young, poisson, thick in reversed(above):
        depth = np.minimum(thick, DEEP / k)
        inside = np.linalg.solve(_states(young, poisson, k, depth), state)
        state = _states(young, poisson, k, np.zeros_like(k)) @ inside
    loaded = np.broadcast_to(np.array([[1.0], [0.0]]), (len(k), 2, 1))
    moved = state[:, :2] @ np.linalg.solve(state[:, 2:], loaded)
    return np.abs(moved[:, 1, 0])


def _states(young: float, poisson: float, k: NDArray, z: NDArray) -> NDArray:
    """Displacements along and across the surface, normal and shear stress (N, 4, 4) at depth `z`
    (N,) of the four parts of Airy's function, in plane strain: the first two die away downwards."""
    columns = []
    for sign in (-1.0, 1.0):
        e = np.exp(sign * k * z)
        for power in (0.0, 1.0):  # f = (k z)^power e, and its derivatives
            f = e * (k * z) ** power
            first = k * (sign * f + power * e)
            second = k**2 * (f + 2 * sign * power * e)
            third = k**3 * (sign * f + 3 * power * e)
            along, normal, shear = second, -(k**2) * f, k * first
            wide, cross = 1 - poisson**2, poisson * (1 + poisson)
            u = (wide * along - cross * normal) / (young * k)
            slope = (wide * third + cross * k**2 * first) / (young * k)
            w = (slope - 2 * (1 + poisson) * shear / young) / k
            columns.append(np.stack([u, w, normal, shear], axis=-1))
    return np.stack(columns, axis=-1)

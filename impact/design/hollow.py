"""Hollow slabs of round cores in one row: what the cores leave of bending and shear stiffness.

Cores of diameter CORE h, p apart, in the middle of a depth h; share = pi d²/(4 h p) of the section
is void. Along them a hollow slab is a beam of that section. Across them nothing carries shear from
one side of a core to the other but the flanges above and below, which bend as the chords of a frame
without diagonals, and the webs, which bend from chord to chord (A. Vierendeel; a cellular deck, E.
C. Hambly, Bridge Deck Behaviour, ch. on cellular decks, from memory). With flanges and webs of one
thickness each that frame has

    1/S = p²/(24 D_f) + p h_c/(12 D_w) ,

D_f and D_w their bending stiffness per width, h_c between the flanges' middles. About a round core
they are thinnest where they do not bend, and stiff joints shear. So what is here follows plane
finite elements of the cell (waves of one wavenumber along a row of cores, nu = 0.2, CORE): two
numbers of the flanges and joints are fitted to these, the webs are the frame's. The frame with
members of changing thickness, shear included, is within 10 % of the elements.
`tests/design/test_hollow.py` has both.
"""

from __future__ import annotations

import math

CORE = 0.75  # diameter of round cores over the depth of a hollow unit; common practice, no source
MOST = 0.55  # share up to which round cores leave webs; what is across is held from there on
FLANGES = 24.3  # more shear compliance per share of void, over that of the solid slab; see above
BENDS = 1.38, -0.65  # more compliance in bending across, per share and its square; see above
_STEPS = 200


def left_along(share: float) -> float:
    """Share [-] of a full plate's bending stiffness that round cores leave along them.

    share : of the section that is void. Cores of diameter d take 3/4 share (d/h)², their inertia
    pi d⁴/64 over area pi d²/4; d = CORE h, or the least that so much void needs with cores side by
    side, share = pi d/(4 h).
    """
    size = min(max(CORE, 4 * share / math.pi), 1.0)
    return 1 - 0.75 * share * size**2


def left_across(share: float) -> float:
    """Share [-] of a full plate's bending stiffness that round cores leave across them.

    1/(1 + 1.38 share - 0.65 share²), within 2 % of the heading's finite elements up to MOST: less
    than slices of the section in series, into whose thick parts stresses do not spread at once.
    """
    held = min(share, MOST)
    return 1 / (1 + BENDS[0] * held + BENDS[1] * held**2)


def shear_along(share: float, depth: float, shear_modulus: float) -> float:
    """Transverse shear stiffness along the cores per width [N/m], I²/∫ Q²/(G b) dz.

    Q of the section beyond z, b = 1 - 2 sqrt(r² - z²)/p the width left there: the energy of the
    shear stresses of a bent beam (Timoshenko; any textbook of strength of materials; 5/6 G h of
    none). depth h [m], shear_modulus G [Pa].
    """
    pitch, radius = _cores(share, depth)
    step, static, inertia, energy = depth / 2 / _STEPS, 0.0, 0.0, 0.0
    for i in range(_STEPS):  # from a face to the middle, in slices
        z = depth / 2 - (i + 0.5) * step
        width = 1 - _chord(z, radius, pitch)
        middle = static + width * step / 2 * (z + step / 4)
        static += width * step * z
        inertia += 2 * width * step * z**2
        energy += 2 * step * middle**2 / (shear_modulus * width)
    return inertia**2 / energy


def shear_across(share: float, depth: float, shear_modulus: float, poisson: float) -> float:
    """Transverse shear stiffness across the cores per width [N/m] of a frame of flanges and webs.

    1/S = (1 + FLANGES share)/(5/6 G h) + 2/p ∫ (p z/h_c)² 12 (1 - nu²)/(E w³) dz from the middle of
    a web, of width w = p - 2 sqrt(r² - z²), to a core's edge; h_c = (h + d)/2. Within 4 % of the
    heading's finite elements for shares up to 0.5, 9 % at MOST; 5/6 G h of none. Half a
    wave across should be longer than the cores are apart. depth h [m], shear_modulus G [Pa].
    """
    solid = 5 / 6 * shear_modulus * depth
    flanges = (1 + FLANGES * min(share, MOST)) / solid
    pitch, radius = _cores(share, depth)
    if math.isinf(pitch):
        return 1 / flanges
    plane = 2 * (1 + poisson) * shear_modulus / (1 - poisson**2)
    arm, webs = depth / 2 + radius, 0.0
    for i in range(_STEPS):  # z = r sin u, in equal steps of u
        u = (i + 0.5) / _STEPS * math.pi / 2
        z = radius * math.sin(u)
        width = pitch - 2 * radius * math.cos(u)
        webs += (pitch * z / arm) ** 2 * 12 / (plane * width**3) * radius * math.cos(u)
    return 1 / (flanges + 2 / pitch * webs * math.pi / 2 / _STEPS)


def _cores(share: float, depth: float) -> tuple[float, float]:
    """Pitch and radius of the cores [m]; a pitch of inf without any."""
    held = min(share, MOST)
    wide = CORE * depth
    return (math.pi * wide**2 / (4 * depth * held) if held > 0 else math.inf), wide / 2


def _chord(z: float, radius: float, pitch: float) -> float:
    """Share of the width that cores take at height z from their middle [-]."""
    return 0.0 if abs(z) >= radius else 2 * math.sqrt(radius**2 - z**2) / pitch

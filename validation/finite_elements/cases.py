"""Assemblies for the comparison: bare joists, ceilings on hangers, old ceilings, thin gaps.

Dimensions are those of an ordinary room; the properties are round numbers inside the ranges that
handbooks print for such materials (Hopkins, Sound Insulation, 2007, table A2; Bies, Hansen &
Howard, Engineering Noise Control, table C.1). Both solvers get the same numbers, so their exact
values decide nothing. Every derived number is written out, with how it was found beside it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from validation.finite_elements.model import (
    AreaSpring,
    Assembly,
    EdgeSpring,
    GasLayer,
    Leaf,
    Plate,
    PointSprings,
    Ribs,
)

LENGTH, WIDTH = 4.0, 5.0  # m: x along the joists, y across them

# Coarse element side; results are on half of it. A stiff screw sees the dimple of the board under
# it, which a mesh resolves as h^2 only, so the case with screws gets smaller elements.
ELEMENT, ELEMENT_BY_SCREWS = 0.15, 0.1  # m

# 22 mm particleboard, E 3.35 GPa, 760 kg/m3, Poisson 0.3: D = E h^3 / 12 / (1 - nu^2) = 3266.5
DECK = Plate(bending_x=3266.5, bending_y=3266.5, twisting=1143.3, poisson=0.3, mass=16.72)

JOIST_LINES = (0.4, 1.0, 1.6, 2.2, 2.8, 3.4, 4.0, 4.6)  # m, y: 600 mm apart
# Softwood 60 x 220 mm, E 11 GPa, G 0.69 GPa, 450 kg/m3.
JOISTS = Ribs(
    direction="x",
    positions=JOIST_LINES,
    bending=585640.0,  # E b d^3 / 12
    torsion=9051.7,  # G b^3 d / 3 (1 - 0.63 b / d)
    mass=5.94,
    rotary=0.11093,  # mu (d^2 / 12 + e^2), e = 0.121 m from the joist's to the deck's middle
)

FLOOR = Leaf("floor", DECK, (JOISTS,), loss_factor=0.06, edges="simply supported")

# Two 12.5 mm gypsum boards, not glued, 860 kg/m3, E 2.5 GPa along x and 2.0 GPa along y, Poisson
# 0.25: each Dx = Ex h^3 / 12 / (1 - nu^2) = 434.0, Dy = 347.2, D66 = sqrt(Dx Dy) (1 - nu) / 2 =
# 145.6; stiffnesses and masses add.
BOARDS = Plate(bending_x=868.0, bending_y=694.4, twisting=291.2, poisson=0.25, mass=21.5)

CHANNEL_LINES = (0.2, 0.8, 1.4, 2.0, 2.6, 3.2, 3.8)  # m, x: 600 mm apart
# Thin steel furring channel, open section: EI about 900 N m2, hardly any torsion.
CHANNELS = Ribs(
    direction="y", positions=CHANNEL_LINES, bending=900.0, torsion=0.3, mass=0.45, rotary=2.5e-4
)
CEILING = Leaf("ceiling", BOARDS, (CHANNELS,), loss_factor=0.05, edges="free")

HANGER_LINES = (0.4, 1.6, 2.8, 4.0, 4.6)  # m, y: under joists, 1.2 m apart, one more at the edge
HANGERS = tuple((x, y) for x in CHANNEL_LINES for y in HANGER_LINES)
HANGER_STIFFNESS, HANGER_LOSS = 1.2e5, 0.15  # N/m: 35 of them, 210 kN/m3 over the area

# Cavity 0.276 m deep full of absorber: isothermal, 101325 / 0.276 N/m3.
FILLED = AreaSpring(0, 1, stiffness=367120.0, loss_factor=0.1)

# Old board 12.5 mm, 10.7 kg/m2, E 2.0 GPa, isotropic, Poisson 0.25: D = 347.2, D66 = 130.2
OLD_BOARD = Leaf(
    "old ceiling", Plate(347.2, 347.2, 130.2, 0.25, 10.7), (), loss_factor=0.04, edges="free"
)
SCREW_LINES = tuple(round(0.2 + 0.3 * k, 1) for k in range(13))  # m, x: 0.2 to 3.8
SCREWS = tuple((x, y) for y in JOIST_LINES for x in SCREW_LINES)
SCREW_STIFFNESS, SCREW_LOSS = 3e6, 0.05  # N/m each
# Empty bays: 220 mm less the joists' tenth, 0.198 m, adiabatic 141855 / 0.198 N/m3.
BAYS = AreaSpring(0, 1, stiffness=716440.0, loss_factor=0.02)
# Empty gap of 41 mm between old board and new: 141855 / 0.041 N/m3.
GAP = AreaSpring(1, 2, stiffness=3459900.0, loss_factor=0.02)

# 120 mm of concrete, E 30 GPa, 2300 kg/m3, Poisson 0.2: D = 4.5e6, D66 = D (1 - nu) / 2.
SLAB = Leaf("slab", Plate(4.5e6, 4.5e6, 1.8e6, 0.2, 276.0), (), 0.03, "simply supported")

# 50 mm of gypsum as above, E 2.5 GPa, in one piece: D = 27778. It comes to coincidence at 0.65 kHz.
HEAVY = Leaf("boards", Plate(27778.0, 27778.0, 10417.0, 0.25, 43.0), (), 0.03, "free")

# Six force positions 0.5 m and more from the edges: two on joists, the others between them.
SOURCES = np.array([[0.85, 1.3], [1.5, 2.2], [2.05, 3.7], [2.6, 2.45], [3.1, 1.0], [3.45, 4.1]])


def bare_joists() -> Assembly:
    """The floor alone; the floor itself is the leaf that radiates."""
    return Assembly("bare joists", LENGTH, WIDTH, (FLOOR,))


def hung_ceiling() -> Assembly:
    """Floor and ceiling on hangers, cavity filled, edge of the ceiling free."""
    return Assembly(
        "hung ceiling",
        LENGTH,
        WIDTH,
        (FLOOR, CEILING),
        areas=(FILLED,),
        points=(PointSprings(0, 1, HANGERS, HANGER_STIFFNESS, HANGER_LOSS),),
    )


def hung_ceiling_sealed() -> Assembly:
    """The same with a bead 16 mm deep in a 6 mm gap, G 0.1 MPa: 267 kN/m2 along all edges."""
    return replace(
        hung_ceiling(), name="hung ceiling, sealed edge", edges=(EdgeSpring(1, 266667.0, 0.3),)
    )


def hung_ceiling_gas() -> Assembly:
    """The same, free edge, with an empty cavity in which the air moves sideways."""
    gas = GasLayer(0, 1, depth=0.276, bulk=141855.0, density_x=_lossy_air, density_y=_lossy_air)
    return replace(hung_ceiling(), name="hung ceiling, empty cavity", areas=(), gases=(gas,))


def old_ceiling() -> Assembly:
    """Floor, old board screwed to its joists, new ceiling hung from the joists through it."""
    return Assembly(
        "old ceiling left in place",
        LENGTH,
        WIDTH,
        (FLOOR, OLD_BOARD, CEILING),
        areas=(BAYS, GAP),
        points=(
            PointSprings(0, 1, SCREWS, SCREW_STIFFNESS, SCREW_LOSS),
            PointSprings(0, 2, HANGERS, HANGER_STIFFNESS, HANGER_LOSS),
        ),
    )


def old_ceiling_gas() -> Assembly:
    """The old ceiling again, empty gap with air that moves sideways."""
    return replace(
        old_ceiling(), name="old ceiling, air that flows", areas=(BAYS,), gases=(_thin(1, 0.041),)
    )


def thin_gap_slab() -> Assembly:
    """A slab over 30 mm of empty air and two boards, nearly free, on soft hangers."""
    return _over_thin_gap("slab over a thin gap", SLAB)


def heavy_boards_slab() -> Assembly:
    """60 mm of concrete over 120 mm of empty air and boards that come to their coincidence."""
    slab = replace(SLAB, plate=Plate(562500.0, 562500.0, 225000.0, 0.2, 138.0))
    soft = PointSprings(0, 1, HANGERS, 1e3, HANGER_LOSS)
    return Assembly(
        "slab over heavy boards", LENGTH, WIDTH, (slab, HEAVY), gases=(_thin(0, 0.12),),
        points=(soft,),
    )  # fmt: skip


def thin_gap_deck() -> Assembly:
    """The same below a deck without joists, whose waves are slower than sound."""
    return _over_thin_gap("deck over a thin gap", replace(FLOOR, name="deck", ribs=()))


def _over_thin_gap(name: str, upper: Leaf) -> Assembly:
    soft = PointSprings(0, 1, HANGERS, 1e3, HANGER_LOSS)
    boards = replace(CEILING, ribs=())
    return Assembly(name, LENGTH, WIDTH, (upper, boards), gases=(_thin(0, 0.03),), points=(soft,))


def _thin(upper: int, depth: float) -> GasLayer:
    """Empty air with a loss factor of 0.02 in its stiffness, free to flow sideways."""
    bulk = 141855.0 * (1 + 0.02j)
    return GasLayer(upper, upper + 1, depth, bulk, density_x=1.204, density_y=1.204)


def _lossy_air(omega: float) -> complex:
    """Air with a flow resistance of 50 Pa s/m2, about a tenth of the inertia at 63 Hz [kg/m3]."""
    return 1.204 - 50j / omega


CASES = {
    "bare_joists": bare_joists,
    "hung_ceiling": hung_ceiling,
    "hung_ceiling_sealed": hung_ceiling_sealed,
    "hung_ceiling_gas": hung_ceiling_gas,
    "old_ceiling": old_ceiling,
    "old_ceiling_gas": old_ceiling_gas,
    "thin_gap_slab": thin_gap_slab,
    "thin_gap_deck": thin_gap_deck,
    "heavy_boards_slab": heavy_boards_slab,
}

# First and last band of the cases, 10 to 250 Hz where nothing is said [Hz]
RANGES = {
    "old_ceiling_gas": (160, 400), "thin_gap_slab": (100, 400), "thin_gap_deck": (100, 400),
    "heavy_boards_slab": (400, 800),
}  # fmt: skip
ALL = (10, 250)

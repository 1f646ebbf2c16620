"""Designs built by hand for tests: invented rooms of plausible size; nothing is measured."""

from __future__ import annotations

from dataclasses import replace

from impact.design.parts import (
    Cavity,
    Ceiling,
    Channel,
    Design,
    Fill,
    Floor,
    Hangers,
    Infill,
    Joists,
    Layer,
    Material,
    Patch,
    Perimeter,
    Room,
    Slab,
    Tapping,
)

INCH = 0.0254
GYPSUM = Material("gypsum board", 690.0, 2.5e9, 2.0e9, 0.3, 0.03, 0.85e9)
PLYWOOD = Material("plywood", 550.0, 8.0e9, 4.0e9, 0.3, 0.03, 0.6e9)
SOFTWOOD = Material("softwood", 460.0, 10e9, 10e9, 0.3, 0.04, 0.63e9)
FIVE_EIGHTHS = Layer(GYPSUM, 0.0159, "nailed", "across")


def joists(width: float = 0.038, depth: float = 0.235, spacing: float = 16 * INCH) -> Joists:
    """Solid timber 2x10 at 16 in, E 10 GPa: EI = E b h3 / 12."""
    modulus = 10e9
    return Joists(
        kind="solid", width=width, depth=depth, spacing=spacing, span=4.2, along="length",
        bending_stiffness=modulus * width * depth**3 / 12,
        axial_stiffness=modulus * width * depth,
        shear_stiffness=0.6e9 * width * depth * 5 / 6,
        torsional_stiffness=0.6e9 * depth * width**3 * 0.3,
        lateral_stiffness=modulus * depth * width**3 / 12,
        mass_per_length=450 * width * depth, loss_factor=0.02, volume_per_length=width * depth,
        edge_fixity=0.0, blocking_rows=0, blocking_stiffness=0.0, deck_fastening="nailed",
        slip_modulus_per_length=5e6,
    )  # fmt: skip


def hangers(kind: str = "hanger") -> Hangers:
    """Rubber-in-shear clips at 24 x 48 in with a thin furring channel (invented numbers)."""
    return Hangers(
        kind=kind, name="rubber-in-shear clip", dynamic_stiffness=120e3, loss_factor=0.1,
        static_stiffness=85e3, load_deflection=(), load_minimum=45.0, load_maximum=160.0,
        channel_spacing=24 * INCH, hanger_spacing=48 * INCH, edge_distance=6 * INCH,
        channel=Channel("furring channel", 900.0, 5.0, 0.6, 0.022, None),
        height=0.041, mass=0.1, creep_factor=1.3, cold_factor=1.4, withdrawal_capacity=None,
        positions=None,
    )  # fmt: skip


def basement() -> Design:
    """A timber joist floor over a plain 4.2 x 3.6 m room with two 5/8 in boards on clips."""
    room = Room(
        length=4.2, width=3.6, height=2.4, reverberation_time=0.5, background=(),
        background_name="", headroom_minimum=2.1336, offset_x=0.0, offset_y=0.0,
    )  # fmt: skip
    deck = Layer(PLYWOOD, 0.018, "nailed", "across")
    floor = Floor(
        joists=joists(), slab=None, layers=(deck,), covering=None, infill=None, loss_factor=0.03,
        length=4.2, width=3.6,
    )  # fmt: skip
    edge = Perimeter("sealed", 0.00635, 0.012, 0.5e6, 0.3, 0.0, ())
    return Design(
        name="basement", note="invented", units="imperial", room=room, floor=floor,
        cavity=Cavity(0.041, Fill("mineral wool", 0.15, 10e3, 15.0)),
        ceiling=Ceiling((FIVE_EIGHTHS, FIVE_EIGHTHS), edge, 0.03), hangers=hangers(),
        independent=None, old_ceiling=None, target=None, prices={}, flanks=(),
        tapping=Tapping(0.0),
    )  # fmt: skip


def sanded(base: Design, mass: float = 60.0, loss: float = 0.0) -> Design:
    """The same with loose fill of `mass` [kg/m2] on 22 mm boards between its joists."""
    boards = Layer(SOFTWOOD, 0.022, "nailed", "across")
    infill = Infill(mass, loss, 0.04, boards, 0.05)
    return replace(base, floor=replace(base.floor, infill=infill))


def l_shaped() -> Design:
    """A larger floor over an L-shaped room with a bulkhead, a hatch and a fixture."""
    base = basement()
    room = replace(
        base.room, length=5.4, width=4.8, offset_x=0.0, offset_y=0.5,
        notches=(Patch("stair", 3.6, 3.2, 1.8, 1.6),),
        bulkheads=(Patch("duct", 0.0, 0.0, 5.4, 0.6, drop=0.25),),
        openings=(Patch("hatch", 1.5, 2.3, 0.6, 0.6),),
        fixtures=(Patch("lamp", 3.0, 1.6, 0.3, 0.3, mass=4.0),),
    )  # fmt: skip
    floor = replace(base.floor, length=5.4, width=6.0)
    return replace(base, name="l-shaped", room=room, floor=floor)


def on_slab() -> Design:
    """The plain ceiling under a 150 mm concrete slab: D = E h3 / (12 (1 - nu2))."""
    base = basement()
    bending = 30e9 * 0.15**3 / (12 * (1 - 0.2**2))
    slab = Slab(
        kind="concrete", thickness=0.15, mass_per_area=345.0, bending_stiffness_along=bending,
        bending_stiffness_across=bending, twisting_stiffness=bending * (1 - 0.2) / 2,
        poisson=0.2, loss_factor=0.006, edge_fixity=0.0, edges="four sides", in_situ_loss=True,
    )  # fmt: skip
    return replace(
        base,
        name="slab",
        floor=replace(base.floor, joists=None, slab=slab, layers=(), loss_factor=0.006),
    )

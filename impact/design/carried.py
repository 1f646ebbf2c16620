"""What weighs on joists or slab besides leaves: porous fills, and who bears them."""

from __future__ import annotations

from impact.design.parts import Design, Fill, Joists

HEAVIEST_TIMBER = 2000.0  # kg/m3: above any timber with its plates (1200 kg/m3, from memory)


def of_steel(joists: Joists) -> bool:
    """Whether joists are of steel: by their kind, or by their mass, as bar joists are open-web
    ones."""
    return steel(joists.kind, joists.mass_per_length, joists.volume_per_length)


def steel(kind: str, mass: float, volume: float) -> bool:
    """The same by kind, mass [kg/m] and air displaced [m2]: m'/V, of steel 7850 kg/m3."""
    return kind == "steel" or mass > HEAVIEST_TIMBER * volume


def held_fill(design: Design) -> float:
    """Fill above the new ceiling that joists, slab or old ceiling hold up [kg/m2 of the plan].

    rho t; between joists times the share that they leave free, 1 - b/s (plain geometry).
    """
    fill = design.cavity.fill
    if fill is None or fill.on_boards:
        return 0.0
    return _spread(fill, design.floor.joists if design.old_ceiling is None else None)


def old_fill(design: Design) -> float:
    """Fill between the joists above an old ceiling [kg/m2 of the plan], as in `held_fill`; 0
    without."""
    old = design.old_ceiling
    return _spread(old.fill, design.floor.joists) if old and old.fill else 0.0


def _spread(fill: Fill, joists: Joists | None) -> float:
    return fill.thickness * fill.density * (joists.clear_share if joists else 1.0)

"""What feet and hands feel of people above: floor and ceiling under a walker, and timber checks.

Mean squares per third octave, 4 to 80 Hz, of continuous walking: one step's exposure of force times
the pace, through the mobilities of `impact.motion.underfoot`, the walker's own impedance in them.
R.m.s. over one step, as SCI P354 weighs floors whose fundamental lies above the pace's harmonics
(from memory, check the source). The floor moves as a person beside the walker feels it, without the
dent under the foot itself; the ceiling as the mean over its area. Figures, never verdicts.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from impact.base import bands
from impact.design.carried import held_fill, of_steel, old_fill
from impact.design.lines import joist_lines
from impact.design.parts import Design
from impact.heard.joined import Joined
from impact.leaf import build
from impact.leaf.plate import Leaf
from impact.motion import lowband
from impact.motion.assemble import Assembly
from impact.motion.stack import Stack
from impact.motion.underfoot import Underfoot
from impact.sound import feel as standards
from impact.source import people, step

BELOW = 1000 * bands.G ** (np.arange(-24, -20) / 3)  # Hz: 4, 5, 6.3, 8, below the bands of sound
LABELS = (4.0, 5.0, 6.3, 8.0, *bands.NOMINAL[: bands.index(80.0) + 1])
CENTRES = np.concatenate([BELOW, bands.CENTRES[: bands.index(80.0) + 1]])
LINES = (6, 6)
VARIANTS = {"bare": "bare", "ceiling": "design"}  # key in the output -> variant
DEFLECTION_LIMIT = 1.0  # mm/kN: a of EN 1995-1-1 Figure 7.2, 0.5 to 4 by country; b follows
DAMPING = 0.01  # EN 1995-1-1 7.3.1(3), unless another is shown
STEEL = "Floor checks of EN 1995-1-1 7.3.3 are left out: they are for timber joists, not steel."


def feel(joined: Joined) -> dict[str, Any]:
    """Everything felt, ready for JSON.

    "bands_hz" (14), of a large room fewer: those whose modes are solved, and "left_out" says so;
    "base_velocity_m_s" the base curve of ISO 10137, R = 1; "walkers" : source -> "bare" and
    "ceiling" -> see `_felt`; "timber" : `timber` for the bare floor and with what the ceiling
    adds, None but for timber joists, and "timber_left_out" says so of steel; "factors" : what R
    stands beside.
    """
    below = {name: _below(joined, name) for name in VARIANTS.values()}
    design = joined.assembly.design
    walkers = {
        source: {
            key: _felt(joined, name, below[name], people.walker(design, who))
            for key, name in VARIANTS.items()
        }
        for source, who in people.SOURCES.items()
    }
    solved = min(len(CENTRES), len(BELOW) + joined.crossover + 2)
    return {
        "bands_hz": list(LABELS[:solved]),
        "left_out": _left_out(solved),
        "base_velocity_m_s": _plain(standards.base_velocity(CENTRES[:solved])),
        "walkers": walkers,
        "timber": _timber_both(joined.assembly),
        "timber_left_out": STEEL if _of_steel(design) else None,
        "factors": dict(standards.RESPONSE_FACTORS),
    }


def _left_out(solved: int) -> str | None:
    """What is not in R, in words; None where all bands are in it."""
    if solved == len(CENTRES):
        return None
    return (
        f"Many modes: R counts the bands up to {LABELS[solved - 1]:g} Hz, whose modes are solved, "
        f"not those to {LABELS[-1]:g} Hz. It is a lower bound, close only where the floor's "
        "fundamental lies well below."
    )


def _below(joined: Joined, variant: str) -> Underfoot:
    """Single places of the foot in the four bands below those of sound."""
    assembly = joined.assembly
    stack = assembly.bare if variant == "bare" else assembly.whole
    return lowband.transfers(assembly, stack, list(BELOW), LINES, feet=True).underfoot["design"]


def squares(
    joined: Joined, variant: str, below: Underfoot, one: step.Step, what: str
) -> np.ndarray:
    """Mean-square velocity (P, 14) [m²/s²] for P places of the foot, of fewer bands where fewer are
    solved; what : "foot", "floor" or "ceiling", see `impact.motion.underfoot`."""
    walker = people.impedance(one)
    low = below.means(what, walker)
    high = joined.underfoot[variant].means(what, walker)[:, : len(CENTRES) - len(BELOW)]
    moved = np.hstack([low, high])
    return moved * step.third_octave_exposure(one, CENTRES[: moved.shape[1]]) * one.pace


def _felt(joined: Joined, variant: str, below: Underfoot, one: step.Step) -> dict[str, Any]:
    """Velocity and acceleration per band, r.m.s. over a step and the places of the foot; R of the
    floor and beside the foot (SCI P354 with weighting b); the floor's generic criterion."""
    rms = {
        what: np.sqrt(squares(joined, variant, below, one, what).mean(axis=0))
        for what in ("floor", "foot", "ceiling")
    }
    centres = CENTRES[: len(rms["floor"])]
    omega = 2 * np.pi * centres
    factor = {what: float(standards.response_factor(centres, v * omega)) for what, v in rms.items()}
    return {
        "floor_velocity_m_s": _plain(rms["floor"]),
        "floor_acceleration_m_s2": _plain(rms["floor"] * omega),
        "ceiling_velocity_m_s": _plain(rms["ceiling"]),
        "ceiling_acceleration_m_s2": _plain(rms["ceiling"] * omega),
        "response_factor_floor": round(factor["floor"], 2),
        "response_factor_foot": round(factor["foot"], 2),
        "criterion_floor": criterion(rms["floor"]),
    }


def criterion(velocity: np.ndarray) -> str:
    """Strictest VC curve that no band from 4 Hz up (14,) [m/s r.m.s.] exceeds, or "above VC-A"."""
    centres = CENTRES[: len(velocity)]
    met = "above VC-A"
    for name in standards.VIBRATION_CRITERIA:
        if np.any(velocity > standards.vibration_criterion(name, centres)):
            return met
        met = name
    return met


def _plain(values: np.ndarray) -> list[float]:
    return [float(f"{value:.4g}") for value in values]


def _of_steel(design: Design) -> bool:
    joists = design.floor.joists
    return joists is not None and of_steel(joists)


def _timber_both(assembly: Assembly) -> dict[str, Any] | None:
    design = assembly.design
    if design.floor.joists is None or _of_steel(design):
        return None
    return {key: timber(assembly, value) for key, value in permanent(assembly).items()}


def permanent(assembly: Assembly) -> dict[str, float]:
    """Mass that the floor's joists carry for good [kg/m2], "bare" and with the "ceiling".

    Self weight and other permanent actions, nothing else (EN 1995-1-1:2004 7.3.3(3)): all leaves,
    an old ceiling among them, and the fills that joists and boards hold; a new ceiling on joists of
    its own is borne by these.
    """
    design = assembly.design
    bare = assembly.floor_mass + old_fill(design)
    lying = design.hung_per_area - design.ceiling.mass_per_area
    hung = assembly.ceiling_mass + lying if design.independent is None else 0.0
    return {"bare": bare, "ceiling": bare + held_fill(design) + hung}


def timber(assembly: Assembly, mass: float) -> dict[str, Any]:
    """Floor checks of EN 1995-1-1:2004 7.3.3 for the design's joist floor.

    mass : kg/m2 that the joists carry, their own included: `permanent`. (EI)_l : joists per width
    with their strip of deck through its fasteners (Annex B) and their shear; (EI)_b : the deck
    alone. The deflection is that of a joist in the middle under 1 kN at mid-span, from the floor's
    modes.
    """
    floor = assembly.design.floor
    joists = floor.joists
    assert joists is not None
    deck = build.section(build.split_layers(floor.layers)[0])
    along = build.joist_bending(joists, deck.stretch_x, deck.thickness)
    one = np.array([(np.pi / floor.length) ** 2])
    stiffness = float(along(one)[0]) / joists.spacing + deck.bending_x
    checked = standards.timber_check(
        standards.JoistFloor(
            floor.length, floor.width, stiffness, deck.bending_y, mass, DAMPING
        ),
        deflection(assembly.bare, joist_lines(floor)), DEFLECTION_LIMIT,
    )  # fmt: skip
    return {**asdict(checked), "mass_per_area_kg_m2": mass,
            "clause": "EN 1995-1-1:2004 7.3.3"}  # fmt: skip


def deflection(stack: Stack, lines: Any) -> float:
    """mm under 1 kN at mid-span of the joist nearest the middle, of the joists' leaf alone."""
    leaf: Leaf = next(each for each in stack.leaves if each.name == "floor")
    middle = min(lines, key=lambda y: abs(y - leaf.plate.width / 2))
    shapes = leaf.shapes(np.array([[leaf.plate.length / 2, middle]]))[0]
    return float(np.sum(shapes**2 / leaf.omega**2)) * 1e6

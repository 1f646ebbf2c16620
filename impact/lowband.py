"""Low bands: the stack solved over each third octave, for the design and for its neighbours.

One pass gives the design, the best case (hangers without any stiffness) and any other variant that
only leaves out links or changes their compliance, since all share what the leaves do alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from impact import stack as stacks
from impact.assemble import Assembly, permitted
from impact.base import bands
from impact.stack import Stack

LINES = 10  # frequencies per third octave; doubling them moves no band by more than 0.2 dB
LINES_BARE = 14  # a bare floor rings more sharply and is cheap


@dataclass(frozen=True, eq=False)
class Transfers:
    """Means over each band and over all permitted places of a point force.

    power : variant -> (n_bands,) sound power per mean-square force [W/N²].
    mobility : (n_bands,) complex mean driving-point mobility of the walked surface [m/(N s)].
    share_to_sound : (n_bands,) radiated part of the power that goes in, -.
    """

    power: dict[str, np.ndarray]
    mobility: np.ndarray
    share_to_sound: np.ndarray


def frequencies(centre: float, lines: int) -> tuple[np.ndarray, np.ndarray]:
    """`lines` frequencies [Hz] that share a band in equal ratios, and their weights (sum 1).

    The weights are proportional to frequency: the sources are given per Hz.
    """
    low, high = bands.edges(centre)
    places = low * (high / low) ** ((np.arange(lines) + 0.5) / lines)
    return places, places / places.sum()


def transfers(
    assembly: Assembly, stack: Stack, centres: Sequence[float], lines: int = LINES,
    leave_out: Mapping[str, Sequence[str]] | None = None,
) -> Transfers:  # fmt: skip
    """Solve `stack` over third octaves of exact `centres` [Hz].

    leave_out : further variants by name -> names of the joints they lack; the stack itself is
    "design".
    """
    variants: dict[str, Sequence[str]] = {"design": (), **(leave_out or {})}
    power = {name: np.zeros(len(centres)) for name in variants}
    mobility = np.zeros(len(centres), complex)
    share = np.zeros(len(centres))
    area = permitted(assembly.design)
    for b, centre in enumerate(centres):
        reduced = stacks.reduce(stack, *bands.edges(centre))
        struck = stacks.over_area(reduced, *area)
        rows = {name: _rows(reduced, lacking) for name, lacking in variants.items()}
        for frequency, weight in zip(*frequencies(centre, lines), strict=True):
            at = stacks.line(reduced, 2 * np.pi * frequency, struck)
            for name, use in rows.items():
                answer = stacks.answer(reduced, at, rows=use)
                power[name][b] += weight * answer.power.sum()
                if name == "design":
                    mobility[b] += weight * answer.mobility.sum()
                    share[b] += weight * answer.power.sum() / answer.mobility.real.sum()
    return Transfers(power, mobility, share)


def _rows(reduced: stacks.Reduced, lacking: Sequence[str]) -> np.ndarray | None:
    if not lacking:
        return None
    names = np.array([joint.name for joint in reduced.stack.joints])
    return ~np.isin(names[reduced.joint_of], list(lacking))

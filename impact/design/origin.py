"""Where the values of a design come from: ranges, and what stands for what is left out."""

from __future__ import annotations

from dataclasses import dataclass

END = 1.6449  # standard deviations from the median of a normal variable to an end of its 90 % band


@dataclass(frozen=True)
class Spread:
    """Plausible range of one input, about its 5 % and 95 % points, with where it comes from."""

    path: str  # key path in the design file, e.g. "hangers.dynamic_stiffness"
    low: float
    high: float
    source: str
    given: bool = False  # by the file itself, as {value = , low = , high = }


@dataclass(frozen=True)
class Default:
    """One input that the file left out and what was used instead."""

    path: str
    value: str  # as a person reads it, with unit
    source: str

"""Low bands: the stack solved over each third octave, for the design and for its neighbours.

One pass gives the design, the best case (hangers without any stiffness) and any other variant that
only leaves out links or changes their compliance, since all share what the leaves do alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import bands
from impact.base.parallel import in_parallel
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, permitted
from impact.motion.stack import Stack
from impact.motion.underfoot import Underfoot, collected, local_compliance, seen
from impact.sound.room import Ears

# Frequencies per third octave: below 100 Hz, and above, where modes overlap more. Doubling them
# moves no band by more than 0.2 dB. A bare floor rings more sharply and is cheap.
LINES = (10, 5)
LINES_BARE = (14, 12)
LINES_QUICK = (6, 5)
LINES_DENSE = (5, 5)  # of a large room, whose modes overlap sooner
STANDING = 16  # single places of the foot, for the spread over places


@dataclass(frozen=True, eq=False)
class Transfers:
    """Means over each band and over all permitted places of a point force.

    power : variant -> (n_bands,) sound power per mean-square force [W/N²].
    mobility : (n_bands,) complex mean driving-point mobility of the walked surface [m/(N s)].
    heard : variant -> place in the room (see `walking.in_room`) -> (n_bands,) mean-square pressure
    per mean-square force [Pa²/N²]; empty unless asked for.
    underfoot : variant -> the same at STANDING single places of the foot, line by line; empty
    unless asked for.
    """

    power: dict[str, np.ndarray]
    mobility: np.ndarray
    heard: dict[str, dict[str, np.ndarray]]
    underfoot: dict[str, Underfoot]


def standing(area: tuple[tuple[float, float], tuple[float, float]]) -> np.ndarray:
    """STANDING places (P, 2) [m] spread evenly over a rectangle ((low, high), (low, high)).

    Multiples of the plastic number's powers, modulo 1: an evenly filling sequence of the plane.
    """
    plastic = 1.324717957244746
    steps = np.arange(1, STANDING + 1)[:, None] / plastic ** np.array([1, 2])
    low, high = np.array(area).T
    return low + np.mod(0.5 + steps, 1) * (high - low)


def frequencies(centre: float, lines: int) -> tuple[np.ndarray, np.ndarray]:
    """`lines` frequencies [Hz] that share a band in equal ratios, and their weights (sum 1).

    The weights are proportional to frequency: the sources are given per Hz.
    """
    low, high = bands.edges(centre)
    places = low * (high / low) ** ((np.arange(lines) + 0.5) / lines)
    return places, places / places.sum()


def transfers(
    assembly: Assembly, stack: Stack, centres: Sequence[float],
    lines: tuple[int, int] = LINES,
    leave_out: Mapping[str, Sequence[str]] | None = None, ears: Ears | None = None,
    feet: bool = False,
) -> Transfers:  # fmt: skip
    """Solve `stack` over third octaves of exact `centres` [Hz].

    leave_out : further variants by name -> names of the joints they lack; the stack itself is
    "design". ears : the room below, to be heard in as well. feet : whether `underfoot` is wanted
    without it.
    """
    variants: dict[str, Sequence[str]] = {"design": (), **(leave_out or {})}
    area = permitted(assembly.design)

    def solve(centre: float) -> _Band:
        return _band(stack, centre, lines[int(centre > 90)], variants, area, ears, feet)

    # highest band first: it takes longest; every band is solved the same way on any thread
    solved = in_parallel(solve, centres[::-1])[::-1]
    return Transfers(
        power={name: np.array([one.power[name] for one in solved]) for name in variants},
        mobility=np.array([one.mobility for one in solved]),
        heard={
            name: {
                place: np.stack([one.heard[name][place] for one in solved], axis=-1)
                for place in solved[0].heard[name]
            }
            for name in variants
        },
        underfoot={name: collected([one.feet[name] for one in solved]) for name in solved[0].feet},
    )


@dataclass(eq=False)
class _Band:
    """Sums over the lines of one band; see `Transfers`."""

    power: dict[str, float]
    heard: dict[str, dict[str, np.ndarray]]
    feet: dict[str, list]  # variant -> lines as `underfoot.collected` takes them
    mobility: complex = 0j


def _band(
    stack: Stack, centre: float, lines: int, variants: Mapping[str, Sequence[str]],
    area: tuple[tuple[float, float], tuple[float, float]], ears: Ears | None, feet: bool,
) -> _Band:  # fmt: skip
    """Power of every variant, mobility and the room's answer in one band."""
    reduced = stacks.reduce(stack, *bands.edges(centre))
    struck = stacks.over_area(reduced, *area)
    count = struck.shape[1]  # the columns that make up the mean over the floor
    feet = feet or ears is not None
    if feet:
        points = standing(area)
        struck = np.hstack([struck, stacks.at_points(reduced, points)])
        local = local_compliance(reduced, points)
    rows = {name: _rows(reduced, lacking) for name, lacking in variants.items()}
    listened: dict[str, list] = {name: [] for name in variants} if feet else {}
    out = _Band(dict.fromkeys(variants, 0.0), {name: {} for name in variants}, listened)
    for frequency, weight in zip(*frequencies(centre, lines), strict=True):
        at = stacks.line(reduced, 2 * np.pi * frequency, struck)
        for name, answer in _answers(reduced, at, rows).items():
            power = float(answer.power[:count].sum())
            out.power[name] += weight * power
            if name == "design":
                out.mobility += weight * complex(answer.mobility[:count].sum())
            if feet:
                one = seen(reduced, at, answer, count, local)
                if ears is not None:
                    one |= _listen(out.heard[name], weight, reduced, at, answer, ears, count)
                listened[name].append((frequency, weight, one))
    for places in out.heard.values():
        if places:
            places["corner"] = np.max(places.pop("corners"))
    return out


def _answers(
    reduced: stacks.Reduced, at: stacks.Line, rows: Mapping[str, np.ndarray | None]
) -> dict[str, stacks.Answer]:
    """Every variant at one frequency; one that lacks links comes with the design for free."""
    found: dict[str, stacks.Answer] = {}
    for name, use in rows.items():
        if use is not None and not use.all():
            found["design"], found[name] = stacks.answer_both(reduced, at, use)
    if "design" not in found:
        found["design"] = stacks.answer(reduced, at)
    return {name: found.get(name, found["design"]) for name in rows}


def _listen(
    heard: dict[str, np.ndarray], weight: float, reduced: stacks.Reduced, at: stacks.Line,
    answer: stacks.Answer, ears: Ears, count: int,
) -> dict[str, np.ndarray]:  # fmt: skip
    """Add one line to what is heard at each place of the room; returns that of single places."""
    r = reduced.stack.radiating
    squares = ears.squares(at.omega, answer.motion[r], reduced.keep[r])
    for place, square in squares.items():
        heard[place] = heard.get(place, 0.0) + weight * square[..., :count].sum(axis=-1)
    return {place: square[..., count:] for place, square in squares.items()}


def _rows(reduced: stacks.Reduced, lacking: Sequence[str]) -> np.ndarray | None:
    if not lacking:
        return None
    return ~np.isin(reduced.names, list(lacking))

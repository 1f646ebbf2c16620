"""Low bands: the stack solved over each third octave, for the design and for its neighbours.

One pass gives the design, the best case (hangers without any stiffness) and any other variant that
only leaves out links or changes their compliance, since all share what the leaves do alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import bands
from impact.base.parallel import in_parallel
from impact.motion import mirror, striking
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, permitted
from impact.motion.stack import Stack
from impact.motion.striking import Area
from impact.motion.underfoot import Underfoot, collected, seen
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


def standing(area: Area) -> np.ndarray:
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
    lines: tuple[int, int] = LINES, best: Sequence[str] = (), ears: Ears | None = None,
    feet: bool = False,
) -> Transfers:  # fmt: skip
    """Solve `stack` over third octaves of exact `centres` [Hz], as "design".

    best : names of joints that a second variant, "best", lacks. ears : the room below, to be heard
    in as well. feet : whether `underfoot` is wanted without it.
    """
    variants = ("design", "best") if best else ("design",)
    area = permitted(assembly.design)

    def solve(centre: float) -> _Band:
        return _band(stack, centre, lines[int(centre > 90)], best, area, ears, feet)

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
    stack: Stack, centre: float, lines: int, best: Sequence[str],
    area: Area, ears: Ears | None, feet: bool,
) -> _Band:  # fmt: skip
    """Power of every variant, mobility and the room's answer in one band."""
    reduced = stacks.reduce(stack, *bands.edges(centre))
    groups = mirror.split(reduced, best, area)
    feet = feet or ears is not None
    points = standing(area) if feet else np.zeros((0, 2))
    struck = mirror.over_area(groups, area, points)
    count = struck.count  # the columns that make up the mean over the floor
    local = striking.compliance_at(reduced, points)
    names = ("design", "best") if best else ("design",)
    listened: dict[str, list] = {name: [] for name in names} if feet else {}
    out = _Band(dict.fromkeys(names, 0.0), {name: {} for name in names}, listened)
    resting = striking.compliance_over(reduced, *area)
    places, weights = frequencies(centre, lines)
    for some in mirror.at_once(groups, lines):
        omega, share = 2 * np.pi * places[some], weights[some]
        both = mirror.answers(reduced, groups, omega, struck, best)
        at_places = both[0].mobility[:, :count].sum(axis=1) + 1j * omega * resting
        out.mobility += complex(share @ at_places)
        for name, answer in zip(names, both, strict=False):
            out.power[name] += float(share @ answer.power[:, :count].sum(axis=1))
            if not feet:
                continue
            one = seen(reduced, omega, answer, count, local)
            if ears is not None:
                one |= _listen(out.heard[name], share, reduced, omega, answer, ears, count)
            listened[name] += [
                (frequency, weight, {key: value[n] for key, value in one.items()})
                for n, (frequency, weight) in enumerate(zip(places[some], share, strict=True))
            ]
    for heard in out.heard.values():
        if heard:
            heard["corner"] = np.max(heard.pop("corners"))
    return out


def _listen(
    heard: dict[str, np.ndarray], weights: np.ndarray, reduced: stacks.Reduced, omega: np.ndarray,
    answer: stacks.Answer, ears: Ears, count: int,
) -> dict[str, np.ndarray]:  # fmt: skip
    """Add lines to what is heard at each place of the room; returns that of single places."""
    r = reduced.stack.radiating
    squares = ears.squares(omega, answer.motion[r], reduced.keep[r])
    for place, square in squares.items():
        mean = np.tensordot(weights, square[..., :count].sum(axis=-1), 1)
        heard[place] = heard.get(place, 0.0) + mean
    return {place: square[..., count:] for place, square in squares.items()}

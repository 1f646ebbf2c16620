"""Low bands: the stack solved over each third octave, for the design and for its neighbours.

One pass gives the design, the best case (hangers without any stiffness) and any other variant that
only leaves out links or changes their compliance, since all share what the leaves do alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import bands
from impact.base.parallel import in_copies
from impact.motion import mirror, sizes, striking
from impact.motion import stack as stacks
from impact.motion.assemble import Assembly, permitted
from impact.motion.reduced import Reduced
from impact.motion.sizes import Size
from impact.motion.stack import Stack
from impact.motion.striking import Area
from impact.motion.underfoot import Underfoot, collected, seen
from impact.sound.room import Ears

# Frequencies per third octave: below 100 Hz, and above, where modes overlap more. Doubling them
# moves no band by more than 0.2 dB; where losses are small, `enough` takes more. A bare floor rings
# more sharply and is cheap.
LINES = (10, 5)
LINES_BARE = (14, 12)
LINES_QUICK = (6, 5)
LINES_DENSE = (5, 5)  # of a large room, whose modes overlap sooner
RINGING = 0.03  # loss factor below which resonances are so sharp that they take more lines,
MOST_TIMES = 6  # up to so many times as many
STANDING = 16  # single places of the foot, for the spread over places


@dataclass(frozen=True, eq=False)
class Transfers:
    """Means over each band and over all permitted places of a point force.

    power : variant -> (n_bands,) sound power per mean-square force [W/N²].
    mobility : (n_bands,) complex mean driving-point mobility of the walked surface [m/(N s)].
    heard : variant -> place in the room (see `walking.in_room`) -> (n_bands,) mean-square pressure
    per mean-square force [Pa²/N²]; empty unless asked for.
    underfoot : variant -> the same at STANDING single places of the foot, line by line; empty
    unless something is heard or feet are asked for.
    size : of the stack, by band. missing : (n_bands,) estimate of what it leaves out [dB], NaN
    where the size was given.
    """

    power: dict[str, np.ndarray]
    mobility: np.ndarray
    heard: dict[str, dict[str, np.ndarray]]
    underfoot: dict[str, Underfoot]
    size: tuple[Size, ...]
    missing: np.ndarray


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


def enough(stack: Stack, centre: float, lines: int) -> int:
    """Lines for a third octave about `centre` [Hz]: `lines`, and by RINGING over the loss factor
    more of them where the structure or the lowest leaf lose less. A resonance is eta f wide (any
    textbook of vibration), so that as many lines as before fall into it."""
    least = 1.0
    for i, leaf in enumerate(stack.leaves):
        if i == stack.radiating or leaf.name == "floor":
            near = np.searchsorted(leaf.omega[:-1], 2 * np.pi * centre)
            least = min(least, float(leaf.losses[near]))
    times = RINGING / max(least, RINGING / MOST_TIMES)
    return math.ceil(lines * max(times, 1.0))


def transfers(
    assembly: Assembly, stack: Stack, centres: Sequence[float],
    lines: tuple[int, int] = LINES, best: Sequence[str] = (), ears: Ears | None = None,
    feet: bool = False, size: Sequence[Size] | Size | None = sizes.USUAL,
) -> Transfers:  # fmt: skip
    """Solve `stack` over third octaves of exact `centres` [Hz], as "design".

    best : names of joints that a second variant, "best", lacks. ears : the room below, to be heard
    in as well. feet : whether `underfoot` is wanted, of "design" with what moves, and not only
    what is heard. size : of the stack, in all bands or band by band; None for the one that is
    enough, by `sizes.settled` at the feet's places.
    """
    variants = ("design", "best") if best else ("design",)
    hangers = assembly.design.hangers
    apart = bool(best) and hangers is not None and hangers.kind == "direct"
    work = _Work(stack, permitted(assembly.design), tuple(best), ears, feet, apart)
    given = size if isinstance(size, Sequence) else [size] * len(centres)

    def solve(place: int) -> _Band:
        centre = centres[place]
        count = enough(stack, centre, lines[int(centre > 90)])
        return _band(work, centre, count, given[place]).finished()

    # highest band first: it takes longest; every band is solved the same way on any thread
    solved = in_copies(solve, range(len(centres))[::-1])[::-1]
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
        underfoot={name: collected([one.lines(name) for one in solved]) for name in solved[0].feet},
        size=tuple(one.size for one in solved),
        missing=np.array([one.missing for one in solved]),
    )


@dataclass(frozen=True, eq=False)
class _Work:
    """What all bands of one stack have in common; see `transfers`. apart : whether "best" moves so
    unlike the design that its size is judged by itself: boards fixed straight to joists, which
    without their screws lie on the air of single bays."""

    stack: Stack
    area: Area
    best: tuple[str, ...]
    ears: Ears | None
    feet: bool
    apart: bool = False

    @property
    def places(self) -> np.ndarray:
        """Single places of the foot (P, 2) [m]; none where none are wanted."""
        return standing(self.area) if self.stood_on else np.zeros((0, 2))

    @property
    def stood_on(self) -> bool:
        """Whether single places of the foot are wanted."""
        return self.feet or self.ears is not None

    def reduced(self, centre: float, size: Size, richer: Prepared | None = None) -> Prepared:
        """The stack in one band, whole and taken apart; richer : in the richer size."""
        whole = stacks.reduce(self.stack, *bands.edges(centre), size)
        return whole, mirror.split(
            whole, self.best, self.area, richer=richer[1] if richer else ()
        )  # fmt: skip


Prepared = tuple[Reduced, tuple[mirror.Group, ...]]  # a stack in one band, whole and taken apart


class _Band:
    """One band in one size: sums over the lines that are solved so far; see `Transfers`.

    feet : variant -> place of the line -> line as `underfoot.collected` takes them.
    """

    def __init__(
        self, work: _Work, centre: float, lines: int, size: Size, prepared: Prepared
    ) -> None:
        self.work, self.size, self.missing = work, size, np.nan
        self.reduced, self.groups = prepared
        self.struck = mirror.over_area(self.groups, work.area, work.places)
        self.names = ("design", "best") if work.best else ("design",)
        self.power = dict.fromkeys(self.names, 0.0)
        self.heard: dict[str, dict[str, np.ndarray]] = {name: {} for name in self.names}
        self.feet: dict[str, dict[int, tuple[float, float, dict[str, np.ndarray]]]] = (
            {name: {} for name in self.names} if work.stood_on else {}
        )
        self.mobility = 0j
        self.frequency, self.weight = frequencies(centre, lines)
        self.left = mirror.at_once(self.groups, lines)

    @property
    def probed(self) -> np.ndarray:
        """Places of the lines in which two sizes are compared."""
        return sizes.probed(len(self.frequency))

    def begun(self) -> _Band:
        """Itself with the probed lines solved, and those that are solved together with them."""
        for some in [each for each in self.left if _holds(each, self.probed)]:
            self._solve(some)
        return self

    def finished(self) -> _Band:
        """Itself with all lines solved, and without the stack, which takes most of the memory and
        goes through no pipe."""
        for some in list(self.left):
            self._solve(some)
        del self.work, self.reduced, self.groups, self.struck
        for heard in self.heard.values():
            if "corners" in heard:
                heard["corner"] = np.max(heard.pop("corners"))
        return self

    def lines(self, name: str) -> list[tuple[float, float, dict[str, np.ndarray]]]:
        """Lines of a variant in their order."""
        return [line for _, line in sorted(self.feet[name].items())]

    def _solve(self, some: slice) -> None:
        """Add some of the lines."""
        self.left.remove(some)
        work, reduced, struck = self.work, self.reduced, self.struck
        count = struck.count  # the columns that make up the mean over the floor
        omega, share = 2 * np.pi * self.frequency[some], self.weight[some]
        both = mirror.answers(reduced, self.groups, omega, struck, work.best)
        resting = striking.compliance_over(reduced, work.area, omega)
        at_places = both[0].mobility[:, :count].sum(axis=1) + 1j * omega * resting
        self.mobility += complex(share @ at_places)
        local = striking.compliance_at(reduced, work.places, omega)
        for name, answer in zip(self.names, both, strict=False):
            self.power[name] += float(share @ answer.power[:, :count].sum(axis=1))
            if not work.stood_on:
                continue
            one: dict[str, np.ndarray] = {}
            if work.ears is not None:  # first: it moves the ceiling under all forces
                one |= _listen(self.heard[name], share, omega, answer, work.ears)
            one |= seen(omega, answer, local, work.feet and name == "design")
            for n, place in enumerate(range(len(self.frequency))[some]):
                own = {key: value[n] for key, value in one.items()}
                self.feet[name][place] = self.frequency[place], self.weight[place], own


def _holds(some: slice, places: np.ndarray) -> bool:
    return bool(((places >= some.start) & (places < some.stop)).any())


def _band(work: _Work, centre: float, lines: int, size: Size | None) -> _Band:
    """One band in a given size, or begun in the one that is enough: where lines are solved one by
    one, as in large systems, a size that is not costs no more than the lines that tell it."""
    if size is not None:
        return _Band(work, centre, lines, size, work.reduced(centre, size))
    sized: dict[Size, Prepared] = {}

    def begin(size: Size, richer: Size) -> _Band:
        sized[richer] = work.reduced(centre, richer)
        own = sized.pop(size, None) or work.reduced(centre, size, sized[richer])
        return _Band(work, centre, lines, size, own).begun()

    found, _, missing = sizes.settled(
        begin, lambda begun, richer: _missing(begun, *sized[richer])
    )  # fmt: skip
    found.missing = missing
    return found


def _missing(found: _Band, reduced: Reduced, groups: tuple[mirror.Group, ...]) -> float:
    """How far power and mobility under the single places of the foot lie from a richer size [dB],
    the largest of all; power of "best" too where it is another ceiling (`_Work.apart`)."""
    work, lines = found.work, [found.feet["design"][place] for place in found.probed]
    omega = 2 * np.pi * np.array([frequency for frequency, _, _ in lines])
    struck = mirror.at_points(groups, work.places)
    both = mirror.answers(reduced, groups, omega, struck, work.best, alone=not work.apart)
    local = striking.compliance_at(reduced, work.places, omega)
    mobility = both[0].mobility + 1j * omega[:, None] * local
    apart = [
        sizes.distance(
            np.sum([found.feet[name][place][-1]["power"] for place in found.probed], axis=1),
            answer.power.sum(axis=1),
        )
        for name, answer in zip(found.names[: 1 + work.apart], both, strict=False)
    ]
    mine = np.sum([line["mobility"].real for *_, line in lines], axis=1)
    return max(*apart, sizes.distance(mine, mobility.real.sum(axis=1)))


def _listen(
    heard: dict[str, np.ndarray], weights: np.ndarray, omega: np.ndarray, answer: mirror.Together,
    ears: Ears,
) -> dict[str, np.ndarray]:  # fmt: skip
    """Add lines to what is heard at each place of the room; returns that of single places."""
    reduced, count = answer.reduced, answer.own
    r = reduced.stack.radiating
    shapes = ears.shapes(omega)
    moved = answer.onto(r, ears.projection[np.ix_(shapes, reduced.keep[r])])
    squares = ears.squares_of(omega, shapes, 1j * omega[:, None, None] * moved)
    for place, square in squares.items():
        mean = np.tensordot(weights, square[..., :count].sum(axis=-1), 1)
        heard[place] = heard.get(place, 0.0) + mean
    return {place: square[..., count:] for place, square in squares.items()}

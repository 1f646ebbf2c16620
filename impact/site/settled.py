"""How far each hanger gives under the boards where something is built otherwise than drawn.

Between "channels hang" and "all boards up" the ceiling's weight grows by w. With c_i the compliance
of hanger i over that load (the secant of its curve), F the flexibility of ceiling and floor between
the hangers and R the ceiling's rigid motions at them (`gravity.rest`), the forces f that come solve

    [ F + diag(c)  -R ] [ f ]   [ u ]
    [ R^T           0 ] [ q ] = [ w ] ,     deflection d_i = c_i f_i ,

which is the load check itself where nothing is changed. A changed hanger is taken to be as many
times as stiff at rest as in motion; a missing one does not hold.

Hangers that carry too much or too little are no change of a link, but of what hangs on them. Rubber
that carries too little is softer in the ratio of its deflection (force as deflection squared); one
that bottoms has come to the end of its travel, which is OVERLOADED times what it moves as drawn.
A screw of layer j is driven when the layers before it hang already: these have moved the hanger.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from impact.design.parts import Design, Hangers
from impact.gravity import rest, weights
from impact.gravity.loads import HIGHEST
from impact.leaf.vented import boards
from impact.link import springs
from impact.motion.assemble import assemble
from impact.site.faults import Member, yields

# Of a hanger drawn at 40 to 80 % of what it bears: estimate, no source.
OVERLOADED = (1.25, 2.5)
LOST = 1e6  # compliance of a missing hanger over the drawn one
AT_ONCE = 64  # cases solved together
LOADED = ("overloaded", "underloaded")  # by what hangs on them
# Faults that a ruler at the hangers could show.
SHOWN_AT_REST = ("bridged", "missing", *LOADED, "mis-seated", "wrong hanger")


class Hung:
    """The hangers of a design under the weight of its boards.

    drawn : (H,) deflection of each as drawn [m]. lines : (H,) number of its channel line, -1
    without one. stages : shares of the weight that hang before the screws of each layer are driven.
    """

    def __init__(self, design: Design) -> None:
        """Raises ValueError for a design whose ceiling hangs on nothing that yields."""
        hangers = design.hangers
        if hangers is None or not yields(hangers):
            raise ValueError("no hangers that yield")
        parts = assemble(design, HIGHEST)
        place, ceiling = parts.placement, boards(parts.whole.leaves[-1])
        floor = next(leaf for leaf in parts.whole.leaves if leaf.name == "floor")
        corner = (design.room.offset_x, design.room.offset_y)
        self.resting = rest.prepare(hangers, place.points, ceiling, floor, corner)
        hung = weights.weigh(design, place, ceiling)
        after = hung.boards + hung.other - hung.late
        ends = [rest.solve(self.resting, force).force for force in (hung.bare, after)]
        self.drawn = np.subtract(*(self.resting.curve.deflection(f) for f in ends[::-1]))
        self.own = _secant(hangers, ends[1] - ends[0], self.drawn)
        bent, weight = self.resting.loaded(after - hung.bare)
        _, sizes, rows = np.linalg.svd(self.resting.rigid)
        strong = rows[: len(sizes)][sizes > 1e-9 * sizes.max(initial=1e-300)]
        self.rigid = self.resting.rigid @ strong.T
        self.right = np.concatenate([bent, strong @ weight])
        self.lines = np.array(place.channel_of_point)
        layers = np.array([layer.mass_per_area for layer in design.ceiling.layers])
        self.stages = np.append(0.0, np.cumsum(layers)[:-1]) / np.sum(layers)

    def moved(self, stiffer: np.ndarray) -> np.ndarray:
        """Deflections (m, H) over those as drawn for hangers `stiffer` (m, H) times as stiff as
        drawn; of a missing one, stiffer = 0, NaN. Places that rise move by 0."""
        parts = [self._moved(stiffer[n : n + AT_ONCE]) for n in range(0, len(stiffer), AT_ONCE)]
        return np.concatenate(parts)

    def _moved(self, stiffer: np.ndarray) -> np.ndarray:
        count = len(self.drawn)
        with np.errstate(divide="ignore"):
            soft = self.own * np.where(stiffer > 0, 1 / stiffer, LOST)
        size = count + self.rigid.shape[1]
        matrix = np.zeros((len(stiffer), size, size))
        matrix[:, :count, :count] = self.resting.flexibility
        matrix[:, :count, count:] = -self.rigid
        matrix[:, count:, :count] = self.rigid.T
        each = np.arange(count)
        matrix[:, each, each] += soft
        right = np.broadcast_to(self.right[:, None], (len(stiffer), size, 1))
        force = np.linalg.solve(matrix, right)[:, :count, 0]
        ratio = np.maximum(soft * force / self.drawn, 0.0)
        return np.where(stiffer > 0, ratio, np.nan)


def _secant(hangers: Hangers, force: np.ndarray, moved: np.ndarray) -> np.ndarray:
    """Compliance (H,) [m/N] over a force (H,) [N] that moves each by `moved` (H,) [m]."""
    carries = np.abs(force) > 1e-6 * np.max(np.abs(force))
    return np.where(carries, moved / np.where(carries, force, 1.0), 1 / hangers.static_stiffness)


@dataclass(frozen=True, eq=False)
class Settled:
    """Cases of faults at rest.

    drawn : (H,) deflection as drawn [m]. lines : (H,). moved : fault of SHOWN_AT_REST -> (cases, H)
    deflections over those as drawn, NaN where no hanger is. touched : fault -> (cases, H), whether
    the fault is at this hanger. stages : as of `Hung`.
    """

    drawn: np.ndarray
    lines: np.ndarray
    moved: Mapping[str, np.ndarray]
    touched: Mapping[str, np.ndarray]
    stages: np.ndarray


def settled(
    hung: Hung, members: Mapping[str, Sequence[Member]], own: Mapping[str, Sequence[complex]],
) -> Settled:  # fmt: skip
    """What cases of faults do at rest.

    members : fault -> cases. own : fault -> complex stiffness [N/m] of the hangers of the floor
    that each case is on.
    """
    moved, touched = {}, {}
    for key in SHOWN_AT_REST:
        cases = members.get(key, ())
        if not cases:
            continue
        stiffer = np.ones((len(cases), len(hung.drawn)))
        for row, case, stiffness in zip(stiffer, cases, own[key], strict=True):
            for number, value in case.change.stiffness:
                row[number] = (value / stiffness).real
        touched[key] = stiffer != 1.0
        moved[key] = by_load(key, stiffer) if key in LOADED else hung.moved(stiffer)
    return Settled(hung.drawn, hung.lines, moved, touched, hung.stages)


def by_load(key: str, stiffer: np.ndarray) -> np.ndarray:
    """Deflections (m, H) over those as drawn of hangers that what they carry has made `stiffer`
    (m, H) times as stiff: of "underloaded" ones in this ratio; of "overloaded" ones anything
    between OVERLOADED, evenly in the logarithm over the hangers, as their stiffness beyond the
    travel tells nothing of it."""
    if key == "underloaded":
        return stiffer
    at = stiffer != 1.0
    low, high = np.log(OVERLOADED)
    share = (np.cumsum(at, axis=1) - 0.5) / np.maximum(np.sum(at, axis=1), 1)[:, None]
    return np.where(at, np.exp(low + share * (high - low)), 1.0)


def own_stiffness(designs: Sequence[Design], floors: Sequence[int] | np.ndarray) -> list[complex]:
    """Complex stiffness [N/m] of the hangers of each floor number of `floors`."""
    each = [springs.fixing(design) for design in designs]
    return [each[number] for number in floors]

"""The load check of a design: the elastic stack at rest, verdicts, lost hangers, headroom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from impact.base.air import GRAVITY
from impact.design.parts import Design, Hangers, Room
from impact.design.placing import Placement
from impact.gravity import beside, channel, findings, rest, steep, weights
from impact.gravity.own import OwnJoists, own_joists
from impact.gravity.parts import (
    ABOVE,
    BELOW,
    UNRATED,
    WITHIN,
    Above,
    Finding,
    Hanger,
    Headroom,
    Line,
    Margin,
    Sag,
    boxed,
    limits_of,
    place_of_most,
)
from impact.leaf.plate import Leaf
from impact.leaf.vented import boards
from impact.motion.assemble import Assembly, assemble
from impact.motion.fundamental import fundamental, of_bare

# Hz: modes to this carry the forces to 0.1 % (against modes to 500 Hz); the leaf's own functions
# reach 1.8 times as high and all of them are used.
HIGHEST = 112.2
GRID = 0.1  # m: sag is looked for on a grid this fine, and at the hangers
SPARE_LAYERS = 1  # common practice, no source: choose hangers for one more layer than is hung


@dataclass(frozen=True, eq=False)
class Loads:
    """Everything that rests on the hangers; see `impact.gravity.parts` for its parts.

    weight : N, all that hangs, by areas. steady : False where all hangers stand in one line.
    one_more : N, the worst hanger's load with one more layer like the last, NaN without hangers.
    """

    design: Design
    hangers: tuple[Hanger, ...]
    weight: float
    margin: Margin
    sag: Sag | None
    channels: channel.Channels | None
    lines: tuple[Line, ...]
    above: Above
    headroom: Headroom
    steady: bool = True
    own: OwnJoists | None = None
    one_more: float = float("nan")
    findings: tuple[Finding, ...] = ()

    @property
    def reaction(self) -> float:
        """Sum of all hangers' loads [N]."""
        return sum(hanger.load for hanger in self.hangers)

    @property
    def worst(self) -> Hanger | None:
        """The hanger with the largest load."""
        at = place_of_most([each.load for each in self.hangers])
        return self.hangers[at] if at >= 0 else None

    @property
    def least(self) -> Hanger | None:
        """The hanger with the smallest load."""
        at = place_of_most([-each.load for each in self.hangers])
        return self.hangers[at] if at >= 0 else None

    @property
    def verdict(self) -> str:
        """All hangers in a few words."""
        words = {hanger.verdict for hanger in self.hangers}
        if not words:
            return "no hangers"
        if ABOVE in words and BELOW in words:
            return "some above rated maximum, some below rated minimum"
        return next(word for word in (ABOVE, BELOW, UNRATED, WITHIN) if word in words)

    @property
    def in_words(self) -> str:
        """The verdict as it is printed."""
        return "all within their rated load" if self.verdict == WITHIN else self.verdict

    @property
    def judged(self) -> bool:
        """Whether any load is held against a rated one."""
        return any(hanger.verdict != UNRATED for hanger in self.hangers)

    @property
    def fragile(self) -> bool:
        """Whether the loss of one hanger takes another beyond its rated maximum, or all down."""
        return findings.cannot_lose_one(self)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON; see `impact.gravity.table`."""
        from impact.gravity import table

        return table.as_dict(self)

    def lines_of_text(self) -> list[str]:
        """A few lines for the screen, in the design's units, the worst news first."""
        from impact.gravity import table

        return table.text(self)


def loads(
    design: Design, placement: Placement | None = None, assembly: Assembly | None = None,
    *, elastic_floor: bool = True, coupled: bool = True,
) -> Loads:  # fmt: skip
    """Loads, sag and verdicts of a design at rest.

    placement : the placed hangers, where they are not those of `place(design)`. assembly : of the
    same design, to share its leaves. elastic_floor : False takes the floor as rigid. coupled :
    False leaves the floor's new fundamental out (NaN), which is the slow part.

    The perimeter carries nothing: its sealant goes in after loading, and rubbing against a wall is
    no support. The plate is the room's rectangle, as for sound; over notches and openings it has
    stiffness and no weight.
    """
    parts = assembly or assemble(design, HIGHEST)
    where = placement or parts.placement
    ceiling = boards(parts.whole.leaves[-1])
    floor = next(leaf for leaf in parts.whole.leaves if leaf.name == "floor")
    hung = weights.weigh(design, where, ceiling)
    limits = limits_of(design)
    margin = Margin(int(limits.get("spare_layers", SPARE_LAYERS)),
                    float(limits.get("load_factor", 1.0)))  # fmt: skip
    room = design.room
    hangers: tuple[Hanger, ...] = ()
    lines: tuple[Line, ...] = ()
    steady, sag, moved, bends = True, None, np.zeros(len(floor.omega)), np.zeros(0)
    one_more = float("nan")
    if design.hangers is not None and where.points:
        resting = rest.prepare(
            design.hangers, where.points, ceiling, floor if elastic_floor else None,
            (room.offset_x, room.offset_y),
        )  # fmt: skip
        force = hung.boards + hung.other
        solved = rest.solve(resting, force)
        spare = rest.solve(resting, force + margin.layers * hung.layer)
        another = spare if margin.layers == 1 else rest.solve(resting, force + hung.layer)
        one_more = float(another.force.max())
        steady = solved.steady
        ceiling_moved, floor_moved = rest.displacements(resting, solved, force)
        moved = floor_moved if elastic_floor else moved
        by_boards = _by_boards(resting, hung.bare, force - hung.late)
        hangers = _hangers(design.hangers, where, resting, solved, spare.force, force,
                           weights.tributary(design, where), by_boards)  # fmt: skip
        lines = _lines(where, resting, solved, force)
        bent = rest.surface(ceiling, ceiling_moved)
        sag = _sag(design, ceiling, bent)
        bends = _bends(where, ceiling, bent)
    made = Loads(
        design, hangers, hung.total, margin, sag,
        channel.worst(design, where, bends, float(limits.get("deflection_ratio", channel.RATIO))),
        lines, _above(parts, floor, moved, hung.total, coupled), headroom(design, sag),
        steady, own_joists(design), one_more,
    )  # fmt: skip
    told = (*findings.find(made), *beside.find(design, where), *steep.find(made))
    return replace(made, findings=told)


def verdict(hangers: Hangers, load: float) -> str:
    """Word for one load [N] against the rated minimum and maximum."""
    if hangers.load_minimum is None and hangers.load_maximum is None:
        return UNRATED
    if hangers.load_maximum is not None and load > hangers.load_maximum:
        return ABOVE
    if hangers.load_minimum is not None and load < hangers.load_minimum:
        return BELOW
    return WITHIN


def _by_boards(resting: rest.Rest, bare: np.ndarray, boarded: np.ndarray) -> np.ndarray:
    """How much farther each hanger (H,) [m] gives under the modal load `boarded` than `bare`."""
    before, after = (
        resting.curve.deflection(rest.solve(resting, force).force) for force in (bare, boarded)
    )
    return after - before


def _hangers(
    kind: Hangers, where: Placement, resting: rest.Rest, solved: rest.Solved,
    spare: np.ndarray, force: np.ndarray, tributary: np.ndarray, by_boards: np.ndarray,
) -> tuple[Hanger, ...]:  # fmt: skip
    short = resting.curve.deflection(solved.force)
    out = []
    for i, (x, y) in enumerate(where.points):
        left, sunk = rest.without(resting, solved, [i], force)
        at = -1 if np.isnan(left).any() else place_of_most(left.tolist())
        out.append(Hanger(
            x, y, float(solved.force[i]), float(short[i]), float(short[i] * kind.creep_factor),
            float(short[i] / kind.cold_factor), float(by_boards[i]), float(tributary[i]),
            float(spare[i]),
            verdict(kind, float(solved.force[i])), float(left[at]), at, sunk,
        ))  # fmt: skip
    return tuple(out)


def _lines(
    where: Placement, resting: rest.Rest, solved: rest.Solved, force: np.ndarray
) -> tuple[Line, ...]:
    out = []
    for number, x in enumerate(where.channels):
        gone = [i for i, each in enumerate(where.channel_of_point) if each == number]
        if not gone:
            continue
        if len(gone) == len(where.points):
            out.append(Line(x, float("nan"), -1, float("inf")))
            continue
        left, sunk = rest.without(resting, solved, gone, force)
        at = -1 if np.isnan(left).any() else place_of_most(left.tolist())
        out.append(Line(x, float(left[at]), at, sunk))
    return tuple(out)


def most_sag(
    design: Design, ceiling: Leaf, moved: np.ndarray
) -> tuple[np.ndarray, np.ndarray, tuple[float, ...]]:
    """Displacement (X, Y) [m] on a grid over the room, where on it there is flat ceiling (X, Y),
    and the most of each bulkhead [m], which tilts where it hangs out to a wall. Over notches and
    openings the plate has stiffness only. moved : (Mx, My) of `rest.surface`.
    """
    x, y = _grid(0.0, design.room.length), _grid(0.0, design.room.width)
    seen = np.zeros((len(x), len(y)), dtype=bool)
    for x0, x1, y0, y1 in weights.flat_cells(design):
        seen |= np.outer((x >= x0) & (x <= x1), (y >= y0) & (y <= y1))
    cells = [weights.clipped(design, patch) for patch in design.room.bulkheads]
    boxes = tuple(float(rest.field(ceiling, moved, _grid(x0, x1), _grid(y0, y1)).max())
                  for x0, x1, y0, y1 in cells)  # fmt: skip
    return rest.field(ceiling, moved, x, y), seen, boxes


def _grid(low: float, high: float) -> np.ndarray:
    return np.linspace(low, high, int(np.ceil((high - low) / GRID)) + 1)


def _sag(design: Design, ceiling: Leaf, moved: np.ndarray) -> Sag:
    room, hangers = design.room, design.hangers
    assert hangers is not None
    x, y = _grid(0.0, room.length), _grid(0.0, room.width)
    w, seen, boxes = most_sag(design, ceiling, moved)
    edge = np.zeros_like(seen)
    edge[[0, -1]] = edge[:, [0, -1]] = True
    ends_x = rest.field(ceiling, moved, x[[0, -1]], y, "x")[seen[[0, -1]]]
    ends_y = rest.field(ceiling, moved, x, y[[0, -1]], "y")[seen[:, [0, -1]]]
    slope = float(np.max(np.abs(np.concatenate([ends_x, ends_y, [0.0]]))))
    gap = design.ceiling.perimeter.gap
    turned = hangers.creep_factor * slope * design.ceiling.thickness
    most_at_edge = w[edge & seen]
    return Sag(
        float(w[seen].max()), float(w[seen].min()),
        float(most_at_edge.max()) if len(most_at_edge) else float("nan"), slope, gap - turned,
        boxes,
    )  # fmt: skip


def _bends(where: Placement, ceiling: Leaf, moved: np.ndarray) -> np.ndarray:
    """Largest deflection between neighbouring hangers of every run, from their chord [m]."""
    out = np.zeros(len(where.segments))
    share = np.linspace(0, 1, 17)
    for number, (x, _, _) in enumerate(where.segments):
        ys = channel.runs(where, number)
        if len(ys) < 2:
            continue
        places = ys[:-1, None] + share * np.diff(ys)[:, None]
        w = rest.field(ceiling, moved, np.array([x]), places.ravel()).reshape(places.shape)
        chord = w[:, :1] + share * (w[:, -1:] - w[:, :1])
        out[number] = float(np.max(np.abs(w - chord)))
    return out


def _above(parts: Assembly, floor: Leaf, moved: np.ndarray, weight: float, coupled: bool) -> Above:
    design = parts.design
    joists = design.floor.joists
    added, fill = weights.added(design, weight)
    line, formula = None, None
    if joists is not None:
        line = added * GRAVITY * joists.spacing
        formula = 5 * line * joists.span**4 / 384 / joists.bending_stiffness
        if np.isfinite(joists.shear_stiffness):
            formula += line * joists.span**2 / 8 / joists.shear_stiffness
    if design.independent is not None:  # hangs on its own joists, not on the floor
        added, line, formula = fill, None, None
    x = np.linspace(0, floor.x.length, 41)
    y = np.linspace(0, floor.y.length, 41)
    sunk = float(rest.field(floor, moved, x, y).max())
    if added > fill:
        sunk *= added / (added - fill)  # a fill lies as evenly as boards hang
    before, after = float("nan"), float("nan")
    if coupled:
        before, after = of_bare(parts.bare), fundamental(parts.whole)
    return Above(added, fill, line, formula, sunk, before, after)


def headroom(design: Design, sag: Sag | None = None) -> Headroom:
    """Finished heights of a design, with the long-term sag where it is known; a ceiling's own
    joists stand in for the sag of all of it."""
    room, hangers, own = design.room, design.hangers, own_joists(design)
    boards = design.ceiling.thickness
    creep = hangers.creep_factor if hangers else 1.0
    most, boxes = (sag.most, sag.boxes) if sag else (0.0, ())
    if own is not None:
        most, creep = own.deflection, own.creep
    level = room.height - design.cavity.clear_depth - boards
    places = [(patch.name or "bulkhead", level - low)
              for patch, low in zip(room.bulkheads, boxes_below(room, most, boxes, creep),
                                    strict=True)]  # fmt: skip
    for patch, below in zip(room.obstructions, under_ducts(room, boards), strict=True):
        if patch.drop > design.cavity.clear_depth and not boxed(design, patch):
            places.append((patch.name or "obstruction", below))
    return Headroom(level - creep * max(0.0, most), tuple(places), room.headroom_minimum)


def boxes_below(room: Room, most: float, boxes: Sequence[float], creep: float) -> tuple[float, ...]:
    """How far each bulkhead reaches below the ceiling before load [m], in the long term: its drop
    and its own sag, or that of the flat ceiling where none is known."""
    sags = boxes or [most] * len(room.bulkheads)
    return tuple(
        patch.drop + creep * max(0.0, sag) for patch, sag in zip(room.bulkheads, sags, strict=True)
    )


def under_ducts(room: Room, boards: float) -> tuple[float, ...]:
    """Height below each duct or beam with boards under it [m], where it hangs deeper than the
    ceiling. boards : their thickness [m]."""
    return tuple(room.height - patch.drop - boards for patch in room.obstructions)

"""A whole layout from a design and its placed hangers: pieces, boards, screws, zones, findings.

Loads are not computed here: they come in as the load check of the same placed hangers
(`impact.gravity`), which also judges them; without it the layout says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from impact import gravity
from impact.base.air import GRAVITY
from impact.base.units import INCH
from impact.design.fixings import counted
from impact.design.lines import CLEARANCE, SAME, own_joist_lines
from impact.design.parts import Design, Patch
from impact.design.placing import Placement, blocked, place
from impact.study import quantities
from impact.study.layout_boards import BoardLayer, board_layers, outline
from impact.study.layout_pieces import Piece, channel_pieces, splice_points
from impact.study.layout_rules import Finding, check

# Screws, common practice, no source: 3/8 in beyond the face of the channel, and 1/8 in left to
# the joist when the ceiling is still unloaded. A length counts as right within 0.2 mm.
PENETRATION = 3 / 8 * INCH
BRIDGE_MARGIN = 1 / 8 * INCH
ROUNDING = 0.0002  # m
SCREW_LENGTHS: dict[str, tuple[float, ...]] = {  # sold sizes, common practice, no source
    "imperial": tuple(n * INCH for n in (1, 1.125, 1.25, 1.625, 1.75, 2, 2.25, 2.5, 3, 3.5, 4)),
    "metric": (0.025, 0.035, 0.045, 0.055, 0.070, 0.080, 0.090, 0.100),
}
SAME_DEFLECTION = 0.20  # a hanger off its expected deflection by more than this is looked at
READING = 0.0005  # m, what a ruler tells apart; common practice, no source


@dataclass(frozen=True)
class Options:
    """Sizes the trade delivers, and allowances [m, fraction]; common practice, no source."""

    stock_length: float = 12 * 12 * INCH
    board_length: float = 8 * 12 * INCH
    board_width: float = 4 * 12 * INCH
    screw_spacing: float = 12 * INCH
    waste: float = 0.10


def usual(units: str) -> Options:
    """Board and stock sizes usual where `units` ("metric" or "imperial") are used."""
    if units == "metric":
        return Options(stock_length=4.0, board_length=2.4, board_width=1.2, screw_spacing=0.3)
    return Options()


@dataclass(frozen=True)
class Screw:
    """Screw of one layer [m]: the shortest that holds, the longest that cannot reach a joist (None
    when no sold screw is so long), and the sold size between them (None when there is none)."""

    layer: int  # from 1, nearest the cavity
    through: float
    least: float
    most: float | None
    size: float | None


@dataclass(frozen=True)
class Zone:
    """Part of the ceiling with a load of its own. `hangers` (from 0) stand beside or under it."""

    name: str
    kind: str  # "field", "bulkhead", "opening", "fixture"
    area: float  # m2 of plan
    mass: float  # kg
    hangers: tuple[int, ...]

    @property
    def load(self) -> float:
        """N."""
        return self.mass * GRAVITY


@dataclass(frozen=True)
class Layout:
    """Everything that is drawn and listed. `held` : the load check, None where nobody checked."""

    design: Design
    options: Options
    placement: Placement
    pieces: tuple[Piece, ...]
    boards: tuple[BoardLayer, ...]
    screws: tuple[Screw, ...]
    zones: tuple[Zone, ...]
    findings: tuple[Finding, ...]
    items: tuple[quantities.Item, ...]
    held: gravity.Loads | None = None

    @property
    def held_by(self) -> str:
        """What holds the ceiling, with its number."""
        number = len(self.placement.points) or len(own_joist_lines(self.design))
        return counted(self.design.hangers, number)

    @property
    def rules_kept(self) -> str:
        """Whether the rules of placing are kept, in a sentence without its point."""
        broken = sum(found.kind == "broken" for found in self.findings)
        if broken:
            return f"RULES BROKEN: {broken}"
        return "No placing rule broken, but see" if self.findings else "All placing rules kept"

    @property
    def splices(self) -> tuple[tuple[float, float], ...]:
        """(x, y) of the middle of every splice [m]."""
        return splice_points(self.pieces)

    @property
    def loads(self) -> tuple[float, ...]:
        """Load on every hanger [N], () unchecked."""
        return tuple(each.load for each in self.held.hangers) if self.held else ()

    @property
    def deflections(self) -> tuple[float, ...]:
        """Static deflection of every hanger [m], short term at 20 C, () unchecked."""
        return tuple(each.deflection for each in self.held.hangers) if self.held else ()

    @property
    def verdicts(self) -> tuple[str, ...]:
        """Word for every hanger, of `impact.gravity.parts`; () unchecked."""
        return tuple(each.verdict for each in self.held.hangers) if self.held else ()


def lay_out(
    design: Design, placement: Placement | None = None, held: gravity.Loads | None = None
) -> Layout:
    """Lay out a design.

    placement : as from `design.placing.place`; None places by rule.
    held : load check of the same placement; None leaves the loads unchecked.
    Raises ValueError when there are not as many loads as hangers.
    """
    options = usual(design.units)
    placement = placement or place(design)
    if held is not None and len(held.hangers) != len(placement.points):
        raise ValueError(f"{len(held.hangers)} loads for {len(placement.points)} hangers")
    grips: list[list[float]] = [[] for _ in placement.segments]
    for (_, y), run in zip(placement.points, placement.segment_of_point, strict=True):
        if run >= 0:
            grips[run].append(y)
    pieces = channel_pieces(placement.segments, options.stock_length, held=grips)
    room = design.room
    boards = board_layers(
        room, blocked(room), *supports(design, placement),
        [layer.strong_axis for layer in design.ceiling.layers],
        options.board_length, options.board_width,
    )  # fmt: skip
    items = quantities.quantities(
        design, placement, pieces, boards, stock=options.stock_length,
        board_area=options.board_length * options.board_width,
        screw_spacing=options.screw_spacing, waste=options.waste,
    )  # fmt: skip
    screws = screw_table(design)
    bad = [
        Finding("screw length", "broken", f"no sold screw fits layer {screw.layer}")
        for screw in screws
        if screw.size is None
    ]
    return Layout(
        design, options, placement, pieces, boards, screws, zones(design, placement),
        (*check(design, placement), *bad), items, held,
    )  # fmt: skip


def supports(design: Design, placement: Placement) -> tuple[tuple[float, ...], bool]:
    """Lines that boards are screwed to and whether they run along x: channels do not, joists do.
    A ceiling's own joists stand as `lines.own_joist_lines` has them."""
    if design.hangers is None:
        return own_joist_lines(design), True
    return (placement.channels, False) if placement.channels else (placement.joists, True)


def screw_table(design: Design) -> tuple[Screw, ...]:
    """Screw of every layer, layer by layer; empty for boards fixed straight to joists.

    A screw reaches the channel by PENETRATION and stops BRIDGE_MARGIN short of the joist (or slab,
    or old ceiling): the distance is the smaller of clear depth and hanger height, unloaded, as
    it is when the screw is driven.
    """
    hangers = design.hangers
    if hangers is None or (hangers.kind == "direct" and hangers.channel is None):
        return ()
    room_above = min(design.cavity.clear_depth, hangers.height)
    table = []
    through = 0.0
    for number, layer in enumerate(design.ceiling.layers, 1):
        through += layer.thickness
        least, most = through + PENETRATION, through + room_above - BRIDGE_MARGIN
        sold = SCREW_LENGTHS[design.units]
        fitting = (size for size in sold if least - ROUNDING <= size <= most + ROUNDING)
        limit = most if most < sold[-1] else None
        table.append(Screw(number, through, least, limit, next(fitting, None)))
    return tuple(table)


def zones(design: Design, placement: Placement) -> tuple[Zone, ...]:
    """The plain field, then bulkheads, openings and fixtures, each with its own mass.

    A bulkhead weighs its soffit and its free faces in the ceiling's own boards, a fill that lies on
    the boards, and the mass given for it; its frame hangs from the hangers beside it. Channels and
    hangers are in the field.
    """
    room = design.room
    board = design.ceiling.mass_per_area
    flat = outline(room, blocked(room))[0]
    grid = 0.0
    if design.hangers is not None:
        grid = len(placement.points) * design.hangers.mass
        if design.hangers.channel is not None:
            run = sum(y1 - y0 for _, y0, y1 in placement.segments)
            grid += run * design.hangers.channel.mass_per_length
    mass, all_of_them = flat * design.hung_per_area + grid, tuple(range(len(placement.points)))
    found = [Zone("field", "field", flat, mass, all_of_them)]
    for patch in room.bulkheads:
        lying = (design.hung_per_area - board) * patch.length * patch.width
        mass = quantities.boarded_area(room, patch) * board + lying + patch.mass
        found.append(_zone(design, placement, patch, "bulkhead", mass))
    for kind, patches in (("opening", room.openings), ("fixture", room.fixtures)):
        found += [_zone(design, placement, patch, kind, patch.mass) for patch in patches]
    return tuple(found)


def _zone(design: Design, placement: Placement, patch: Patch, kind: str, mass: float) -> Zone:
    near = _beside(design, placement, patch) if placement.segments else _about(placement, patch)
    return Zone(patch.name, kind, patch.length * patch.width, mass, near)


def _beside(design: Design, placement: Placement, patch: Patch) -> tuple[int, ...]:
    """Hangers next to a patch: on channels that run over it or end at it those within it and the
    next one to either side. The next line to either side counts too where the patch is a hole, and
    where no channel runs over it."""
    south, north = patch.y, patch.y + patch.width
    reach = design.ceiling.perimeter.gap + CLEARANCE  # of a channel's end from what it ends at
    lines = {
        run: x for run, (x, y0, y1) in enumerate(placement.segments)
        if y0 <= north + reach and y1 >= south - reach
    }  # fmt: skip
    west, east = patch.x - SAME, patch.x + patch.length + SAME
    taken = [run for run, x in lines.items() if west <= x <= east]
    if not taken or patch in blocked(design.room):
        before = max((x for x in lines.values() if x < west), default=None)
        after = min((x for x in lines.values() if x > east), default=None)
        taken += [run for run, x in lines.items() if x in (before, after)]
    found: set[int] = set()
    for run in taken:
        held = [i for i, each in enumerate(placement.segment_of_point) if each == run]
        mine = sorted((placement.points[i][1], i) for i in held)
        found.update(i for y, i in mine if south <= y <= north)
        found.update([i for y, i in mine if y < south][-1:] + [i for y, i in mine if y > north][:1])
    return tuple(sorted(found))


def _about(placement: Placement, patch: Patch) -> tuple[int, ...]:
    """The two fixings nearest to a patch, and all within it, where there are no channels."""
    distances = [_distance(patch, point) for point in placement.points]
    nearest = sorted(range(len(distances)), key=lambda i: distances[i])[:2]
    return tuple(sorted({*nearest, *(i for i, far in enumerate(distances) if far <= SAME)}))


def _distance(patch: Patch, point: tuple[float, float]) -> float:
    """Larger of the distances along x and y from a point to a patch [m]; 0 inside."""
    x, y = point
    along = max(patch.x - x, x - patch.x - patch.length, 0.0)
    across = max(patch.y - y, y - patch.y - patch.width, 0.0)
    return max(along, across)

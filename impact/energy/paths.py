"""Sound power into the room below per mean-square force on the floor, and by which path.

Source-averaged energy for the middle and high bands. Leaves: floating layers, deck and joists or
slab, an old ceiling, the new boards. Paths to the room: "direct" from the floor itself, "points"
through hangers, channels, nails, "cavity" through the air, "edge" through a touching or sealed
perimeter, "gap" through an open one. Where it is asked for, a joist floor's equal bays are solved
exactly as long as fasteners hold it along lines (`bays`), and a slab stands with its own modes as
long as they are few (`slab_modes`); else, and above, all is statistical.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from impact.base import air
from impact.design.parts import Design
from impact.design.placing import place
from impact.energy import bays, crowding, flanking, gap_waves, leaves, radiating, through_air, upper
from impact.energy.balance import Balance, point_link
from impact.energy.leaves import PlateLeaf
from impact.energy.open_gap import through_gap
from impact.energy.upper import Upper
from impact.link import inner_waves, springs
from impact.link.gaps import fill_gap, lowest_gap, old_gap, open_walls

EDGE = 3.5  # a plate's free edge: Y = 1/(3.5 sqrt(B m'')); Cremer/Heckl/Petersson 2005 sec. 5.4


@dataclass(frozen=True)
class Energy:
    """Answer of `transfer`; arrays (n,) over the third octaves asked for.

    power_per_force : sound power into the room below per mean-square point force, averaged over
        positions on the floor [W/N2], without walls. paths : its parts by name [W/N2].
    hung : what hangers alone would make of the path "cavity" where bays are solved: there they push
        together with the air [W/N2].
    power_per_force_flanking : through each wall, described or default [W/N2].
    mobility : complex mean mobility under the source [m/(N s)].
    overlap : modal overlap eta f n(f) of each leaf [-].
    dense : bands with modes enough for averages (`crowding.overlap`), boolean.
    density : modes of all leaves together [1/Hz], afloat : of those that float.
    """

    centres: NDArray
    power_per_force: NDArray
    power_per_force_flanking: dict[str, NDArray]
    mobility: NDArray
    overlap: dict[str, NDArray]
    paths: dict[str, NDArray]
    dense: NDArray
    density: NDArray
    afloat: float
    hung: NDArray

    @property
    def crossover_hz(self) -> float:
        """From where on averages hold [Hz]: `crowding.crossover`."""
        return crowding.crossover(self.centres, self.dense)


@dataclass
class Below:
    """A leaf under the floor: what hangs it, what air lies above it."""

    leaf: PlateLeaf
    passage: through_air.Passage
    link: NDArray | None = None  # conductance of its points, None without
    at_point: NDArray | None = None  # its mobility there
    under: NDArray | None = None  # in link: motion of the joists' lower faces, `depth.under`


def transfer(
    design: Design, centres: Sequence[float] | NDArray, ceiling: bool = True, exact: bool = False,
    reach: tuple[float, float] = (0.0, 0.0), walls: bool = True, rough: bool = False,
) -> Energy:  # fmt: skip
    """Energy answer of a design.

    centres : third-octave centres [Hz]. ceiling False : the same floor without the new ceiling.
    exact : solve the bays of a joist floor, some 0.3 s, or take a slab's modes, 0.2 s. Averages
        alone take 2 ms, and serve for what changes between many designs. reach : exact from there
        on [Hz], for walls and for all else; averages below. walls False : these are left out.
        rough : bays in half the time, for ratios of two designs solved so.
    Raises ValueError when the floor has neither joists nor slab, or no deck on its joists.
    Arrays of the answer are (n,) over the n centres.
    """
    f = np.asarray(centres, float)
    slab = design.floor.slab
    if design.floor.joists is None and slab is None:
        raise ValueError("a floor needs joists or a slab")
    if slab is not None and np.isfinite(slab.shear).any() and len(f) > 1:
        return _band_by_band(design, f, ceiling, reach if exact else None, walls)
    up = upper.build(design, f, reach if exact else None)
    lower = _below(design, up, f, ceiling)
    velocity, paths = _statistical(design, up, lower, ceiling)
    mobility, hung = up.at_top, np.zeros_like(f)
    solved = None
    if exact:
        solved = bays.solve(design, up, [x.leaf for x in lower], ceiling, reach, rough)
    if solved is not None:
        share = solved.heard
        velocity, found = _in_bays(design, up, lower, ceiling, solved, velocity, paths)
        paths = {name: share * found[name] + (1 - share) * paths[name] for name in paths}
        mobility = share * solved.field.mobility + (1 - share) * mobility
        hung = share * solved.field.hung
    if ceiling and open_walls(design):
        above = _sound(design, up, lower[:-1], velocity, cavity=True)
        pressed = above * lower[-1].passage.pressed
        if solved is not None and not solved.nailed:
            pressed = share * solved.field.pressed + (1 - share) * pressed
        paths["gap"] = through_gap(design, f, pressed, up.bay.wavenumber(up.omega))
    total = np.sum(list(paths.values()), axis=0)
    plates = [leaf for _, leaf in up.floating] + [up.bay] + [item.leaf for item in lower]
    overlap, dense = crowding.overlap(up, plates)
    around = flanking.walls(design) if walls else ()
    beside = {flank.name: flanking.power(flank, up, velocity) for flank in around}
    density = np.sum([crowding.per_hertz(up, leaf) for leaf in plates], axis=0)
    afloat = sum(leaf.modes_per_hertz for _, leaf in up.floating)
    return Energy(f, total, beside, mobility, overlap, paths, dense, density, afloat, hung)


def unsheared(design: Design) -> Design:
    """The design with a slab that does not give in shear: one solution then serves all bands."""
    slab = design.floor.slab
    if slab is None:
        return design
    stiff = replace(slab, shear=(np.inf, np.inf))
    return replace(design, floor=replace(design.floor, slab=stiff))


def _band_by_band(
    design: Design, f: NDArray, ceiling: bool, reach: tuple[float, float] | None, walls: bool
) -> Energy:
    """A slab that gives in shear, of the stiffness that its waves have in each band."""
    exact = reach is not None
    each = [transfer(design, [one], ceiling, exact, reach or (0, 0), walls) for one in f]

    def by_name(parts: list[dict[str, NDArray]]) -> dict[str, NDArray]:
        return {key: np.concatenate([part[key] for part in parts]) for key in parts[0]}

    return Energy(
        centres=f, power_per_force=np.concatenate([one.power_per_force for one in each]),
        power_per_force_flanking=by_name([one.power_per_force_flanking for one in each]),
        mobility=np.concatenate([one.mobility for one in each]),
        overlap=by_name([one.overlap for one in each]),
        paths=by_name([one.paths for one in each]), dense=_dense(unsheared(design), f, ceiling),
        density=np.concatenate([one.density for one in each]), afloat=each[0].afloat,
        hung=np.zeros_like(f),
    )  # fmt: skip


def _dense(design: Design, f: NDArray, ceiling: bool) -> NDArray:
    """Bands with modes enough for averages (n,), boolean, of a slab that does not give in shear.
    Shear brings modes closer; where few are left over, averages are not trusted for it."""
    up = upper.build(design, f, None)
    under = [leaves.old_leaf(design, f)] if design.old_ceiling is not None else []
    under += [leaves.ceiling_leaf(design, f)] if ceiling else []
    return crowding.overlap(up, [*(leaf for _, leaf in up.floating), up.bay, *under])[1]


def _statistical(
    design: Design, up: Upper, lower: list[Below], ceiling: bool
) -> tuple[dict[str, NDArray], dict[str, NDArray]]:
    """Velocities and paths when all leaves are averages."""
    balance = _by_points(design, up, lower)
    alone = balance.solve()
    if not lower:
        return alone, {"direct": _sound(design, up, lower, alone, cavity=True)}
    by_points = _sound(design, up, lower, alone, cavity=False)
    for i in range(len(lower)):
        _through_air(balance, up, lower, i)
    full = free = balance.solve()
    no_edge = _sound(design, up, lower, free, cavity=True)
    if ceiling and flanking.edge_line(design)[1] > 0:
        _through_edge(balance, design, up, lower[-1].leaf)
        full = balance.solve()
    return full, {
        "points": by_points, "cavity": np.maximum(no_edge - by_points, 0.0),
        "edge": _by_edge(lower[-1].leaf, full, free),
    }  # fmt: skip


def _by_edge(leaf: PlateLeaf, full: dict[str, NDArray], free: dict[str, NDArray]) -> NDArray:
    """Power of what the walls make a ceiling move at its edge [W/N2]: velocities of all leaves with
    it and without."""
    more = np.maximum(full[leaf.name] - free[leaf.name], 0.0)
    return np.asarray(air.IMPEDANCE * leaf.edge_radiation * leaf.area * more)


def _in_bays(
    design: Design, up: Upper, lower: list[Below], ceiling: bool, solved: bays.Bays,
    velocity: dict[str, NDArray], paths: dict[str, NDArray],
) -> tuple[dict[str, NDArray], dict[str, NDArray]]:  # fmt: skip
    """The same where the bays are solved: velocities (both methods blended), and paths (exact).

    Deck and joists move as solved; what hangers and a held edge add follows from that. Boards
    nailed to the joists hear nails and air at once; these are told apart as the averages do.
    """
    share, area = solved.moving, design.floor.length * design.floor.width
    held = {}
    for name, found in ((up.bay.name, solved.field.deck), ("joists", solved.field.joists)):
        held[name] = share * found / area + (1 - share) * velocity[name]
    if not lower:
        return {**velocity, **held}, {"direct": solved.field.power}
    for item in lower:
        if item.link is not None and item.under is not None:
            by_averages = (1 - share) * item.under * velocity["joists"]
            under = share * solved.field.under / area + by_averages
            item.link = item.link * under / (item.under * held["joists"])
    if solved.nailed:
        whole = paths["points"] + paths["cavity"]
        points = solved.field.power * paths["points"] / whole
        return {**velocity, **held}, {
            "points": points, "cavity": solved.field.power - points, "edge": paths["edge"],
        }  # fmt: skip
    balance = _by_points(design, up, lower)
    free = balance.solve(held)
    whole = _sound(design, up, lower, free, cavity=False)
    points = np.maximum(whole - solved.field.hung, 0.0)  # in what the bays hand on already
    if ceiling:
        _through_edge(balance, design, up, lower[-1].leaf)
    edge = _by_edge(lower[-1].leaf, balance.solve(held), free)
    return {**velocity, **held}, {"points": points, "cavity": solved.field.power, "edge": edge}


def _below(design: Design, up: Upper, f: NDArray, ceiling: bool) -> list[Below]:
    """Leaves under the floor, from the top."""
    out: list[Below] = []
    joists, omega = design.floor.joists, up.omega
    apart = joists.spacing if joists else 0.0
    above = up.bay.mass
    if joists is not None and design.floor.fill_hangs:
        leaf = leaves.fill_leaf(design, f)
        item = Below(leaf, through_air.passage(fill_gap(design), f, above, leaf.mass, apart))
        _lay_on_battens(up, item, joists.spacing)
        out.append(item)
        above = leaf.mass
    old = design.old_ceiling
    if old is not None:
        leaf = leaves.old_leaf(design, f)
        gap = old_gap(design)
        item = Below(leaf, through_air.passage(gap, f, above, leaf.mass, apart))
        across = joists.spacing if joists else old.fixing_spacing
        spacing = (old.fixing_spacing, across)
        count = leaf.area / (spacing[0] * spacing[1])
        nails = np.full((len(f), 1), old.fixing_stiffness)
        _hang(up, item, count, spacing, (nails, nails), None)
        out.append(item)
        above = leaf.mass
    if not ceiling:
        return out
    leaf = leaves.ceiling_leaf(design, f)
    gap = lowest_gap(design)
    beside, waves, own = np.zeros(len(f), complex), None, None
    if joists is None:  # under joists hangers hang from other motion, and waves are cut up
        beside = _beside(design, leaf, omega)
        waves, own = (gap_waves.Waves(x.stiffness, x.mass, x.short, x.long) for x in (up.bay, leaf))
        own = None if design.independent is not None or old is not None else own
    item = Below(leaf, through_air.passage(gap, f, above, leaf.mass, apart, beside, waves, own))
    if waves is not None and up.modes is not None:
        boards = None if own is None else (own, leaf.loss)
        item.passage = up.modes.passage(gap, leaf.mass, beside, waves, item.passage, boards)
    hangers = design.hangers
    if hangers is not None:
        spacing = (hangers.channel_spacing, hangers.hanger_spacing)
        count = float(len(place(design).points))
        y_down = leaves.at_hanger(leaf, hangers, omega)
        _hang(up, item, count, spacing, inner_waves.stiffness(hangers, f), y_down)
    out.append(item)
    return out


def _beside(design: Design, leaf: PlateLeaf, omega: NDArray) -> NDArray:
    """Hangers over the area beside the air (n,) [N/m3], k n/(1 + k Y/(i omega)) of n points.

    Below the frequency where a whole wave of the boards fits between points these act as one spring
    all over; above it each moves little but what lies about it, and stands in series with the
    boards' own mobility Y there (point-coupled plates: L. Cremer, M. Heckl, B. A. T. Petersson,
    Structure-Borne Sound, 3rd ed. 2005, ch. 6). The passage is drawn as in `leaves.held_along`.
    """
    spread, hangers = bays.hung(design), design.hangers
    if spread == 0 or hangers is None:
        return np.zeros(len(omega), complex)
    each = design.room.length * design.room.width / len(place(design).points)
    alone = 1 - leaves.held_along(leaf, float(np.sqrt(each)), omega)
    local = alone * leaves.at_hanger(leaf, hangers, omega)
    return np.asarray(spread / (1 + spread * each * local / (1j * omega)))


def _hang(
    up: Upper, item: Below, count: float, spacing: tuple[float, float],
    stiffness: tuple[NDArray, NDArray], y_down: NDArray | None,
) -> None:  # fmt: skip
    """Points of stiffness (n, points that differ) [N/m], whose power is averaged: from end to end,
    and at an end whose other is held."""
    leaf, omega = item.leaf, up.omega
    _, y_up = upper.hung_from(up)
    item.at_point = np.full(omega.shape, leaf.mobility, complex) if y_down is None else y_down
    number, together, give = upper.hang_points(up, count, spacing, leaf)
    many, above, below, at, group = (
        x[:, None] for x in (number, y_up + give, item.at_point, omega, together)
    )
    across, end = (group * each for each in stiffness)
    item.link = point_link(many, across, above, below, at, end).mean(axis=1)
    item.link = item.link * up.under
    if up.beams is not None:
        item.under = up.beams.under


def _lay_on_battens(up: Upper, item: Below, spacing: float) -> None:
    """Loose fill on battens along all joists, `spacing` [m] apart."""
    half = np.pi / item.leaf.wavenumber(up.omega)
    stiffness = springs.BATTENS * (1 + 1j * springs.FIXING_LOSS) * half
    _, y_up = upper.hung_from(up)
    item.at_point = np.full(up.omega.shape, item.leaf.mobility, complex)
    number = item.leaf.area / (spacing * half)
    item.link = point_link(number, stiffness, y_up, item.at_point, up.omega)


def _by_points(design: Design, up: Upper, lower: list[Below]) -> Balance:
    """What leaves lose, and hand on through points; air and walls are not in it."""
    names = upper.leaf_names(up) + [item.leaf.name for item in lower]
    balance = Balance(names, len(up.omega))
    upper.enter(balance, up, design)
    carrier, y_up = upper.hung_from(up)
    for item in lower:
        leaf = item.leaf
        lost = up.omega * leaf.loss * leaf.mass + 2 * air.IMPEDANCE * leaf.radiation
        balance.loses(leaf.name, lost * leaf.area)
        if item.link is not None and item.at_point is not None:
            balance.couples(carrier, leaf.name, item.link, y_up, item.at_point)
    return balance


def _through_air(balance: Balance, up: Upper, lower: list[Below], i: int) -> None:
    """Air feeds the free waves of leaf i from all that moves above it (one way)."""
    item, f = lower[i], up.omega / 2 / np.pi
    leaf = item.leaf
    balance.loses(up.bay.name, item.passage.taken * leaf.area)
    diffuse, heard = item.passage.blocked * leaf.radiation, item.passage.accepted
    heard = diffuse if heard is None else heard
    fed = heard / 2 * through_air.fed_to_bending(f, leaf.bending, leaf.mass)
    unit = {name: np.zeros_like(f) for name in balance.names}
    chain = np.ones_like(f)
    for above in reversed(range(i)):  # leaves between, each radiating freely and passing on
        upper_leaf = lower[above].leaf
        free = air.IMPEDANCE * upper_leaf.radiation * leaf.area
        _hand_on(balance, upper_leaf.name, leaf.name, fed * chain * free, free)
        chain = chain * lower[above].passage.forced
    still = upper.radiated(up, unit, leaf.area)
    balance.driven(leaf.name, fed * chain * still)
    for name in upper.leaf_names(up):
        one = dict(unit) | {name: np.ones_like(f)}
        if name in (up.bay.name, "joists"):
            free = upper.radiated(up, one, leaf.area) - still
            _hand_on(balance, name, leaf.name, fed * chain * free, free)


def _hand_on(
    balance: Balance, giver: str, taker: str, given: NDArray, free: NDArray | float
) -> None:
    """One way; what is handed on above the giver's free radiation (lost already) is lost by it."""
    balance.feeds(giver, taker, given)
    balance.loses(giver, np.maximum(0.0, given - free))


def _through_edge(balance: Balance, design: Design, up: Upper, leaf: PlateLeaf) -> None:
    """A perimeter that touches the walls, or is closed with a bead, brings in their motion."""
    stiffness, length = flanking.edge_line(design)
    if length == 0:
        return
    half = np.pi / leaf.wavenumber(up.omega)
    y_edge = 1 / (EDGE * np.sqrt(leaf.bending * leaf.mass))
    wall = flanking.default_wall(design)
    y_wall = flanking.wall_mobility(wall)
    link = point_link(length / half, stiffness * half, y_wall, y_edge, up.omega) * y_edge
    for name, share in flanking.wall_motion(wall, up).items():
        _hand_on(balance, name, leaf.name, link * share, 0.0)


def _sound(
    design: Design, up: Upper, lower: list[Below], velocity: dict[str, NDArray], cavity: bool
) -> NDArray:
    """Power into the room per mean-square force [W/N2]."""
    f = up.omega / 2 / np.pi
    area = design.room.length * design.room.width
    free = upper.radiated(up, velocity, area)
    carrier, _ = upper.hung_from(up)
    for item in lower:
        leaf = item.leaf
        own = air.IMPEDANCE * leaf.radiation * leaf.area * velocity[leaf.name]
        if item.link is not None:
            near = radiating.near_field(f, leaf.mass, leaf.critical)
            own = own + near * item.link * velocity[carrier]
        free = own + (item.passage.forced * free if cavity else 0.0)
    return np.asarray(free)

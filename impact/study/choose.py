"""Search hangers, spacings, layers, depth and fill: what is feasible, what is best, why not more.

Every combination gets its thud level (walker, 16-80 Hz), its loads at rest, its height and cost.
Those that keep all limits and are beaten by no other in level, height and cost make the front; what
is shown of it is solved again like a prediction.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from impact import chain, resonance, strikes, target
from impact.assemble import assemble, lowest_gap
from impact.base import bands
from impact.design.parts import Design, Target
from impact.gravity.loads import limits_of
from impact.joined import join
from impact.link import cavity
from impact.study import choose_loads, choose_sound
from impact.study.choose_axes import Axes, axes, bay, stiffened, variant
from impact.study.choose_sound import HIGHEST, Progress, band_levels, exact, thud

SHOWN = 6  # rows of the front that are solved again and shown
PREFER = ("quietest", "lowest", "cheapest")
SAME_LEVEL = 0.05  # dB: closer than this is equal, in the search
RATED = 3  # candidates whose rating over the whole range is computed for a target
SWEEP = np.geomspace(1e3, 1e6, 25)  # N/m: stiffness of one hanger, for the picture


@dataclass(frozen=True, eq=False)
class Row:
    """One combination that is shown, solved like a prediction.

    level : (8,) walker's fast maximum, 16 to 80 Hz [dB]; thud : their energy sum. drop, headroom :
    m, with the long-term sag in the headroom. cost : None without prices. worst, least, spare,
    lost : N as in `choose_loads.Table`. f0 : mass-spring-mass resonance [Hz]. reached : predicted
    value of the target's quantity, None where it was not computed. failed : limits it breaks.
    """

    index: tuple[int, ...]
    design: Design
    level: np.ndarray
    thud: float
    drop: float
    headroom: float
    cost: float | None
    worst: float
    least: float
    spare: float
    lost: float
    f0: float
    reached: float | None = None
    failed: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Sweep:
    """Stiffness of one hanger [N/m] against f0 [Hz] and thud [dB], for the chosen ceiling; the last
    two with perfect hangers: the air floor."""

    stiffness: np.ndarray
    f0: np.ndarray
    thud: np.ndarray
    f0_air: float
    thud_air: float


@dataclass(frozen=True, eq=False)
class Choice:
    """Result of a search. Arrays have the shape of the axes.

    thud : dB. drop, headroom : m. cost : NaN without prices. failed : limit -> True where broken.
    front : indices (n, 6), quietest first. shown : rows of it, or the nearest misses where nothing
    is feasible. best_case : least thud with perfect hangers in what fits and keeps the headroom.
    """

    design: Design
    axes: Axes
    thud: np.ndarray
    level: np.ndarray
    drop: np.ndarray
    headroom: np.ndarray
    cost: np.ndarray
    loads: choose_loads.Table
    failed: dict[str, np.ndarray]
    front: np.ndarray
    shown: tuple[Row, ...]
    chosen: Row | None
    best_case: float
    sweep: Sweep | None
    notes: tuple[str, ...] = field(default=())

    @property
    def feasible(self) -> np.ndarray:
        """Which combinations keep every limit."""
        out = np.isfinite(self.thud)
        for broken in self.failed.values():
            out = out & ~broken
        return out

    def only(self, name: str) -> int:
        """Combinations that break this limit and no other."""
        others = np.zeros(self.thud.shape, bool)
        for other, broken in self.failed.items():
            if other != name:
                others |= broken
        return int(np.sum(self.failed[name] & ~others))


def choose(
    design: Design, wanted: Axes | None = None, prefer: str = "quietest",
    progress: Progress | None = None,
) -> Choice:  # fmt: skip
    """Search all combinations of `wanted` (None: the usual axes of this design).

    prefer : which of the front is chosen, one of PREFER. progress : called with (done, in all).
    Raises InputError for designs without hangers, ValueError for an unknown `prefer`.
    """
    if prefer not in PREFER:
        raise ValueError(f"prefer {prefer!r}: one of {', '.join(PREFER)}")
    tried = wanted or axes(design)
    hung = choose_loads.table(design, tried)
    sound = choose_sound.search(design, tried, progress)
    level = band_levels(design, sound.power)
    loud = thud(level)
    height = _heights(design, tried, hung)
    cost = _costs(tried, hung)
    failed = _failed(design, tried, hung, loud, height, cost, sound)
    fits = ~failed["fill or hanger does not fit"] & ~failed["headroom"]
    made = Choice(
        design, tried, loud, level, height[0], height[1], cost, hung, failed, np.zeros((0, 6), int),
        (), None, _best_case(design, sound, fits), None,
    )  # fmt: skip
    return _finish(made, prefer)


def _heights(
    design: Design, tried: Axes, hung: choose_loads.Table
) -> tuple[np.ndarray, np.ndarray]:
    """Height taken below the joists, and finished height with the long-term sag [m]."""
    thick = np.array([_thickness(design, count) for count in tried.layers])
    depth = np.array(tried.depths)
    drop = thick[:, None, None] + depth[None, :, None] + 0 * np.array(tried.fills)
    drop = np.broadcast_to(drop, tried.shape)
    creep = np.array([h.creep_factor for h in tried.hangers])[:, None, None, None]
    sag = np.maximum(hung.sag, 0.0) * creep
    return drop, design.room.height - drop - sag[..., None, None]


def _thickness(design: Design, count: int) -> float:
    boards = [layer.thickness for layer in design.ceiling.layers]
    return sum(boards[:count]) + boards[-1] * max(0, count - len(boards))


def _costs(tried: Axes, hung: choose_loads.Table) -> np.ndarray:
    filled = np.array(tried.fills) > 0
    return np.broadcast_to(
        hung.cost[..., None, None] + hung.fill_cost[..., None, None] * filled, tried.shape
    )


def _failed(
    design: Design, tried: Axes, hung: choose_loads.Table, loud: np.ndarray,
    height: tuple[np.ndarray, np.ndarray], cost: np.ndarray, sound: choose_sound.Sound,
) -> dict[str, np.ndarray]:  # fmt: skip
    """Limit -> where it is broken; NaN loads count as nothing to hang from."""
    limits, shape = limits_of(design), tried.shape
    own = design.hangers
    assert own is not None
    depth = np.array(tried.depths)[:, None]
    needs = np.array([h.height for h in tried.hangers])[:, None, None]
    fills = np.array(tried.fills)

    def per_hanger(name: str, otherwise: float) -> np.ndarray:
        values = [getattr(h, name) for h in tried.hangers]
        return np.array([otherwise if v is None else v for v in values])[:, None, None, None]

    most, least = per_hanger("load_maximum", np.inf), per_hanger("load_minimum", -np.inf)
    small: dict[str, np.ndarray] = {
        "nothing to hang from": ~np.isfinite(hung.worst),
        "load above rated maximum": hung.worst * float(limits.get("load_factor", 1.0)) > most,
        "load below rated minimum": hung.least < least,
        "no margin for another layer": (hung.spare > most) & (hung.worst <= most),
        "channel bends too far": hung.ratio < float(
            limits.get("deflection_ratio", choose_loads.channel.RATIO)),
    }  # fmt: skip
    if own.channel is not None and own.channel.allowable_moment is not None:
        small["channel not strong enough"] = hung.moment > own.channel.allowable_moment
    if own.withdrawal_capacity is not None:
        small["fastener pulled out"] = hung.worst > own.withdrawal_capacity
    if "deflection_maximum" in limits:
        small["hangers deflect too far"] = hung.deflection > limits["deflection_maximum"]
    if "floor_load_maximum" in limits:
        small["too heavy for the joists"] = hung.added > limits["floor_load_maximum"]
    if "layers_maximum" in limits:
        many = np.array(tried.layers) > limits["layers_maximum"]
        small["too many layers"] = np.broadcast_to(many, shape[:4])
    lowest = design.room.headroom_minimum
    low = np.zeros(shape, bool) if lowest is None else height[1] < lowest - 1e-9
    if "drop_maximum" in limits:
        low = low | (height[0] > limits["drop_maximum"] + 1e-9)
    fit = (depth < needs - 1e-6) | (fills > depth + bay(design) + 1e-6)
    failed = {
        "fill or hanger does not fit": np.broadcast_to(
            fit[:, None, None, None], shape),
        "headroom": low,
        **{name: np.broadcast_to(v[..., None, None], shape) for name, v in small.items()},
    }  # fmt: skip
    if "cost_maximum" in limits and np.isfinite(cost).any():
        failed["cost"] = cost > limits["cost_maximum"]
    known = searched_target(design)
    if known is not None:
        value = band_levels(design, sound.power, known.quantity)[..., _band_of(known)]
        failed["target"] = value > known.limit
    return failed


def searched_target(design: Design) -> Target | None:
    """The target, where the search itself can judge it: a person's level in a band 16 to 80 Hz."""
    wanted = design.target
    if wanted is None or wanted.band_hz is None or wanted.sense != "at most":
        return None
    people = strikes.SOURCES.get(wanted.quantity)
    inside = bands.index(wanted.band_hz)
    if people is None or people.name == chain.SINGLE:
        return None
    return wanted if choose_sound.THUD.start <= inside < choose_sound.THUD.stop else None


def _band_of(wanted: Target) -> int:
    assert wanted.band_hz is not None
    return bands.index(wanted.band_hz) - choose_sound.THUD.start


def _best_case(design: Design, sound: choose_sound.Sound, fits: np.ndarray) -> float:
    """Least thud with perfect hangers among what fits [dB]; NaN when nothing does."""
    perfect = thud(band_levels(design, sound.perfect))
    allowed = fits.any(axis=(0, 2))
    return float(np.nanmin(np.where(allowed, perfect, np.inf))) if allowed.any() else float("nan")


def front_of(values: np.ndarray) -> np.ndarray:
    """Places of the rows (n, k) that no other row beats: none is as good in all and better in one.

    Smaller is better; of equal rows the first is kept.
    """
    order = np.lexsort(values.T[::-1])
    kept: list[int] = []
    for i in order:
        best = values[kept]
        if not len(kept) or not np.any(np.all(best <= values[i], axis=1)):
            kept.append(int(i))
    return np.array(kept, int)


def _front(made: Choice, allowed: np.ndarray) -> np.ndarray:
    """Indices (n, 6) of the front of level, height and cost, quietest first."""
    places = np.argwhere(allowed)
    if not len(places):
        return np.zeros((0, 6), int)
    at = tuple(places.T)
    level = np.round(made.thud[at] / SAME_LEVEL) * SAME_LEVEL
    cost = np.nan_to_num(made.cost[at])
    values = np.column_stack([level, np.round(made.drop[at], 6), np.round(cost, 2)])
    kept = places[front_of(values)]
    return kept[np.argsort(made.thud[tuple(kept.T)], kind="stable")]


def _finish(made: Choice, prefer: str) -> Choice:
    feasible = made.feasible
    notes: list[str] = []
    front = _front(made, feasible)
    if len(front):
        picked = _spread(made, front)
    else:
        picked = _nearest_misses(made)
    rows = [_row(made, index) for index in picked]
    rows, notes = _rate(made, rows, prefer, notes) if len(front) else (rows, notes)
    chosen = _pick(made, rows, prefer) if rows and len(front) else None
    base = chosen or (rows[0] if rows else None)
    rows.sort(key=lambda row: row.thud)
    return replace(
        made, front=front, shown=tuple(rows), chosen=chosen,
        sweep=_sweep(made, base) if base else None, notes=tuple(notes),
    )  # fmt: skip


def _spread(made: Choice, front: np.ndarray) -> list[tuple[int, ...]]:
    """A few of the front: its ends in level, height and cost, and evenly between in level."""
    at = tuple(front.T)
    ends = [0, int(np.argmin(made.drop[at]))]
    if np.isfinite(made.cost[at]).any():
        ends.append(int(np.nanargmin(made.cost[at])))
    level = made.thud[at]
    for wanted in np.linspace(level.min(), level.max(), SHOWN):
        if len(set(ends)) < SHOWN:
            ends.append(int(np.argmin(np.abs(level - wanted))))
    return [tuple(int(v) for v in front[i]) for i in dict.fromkeys(ends)]


def _nearest_misses(made: Choice) -> list[tuple[int, ...]]:
    """Where nothing is feasible: what breaks fewest limits, and of those the quietest few."""
    broken = sum(values.astype(int) for values in made.failed.values())
    count = np.where(np.isfinite(made.thud), broken, 99)
    places = np.argwhere(count == count.min())
    order = np.argsort(made.thud[tuple(places.T)], kind="stable")[:3]
    return [tuple(int(v) for v in places[i]) for i in order]


def design_at(made: Choice, index: tuple[int, ...]) -> Design:
    """The design of one combination."""
    h, c, s, n, d, f = index
    a = made.axes
    return variant(
        made.design, a.hangers[h], a.channel_spacings[c], a.hanger_spacings[s], a.layers[n],
        a.depths[d], a.fills[f],
    )  # fmt: skip


def _row(made: Choice, index: tuple[int, ...]) -> Row:
    one = design_at(made, index)
    power = exact(one)
    level = band_levels(one, power)
    loads, small = made.loads, index[:4]
    cost = float(made.cost[index])
    known = searched_target(one)
    reached = None
    if known is not None:
        reached = float(band_levels(one, power, known.quantity)[_band_of(known)])
    return Row(
        index, one, level, float(thud(level)), float(made.drop[index]),
        float(made.headroom[index]), cost if np.isfinite(cost) else None,
        float(loads.worst[small]), float(loads.least[small]), float(loads.spare[small]),
        float(loads.lost[small]), _f0(one), reached,
        tuple(name for name, values in made.failed.items() if values[index]),
    )  # fmt: skip


def _f0(design: Design) -> float:
    made = assemble(design, HIGHEST)
    spring = cavity.static_stiffness(lowest_gap(design)) + made.hanger_spring
    return resonance.pair_frequency(spring, made.floor_mass, made.ceiling_mass)


def _order(rows: list[Row], prefer: str) -> list[Row]:
    keys = {
        "quietest": lambda row: (row.thud, row.drop),
        "lowest": lambda row: (row.drop, row.thud),
        "cheapest": lambda row: (np.inf if row.cost is None else row.cost, row.thud),
    }
    return sorted(rows, key=keys[prefer])


def _pick(made: Choice, rows: list[Row], prefer: str) -> Row:
    """The preferred row, of those known to reach the target where any does."""
    wanted = made.design.target
    ordered = _order(rows, prefer)
    if wanted is not None:
        good = [row for row in ordered if _good(wanted, row.reached)]
        return (good or ordered)[0]
    return ordered[0]


def _good(wanted: Target, value: float | None) -> bool:
    margin = target.margin(wanted, value)
    return margin is not None and margin >= 0


def rated(design: Design, perfect: bool = False) -> float | None:
    """Predicted value of the design's target quantity over the whole range; None without one."""
    wanted = design.target
    if wanted is None:
        return None
    solved = join(design)
    power = solved.power["best" if perfect else "design"]
    heard = {name: strikes.band_levels(source, power, design, solved.mobility)
             for name, source in strikes.SOURCES.items()}  # fmt: skip
    return target.result(wanted, chain.rate(heard), heard)


def _rate(
    made: Choice, rows: list[Row], prefer: str, notes: list[str]
) -> tuple[list[Row], list[str]]:
    """Ratings that need the whole range, for a few rows in the order preferred, until one is good.
    Where none is, the heaviest, deepest and softest ceiling is asked with perfect hangers."""
    wanted = made.design.target
    if wanted is None or searched_target(made.design) is not None:
        return rows, notes
    out, left = [], _order(rows, prefer)
    while left and len(out) < RATED:
        row = left.pop(0)
        out.append(replace(row, reached=rated(row.design)))
        if _good(wanted, out[-1].reached):
            return out + left, notes
    values = [row.reached for row in out if row.reached is not None]
    best = rated(design_at(made, _heaviest(made)), perfect=True)
    what = f"{wanted.quantity} {wanted.sense} {wanted.limit:g}"
    if best is not None and not _good(wanted, best):
        notes.append(
            f"No ceiling here can reach the target {what}: even the heaviest and deepest of them,"
            f" on perfect hangers, comes to {best:.0f}."
        )
    else:
        got = ", ".join(f"{value:.0f}" for value in values)
        notes.append(f"None of the {len(out)} rated reaches the target {what}: they come to {got}.")
    return out + left, notes


def _heaviest(made: Choice) -> tuple[int, ...]:
    """Most layers, greatest depth and most fill that fit below the height limit, first hangers."""
    open_ = ~made.failed["headroom"] & np.isfinite(made.thud)
    places = np.argwhere(open_.any(axis=(0, 1, 2)))  # (layers, depths, fills)
    n, d, f = places[np.lexsort((places[:, 2], places[:, 1], places[:, 0]))[-1]]
    return (0, 0, len(made.axes.hanger_spacings) - 1, int(n), int(d), int(f))


def _sweep(made: Choice, row: Row) -> Sweep:
    """f0 and thud of the row's ceiling for every stiffness of its hangers."""
    hangers, one = row.design.hangers, row.design
    assert hangers is not None
    fill = one.cavity.fill.thickness if one.cavity.fill else 0.0
    line = Axes(
        stiffened(hangers, list(SWEEP)), (hangers.channel_spacing,), (hangers.hanger_spacing,),
        (len(one.ceiling.layers),), (one.cavity.clear_depth,), (fill,),
    )  # fmt: skip
    found = choose_sound.search(one, line)
    solved = assemble(one, HIGHEST)
    air = cavity.static_stiffness(lowest_gap(one))
    per_area = len(solved.placement.points) / (one.room.length * one.room.width)
    masses = solved.floor_mass, solved.ceiling_mass
    f0 = np.array([resonance.pair_frequency(air + k * per_area, *masses) for k in SWEEP])
    return Sweep(
        SWEEP, f0, thud(band_levels(one, found.power)).reshape(-1),
        resonance.pair_frequency(air, *masses),
        float(thud(band_levels(one, found.perfect)).reshape(-1)[0]),
    )  # fmt: skip

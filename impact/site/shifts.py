"""How far as-built states move the levels below, over all bands.

Low bands from the modes (`site.bench`), high bands from the energy balance, joined over three bands
as a prediction joins them. Points act one by one in the energy balance, so that of N hangers each
adds its N-th of what N equal ones would pass (uncorrelated; it is how the balance adds them too).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from impact.base import bands, levels
from impact.base.parallel import in_parallel
from impact.design.axes import WALLS, wall_lengths
from impact.design.parts import Channel, Design, Fill, Hangers
from impact.energy import paths as energy
from impact.heard.joined import blend
from impact.link import inner_waves
from impact.site.bench import DRAWN, FIXED, FIXED_LOSS, TOP, TOUCHING, Bench, Change, modal_power

CENTRES = np.array(bands.CENTRES)
MIDDLE = TOP - 1  # of the three bands over which the methods are joined
LEAST = 1e-3  # share of the drawn power that rounding of the mixture may not go below
# Bays are solved for hangers so many times as stiff as the next, and the softest for such a share
# of the drawn ones: what hangers do to them hardly matters below. Our choice: `_by_stiffness`.
STEP, SOFTEST = 5.0, 0.1
FINE = 8  # stiffnesses a decade for which averages of slabs are found, 60 ms each
GONE = 1e-3  # share of the drawn stiffness that stands for a hanger that is not there


def level_changes(
    bench: Bench, changes: Sequence[Change], wanted: Sequence[int] | None = None
) -> tuple[np.ndarray, np.ndarray]:
    """Power level as drawn (28,) [dB re 1 W/N2]; and levels below minus those as drawn
    (len(changes), 28) [dB], the same for every source.

    wanted : places in `bands.NOMINAL`; NaN in the bands solved by modes that are not among them.
    """
    shown = levels.decibel(total_power(bench, [Change(), *changes], wanted))
    return np.asarray(shown[0]), np.asarray(shown[1:] - shown[0])


def total_power(
    bench: Bench, changes: Sequence[Change], wanted: Sequence[int] | None = None
) -> np.ndarray:
    """Power into the room per mean-square force (len(changes), 28) [W/N2]; `wanted` as above.

    What walls radiate is part of it where the design describes walls, or a state's `flanking_db`
    says so.
    """
    # flanking does not touch the ceiling: solve such states once, as drawn
    keys = [replace(change, flanking_db=None) for change in changes]
    unique = list(dict.fromkeys(keys))
    place = {key: n for n, key in enumerate(unique)}
    total = joined_power(bench, unique, wanted)[[place[key] for key in keys]]
    walls = wall_power(bench.design)
    for n, change in enumerate(changes):
        if change.flanking_db is not None:
            total[n] += walls * 10 ** (change.flanking_db / 10)
        elif bench.design.flanks:
            total[n] += walls
    return total


def joined_power(
    bench: Bench, changes: Sequence[Change], wanted: Sequence[int] | None = None
) -> np.ndarray:
    """Power through the ceiling per mean-square force (len(changes), 28) [W/N2]."""
    low = np.full((len(changes), TOP + 1), np.nan)
    chosen = [place for place in (range(TOP + 1) if wanted is None else wanted) if place <= TOP]
    low[:, chosen] = modal_power(bench, changes, chosen)
    return blend(low, energy_power(bench, changes), MIDDLE)[0]


def energy_power(bench: Bench, changes: Sequence[Change], exact: bool = True) -> np.ndarray:
    """Power of each state by the energy balance (len(changes), 28) [W/N2].

    exact : solve the bays of a joist floor, as predictions do, where this counts; some 0.4 s for
    each state of the cavity and each of the few stiffnesses of `_by_stiffness`. Averages take
    milliseconds, and tell a touching edge up to 7 dB louder, other faults 3 dB more or less.
    The frame of a packed fill is left out: it is soft beside the air, and waves of unlike length
    pass an even spring poorly.
    """
    design = bench.design
    solve = _exactly if exact else _averages
    drawn = solve(design)
    asked = _stiffnesses(changes)
    points = _by_stiffness(bench, solve, drawn, asked) if asked and design.hangers else None
    airs = {
        air: solve(_refilled(bench, air)).power_per_force
        for air in {change.air for change in changes} - {DRAWN}
    }
    edges = _Edges(design, solve) if any(c.walls for c in changes) else None
    tied = [_tied(design, joist) for joist in (False, True)] if asked and points is None else []
    out = np.empty((len(changes), len(CENTRES)))
    for n, change in enumerate(changes):
        power = airs.get(change.air, drawn.power_per_force).copy()
        if change.walls and edges is not None:
            power += edges.more(change.walls)
        if points is not None:
            for _, stiffness in change.stiffness:
                power += (points(abs(stiffness)) - drawn.power_per_force) / bench.hangers
            power += len(change.fixtures) * (points(FIXED) - points(0.0)) / bench.hangers
        elif change.fixtures:
            for place in change.fixtures:
                power += tied[int(place >= len(bench.fixtures) - bench.contacts)]
        out[n] = np.maximum(power, LEAST * drawn.power_per_force)
    return out


def _stiffnesses(changes: Sequence[Change]) -> list[float]:
    """Of points that changes ask for [N/m], 0 for those that are gone."""
    found = {abs(value) for change in changes for _, value in change.stiffness}
    if any(change.fixtures for change in changes):
        found |= {FIXED, 0.0}
    return sorted(found)


Solve = Callable[[Design], energy.Energy]


def _averages(design: Design) -> energy.Energy:
    return energy.transfer(design, CENTRES)


def _exactly(design: Design) -> energy.Energy:
    """Bays solved from where the energy balance counts here; averages below."""
    counts = bands.edges(CENTRES[MIDDLE - 1])[0]
    return energy.transfer(design, CENTRES, exact=True, reach=(counts, counts))


class _Edges:
    """What touching edges add: the balance takes in the walls' motion per length of edge."""

    def __init__(self, design: Design, solve: Solve) -> None:
        self.length = wall_lengths(design.room)
        self.added = solve(touching(design, ())).paths["edge"] - solve(design).paths["edge"]

    def more(self, walls: Sequence[str]) -> np.ndarray:
        """Power (28,) over the drawn one: touching on `walls`, the others as drawn."""
        share = sum(self.length[wall] for wall in walls) / sum(self.length.values())
        return np.asarray(share * self.added)


def _by_stiffness(
    bench: Bench, solve: Solve, drawn: energy.Energy, asked: Sequence[float]
) -> Callable[[float], np.ndarray]:
    """Function: stiffness [N/m] -> power (28,) into the room if all hangers were so stiff; as
    `drawn` where they are.

    Averages follow the stiffness itself, those of slabs, without their shear, in steps. By what
    factor `solve` lies above them is found as drawn and at some of the stiffnesses `asked` for, the
    stiffest always, and is straight between in logarithms: it changes little where the power
    changes by 30 dB. Beside a solution for each, cases of faults on twelve floors of six designs
    come within 0.8 dB (rms for each fault; 3 dB at most in a band, 11 on a timber slab).
    """
    hangers, own = bench.design.hangers, abs(bench.own)
    assert hangers is not None

    def hung(ratio: float) -> Design:
        stiff = inner_waves.stiffer(hangers, ratio * hangers.dynamic_stiffness)
        return replace(bench.design, hangers=stiff)

    @cache
    def averages(ratio: float) -> np.ndarray:
        floor = energy.unsheared(hung(ratio))
        return np.asarray(np.log(_averages(floor).power_per_force))

    def quick(ratio: float) -> np.ndarray:
        if bench.design.floor.slab is None:
            return averages(max(ratio, GONE))
        step = FINE * np.log10(max(ratio, GONE))
        below = np.floor(step)
        low, high = (averages(10 ** (place / FINE)) for place in (below, below + 1))
        return np.asarray(low + (step - below) * (high - low))

    def factor(ratio: float) -> np.ndarray:
        found = drawn if ratio == 1.0 else solve(hung(max(ratio, GONE)))
        return np.asarray(np.log(found.power_per_force) - quick(ratio))

    nodes = _nodes([one / own for one in asked])
    factors = in_parallel(factor, nodes)

    @cache
    def points(stiffness: float) -> np.ndarray:
        ratio = stiffness / own
        place = float(np.interp(np.log(max(ratio, GONE)), np.log(nodes), range(len(nodes))))
        below = min(int(place), max(len(nodes) - 2, 0))
        share = place - below
        above = factors[min(below + 1, len(nodes) - 1)]
        return np.exp(quick(ratio) + (1 - share) * factors[below] + share * above)

    return points


def _nodes(asked: Sequence[float]) -> list[float]:
    """Of ratios to the drawn stiffness those that are solved, rising: 1, the largest, and from
    there down the next that lie STEP below; and SOFTEST where one is softer than drawn."""
    found = [1.0]
    for one in sorted((one for one in asked if one > 1), reverse=True):
        if len(found) == 1 or STEP**0.5 <= one <= found[-1] / STEP:
            found.append(one)
    if min(asked) < 1:
        found.append(max(min(asked), SOFTEST))
    return sorted(found)


def _tied(design: Design, joist: bool) -> np.ndarray:
    """What one point fixed through adds where a ceiling does not hang (28,) [W/N2], by averages:
    as one stiff hanger would, at the boards or, `joist`, at a joist of the ceiling's own."""
    own = design.independent.joists if joist and design.independent is not None else None
    rib = None
    if own is not None:
        rib = Channel("own joist", own.bending_stiffness, own.torsional_stiffness,
                      own.mass_per_length, own.depth, None)  # fmt: skip
    middle = ((design.room.length / 2, design.room.width / 2),)
    point = Hangers(
        kind="hanger", name="fixed through", dynamic_stiffness=FIXED, loss_factor=FIXED_LOSS,
        static_stiffness=FIXED, load_deflection=(), load_minimum=None, load_maximum=None,
        channel_spacing=own.spacing if own else design.room.length,
        hanger_spacing=design.room.width, edge_distance=0.0, channel=rib, height=0.0, mass=0.0,
        creep_factor=1.0, cold_factor=1.0, withdrawal_capacity=None, positions=middle,
    )  # fmt: skip
    with_it = _averages(replace(design, hangers=point)).power_per_force
    return np.maximum(with_it - _averages(design).power_per_force, 0.0)


def touching(design: Design, walls: Sequence[str]) -> Design:
    """The design, its gap closed, with edges hard against `walls` (axes of `design.parts`; all when
    none is named)."""
    edge = replace(
        design.ceiling.perimeter, kind="touching", touching_walls=tuple(walls) or WALLS,
        touching_stiffness=TOUCHING, gap=0.0,
    )  # fmt: skip
    return replace(design, ceiling=replace(design.ceiling, perimeter=edge))


def _refilled(bench: Bench, air: str) -> Design:
    """The design with another state of its cavity."""
    gap = bench.airs[air].gap
    old = bench.design.cavity.fill
    fill = None
    if gap.fill > 0:
        density, name = (old.density, old.name) if old else (0.0, "fill")
        fill = Fill(name, gap.fill, gap.flow_resistivity, density)
    cavity = replace(bench.design.cavity, clear_depth=gap.clear, fill=fill)
    return replace(bench.design, cavity=cavity)


def wall_power(design: Design) -> np.ndarray:
    """Power of the walls described, else of those usual round such a room, per mean-square force
    (28,) [W/N2]."""
    found = energy.transfer(design, CENTRES).power_per_force_flanking
    return np.asarray(np.sum(list(found.values()), axis=0))

"""Search hangers, spacings, layers, depth and fill: what is feasible, what is best, why not more.

Every combination gets its thud level (walker, 16-80 Hz), its loads at rest, its height and cost.
Those that keep all limits and are beaten by no other in thud as it is heard, height and cost make
the front; what is shown of it is solved again like a prediction.
"""

from __future__ import annotations

import numpy as np

from impact.design.parts import Design
from impact.gravity.loads import limits_of, under_ducts
from impact.source.people import BAREFOOT
from impact.study import choose_loads, choose_sound
from impact.study.choose_axes import Axes, axes, bay
from impact.study.choose_front import front_of
from impact.study.choose_parts import BestCase, Choice, Row, Sweep, band_of, searched_target
from impact.study.choose_rows import finish
from impact.study.choose_sound import Progress, band_levels

PREFER = ("quietest", "lowest", "cheapest")
__all__ = ["PREFER", "Choice", "Row", "Sweep", "choose", "front_of"]


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
    known = searched_target(design)
    walkers = {BAREFOOT, known.quantity} if known else {BAREFOOT}
    sound = choose_sound.search(design, tried, progress, walkers=sorted(walkers))
    level = band_levels(design, sound.square[BAREFOOT])
    perfect = band_levels(design, sound.perfect[BAREFOOT])
    height = _heights(design, tried, hung)
    cost = _costs(tried, hung)
    failed = _failed(design, tried, hung, height, cost, sound)
    fits = ~failed["fill or hanger does not fit"] & ~failed["headroom"]
    made = Choice(
        design=design, axes=tried, level=level, drop=height[0], headroom=height[1], cost=cost,
        loads=hung, failed=failed, best_case=_best_case(level, perfect, fits),
    )  # fmt: skip
    return finish(made, prefer)


def _heights(
    design: Design, tried: Axes, hung: choose_loads.Table
) -> tuple[np.ndarray, np.ndarray]:
    """Height taken below the joists, and the least finished height anywhere, below bulkheads and
    ducts too, with the long-term sag [m]."""
    thick = np.array([_thickness(design, count) for count in tried.layers])
    depth = np.array(tried.depths)
    drop = thick[:, None, None] + depth[None, :, None] + 0 * np.array(tried.fills)
    drop = np.broadcast_to(drop, tried.shape)
    lowest = design.room.height - drop - hung.low[..., None, None]
    under = zip(*(under_ducts(design.room, each) for each in thick), strict=True)
    for patch, heights in zip(design.room.obstructions, under, strict=True):  # boarded if deeper
        below = np.array(heights)
        deeper = patch.drop > depth[:, None]
        lowest = np.where(deeper, np.minimum(lowest, below[:, None, None]), lowest)
    return drop, lowest


def _thickness(design: Design, count: int) -> float:
    boards = [layer.thickness for layer in design.ceiling.layers]
    return sum(boards[:count]) + boards[-1] * max(0, count - len(boards))


def _costs(tried: Axes, hung: choose_loads.Table) -> np.ndarray:
    filled = np.array(tried.fills) > 0
    return np.broadcast_to(
        hung.cost[..., None, None] + hung.fill_cost[..., None, None] * filled, tried.shape
    )


def _failed(
    design: Design, tried: Axes, hung: choose_loads.Table,
    height: tuple[np.ndarray, np.ndarray], cost: np.ndarray, sound: choose_sound.Sound,
) -> dict[str, np.ndarray]:  # fmt: skip
    """Limit -> where it is broken; NaN loads count as nothing to hang from."""
    limits, shape = limits_of(design), tried.shape
    own = design.hangers
    assert own is not None
    pulled = hung.worst * float(limits.get("load_factor", 1.0))
    depth = np.array(tried.depths)[:, None]
    needs = np.array([h.height for h in tried.hangers])[:, None, None]
    fills = np.array(tried.fills)

    def per_hanger(name: str, otherwise: float) -> np.ndarray:
        values = [getattr(h, name) for h in tried.hangers]
        return np.array([otherwise if v is None else v for v in values])[:, None, None, None]

    most, least = per_hanger("load_maximum", np.inf), per_hanger("load_minimum", -np.inf)
    small: dict[str, np.ndarray] = {
        "nothing to hang from": ~np.isfinite(hung.worst),
        "load above rated maximum": pulled > most,
        "load below rated minimum": hung.least < least,
        "no margin for another layer": (hung.spare > most) & (hung.worst <= most),
        "channel bends too far": hung.ratio < float(
            limits.get("deflection_ratio", choose_loads.channel.RATIO)),
    }  # fmt: skip
    if own.channel is not None and own.channel.allowable_moment is not None:
        small["channel not strong enough"] = hung.moment > own.channel.allowable_moment
    if own.withdrawal_capacity is not None:
        small["fastener pulled out"] = pulled > own.withdrawal_capacity
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
        value = band_levels(design, sound.square[known.quantity], known.quantity)
        failed["target"] = value[..., band_of(known)] > known.limit
    return failed


def _best_case(level: np.ndarray, perfect: np.ndarray, fits: np.ndarray) -> BestCase | None:
    """Least thud as heard of all that fits, whatever it carries and costs; None when nothing
    fits."""
    allowed = np.broadcast_to(fits.any(axis=(0, 2)), perfect.shape[:-1])
    allowed = allowed & np.isfinite(perfect).all(axis=-1)
    hung = fits & np.isfinite(level).all(axis=-1)
    if not allowed.any() or not hung.any():
        return None
    return BestCase(
        float(choose_sound.heard(perfect[allowed]).min()),
        float(choose_sound.heard(level[hung]).min()),
    )

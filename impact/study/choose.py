"""Search hangers, spacings, layers, depth and fill: what is feasible, what is best, why not more.

Every combination gets its thud level (walker, 16-80 Hz), its loads at rest, its height and cost.
Those that keep all limits and are beaten by no other in level, height and cost make the front; what
is shown of it is solved again like a prediction.
"""

from __future__ import annotations

import numpy as np

from impact.design.parts import Design
from impact.gravity.loads import limits_of
from impact.study import choose_loads, choose_sound
from impact.study.choose_axes import Axes, axes, bay
from impact.study.choose_parts import Choice, Row, Sweep, band_of, searched_target
from impact.study.choose_rows import finish, front_of
from impact.study.choose_sound import Progress, band_levels, thud

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
    sound = choose_sound.search(design, tried, progress)
    level = band_levels(design, sound.power)
    loud = thud(level)
    height = _heights(design, tried, hung)
    cost = _costs(tried, hung)
    failed = _failed(design, tried, hung, loud, height, cost, sound)
    fits = ~failed["fill or hanger does not fit"] & ~failed["headroom"]
    made = Choice(
        design, tried, loud, level, height[0], height[1], cost, hung, failed, np.zeros((0, 6), int),
        (), None, _best_case(design, sound, loud, fits), None,
    )  # fmt: skip
    return finish(made, prefer)


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
        value = band_levels(design, sound.power, known.quantity)[..., band_of(known)]
        failed["target"] = value > known.limit
    return failed


def _best_case(
    design: Design, sound: choose_sound.Sound, loud: np.ndarray, fits: np.ndarray
) -> float:
    """Least thud among what fits, with the hangers tried or perfect ones [dB]; NaN when nothing
    fits. (Stiff hangers may do better than perfect ones at the lowest bands, where the ceiling
    then moves as part of the floor.)"""
    perfect = thud(band_levels(design, sound.perfect))
    allowed = fits.any(axis=(0, 2))
    if not allowed.any():
        return float("nan")
    with_hangers = np.min(loud[fits & np.isfinite(loud)], initial=np.inf)
    return float(min(np.nanmin(np.where(allowed, perfect, np.inf)), with_hangers))

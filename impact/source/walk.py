"""A walk: when and where the steps fall, and how hard each one is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.source import gait
from impact.source.step import Step

INTERVAL_SCATTER = 0.025  # of a step interval, 1 sigma: stride times scatter 1-3 %, from memory
STRIDE_WIDTH = 0.10  # m between the tracks of the two feet; common in gait texts, from memory


@dataclass(frozen=True)
class Walk:
    """Steps of one walk, one entry a step.

    times : s of touch-down. left : True for the left foot. force_scale : factor on the step's
    force. distance : m walked along the path. aside : m to the left of the path's line.
    """

    times: Any
    left: Any
    force_scale: Any
    distance: Any
    aside: Any


def walk(
    step: Step,
    duration: float,
    seed: int,
    rate: float | None = None,
    scatter_db: float = gait.STEP_SCATTER_DB,
) -> Walk:
    """Steps that touch down in 0 <= t < `duration` [s]; the same seed gives the same walk.

    rate : samples a second onto which touch-downs are rounded; None = not rounded.
    scatter_db : standard deviation of the steps' force [dB], log-normal; intervals scatter by
    INTERVAL_SCATTER.
    """
    if duration <= 0:
        raise ValueError(f"duration {duration:g} s must be above 0")
    generator = np.random.default_rng(seed)
    count = math.ceil(duration * step.pace * 1.2) + 8
    interval = (1 + INTERVAL_SCATTER * generator.standard_normal(count)) / step.pace
    times = np.concatenate([[0.0], np.cumsum(np.maximum(interval, 0.3 / step.pace))[:-1]])
    scale = 10 ** (scatter_db / 20 * generator.standard_normal(count))
    scale = scale / math.exp((scatter_db / 20 * math.log(10)) ** 2 / 2)  # mean 1
    first_left = bool(generator.integers(2))
    if rate is not None:
        times = np.round(times * rate) / rate
    inside = times < duration
    number = np.arange(count)[inside]
    left = (number % 2 == 0) == first_left
    return Walk(
        times=times[inside],
        left=left,
        force_scale=scale[inside],
        distance=number * step_length(step),
        aside=np.where(left, STRIDE_WIDTH / 2, -STRIDE_WIDTH / 2),
    )


def repeated(
    every: float, duration: float, seed: int, scatter_db: float = gait.STEP_SCATTER_DB
) -> Walk:
    """A single event every `every` s for `duration` s, at places spread over the path.

    Places are steps of 1/golden ratio of a long path, so that none is favoured; strength scatters
    as a walker's. The same seed gives the same.
    """
    count = max(1, math.ceil(duration / every))
    strength = scatter_db / 20 * np.random.default_rng(seed).standard_normal(count)
    return Walk(
        times=every * np.arange(count), left=np.zeros(count, bool), force_scale=10**strength,
        distance=100 * np.mod(0.618034 * np.arange(count), 1), aside=np.zeros(count),
    )  # fmt: skip


def step_length(step: Step) -> float:
    """Step length [m] at the step's pace: speed/pace with v = 1.67 f^2 - 4.83 f + 4.50 (SCI P354,
    1.7 to 2.4 steps/s and clamped to them, from memory), for running 0.4 m x pace/3, our own guess.
    """
    if step.running:
        return 0.4 * step.pace / 3
    pace = min(max(step.pace, 1.7), 2.4)
    return (1.67 * pace**2 - 4.83 * pace + 4.50) / pace


def positions(steps: Walk, path: Any) -> Any:
    """Where the feet land on the floor, (steps, 2) [m], walking `path` to and fro without end.

    path : (points, 2) m, corners of a line of at least two points, none repeated in a row. On
    the way back left and right swap sides in the room, as they do.
    """
    corners = np.asarray(path, float)
    legs = np.diff(corners, axis=0)
    lengths = np.hypot(legs[:, 0], legs[:, 1])
    if len(corners) < 2 or np.any(lengths <= 0):
        raise ValueError("a path needs two points or more, no two in a row alike")
    total = float(lengths.sum())
    phase = np.mod(steps.distance, 2 * total)
    back = phase > total
    along = np.where(back, 2 * total - phase, phase)
    starts = np.concatenate([[0.0], np.cumsum(lengths)])
    leg = np.clip(np.searchsorted(starts, along, side="right") - 1, 0, len(lengths) - 1)
    direction = legs[leg] / lengths[leg, None]
    to_left = np.stack([-direction[:, 1], direction[:, 0]], axis=1)
    aside = np.where(back, -steps.aside, steps.aside)
    return corners[leg] + direction * (along - starts[leg])[:, None] + to_left * aside[:, None]

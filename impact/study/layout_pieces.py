"""Cutting list of the channel: stock lengths, lapped splices, splices staggered line by line.

Lap, stagger and shortest piece are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from impact.design.placing import Segment

LAP = 0.1524  # m: 6 in
STAGGER = 0.6  # m: splices of neighbouring lines at least this far apart
SHORTEST = 0.6  # m: no piece of a spliced run is shorter
CLEAR = 0.05  # m: a hanger grips one channel, not two in a lap
TRIES = 24  # shifts tried for one run


@dataclass(frozen=True)
class Piece:
    """One cut piece of channel on run `run` (place in the placement's segments), from y0 to y1."""

    run: int
    x: float  # m
    y0: float  # m
    y1: float  # m

    @property
    def length(self) -> float:
        """m."""
        return self.y1 - self.y0


def channel_pieces(
    segments: Sequence[Segment], stock: float = 3.6576, lap: float = LAP,
    held: Sequence[Sequence[float]] = (),
) -> tuple[Piece, ...]:  # fmt: skip
    """Pieces of every run of channel; a run longer than `stock` [m] is spliced with `lap` [m].

    Splices of a line keep clear of those of the line before it by at least STAGGER, and laps of the
    hangers of their run, `held` [m along y, run by run], by CLEAR, where the stock length allows.
    Every piece has a hanger where any cut gives it one. Raises ValueError when the stock length is
    not longer than lap + SHORTEST.
    """
    if stock <= lap + SHORTEST:
        raise ValueError(f"stock length {stock:g} m must be over {lap + SHORTEST:g} m")
    pieces: list[Piece] = []
    splices: dict[float, list[float]] = {}
    for run, (x, y0, y1) in enumerate(segments):
        before = [line for line in splices if line < x]
        near = splices[max(before)] if before else []
        cuts = _cut(y0, y1, stock, lap, near, held[run] if held else None)
        pieces += [Piece(run, x, start, end) for start, end in cuts]
        splices.setdefault(x, []).extend(_splices(cuts))
    return tuple(pieces)


def splice_points(pieces: Iterable[Piece]) -> tuple[tuple[float, float], ...]:
    """(x, y) of the middle of every lap [m]."""
    by_run: dict[int, list[Piece]] = {}
    for piece in pieces:
        by_run.setdefault(piece.run, []).append(piece)
    return tuple(
        (group[0].x, y)
        for group in by_run.values()
        for y in _splices([(piece.y0, piece.y1) for piece in group])
    )


def stock_count(lengths: Iterable[float], stock: float) -> int:
    """Stock lengths needed for pieces of the given lengths [m], longest first into the first
    offcut that still holds them (first-fit decreasing)."""
    left: list[float] = []
    for length in sorted(lengths, reverse=True):
        for i, rest in enumerate(left):
            if length <= rest + 1e-9:
                left[i] = rest - length
                break
        else:
            left.append(stock - length)
    return len(left)


def _cut(
    y0: float, y1: float, stock: float, lap: float, near: Sequence[float],
    held: Sequence[float] | None,
) -> list[tuple[float, float]]:  # fmt: skip
    """Cut one run with the fewest pieces whose splices keep off those in `near` and off `held`."""
    length = y1 - y0
    if length <= stock:
        return [(y0, y1)]
    fewest = math.ceil((length - lap) / (stock - lap) - 1e-9)
    best: tuple[tuple[float, float, float], list[tuple[float, float]]] | None = None
    for count in (fewest, fewest + 1):
        slack = count * stock - (count - 1) * lap - length
        largest = min(slack, stock - SHORTEST)
        smallest = min(max(0.0, SHORTEST - (stock - slack)), largest)
        for i in range(TRIES + 1):
            shift = smallest + (largest - smallest) * i / TRIES
            cuts = _pieces(y0, y1, count, stock, lap, shift)
            splices = _splices(cuts)
            apart = min((abs(a - b) for a in splices for b in near), default=math.inf)
            loose = sum(not any(a <= y <= b for y in held) for a, b in cuts) if held else 0
            free = min((abs(a - y) for a in splices for y in held or ()), default=math.inf)
            off = lap / 2 + CLEAR
            key = (-float(loose), min(free, off), min(apart, STAGGER))
            if key == (0.0, off, STAGGER):
                return cuts
            if best is None or key > best[0]:
                best = (key, cuts)
    assert best is not None
    return best[1]


def _pieces(
    y0: float, y1: float, count: int, stock: float, lap: float, shift: float
) -> list[tuple[float, float]]:
    """`count` lapped pieces; the first is shorter than the stock by `shift`."""
    cuts, start, end = [], y0, y0 + stock - shift
    for _ in range(count - 1):
        cuts.append((start, end))
        start, end = end - lap, end - lap + stock
    return [*cuts, (start, y1)]


def _splices(cuts: Sequence[tuple[float, float]]) -> list[float]:
    return [(cuts[i][1] + cuts[i + 1][0]) / 2 for i in range(len(cuts) - 1)]

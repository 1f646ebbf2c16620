"""What solved bays say of the paths beside averages, without solving them again.

Where a joist floor's bays are solved (`impact.energy.bays`), a path's power differs from that of
averages in two ways that decide what inputs do.

Bays have resonances, where half waves of the deck fit between two joists. Power in bays over that
of averages, R(f), is known band by band, as predicted. A deck of another stiffness or mass has the
same resonances elsewhere: waves across a bay depend on f over sqrt(B/m''), their pace, so

    R of the floor moved = R(f / pace ratio) ,

and several inputs move it by the product of their paces. A band that lies across two has its share
of the power of either: straight lines between bands. This holds as far as the deck alone makes
bays; where boards or fill lie on the joists too, or a ceiling has its own, R stays.

Hangers push together with the air on long waves, both being springs between the same faces. So in
the path "cavity" their deflections add, not their powers: with x the share of the hangers alone,
the root of their power over the path's,

    P = P as predicted |(1 - x) exp(d_air/2) + x exp(d_points/2)|² ,

so that a fill which silences the air leaves x, and stiffer hangers are heard in the path of the
air. d are logarithms of power, as in `impact.spread.by_path`.

Above an old ceiling the boards nailed to the joists go with them and with the deck. Averages take
what the leaf above loses off each leaf below once more, as they hand energy on from one to the
next; in bays these are one motion, and loss factors do half to nine tenths of it. Bays are solved
again there (`SolvedAnew`): with loss factors at their high end, and as many times what averages say
of the low one,

    d(-z) = d(z) d_averages(-z)/d_averages(z) .
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from impact.base import bands
from impact.design.parts import Design
from impact.energy import bays
from impact.energy import paths as energy
from impact.spread.inputs import END, Input

CAVITY, POINTS = "cavity", "points"
# Parts that resonate with what they hold in the bays and at no pace of their own: nails of an old
# ceiling, whose soft end adds 2 dB at 250 Hz of a floor where averages take as much off. Loss
# factors are solved at their high end alone.
NAILS, DAMPING = "old fixings", "damping"
ANEW = (NAILS, DAMPING)
MOST = 2.0  # times as much as by averages: where these say next to nothing


@dataclass(frozen=True, eq=False)
class Known:
    """Of n bands: paths, path -> power as predicted (n,), and hung, of hangers alone (n,) [W/N²].
    first : place of the first band where bays count."""

    paths: Mapping[str, np.ndarray]
    hung: np.ndarray
    first: int


@dataclass(frozen=True, eq=False)
class InBays:
    """Of n bands: at : logarithms of their centres (n,). ratio : (paths, n) power in bays over
    averages. pace : (inputs, 2) logarithm of the deck's pace with each input at its ends
    over that as designed. share : (n,) of the hangers' deflection in the air's path. cavity : place
    of the air's path; None where no hangers push beside it.
    """

    at: np.ndarray
    ratio: np.ndarray
    pace: np.ndarray
    share: np.ndarray
    cavity: int | None

    def moved(self, z: np.ndarray) -> np.ndarray:
        """Logarithm (draws, paths, n) of `ratio` with all inputs at z (draws, inputs) over that as
        designed."""
        ways = np.maximum(np.stack([-z, z], axis=-1), 0.0) / END
        seen = self.at - np.einsum("dis,is->d", ways, self.pace)[:, None]
        found = [np.interp(seen, self.at, row) / row for row in self.ratio]
        return np.log(np.stack(found, axis=1))

    def added(self, logs: np.ndarray, hangers: np.ndarray) -> np.ndarray:
        """Logarithms of the paths' powers (…, paths, n) with hangers and air together, from those
        of averages and that of the hangers' push (…, n)."""
        if self.cavity is None:
            return logs
        out = logs.copy()
        whole = (1 - self.share) * np.exp(logs[..., self.cavity, :] / 2)
        out[..., self.cavity, :] = 2 * np.log(whole + self.share * np.exp(hangers / 2))
        return out


def in_bays(
    design: Design, items: Sequence[Input], centres: np.ndarray, known: Known,
    averages: Mapping[str, np.ndarray], least: np.ndarray,
) -> InBays:  # fmt: skip
    """What bays say in bands at `centres` (n,) [Hz] of `design`.

    averages : path -> power (n,) by averages [W/N²]. least : (n,) power that is taken for less.
    """
    names = tuple(averages)
    paths, even = (
        np.array([np.maximum(some[name], least) for name in names])
        for some in (known.paths, averages)
    )
    ratio = paths / even
    ratio[:, : known.first] = ratio[:, known.first : known.first + 1]  # averages alone below
    paces, own = np.ones((len(items), 2)), bays.pace(design)
    for i, item in enumerate(items):
        if item.kind == "floor" and np.isfinite(own):
            paces[i] = [bays.pace(item.change(design, z)) / own for z in (-END, END)]
    share, cavity = np.zeros(len(centres)), None
    if CAVITY in names and known.hung.any():
        cavity = names.index(CAVITY)
        share = np.minimum(np.sqrt(known.hung / paths[cavity]), 1.0)
    return InBays(np.log(centres), ratio, np.log(paces), share, cavity)


def powers(paths: Mapping[str, np.ndarray], names: Sequence[str], least: np.ndarray) -> np.ndarray:
    """Powers (paths, n) [W/N²] of the paths `names`, none below `least` (n,): logarithms follow."""
    return np.array([np.maximum(paths[name], least) for name in names])


class SolvedAnew:
    """What bays solved again say, on half the grid, of inputs whose part is in ANEW."""

    def __init__(
        self, design: Design, centres: np.ndarray, names: Sequence[str], least: np.ndarray
    ) -> None:
        """Of paths `names` in third octaves at `centres` (n,) [Hz]; least : (n,) power that is
        taken for less [W/N²]."""
        self.design, self.centres, self.names, self.least = design, centres, names, least

    @cached_property
    def _base(self) -> np.ndarray:
        return self._powers(self.design)

    def _powers(self, design: Design) -> np.ndarray:
        """Powers (paths, n) [W/N²] of a design."""
        if not len(self.centres):
            return np.zeros((len(self.names), 0))
        start = bands.edges(float(self.centres[0]))[0]
        found = energy.transfer(
            design, self.centres, exact=True, reach=(start, start), walls=False, rough=True
        ).paths
        return powers(found, self.names, self.least)

    def ends(self, item: Input, averages: np.ndarray) -> np.ndarray:
        """Logarithms (2, paths, n) of the paths' powers with an input at either end of its range
        over those as designed. averages : the same by averages."""
        low, high = averages
        anew = np.log(self._powers(item.change(self.design, END)) / self._base)
        if item.part == NAILS:
            other = np.log(self._powers(item.change(self.design, -END)) / self._base)
            return np.stack([other, anew])
        share = np.divide(anew, high, out=np.ones_like(high), where=np.abs(high) > 1e-6)
        return np.stack([np.clip(share, 0.0, MOST) * low, anew])

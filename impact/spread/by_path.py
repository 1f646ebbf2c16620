"""Middle and high bands: what each input does to every path of the energy balance.

Sound comes by hangers, by air and by the edge (`impact.energy.paths`). Within one path the factors
of most inputs multiply; which path counts changes with them: more fill silences the air until only
the hangers are heard. So effects add in the logarithm of each path's power, and powers add,

    P(z) = sum over paths p of P_p exp( sum over inputs i of d_pi(z_i) ) ,

where effects that add in the level itself would go on falling for ever. d_pi is drawn as straight
lines from 0 through the ends of the range; for air and boards (not their damping), whose effects
bend, as the boards' coincidence passes through bands, also through a point half way and one as far
out as draws go. A resonance inside the hangers is sharper: it has three points on the way, and how
much it hands on where it stands the hangers' damping and stiffness say, so it is moved together
with each of these too, straight between the points of either. P_p are those predicted, of solved
bays where there are any; d_pi are those of averages: what changes in a path from floor to floor
needs no bays, but which path counts does (hangers may have 37 % by averages and 11 % in bays).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import levels
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.spread.inputs import END, FAR, Input

LEAST = 1e-6  # share of the power below which a path is taken to stay: it is not heard
BENT = ("air", "boards")  # kinds whose effects bend within the range
STRAIGHT, BOWED = (END,), (END / 2, END, FAR)  # nodes
SHARP = (END / 4, END / 2, 3 * END / 4, END, FAR)
WAVES, WITH = "hanger_waves", ("hanger_damping", "hanger_stiffness")  # inputs that go together


@dataclass(frozen=True, eq=False)
class ByPath:
    """Effects on the paths in n bands.

    power : (paths, n) as predicted [W/N²]. nodes : of each input, its z above zero in rising order.
    moved : of each input (2, nodes, paths, n), the logarithm of power over power as designed with
    the input at minus and at plus its nodes; None where it does not touch the structure. crossed :
    of pairs of inputs (places), what they do together beyond the sum of both, (2, nodes, 2, nodes,
    paths, n).
    """

    power: np.ndarray
    nodes: tuple[tuple[float, ...], ...]
    moved: tuple[np.ndarray | None, ...]
    crossed: tuple[tuple[int, int, np.ndarray], ...] = ()

    def alone(self) -> np.ndarray:
        """Change of the whole power [dB] with each input at its ends (inputs, 2, n)."""
        ends = np.zeros((len(self.moved), 2, *self.power.shape))
        for i, own in enumerate(self.moved):
            if own is not None:
                ends[i] = own[:, self.nodes[i].index(END)]
        return self._level(ends)

    def changes(self, z: np.ndarray) -> np.ndarray:
        """Change of the whole power [dB] (draws, n) with all inputs at z (draws, inputs)."""
        heights, slopes = [np.zeros((len(z), 0))], [np.zeros((0, self.power.size))]
        for i, own in enumerate(self.moved):
            if own is None:
                continue
            for side, way in zip((-z[:, i], z[:, i]), own.reshape(2, own.shape[1], -1),
                                 strict=True):  # fmt: skip
                heights.append(_ramps(side, self.nodes[i]))
                slopes.append(np.diff(way, axis=0, prepend=0.0))
        logs = np.hstack(heights) @ np.vstack(slopes)
        logs = logs.reshape(len(z), *self.power.shape)
        for one, other, beyond in self.crossed:
            steps = np.diff(np.diff(beyond, axis=1, prepend=0.0), axis=3, prepend=0.0)
            ramps = [
                np.stack([_ramps(side * z[:, i], self.nodes[i]) for side in (-1, 1)], axis=1)
                for i in (one, other)
            ]
            logs += np.einsum("dsa,dtb,satbpn->dpn", *ramps, steps, optimize=True)
        return self._level(logs)

    def _level(self, logs: np.ndarray) -> np.ndarray:
        """Change of the whole power [dB] (…, n) from the paths' logarithms (…, paths, n)."""
        moved = np.sum(self.power * np.exp(logs), axis=-2)
        return np.asarray(levels.decibel(moved / np.sum(self.power, axis=0)))


def _ramps(z: np.ndarray, nodes: Sequence[float]) -> np.ndarray:
    """Shares (draws, nodes) of the step that ends at each node; the last goes on beyond it."""
    starts = np.array([0.0, *nodes[:-1]])
    lengths = np.array(nodes) - starts
    share = np.maximum((z[:, None] - starts) / lengths, 0.0)
    share[:, :-1] = np.minimum(share[:, :-1], 1.0)
    return share


def effects(
    design: Design, items: Sequence[Input], centres: np.ndarray, outside: Sequence[str],
    known: Mapping[str, np.ndarray] | None = None,
) -> ByPath:  # fmt: skip
    """What each input does to the paths of `design` in third octaves at `centres` (n,) [Hz].

    outside : kinds of inputs that do not touch the structure. known : path -> power (n,) as
    predicted [W/N²], where it is not that of averages.
    """
    found = energy.transfer(design, centres)
    names = tuple(found.paths)
    least = LEAST * found.power_per_force

    def solve(one: Design) -> np.ndarray:
        paths = energy.transfer(one, centres).paths
        return np.array([np.maximum(paths[name], least) for name in names])

    power = np.array([np.maximum(found.paths[name], least) for name in names])
    predicted = power if known is None else np.array([known[name] for name in names])
    nodes, moved = [], []
    for item in items:
        bent = item.kind in BENT and item.part != "damping"
        nodes.append(SHARP if item.key == WAVES else BOWED if bent else STRAIGHT)
        moved.append(None if item.kind in outside else np.log(np.array([
            [solve(item.change(design, sign * z)) for z in nodes[-1]] for sign in (-1, 1)
        ]) / power))  # fmt: skip
    keys, crossed = [item.key for item in items], []
    for i, j in ((keys.index(WAVES), keys.index(key)) for key in WITH if {WAVES, key} <= {*keys}):
        own, other = moved[i], moved[j]
        assert own is not None
        assert other is not None
        both = np.log(np.array([
            [[[solve(items[j].change(items[i].change(design, one * z), two * y)) for y in nodes[j]]
              for two in (-1, 1)] for z in nodes[i]] for one in (-1, 1)
        ]) / power)  # fmt: skip
        crossed.append((i, j, both - own[:, :, None, None] - other[None, None]))
    return ByPath(predicted, tuple(nodes), tuple(moved), tuple(crossed))

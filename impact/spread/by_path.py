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
with each of these too, straight between the points of either. So are stiffness and mass, of joists,
whose resonance across their depth goes with the one over the other (`energy.depth`), and of the
ceiling's boards, whose coincidence does. P_p are those
predicted, of solved bays where there are any: which path counts is theirs to say (hangers may have
37 % by averages and 11 % in bays). d_pi are those of averages, which cost little; what solved bays
know better is put right without solving them again (`impact.spread.in_bays`), but for old ceilings:
what their nails do and all loss factors is found from bays solved again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import levels
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.spread.in_bays import ANEW, CAVITY, POINTS, InBays, Known, SolvedAnew, in_bays, powers
from impact.spread.inputs import END, FAR, Input

LEAST = 1e-6  # share of the power below which a path is taken to stay: it is not heard
BENT = ("air", "boards")  # kinds whose effects bend within the range
STRAIGHT, BOWED = (END,), (END / 2, END, FAR)  # nodes
SHARP = (END / 4, END / 2, 3 * END / 4, END, FAR)
WAVES = "hanger_waves"
PAIRS = (  # inputs that go together: what resonates, or comes to coincidence, by one over the other
    (WAVES, "hanger_damping"), (WAVES, "hanger_stiffness"), ("joist_stiffness", "floor_mass"),
    ("ceiling_stiffness", "ceiling_mass"),
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class ByPath:
    """Effects on the paths in n bands.

    power : (paths, n) as predicted [W/N²]. nodes : of each input, its z above zero in rising order.
    moved : of each input (2, nodes, rows, n), the logarithm of power over power as designed with
    the input at minus and at plus its nodes; None where it does not touch the structure. crossed :
    of pairs of inputs (places), what they do together beyond the sum of both, (2, nodes, 2, nodes,
    rows, n). Rows are the paths and, where there are `bays`, the push of the hangers.
    """

    power: np.ndarray
    nodes: tuple[tuple[float, ...], ...]
    moved: tuple[np.ndarray | None, ...]
    crossed: tuple[tuple[int, int, np.ndarray], ...] = ()
    bays: InBays | None = None

    def alone(self) -> np.ndarray:
        """Change of the whole power [dB] with each input at its ends (inputs, 2, n)."""
        ends = np.zeros((len(self.moved), 2, *self._rows))
        for i, own in enumerate(self.moved):
            if own is not None:
                ends[i] = own[:, self.nodes[i].index(END)]
        alone = np.zeros((2 * len(ends), len(ends)))
        for i in range(len(ends)):
            alone[2 * i : 2 * i + 2, i] = -END, END
        found = self._level(ends.reshape(-1, *self._rows), alone)
        return found.reshape(len(ends), 2, self._rows[1])

    def changes(self, z: np.ndarray) -> np.ndarray:
        """Change of the whole power [dB] (draws, n) with all inputs at z (draws, inputs)."""
        heights, slopes = [np.zeros((len(z), 0))], [np.zeros((0, np.prod(self._rows)))]
        for i, own in enumerate(self.moved):
            if own is None:
                continue
            for side, way in zip((-z[:, i], z[:, i]), own.reshape(2, own.shape[1], -1),
                                 strict=True):  # fmt: skip
                heights.append(_ramps(side, self.nodes[i]))
                slopes.append(np.diff(way, axis=0, prepend=0.0))
        logs = np.hstack(heights) @ np.vstack(slopes)
        logs = logs.reshape(len(z), *self._rows)
        for one, other, beyond in self.crossed:
            steps = np.diff(np.diff(beyond, axis=1, prepend=0.0), axis=3, prepend=0.0)
            ramps = [
                np.stack([_ramps(side * z[:, i], self.nodes[i]) for side in (-1, 1)], axis=1)
                for i in (one, other)
            ]
            logs += np.einsum("dsa,dtb,satbpn->dpn", *ramps, steps, optimize=True)
        return self._level(logs, z)

    @property
    def _rows(self) -> tuple[int, int]:
        paths, count = self.power.shape
        return paths + (self.bays is not None), count

    def _level(self, logs: np.ndarray, z: np.ndarray) -> np.ndarray:
        """Change of the whole power [dB] (draws, n) from the logarithms of averages (draws, rows,
        n), with all inputs at z (draws, inputs)."""
        if self.bays is not None:
            logs = self.bays.added(logs[:, :-1], logs[:, -1]) + self.bays.moved(z)
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
    known: Known | None = None,
) -> ByPath:  # fmt: skip
    """What each input does to the paths of `design` in third octaves at `centres` (n,) [Hz].

    outside : kinds of inputs that do not touch the structure. known : powers as predicted
    and from where solved bays count, where they are not those of averages.
    """
    found = energy.transfer(design, centres, walls=False)
    names = tuple(found.paths)
    least = LEAST * found.power_per_force

    power = powers(found.paths, names, least)
    predicted, bays, solved = power, None, None
    if known is not None:
        predicted = powers(known.paths, names, least)
        bays = in_bays(design, items, centres, known, found.paths, least)
        if design.old_ceiling is not None:
            solved = SolvedAnew(design, centres[known.first :], names, least[known.first :])

    def rows(*changes: tuple[Input, float]) -> np.ndarray:
        """Logarithms (rows, n) of what a design with inputs moved has over what was drawn."""
        one = design
        for item, z in changes:
            one = item.change(one, z)
        other = energy.transfer(one, centres, walls=False).paths
        logs = np.log(powers(other, names, least) / power)
        if bays is None:
            return logs
        # bays take hangers to push as at rest: no resonance inside them
        pushed = POINTS in names and all(item.key != WAVES for item, _ in changes)
        return np.vstack([logs, logs[names.index(POINTS)] if pushed else np.zeros(len(centres))])

    nodes, moved = [], []
    for item in items:
        bent = item.kind in BENT and item.part != "damping"
        nodes.append(SHARP if item.key == WAVES else BOWED if bent else STRAIGHT)
        own = None if item.kind in outside else np.array([
            [rows((item, sign * z)) for z in nodes[-1]] for sign in (-1, 1)
        ])  # fmt: skip
        if own is not None and solved is not None and item.part in ANEW:
            here = own[:, 0, :-1, -len(solved.centres) :]
            here[:] = solved.ends(item, here)
            own[..., -1, :] = own[..., names.index(CAVITY), :]  # what hangers push is in it
        moved.append(own)
    keys, crossed = [item.key for item in items], []
    for i, j in (map(keys.index, pair) for pair in PAIRS if {*pair} <= {*keys}):
        own, other = moved[i], moved[j]
        assert own is not None
        assert other is not None
        both = np.array([
            [[[rows((items[i], one * z), (items[j], two * y)) for y in nodes[j]]
              for two in (-1, 1)] for z in nodes[i]] for one in (-1, 1)
        ])  # fmt: skip
        beyond = both - own[:, :, None, None] - other[None, None]
        if bays is not None and keys[i] == WAVES:
            beyond[..., -1, :] = 0
        crossed.append((i, j, beyond))
    return ByPath(predicted, tuple(nodes), tuple(moved), tuple(crossed), bays)

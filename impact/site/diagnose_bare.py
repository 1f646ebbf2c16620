"""What a measurement below the bare floor tells of the one below the ceiling.

Both come through the same floor, and from the same models. With b the levels below the bare floor,
measured minus predicted, and r those below the ceiling, inputs move both, and so do errors of the
models: of the floor, of the blow, of the room. Taken as Gaussian together,

    cov(r, b) = X = SHARED u u' shape + D_rb ,    cov(b, b) = S = u u' shape + D_bb + v² ,

u the models' own error with its shape over the bands (`site.diagnose_errors`), v that of the
measurement, D what inputs do to one and the other. Knowing b, r is to be expected K b higher than
predicted, K = X S^-1, and is known to K X' better (any textbook of Gaussian conditioning: C. E.
Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning, 2006, eq. A.6). On each
floor of the search with its kernel the same holds about the levels of that floor, and a floor
weighs as its density of b says.

SHARED, the correlation of the models' errors below floor and ceiling, is judgement: blow, floor and
room are shared, which is all below the bare floor; cavity, hangers and boards come on top, which
make the larger part of what the models do. No floor measured with and without its ceiling tells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.base import bands
from impact.design.parts import Design
from impact.site.calibrate import Bare
from impact.site.diagnose_errors import PredictionError
from impact.spread.draws import summed
from impact.spread.expansion import draws
from impact.spread.inputs import END, Input, changed

SHARED = 0.5


@dataclass(frozen=True, eq=False)
class Measured:
    """bands_hz (k,) nominal third octaves [Hz]. level (k,) [dB], deviation (k,) its standard
    uncertainty [dB]."""

    bands_hz: tuple[float, ...]
    level: np.ndarray
    deviation: np.ndarray


@dataclass(frozen=True, eq=False)
class BareFloor:
    """A measurement below the bare floor, and what is known of it.

    bands_hz (k,). residual (k,) measured minus predicted [dB], deviation (k,) of the measurement
    [dB]. levels : (floors, 28) below the bare floor on each floor of the search [dB]. inputs,
    across : (28, 28) covariances by inputs [dB²], of bare levels, and of those below the ceiling
    (rows) with bare ones.
    """

    bands_hz: tuple[float, ...]
    residual: np.ndarray
    deviation: np.ndarray
    levels: np.ndarray
    inputs: np.ndarray
    across: np.ndarray
    shared: float = SHARED

    def known(self, bands_hz: Sequence[float], wide: float = 1.0, goes: float = 1.0) -> Known:
        """What is known of levels in other bands (n,), nominal [Hz], from these on floors whose
        kernels are `wide`, 0..1; at 1 without floors. goes : of what inputs do within a kernel to
        the level without a fault, the share that levels with it go along."""
        of, to = ([bands.index(float(band)) for band in which] for which in
                  (self.bands_hz, bands_hz))  # fmt: skip
        every = bands.NOMINAL
        models = PredictionError().covariance(every)
        own = models[np.ix_(of, of)] + np.diag(self.deviation**2)
        own += wide**2 * self.inputs[np.ix_(of, of)]
        cross = self.shared * models[np.ix_(to, of)]
        cross += goes * wide**2 * self.across[np.ix_(to, of)]
        about = np.zeros((1, len(of)))
        if wide < 1:
            moved = (self.levels - self.levels[0])[:, of]
            middle = np.mean(moved, axis=0)
            about = middle + np.sqrt(1 - wide**2) * (moved - middle)
        gain = np.linalg.solve(own, cross.T).T
        off = self.residual - about
        square = np.sum(off * np.linalg.solve(own, off.T).T, axis=1)
        return Known(off @ gain.T, gain @ cross.T, -0.5 * (square - np.min(square)))


@dataclass(frozen=True, eq=False)
class Known:
    """shift : (floors, n) by which levels are to be expected higher [dB]. less : (n, n) covariance
    that is known away [dB²]. log_weight : (floors,) of each floor, the best 0."""

    shift: np.ndarray
    less: np.ndarray
    log_weight: np.ndarray


def bare_floor(
    design: Design, floors: Sequence[Design], source: str, measured: Measured,
    items: Sequence[Input] = (), moved: np.ndarray | None = None,
) -> BareFloor:  # fmt: skip
    """What is known of a measurement of `source` below the bare floor of a design.

    floors : of the search, the design first. items : inputs of the design. moved : (DRAWS, 28) what
    they do to the levels below the ceiling [dB], at z as `spread.expansion.draws` has them. The
    blow, of which these know nothing, is taken to move both alike.
    """
    places = np.array([bands.index(band) for band in measured.bands_hz])
    bare = Bare(design, source, places)
    levels = np.array([bare.levels(floor) for floor in floors])
    inputs = across = np.zeros((len(bands.NOMINAL),) * 2)
    if moved is not None and len(moved):
        ends = np.array([
            [bare.levels(changed(design, items, side * one)) - levels[0] for side in (-END, END)]
            for one in np.eye(len(items))
        ])  # fmt: skip
        blow = np.array([item.kind == "blow" for item in items])
        z = draws(len(items))
        both = np.cov(np.hstack([moved + summed(ends, z * blow), summed(ends, z)]).T)
        size = len(bands.NOMINAL)
        across, inputs = both[:size, size:], both[size:, size:]
    residual = measured.level - levels[0][places]
    return BareFloor(measured.bands_hz, residual, measured.deviation, levels, inputs, across)

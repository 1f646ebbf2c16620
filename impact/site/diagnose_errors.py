"""How far a measurement may lie from a prediction of the right ceiling: the stated covariance.

The error of the models, u_i in band i, what inputs do to the levels, D_ij (`inputs`), and the
measurement's own error, v_i (`site.measured.deviations`), as Gaussians in dB:

    C_ij = u_i u_j ( COMMON + SMOOTH exp(-|i - j| / REACH) + SINGLE [i = j] )
           + D_ij + v_i² [i = j] ,

with i, j the places of third octaves. The common part is the base level, a nuisance: a fault is not
inferred from a shift that all bands share. How the variance divides is judgement: errors of loss,
mass and of the blow move all bands, those of stiffness their neighbourhood, single modes one band.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from impact.base import bands
from impact.spread import model_error

COMMON, SMOOTH, SINGLE = 0.4, 0.3, 0.3  # shares of the variance, sum 1
REACH = 3.0  # third octaves
BANDS = len(bands.NOMINAL)


@dataclass(frozen=True, eq=False)
class PredictionError:
    """deviation : (28,) standard uncertainty of the predicted levels [dB]; default: the models' own
    error, without that of the inputs. inputs : (28, 28) covariance of the levels by inputs [dB²],
    beside the deviation; default: none, or part of the deviation."""

    deviation: np.ndarray = field(default_factory=model_error.by_band)
    inputs: np.ndarray = field(default_factory=lambda: np.zeros((BANDS, BANDS)))

    def covariance(self, bands_hz: Sequence[float]) -> np.ndarray:
        """(n, n) [dB²] for nominal third octaves [Hz], of models and inputs."""
        places = np.array([bands.index(float(band)) for band in bands_hz])
        deviation = self.deviation[places]
        apart = np.abs(places[:, None] - places[None])
        shared = COMMON + SMOOTH * np.exp(-apart / REACH) + SINGLE * (apart == 0)
        return np.asarray(np.outer(deviation, deviation) * shared) + self.by_inputs(bands_hz)

    def by_inputs(self, bands_hz: Sequence[float]) -> np.ndarray:
        """(n, n) [dB²]: the part of the covariance that inputs make."""
        places = [bands.index(float(band)) for band in bands_hz]
        return self.inputs[np.ix_(places, places)]


def width(floors: int, inputs: np.ndarray, rest: np.ndarray) -> float:
    """Width h of the kernels about floors whose inputs are drawn, as a share of how far inputs
    move the levels: 0..1, 1 for a single floor.

    Silverman's rule for n floors in d directions, h = (4/(n (d + 2)))^(1/(d + 4)) (B. W.
    Silverman, Density Estimation for Statistics and Data Analysis, 1986, sec. 4.3.2), with d how
    many of the directions inputs fill: (sum of w)²/(sum of w²) of their variances w in units of
    the other errors. inputs, rest : (n, n) covariances [dB²] of inputs, and of all else.
    """
    if floors < 2 or not inputs.any():
        return 1.0
    share = np.linalg.eigvals(np.linalg.solve(rest, inputs)).real
    filled = float(np.sum(share) ** 2 / np.sum(share**2))
    return min(1.0, float((4 / (floors * (filled + 2))) ** (1 / (filled + 4))))

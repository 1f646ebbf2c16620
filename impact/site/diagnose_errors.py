"""How far a measurement may lie from a prediction of the right ceiling: the stated covariance.

The error of the prediction, u_i in band i, and the measurement's own, v_i
(`site.measured.deviations`), as Gaussians in dB:

    C_ij = u_i u_j ( COMMON + SMOOTH exp(-|i - j| / REACH) + SINGLE [i = j] ) + v_i² [i = j] ,

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


@dataclass(frozen=True, eq=False)
class PredictionError:
    """deviation : (28,) standard uncertainty of the predicted levels [dB]; default: the models' own
    error, without that of the inputs."""

    deviation: np.ndarray = field(default_factory=model_error.by_band)

    def covariance(self, bands_hz: Sequence[float]) -> np.ndarray:
        """(n, n) [dB²] for nominal third octaves [Hz]."""
        places = np.array([bands.index(float(band)) for band in bands_hz])
        deviation = self.deviation[places]
        apart = np.abs(places[:, None] - places[None])
        shared = COMMON + SMOOTH * np.exp(-apart / REACH) + SINGLE * (apart == 0)
        return np.asarray(np.outer(deviation, deviation) * shared)

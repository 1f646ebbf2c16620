"""How far a measurement may lie from a prediction of the right ceiling: the stated covariance.

Three parts of model error, as Gaussians in decibels, and the measurement's own uncertainty:

    C = common² 1 1^T + smooth² exp(-|i - j| / reach) + diag(single_i²) + diag(measurement_i²) ,

with i, j the places of third octaves. The common part is the base level, a nuisance: a fault is not
inferred from a shift that all bands share. Sizes are judgement, and in line with the one measured
timber floor at hand (ISO 12354-2:2017 G.2: mean error 4.4 dB, mean absolute error 4.7 dB).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from impact.rating.onsite import site_deviation

# Beyond ISO 12999-1 Table 4 as known here (50 to 315 Hz): estimates, check the standard.
BELOW_50 = {10.0: 6.0, 12.5: 6.0, 16.0: 5.5, 20.0: 5.0, 25.0: 4.5, 31.5: 4.0, 40.0: 3.6}  # dB
ABOVE_315, ABOVE_2500 = 1.3, 2.0  # dB, up to 2.5 kHz and above it


@dataclass(frozen=True)
class ModelError:
    """Standard deviations of the model's own error [dB]; judgement, see above.

    common : of the level of all bands together. smooth : shared by neighbours over `reach` thirds.
    single_low, single_high : of single bands, up to 80 Hz and from 315 Hz, between them in line
    with the number of the band: few modes make single bands uncertain.
    """

    common: float = 3.0
    smooth: float = 2.5
    reach: float = 3.0
    single_low: float = 3.0
    single_high: float = 1.5

    def covariance(self, bands_hz: Sequence[float]) -> np.ndarray:
        """(n, n) [dB²] for nominal third octaves [Hz]."""
        place = 10 * np.log10(np.asarray(bands_hz, float))
        apart = np.abs(place[:, None] - place[None])
        single = np.interp(place, 10 * np.log10([80.0, 315.0]), [self.single_low, self.single_high])
        return (
            self.common**2 + self.smooth**2 * np.exp(-apart / self.reach) + np.diag(single**2)
        )


def measurement_deviation(bands_hz: Sequence[float]) -> np.ndarray:
    """Standard deviation of a measurement on site (n,) [dB] for nominal third octaves [Hz].

    ISO 12999-1:2020 Table 4 (same place, other team) from 50 to 315 Hz, estimates outside.
    """
    known = site_deviation(bands_hz)
    other = [
        BELOW_50.get(float(band), ABOVE_315 if band <= 2500 else ABOVE_2500) for band in bands_hz
    ]
    return np.where(np.isnan(known), other, known)

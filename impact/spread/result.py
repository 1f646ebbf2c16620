"""What is known of the spread of a prediction: its 90 % band and what makes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.spread.inputs import END

if TYPE_CHECKING:
    from impact.spread.expansion import Effects

COVERAGE = 0.90
UNCALIBRATED = "uncalibrated below 50 Hz"


@dataclass(frozen=True)
class Share:
    """How much of the spread of one quantity an input is responsible for.

    of_variance : 0..1, its first-order index. low_db, high_db : change of the quantity with the
    input at the low and at the high end of its range.
    """

    key: str
    label: str
    measure: str
    of_variance: float
    low_db: float
    high_db: float


@dataclass(frozen=True, eq=False)
class Spread:
    """The 90 % band of a prediction.

    low, high : source -> (28,) [dB]. numbers : "thud" (barefoot walker over threshold, 16-80 Hz)
    and "Ln_w_plus_CI" -> {"low_db", "high_db"} about the prediction [dB], input and model error.
    shares : the same names -> what makes the spread of the inputs, largest first.
    model_db : (28,) standard uncertainty of the model [dB]. method : how the band was found.
    calibrated_below_50 : whether enough measured bands stand behind it there.
    remark : what else is to be known of the method, "" for nothing. effects : what the band was
    found from (`expansion.Effects`), for `impact.spread.samples`.
    """

    low: dict[str, np.ndarray]
    high: dict[str, np.ndarray]
    numbers: dict[str, dict[str, float]]
    shares: dict[str, list[Share]]
    model_db: np.ndarray
    method: str
    calibrated_below_50: bool
    remark: str = ""
    effects: Effects | None = None

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON, without the bands themselves."""
        return {
            "coverage": COVERAGE,
            "method": self.method,
            "remark": self.remark,
            "model_standard_uncertainty_db": [round(float(x), 2) for x in self.model_db],
            "calibrated_below_50_hz": self.calibrated_below_50,
            "calibration": "" if self.calibrated_below_50 else UNCALIBRATED,
            "numbers": self.numbers,
            "measure_next": {
                name: [vars(share) for share in shares] for name, shares in self.shares.items()
            },
        }


def limits(
    level: np.ndarray, changes: np.ndarray, model: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """5 % and 95 % points of a level (…): of its `changes` (draws, …) about their median, with the
    model's standard uncertainty in quadrature [dB]."""
    five, middle, most = np.percentile(changes, [5, 50, 95], axis=0)
    below = np.hypot(middle - five, END * model)
    above = np.hypot(most - middle, END * model)
    return level + middle - below, level + middle + above

"""Faults put down by hand, and a measurement, shared by the tests of the search for faults."""

from __future__ import annotations

import numpy as np

from impact.base import bands
from impact.site.bench import Change
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.site.faults import Member
from impact.site.measured import Measurement, deviations

BANDS = bands.NOMINAL[7:20]  # 50 to 800 Hz
ERROR = PredictionError(np.full(28, 4.0))  # whatever the models' own error comes to be


def by_hand() -> Ensemble:
    """Two faults with signatures put down by hand: a slope up and a hump."""
    place = np.arange(28)
    slope, hump = np.clip(place - 7.0, 0, 15), 16 * np.exp(-(((place - 12) / 2.0) ** 2))
    made = {
        "bridged": [slope, 1.5 * slope, 0.1 * slope],
        "fill missing": [hump, 1.2 * hump],
        "level": [0.01 * hump],
    }
    cases = {
        key: [Member(n + 1, f"case {n + 1}", Change(air=key)) for n in range(len(rows))]
        for key, rows in made.items()
    }
    return Ensemble(30, cases, {key: np.array(rows) for key, rows in made.items()})


def measured(level: np.ndarray, band_list=BANDS, **changes) -> Measurement:
    return Measurement(
        tuple(band_list), level, deviations(band_list), "tapping_machine", ("taken",),
        metric="ln", **changes,
    )  # fmt: skip

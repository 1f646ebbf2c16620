"""A prediction put together by hand, for tests of what is printed and drawn: nothing is computed.

Every source has the same flat spectrum: 60.3 dB bare, 50.3 dB with the ceiling, 40.3 dB at best.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import designs
import numpy as np

from impact.advice.findings import Lever, Warning
from impact.advice.resonance import Resonances
from impact.base.cautions import CAUTIONS
from impact.chain import Prediction
from impact.design.origin import Default
from impact.design.parts import Target
from impact.heard import strikes
from impact.motion.whole import CoupledMode

BARE, CEILING, BEST = 60.3, 50.3, 40.3
RATINGS = {
    "Ln_w": 50, "CI": 1, "CI_50_2500": 5, "IIC": 58, "HIIC": 60, "LIIC": 40, "LiA_Fmax": 55,
    "unfavourable_sum_db": 30.0,
}  # fmt: skip
RESONANCES = Resonances(
    floor_fundamental=18.0, hanger_only=10.0, air_only=24.0, mass_spring_mass=26.0,
    air_spring=300e3, hanger_spring=100e3, floor_mass=40.0, ceiling_mass=20.0,
    coupled=(
        CoupledMode(12.0, (0.2, 0.7, 0.1), 0.30),
        CoupledMode(15.0, (0.0, 1.0, 0.0), 0.001),
        CoupledMode(20.0, (0.8, 0.1, 0.1), 0.001),
    ),
    leaf_names=("floor", "ceiling"),
)  # fmt: skip


def flat(level: float) -> dict[str, np.ndarray]:
    """The same level in all bands of all sources."""
    return {name: np.full(28, level) for name in strikes.SOURCES}


def by_hand(target: Target | None = None, **changes: Any) -> Prediction:
    """The prediction of this file; `changes` are fields of `Prediction`."""
    design = replace(
        designs.basement(), target=target, digest="0123456789abcdef",
        note="Invented for tests, a note that is long enough to be broken at eighty columns.",
        defaults=(Default("floor.loss_factor", "0.06", "from memory"),),
        warnings=("joists: an invented remark",),
    )  # fmt: skip
    joined: Any = SimpleNamespace(
        crossover=11, power={}, flanking={}, notes=(),
        mismatch_db={name: np.array([1.0, -2.0, 0.04]) for name in ("design", "bare", "best")},
        missing={"ceiling": np.full(13, 0.05), "bare": np.full(13, 0.02)},
    )  # fmt: skip
    made = Prediction(
        design=design, joined=joined, resonances=RESONANCES, levels=flat(CEILING), bare=flat(BARE),
        best=flat(BEST), ratings=RATINGS, ratings_bare={**RATINGS, "Ln_w": 80},
        warnings=[Warning("resonance_in_footfall_range", "high", "A message.", 25.0, 2.0)],
        levers=[Lever("mass", "one more layer", 2.5, 16.0, 4.4)], cautions=CAUTIONS,
    )  # fmt: skip
    return replace(made, **changes)

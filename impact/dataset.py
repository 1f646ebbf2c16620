"""A prediction as a labelled Dataset with units, version, design hash and the defaults used."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import xarray

from impact import __version__
from impact.base import bands
from impact.heard import strikes

if TYPE_CHECKING:
    from impact.advice.resonance import Resonances
    from impact.chain import Prediction
    from impact.heard.joined import Joined

DECIBELS = {"units": "dB", "reference": "20 uPa"}
LONG = {
    "level": "level in the room below",
    "level_bare": "level below the same floor without the new ceiling",
    "level_best_case": "level with perfect hangers",
    "level_in_building": "level in the room below, flanking walls included",
}
# Parts of the JSON answer that are variables or attributes of their own; `summary` has the rest.
APART = (
    "version", "design", "design_sha256", "bands_hz", "levels_db", "levels_bare_db",
    "levels_best_case_db", "levels_low_db", "levels_high_db", "levels_in_building_db",
    "coupled_modes", "crossover_mismatch_db", "truncation_error_db", "cautions", "defaults_used",
)  # fmt: skip


def dataset(prediction: Prediction) -> xarray.Dataset:
    """Dataset over `band` (nominal Hz) and `source`; attributes tell where it comes from, and
    `summary` holds as JSON what is no spectrum: ratings, people, loads, target, spread, notes.
    """
    sources = list(prediction.levels)
    out = xarray.Dataset(coords={
        "band": ("band", np.array(bands.NOMINAL), {"long_name": "nominal third octave",
                                                    "units": "Hz"}),
        "source": ("source", sources),
        "quantity": ("source", [strikes.SOURCES[s].kind for s in sources],
                     {"long_name": "what the levels of a source are"}),
    })  # fmt: skip
    _levels(out, prediction, sources)
    if prediction.joined.flanking:
        out = out.assign_coords(wall=("wall", list(prediction.joined.flanking)))
    _powers(out, prediction.joined)
    _errors(out, prediction.joined)
    _modes(out, prediction.resonances)
    out = out.assign_coords(leaf=("leaf", [*prediction.resonances.leaf_names, "air"]))
    answer = prediction.as_dict()
    out.attrs = {
        "title": prediction.design.name,
        "impact_version": __version__,
        "design_sha256": prediction.design.digest,
        "defaults_used": json.dumps(answer["defaults_used"]),
        "cautions": " ".join(answer["cautions"]),
        "summary": json.dumps({k: v for k, v in answer.items() if k not in APART}),
    }
    return out


def _levels(out: xarray.Dataset, prediction: Prediction, sources: list[str]) -> None:
    """Levels and the ends of their 90 % band, over source and band."""
    values = {
        "level": (prediction.levels, LONG["level"]),
        "level_bare": (prediction.bare, LONG["level_bare"]),
        "level_best_case": (prediction.best, LONG["level_best_case"]),
    }
    if prediction.building:
        values["level_in_building"] = (prediction.building, LONG["level_in_building"])
    if prediction.spread is not None:
        for name, by_source, end in (
            ("level_low", prediction.spread.low, "5 %"),
            ("level_high", prediction.spread.high, "95 %"),
        ):
            values[name] = (by_source, f"level in the room below, {end} point")
    for name, (by_source, long_name) in values.items():
        stacked = np.array([by_source[s] for s in sources])
        out[name] = (("source", "band"), stacked, {"long_name": long_name, **DECIBELS})


def _powers(out: xarray.Dataset, joined: Joined) -> None:
    """Power per mean-square force, radiated by walls and below each variant."""
    if joined.flanking:
        out["power_per_force_flanking"] = (
            ("wall", "band"), np.array(list(joined.flanking.values())),
            {"long_name": "power radiated by each wall per mean-square force", "units": "W N-2"},
        )  # fmt: skip
    for name, power in joined.power.items():
        out[f"power_per_force_{name}"] = (
            "band", power,
            {"long_name": f"radiated power per mean-square force, {name}", "units": "W N-2"},
        )  # fmt: skip


def _errors(out: xarray.Dataset, joined: Joined) -> None:
    """What modes and energy differ by where they are joined, and what modes left out may be."""
    about = np.arange(joined.crossover - 1, joined.crossover + 2)
    out["crossover_band"] = (
        "about_crossover", np.array(bands.NOMINAL)[about],
        {"long_name": "bands over which modes and energy are joined", "units": "Hz"},
    )  # fmt: skip
    for name, difference in joined.mismatch_db.items():
        out[f"crossover_mismatch_{name}"] = (
            "about_crossover", difference,
            {"long_name": f"energy minus modes, unblended, {name}", "units": "dB"},
        )  # fmt: skip
    for name, error in joined.missing.items():
        padded = np.full(len(bands.NOMINAL), np.nan)
        padded[: len(error)] = error
        out[f"truncation_error_{name}"] = (
            "band", padded,
            {"long_name": f"estimate of what modes and motions left out would change, {name}",
             "units": "dB"},
        )  # fmt: skip


def _modes(out: xarray.Dataset, r: Resonances) -> None:
    """Coupled modes: frequency, who moves, how far the ceiling moves as one."""
    out["coupled_mode_frequency"] = (
        "mode", np.array([m.frequency for m in r.coupled]),
        {"long_name": "frequency of a coupled mode", "units": "Hz"},
    )  # fmt: skip
    out["coupled_mode_share"] = (
        ("mode", "leaf"), np.array([m.share for m in r.coupled]).reshape(-1, len(r.leaf_names) + 1),
        {"long_name": "share of kinetic energy", "units": "1"},
    )  # fmt: skip
    out["coupled_mode_heave"] = (
        "mode", np.array([m.heave for m in r.coupled]),
        {"long_name": "how far the lowest leaf moves as one", "units": "1"},
    )  # fmt: skip

"""What the trials solve slowly, kept in a folder so that it is solved once."""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np

from impact.base import bands
from impact.design.reader import read
from impact.site import diagnose_cases
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.spread.expansion import draws
from validation.fault_trials import trials
from validation.fault_trials.trials import Truth

T = TypeVar("T")


def searched(path: Path, folder: Path | None = None) -> tuple[Ensemble, PredictionError]:
    """The cases of the search for a design file, and what `impact diagnose` holds of the error."""

    def solve() -> tuple[Ensemble, PredictionError]:
        from impact.chain import predict
        from impact.site.diagnose_measured import error

        design = read(str(path))
        known = diagnose_cases.ensemble(design, trials.SEARCH_SEED, bands_hz=trials.WIDE)
        return known, error(predict(design), "tapping_machine")

    return _once(folder, path, "search", solve)


def moved_by_inputs(path: Path, folder: Path | None = None) -> np.ndarray:
    """(draws, 28): what inputs do to the levels below the ceiling of a design file [dB]; none are
    drawn where it has no ranges."""

    def solve() -> np.ndarray:
        from impact.chain import predict

        spread = predict(read(str(path))).spread
        if spread is None or spread.effects is None or not spread.effects.items:
            return np.zeros((0, len(bands.NOMINAL)))
        return np.asarray(spread.effects.changes(draws(len(spread.effects.items))))

    return _once(folder, path, "moved", solve)


def building(path: Path, seed: int, spread: str, folder: Path | None = None) -> Truth:
    """One building of a design file, as of `trials.truth`."""

    def solve() -> Truth:
        return trials.truth(read(str(path)), seed, repeats=4, spread=spread)

    return _once(folder, path, f"{spread}_{seed}", solve)


def _once(folder: Path | None, path: Path, what: str, solve: Callable[[], T]) -> T:
    """`solve()`, or what it gave before for the same design file; it knows nothing of changes of
    the models: empty the folder then."""
    if folder is None:
        return solve()
    digest = hashlib.sha256(path.read_bytes()).hexdigest()[:12]
    place = folder / f"{path.stem}_{digest}_{what}.pickle"
    if place.exists():
        found: T = pickle.loads(place.read_bytes())
        return found
    made = solve()
    folder.mkdir(parents=True, exist_ok=True)
    part = place.with_suffix(".part")
    part.write_bytes(pickle.dumps(made))
    part.replace(place)
    return made

"""What the project gives for one comparison of a case."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from impact.base import bands, levels
from impact.design.parts import Design
from impact.errors import Fault, InputError
from impact.sound import room
from validation.case import Case, Item
from validation.formulas import FORMULAS
from validation.ratings import RATINGS


def ours(case: Case, item: Item) -> np.ndarray:
    """Our levels at the published bands, or our rating, (n,) in the units of the source.

    Raises InputError for bands that a rating lacks and for values that a formula does not take.
    """
    row = item.row
    if "formula" in row:
        return _formula(case, item)
    if "spectrum" in row:
        return np.array([_rate(case, item, *item.spectrum)])
    if "rating" in row:
        return np.array([_rate(case, item, bands.NOMINAL, _predicted(case, item))])
    found = _at(_levels(case, item, str(row["design"])), item)
    if "without" in row:  # an improvement: the floor without it less the floor with it
        return _at(_levels(case, item, str(row["without"])), item) - found
    return found


def over_rebounds(case: Case, item: Item) -> tuple[float, float] | None:
    """A rating predicted for the tapping machine with a rebound of 0 and of 1 as given, the range
    that measurements find, as far as the floor leaves it; the rebound moves all bands alike by
    20 lg(1 + e). None for all else."""
    row = item.row
    if "design" not in row or "rating" not in row or "without" in row:
        return None
    if row.get("source", "tapping_machine") != "tapping_machine":
        return None
    found = _predicted(case, item)
    used, most = predict(case.folder / str(row["design"])).rebounds
    low, high = (_rate(case, item, bands.NOMINAL, found + 20 * np.log10((1 + e) / (1 + used)))
                 for e in (0.0, most))  # fmt: skip
    return low, high


def _at(found: np.ndarray, item: Item) -> np.ndarray:
    """Third octaves (28,) at the bands compared; octaves are sums of their three thirds."""
    places = [bands.index(band) for band in item.bands_hz]
    if not item.octaves:
        return found[places]
    return np.array([
        levels.add(found[max(i - 1, 0) : i + 2]) for i in places
    ])  # fmt: skip


def _predicted(case: Case, item: Item) -> np.ndarray:
    """Third octaves (28,) to be rated: levels, or improvements."""
    row = item.row
    found = _levels(case, item, str(row["design"]))
    if "without" in row:
        return _levels(case, item, str(row["without"])) - found
    return found


def _levels(case: Case, item: Item, design: str) -> np.ndarray:
    row = item.row
    found_for = predict(case.folder / design)
    by_source = found_for.levels[row.get("of", "ceiling")]
    source = row.get("source", "tapping_machine")
    found = np.asarray(by_source[source], float)
    if row.get("quantity", "Ln") == "LnT":  # ISO 12354-2:2017: L'nT = L'n - 10 lg(0.032 V)
        volume = float(row.get("volume_m3", room.volume(found_for.design, ceiling=False)))
        found = found - 10 * np.log10(0.032 * volume)
    return found


@dataclass(frozen=True, eq=False)
class Predicted:
    """levels : case ("ceiling", "bare", "best", "building") -> source -> (28,) [dB]. rebounds : of
    the hammers, as used, and the most that this floor leaves."""

    design: Design
    levels: dict[str, dict[str, np.ndarray]]
    rebounds: tuple[float, float]


@lru_cache(maxsize=64)
def predict(path: Path) -> Predicted:
    """A design file and its levels as `impact predict` has them, computed once; without what else a
    prediction tells."""
    import impact
    from impact import chain
    from impact.heard import strikes
    from impact.heard.joined import join

    design = impact.read(path)
    joined = join(design)
    levels = chain.band_levels(joined)
    levels["ceiling"] = levels.pop("design")
    levels["building"] = chain.in_building(joined, levels["ceiling"])[0]
    bouncing = replace(design, tapping=replace(design.tapping, rebound=1.0))
    rebounds = tuple(strikes.tapping_machine(one, joined.mobility)[0] for one in (design, bouncing))
    return Predicted(design, levels, (rebounds[0], rebounds[1]))


def _rate(case: Case, item: Item, bands_hz: Any, spectrum: Any) -> float:
    name = item.row["rating"]
    more: dict[str, Any] = {}
    if name == "IIC":
        more["edition"] = item.row.get("edition", case.edition)
    if name == "L_number":
        more = {"source": item.row.get("source", "heavy"),
                "grade_step": item.row.get("step", 1)}  # fmt: skip
    try:
        return float(RATINGS[name](bands_hz, spectrum, **more))
    except ValueError as error:  # bands that lack, or that are none
        raise InputError(str(case.folder), [Fault(item.name, f"{name}: {error}")]) from None


def _formula(case: Case, item: Item) -> np.ndarray:
    name, row = item.row["formula"], item.row
    given = {key: np.array(item.table[column]) for key, column in row.get("columns", {}).items()}
    try:
        found = FORMULAS[name](np.array(item.table.get("band_hz", [])), **row.get("values", {}),
                               **given)  # fmt: skip
    except TypeError as error:  # a value that it does not take, or lacks
        what = f"{error}; validation/formulas.py tells its values"
        raise InputError(str(case.folder), [Fault(f"{item.name}, {name}", what)]) from None
    if "rating" in row:
        return np.array([_rate(case, item, bands.NOMINAL, found)])
    if len(found) == len(bands.NOMINAL) != len(item.table["band_hz"]):
        return _at(found, item)
    return np.asarray(found, float)[item.places]

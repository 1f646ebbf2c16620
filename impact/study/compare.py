"""Designs side by side: by band and source, ratings, height and load, and one alarm.

The alarm is for the costliest mistake: a single number improves while the thud gets worse.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from impact.base import bands
from impact.chain import Prediction
from impact.rating import summary
from impact.sound import hearing
from impact.source import people
from impact.source.people import SOURCES as PEOPLE
from impact.study import quantities
from impact.study.changed import changed
from impact.study.layout import lay_out

LOW = (16.0, 200.0)  # Hz: bands that single numbers weigh little or not at all
WORSE = 1.0  # dB: a smaller mean rise over the low bands is no alarm; our own
OUT = "over_threshold_and_background_db"  # of a bar of `heard.walking.bar`
SILENT = hearing.GRADES[0][1]
SYMBOLS = {row.key: row.symbol for row in summary.ROWS}
BETTER = {"Ln_w": -1, "IIC": 1, "HIIC": 1, "LiA_Fmax": -1}  # sense of an improvement


@dataclass(frozen=True)
class Alarm:
    """A rating improved by `points` while the low bands rose by `rise_db` on average."""

    rating: str
    points: float
    rise_db: float
    worst_hz: float
    worst_db: float

    @property
    def message(self) -> str:
        """One sentence for people."""
        return (
            f"{SYMBOLS[self.rating]} improves by {self.points:g} while the low bands (16 to 200 Hz)"
            f" get {self.rise_db:.1f} dB worse on average, {self.worst_db:.1f} dB at"
            f" {self.worst_hz:g} Hz: no audible benefit for thud is to be expected."
        )


def difference(first: Prediction, second: Prediction) -> dict[str, np.ndarray]:
    """Source -> levels of the second minus the first (28,) [dB]; 0 where both are the same."""
    return {
        name: second.levels[name] - first.levels[name]
        for name in first.levels
        if name in second.levels
    }


def heard(first: Prediction, second: Prediction) -> dict[str, dict[str, float]]:
    """Source -> thud, knock and click -> second minus first as heard [dB]: bands over the threshold
    of hearing (`heard_level`). Of people alone, whose levels are those of the room described."""
    return {
        source: {
            name: hearing.heard_level(second.levels[source], region)
            - hearing.heard_level(first.levels[source], region)
            for name, region in bands.REGIONS.items()
        }
        for source in PEOPLE
        if source in first.levels and source in second.levels
    }


def loudest(first: Prediction, second: Prediction) -> dict[str, dict[str, Any]]:
    """Thud, knock and click -> what stands out most of any step, over hearing threshold and
    background, under both designs [dB], and what a listener makes of the change. Empty for
    predictions without people."""
    found = {}
    people = [p.extras.get("people") or {} for p in (first, second)]
    for region in bands.REGIONS if all(people) else ():
        before, now = (max(who["bars"][region][OUT] for who in each.values()) for each in people)
        known = (hearing.grade(each) != SILENT for each in (before, now))
        words = hearing.heard_words(now - before, *known)
        found[region] = {"first_db": before, "second_db": now, "words": words}
    return found


def names(predictions: Sequence[Prediction]) -> list[str]:
    """Names of designs; with their file names where one stands twice."""
    called = [p.design.name for p in predictions]
    return [
        f"{name} ({Path(p.design.path).name})" if called.count(name) > 1 and p.design.path else name
        for name, p in zip(called, predictions, strict=True)
    ]


def alarm(
    first: Mapping[str, Any], second: Mapping[str, Any], bands_hz: Sequence[float], change_db: Any
) -> Alarm | None:
    """Alarm when a rating of `second` beats `first` while the low bands worsen; None otherwise.

    first, second : ratings by key (Ln_w, IIC, ...; None where unknown). bands_hz (n,), change_db
    (n,) second minus first [dB]; bands outside 16 to 200 Hz do not count. The case behind it: a new
    build-up on a light floor, 11 dB better in the single number, 50 to 200 Hz worse by 7.5, 3.5,
    1.6, 1.1, 5.5, 3.1, 1.2 dB, and nobody heard a benefit (Swiss timber association, abstract).
    """
    low = [(b, c) for b, c in zip(bands_hz, change_db, strict=True) if LOW[0] <= b <= LOW[1]]
    if not low:
        return None
    rise = float(np.mean([c for _, c in low]))
    worst = max(low, key=lambda pair: pair[1])
    gains = {
        key: sense * (second[key] - first[key])
        for key, sense in BETTER.items()
        if first.get(key) is not None and second.get(key) is not None
    }
    best = max(gains, key=lambda key: gains[key], default=None)
    if best is None or gains[best] <= 0 or rise < WORSE:
        return None
    return Alarm(best, float(gains[best]), rise, float(worst[0]), float(worst[1]))


def compare(first: Prediction, second: Prediction) -> dict[str, Any]:
    """One object of plain numbers and text for two designs, as `--format json` prints it."""
    change = difference(first, second)
    found = alarm(first.ratings, second.ratings, bands.NOMINAL, change[people.BAREFOOT])
    name, other = names([first, second])
    return {
        "first": name,
        "second": other,
        "units": first.design.units,
        "changed": changed(first.design.path, second.design.path),
        "loudest": loudest(first, second),
        "bands_hz": [float(b) for b in bands.NOMINAL],
        "difference_db": {
            name: [round(float(x), 4) + 0.0 for x in values] for name, values in change.items()
        },
        "heard_db": {
            source: {region: round(x, 4) + 0.0 for region, x in one.items()}
            for source, one in heard(first, second).items()
        },
        "ratings_first": first.ratings,
        "ratings_second": second.ratings,
        "height_used_m": [p.design.taken for p in (first, second)],
        "finished_height_m": [finished_height(p) for p in (first, second)],
        "ceiling_mass_kg_m2": [p.resonances.ceiling_mass for p in (first, second)],
        "worst_hanger_load_n": [worst_load(p) for p in (first, second)],
        "cost": [cost(p) for p in (first, second)],
        "cost_without": [unpriced(p) for p in (first, second)],
        "mass_spring_mass_hz": [p.resonances.mass_spring_mass for p in (first, second)],
        "alarms": [] if found is None else [{**vars(found), "message": found.message}],
        "cautions": list(dict.fromkeys((*first.cautions, *second.cautions))),
    }


def finished_height(prediction: Prediction) -> float | None:
    """Least height left in the room below [m], with the long-term sag; None without loads."""
    return prediction.loads.headroom.lowest if prediction.loads else None


def worst_load(prediction: Prediction) -> float | None:
    """Greatest load on one hanger [N]; None where nothing hangs or loads were not checked."""
    worst = prediction.loads.worst if prediction.loads else None
    return None if worst is None else float(worst.load)


def cost(prediction: Prediction) -> float | None:
    """What is bought for the ceiling at the design's prices, in its currency; None without them."""
    return _priced(prediction)[0]


def unpriced(prediction: Prediction) -> list[str]:
    """Kinds of what is bought and has no price, so that `cost` leaves it out; empty without any."""
    sum_known, missing = _priced(prediction)
    return list(dict.fromkeys(name.split(":")[0] for name in missing if sum_known is not None))


def _priced(prediction: Prediction) -> tuple[float | None, tuple[str, ...]]:
    """As `quantities.total` of the design's bill."""
    design = prediction.design
    return quantities.total(lay_out(design).items) if design.prices else (None, ())

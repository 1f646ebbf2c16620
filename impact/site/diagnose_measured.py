"""The search for a fault with a prediction and a measurement on site at its ends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from impact.base import bands
from impact.base.bands import label, named
from impact.chain import Prediction
from impact.design.fixings import said_of
from impact.errors import Fault, InputError
from impact.site import diagnose, diagnose_cases, faults, mistaken
from impact.site.diagnose import AS_DESIGNED, Diagnosis, Hypothesis
from impact.site.diagnose_beside import Beside, WorthReading, usable, worth_bands, worth_reading
from impact.site.diagnose_cases import FLOORS, Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.site.measured import Measurement
from impact.spread.expansion import draws
from impact.spread.inputs import END

STIFFER = ("bridged", "overloaded", "mis-seated", "wrong hanger")  # points hand on more than drawn
SHOWN_SHIFT = 1.0  # dB: a signature is told where it moves a band by as much


@dataclass(frozen=True, eq=False)
class Search:
    """A diagnosis with what it rests on. left_out : sentences on bands that were not used. floors :
    number of floors on which faults were tried. times : what was told of faults beforehand, as
    of `diagnose.Scales`. beside : what was brought beside the spectrum."""

    prediction: Prediction
    measured: Measurement
    found: Diagnosis
    left_out: tuple[str, ...]
    floors: int = 1
    times: Mapping[str, float] = field(default_factory=dict)
    beside: Beside = field(default_factory=Beside)

    @property
    def suspects(self) -> list[str]:
        """Keys of the faults that the data point to: the first, and what they do not tell from it;
        none where as designed comes first and clearly."""
        first = [one.key for one in self.found.ranked[:1] if one.key != AS_DESIGNED]
        return [*first, *self.found.alike]

    @property
    def stiffer(self) -> float | None:
        """Probability that hangers are stiffer than drawn, for whichever of STIFFER; None where the
        data do not point to two of these. Another type counts where all sizes that fit are."""
        found = [one for one in self.found.ranked if one.key in STIFFER and not _softer(one)]
        if sum(one.key in self.suspects for one in found) < 2:
            return None
        return sum(one.probability for one in found)

    @property
    def tests(self) -> list[tuple[str, str]]:
        """(key, test on site), least effort first: of the suspects; where there are none, of the
        faults that would not show in this measurement."""
        keys = self.suspects or self.found.faint
        order = sorted(keys, key=lambda key: faults.FAULTS[key].effort)
        return [(key, self.fault(key).test) for key in order]

    @cached_property
    def next_reading(self) -> WorthReading | None:
        """Deflections worth reading, where none were given."""
        if self.beside.deflections is not None:
            return None
        return worth_reading(self.prediction.design, self.suspects)

    @property
    def next_bands(self) -> tuple[float, float] | None:
        """Lowest and highest band [Hz] worth measuring, where the file has less and no deflections
        were given, which tell more."""
        if self.beside.deflections is not None:
            return None
        return worth_bands(self.found.bands_hz, self.suspects)

    @property
    def said(self) -> str:
        """What the measurement is held for, in the words of `mistaken`."""
        return mistaken.in_words(self.measured.source, mistaken.CEILING)

    @property
    def nearer(self) -> tuple[str, float, float] | None:
        """What the levels look like instead, as `mistaken.nearer` gives it."""
        return self._instead(self.measured, self.said)

    @property
    def said_bare(self) -> str:
        """What the measurement below the bare floor is held for; "" without one."""
        bare = self.beside.bare
        return "" if bare is None else mistaken.in_words(bare.source, mistaken.BARE)

    @property
    def bare_nearer(self) -> tuple[str, float, float] | None:
        """What the levels below the bare floor look like instead."""
        bare = self.beside.bare
        return None if bare is None else self._instead(bare, self.said_bare)

    def _instead(self, measured: Measurement, said: str) -> tuple[str, float, float] | None:
        level = np.where(measured.limit, np.nan, measured.level_db)
        return mistaken.instead(self.prediction, said, measured.bands_hz, level)

    def fault(self, key: str) -> faults.Fault:
        """The fault in words for what holds this ceiling. Raises KeyError for another key."""
        return faults.worded(key, self.prediction.design.hangers)

    def name(self, one: Hypothesis) -> str:
        """What an explanation is called, in words for what holds this ceiling."""
        return said_of(self.prediction.design.hangers, one.name)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON."""
        found = self.found
        return {
            "design": self.prediction.design.name,
            "design_sha256": self.prediction.design.digest,
            "source": self.measured.source,
            "floors": self.floors,
            "times_as_likely_beforehand": dict(self.times),
            "verdict": found.verdict,
            "first": found.ranked[0].key,
            "fit": round(found.fit, 4),
            "nearer_to": None if self.nearer is None else self.nearer[0],
            "bare_nearer_to": None if self.bare_nearer is None else self.bare_nearer[0],
            "bands_hz": list(found.bands_hz),
            "measured_minus_predicted_db": _plain(found.residual + found.expected),
            "expected_from_bare_floor_db": _plain(found.expected),
            "standard_uncertainty_db": _plain(found.uncertainty),
            "ranked": [_hypothesis(one, self) for one in found.ranked],
            "not_told_apart_from_first": list(found.alike),
            "stiffer_hangers": None if self.stiffer is None else round(self.stiffer, 4),
            "too_faint_to_show": list(found.faint),
            "nearly_shows": list(found.nearly),
            "partly_too_faint": list(found.partly_faint),
            "tests": [{"fault": key, "test": test} for key, test in self.tests],
            "next_reading": None if self.next_reading is None else self.next_reading.as_dict(),
            "next_bands_hz": None if self.next_bands is None else list(self.next_bands),
            "beside": self.beside.as_dict(),
            "left_out": list(self.left_out),
            "what_was_taken": list(self.measured.what_was_taken),
        }


def _softer(one: Hypothesis) -> bool:
    """Whether hangers softer than drawn may be meant."""
    return one.key == "wrong hanger" and (one.size_range is None or one.size_range[0] <= 1)


def _hypothesis(one: Hypothesis, search: Search) -> dict[str, Any]:
    fault = None if one.key == AS_DESIGNED else search.fault(one.key)
    return {
        "key": one.key,
        "name": search.name(one),
        "probability": round(one.probability, 4),
        "prior": round(one.prior, 4),
        "log_evidence": round(one.log_evidence, 3),
        "best_case": one.best.words if one.best else None,
        "size_range": list(one.size_range) if one.size_range else None,
        "signature_db": _plain(one.shift),
        "signature": signature(one.shift, search.found.bands_hz),
        "share_of_cases_that_show": round(one.seen, 3),
        "test": fault.test if fault else None,
        "remedy": fault.remedy if fault else None,
    }


def _plain(values: np.ndarray) -> list[float]:
    return [round(float(value), 2) + 0.0 for value in values]


def signature(shift: np.ndarray, bands_hz: Sequence[float]) -> str:
    """In words, what a change of level (n,) [dB] does in the bands measured: the largest rise and
    fall, and where it is more than SHOWN_SHIFT."""
    if np.max(np.abs(shift)) < SHOWN_SHIFT:
        return "no band moves"
    parts = []
    for sign, word in ((1, "louder"), (-1, "quieter")):
        moved = np.flatnonzero(sign * shift >= SHOWN_SHIFT)
        if len(moved) == 0:
            continue
        most = moved[np.argmax(np.abs(shift[moved]))]
        size, at = f"{abs(shift[most]):.0f} dB", named(bands_hz[most])
        if len(moved) == 1:
            parts.append(f"{size} {word} at {at}")
        else:
            ends = f"{label(bands_hz[moved[0]])}-{label(bands_hz[moved[-1]])} Hz"
            parts.append(f"{word} within {ends}, most {size} at {at}")
    return "; ".join(parts)


def search(
    prediction: Prediction, measured: Measurement, seed: int = 0, known: Ensemble | None = None,
    path: str = "measured", floors: int = FLOORS, times: Mapping[str, float] | None = None,
    beside: Beside | None = None,
) -> Search:  # fmt: skip
    """Look for the fault behind `measured` (as `corrections.as_predicted` gives it).

    known : the ensemble of the prediction's design, where it is at hand. path : named in faults.
    seed, floors : as of `diagnose_cases.ensemble`; times : as of `diagnose.Scales`. beside : what
    was brought beside the spectrum.
    Raises InputError for octaves and for fewer usable third octaves than a signature needs.
    """
    beside = beside or Beside()
    use = check(measured, path)
    used = [band for band, good in zip(measured.bands_hz, use, strict=True) if good]
    residual = (measured.level_db - expected(prediction, measured))[use]
    cases = known or diagnose_cases.ensemble(prediction.design, seed, floors, used)
    found = diagnose.weigh(
        cases, used, residual, measured.uncertainty_db[use],
        error(prediction, measured.source), times, beside.hangers(prediction.design, cases),
        beside.floor(prediction, cases),
    )  # fmt: skip
    left_out = _left_out(measured, use)
    return Search(prediction, measured, found, left_out, cases.count, times or {}, beside)


def check(measured: Measurement, path: str = "measured") -> np.ndarray:
    """Which bands of a measurement can be used (n,), bool; InputError where they do not do."""
    if measured.octaves:
        what = "these are octaves; a signature needs third octaves, export them"
        raise InputError(path, [Fault("bands", what)])
    use = usable(measured)
    if np.sum(use) < diagnose.BANDS:
        what = f"only {np.sum(use)} third octaves can be used, {diagnose.BANDS} or more are needed"
        raise InputError(path, [Fault("bands", what)])
    return use


def _left_out(measured: Measurement, use: np.ndarray) -> tuple[str, ...]:
    gone = [label(band) for band, good in zip(measured.bands_hz, use, strict=True) if not good]
    if not gone:
        return ()
    return (f"not used, as gaps or only limits: {', '.join(gone)} Hz",)


def expected(prediction: Prediction, measured: Measurement) -> np.ndarray:
    """Predicted levels in the bands measured (n,) [dB]: with the walls where the design describes
    them, else below the ceiling alone."""
    described = bool(prediction.design.flanks) and bool(prediction.building)
    levels = (prediction.building if described else prediction.levels)[measured.source]
    return np.asarray(levels)[[bands.index(band) for band in measured.bands_hz]]


def error(prediction: Prediction, source: str) -> PredictionError:
    """What the stated 90 % band says of the error of the predicted levels: the models' own, and
    what inputs do; of the latter, what concerns the structure goes by the bands as its effects do.
    The rest (blow, room) is taken to go by the bands as the models' error does, and with it all
    that a band tells of which no effects are known. The models' own where no band is stated.
    """
    spread = prediction.spread
    if spread is None:
        return PredictionError()
    whole = (spread.high[source] - spread.low[source]) / (2 * END)
    if spread.effects is None or not spread.effects.items:
        return PredictionError(whole)
    by_inputs = np.cov(spread.effects.changes(draws(len(spread.effects.items))).T)
    rest = np.maximum(whole**2 - np.diag(by_inputs), spread.model_db**2)
    return PredictionError(np.sqrt(rest), by_inputs)

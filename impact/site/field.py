"""A measurement held against a prediction, band by band, with the uncertainty of both.

Agreement: |measured - predicted| within sqrt(Um^2 + Up^2), with Um = 1.645 u of the measurement
(90 %, two-sided) and Up the distance from the prediction to the end of its own 90 % band on that
side; what a meter's filters show more or less than bands cut off at their edges (`site.filters`) is
allowed on top, on its side. Where the prediction states no band, Up is nought and the page says so.

A measurement on site holds what the walls radiate. Where the design describes its walls, it is held
against ceiling and walls together; either path then has a band of its own, and what each does to
the sum of both joins in quadrature: walls that carry a band leave little of the ceiling's spread.
Without described walls it is held against the ceiling alone, which the page says, with what usual
walls would add.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from impact.base import bands, levels
from impact.base.cautions import CAUTIONS
from impact.design.background import nc_thirds
from impact.heard import strikes
from impact.rating import summary
from impact.site import filters, mistaken
from impact.site.measured import Measurement
from impact.spread.inputs import END

AGREE, HIGHER, LOWER, OPEN, GAP = (
    "agree", "measured higher", "measured lower", "cannot tell", "gap",
)  # fmt: skip
QUIET_ROOM = 25.0  # NC of a quiet room of a dwelling: common practice, no source
WALLS_DEVIATION = 5.0  # dB, standard uncertainty of what walls radiate: judgement, no source
# What the measurement is held against -> levels and ratings of a prediction, and in words.
CEILING, WALLS, BARE = "ceiling", "in building", "bare"
STATES = {
    CEILING: ("levels_db", "ratings", "the ceiling alone, without the walls below"),
    WALLS: ("levels_in_building_db", "ratings_in_building", "ceiling and the walls described"),
    BARE: ("levels_bare_db", "ratings_bare", "the floor without the new ceiling or the walls"),
}


@dataclass(frozen=True, eq=False)
class Comparison:
    """Arrays (n,) over the measurement's bands [dB].

    predicted_low, predicted_high : 90 % band of the prediction, or None where it states none.
    half_width : Um. allowed_below, allowed_above : how far measured may lie under and over
    predicted. verdict : words per band. regions : name -> mean difference measured minus
    predicted. ratings : measured single numbers of the tapping machine, ratings_predicted theirs.
    state : of STATES, what the measurement is held against. nearer : as of `mistaken.nearer`.
    filtered : (n,) what a meter's filters would show beyond `predicted`, None where not known.
    cautions : those of the prediction.
    """

    measured: Measurement
    predicted: NDArray
    predicted_low: NDArray | None
    predicted_high: NDArray | None
    half_width: NDArray
    allowed_below: NDArray
    allowed_above: NDArray
    verdict: tuple[str, ...]
    regions: dict[str, float]
    ratings: dict[str, Any]
    ratings_predicted: dict[str, Any]
    state: str
    design: str
    prediction_remarks: tuple[str, ...]
    nearer: tuple[str, float, float] | None = None
    filtered: NDArray | None = None
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def difference(self) -> NDArray:
        """Measured minus predicted (n,) [dB]."""
        return self.measured.level_db - self.predicted

    @property
    def allowed(self) -> NDArray:
        """The allowed difference on the side where the measurement lies (n,) [dB]."""
        return np.where(self.difference < 0, self.allowed_below, self.allowed_above)

    @property
    def perhaps_noise(self) -> tuple[float, ...]:
        """Bands [Hz] measured higher than predicted, but no higher than what a quiet room has by
        itself (NC 25), where no background was measured."""
        measured = self.measured
        if measured.noise_known or measured.corrected:
            return ()
        room = _in_bands(np.array(nc_thirds(QUIET_ROOM)), measured)
        return tuple(band for band, verdict, level, noise in zip(
            measured.bands_hz, self.verdict, measured.level_db, room, strict=True)
            if verdict == HIGHER and level <= noise)  # fmt: skip

    @property
    def counts(self) -> dict[str, int]:
        """How many bands have each verdict."""
        return {word: self.verdict.count(word) for word in (AGREE, HIGHER, LOWER, OPEN, GAP)}

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON; None in gaps."""
        measured = self.measured
        return {
            "design": self.design,
            "held_against": self.state,
            "source": measured.source,
            "bands_hz": list(measured.bands_hz),
            "octaves": measured.octaves,
            "measured_db": _plain(measured.level_db),
            "measured_limit_only": [bool(x) for x in measured.limit],
            "measured_uncertainty_db": _plain(measured.uncertainty_db),
            "predicted_db": _plain(self.predicted),
            "predicted_low_db": _plain(self.predicted_low),
            "predicted_high_db": _plain(self.predicted_high),
            "difference_db": _plain(self.difference),
            "allowed_difference_db": _plain(self.allowed),
            "meter_filter_db": _plain(self.filtered),
            "verdict": list(self.verdict),
            "perhaps_noise_hz": list(self.perhaps_noise),
            "counts": self.counts,
            "nearer_to": None if self.nearer is None else self.nearer[0],
            "mean_difference_db": {name: round(x, 2) for name, x in self.regions.items()},
            "ratings_measured": self.ratings,
            "ratings_predicted": self.ratings_predicted,
            "what_was_taken": list(measured.what_was_taken),
            "remarks": list(self.prediction_remarks),
        }


def _plain(values: NDArray | None) -> list[float | None] | None:
    if values is None:
        return None
    return [round(float(x), 2) if np.isfinite(x) else None for x in values]


def compare(
    prediction: dict[str, Any], measured: Measurement, state: str = "ceiling",
    filtered: NDArray | None = None,
) -> Comparison:  # fmt: skip
    """Hold `measured` (as `corrections.as_predicted` gives it) against a prediction.

    prediction : as `Prediction.as_dict` gives it. state : "ceiling" or "bare" (measured without
    the new ceiling); "ceiling" becomes "in building" where the design describes its walls.
    filtered : of `filters.moved` (28,) [dB]; it counts for third octaves.
    """
    if state == CEILING and any(wall["given"] for wall in prediction.get("flanking") or ()):
        state = WALLS
    predicted, low, high = _expected(prediction, measured, state)
    remarks = []
    if low is None or high is None:
        remarks.append(
            "The prediction states no spread here, so only the measurement's uncertainty is set "
            "against the difference: 'agree' is strict."
        )
    half = END * measured.uncertainty_db
    below = half if low is None else np.hypot(half, np.maximum(predicted - low, 0))
    above = half if high is None else np.hypot(half, np.maximum(high - predicted, 0))
    by = None
    if filtered is not None and not measured.octaves:
        by = filtered[[bands.index(band) for band in measured.bands_hz]]
        below, above = below + np.maximum(-by, 0), above + np.maximum(by, 0)
        remarks += [said for said in (filters.sentence(measured.bands_hz, by),) if said]
    remarks += _remarks(prediction, measured, state)
    rated, foreseen = _ratings(prediction, measured, state)
    return Comparison(
        measured, predicted, low, high, half, below, above,
        _verdicts(measured, predicted, below, above), _regions(measured, predicted), rated,
        foreseen, state, str(prediction["design"]),
        tuple(remarks), _nearer(prediction, measured, state), by,
        tuple(prediction.get("cautions", CAUTIONS)),
    )  # fmt: skip


def _nearer(
    prediction: dict[str, Any], measured: Measurement, state: str
) -> tuple[str, float, float] | None:
    """What the measurement looks like instead, limits left out."""
    below = CEILING if state == BARE else state
    sources = [prediction.get(STATES[one][0]) or {} for one in (below, BARE)]
    predicted = {words: _in_bands(level, measured)
                 for words, level in mistaken.candidates(*sources).items()}  # fmt: skip
    known = np.where(measured.limit, np.nan, measured.level_db)
    walls = None if state == BARE else (prediction.get(STATES[WALLS][0]) or {}).get(measured.source)
    usual = None if walls is None else _in_bands(np.array(walls, float), measured)
    return mistaken.nearer(predicted, said_to_be(measured.source, state), known, usual)


def said_to_be(source: str, state: str) -> str:
    """What a measurement is held for, in the words of `mistaken`."""
    return mistaken.in_words(source, mistaken.BARE if state == BARE else mistaken.CEILING)


def _expected(
    prediction: dict[str, Any], measured: Measurement, state: str
) -> tuple[NDArray, NDArray | None, NDArray | None]:
    """Levels to be expected in the measurement's bands and both ends of their 90 % band (n,) [dB],
    None where no band is stated."""

    def thirds(key: str) -> NDArray | None:
        found = (prediction.get(key) or {}).get(measured.source)
        return None if found is None else np.array(found, float)

    level = thirds(STATES[state][0])
    assert level is not None
    low, high = (None if state == BARE else thirds(f"levels_{end}_db") for end in ("low", "high"))
    if low is None or high is None:
        return _in_bands(level, measured), None, None
    if state == WALLS:
        ceiling = thirds("levels_db")
        assert ceiling is not None
        low, high = (_with_walls(level, ceiling, end, side) for end, side in ((low, -1), (high, 1)))
    return _in_bands(level, measured), _in_bands(low, measured), _in_bands(high, measured)


def _with_walls(total: NDArray, ceiling: NDArray, end: NDArray, side: int) -> NDArray:
    """One end (n,) [dB] of the 90 % band of ceiling and walls together, `total` their level.

    end : that of the ceiling alone, whose level is `ceiling`. The walls' own lies
    1.645 x WALLS_DEVIATION off; what either moves the sum by joins in quadrature. side : 1, -1.
    """
    walls = np.maximum(levels.square(total) - levels.square(ceiling), 0)
    moved_walls = levels.square(side * END * WALLS_DEVIATION) * walls
    by_ceiling = levels.decibel(levels.square(end) + walls) - total
    by_walls = levels.decibel(levels.square(ceiling) + moved_walls) - total
    return total + side * np.hypot(by_ceiling, by_walls)


def _in_bands(thirds: NDArray, measured: Measurement) -> NDArray:
    """Levels (28,) in the measurement's bands (n,), summed to octaves where it has those (ends of
    a band too: as if thirds erred together, the wide side)."""
    places = [bands.index(band) for band in measured.bands_hz]
    if not measured.octaves:
        return thirds[places]
    out = [levels.add(thirds[i - 1 : i + 2]) if 0 < i < len(thirds) - 1 else np.nan for i in places]
    return np.array(out)


def _verdicts(
    measured: Measurement, predicted: NDArray, below: NDArray, above: NDArray
) -> tuple[str, ...]:
    out = []
    for difference, limit, least, most in zip(
        measured.level_db - predicted, measured.limit, -below, above, strict=True
    ):
        if not np.isfinite(difference):
            out.append(GAP)
        elif difference < least:
            out.append(LOWER)  # of a limit too: the true level lies lower still
        elif limit:
            out.append(OPEN)
        else:
            out.append(HIGHER if difference > most else AGREE)
    return tuple(out)


def _regions(measured: Measurement, predicted: NDArray) -> dict[str, float]:
    """Mean difference over the bands of thud, knock and click that are no gaps and no limits."""
    difference = measured.level_db - predicted
    found = {}
    for name, (low, high) in bands.REGIONS.items():
        inside = np.array([low <= band <= high for band in measured.bands_hz])
        inside &= np.isfinite(difference) & ~measured.limit
        if np.any(inside):
            found[name] = float(np.mean(difference[inside]))
    return found


def _remarks(prediction: dict[str, Any], measured: Measurement, state: str) -> list[str]:
    out = [_of_walls(prediction, measured, state)]
    if measured.source == strikes.TAPPING and measured.bands_hz[0] < 50:
        out.append("Below 50 Hz the tapping machine is outside its standards: read with care.")
    spread = prediction.get("spread") or {}
    if state != BARE and spread.get("calibrated_below_50_hz") is False:
        out.append("The prediction's own spread is uncalibrated below 50 Hz.")
    return out


def _of_walls(prediction: dict[str, Any], measured: Measurement, state: str) -> str:
    """One sentence on what the walls below radiate, which is always in a level on site."""
    if state == WALLS:
        return (
            "The walls described are in the prediction, by energy averages, with a standard "
            f"uncertainty of {WALLS_DEVIATION:g} dB (judgement); the band holds theirs and the "
            "ceiling's."
        )
    out = "What the walls below radiate is not in the prediction; on site it is in the level."
    usual = (prediction.get(STATES[WALLS][0]) or {}).get(measured.source)
    if state == BARE or usual is None:
        return out
    more = _in_bands(np.array(usual, float), measured) - _expected(prediction, measured, state)[0]
    if not np.any(np.isfinite(more)):
        return out
    most = int(np.nanargmax(more))
    return (
        f"{out} Usual walls would add up to {more[most]:.0f} dB, at "
        f"{bands.named(measured.bands_hz[most])}: describe yours under [[flanking]]."
    )


def _ratings(
    prediction: dict[str, Any], measured: Measurement, state: str
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Single numbers of the tapping machine, measured and predicted; empty for other sources."""
    if measured.source != strikes.TAPPING:
        return {}, {}
    good = np.isfinite(measured.level_db)
    rated = summary.rate(
        [band for band, there in zip(measured.bands_hz, good, strict=True) if there],
        measured.level_db[good], kind="normalized",
    )  # fmt: skip
    names = [name for name in ("Ln_w", "CI", "CI_50_2500", "IIC") if rated[name] is not None]
    foreseen = prediction[STATES[state][1]]
    return {n: rated[n] for n in names}, {n: foreseen[n] for n in names}

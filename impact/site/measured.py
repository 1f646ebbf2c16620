"""A measurement on site as levels with uncertainty, and its corrections, each by a named rule.

Levels dB re 20 uPa; arrays (n,) over the measurement's own bands. What was read, what was assumed
and what was done stands in `what_was_taken`, sentence by sentence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from impact.base.bands import G
from impact.errors import Fault, InputError
from impact.rating.spectrum import thirds
from impact.rating.weighting import a_weighting, c_weighting
from impact.site import meter, meter_choose

LOWEST, HIGHEST = 10.0, 5000.0  # Hz, bands of a prediction
# ISO 12999-1:2020 Table 4, in-situ standard deviation (same place, other team) [dB].
TABLE_BANDS = thirds(50, 315)
TABLE = (3.2, 2.8, 2.4, 2.0, 1.6, 1.4, 1.3, 1.2, 1.2)
SLOPE = 0.4  # dB per third octave: the table falls by it from 50 to 125 Hz
ABOVE_315, ABOVE_2500 = 1.3, 2.0  # dB up to 2.5 kHz and above it: estimates, check the standard


@dataclass(frozen=True, eq=False)
class Measurement:
    """One spectrum measured on site.

    bands_hz : (n,) nominal third octaves, or octaves, from 10 Hz to 5 kHz. level_db : (n,), NaN in
    gaps. uncertainty_db : (n,) standard uncertainty (k = 1). source : of `impact predict`. metric :
    "leq", "lfmax", "ln" (L'n), "lnt" (L'nT) or "lfmaxvt" (L'i,Fmax,V,T of the ball). limit : (n,)
    True where the background allows only "not more than this". what_was_taken : how it was read and
    corrected. corrected : whether its label says that the background is taken off already.
    noise_known : whether a background was measured, or is taken off already.
    """

    bands_hz: tuple[float, ...]
    level_db: NDArray
    uncertainty_db: NDArray
    source: str
    what_was_taken: tuple[str, ...]
    metric: str = "leq"
    octaves: bool = False
    limit: NDArray = field(default_factory=lambda: np.zeros(0, bool))
    corrected: bool = False
    noise_known: bool = False

    def __post_init__(self) -> None:
        if len(self.limit) == 0:
            object.__setattr__(self, "limit", np.zeros(len(self.bands_hz), bool))

    def told(self, *more: str, **changes: object) -> Measurement:
        """The same with further sentences and changed fields."""
        taken = (*self.what_was_taken, *more)
        return replace(self, what_was_taken=taken, **changes)  # type: ignore[arg-type]


def read(
    path: str, source: str | None = None, metric: str | None = None, profile: str | None = None,
    decimal: str | None = None, *, unweight: bool = False,
) -> Measurement:  # fmt: skip
    """Read one spectrum from a meter's export.

    path : CSV, TSV, TXT or XLSX. source : of `meter_choose.SOURCES`, where the file names none.
    metric : as of `Measurement`, where the file states none. profile : name, number or
    "all" (energy mean). decimal : "." or ",". unweight : take an A or C weighting off.
    Raises InputError with all faults by line, or a `meter.Question`.
    """
    file = meter.load(path, decimal)
    chosen = meter_choose.choose(file, source, metric, profile)
    suited = meter_choose.metrics_of(chosen.source)
    if chosen.metric not in suited:
        known = meter_choose.METRICS
        what = f"{chosen.source} goes with {' or '.join(str(known[name]) for name in suited)}, not "
        remedy = f"{known[chosen.metric]}; say --metric {' or '.join(suited)}, or another --source"
        raise meter.Question(path, "metric", what + remedy)
    return _measurement(file, chosen, unweight)


def read_beside(
    path: str, level: Measurement, role: str, decimal: str | None = None, *,
    unweight: bool = False, own: bool = True,
) -> Measurement | None:  # fmt: skip
    """What belongs to `level`: role "background" (energy mean of all its spectra) or "corner"
    (the highest of each band).

    own : whether `path` is a file of its own, all of it meant when no label says so; else it is the
    level's own file, and None comes back when nothing there is labelled as `role`. Of several
    metrics that of `level` is taken, else Leq, else the one there is; one not stated is Leq of a
    background and that of `level` of corners.
    """
    file = meter.load(path, decimal)
    labelled = any(s.said.role == role for s in file.series)
    if not (labelled or own):
        return None
    part = role if labelled else "level"
    kinds = {meter.with_metric(s, file.metric).said.metric.kind for s in file.series
             if s.said.role == part}  # fmt: skip
    wanted = [name for name in (level.metric, "leq", "lfmax")
              if meter_choose.METRICS[name].kind in kinds]  # fmt: skip
    unsaid = level.metric if role == "corner" else "leq"
    metric = wanted[0] if wanted else unsaid
    chosen = meter_choose.choose(file, level.source, metric, meter_choose.ALL, role=part,
                                 highest=role == "corner")  # fmt: skip
    return _measurement(file, chosen, unweight)


def _measurement(file: meter.MeterFile, chosen: meter_choose.Chosen, unweight: bool) -> Measurement:
    taken = [*file.taken, *chosen.taken]
    level = chosen.levels
    if chosen.weighting:
        level = _unweighted(file.path, chosen, unweight, taken)
    inside = [LOWEST <= band <= HIGHEST for band in chosen.bands]
    bands = tuple(band for band, keep in zip(chosen.bands, inside, strict=True) if keep)
    if not bands:
        what = "all bands lie outside 10 Hz to 5 kHz, where predictions are"
        raise InputError(file.path, [Fault("bands", what)])
    if len(bands) < len(chosen.bands):
        taken.append("bands outside 10 Hz to 5 kHz left out")
    return Measurement(
        bands, level[np.array(inside)], deviations(bands, chosen.octaves), chosen.source,
        (*taken, *deviations_from(bands)), chosen.metric, chosen.octaves,
        corrected=chosen.corrected,
    )  # fmt: skip


def _unweighted(
    path: str, chosen: meter_choose.Chosen, unweight: bool, taken: list[str]
) -> NDArray:
    """Levels with the weighting taken off, or the question whether to."""
    name = chosen.weighting
    if not unweight or chosen.octaves:
        remedy = "export unweighted (Z) bands"
        remedy += "" if chosen.octaves else ", or say --unweight to take the weighting off"
        what = f"these bands are {name} weighted, a prediction is not; {remedy}"
        raise meter.Question(path, "weighting", what)
    exact = [1000 * G ** (round(10 * np.log10(band / 1000)) / 3) for band in chosen.bands]
    taken.append(f"{name} weighting taken off band by band (IEC 61672-1)")
    return chosen.levels - {"A": a_weighting, "C": c_weighting}[name](exact)


def deviations(bands_hz: Sequence[float], octaves: bool = False) -> NDArray:
    """Standard uncertainty of a measurement on site (n,) [dB] per nominal third octave or octave.

    ISO 12999-1:2020 Table 4, same place and other team, from 50 to 315 Hz. Below, the table's own
    slope of 0.4 dB per third octave goes on, our judgement: no standard goes there. Above, 1.3 dB
    and from 3150 Hz 2.0 dB, estimates: the table's own was not at hand. An octave takes the largest
    of its thirds, judgement.
    """
    beside = (-1, 0, 1) if octaves else (0,)
    places = [_place(band) for band in bands_hz]
    return np.array([max(_deviation(place + at) for at in beside) for place in places])


def _place(band_hz: float) -> int:
    """Of a third octave, counted from that of 1 kHz."""
    return round(10 * np.log10(band_hz / 1000))


def _deviation(place: int) -> float:
    at = place - _place(TABLE_BANDS[0])
    if at < 0:
        return TABLE[0] - SLOPE * at
    if at < len(TABLE):
        return TABLE[at]
    return ABOVE_315 if place <= _place(2500) else ABOVE_2500


def deviations_from(bands_hz: Sequence[float]) -> list[str]:
    """Sentences on where the `deviations` of these bands come from."""
    said = ["standard uncertainty 50-315 Hz from ISO 12999-1 Table 4 (same place, other team)"]
    if any(band < TABLE_BANDS[0] for band in bands_hz):
        said.append(f"uncertainty below 50 Hz: {SLOPE:g} dB more per third octave, our judgement")
    if any(band > TABLE_BANDS[-1] for band in bands_hz):
        what = f"{ABOVE_315:g} dB, from 3.15 kHz {ABOVE_2500:g} dB"
        said.append(f"uncertainty above 315 Hz: {what}, estimates")
    return said

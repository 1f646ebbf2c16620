"""A measured spectrum corrected and brought to the quantity that is predicted, each step said.

Order as in ISO 16283-2:2020: background, then corners of a small room, then the room's absorption.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from impact.base.bands import label
from impact.errors import Fault, InputError
from impact.heard import strikes
from impact.rating import onsite
from impact.rating.spectrum import MissingBands
from impact.site import meter, meter_choose
from impact.site.measured import Measurement
from impact.source import people

RULES = {
    "iso": "ISO 16283-2: from 10 dB none, above 6 dB energies subtracted, to 6 dB 1.3 dB",
    "new": "ASTM E1007 as now in force: below 6 dB 1.26 dB",
    "old": "ASTM E1007 before: below 5 dB 2 dB",
}
TAKEN = "taken: "  # begins the sentence on what a spectrum was made of
LOWEST_CORRECTED = 50.0  # Hz, where the user wants no correction for reverberation below
BALL, PEOPLE = "rubber_ball", tuple(people.SOURCES)
NORMALIZED = ("ln", "lnt", "lfmaxvt")  # metrics of levels that are no longer those of the room


def shared(one: Measurement, other: Measurement, what: str, path: str) -> NDArray:
    """Levels (n,) of `other` in the bands of `one`, NaN where it has none; InputError for none."""
    if one.octaves != other.octaves:
        kinds = ("third octaves", "octaves")
        faults = f"the {what} is in {kinds[other.octaves]}, the level in {kinds[one.octaves]}"
        raise InputError(path, [Fault("bands", faults + "; export both alike")])
    at = dict(zip(other.bands_hz, other.level_db, strict=True))
    found = np.array([at.get(band, np.nan) for band in one.bands_hz])
    if np.all(np.isnan(found)):
        faults = f"the {what} shares no band with the level"
        raise InputError(path, [Fault("bands", faults + "; export both in the same bands")])
    return found


def without_background(
    measured: Measurement, background: Measurement, rule: str = "iso", path: str = "background"
) -> Measurement:
    """Level of the source alone; `limit` where the background is too close.

    rule : of RULES. Bands without a background stay as they are, and are named. A normalized level
    stays as it is beside a background that is not, and so does one that is corrected already.
    """
    measured = replace(measured, noise_known=True)
    if measured.metric in NORMALIZED and background.metric != measured.metric:
        what = "the level is normalized already and the background is not: no correction"
        return measured.told(f"background: {what}")
    if measured.corrected:
        return measured.told("background: the level is corrected already, as its label says")
    noise = shared(measured, background, "background", path)
    known = ~np.isnan(noise) & ~np.isnan(measured.level_db)
    level, limit = measured.level_db.copy(), measured.limit.copy()
    level[known], limit[known] = onsite.background_corrected(level[known], noise[known], rule)
    moved = known & ~limit & (np.abs(level - measured.level_db) > 0)
    said = [f"background, {one}" for one in background.what_was_taken if TAKEN in one]
    said.append(f"background correction: {RULES[rule]}")
    for which, text in ((moved, "corrected"), (limit, "only limits, background too close"),
                        (np.isnan(noise), "no background measured, not corrected")):  # fmt: skip
        if np.any(which):
            said.append(f"  {text}: {listed(measured.bands_hz, which)}")
    if not np.any(moved | limit):
        said.append("  nothing to correct")
    return measured.told(*said, level_db=level, limit=limit)


def listed(bands_hz: Sequence[float], which: NDArray) -> str:
    """Bands of a mask, as printed."""
    shown = [label(band) for band, there in zip(bands_hz, which, strict=True) if there]
    return f"{', '.join(shown)} Hz"


def with_corners(
    measured: Measurement, corners: Measurement | None, volume_m3: float, path: str = "corners"
) -> Measurement:
    """50, 63 and 80 Hz by the low-frequency procedure where the room is below 25 m3.

    (corner energy + 2 x average energy)/3, ISO 16283-2:2020. Without corners a small room is named.
    """
    small = volume_m3 < onsite.SMALL_ROOM
    room = f"room of {volume_m3:.1f} m3"
    if corners is None:
        lacks = f"{room}: the low-frequency procedure wants corner levels below 25 m3 (--corner)"
        return measured.told(lacks) if small and not measured.octaves else measured
    if not small:
        return measured.told(f"{room}, not below 25 m3: corner levels not used")
    if measured.octaves:
        what = "the procedure is one of third octaves; export thirds"
        raise InputError(path, [Fault("bands", what)])
    if corners.metric != measured.metric:
        one, other = (meter_choose.METRICS[each.metric] for each in (measured, corners))
        what = f"the level is {one}, the corners are {other}; export both alike"
        raise InputError(path, [Fault("metric", what)])
    high = dict(zip(measured.bands_hz, shared(measured, corners, "corner level", path),
                    strict=True))  # fmt: skip
    corner = [float(high.get(band, np.nan)) for band in onsite.LOW_BANDS]
    try:
        level = onsite.with_small_room(measured.bands_hz, measured.level_db, corner, volume_m3)
    except (MissingBands, ValueError):
        corner = [np.nan]
    if np.any(np.isnan(corner)):
        what = "the procedure needs levels at 50, 63 and 80 Hz in both files, without gaps"
        raise InputError(path, [Fault("bands", what)])
    limited = {b for b, only in zip(corners.bands_hz, corners.limit, strict=True) if only}
    limit = measured.limit | np.array(
        [band in onsite.LOW_BANDS and band in limited for band in measured.bands_hz]
    )
    whose = [f"corners, {one}" for one in corners.what_was_taken if TAKEN in one]
    said = f"{room}: 50, 63, 80 Hz from corners and average, ISO 16283-2 low-frequency procedure"
    if measured.source != strikes.TAPPING:
        said += "; there for the tapping machine's Leq, from memory, check the standard"
    return measured.told(*whose, said, level_db=level, limit=limit)


def read_reverberation(
    path: str, decimal: str | None = None, own: bool = True
) -> dict[float, float]:  # fmt: skip
    """Band [Hz] -> reverberation time [s] of a meter's file; times labelled T20, T30, RT or [s],
    or the only column. A `meter.Question` where several are there.

    own : whether `path` is a file of times; else it is the level's own, and the answer is empty
    where nothing there is labelled as times.
    """
    file = meter.load(path, decimal)
    fits = [s for s in file.series if s.said.role == "reverberation"]
    fits = fits or list(file.series if own else ())
    if not fits:
        return {}
    if len(fits) > 1:
        text = "several columns may be reverberation times; leave one in the file"
        text += ":" if own else ", or say --reverberation with a time or a file that holds one:"
        raise meter.Question(path, "reverberation", text, [meter.named(s) for s in fits])
    times = {b: v for b, v in zip(fits[0].bands, fits[0].values, strict=True) if v is not None}
    wrong = [band for band, time in times.items() if not 0.02 < time < 30]
    if wrong:
        what = f"{times[wrong[0]]:g} at {wrong[0]:g} Hz is no reverberation time in s (0.02 to 30)"
        raise InputError(path, [Fault(fits[0].where, what)])
    return times


def times_for(measured: Measurement, times: dict[float, float] | float) -> tuple[NDArray, str]:
    """Reverberation time (n,) [s] of every band, from the nearest band measured, and what is said.

    Below 50 Hz that is the lowest one measured. In a room below 25 m3 ISO 16283-2 takes the 63 Hz
    octave for 50 to 80 Hz: give that value in these bands; `as_predicted` says where they differ.
    """
    if isinstance(times, float):
        return np.full(len(measured.bands_hz), times), f"T = {times:g} s in all bands"
    known = np.array(sorted(times))
    nearest = [float(known[np.argmin(np.abs(np.log(known / band)))]) for band in measured.bands_hz]
    far = np.array([band != near for band, near in zip(measured.bands_hz, nearest, strict=True)])
    said = f"T measured in {len(known)} bands"
    if np.any(far):
        said += f"; from the nearest band at {listed(measured.bands_hz, far)}"
    return np.array([times[near] for near in nearest]), said


def _unlike(measured: Measurement, time: NDArray, volume_m3: float) -> str:
    """What is said where a small room has several T at 50, 63 and 80 Hz; nothing elsewhere."""
    low = [t for band, t in zip(measured.bands_hz, time, strict=True) if band in onsite.LOW_BANDS]
    if measured.octaves or volume_m3 >= onsite.SMALL_ROOM or len(set(low)) < 2:
        return ""
    return "; below 25 m3 ISO 16283-2 takes T of the 63 Hz octave for 50, 63 and 80 Hz, here unlike"


def as_predicted(
    measured: Measurement, volume_m3: float, times: dict[float, float] | float,
    keep_below_50: bool = False,
) -> Measurement:  # fmt: skip
    """The measurement as the quantity that `impact predict` gives for its source.

    Tapping machine: normalized level L'n re 10 m2. Rubber ball: fast maximum, normalized to 50 m3
    and T = 0.5 s (ISO 16283-2). People: fast maximum in the room as it is.

    keep_below_50 : no correction for reverberation below 50 Hz, where a measured time is noise more
    than data (a study of two bedrooms proposes it, abstract read): T is the reference's 0.5 s.
    """
    time, said = times_for(measured, times)
    low = np.array([band < LOWEST_CORRECTED for band in measured.bands_hz])
    if keep_below_50 and low.any():
        time = np.where(low, onsite.REFERENCE_TIME, time)
        said += f"; not corrected for reverberation: {listed(measured.bands_hz, low)}"
    said += _unlike(measured, time, volume_m3)
    level, volume = measured.level_db, f"V = {volume_m3:.1f} m3"
    if measured.source in PEOPLE:
        return measured.told("fast maximum in the room as it is; no normalization")
    if measured.source == BALL and measured.metric == "lfmaxvt":
        return measured.told("already normalized to 50 m3 and T = 0.5 s; not normalized again")
    if measured.source == BALL:
        level = onsite.ball_standardized(level, volume_m3, time)
        text = f"normalized to 50 m3 and T = 0.5 s (ISO 16283-2), {volume}, {said}"
    elif measured.metric == "leq":
        level = onsite.normalized(level, volume_m3, time)
        text = f"normalized to A0 = 10 m2 (L'n, ISO 16283-2), {volume}, {said}"
    elif measured.metric == "lnt":
        level = level - onsite.standardized_from_normalized(0.0, volume_m3)
        text = f"L'nT of the file to L'n: 10 lg(0.032 V) added, {volume}"
    else:
        text = "already L'n; not normalized again"
    return measured.told(text, level_db=level)

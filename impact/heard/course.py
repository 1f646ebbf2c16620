"""How an event passes on a meter: the time course of its energy in every band.

Of one step, or any short event, the force is known, and so is the time course of its energy in
every band, the ringing of the band's own filter included. The room draws that out:

    e(t) = E (force² through the band * the room's decay),   * : convolution,

each of unit area but the exposure E [Pa² s]; the room's energy decays at 13.8/T, and below its
first mode at once (`impact.sound.room.dies_away`). The meter's F averages e over 0.125 s, and its
maximum is the level. For a short blow that is ISO 16283-2's g(C) in all but the low bands, whose
filters ring, and where a step lasts. The floor's own ringing and phases are left out: with them, in
the signals of `impact.heard.ringing`, single low bands come out some 2 dB apart and their mean the
same; a lone resonance that rings longer than the room is overrated by as much.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from impact.base import bands, decay
from impact.sound import detector, room
from impact.source import people as persons

CENTRES = np.array(bands.CENTRES)
RATE = 500.0  # 1/s, of energies against time: 2 ms against a detector of 125 ms
SECONDS = 3.0  # s of an event
GRID = np.arange(math.ceil(2.1 * CENTRES[-1] * SECONDS)) / SECONDS  # Hz
Times = float | tuple[float, ...]  # T [s], of all bands or by band; 0: the room adds nothing


@lru_cache(maxsize=32)
def onset(one: persons.Source) -> tuple[np.ndarray, np.ndarray]:
    """How the energy of a step's (or any event's) force arrives in each band.

    Returns (28, n) shares per 1/RATE s (sum 1 each) behind the band filters, and the exposures
    (28,) [N² s].
    """
    return _arriving(persons.spectrum(one, GRID)), persons.exposure(one, CENTRES)


def _arriving(spectrum: np.ndarray) -> np.ndarray:
    """Shares (28, n) as of `onset`, of a force's transform on GRID."""
    count = int(SECONDS * RATE)
    shares = np.empty((len(CENTRES), count))
    for b, centre in enumerate(CENTRES):
        square, rate = detector.band_square(spectrum, 1 / SECONDS, float(centre))
        summed = np.concatenate([[0.0], np.cumsum(square)])
        at = np.interp(np.arange(count + 1) / RATE, np.arange(len(summed)) / rate, summed)
        shares[b] = np.diff(at) / at[-1]
    return shares


def drawn_out(shares: np.ndarray, reverberation: Times, weighting: str = "fast") -> np.ndarray:
    """F or S weighted level against time per exposure, (28, n) [1/s].

    shares : (28, n) as of `onset`; reverberation : T [s], as of `room.dies_away` or one for all;
    weighting : "fast" or "slow".
    """
    return _metered(_dying(shares, reverberation), weighting)


@lru_cache(maxsize=16)
def fast_and_slow(one: persons.Source, reverberation: Times) -> tuple[np.ndarray, np.ndarray]:
    """`drawn_out` of one step, F and S weighted: all places and variants of a floor share it."""
    energy = _dying(onset(one)[0], reverberation)
    return _metered(energy, "fast"), _metered(energy, "slow")


@lru_cache(maxsize=16)
def of_blow(reverberation: Times) -> np.ndarray:
    """Fast maximum per exposure (28,) [1/s] of a blow so short that only filter and room draw it
    out; reverberation : T [s], as in `drawn_out`. Above 100 Hz g(C)/(0.125 C) of ISO 16283-2:2020
    (`source.ball.fast_maximum_above_exposure`), at T = 0.5 s 2.8 dB less at 10 Hz."""
    return drawn_out(_arriving(np.ones(len(GRID))), reverberation).max(axis=-1)


def _dying(shares: np.ndarray, reverberation: Times) -> np.ndarray:
    """Energies (28, n) drawn out by the room, of unit area as before."""
    times = np.broadcast_to(np.asarray(reverberation, float), len(shares))
    out = np.array(shares)
    for time in np.unique(times[times > 0]):
        out[times == time] = _decay(shares[times == time], 2 * room.DECAY / time)
    return out


def _metered(energy: np.ndarray, weighting: str) -> np.ndarray:
    return _decay(energy, 1 / detector.TIME_CONSTANTS[weighting]) * RATE


def _decay(energy: np.ndarray, rate: float) -> np.ndarray:
    kept = math.exp(-min(rate / RATE, 700.0))
    return decay.smoothed(energy, kept)

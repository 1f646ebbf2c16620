"""Whether a measurement looks like another one than it is said to be: of another source, or below
the floor without its ceiling."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from impact.base import bands
from impact.heard import strikes

if TYPE_CHECKING:
    from impact.chain import Prediction

FAR_DB = 10.0  # rms difference from what was said that no floor explains; our judgement
NEARER = 0.5  # of it, where something else counts as nearer; our judgement
CEILING, BARE = "below the ceiling", "below the floor without the new ceiling"


def in_words(source: str, place: str) -> str:
    """How a candidate is called: a source of `strikes.SOURCES` and CEILING or BARE."""
    return f"{strikes.SOURCES[source].label} {place}"


def candidates(
    ceiling: Mapping[str, ArrayLike], bare: Mapping[str, ArrayLike]
) -> dict[str, NDArray]:
    """Levels (28,) [dB] of every source in both places, by their words."""
    both = ((CEILING, ceiling), (BARE, bare))
    return {in_words(source, place): np.asarray(level, float)
            for place, levels in both for source, level in levels.items()}  # fmt: skip


def instead(
    prediction: Prediction, said: str, bands_hz: Sequence[float], measured_db: ArrayLike
) -> tuple[str, float, float] | None:
    """`nearer` among the `candidates` of a prediction, in third octaves (n,)."""
    places = [bands.index(float(band)) for band in bands_hz]
    levels = candidates(prediction.levels, prediction.bare)
    building = candidates(prediction.building, {}).get(said)
    walls = None if building is None else building[places]
    return nearer({words: each[places] for words, each in levels.items()}, said, measured_db, walls)


def nearer(
    levels_db: Mapping[str, Any], said: str, measured_db: ArrayLike,
    walls_db: ArrayLike | None = None,
) -> tuple[str, float, float] | None:  # fmt: skip
    """What a measurement lies nearest to, where it is not what was said, and nearer by far.

    levels_db : words -> predicted levels (n,) [dB]. said : the words of what it is held for.
    measured_db : (n,) in the same bands, NaN in gaps. walls_db : what was said with what the walls
    radiate (n,), usual ones too: a level on site may be either. Returns the words, and the rms
    difference [dB] to these and to `said`; None where that is the nearest, or near enough:
    normalizations to one and the other reference differ by some 4 dB in a usual room.
    """
    measured = np.asarray(measured_db, float)
    if not np.any(np.isfinite(measured)):
        return None

    def rms(one: ArrayLike) -> float:
        return float(np.sqrt(np.nanmean((measured - np.asarray(one, float)) ** 2)))

    apart = {words: rms(one) for words, one in levels_db.items()}
    if walls_db is not None:
        apart[said] = min(apart[said], rms(walls_db))
    best = min(apart, key=lambda words: apart[words])
    if apart[said] < FAR_DB or apart[best] > NEARER * apart[said]:
        return None
    return best, apart[best], apart[said]


def sentence(found: tuple[str, float, float] | None, said: str) -> str:
    """What is asked then; empty for None."""
    if found is None:
        return ""
    words, near, far = found
    return (
        f"ANOTHER MEASUREMENT? These levels lie nearer to those of the {words} ({near:.0f} dB "
        f"apart, rms) than of the {said} ({far:.0f} dB). What made the sound, where, and what did "
        "the meter show?"
    )

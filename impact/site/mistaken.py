"""Whether a measurement looks like that of another source than the one that was named."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from impact.heard import strikes

FAR_DB = 10.0  # rms difference from the named source that no floor explains; our judgement
NEARER = 0.5  # of it, where another source counts as nearer; our judgement


def nearer_source(
    levels_db: Mapping[str, ArrayLike], source: str, measured_db: ArrayLike
) -> tuple[str, float, float] | None:
    """The source whose predicted levels lie nearest to a measurement, where they do so by far.

    levels_db : source -> predicted levels (n,) [dB]. source : the one that was named. measured_db :
    (n,) in the same bands, NaN in gaps. Returns its name, and the rms difference [dB] to it and to
    `source`; None where the named one is the nearest, or near enough: normalizations to one and the
    other reference differ by some 4 dB in a usual room.
    """
    measured = np.asarray(measured_db, float)
    if not np.any(np.isfinite(measured)):
        return None
    apart = {
        name: float(np.sqrt(np.nanmean((measured - np.asarray(one, float)) ** 2)))
        for name, one in levels_db.items()
    }
    best = min(apart, key=lambda name: apart[name])
    if apart[source] < FAR_DB or apart[best] > NEARER * apart[source]:
        return None
    return best, apart[best], apart[source]


def sentence(found: tuple[str, float, float] | None, source: str) -> str:
    """What is asked of someone who named `source`; empty for None."""
    if found is None:
        return ""
    name, near, far = found
    return (
        f"ANOTHER SOURCE? These levels lie nearer to those of the {strikes.SOURCES[name].label} "
        f"({near:.0f} dB apart, rms) than of the {strikes.SOURCES[source].label} ({far:.0f} dB). "
        "What made the sound, and what did the meter show?"
    )

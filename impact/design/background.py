"""NC curves as third octaves: background noise of a room, for designs and for listening."""

from __future__ import annotations

import math
import tomllib
from functools import lru_cache
from importlib import resources
from itertools import pairwise

from impact.base.bands import NOMINAL, OCTAVES

SETTLED = 1e-10  # dB by which an octave's sum may still be off


@lru_cache
def nc_curves() -> dict[float, tuple[float, ...]]:
    """Number -> octave levels [dB] at `base.bands.OCTAVES`, of ANSI/ASA S12.2-2019."""
    raw = resources.files("impact.design").joinpath("data/background.toml").read_text("utf-8")
    table = tomllib.loads(raw)
    places = [table["octaves_hz"].index(octave) for octave in OCTAVES]
    return {
        float(number): tuple(float(row[place]) for place in places)
        for number, row in table["NC"].items()
    }


def nc_octaves(number: float) -> tuple[float, ...]:
    """NC curve at `base.bands.OCTAVES` [dB]; straight between curves of 5.

    ANSI/ASA S12.2-2019; editions differ by 1 dB in places. Raises ValueError outside NC 15 to 70.
    """
    known = nc_curves()
    if not min(known) <= number <= max(known):
        raise ValueError(f"NC {number:g} lies outside NC {min(known):g} to NC {max(known):g}")
    lower = max(n for n in known if n <= number)
    upper = min(n for n in known if n >= number)
    share = 0.0 if upper == lower else (number - lower) / (upper - lower)
    return tuple(a + share * (b - a) for a, b in zip(known[lower], known[upper], strict=True))


def nc_thirds(number: float) -> tuple[float, ...]:
    """NC curve as background per third octave of `base.bands.NOMINAL` [dB].

    Straight over the logarithm of frequency between the octave centres, at such heights there that
    the three third octaves of every octave add up to its level; level outside the last centres:
    10 Hz, below the standard's octaves, has the value of 12.5 Hz. The split inside an octave is
    ours, not the standard's. Raises ValueError outside NC 15 to 70.
    """
    octaves = nc_octaves(number)
    heights = [level - 10 * math.log10(3) for level in octaves]
    off = math.inf
    while off > SETTLED:  # some 30 rounds
        thirds = _thirds(heights)
        sums = [10 * math.log10(sum(10 ** (level / 10) for level in thirds[3 * n : 3 * n + 3]))
                for n in range(len(octaves))]  # fmt: skip
        missing = [level - found for level, found in zip(octaves, sums, strict=True)]
        heights = [height + more for height, more in zip(heights, missing, strict=True)]
        off = max(map(abs, missing))
    below = len(NOMINAL) - len(thirds)
    return (*[thirds[0]] * below, *thirds)


def _thirds(heights: list[float]) -> list[float]:
    """Third octaves of octaves with these levels at their centres; level outside the last."""
    out = [heights[0]]
    for here, after in pairwise(heights):
        out += [here + (after - here) * n / 3 for n in range(3)]
    return [*out, heights[-1], heights[-1]]

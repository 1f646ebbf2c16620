"""What a meter's third-octave filters make of levels that change steeply with frequency.

A prediction cuts bands off at their edges; a meter's filters lap over. Of a lone resonance at an
edge both bands show half, and next to a loud band a quiet one shows what leaks. Taken are the
filters of `impact.sound.detector`, which pass even noise as the band itself does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from impact.base import bands, levels
from impact.motion.underfoot import Underfoot
from impact.sound import detector

TOLD = 1.0  # dB: a band that a meter's filters move further is named


def moved(lines: Underfoot) -> NDArray:
    """What such filters show beyond the bands cut off at their edges (28,) [dB], of an even force
    at the places of `lines`; 0 in the lowest band and from the highest solved by modes up, of which
    one neighbour is not known line by line."""
    edges = np.array([bands.edges(centre) for centre in bands.CENTRES])
    width = np.diff(edges, axis=1)[lines.band, 0] * lines.weight
    power = lines.squares["power"].sum(axis=1) * width
    out = np.zeros(len(bands.CENTRES))
    for place in range(1, int(lines.band.max())):
        shown = power @ np.abs(detector.filter_response(lines.frequency, bands.CENTRES[place])) ** 2
        out[place] = levels.decibel(shown / power[lines.band == place].sum())
    return out


def sentence(bands_hz: tuple[float, ...], by: NDArray) -> str:
    """Bands (n,) that filters move by TOLD and more, `by` (n,) [dB]; empty without any."""
    named = [f"{shift:+.1f} dB at {bands.named(band)}"
             for band, shift in zip(bands_hz, by, strict=True) if abs(shift) >= TOLD]  # fmt: skip
    if not named:
        return ""
    return (
        "A meter's filters lap over their bands' edges, the prediction's do not: a meter would read"
        f" {', '.join(named)} against it. So much more is allowed on that side."
    )

"""Why perfect hangers are no lower bound on a light floor: two masses by hand, then the model.

The floor is itself a spring and mass. Below the upper of the two coupled resonances a stiffer
hanger moves that resonance away and so can lower what is heard in a band, above it a softer one
always wins. Two degrees of freedom, per area: floor m1 on its own stiffness, ceiling m2 on the
spring between (J. P. Den Hartog, Mechanical Vibrations, 4th ed., ch. 3, from memory).
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import designs
import numpy as np
import pytest

from impact.base import bands
from impact.report.choice import _best
from impact.study import choose_sound
from impact.study.choose_axes import Axes, stiffened
from impact.study.choose_parts import BestCase

FLOOR, CEILING, FIRST = 40.0, 21.5, 14.2  # kg/m2, kg/m2, Hz of the bare floor
AIR = 101e3 / 0.276  # N/m3: 276 mm of filled cavity, isothermal
STIFF = 4e6  # N/m3 of hangers


def ceiling_motion(frequency: float, spring: float, loss: float = 0.06) -> float:
    """|x2| per force on the floor by Cramer's rule [m3/N]."""
    w2 = (2 * np.pi * frequency) ** 2
    own = FLOOR * (2 * np.pi * FIRST) ** 2 * (1 + 1j * loss)
    between = spring * (1 + 1j * loss)
    upper, lower = own + between - w2 * FLOOR, between - w2 * CEILING
    return float(abs(between / (upper * lower - between**2)))


def resonances(spring: float) -> np.ndarray:
    """The two undamped frequencies [Hz], from the quadratic in w²."""
    own = FLOOR * (2 * np.pi * FIRST) ** 2
    half = ((own + spring) / FLOOR + spring / CEILING) / 2
    root = np.sqrt(half**2 - own * spring / FLOOR / CEILING)
    return np.sqrt([half - root, half + root]) / 2 / np.pi


def test_the_pair_over_a_floor_that_is_a_spring():
    """Worked example, independent of this code: 25.7 Hz on free masses becomes 27.4 Hz over a
    14.2 Hz floor, which itself drops to 10.8 Hz. 0.1 Hz is their rounding."""
    assert resonances(AIR) == pytest.approx([10.8, 27.4], abs=0.1)


def test_stiff_hangers_win_at_the_resonance_of_perfect_ones_and_lose_above():
    """At 27.4 Hz perfect hangers stand on their resonance (about 1/loss = 24 dB); stiff ones have
    theirs above 80 Hz. At 63 Hz it is the other way round."""
    assert resonances(AIR + STIFF)[1] > 80
    at = {f: 20 * np.log10(ceiling_motion(f, AIR + STIFF) / ceiling_motion(f, AIR))
          for f in (27.4, 63.0)}  # fmt: skip
    assert at[27.4] < -10
    assert at[63.0] > 10


def test_the_model_does_the_same():
    """Hangers of 10 kN/mm against perfect ones under a timber floor of 4.2 m span, whose first mode
    lies near that of the hand calculation, edge free: quieter by more than 3 dB in a band up to
    31.5 Hz, louder by more than 3 dB at 63 and 80 Hz, and louder as heard. (On a stiffer floor the
    same happens higher up.)"""
    base = designs.basement()
    edge = replace(base.ceiling.perimeter, kind="free", gap=0.0)
    design = replace(base, ceiling=replace(base.ceiling, perimeter=edge))
    spacing = design.hangers.channel_spacing, design.hangers.hanger_spacing
    line = Axes(stiffened(design.hangers, [1e7]), spacing[:1], spacing[1:], (2,), (0.25,), (0.15,))
    found = choose_sound.search(design, line)
    stiff, perfect = (
        choose_sound.band_levels(design, each["walker_barefoot"]).squeeze()
        for each in (found.square, found.perfect)
    )
    gain = dict(zip([bands.nominal(f) for f in choose_sound.CENTRES], stiff - perfect, strict=True))
    assert min(value for band, value in gain.items() if band <= 31.5) < -3
    assert gain[63.0] > 3
    assert gain[80.0] > 3
    assert choose_sound.heard(stiff) > choose_sound.heard(perfect)


@pytest.mark.parametrize(("found", "told"), [(31.0, True), (33.0, False)])
def test_the_words_tell_which_is_the_best(found, told):
    made = SimpleNamespace(best_case=BestCase(32.0, found), design=designs.basement())
    page = " ".join(_best(made))
    assert "32.0 dB on perfect hangers" in page
    assert ("perfect hangers are not the best" in page) is told

"""The footfall warning: graded by what a walker is heard as, not by the band alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import predictions
import pytest

from impact.advice import findings as advice
from impact.base import bands
from impact.sound import hearing

COUNT = len(bands.NOMINAL)
THRESHOLD = np.nan_to_num(hearing.threshold(), nan=80.0)
SILENT = THRESHOLD - 20.0


def over(band: float, excess: float) -> np.ndarray:
    """Levels 20 dB under the threshold but for one band, `excess` [dB] over it."""
    level = SILENT.copy()
    level[bands.index(band)] += 20 + excess
    return level


def warned(level: np.ndarray, bare: np.ndarray, **changes: float) -> list[advice.Warning]:
    found = replace(predictions.RESONANCES, **changes)
    return advice.footfall_warning(found, level, bare, (), [])


@pytest.mark.parametrize(
    ("excess", "severity"),
    [(-1, "low"), (0.1, "moderate"), (9.9, "moderate"), (10.1, "high"), (29.9, "high"),
     (30.1, "severe")],
)  # fmt: skip
def test_severity_follows_the_level_of_the_walker(excess, severity):
    """Same resonances, same band; only what is heard differs. Limits as the words of hearing."""
    level = over(40.0, excess)
    (warning,) = warned(level, level)
    assert (warning.code, warning.severity) == ("resonance_in_footfall_range", severity)


def test_a_ceiling_that_amplifies_is_one_step_worse():
    level = over(40.0, 15.0)
    for rise, severity in ((2.9, "high"), (3.1, "severe")):
        bare = level.copy()
        bare[bands.index(40.0)] -= rise
        found = warned(level, bare)
        assert found[0].severity == severity
        assert (found[0].band_hz, found[0].amplification_db) == (40.0, pytest.approx(rise))
        assert found[1].code == "thud_worse_than_bare_floor"


@pytest.mark.parametrize(
    ("rise", "severity", "words"),
    [
        (0.7, "low", "0.7 dB louder than the bare floor: little or no difference"),
        (2.0, "moderate", "it should be quieter"),
        (4.6, "high", "it should be quieter"),
        (4.8, "severe", "noticeably louder"),
        (12.0, "severe", "about twice as loud or more"),
    ],
)
def test_louder_thud_is_graded_as_it_is_noticed(rise, severity, words):
    """A listening study finds 4.65 dB just noticeable (heavy soft impact, timber floors); 3 dB is
    twice the energy; 1 dB is our own judgement of no amplification."""
    level = over(40.0, 15.0)
    worse = warned(level, level - rise)[1]
    assert (worse.code, worse.severity) == ("thud_worse_than_bare_floor", severity)
    assert words in worse.message
    assert ("before building" in worse.message) is (severity != "low")


@pytest.mark.parametrize(
    ("spring", "held_by", "said"),
    [
        (1e9, "hangers", "The hangers carry most of the stiffness"),
        (1e9, "resilient channels", "The resilient channels carry most of the stiffness"),
        (0.0, "hangers", "The air in the cavity carries most of the stiffness"),
    ],
)
def test_the_spring_that_governs_is_named(spring, held_by, said):
    found = replace(predictions.RESONANCES, hanger_spring=spring)
    level = over(40.0, 15.0)
    (warning,) = advice.footfall_warning(found, level, level, (), [], held_by)
    assert said in warning.message


def test_nothing_is_amplified_that_is_not_heard():
    level = over(40.0, -5.0)
    (warning, worse) = warned(level, level - 6.0)
    assert warning.severity == "low"
    assert worse.code == "thud_worse_than_bare_floor"
    assert worse.severity == "low"
    assert "6.0 dB louder than the bare floor: it stays below hearing" in worse.message
    assert "before building" not in worse.message


def test_a_rise_where_steps_are_not_heard_is_no_step_worse():
    """15 dB over the threshold at 63 Hz and as under the bare floor; at 12.5 Hz 12 dB more, 20 dB
    below what is heard."""
    level = over(63.0, 15.0)
    bare = level.copy()
    bare[bands.index(12.5)] -= 12.0
    warning = warned(level, bare)[0]
    assert (warning.severity, warning.band_hz) == ("high", 12.5)
    assert (
        "At 12.5 Hz barefoot steps are 12.0 dB louder than under the bare floor, though not heard."
        in warning.message
    )


def test_the_rise_that_is_heard_is_named_before_a_larger_one_that_is_not():
    """It is what the severity rests on: at 63 Hz 4 dB more, 15 dB over the threshold; at 12.5 Hz 12
    dB more that nobody hears."""
    level = over(63.0, 15.0)
    bare = level.copy()
    bare[bands.index(12.5)] -= 12.0
    bare[bands.index(63.0)] -= 4.0
    warning = warned(level, bare)[0]
    assert (warning.severity, warning.band_hz) == ("severe", 63.0)
    assert warning.amplification_db == pytest.approx(4.0)
    assert "At 63 Hz barefoot steps are 4.0 dB louder than under the bare floor." in warning.message


def test_beside_an_old_ceiling_the_floor_is_not_called_bare():
    level = over(63.0, 35.0)
    bare = level.copy()
    bare[bands.index(63.0)] -= 6.0
    for one, other in ((level, bare), (level, level)):
        found = advice.footfall_warning(predictions.RESONANCES, one, other, (), [],
                                        beside="the old ceiling alone")  # fmt: skip
        for warning in found:
            assert "louder than under the old ceiling alone" in warning.message or (
                "louder than the old ceiling alone" in warning.message
            )
            assert "bare floor" not in warning.message


def test_a_rise_heard_at_100_hz_alone_is_no_thud():
    """100 Hz is of the footfall range and no thud: a thud that is not heard stays low."""
    level = over(100.0, 5.0)
    bare = level.copy()
    bare[bands.index(100.0)] -= 6.0
    assert warned(level, bare)[0].severity == "low"
    assert advice.severity(1.0, 6.0) == "high"  # faint and a step up


@pytest.mark.parametrize(("floor", "asked"), [(1.4, True), (6.0, False)])
def test_a_floor_that_nobody_builds_is_asked_about(floor, asked):
    """Such as a hollow slab of 265 mm over 19 m: a slip of span or unit."""
    level = over(63.0, 20.0)
    (warning,) = warned(level, level, floor_fundamental=floor)
    assert ("check its span and thickness" in warning.message) is asked


def test_range_ends_at_the_band_edges():
    """10 to 100 Hz are the bands from 10^0.95 = 8.91 to 10^2.05 = 112.2 Hz (IEC 61260-1)."""
    level = over(63.0, 20.0)
    for frequency, count in ((8.8, 0), (9.0, 1), (112.0, 1), (112.4, 0)):
        found = warned(level, level, floor_fundamental=frequency, mass_spring_mass=frequency,
                       coupled=())  # fmt: skip
        assert len(found) == count, frequency


def test_only_what_lies_in_the_range_is_said_to():
    """A ceiling screwed on resonates at some 400 Hz, a slab over a thin cavity at 134.7 Hz."""
    level = over(63.0, 20.0)
    (one,) = warned(level, level, floor_fundamental=28.8, mass_spring_mass=421.6)
    assert "(bands 10-100 Hz): floor 28.8 Hz." in one.message
    assert "The mass-spring-mass resonance lies outside it, at 421.6 Hz." in one.message
    (both,) = warned(level, level, floor_fundamental=14.2, mass_spring_mass=27.4)
    assert "(bands 10-100 Hz): mass-spring-mass 27.4 Hz, floor 14.2 Hz." in both.message
    assert "outside" not in both.message


def test_designs_rank_as_they_are_heard():
    """Mass-spring-mass at 76 Hz with 5 dB over, 31 Hz with 15 dB, 26 Hz with 35 dB: an alarm that
    only knew the band would call them alike."""
    grades = [
        warned(level, level, mass_spring_mass=f)[0].severity
        for f, level in ((76.0, over(80.0, 5.0)), (31.0, over(31.5, 15.0)), (26.0, over(25.0, 35)))
    ]
    assert grades == ["moderate", "high", "severe"]


def test_heard_thud_counts_what_is_over_the_threshold():
    """10 and 7 dB over the threshold in two bands, the rest 20 dB under: 10 lg (10 + 5.01 + 5 x
    0.01) = 11.78 dB, by hand; 16 Hz has no threshold and no share."""
    level = over(40.0, 10.0)
    level[bands.index(63.0)] = THRESHOLD[bands.index(63.0)] + 7.0
    assert advice.heard_thud(level) == pytest.approx(11.78, abs=0.01)

"""Fast maxima, spread and words of people above, against closed forms and published figures."""

from __future__ import annotations

import json
from dataclasses import replace
from types import SimpleNamespace

import designs
import numpy as np
import pytest
from texts import FEWEST

from impact.base import bands
from impact.design.parts import Covering
from impact.design.reader import read
from impact.errors import DesignError
from impact.heard import below, course, strikes, walking
from impact.heard.joined import join
from impact.motion.underfoot import Underfoot
from impact.source import ball, body, people, step

EXAMPLE = "03_metric_particleboard.toml"
COUNT = len(bands.NOMINAL)


def joined(
    square: np.ndarray, positions: np.ndarray | None = None, middle: int = 13, mobility: float = 0.0
):
    """What `walking` asks of a joined answer: flat power, a room heard as `square`, and a floor of
    one mobility [m/(N s)] everywhere, 0 for rigid."""
    design = designs.basement()
    top = middle + 2
    places = ("average", "inside", "corner", "middle", "pillow")
    heard = {place: np.array(square[:top]) for place in places}
    alone = square[:top] * np.ones((4, 1)) if positions is None else positions
    squares = dict.fromkeys(("average", "inside", "middle", "pillow", "power"), alone.T)
    feet = Underfoot(
        np.array(bands.CENTRES[:top]), np.arange(top), np.ones(top),
        np.full((top, 4), mobility, complex), {**squares, "corners": alone.T[:, None]},
    )  # fmt: skip
    variants = ("design", "bare", "best")
    return SimpleNamespace(
        assembly=SimpleNamespace(design=design), crossover=middle,
        underfoot=dict.fromkeys(variants, feet), mobility=np.full(COUNT, mobility, complex),
        power=dict.fromkeys(variants, np.full(COUNT, 1e-6)),
        heard=dict.fromkeys(variants, heard),
        mismatch_db=dict.fromkeys(variants, np.zeros(3)),
    )  # fmt: skip


def test_levels_follow_energy_and_the_whole_lies_between_band_and_sum():
    """Four times the square, four times everything; a sum's maximum is at least the largest band
    and at most the sum of the bands' maxima."""
    square = 1e-4 * np.ones(COUNT)
    one = walking.heard(step.Step(), square, 0.5)
    four = walking.heard(step.Step(), 4 * square, 0.5)
    assert four.fast == pytest.approx(4 * one.fast)
    assert four.a_fast == pytest.approx(4 * one.a_fast)
    weighted = one.fast * walking.A_GAIN
    assert weighted.max() < one.a_fast < weighted.sum()


def test_the_ball_lies_well_above_a_step():
    """ISO 10140-5 Table F.1 against a barefoot step, 31.5 and 63 Hz: more than 10 dB, as heavy
    soft impacts are known to exceed walking (common practice, no source)."""
    third = np.array(ball.third_octave_exposure_levels().level)
    foot = 10 * np.log10(course.onset(step.Step())[1])
    for band in (31.5, 63.0):
        assert third[bands.index(band)] - foot[bands.index(band)] > 10


def test_the_room_is_modal_below_and_diffuse_above():
    """Modal 10 dB above diffuse: all of it below the blend, by hand 7.5, 5 and 2.5 dB within, none
    above; the jump is -10 dB."""
    far = walking.diffuse(joined(np.ones(COUNT)), "design")
    made = joined(10 * far)
    gain = 10 * np.log10(walking.in_room(made) / far)
    assert gain == pytest.approx([10.0] * 12 + [7.5, 5.0, 2.5] + [0.0] * 13, abs=1e-6)
    assert walking.jump_db(made) == pytest.approx([-10.0] * 3)
    # 4 rho c W/A by hand. Without the ceiling the room is 4.2 x 3.6 x 2.4 = 36.288 m3, so A =
    # 0.16 x 36.288/0.5 = 11.612 m2 and 4 x 413.2 x 1e-6/11.612 = 1.4233e-4; below it, 41 mm of air
    # and 31.8 mm of boards lower: 35.187 m3, 11.260 m2, 1.4679e-4
    assert far == pytest.approx(np.full(COUNT, 1.4679e-4), rel=1e-3)
    bare = walking.diffuse(joined(np.ones(COUNT)), "bare")
    assert bare == pytest.approx(np.full(COUNT, 1.4233e-4), rel=1e-3)


def test_scatter_of_the_steps_comes_out_again():
    """All places alike and 10 % scatter: sigma 20 lg 1.1 = 0.828 dB, so 90 % lies 1.2816 sigma =
    1.06 dB above the median; 15 equally likely steps give that within 0.12 dB."""
    made = joined(np.full(COUNT, 1e-4))
    made.assembly.design = replace(
        made.assembly.design, options={"footsteps": {"step_variation": 0.1}}
    )
    found = walking.statistics(made, "barefoot")
    assert found["LAFmax_90"] - found["LAFmax_median"] == pytest.approx(1.06, abs=0.12)
    assert found["bands_90"] - found["bands_median"] == pytest.approx(
        np.full(COUNT, 1.06), abs=0.12
    )


def test_places_of_the_foot_widen_the_spread():
    square = np.full(COUNT, 1e-4)
    apart = square[:15] * np.array([1.0, 1.0, 10.0, 10.0])[:, None]
    narrow = walking.statistics(joined(square), "barefoot")
    wide = walking.statistics(joined(square, apart), "barefoot")
    low = bands.between(bands.THUD)
    # half of the places 10 dB louder: the 90 % point follows them
    assert (wide["bands_90"] - narrow["bands_90"])[low] == pytest.approx(np.full(8, 10.0), abs=0.8)


def test_bars_count_from_threshold_and_background():
    """40 dB in every band: over ISO 226's threshold most at 80 Hz of the thud, 40 - 31.5 = 8.5 dB;
    with 35 dB of background 5 dB. Without the ceiling 44.7 dB: noticed; 44.6 dB: not. 16 Hz has
    no threshold in ISO 226 and counts in no change: 80 dB there and 10 dB less above are -10 dB."""
    level = np.full(COUNT, 40.0)
    bar = walking.bar(level, level + 4.7, "thud", None)
    assert bar["over_threshold_db"] == pytest.approx(8.5)
    assert bar["grade"] == "faint"
    assert bar["bare_over_threshold_and_background_db"] == pytest.approx(13.2)
    assert bar["change"] == "noticeably quieter"
    assert walking.bar(level, level + 4.6, "thud", None)["change"] == "little or no difference"
    low = np.where(np.arange(COUNT) < bands.index(20.0), 80.0, 40.0)  # 16 Hz and below louder
    assert walking.bar(low, level + 10.0, "thud", None)["change_db"] == pytest.approx(-10.0)
    silent = walking.bar(np.full(COUNT, 0.0), level, "thud", None)
    assert silent["change"] == "no longer heard"
    loud = walking.bar(level, level, "thud", np.full(COUNT, 35.0))
    assert loud["over_threshold_and_background_db"] == pytest.approx(5.0)
    assert walking.bar(np.full(COUNT, -30.0), level, "click", None)["grade"] == "not heard"


def test_who_walks_follows_the_design_and_faults_are_named():
    design = designs.basement()
    given = {"walker_mass": 90.0, "pace": 2.1, "child_mass": 20.0}
    design = replace(design, options={"footsteps": given}, path="my.toml")
    assert (people.walker(design, "hard").mass, people.walker(design, "hard").pace) == (90, 2.1)
    assert people.walker(design, "child").mass == 20
    slow = replace(design, options={"footsteps": {"pace": 4.0}})
    with pytest.raises(DesignError, match=r"footsteps\.pace: 4 Hz; must be 1\.2 to 2\.6 Hz"):
        people.walker(slow, "socks")


@pytest.mark.parametrize(
    ("pace", "low", "high"), [("pace", *step.WALKING_PACE), ("running_pace", *step.RUNNING_PACE)]
)
def test_a_pace_that_no_walker_has_is_a_fault_of_the_file(tmp_path, pace, low, high):
    """The reader takes the paces for which there is a step, and tells others with all else."""
    file = tmp_path / "d.toml"
    for wrong, right in ((low - 0.1, low), (high + 0.1, high)):
        file.write_text(FEWEST + f'[footsteps]\n{pace} = "{right:.1f} Hz"\n')
        assert people.given(read(file))[pace] == pytest.approx(right)
        file.write_text(FEWEST + f'[footsteps]\n{pace} = "{wrong:.1f} Hz"\n')
        with pytest.raises(DesignError, match=f"{pace}.*lies outside {low:g} Hz to {high:g} Hz"):
            read(file)


def test_sources_walk_as_the_design_says():
    """Twice the body, four times the energy, in the table of sources too: 6.02 dB."""
    light, heavy = (
        replace(designs.basement(), options={"footsteps": {"walker_mass": mass}})
        for mass in (40.0, 80.0)
    )
    for name in ("walker_barefoot", "walker_hard_heel"):
        force = strikes.SOURCES[name].force
        apart = force(heavy, np.ones(COUNT)) / force(light, np.ones(COUNT))
        # the shoe's own heel does not grow with the body
        count = COUNT if name == "walker_barefoot" else bands.index(31.5)
        assert 10 * np.log10(apart[:count]) == pytest.approx(np.full(count, 6.02), abs=0.3)


def test_carpet_takes_the_click_of_a_heel_and_leaves_the_thud():
    """Known to every consultant: gains far above, none below 63 Hz. Carpet without pad, 0.28 GN/m3
    (Hopkins 2007 ch. 3.6), under a heel of 3 cm2: 84 kN/m, with 0.2 kg 104 Hz; above, 12 dB an
    octave against a deck that itself gives way at some 750 Hz: 20 dB at 500 Hz and more."""
    bare = designs.basement()
    carpet = Covering("carpet", 0.28e9, 0.2, 1.8, 0.007)
    soft = replace(bare, floor=replace(bare.floor, covering=carpet))
    for who, least in (("hard", 20.0), ("barefoot", 0.0)):
        one, other = (people.exposure(people.person(d, who), bands.CENTRES) for d in (bare, soft))
        gain = 10 * np.log10(one / other)
        assert np.abs(gain[: bands.index(50.0)]).max() < 1.0, who
        assert gain[bands.index(500.0)] >= least, who


def test_events_are_exposures_of_their_own_force():
    """By hand at the low end, where a short blow is its impulse I: 2 I^2 B. The toy: 0.1 kg from
    1 m, rebound 0.5: 0.1 sqrt(2 x 9.80665) 1.5 = 0.6643 N s; B = 0.2307 x 10 Hz."""
    design = designs.basement()
    toy = people.exposure(people.person(design, "dropped_toy"), bands.CENTRES)
    assert toy[0] == pytest.approx(2 * 0.6643**2 * 2.307, rel=0.01)
    light, heavy = (
        people.exposure(people.person(replace(design, options=given), "child_jumping"), [31.6])
        for given in ({"footsteps": {"child_mass": 20.0}}, {"footsteps": {"child_mass": 40.0}})
    )
    assert heavy / light == pytest.approx(4.0)
    # a thing off the floor again before it answers does not mind how the floor yields
    assert people.impedance(people.person(design, "dropped_toy")) is None


def test_a_floor_that_yields_takes_from_the_walker():
    """By hand, 20 lg |Zf/(Zf + Zw)| for one resistive Zf = 1 kN s/m under every foot: in each band,
    at each place, and in the diffuse bands above."""
    soft, hard = joined(np.full(COUNT, 1e-4), mobility=1e-3), joined(np.full(COUNT, 1e-4))
    own = body.walker_impedance(np.array(bands.CENTRES), 76.0)
    by_hand = 20 * np.log10(np.abs(1000 / (1000 + own)))
    for place in ("average", "corner", "pillow"):
        found, rigid = (walking.band_levels(one, "barefoot", place=place) for one in (soft, hard))
        assert found - rigid == pytest.approx(by_hand, abs=1e-6)
    assert by_hand.min() < -6  # or nothing would have been shown
    taken = below.people(soft)["walker_barefoot"]["yielding_floor_db"]
    assert taken == pytest.approx(by_hand[bands.between(bands.THUD)].min(), abs=0.01)
    apart = walking.statistics(soft, "barefoot")["bands_median"]
    apart = apart - walking.statistics(hard, "barefoot")["bands_median"]
    assert apart[:13] == pytest.approx(by_hand[:13], abs=1e-6)


def test_small_rooms_take_the_low_frequency_procedure():
    """ISO 16283-2: below 25 m3, 50, 63 and 80 Hz, (corner + 2 average)/3; corner 10 times the
    average gives 10 lg 4 = 6.02 dB above the average."""
    square = np.full(COUNT, 1e-4)
    made = joined(square)
    for heard in made.heard.values():
        heard["corner"] = 10 * square[:15]
    assert below.people(made)["walker_barefoot"]["low_frequency_procedure_db"] is None
    room = replace(made.assembly.design.room, length=3.0, width=3.0)
    made.assembly.design = replace(made.assembly.design, room=room)
    measured = below.people(made)["walker_barefoot"]["low_frequency_procedure_db"]
    plain = walking.band_levels(made, "barefoot")
    assert list(measured) == ["50", "63", "80"]
    for label, value in measured.items():
        assert value - plain[bands.index(float(label))] == pytest.approx(6.02, abs=0.01)


def test_small_rooms_are_measured_in_corners_too():
    """Tapping machine, same rooms: the corner 10 dB over the usual places, so the procedure lies
    10 lg((10 + 2)/3) = 6.02 dB over them; standardized from T = 1 s it loses 3.01 dB."""
    square = np.full(COUNT, 1e-4)
    made = joined(square, mobility=1e-4)
    for heard in made.heard.values():
        heard["corner"] = 10 * square[:15]
    assert below.small_room(made) is None
    room = replace(made.assembly.design.room, length=3.0, width=3.0, reverberation_time=1.0)
    made.assembly.design = replace(made.assembly.design, room=room)
    told = below.small_room(made)
    for case in ("bare", "ceiling"):
        usual, corner, both, standard = (
            np.array(told[case][key]) for key in ("usual_db", "corner_db", "procedure_db", "LnT_db")
        )
        assert corner - usual == pytest.approx([10.0] * 3, abs=0.011)  # printed to 0.01
        assert both - usual == pytest.approx([6.02] * 3, abs=0.011)
        assert both - standard == pytest.approx([3.01] * 3, abs=0.011)
    # 3.92 N2/Hz (e = 0) x 0.2316 f: 63.1 Hz: 57.3 N2 on 1e-4 Pa2/N2: 71.6 dB (contact takes none)
    assert told["bare"]["usual_db"][1] == pytest.approx(71.6, abs=0.1)


@pytest.fixture(scope="module")
def example(predicted):
    return predicted(EXAMPLE).joined


def test_people_in_an_example(example):
    """Ready for JSON, in order, and as walkers are known: loudest at 15 to 40 Hz (boom range of
    timber floors, common practice), the ceiling takes the click away and hardly the thud."""
    told = below.people(example)
    json.dumps((told, below.events(example)), allow_nan=False)
    assert list(told) == ["walker_barefoot", "walker_hard_heel", "child_running"]
    for one in told.values():
        assert one["LAFmax_median_db"] < one["LAFmax_90_percent_db"]
        assert one["LAFmax_db"] < one["LAFmax_bare_db"]
        assert one["LASmax_db"] < one["LAE_db"]  # an event shorter than a second
        assert one["LAE_db"] < one["LAFmax_db"]  # T = 0.5 s: F maximum 4 to 7 dB above exposure
        assert one["bars"]["click"]["change_db"] < one["bars"]["thud"]["change_db"]
    bare = walking.band_levels(example, "barefoot", "bare")
    assert 15 < bands.NOMINAL[int(np.argmax(bare))] <= 40


def test_single_places_are_heard_where_they_are_asked_for(example):
    """A prediction of a room of ordinary size knows of none, and says how to; the average is the
    same with them. A mode is 3 dB louder at a wall than in the mean for each side it runs along,
    so that the thud is louder in a corner, by 9 dB at most. The middle has nodes of odd modes."""
    with pytest.raises(ValueError, match=r"place 'corner': join\(design, places=True\)"):
        walking.band_levels(example, "hard", place="corner")
    asked = join(example.assembly.design, places=True)
    average, corner, middle = (
        walking.band_levels(asked, "hard", place=place) for place in ("average", "corner", "middle")
    )
    assert average == pytest.approx(walking.band_levels(example, "hard"), abs=1e-9)
    thud = bands.between(bands.THUD)
    assert np.all((corner - average)[thud] > 0)
    assert np.all((corner - average)[thud] < 9)
    assert (middle - average)[thud].min() < -9


@pytest.mark.parametrize("name", [EXAMPLE, "01_basement_rental.toml"])
def test_the_jump_to_the_diffuse_room_is_small(name, predicted):
    """Over the same motion box and diffuse room differ by less than 3 dB in each of the three
    bands where one takes over, by less than 2 dB in their mean: a third octave of some 30 modes
    scatters by 4.34/sqrt(1 + B T/6.9) = 2.1 dB at 200 Hz, T = 0.5 s (M. R. Schroeder's theory of
    room responses, from memory)."""
    for variant in ("design", "bare", "best"):
        jump = walking.jump_db(predicted(name).joined, variant)
        assert np.abs(jump).max() < 3.0, variant
        assert abs(np.mean(jump)) < 2.0, variant

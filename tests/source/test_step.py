"""One force history per step: against measured stances, pace harmonics, effective impulse."""

import math

import numpy as np
import pytest

from impact.base import bands
from impact.base.air import GRAVITY
from impact.source import ball, body, events, gait, people, step, walk

FOOTWEAR = (step.BAREFOOT, step.SOCKS, step.SOFT_SHOE, step.HARD_HEEL)

WALKER = 746.0 / GRAVITY  # kg: the 746 N walker of SCI P354
SPEEDS = {1: 1.69, 2: 1.95, 3: 2.20}  # steps/s of the data's slow, normal, fast (gait docstring)


def thirds(low: int, high: int) -> np.ndarray:
    """Exact centres of third octaves number low..high about 1 kHz."""
    return 1000 * 10 ** (np.arange(low, high + 1) / 10)


def steel_institute(pace: float) -> np.ndarray:
    """Coefficients of pace harmonics 1 to 4 over body weight: SCI P354 Table 3.1, design values."""
    rows = ((0.436, -0.95), (0.006, 12.3), (0.007, 5.2), (0.007, 2.0))  # a (h f + b)
    return np.array([a * (h * pace + b) for h, (a, b) in enumerate(rows, start=1)])


def concrete_centre(pace: float) -> np.ndarray:
    """The same of CCIP-016 = AISC DG11, design values."""
    x = pace * np.arange(1, 5)
    first = min(0.56, 0.41 * (x[0] - 0.95))
    return np.array([first, 0.069 + 0.0056 * x[1], 0.033 + 0.0064 * x[2], 0.013 + 0.0065 * x[3]])


def band_rms(exposure: np.ndarray, centres: np.ndarray) -> np.ndarray:
    """Root-mean-square |F| in a band [N s] of its exposure 2 int |F|^2 df."""
    return np.sqrt(exposure / (2 * centres * (10**0.05 - 10**-0.05)))


@pytest.fixture(scope="module")
def stances():
    """Force over body weight of all stances at three speeds, scaled to carry the body."""
    spm1d = pytest.importorskip("spm1d")
    tau = np.linspace(0, 1, 101)
    collected = {condition: [] for condition in SPEEDS}
    for subject in range(10):
        data = spm1d.data.uv1d.anova1.SpeedGRFcategorical(subject)
        for condition, pace in SPEEDS.items():
            force = data.Y[condition == data.A]
            impulse = np.trapezoid(force, tau * gait.STANCE_STRIDE / pace, axis=1)
            collected[condition].append(force / (impulse * pace)[:, None])
    return {condition: np.vstack(rows) for condition, rows in collected.items()}


@pytest.mark.parametrize("condition", SPEEDS)
def test_shape_is_that_of_measured_stances(stances, condition):
    """Pataky et al. (2008), mean of 200 barefoot stances of ten people per speed.

    What a compact description may miss: 5 % of the body's weight rms, 12 % at any instant (the
    sharp heel peak moves from person to person and is flattened in the mean).
    """
    pace = SPEEDS[condition]
    times = np.linspace(0, 1, 101) * gait.STANCE_STRIDE / pace
    ours = step.force(step.Step(mass=WALKER, pace=pace), times) / 746.0
    mean = stances[condition].mean(axis=0)
    assert np.sqrt(np.mean((ours - mean) ** 2)) < 0.05
    after_strike = times > 0.03
    assert np.max(np.abs(ours - mean)[after_strike]) < 0.12


@pytest.mark.parametrize("condition", SPEEDS)
def test_spectrum_is_that_of_measured_stances(stances, condition):
    """Energy mean over the same stances, 4 to 50 Hz third octaves, within 2.5 dB.

    The data come at 100 points a stance, 6-7 ms apart, too coarse for the strike: ours, sampled
    alike, lies 1 dB closer at 40-50 Hz.
    """
    pace = SPEEDS[condition]
    times = np.linspace(0, 1, 101) * gait.STANCE_STRIDE / pace
    centres = thirds(-24, -13)
    measured = []
    for centre in centres:
        frequency = np.linspace(centre * 10**-0.05, centre * 10**0.05, 15)
        wave = np.exp(-2j * np.pi * frequency[:, None] * times)
        transform = np.trapezoid(stances[condition][:, None, :] * wave, times, axis=-1)
        measured.append(np.mean(np.abs(transform) ** 2))
    ours = band_rms(step.third_octave_exposure(step.Step(mass=WALKER, pace=pace), centres), centres)
    error = 20 * np.log10(ours / 746.0 / np.sqrt(measured))
    assert np.max(np.abs(error)) < 2.5


def test_spread_between_people_is_that_of_the_data(stances):
    """Standard deviation of ten subject means, 10 to 50 Hz, normal speed: 2.1 to 3.1 dB there.

    `spread` adds 2 dB in square for the assumed pace and stance, so it must not be smaller, nor
    larger by more than a half.
    """
    times = np.linspace(0, 1, 101) * gait.STANCE_STRIDE / 1.95
    centres = thirds(-20, -13)
    levels = []
    for subject in stances[2].reshape(10, 20, 101):
        row = []
        for centre in centres:
            frequency = np.linspace(centre * 10**-0.05, centre * 10**0.05, 15)
            wave = np.exp(-2j * np.pi * frequency[:, None] * times)
            row.append(
                np.mean(np.abs(np.trapezoid(subject[:, None, :] * wave, times, axis=-1)) ** 2)
            )
        levels.append(10 * np.log10(row))
    measured = np.std(levels, axis=0, ddof=1)
    stated = step.spread(step.Step(), centres)
    assert np.all(stated > 0.95 * measured)
    assert np.all(stated < 1.5 * np.hypot(measured, 2.0))


@pytest.mark.parametrize("pace", [1.4, 1.7, 2.0, 2.3])
def test_mean_of_the_walk_is_the_body_weight(pace):
    times, force = step.history(step.Step(mass=WALKER, pace=pace), 4000)
    assert np.trapezoid(force, times) * pace == pytest.approx(746.0, rel=1e-4)
    assert force.min() >= 0  # a foot cannot pull


@pytest.mark.parametrize("pace", [1.69, 1.95])
def test_against_effective_impulse(pace):
    """54 f_p^1.43/f_n^1.3 N s (CCIP-016, design value from memory), 5 to 31.5 Hz: within 4 dB.

    An impulse gives a mode I/m and a step |F|/m, so the formula stands close to the spectrum.
    """
    centres = thirds(-23, -15)
    ours = band_rms(step.third_octave_exposure(step.Step(mass=WALKER, pace=pace), centres), centres)
    error = 20 * np.log10(ours / (54 * pace**1.43 / centres**1.3))
    assert np.max(np.abs(error)) < 4.0  # 3.6 at 6.3 Hz, where one step's lobes show; else 2.6
    assert abs(np.mean(error)) < 1.0


def test_fast_walk_exceeds_the_effective_impulse():
    """At 2.2 steps/s ten people strike harder than the formula: by up to 7 dB at 31.5 Hz.

    A finding, not a fit: the formula grows by 1.7 dB from 1.95 to 2.2 steps/s, the data by 4-5.
    Still within 3 dB up to 12.5 Hz, and never more than 2.5 dB below.
    """
    centres = thirds(-23, -15)
    ours = band_rms(step.third_octave_exposure(step.Step(mass=WALKER, pace=2.2), centres), centres)
    error = 20 * np.log10(ours / (54 * 2.2**1.43 / centres**1.3))
    assert np.max(np.abs(error[:5])) < 3.0
    assert error.min() > -2.5
    assert error.max() < 7.0


@pytest.mark.parametrize("pace", [1.95, 2.2])
def test_against_pace_harmonics(pace):
    """SCI P354 Table 3.1 and CCIP-016 are design values on the high side of scattered data.

    First harmonic within 30 %; third and fourth within 40 %. The second is a miss: a third of the
    published one, because equal steps of 62 % stance nearly cancel it (see the next test).
    """
    found = np.array(
        [
            2 * abs(step.spectrum(step.Step(mass=WALKER, pace=pace), h * pace)) * pace / 746.0
            for h in range(1, 5)
        ]
    )
    for published in (steel_institute(pace), concrete_centre(pace)):
        ratio = found / published
        assert 0.7 < ratio[0] < 1.3
        assert np.all((ratio[2:] > 0.6) & (ratio[2:] < 1.4))
        assert 0.2 < ratio[1] < 0.5  # the miss, held here so that it is not forgotten


def test_second_harmonic_lives_on_the_stance():
    """A tenth more of time on the floor more than doubles it: the published value is within reach.

    The stance of 1.24/pace is assumed, not measured; CCIP-016 gives 0.091 at 1.95 steps/s.
    """
    second = [
        2 * abs(step.spectrum(step.Step(pace=1.95, stance=share / 1.95), 3.9)) * 1.95 / 745.3
        for share in (1.12, 1.24, 1.36)
    ]
    assert max(second) > 2 * second[1]


def test_heel_strike_is_a_foot_at_a_plausible_speed():
    """Effective foot mass 6.3 % of the body (Chi & Schmitt 2005) at 0.2 to 0.7 m/s (Whittle 1999),

    both from memory: the strike impulse per body weight must lie in 0.063 v/g.
    """
    for pace in (1.95, 2.1):
        speed = gait.walking(pace).strike * GRAVITY / body.FOOT_MASS
        assert 0.2 < speed < 1.1
    assert 0.2 < gait.walking(1.69).strike * GRAVITY / body.FOOT_MASS < 0.7


@pytest.mark.parametrize("shoe", FOOTWEAR, ids=lambda shoe: shoe.name)
def test_history_and_spectrum_hold_the_same_energy(shoe):
    """Parseval, and the band exposures from 0 up: int F2 dt = 2 int |F|2 df within 0.1 dB."""
    walker = step.Step(footwear=shoe)
    times, force = step.history(walker, 96000)
    energy = np.trapezoid(force**2, times)
    low = np.linspace(0, 1000 * 10**-2.05, 4001)
    below = 2 * np.trapezoid(np.abs(step.spectrum(walker, low)) ** 2, low)
    within = step.third_octave_exposure(walker, np.array(bands.CENTRES)).sum()
    assert 10 * math.log10((below + within) / energy) == pytest.approx(0.0, abs=0.1)
    for frequency in (3.0, 30.0, 300.0):
        numeric = np.trapezoid(force * np.exp(-2j * np.pi * frequency * times), times)
        assert abs(numeric - step.spectrum(walker, frequency)) < 2e-3


def test_footwear_orders_the_high_bands():
    """Light, McLellan & Klenerman (1980), from memory: soft soles blunt the strike, hard ones do

    not; hard heels click. At 63 Hz soft shoe < barefoot, at 1 kHz barefoot < soft shoe < heel.
    """
    exposure = {
        shoe.name: step.third_octave_exposure(step.Step(footwear=shoe), np.array([63.1, 1000.0]))
        for shoe in FOOTWEAR
    }
    assert exposure["soft shoe"][0] < exposure["socks"][0] < exposure["barefoot"][0]
    assert exposure["barefoot"][1] < exposure["soft shoe"][1] < exposure["hard heel"][1]


def test_a_carpet_takes_the_click_and_leaves_the_thud():
    """Known to every consultant; 0.2 kg on 0.2 MN/m turns over at 159 Hz, 12 dB/octave above."""
    bare = step.Step(footwear=step.HARD_HEEL)
    carpet = step.Step(footwear=step.HARD_HEEL, surface_stiffness=0.2e6)
    centres = np.array([31.6, 1000.0])
    ratio = step.third_octave_exposure(bare, centres) / step.third_octave_exposure(carpet, centres)
    assert 10 * np.log10(ratio[0]) == pytest.approx(0.0, abs=0.5)
    assert 10 * np.log10(ratio[1]) > 20


def test_harder_impact_energy_scales_with_mass_squared():
    """Twice the body, four times the energy: 6.02 dB in every band."""
    centres = thirds(-20, -10)
    one = step.third_octave_exposure(step.Step(mass=40), centres)
    two = step.third_octave_exposure(step.Step(mass=80), centres)
    assert two / one == pytest.approx(np.full(11, 4.0), rel=1e-9)


def test_a_barefoot_runners_first_peak():
    """Lieberman et al., Nature 463 (2010): 1.9 +- 0.7 body weights in a barefoot heel strike,

    from memory; adult of 70 kg, heel at 1.5 m/s. Within the first 50 ms.
    """
    runner = step.Step(mass=70, pace=2.8, stance=0.25, running=True, heel_speed=1.5)
    times, force = step.history(runner, 4000)
    assert 1.2 < force[times < 0.05].max() / (70 * GRAVITY) < 2.6


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [("pace", 4.0, "pace 4"), ("mass", 0.0, "mass 0"), ("stance", 5.0, "stance 5")],
)
def test_impossible_walkers_are_refused(field, value, words):
    with pytest.raises(ValueError, match=words):
        step.Step(**{field: value})


def test_walk_is_the_same_for_the_same_seed_and_carries_the_body():
    walker = step.Step(mass=WALKER)
    first, again, other = (walk.walk(walker, 60.0, seed) for seed in (1, 1, 2))
    assert np.array_equal(first.times, again.times)
    assert not np.array_equal(first.force_scale, other.force_scale)
    assert len(first.times) == pytest.approx(60 * 1.95, abs=4)
    assert np.all(np.diff(first.left.astype(int)) != 0)  # left, right, left
    # each step carries m g/pace; 117 of them scattering by 10 %: the mean is uncertain by 1 %, and
    # the last step reaches over the end
    assert first.force_scale.sum() * walker.impulse / 60.0 == pytest.approx(746.0, rel=0.03)


def test_walking_speed_is_that_of_the_subjects():
    """Pataky et al. (2008) data: mean speeds 1.09, 1.44, 1.95 m/s of slow, normal, fast."""
    for pace, speed in ((1.69, 1.09), (1.95, 1.44), (2.20, 1.95)):
        assert walk.step_length(step.Step(pace=pace)) * pace == pytest.approx(speed, rel=0.05)


def test_path_is_walked_to_and_fro():
    steps = walk.Walk(
        times=np.arange(5.0),
        left=np.array([True] * 5),
        force_scale=np.ones(5),
        distance=np.array([0.0, 3.0, 5.0, 7.0, 13.0]),
        aside=np.full(5, 0.1),
    )
    found = walk.positions(steps, [(0, 0), (4, 0), (4, 2)])  # 6 m long, worked by hand
    expected = [(0, 0.1), (3, 0.1), (3.9, 1), (4.1, 1), (1, 0.1)]
    assert found == pytest.approx(np.array(expected))


def test_events_repeat_evenly_and_spread_over_the_path():
    """Every 2 s for 9 s: five, at 0, 61.8, 23.6, 85.4, 47.2 m of 100 (golden section, by hand)."""
    found = walk.repeated(2.0, 9.0, 3, scatter_db=0.0)
    assert found.times == pytest.approx([0, 2, 4, 6, 8])
    assert found.distance == pytest.approx([0, 61.8, 23.6, 85.4, 47.2], abs=0.05)
    assert found.force_scale == pytest.approx(np.ones(5))


def test_standing_body_resonates_where_people_do():
    """Peaks of a standing person's apparent mass near 5 Hz (Matsumoto & Griffin 1998, from memory);

    at rest the whole mass counts.
    """
    frequency = np.linspace(1, 20, 400)
    apparent = np.abs(body.standing_impedance(frequency) / (2 * np.pi * frequency))
    assert 4 < frequency[np.argmax(apparent)] < 6
    assert apparent[0] == pytest.approx(75.0, rel=0.1)


def test_walker_is_passive_and_matters_only_on_light_floors():
    frequency = np.geomspace(1, 1000, 200)
    assert np.all(body.walker_impedance(frequency).real > 0)
    low = frequency[(frequency > 10) & (frequency < 100)]
    own = body.walker_impedance(low)
    slab, light = (20 * np.log10(np.abs(z / (z + own))) for z in (1e5, 1.3e3))
    # a 140 mm slab has some 300 kN s/m
    assert np.max(np.abs(slab)) < 0.3
    assert light.min() < -5  # 20 lg (1.3/(1.3 + 1.4)) = -6.3 dB were it all resistive


def test_on_one_leg_the_body_is_softer():
    """Matsumoto & Griffin (1998), from memory: resonance of the apparent mass 5.5 Hz on two legs,
    3.75 Hz on one, a ratio of 0.68; half the stiffness gives sqrt(1/2) = 0.71, damping shifts the
    broad peak: 0.74. A tenth is allowed; one leg as strong as two would be off by 0.32."""
    frequency = np.linspace(1, 20, 2000)
    peaks = [
        frequency[np.argmax(np.abs(body.standing_impedance(frequency, legs=legs) / frequency))]
        for legs in (1, 2)
    ]
    assert peaks[0] / peaks[1] == pytest.approx(3.75 / 5.5, rel=0.1)


def test_who_jumps_lands_on_both_feet():
    """By hand at 200 Hz, 25 kg: a foot of 0.063 x 25 kg, 1979i N s/m, on a heel pad of 150 (1 +
    0.8i) kN/m, 95.5 - 119.3i, is 162 N s/m; two are 325, a walker's one is half. The body's part
    there, (31.5/200)^4, is less than the 1 % allowed."""
    both, one = (
        np.abs(people.impedance(who)(np.array([200.0])))[0]
        for who in (events.Jump(mass=25.0), events.running_child(mass=25.0))
    )
    assert both == pytest.approx(325, rel=0.01)
    assert one == pytest.approx(162.4, rel=0.01)


def test_jump_stops_the_fall():
    """25 kg from 0.3 m: m (sqrt(2 g h) + g t) = 25 (2.4257 + 2.4517) = 121.9 N s, by hand."""
    jump = events.Jump(mass=25, height=0.3, contact=0.25)
    assert abs(events.jump_spectrum(jump, 0.0)) == pytest.approx(121.9, abs=0.1)
    times = np.linspace(0, 0.6, 60001)
    for frequency in (4.0, 25.0, 80.0):
        wave = np.exp(-2j * np.pi * frequency * times)
        numeric = np.trapezoid(events.jump_history(jump, times) * wave, times)
        assert abs(numeric - events.jump_spectrum(jump, frequency)) < 1e-3


def test_steel_on_steel_contact_time():
    """Johnson (1985) sec. 11.4, worked by hand: steel sphere R 10 mm (33 g) at 1 m/s on steel,

    E* = 200e9/(2 (1 - 0.29^2)) = 109.2 GPa: 2.87 (0.033^2/(0.01 x 109.2e9^2 x 1))^0.2 = 70.8 us.
    """
    sphere = events.Toy("sphere", 0.033, 0.010, 200e9, 0.29)
    contact, stiffness = events.hertz_contact(sphere, 1.0, 200e9, 0.29)
    assert contact == pytest.approx(70.8e-6, rel=0.01)
    assert math.pi * math.sqrt(0.033 / stiffness) == pytest.approx(contact, rel=1e-9)


def test_ball_lies_well_above_a_step():
    """The ball stands for a heavy soft impact: over 10 dB above an adult's step, 16 to 80 Hz."""
    centres = np.array(bands.CENTRES)[bands.between(bands.THUD)]
    walker = 10 * np.log10(step.third_octave_exposure(step.Step(), centres))
    level = np.array(ball.third_octave_exposure_levels().level)[bands.between(bands.THUD)]
    assert np.all(level - walker > 10)


def test_transform_of_the_humps_at_and_beside_their_own_half_waves():
    """Where the closed form is 0/0, f = m/2T, and just beside, against a sum over the history (an
    even function of period 2T drawn on: the trapezoidal rule is exact to its aliases)."""
    coefficients, stance = (1.5, -0.1, 1.0, 0.3), 0.6
    times = stance * np.arange(20_001) / 20_000
    force = gait.base_history(coefficients, stance, times)
    for m in range(7):
        for f in m / (2 * stance) + np.array([0.0, 1e-9, 3e-4, 8.3e-4, 1e-2]):
            expected = np.trapezoid(force * np.exp(-2j * np.pi * f * times), times)
            found = gait.base_spectrum(coefficients, stance, np.array(f))
            assert abs(found - expected) < 1e-8 * stance
            below = gait.base_spectrum(coefficients, stance, np.array(-f))
            assert abs(below - expected.conjugate()) < 1e-8 * stance  # of a real force

"""The band that comes with a prediction, and the band of floors drawn at random."""

from __future__ import annotations

from types import SimpleNamespace

import floors
import numpy as np
import pytest

from impact.base import bands, levels
from impact.heard import strikes
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.report import spread as lines
from impact.spread import expansion, modal, model_error, result, samples
from impact.spread.inputs import END, inputs

COUNT = bands.index(50.0) + 1


def test_draws_are_seeded_even_and_kept_within_reach():
    z = samples.draw(64, 3, 5)
    assert np.array_equal(z, samples.draw(64, 3, 5))
    assert not np.array_equal(z, samples.draw(64, 3, 6))
    # Latin hypercube: one draw in each 64th of the range, so half lie on either side of zero
    assert (z > 0).sum(axis=0).tolist() == [32, 32, 32]
    # standard deviation of a stratified normal sample cut at 2.5: 0.97 to 1
    assert z.std(axis=0) == pytest.approx(1.0, abs=0.05)


def test_bands_above_the_modes_take_their_limits_from_the_many_floors():
    """Floors drawn in 28 bands serve for the first 19, many more in the last nine for these."""
    few = SimpleNamespace(best=slice(0, 19))
    many = SimpleNamespace(best=slice(0, None))
    parts = [(np.full((2, 28), 1.0), np.full((2, 28), 0.5)),
             (np.full((2, 9), 3.0), np.full((2, 9), 0.1))]  # fmt: skip
    ends, errors = samples.joined_bands(parts, (few, many))
    assert ends.tolist() == [[1.0] * 19 + [3.0] * 9] * 2
    assert errors.tolist() == [[0.5] * 19 + [0.1] * 9] * 2


def test_first_order_against_floors_drawn_at_random():
    """On the same draws, so that chance plays no part: what differs is the method."""
    design = floors.uncertain()
    items = [item for item in inputs(design) if item.kind not in modal.OUTSIDE]
    z = samples.draw(12, len(items), 3)

    def level(one):
        built = assemble(one, 60.0)
        low = lowband.transfers(built, built.whole, list(bands.CENTRES[:COUNT]), (6, 5))
        return levels.decibel(low.power["design"])

    base = level(design)
    drawn = np.array([level(samples.changed(design, items, row)) - base for row in z])
    first = expansion.summed(modal.changes(assemble(design, 115.0), items).ends, z)[:, :COUNT]
    half = END * np.abs(drawn.std(axis=0) - first.std(axis=0))
    # the limits of the band are to agree within 1 dB; most bands do, single ones where two
    # resonances cross need not for so few draws
    assert np.mean(half) < 1.0
    assert np.max(half) < 2.5
    # floor by floor, half of the variance and more is that of single effects: r² > 0.5; the rest
    # is what inputs do together (0.79 seen)
    assert np.corrcoef(drawn.ravel(), first.ravel())[0, 1] > 0.5**0.5


def joined(design):
    return SimpleNamespace(
        assembly=SimpleNamespace(design=design), mobility=np.full(28, 2e-6 + 0j), crossover=15
    )


def test_rebound_moves_the_tapping_machine_alone():
    design = floors.uncertain()
    items = inputs(design)
    place = next(i for i, item in enumerate(items) if item.key == "rebound")
    none = np.zeros((len(items), 2, 28))
    tapping = expansion.of_source(joined(design), items, none, "tapping_machine")
    # momentum of a blow grows as 1 + e: 20 lg 1.4 = 2.92 dB from e = 0, the design's, to 0.4 on a
    # base that stays; this deck, over which a stiff contact is short, takes 1 % of it
    assert tapping[place, 1] == pytest.approx(np.full(28, tapping[place, 1, 0]))
    assert 2.87 < tapping[place, 1, 0] < 20 * np.log10(1.4)
    assert tapping[place, 0] == pytest.approx(np.zeros(28))
    walker = expansion.of_source(joined(design), items, none, "walker_barefoot")
    assert not walker[place].any()


def test_reverberation_moves_what_is_heard_in_the_room_described():
    design = floors.uncertain()
    items = inputs(design)
    place = next(i for i, item in enumerate(items) if item.key == "reverberation")
    none = np.zeros((len(items), 2, 28))
    for name, least in (("walker_barefoot", 0.5), ("child_running", 0.5)):
        moved = expansion.of_source(joined(design), items, none, name)[place]
        assert not moved[:, :6].any()  # below the room's first mode, 41 Hz, its air is a spring
        moved = moved[:, 6:]
        assert np.all(moved[0] < -least)
        assert np.all(moved[1] > least)
    for name in ("tapping_machine", "rubber_ball"):  # normalized to a reference
        assert not expansion.of_source(joined(design), items, none, name)[place].any()


def test_the_models_error_is_told_for_every_band_and_its_lack_of_points():
    by_band = model_error.by_band()
    assert by_band.shape == (28,)
    assert np.all(by_band > 0)
    assert not model_error.calibrated(50.0)
    for row in model_error.ranges():
        assert row["how"]


@pytest.fixture
def made():
    """A spread put together by hand, flat levels."""
    heard = {name: np.full(28, 50.0) for name in strikes.SOURCES}
    share = result.Share("hanger_stiffness", "dynamic stiffness of the hangers", "bench", 0.7,
                         -1.0, 2.0)  # fmt: skip
    return result.Spread(
        {k: v - 8 for k, v in heard.items()}, {k: v + 8 for k, v in heard.items()},
        {"thud": {"low_db": -6.0, "high_db": 7.0}}, {"thud": [share]}, np.full(28, 4.0),
        "2 inputs", False,
    )  # fmt: skip


def test_lines_fit_80_columns_and_say_what_is_uncalibrated(made):
    prediction = SimpleNamespace(spread=made)
    told = lines.sure(prediction, ["tapping_machine", "rubber_ball", "walker_barefoot"])
    assert max(len(line) for line in told) <= 80
    text = " ".join(told)
    assert "uncalibrated below 50 Hz" in " ".join(text.split())
    assert "42" in text
    assert "58" in text
    assert "70%" in text
    assert lines.sure(SimpleNamespace(spread=None), ["rubber_ball"]) == []


def test_json_of_a_spread(made):
    told = made.as_dict()
    assert told["coverage"] == 0.9
    assert told["calibrated_below_50_hz"] is False
    assert told["measure_next"]["thud"][0]["key"] == "hanger_stiffness"

"""What a lever is said to gain is what the changed design is predicted to gain."""

from __future__ import annotations

import pytest

import impact
from impact.advice import findings as advice


def test_a_lever_gains_what_the_changed_design_is_predicted_to(predicted):
    """Example 02, deeper below the old ceiling, solved in full: the definition of the lever. 1 dB,
    as levers are solved at fewer frequencies of a band, and where averages begin without a blend.
    In a room taken as diffuse the gain was 6 dB off: room modes pick what they hear."""
    before = predicted("02_old_ceiling_left.toml")
    (lever,) = [one for one in before.levers if one.kind == "depth"]
    after = impact.predict(advice.variants(before.design)["depth"][1])
    first, second = (one.levels["walker_barefoot"] for one in (before, after))
    gain = advice.heard_thud(first) - advice.heard_thud(second)
    assert lever.gain_db == pytest.approx(gain, abs=1.0)
    assert abs(gain) > 3  # the case is no trifle

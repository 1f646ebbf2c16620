"""Players of the page: only what they play is made, and it is what `impact listen` makes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from impact.report import page_sound
from impact.study import listen

SMALL = "06_cannot_lose_a_hanger.toml"


@pytest.fixture(scope="module")
def alone(predicted):
    """The design's own recording, no other variant being made."""
    return listen.render(predicted(SMALL).joined, seconds=4.0, variants=("design",))


def test_one_variant_alone_is_the_same_as_among_three(predicted, alone):
    together = listen.render(predicted(SMALL).joined, seconds=4.0).recordings
    assert set(together) == {"bare", "design", "best"}
    assert set(alone.recordings) == {"design"}
    one, other = alone.recordings["design"].samples, together["design"].samples
    # Alone it is solved without the low-rank change that takes hangers off: rounding apart, which
    # near resonances grows to some 1e-9 of the largest sample.
    assert np.abs(one - other).max() < 1e-6 * np.abs(other).max()


def test_players_ask_for_what_they_play(predicted, alone, monkeypatch):
    made, asked = predicted(SMALL), []

    def render(joined, *, variants, **_):
        asked.append(variants)
        return replace(alone, recordings=dict.fromkeys(variants, alone.recordings["design"]))

    monkeypatch.setattr(listen, "render", render)
    titles = [sound.title for sound in page_sound.players(made, [made], 1)]
    assert asked == [("bare", "design"), ("design",)]
    assert len(titles) == 4  # and the test tone

"""The search below a ceiling whose edge is open, against the stack solved ceiling by ceiling."""

from __future__ import annotations

from dataclasses import replace

import designs
import numpy as np
import pytest

from impact.study import choose_sound
from impact.study.choose_axes import Axes, variant


def test_each_depth_and_fill_has_the_gap_of_its_own():
    """Depth and fill change what lies before the gap: as solved one by one to what the search's
    numbers of single precision leave, 0.02 dB (a closed edge is 3 dB and more away)."""
    base = designs.basement()
    edge = replace(base.ceiling.perimeter, kind="free", gap=0.006)
    design = replace(
        base, ceiling=replace(base.ceiling, perimeter=edge),
        hangers=replace(base.hangers, load_minimum=1.0, load_maximum=1e3, height=0.03),
    )  # fmt: skip
    tried = Axes((design.hangers,), (0.6096,), (1.2192,), (2,), (0.06, 0.2), (0.0, 0.15))

    def levels(one) -> np.ndarray:
        found = choose_sound.search(one, tried)
        return choose_sound.band_levels(one, found.square["walker_barefoot"])

    quick = levels(design)
    shut = levels(
        replace(design, ceiling=replace(design.ceiling, perimeter=base.ceiling.perimeter))
    )
    assert np.abs(quick - shut).max() > 3
    for layers, depth, fill in ((0, 1, 0), (0, 0, 1)):
        one = variant(design, design.hangers, 0.6096, 1.2192, tried.layers[layers],
                      tried.depths[depth], tried.fills[fill])  # fmt: skip
        alone = choose_sound.exact_levels(one, choose_sound.exact(one))
        found = quick[0, 0, 0, layers, depth, fill]
        assert found == pytest.approx(np.asarray(alone).squeeze(), abs=0.02)

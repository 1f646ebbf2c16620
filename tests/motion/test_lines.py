"""Enough frequencies in a band: closed forms and the law that more of them change nothing."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import designs
import numpy as np
import pytest

from impact.base import bands
from impact.motion import lowband
from impact.motion.assemble import assemble


def test_sharper_resonances_take_more_lines():
    """A resonance is eta f wide: a third of the loss, three times the lines; a floating layer or an
    old ceiling, held by others, does not ask for any; nor do more than six times as many serve."""

    def of(floor: float, ceiling: float, between: float = 0.06) -> int:
        leaves = [
            SimpleNamespace(name=name, omega=np.array([1.0, 500.0]), losses=np.full(2, loss))
            for name, loss in (("floor", floor), ("old ceiling", between), ("ceiling", ceiling))
        ]
        return lowband.enough(SimpleNamespace(leaves=leaves, radiating=2), 100.0, 10)

    assert of(0.06, 0.03) == of(0.5, 0.5) == of(0.06, 0.03, between=0.001) == 10
    assert of(0.01, 0.03) == of(0.06, 0.01) == 30
    assert of(0.001, 0.03) == 60


@pytest.mark.parametrize("loss", [0.06, 0.01])
def test_more_lines_move_no_band(loss):
    """Five times the lines move the power below a bare floor by 0.1 dB at most. With as many for
    a loss factor of 0.01 as for 0.06 it would be 0.7 dB."""
    base = designs.basement()
    short = replace(base, floor=replace(base.floor, loss_factor=loss))
    made = assemble(short, 80.0)
    centres = [bands.CENTRES[bands.index(band)] for band in (25.0, 31.5, 40.0, 50.0)]
    few, many = (
        10 * np.log10(lowband.transfers(made, made.bare, centres, lines).power["design"])
        for lines in (lowband.LINES_BARE, tuple(5 * n for n in lowband.LINES_BARE))
    )
    assert few == pytest.approx(many, abs=0.1)

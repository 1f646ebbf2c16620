"""Ceiling alone and in the building, side by side."""

from __future__ import annotations

import numpy as np
import pytest
from designs import basement

from impact import chain
from impact.base.bands import NOMINAL
from impact.design.parts import Flank
from impact.energy import flanking
from impact.heard.joined import Joined


class Solved:
    """Stands for `Joined`: flat power through ceiling and walls."""

    def __init__(self, design, ceiling: float, walls: float) -> None:
        flat = np.ones(len(NOMINAL))
        self.assembly = type("Assembly", (), {"design": design})
        self.mobility = 1e-4 * flat.astype(complex)
        self.power = {"design": ceiling * flat}
        self.flanking = {wall.name: walls * flat for wall in flanking.walls(design)}


def levels_of(joined: Joined) -> dict[str, np.ndarray]:
    design = joined.assembly.design
    return {
        name: chain.strikes.band_levels(source, joined.power["design"], design, joined.mobility)
        for name, source in chain.strikes.SOURCES.items()
    }


def test_walls_add_as_energy():
    """Four walls that each radiate as much as the ceiling: 10 lg 5 = 6.99 dB for every source."""
    joined = Solved(basement(), 1e-6, 1e-6)
    ceiling = levels_of(joined)
    building, walls = chain.in_building(joined, ceiling)
    for name, level in building.items():
        assert level - ceiling[name] == pytest.approx(6.9897, abs=1e-3)
    assert [wall["given"] for wall in walls] == [False] * 4


def test_walls_of_the_design_take_the_place_of_the_usual_ones():
    from dataclasses import replace

    own = Flank("party wall", 300.0, 10.0, 4.2, "T", None)
    joined = Solved(replace(basement(), flanks=(own,)), 1e-6, 1e-6)
    ceiling = levels_of(joined)
    building, walls = chain.in_building(joined, ceiling)
    assert [(wall["name"], wall["given"]) for wall in walls] == [("party wall", True)]
    assert building["rubber_ball"] - ceiling["rubber_ball"] == pytest.approx(3.0103, abs=1e-3)
    # flat power twice over is 3 dB; rounding of both ratings leaves 3
    assert chain.rate(building)["Ln_w"] - walls[0]["Ln_w"] in (3, 4)

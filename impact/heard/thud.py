"""The thud of a design and of changes of it, quickly and alike: what a lever gains."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from impact.base import bands
from impact.base.levels import PRESSURE, decibel
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.heard import walking
from impact.heard.joined import Joined
from impact.motion import lowband
from impact.motion.assemble import assemble
from impact.sound import room
from impact.source import people


@dataclass(frozen=True, eq=False)
class Thud:
    """The thud of the walker `who` in the room described, for the design and for changes of it:
    modes as far as `joined` has them alone, averages by energy in a diffuse room above. Room modes
    pick what they hear of a ceiling, so that a lever in a diffuse room was off by up to 6 dB."""

    joined: Joined
    who: str

    @property
    def bands(self) -> tuple[slice, int]:
        """The thud's bands, and the first of them that is an average."""
        thud = bands.between(bands.THUD)
        return thud, max(thud.start, min(thud.stop, self.joined.crossover - 1))

    def of(self, design: Design) -> np.ndarray:
        """Levels (28,) [dB] of the design or a change of it over the thud bands, tiny elsewhere."""
        thud, last = self.bands
        walker = people.impedance(people.walker(design, people.SOURCES[self.who]))
        assert walker is not None  # a walker has one
        modal, far = np.zeros(0), np.zeros(len(bands.NOMINAL))
        centres = bands.CENTRES[thud.start : last]
        if centres:  # none in a room so large that energy begins at once
            quick = self.joined.crossover >= self.joined.wanted
            assembly = assemble(design, bands.edges(centres[-1])[1])
            leaf = assembly.whole.leaves[assembly.whole.radiating]
            low = lowband.transfers(
                assembly, assembly.whole, centres,
                lowband.LINES_QUICK if quick else lowband.LINES_DENSE,
                ears=room.ears(design, leaf, True, assembly.highest, places=False),
                size=self.joined.size[thud.start : last],
            )  # fmt: skip
            taken = low.underfoot["design"].ratio("average", walker)
            modal = low.heard["design"]["average"] * taken
        if last < thud.stop:
            part = slice(last, thud.stop)
            above = energy.transfer(design, bands.CENTRES[part], exact=True)
            loss = walking.lost(walker, above.mobility, part)
            far[part] = walking.into_diffuse(design, above.power_per_force * loss)
        return self._level(modal, far)

    def _level(self, modal: np.ndarray, far: np.ndarray) -> np.ndarray:
        thud, last = self.bands
        design = self.joined.assembly.design
        square = np.zeros(len(bands.NOMINAL))
        square[thud.start : last], square[last : thud.stop] = modal, far[last : thud.stop]
        one = people.person(design, people.SOURCES[self.who])
        fast = walking.heard(one, square, room.dies_away(design)).fast
        return np.asarray(decibel(np.maximum(fast, 1e-30), PRESSURE**2))

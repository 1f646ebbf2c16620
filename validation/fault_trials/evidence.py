"""What a technician brings beside a spectrum, as the trials have it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from impact.base import bands
from impact.base.levels import decibel
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.heard import strikes
from impact.site import diagnose, diagnose_cases
from impact.site.calibrate import Bare
from impact.site.diagnose_bare import BareFloor, Measured, bare_floor
from impact.site.diagnose_beside import at_hangers
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_errors import PredictionError
from impact.site.diagnose_rest import Readings
from impact.site.faults import Member
from impact.site.measured import deviations
from impact.site.settled import Hung
from impact.spread.inputs import inputs
from impact.study.layout import READING
from validation.fault_trials import readings
from validation.fault_trials.readings import ASSUMED, GAUGE, WORSE, Chance
from validation.fault_trials.trials import MEASURED, WIDE, Site, Truth, stated

TAPPING = "tapping_machine"
PLACES = [bands.index(band) for band in MEASURED]


@dataclass(frozen=True)
class Kind:
    """bands_hz : measured. reading : stated uncertainty of deflections read at hangers [m], None
    without; every : so manyth hanger is read; chance : how they come about. bare : correlation of
    the models' errors below bare floor and ceiling as it is drawn, None without a measurement below
    the bare floor."""

    name: str
    bands_hz: tuple[float, ...] = MEASURED
    reading: float | None = None
    every: int = 1
    chance: Chance = ASSUMED
    bare: float | None = None


KINDS = (
    Kind("spectrum"),
    Kind("25-5000 Hz", WIDE),
    Kind("ruler", reading=READING),
    Kind("ruler, worse", reading=READING, chance=WORSE),
    Kind("gauge", reading=GAUGE),
    Kind("gauge, every third hanger", reading=GAUGE, every=3),
    Kind("gauge, worse", reading=GAUGE, chance=WORSE),
    Kind("bare floor, shared 0", bare=0.0),
    Kind("bare floor, shared half", bare=0.5),
    Kind("bare floor, shared most", bare=0.8),
    Kind("ruler, bare floor, shared half", reading=READING, bare=0.5),
)


class Search:
    """The search on one design, with what it knows of it."""

    def __init__(
        self, design: Design, known: Ensemble, error: PredictionError, moved: np.ndarray
    ) -> None:
        """moved : as of `kept.moved_by_inputs`."""
        self.design, self.known, self.error = design, known, error
        self.moved = moved
        self.plain = diagnose.Scales(known, MEASURED, error=error)
        self._scales = {(MEASURED, 0.0, 1): self.plain}
        self._floor = Bare(design, TAPPING, np.array(PLACES))

    @cached_property
    def _drawn(self) -> np.ndarray:
        return self._floor.levels(self.design)

    @cached_property
    def _bare(self) -> BareFloor:
        return bare_floor(
            self.design, diagnose_cases.drawn(self.design, self.known.count), TAPPING,
            Measured(MEASURED, self._drawn[PLACES], deviations(MEASURED)), inputs(self.design),
            self.moved,
        )  # fmt: skip

    @cached_property
    def _mobility(self) -> np.ndarray:
        """Of the drawn floor, bare (28,) [m/(N s)]."""
        centres = np.array(bands.CENTRES)
        return np.array(
            energy.transfer(self.design, centres, ceiling=False, exact=True).mobility, complex
        )

    def at(self, kind: Kind, real: Truth, seed: int) -> tuple[diagnose.Scales, Site]:
        """What weighs the measurements of one building, and how they come about."""
        rng = np.random.default_rng([seed, KINDS.index(kind)])
        site, bare = stated(PredictionError(self.error.deviation), kind.bands_hz), None
        if kind.bare is not None:
            bare, site = self._below(kind.bare, real, rng)
        if kind.reading is not None:
            site = replace(site, read=self._reader(kind, kind.reading, real, rng))
        if bare is not None:  # known of this building alone
            return self._weighing(kind, bare), site
        of = kind.bands_hz, kind.reading or 0.0, kind.every
        if of not in self._scales:
            self._scales[of] = self._weighing(kind, None)
        return self._scales[of], site

    def _weighing(self, kind: Kind, bare: BareFloor | None) -> diagnose.Scales:
        hangers = None
        if kind.reading is not None:
            numbers = tuple(range(0, self.known.hangers, kind.every))
            of = Readings(numbers, np.zeros(len(numbers)), kind.reading)
            hangers = at_hangers(self.design, self.known, of)
        return diagnose.Scales(
            self.known, kind.bands_hz, error=self.error, hangers=hangers, bare=bare
        )

    def _reader(
        self, kind: Kind, error: float, real: Truth, rng: np.random.Generator
    ) -> Callable[[str, Member | None], np.ndarray]:
        assert real.design is not None
        built, hung = real.design, Hung(real.design)
        return lambda key, case: readings.read(
            self.design, built, hung, key, case, kind.chance, rng, error
        )[:: kind.every]

    def _below(
        self, shared: float, real: Truth, rng: np.random.Generator
    ) -> tuple[BareFloor, Site]:
        """A measurement below the bare floor of a building, and errors of the models that go with
        those that it has."""
        assert real.design is not None
        size = len(PLACES)
        models = PredictionError().covariance(MEASURED)
        below = self._floor.levels(real.design) - self._drawn - self._blow(real.design)
        own = np.linalg.cholesky(models) @ rng.standard_normal(size)
        noise = deviations(MEASURED) * rng.standard_normal(size)
        whole = PredictionError(self.error.deviation).covariance(MEASURED)
        left = np.linalg.cholesky(whole - shared**2 * models)

        def error(rng: np.random.Generator) -> np.ndarray:
            return shared * own + left @ rng.standard_normal(size)

        return replace(self._bare, residual=below[PLACES] + own + noise), Site(MEASURED, error)

    def _blow(self, real: Design) -> np.ndarray:
        """What the blow on another floor is louder [dB] (28,): spectra of the trials go without."""
        source = strikes.SOURCES[TAPPING]
        after, before = (source.force(one, self._mobility) for one in (real, self.design))
        return np.asarray(decibel(after / before))

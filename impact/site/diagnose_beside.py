"""What a technician brings beside the spectrum: deflections of hangers, the bare floor; and which
deflections and bands would be worth having where they are not there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from impact.base.bands import named
from impact.chain import Prediction
from impact.design.fixings import said_of
from impact.design.parts import Design
from impact.errors import Fault, InputError
from impact.gravity.parts import deflection
from impact.site import diagnose_cases, faults
from impact.site.deflections import Deflections
from impact.site.diagnose_bare import BareFloor, Measured, bare_floor
from impact.site.diagnose_cases import Ensemble
from impact.site.diagnose_rest import AtHangers, Floors, Readings
from impact.site.measured import Measurement
from impact.site.settled import SHOWN_AT_REST, Hung, own_stiffness, settled
from impact.spread.expansion import draws
from impact.study.layout import READING

MANY = 64  # drawn floors, from which the spread of deflections by inputs is known
RULED = 4 * READING  # m: least deflection at which a ruler tells; common practice, no source
GAUGED = RULED / 5  # m: the same of a caliper or dial gauge, which reads 0.1 mm
ENOUGH = 12  # hangers asked for, spread over the ceiling
# Hz: what meters export beyond 50 to 3150. Low down ceilings resonate on their hangers, high up
# hangers do by themselves: in trials (`validation/fault_trials`) both told hangers' faults apart.
WIDE = (25.0, 5000.0)


@dataclass(frozen=True)
class Beside:
    """Evidence beside the spectrum; each may be missing. error : standard uncertainty of a
    deflection [m]. bare : below the floor without the new ceiling, corrected and normalized."""

    deflections: Deflections | None = None
    error: float = READING
    bare: Measurement | None = None

    def hangers(self, design: Design, known: Ensemble) -> AtHangers | None:
        """What is known of the deflections, with the cases of the search."""
        if self.deflections is None:
            return None
        read = self.deflections.readings
        return at_hangers(design, known, Readings(
            tuple(one.number - 1 for one in read), np.array([one.measured for one in read]),
            self.error,
        ))  # fmt: skip

    def floor(self, prediction: Prediction, known: Ensemble) -> BareFloor | None:
        """What is known of the measurement below the bare floor."""
        if self.bare is None:
            return None
        use = usable(self.bare)
        spread = prediction.spread
        effects = None if spread is None else spread.effects
        items = () if effects is None else effects.items
        chosen = tuple(b for b, good in zip(self.bare.bands_hz, use, strict=True) if good)
        return bare_floor(
            prediction.design, diagnose_cases.drawn(prediction.design, known.count),
            self.bare.source,
            Measured(chosen, self.bare.level_db[use], self.bare.uncertainty_db[use]), items,
            effects.changes(draws(len(items))) if effects is not None and items else None,
        )  # fmt: skip

    @property
    def told(self) -> tuple[str, ...]:
        """What was taken for what."""
        said: list[str] = []
        if self.deflections is not None:
            said += self.deflections.what_was_taken
            said.append(f"standard uncertainty of a deflection {1000 * self.error:g} mm")
        if self.bare is not None:
            said.append("below the bare floor:")
            said += [f"  {text.strip()}" for text in self.bare.what_was_taken]
        return tuple(said)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON."""
        out: dict[str, Any] = {"deflections": None, "bare_floor": None}
        if self.deflections is not None:
            out["deflections"] = {
                "standard_uncertainty_mm": 1000 * self.error, **self.deflections.as_dict(),
            }  # fmt: skip
        if self.bare is not None:
            use = usable(self.bare)
            out["bare_floor"] = {
                "bands_hz": np.array(self.bare.bands_hz)[use].tolist(),
                "level_db": [round(float(level), 2) for level in self.bare.level_db[use]],
                "what_was_taken": list(self.bare.what_was_taken),
            }
        return out


def usable(measured: Measurement) -> np.ndarray:
    """Which bands of a measurement (n,) are levels, and not gaps or limits: bool."""
    return np.asarray(np.isfinite(measured.level_db) & ~measured.limit)


def check_hangers(design: Design, path: str) -> None:
    """InputError where deflections at `path` cannot tell anything: the ceiling's points give to no
    load that a ruler shows. One without any is refused where they are held against its loads."""
    if design.hangers is not None and not faults.yields(design.hangers):
        what = "of this ceiling yield to no load that a ruler shows; leave the file out"
        raise InputError(path, [Fault(said_of(design.hangers, "hangers"), what)])


def check_bare(measured: Measurement, path: str, least: int) -> None:
    """InputError where a measurement below the bare floor has not `least` third octaves."""
    if measured.octaves:
        what = "below the bare floor: these are octaves; third octaves are needed, export them"
        raise InputError(path, [Fault("bands", what)])
    count = int(np.sum(usable(measured)))
    if count < least:
        what = f"below the bare floor: {count} third octaves are usable, {least} are needed"
        raise InputError(path, [Fault("bands", what)])


def at_hangers(design: Design, known: Ensemble, readings: Readings) -> AtHangers:
    """What is known of deflections read at the hangers of a design, with the cases of its search.
    Raises ValueError where the ceiling hangs on nothing that yields."""
    designs = diagnose_cases.drawn(design, known.count)
    own = {
        key: own_stiffness(designs, known.floors.get(key, [0] * len(cases)))
        for key, cases in known.members.items()
    }
    many = [_given_more(design, one) for one in diagnose_cases.drawn(design, MANY)]
    floors = Floors(
        np.array([_given_more(design, one) for one in designs]), float(np.mean(many)),
        float(np.std(many)),
    )  # fmt: skip
    return AtHangers(settled(Hung(design), known.members, own), readings, floors)


def _given_more(drawn: Design, other: Design) -> float:
    """Logarithm of how much more hangers give where inputs are otherwise: as their stiffness at
    rest goes with that in motion, and with what hangs."""
    assert drawn.hangers is not None
    assert other.hangers is not None
    stiffer = other.hangers.dynamic_stiffness / drawn.hangers.dynamic_stiffness
    return float(np.log(other.hung_per_area / drawn.hung_per_area / stiffer))


@dataclass(frozen=True)
class WorthReading:
    """Deflections that would tell suspects apart. numbers : hangers as on the drawing, from 1.
    expected : (R,) as drawn [m]. suspects : keys that they bear on. gauge : whether a ruler is too
    coarse."""

    numbers: tuple[int, ...]
    expected: tuple[float, ...]
    suspects: tuple[str, ...]
    gauge: bool

    def sentence(self, design: Design, names: Mapping[str, str]) -> str:
        """What to read, with what, and what for. names : of the suspects."""
        low, high = (deflection(end, design.units) for end in
                     (min(self.expected), max(self.expected)))  # fmt: skip
        text = (
            f"read the deflections of hangers {', '.join(map(str, self.numbers))}, from the "
            f"channels alone to all boards (drawn: {low} to {high}), or how far each now is from "
            f"its unloaded height, {'with a caliper or dial gauge' if self.gauge else 'by ruler'}, "
            f"and give them with --deflections: they bear on "
            f"{', '.join(names[key] for key in self.suspects)}"
        )
        return said_of(design.hangers, text)

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers for JSON, deflections in mm."""
        return {
            "hangers": list(self.numbers),
            "expected_mm": [round(1000 * value, 2) for value in self.expected],
            "tells_of": list(self.suspects),
            "needs_a_gauge": self.gauge,
        }


def worth_reading(design: Design, suspects: list[str]) -> WorthReading | None:
    """Which deflections would tell suspects apart; None where one only is suspected, where none of
    them moves a hanger, or where as drawn no hanger gives what can be read."""
    told = tuple(key for key in suspects if key in SHOWN_AT_REST)
    if len(suspects) < 2 or not told or design.hangers is None:
        return None
    if not faults.yields(design.hangers):
        return None
    drawn = Hung(design).drawn
    middle = float(np.median(drawn))
    if middle < GAUGED:
        return None
    places = np.unique(np.linspace(0, len(drawn) - 1, min(ENOUGH, len(drawn))).round().astype(int))
    return WorthReading(
        tuple(int(place) + 1 for place in places), tuple(float(d) for d in drawn[places]), told,
        middle < RULED,
    )  # fmt: skip


def worth_bands(bands_hz: Sequence[float], suspects: Sequence[str]) -> tuple[float, float] | None:
    """Lowest and highest third octave [Hz] worth measuring where `bands_hz` [Hz] end before; None
    where they do not, or where no fault of hangers is among several suspects."""
    if len(suspects) < 2 or not set(suspects) & set(SHOWN_AT_REST):
        return None
    if min(bands_hz) <= WIDE[0] and max(bands_hz) >= WIDE[1]:
        return None
    return WIDE


def wider(worth: tuple[float, float], bands_hz: Sequence[float]) -> str:
    """The same in words."""
    low, high, start, end = (named(band) for band in (*worth, min(bands_hz), max(bands_hz)))
    return (
        f"measure again from {low} to {high}, where the meter has these bands (used here: {start} "
        f"to {end}): in trials faults of hangers were told apart more often with them."
    )

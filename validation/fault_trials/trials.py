"""Trials of the search for faults: a fault is made, noise and model error are added, it is sought.

The truth is made on a design whose inputs differ from the drawn ones, with other random places and
other fixture places than the search knows, so that no case of the search equals the truth; nor do
both share a seed. Noise: ISO 12999-1 (`site.measured.deviations`), independent in every band. Model
error: drawn from the stated covariance. What inputs make of the level without a fault is either the
building's own, of the inputs with which the fault acts, or drawn from the stated covariance too,
apart from the building, or left out. All draws are seeded.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from impact.base import bands
from impact.design.parts import Design
from impact.site import diagnose, diagnose_cases, faults
from impact.site.bench import prepare
from impact.site.diagnose_errors import PredictionError
from impact.site.faults import Member
from impact.site.measured import deviations
from impact.spread.inputs import FAR, changed, inputs

MEASURED = bands.NOMINAL[bands.index(50.0) : bands.index(3150.0) + 1]
WIDE = bands.NOMINAL[bands.index(25.0) : bands.index(5000.0) + 1]  # what a good meter exports
OTHER_PLACES = 4  # fixture places of the truth, beyond those of the search
SEARCH_SEED = 7  # of the places of faults in the search
OF_THE_SEARCH = (SEARCH_SEED, diagnose_cases.FLOOR_SEED, diagnose.SPECTRA_SEED)


@dataclass(frozen=True, eq=False)
class Truth:
    """What really happened to one design. shifts : fault -> changes of level (cases, 28) [dB].
    level : (28,) without a fault [dB re 1 W/N2]. members : fault -> cases. design : with the inputs
    as they are."""

    shifts: dict[str, np.ndarray]
    level: np.ndarray = field(default_factory=lambda: np.zeros(len(bands.NOMINAL)))
    members: dict[str, list[Member]] = field(default_factory=dict)
    design: Design | None = None


@dataclass(frozen=True)
class Count:
    """Outcomes of the trials of one fault on one design.

    trials : that show (three bands by two standard uncertainties). first, second : the true cause
    ranked there. told : the verdict names the true cause. cannot : the verdict is "cannot tell".
    faint_trials, faint_cannot : the same for cases that do not show.
    """

    trials: int = 0
    first: int = 0
    second: int = 0
    told: int = 0
    cannot: int = 0
    alike: int = 0
    faint_trials: int = 0
    faint_cannot: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(*(a + b for a, b in zip(vars(self).values(), vars(other).values(),
                                             strict=True)))  # fmt: skip


def otherwise(design: Design, rng: np.random.Generator) -> Design:
    """The design with some inputs moved by factors, log-uniform: about half as far as the
    catalogue's ranges, and the depth of the cavity, of which it has none."""

    def about(ratio: float) -> float:
        return float(np.exp(rng.uniform(-1, 1) * np.log(ratio)))

    floor = replace(design.floor, loss_factor=design.floor.loss_factor * about(1.4))
    if floor.joists is not None:
        bending = floor.joists.bending_stiffness * about(1.15)
        floor = replace(floor, joists=replace(floor.joists, bending_stiffness=bending))
    fill = design.cavity.fill
    if fill is not None:
        fill = replace(fill, flow_resistivity=fill.flow_resistivity * about(1.7))
    cavity = replace(design.cavity, fill=fill, clear_depth=design.cavity.clear_depth * about(1.08))
    hangers = design.hangers
    if hangers is not None:
        hangers = replace(
            hangers, dynamic_stiffness=hangers.dynamic_stiffness * about(1.4),
            loss_factor=hangers.loss_factor * about(1.5),
        )  # fmt: skip
    ceiling = replace(design.ceiling, loss_factor=design.ceiling.loss_factor * about(1.4))
    return replace(design, floor=floor, cavity=cavity, hangers=hangers, ceiling=ceiling)


def by_catalogue(design: Design, rng: np.random.Generator) -> Design:
    """The design with all its inputs drawn from the ranges it states or the catalogue gives; the
    draws are independent, those of the search (`site.diagnose_cases`) are stratified."""
    items = inputs(design)
    return changed(design, items, np.clip(rng.standard_normal(len(items)), -FAR, FAR))


SPREADS: dict[str, Callable[[Design, np.random.Generator], Design]] = {
    "trials": otherwise, "catalogue": by_catalogue,
}  # fmt: skip


def truth(
    design: Design, seed: int, repeats: int, keys: Sequence[str] | None = None,
    spread: str = "trials",
) -> Truth:  # fmt: skip
    """Faults as they happen: other places, other inputs, drawn as SPREADS says."""
    if seed in OF_THE_SEARCH:
        raise ValueError(f"seed {seed} is the search's own")
    rng = np.random.default_rng(seed)
    real = SPREADS[spread](design, rng)
    known = len(faults.fixture_places(design, 4))
    places = faults.fixture_places(design, 4 + OTHER_PLACES)[known:]
    at = prepare(real, places, faults.cavity_states(real))
    made = {key: faults.members(at, key, rng, repeats) for key in keys or faults.FAULTS}
    wanted = [bands.index(band) for band in WIDE]
    level, shifts = diagnose_cases.levels_moved(at, made, wanted)
    return Truth(shifts, level, made, real)


@dataclass(frozen=True, eq=False)
class Site:
    """How one building is measured. bands_hz (n,). error : errors of the models (n,) [dB] that a
    generator draws. read : fault and case -> deflections (R,) [m] as read."""

    bands_hz: tuple[float, ...]
    error: Callable[[np.random.Generator], np.ndarray]
    read: Callable[[str, Member | None], np.ndarray] | None = None


def stated(error: PredictionError, bands_hz: Sequence[float] = MEASURED) -> Site:
    """A spectrum alone in these bands, with errors of the models drawn as stated."""
    lower = np.linalg.cholesky(error.covariance(bands_hz))
    return Site(tuple(bands_hz), lambda rng: lower @ rng.standard_normal(len(lower)))


def run(
    scales: diagnose.Scales, real: Truth, trials: int, seed: int,
    error: PredictionError | None = None, beside: np.ndarray | None = None,
    site: Site | None = None, counted: np.ndarray | None = None,
) -> dict[str, Count]:  # fmt: skip
    """Trials of every fault on one design, and of none under "as designed".

    scales : of the search, in the bands of `site`. error : of the prediction, as it is drawn where
    no site says otherwise. beside : (28,) level of the building without a fault over that of the
    drawing [dB], added to all; none by default. counted : uncertainties (MEASURED,) [dB] by which a
    fault shows; those of `scales` by default.
    """
    rng = np.random.default_rng(seed)
    site = site or stated(error or PredictionError())
    places = [bands.index(band) for band in site.bands_hz]
    usual = [bands.index(band) for band in MEASURED]
    spread = deviations(site.bands_hz)
    off = np.zeros(len(places)) if beside is None else beside[places]
    counted = scales.uncertainty if counted is None else counted

    def wrong() -> np.ndarray:
        return off + site.error(rng) + spread * rng.standard_normal(len(places))

    residuals, told, read = [], [], []

    def tried(key: str, shown: bool, shift: np.ndarray | float, case: Member | None) -> None:
        residuals.append(shift + wrong())
        told.append((key, shown))
        if site.read is not None:
            read.append(site.read(key, case))

    for key, shifts in real.shifts.items():
        here = shifts[:, usual]
        seen = diagnose.shows(here, counted) if len(here) else np.zeros(0, bool)
        cases = real.members.get(key, [None] * len(here))
        for which, shown in ((np.flatnonzero(seen), True), (np.flatnonzero(~seen), False)):
            for number in rng.choice(which, trials) if len(which) else ():
                tried(key, shown, shifts[number, places], cases[number])
    for _ in range(trials):
        tried(diagnose.AS_DESIGNED, True, 0.0, None)
    out = {key: Count() for key in (*real.shifts, diagnose.AS_DESIGNED)}
    every = scales.weigh_all(np.array(residuals), np.array(read) if read else None)
    for found, (key, shown) in zip(every, told, strict=True):
        out[key] += _count(found, key, shown)
    return out


def _count(found: diagnose.Diagnosis, key: str, shown: bool) -> Count:
    ranks = [one.key for one in found.ranked]
    cannot = int(found.verdict == "cannot tell")
    if not shown:
        return Count(faint_trials=1, faint_cannot=cannot)
    return Count(
        trials=1, first=int(ranks[0] == key), second=int(ranks[1:2] == [key]),
        told=int(found.verdict == key), cannot=cannot,
        alike=int(key in (ranks[0], *found.alike)),
    )  # fmt: skip

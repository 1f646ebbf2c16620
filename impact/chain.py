"""predict(): the only file that knows the order, from a design to everything people see."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from impact import __version__, gravity
from impact.advice import evidence, open_edge, target
from impact.advice import findings as advice
from impact.advice.resonance import Resonances, resonances
from impact.base import bands
from impact.base.levels import add
from impact.base.parallel import in_copies, in_parallel
from impact.base.plain import finite
from impact.design.fixings import called, cautions_of
from impact.design.parts import Design
from impact.energy import flanking
from impact.heard import below, changed, feeling, standard, strikes, walking
from impact.heard.joined import VARIANTS, Joined, join
from impact.heard.strikes import TAPPING
from impact.heard.thud import Thud
from impact.motion.assemble import Assembly
from impact.rating import iso, onsite, summary
from impact.sound import room
from impact.source import people
from impact.source.people import BAREFOOT
from impact.spread import expansion
from impact.spread.inputs import Input, unfollowed
from impact.spread.result import Spread

if TYPE_CHECKING:
    import xarray

OWN = "own"  # the design itself among changes of it
FEWEST = 20  # floors drawn at random: a twentieth of them lie beyond each limit


@dataclass(frozen=True, eq=False)
class Prediction:
    """Everything predicted for one design; band arrays are (28,) over `bands.NOMINAL`.

    levels, bare, best : source -> levels [dB] below the new ceiling, below the same floor without
    it, and with perfect hangers. ratings : single numbers of the tapping machine (and
    LiA_Fmax of the ball), for the ceiling alone; ratings_bare likewise without it.
    loads : what rests on the hangers. building : source -> levels [dB] below the ceiling with what
    the flanking walls radiate. walls : each of them, with the level it makes by itself.
    extras : people, feel, small room and events, ready for JSON, by its keys. spread : the 90 %
    band of `levels`.
    """

    design: Design
    joined: Joined
    resonances: Resonances
    levels: dict[str, np.ndarray]
    bare: dict[str, np.ndarray]
    best: dict[str, np.ndarray]
    ratings: dict[str, Any]
    ratings_bare: dict[str, Any]
    warnings: list[advice.Warning]
    levers: list[advice.Lever]
    cautions: tuple[str, ...]
    loads: gravity.Loads | None = None
    extras: dict[str, Any] = field(default_factory=dict)
    spread: Spread | None = None
    building: dict[str, np.ndarray] = field(default_factory=dict)
    walls: list[dict[str, Any]] = field(default_factory=list)

    @property
    def ratings_best(self) -> dict[str, Any]:
        """Single numbers with perfect hangers."""
        return rate(self.best)

    @property
    def ratings_in_building(self) -> dict[str, Any]:
        """Single numbers of ceiling and flanking walls together: L'n,w for Ln,w, AIIC for IIC."""
        return rate(self.building) if self.building else {}

    @property
    def ratings_on_site(self) -> dict[str, Any]:
        """Single numbers of the building, such as L'nT,w and NISR, by `onsite.field_ratings`."""
        if not self.building:
            return {}
        design = self.design
        return onsite.field_ratings(
            bands.NOMINAL, self.building[TAPPING], room.volume(design),
            design.room.reverberation_time,
        )  # fmt: skip

    @property
    def slab_formulas(self) -> standard.BySlabFormulas | None:
        """The floor without a ceiling by the standard's closed formulas; None but for slabs."""
        return standard.by_slab_formulas(self.design)

    @property
    def target(self) -> dict[str, Any] | None:
        """The design's target, what is predicted for it and the margins, in the building too where
        the design describes its walls, in it alone for a rating of the building; None without a
        target."""
        cases = {
            "ceiling": (self.ratings | self._loudest("LAFmax_db"), self.levels),
            "bare": (self.ratings_bare | self._loudest("LAFmax_bare_db"), self.bare),
            "best_case": (self.ratings_best | self._loudest("LAFmax_best_case_db"), self.best),
        }
        wanted = self.design.target
        if wanted is not None and wanted.quantity in target.ON_SITE:
            cases = {"in_building": (self.ratings_on_site, self.building)}
        elif self.design.flanks:
            cases["in_building"] = (self.ratings_in_building, self.building)
        return target.against(wanted, cases)

    def _loudest(self, key: str) -> dict[str, float]:
        """LAFmax of the loudest of the people above, as a rating; empty without people."""
        walkers = self.extras.get("people") or {}
        return {"LAFmax": max(one[key] for one in walkers.values())} if walkers else {}

    @property
    def notes(self) -> list[str]:
        """What was noticed in the design, ranges left aside, how far its modes are taken, and where
        a large room is solved otherwise."""
        left = ", ".join(unfollowed(self.design))
        ranges = [f"The 90 % band follows no range of {left}: taken as it stands."] if left else []
        return [*self.design.warnings, *ranges, *self.joined.notes]

    @property
    def told(self) -> list[str]:
        """The cautions, and before them that nobody has checked the loads, where that is so: none
        were computed, or no rated load is known to hold them against."""
        checked = self.loads is not None and self.loads.judged
        return list(self.cautions) if checked else ["Loads not checked.", *self.cautions]

    def as_dict(self) -> dict[str, Any]:
        """One object of plain numbers and text, as `impact predict --format json` prints it."""
        r = self.resonances
        return {
            "version": __version__,
            "design": self.design.name,
            "design_sha256": self.design.digest,
            "bands_hz": [float(b) for b in bands.NOMINAL],
            "levels_db": _plain(self.levels),
            "levels_bare_db": _plain(self.bare),
            "levels_best_case_db": _plain(self.best),
            "levels_low_db": _plain(self.spread.low) if self.spread else {},
            "levels_high_db": _plain(self.spread.high) if self.spread else {},
            "spread": self.spread.as_dict() if self.spread else None,
            "levels_in_building_db": _plain(self.building),
            "resonances_hz": {
                "floor_fundamental": finite(r.floor_fundamental, None),
                "hanger_only": finite(r.hanger_only, None),
                "air_only": finite(r.air_only, None),
                "mass_spring_mass": finite(r.mass_spring_mass, None),
            },
            "stiffness_per_area_n_m3": {
                "air": r.air_spring,
                "hangers": None if self.design.hangers is None else r.hanger_spring,
            },
            "mass_per_area_kg_m2": {"floor": r.floor_mass, "ceiling": r.ceiling_mass},
            "governing_spring": r.governing_spring,
            "coupled_modes_to_hz": r.coupled_to,
            "coupled_modes": [
                {
                    "frequency_hz": mode.frequency,
                    "share": dict(zip((*r.leaf_names, "air"), mode.share, strict=True)),
                    "heave": mode.heave,
                }
                for mode in r.coupled
            ],
            "ratings": self.ratings,
            "ratings_bare": self.ratings_bare,
            "ratings_best_case": self.ratings_best,
            "ratings_in_building": self.ratings_in_building,
            "ratings_on_site": self.ratings_on_site,
            "flanking": self.walls,
            "slab_formulas": slab.as_dict() if (slab := self.slab_formulas) else None,
            "target": self.target,
            "warnings": [vars(w) for w in self.warnings],
            "levers": [vars(lever) for lever in self.levers],
            "crossover_hz": bands.NOMINAL[self.joined.crossover],
            "crossover_mismatch_db": _plain(self.joined.mismatch_db),
            "truncation_error_db": _plain(self.joined.missing),
            "loads": self.loads.as_dict() if self.loads else None,
            "cautions": self.told,
            "defaults_used": [vars(d) for d in self.design.defaults],
            "notes": self.notes,
            "checked_against": evidence.of(self.design)[0],
            **self.extras,
        }

    def to_dataset(self) -> xarray.Dataset:
        """The same as an xarray Dataset, named and unit-carrying, ready for netCDF."""
        from impact.dataset import dataset

        return dataset(self)


def _plain(levels: dict[str, np.ndarray]) -> dict[str, list[float]]:
    return {name: [round(float(x), 4) for x in values] for name, values in levels.items()}


def predict(
    design: Design, samples: int = 0, seed: int = 1, items: Sequence[Input] | None = None
) -> Prediction:
    """Predict a design from 10 Hz to 5 kHz: levels, resonances, warnings, levers, ratings.

    samples : floors drawn at random (with `seed`, from 0) for the 90 % band, FEWEST or more; 0 for
    first order. items : for first order, uncertain inputs in place of those that the design states.
    Raises TypeError for what is no design (a path: `impact.read` makes one of it), ValueError for
    fewer samples or a negative seed.
    """
    if not isinstance(design, Design):
        raise TypeError("predict takes a design: impact.predict(impact.read(path))")
    if samples and samples < FEWEST:
        raise ValueError(f"{samples} samples are too few for a 90 % band: 0, or {FEWEST} and more")
    if seed < 0:
        raise ValueError(f"seed {seed}: from 0 up")
    joined = join(design)
    heard = band_levels(joined)
    changes = advice.variants(design)
    rated = rate(heard["design"])
    aims = _aims(design, rated, changes)
    thud = Thud(joined, BAREFOOT)  # of the design too, so that a lever is compared with its like
    jobs: dict[str, Callable[[], Any]] = {  # long ones first
        "spread": partial(expansion.spread, joined, heard["design"], items),
        "rest": partial(_at_rest, joined.assembly),
        **{f"lever {kind}": partial(thud.of, one) for kind, (_, one) in changes.items()},
        "lever own": partial(thud.of, design),
        **{f"aim {kind}": partial(changed.balance, one) for kind, one in aims.items()},
        "feel": partial(feeling.feel, joined), "people": partial(below.people, joined),
        "events": partial(below.events, joined), "small_room": partial(below.small_room, joined),
    }  # fmt: skip
    done = dict(zip(jobs, in_copies(lambda job: job(), jobs.values(), here=1), strict=True))
    spread, (loads, found) = done["spread"], done["rest"]
    reached = _reached(joined, aims, {kind: done[f"aim {kind}"] for kind in aims})
    thuds = [done[f"lever {kind}"] for kind in changes]
    levers = advice.levers(changes, done["lever own"], thuds, reached)
    if samples:
        from impact.spread.samples import sampled

        spread = sampled(joined, heard["design"], spread, samples, seed)
    walker, bare = heard["design"][BAREFOOT], heard["bare"][BAREFOOT]
    building, walls = in_building(joined, heard["design"])
    return Prediction(
        design=design, joined=joined, resonances=found, levels=heard["design"],
        bare=heard["bare"], best=heard["best"], ratings=rated,
        ratings_bare=rate(heard["bare"]),
        warnings=[
            *advice.footfall_warning(
                found, walker, bare, design.room.background, levers, called(design.hangers),
                "the bare floor" if design.old_ceiling is None else "the old ceiling alone",
            ),
            *open_edge.warnings(design, joined.paths),
        ],
        levers=levers, loads=loads,
        cautions=cautions_of(design),
        extras={
            "people": done["people"], "not_predicted": dict(people.LEFT_OUT),
            "feel": done["feel"], "small_room": done["small_room"], "events": done["events"],
        },
        spread=spread,
        building=building, walls=walls,
    )  # fmt: skip


def _aims(
    design: Design, rated: dict[str, Any], changes: dict[str, tuple[str, Design]]
) -> dict[str, Design]:
    """Designs whose balances tell what each change does to a target: none unless the target is a
    rating from 100 Hz up that is missed. OWN first. Mass on the floor is left out: a blow depends
    on what of it is walked on."""
    wanted = design.target
    if wanted is None or not target.from_100(wanted):
        return {}
    margin = target.margin(wanted, target.result(wanted, rated, {}))
    if margin is None or margin >= 0:
        return {}
    return {OWN: design, **{k: one for k, (_, one) in changes.items() if k != "floor"}}


def _reached(
    joined: Joined, aims: dict[str, Design], balances: dict[str, Any]
) -> dict[str, float | None]:
    """Kind of change -> value of the target's quantity with it."""
    if not aims:
        return {}
    wanted = aims[OWN].target
    assert wanted is not None
    others = {kind: (one, balances[kind]) for kind, one in aims.items() if kind != OWN}
    return {
        kind: target.result(wanted, summary.rate(bands.NOMINAL, level, kind="normalized"), {})
        for kind, level in changed.tapped(joined, balances[OWN], others).items()
    }


def _at_rest(assembly: Assembly) -> tuple[gravity.Loads | None, Resonances]:
    """What is found of the undamped system."""
    return gravity.loads(assembly.design), resonances(assembly)


def band_levels(joined: Joined) -> dict[str, dict[str, np.ndarray]]:
    """Variant ("design", "bare", "best") -> source -> levels (28,) [dB]; people as in this room."""
    return {name: levels_of(joined, name) for name in VARIANTS}


def levels_of(joined: Joined, variant: str) -> dict[str, np.ndarray]:
    """Source -> levels (28,) [dB] of one variant."""
    design, power = joined.assembly.design, joined.power[variant]

    def level(key: str) -> np.ndarray:
        if key in people.SOURCES:
            return np.asarray(walking.band_levels(joined, people.SOURCES[key], variant))
        return strikes.band_levels(strikes.SOURCES[key], power, design, joined.mobility)

    found = in_parallel(level, strikes.SOURCES)  # a step's course in time takes a while, once
    return dict(zip(strikes.SOURCES, found, strict=True))


def in_building(
    joined: Joined, ceiling: dict[str, np.ndarray]
) -> tuple[dict[str, np.ndarray], list[dict[str, Any]]]:
    """Levels with what the walls radiate, by energy in all bands into a diffuse room; the walls."""
    design = joined.assembly.design
    walls = [
        {
            "name": wall.name, "given": bool(design.flanks), "junction": wall.junction,
            "mass_per_area_kg_m2": wall.mass_per_area, "area_m2": wall.area,
            "Ln_w": summary.rate(bands.NOMINAL, strikes.band_levels(
                strikes.SOURCES[TAPPING], joined.flanking[wall.name], design, joined.mobility
            ), kind="normalized")["Ln_w"],
        }
        for wall in flanking.walls(design)
    ]  # fmt: skip
    power = np.sum(list(joined.flanking.values()), axis=0)
    levels = {}
    for name, direct in ceiling.items():
        source = strikes.SOURCES[name]
        beside = strikes.band_levels(source, power, design, joined.mobility)
        levels[name] = np.asarray(add(np.array([direct, beside]), axis=0))
    return levels, walls


def rate(levels: dict[str, np.ndarray]) -> dict[str, Any]:
    """Single numbers of a set of levels: the tapping machine's, and LiA,Fmax of the ball."""
    rated = summary.rate(bands.NOMINAL, levels[TAPPING], kind="normalized")
    rated["LiA_Fmax"] = iso.li_a_fmax(bands.NOMINAL, levels["rubber_ball"])
    return rated

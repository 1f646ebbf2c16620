"""Fit the floor of a design to a measurement of the bare floor, then look at the ceiling again.

Unknowns are the inputs of `impact.spread.inputs` as standard normal variables z, so the catalogue
ranges are the prior. The most probable z minimizes

    sum over bands ((measured - predicted(z)) / u)² + sum over inputs z² ,

u² = u_measured² + u_model² (Gaussian maximum a posteriori: A. Tarantola, Inverse Problem Theory,
SIAM 2005, sec. 3.2), by `scipy.optimize.least_squares`. With J the slopes of the predicted levels
there, what remains uncertain has the covariance (J' W J + 1)^-1 (ibid. eq. 3.56). Its standard
deviation over the prior's, 1, tells whether the data say anything about an input. J is taken over
one standard deviation of the range to either side: beside a resonance a level is steep and goes
nowhere, and slopes at the point would call an input known that no band tells of. Errors of the
model are taken as independent from band to band, which flatters the data somewhat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from impact.base import bands
from impact.design.parts import Design
from impact.energy import paths as energy
from impact.errors import Fault, InputError
from impact.heard import strikes
from impact.motion import lowband
from impact.motion.assemble import Assembly, assemble, floor_plates, permitted
from impact.site import mistaken
from impact.spread import modal, model_error
from impact.spread.inputs import END, FAR, Input, changed, inputs
from impact.spread.values import VALUES
from impact.spread.variants import Variants, loss_of

if TYPE_CHECKING:
    from impact.chain import Prediction

TOP = bands.index(200.0)  # highest band from the modes; a bare floor has few and shows them
MOST_MODES = 500  # of the bare floor; in larger floors the energy balance begins lower
LINES = 6  # frequencies per third octave, more where little is lost: a bare floor rings sharply
TELLS, HARDLY = 0.8, 0.95  # posterior over prior spread: below, the data tell; above, they do not
STEP = 0.15  # of z, for the search: a tenth of the way to the end of a range
SPAN = 1.0  # of z, for what the data tell: what an input does over its range
STARTS = (0.0, -1.2, 1.2)  # of the floor's stiffness: resonances make several minima
FEWEST = 4  # measured bands
FITTED = ("floor", "blow")  # kinds that a bare floor can tell of
STIFFNESS = "stiffness"


@dataclass(frozen=True)
class Fitted:
    """One input before and after.

    z : most probable, in standard deviations of the catalogue range. ratio : remaining spread over
    the catalogue's. value : what it is as a multiple of the design's (share 0..1 for fixity and
    rebound, the factor itself for damping), low and high : its catalogue range likewise; after_low,
    after_high : its 90 % range now.
    """

    key: str
    label: str
    z: float
    ratio: float
    before: float
    low: float
    high: float
    after: float
    after_low: float
    after_high: float
    relative: bool

    @property
    def verdict(self) -> str:
        """Whether the data tell: "yes", "hardly" or "no"."""
        if self.ratio < TELLS:
            return "yes"
        return "hardly" if self.ratio < HARDLY else "no"


@dataclass(frozen=True, eq=False)
class Calibration:
    """What a measured bare floor says.

    bands_hz, measured, before, after : (n,) levels below the bare floor [dB], measured and
    predicted; uncertainty : (n,) of measurement and model together. design : with the most probable
    inputs. chi2 : (before, after) of the data alone.
    """

    source: str
    bands_hz: tuple[float, ...]
    measured: np.ndarray
    uncertainty: np.ndarray
    before: np.ndarray
    after: np.ndarray
    fitted: tuple[Fitted, ...]
    design: Design
    items: tuple[Input, ...]
    chi2: tuple[float, float]

    def as_dict(self) -> dict[str, Any]:
        """Plain numbers and text for JSON."""
        return {
            "source": self.source,
            "bands_hz": list(self.bands_hz),
            "measured_db": _plain(self.measured),
            "uncertainty_db": _plain(self.uncertainty),
            "bare_before_db": _plain(self.before),
            "bare_after_db": _plain(self.after),
            "chi_square": {"before": round(self.chi2[0], 2), "after": round(self.chi2[1], 2),
                           "bands": len(self.bands_hz)},
            "inputs": [{**vars(one), "data_can_tell": one.verdict} for one in self.fitted],
        }  # fmt: skip


def _plain(values: np.ndarray) -> list[float]:
    return [round(float(x), 2) for x in values]


class Bare:
    """Levels of one source below the bare floor of a design and of floors near it.

    places : those of the bands that are wanted; others up to TOP are not computed (-300 dB).
    """

    def __init__(self, design: Design, source: str, places: np.ndarray) -> None:
        self.design, self.source = design, source
        centres = np.array(bands.CENTRES)
        high = energy.transfer(design, centres, ceiling=False, exact=True)
        self._mobility = np.array(high.mobility, complex)
        averages = energy.transfer(design, centres, ceiling=False)
        self._bays = high.power_per_force / averages.power_per_force  # averages taken for others
        few = int(np.searchsorted(high.density * centres, MOST_MODES)) - 1
        self.top = max(0, min(TOP, few, max(places)))
        self.assembly: Assembly = assemble(design, bands.edges(centres[self.top])[1])
        stack = self.assembly.bare
        area = permitted(design)
        self._bands = {
            int(i): modal.prepared(
                stack, bands.CENTRES[i], area, lowband.enough(stack, bands.CENTRES[i], LINES)
            )
            for i in np.unique(places)
            if i <= self.top
        }
        floor = next(leaf for leaf in stack.leaves if leaf.name == "floor")
        self._frame = modal.frame(floor, self.top)

    def levels(self, other: Design) -> np.ndarray:
        """Levels (28,) [dB] below the bare floor of `other`, which differs from the design by its
        inputs alone; modes up to 200 Hz or MOST_MODES, energy above; room diffuse."""
        high = energy.transfer(other, np.array(bands.CENTRES), ceiling=False)
        power = high.power_per_force * self._bays
        power[: self.top + 1] = self._low(other)
        one = strikes.SOURCES[self.source]
        return strikes.band_levels(one, power, other, self._mobility, ceiling=False)

    def _low(self, other: Design) -> np.ndarray:
        extra = self._frame.difference(floor_plates(other)[-1])
        loss = loss_of(other) - loss_of(self.design)
        out = np.zeros(self.top + 1)
        stiffness, mass = (part[None] for part in extra)
        one = Variants(np.ones((1, 1)), stiffness, mass, np.array([loss]), *np.full((2, 1), np.nan))
        for i, chunks in self._bands.items():
            for chunk in chunks:
                out[i] += float(modal.powers(self.assembly.bare, chunk, one)[0] @ chunk.weight)
        return out


def calibrate(
    design: Design, bands_hz: Sequence[float], level_db: Sequence[float] | np.ndarray,
    uncertainty_db: Sequence[float] | np.ndarray, source: str = strikes.TAPPING,
    model_db: np.ndarray | None = None,
) -> Calibration:  # fmt: skip
    """Fit the inputs of `design` to levels measured below its bare floor.

    bands_hz : (n,) nominal third octaves. level_db, uncertainty_db : (n,) as `impact predict`
    gives this source, standard uncertainty. model_db : (28,) standard uncertainty of the model,
    default as `impact.spread.model_error`. Raises InputError for a design without ranges and for
    fewer than FEWEST bands.
    """
    items = inputs(design)
    free = [i for i, item in enumerate(items) if item.kind in FITTED
            and (item.kind != "blow" or source == strikes.TAPPING)]  # fmt: skip
    measured, own = np.asarray(level_db, float), np.asarray(uncertainty_db, float)
    _check(design, free, measured)
    places = np.array([bands.index(float(band)) for band in bands_hz])
    model = model_error.by_band() if model_db is None else model_db
    uncertainty = np.hypot(own, model[places])
    bare = Bare(design, source, places)
    predicted = partial(_predicted, bare, items, free, places)
    z, slopes = _most_probable(predicted, [items[i] for i in free], measured, uncertainty)
    spread = np.sqrt(np.diag(remaining(slopes, uncertainty)))
    whole, ratio = np.zeros(len(items)), np.ones(len(items))
    whole[free], ratio[free] = z, spread
    after_design = changed(design, items, whole)
    before, after = predicted(np.zeros(len(free))), predicted(z)
    return Calibration(
        source, tuple(float(b) for b in bands_hz), measured, uncertainty, before, after,
        tuple(_fitted(design, item, float(own_z), float(own_ratio))
              for item, own_z, own_ratio in zip(items, whole, ratio, strict=True)),
        after_design,
        tuple(_narrowed(design, items, whole, i, float(ratio[i])) for i in range(len(items))),
        (_square(measured - before, uncertainty), _square(measured - after, uncertainty)),
    )  # fmt: skip


def _square(difference: np.ndarray, uncertainty: np.ndarray) -> float:
    return float(np.sum((difference / uncertainty) ** 2))


def _check(design: Design, free: Sequence[int], measured: np.ndarray) -> None:
    faults = []
    if not free:
        faults.append(Fault("floor", "no input of it has a range; nothing can be fitted"))
    if len(measured) < FEWEST:
        what = f"{len(measured)} bands; at least {FEWEST} between 10 Hz and 5 kHz are needed"
        faults.append(Fault("measurement", what))
    if faults:
        raise InputError(design.path or design.name, faults)


def _predicted(
    bare: Bare, items: Sequence[Input], free: Sequence[int], places: np.ndarray, z: np.ndarray
) -> np.ndarray:
    """Levels below the bare floor in the measured bands (n,) [dB] for z of the free inputs."""
    return bare.levels(changed(bare.design, [items[i] for i in free], z))[places]


def _most_probable(
    predicted: Any, items: Sequence[Input], measured: np.ndarray, uncertainty: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """z of the lowest sum of squares from several starts, and the slopes there (n, inputs)."""
    from scipy.optimize import least_squares

    def residual(z: np.ndarray) -> np.ndarray:
        return np.r_[(predicted(z) - measured) / uncertainty, z]

    def slope(z: np.ndarray) -> np.ndarray:
        ahead = slopes(predicted, z)
        return np.vstack([ahead / uncertainty[:, None], np.eye(len(z))])

    best = None
    stiff = np.array([float(item.part == STIFFNESS) for item in items])
    stiff /= max(1.0, float(np.sqrt(stiff.sum())))
    for start in STARTS:
        found = least_squares(
            residual, start * stiff, slope, bounds=(-FAR, FAR), xtol=1e-3, ftol=1e-3, max_nfev=12
        )
        if best is None or found.cost < best.cost:
            best = found
    assert best is not None
    return best.x, mean_slopes(predicted, best.x)


def slopes(predicted: Any, z: np.ndarray) -> np.ndarray:
    """d predicted / d z at a point, by differences of STEP ahead: (n, inputs) [dB]."""
    here = predicted(z)
    columns = [(predicted(z + STEP * one) - here) / STEP for one in np.eye(len(z))]
    return np.stack(columns, axis=-1)


def mean_slopes(predicted: Any, z: np.ndarray) -> np.ndarray:
    """Change of the prediction over SPAN to either side, per unit of z: (n, inputs) [dB]."""
    columns = [
        (predicted(z + SPAN * one) - predicted(z - SPAN * one)) / (2 * SPAN)
        for one in np.eye(len(z))
    ]
    return np.stack(columns, axis=-1)


def remaining(slope: np.ndarray, uncertainty: np.ndarray) -> np.ndarray:
    """Covariance (inputs, inputs) of z after data with these slopes (n, inputs) and standard
    uncertainties (n,), prior standard normal: (J' W J + 1)^-1."""
    weighted = slope / uncertainty[:, None]
    return np.linalg.inv(weighted.T @ weighted + np.eye(slope.shape[1]))


def _narrowed(
    design: Design, items: Sequence[Input], z: np.ndarray, place: int, ratio: float
) -> Input:
    """An input of the fitted design: about its new value, with what remains of its spread."""

    def change(_: Design, own: float) -> Design:
        moved = z.copy()
        moved[place] += ratio * own
        return changed(design, items, moved)

    return replace(items[place], change=change)


def _fitted(design: Design, item: Input, z: float, ratio: float) -> Fitted:
    """The input in numbers that people read."""

    def value(at: float) -> float:
        return _value(item, item.change(design, at), design)

    return Fitted(
        item.key, item.label, round(z, 3), round(ratio, 3), value(0.0), value(-END), value(END),
        value(z), value(z - END * ratio), value(z + END * ratio), item.key not in ABSOLUTE,
    )  # fmt: skip


# Inputs shown as they are; all others as a multiple of the design's.
ABSOLUTE = ("floor_damping", "edge_fixity", "rebound", "hanger_damping", "ceiling_damping",
            "edge_damping", "reverberation")  # fmt: skip


def _value(item: Input, moved: Design, design: Design) -> float:
    value = VALUES[item.key]
    return float(value(moved) if item.key in ABSOLUTE else value(moved) / value(design))


def nearer(found: Calibration, prediction: Prediction) -> tuple[str, float, float] | None:
    """What the measurement looks like instead, by the levels of `prediction`."""
    said = mistaken.in_words(found.source, mistaken.BARE)
    return mistaken.instead(prediction, said, found.bands_hz, found.measured)


def repredicted(found: Calibration) -> Prediction:
    """The ceiling again, on the fitted floor, with what remains of the inputs' spread."""
    from impact.chain import predict

    return predict(found.design, items=found.items)

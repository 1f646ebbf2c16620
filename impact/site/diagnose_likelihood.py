"""Likelihood of spectra about cases of one fault, on floors about which kernels stand.

See `site.diagnose`, which weighs explanations by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from scipy.special import logsumexp

from impact.site.diagnose_errors import width
from impact.site.diagnose_rest import Weighed
from impact.site.faults import Member

SHAPE = 0.1  # the models know a change of level to this share of it, band by band; judgement
TINY = 1e-12
TOLD = 4  # floors from which it is told how a change goes with the level
AT_ONCE = 64  # cases about which many spectra are weighed together


def kernels(
    moved: np.ndarray, inputs: np.ndarray, whole: np.ndarray
) -> tuple[np.ndarray, np.ndarray, float]:
    """Where kernels about floors stand (floors, n) [dB] and their covariance (n, n) [dB²]; a single
    one at 0 where nothing is known apart of what inputs do.

    moved : (floors, n) what their inputs make of the level [dB]. inputs, whole : (n, n) covariances
    [dB²] of inputs, and of inputs and all else. Third: their width, 0..1.
    """
    wide = width(len(moved), inputs, whole - inputs)
    if wide == 1.0:
        return np.zeros((1, len(whole))), whole, wide
    middle = np.mean(moved, axis=0)
    levels = middle + np.sqrt(1 - wide**2) * (moved - middle)
    return levels, whole - (1 - wide**2) * inputs, wide


def follows(shifts: np.ndarray, sizes: np.ndarray, floors: np.ndarray, moved: np.ndarray) -> float:
    """How many dB a change of level moves for each dB that inputs make of the level without it:
    -1..0.

    Where a fault lets the power q through beside p, the change is 10 lg(1 + q/p); louder without
    the fault, it moves by -q/(p + q) of that, for each dB: not at all for a faint fault, against it
    in full for one beside which all else is faint, if q stays as it is. The slope is that of least
    squares over all bands together, with the size of the fault beside (its logarithm, where sizes
    have one), floors alike in weight; 0 for fewer floors than TOLD.

    shifts : (m, n) of the cases of one fault [dB]. sizes : (m,). floors : (m,) on which they are.
    moved : (floors, n) what inputs make of the level [dB].
    """
    _, place, counts = np.unique(floors, return_inverse=True, return_counts=True)
    if len(counts) < TOLD:
        return 0.0
    weight = counts[place, None] ** -0.5
    size = np.log(sizes) if np.all(sizes > 0) else sizes
    beside, _ = np.linalg.qr(weight * np.column_stack([np.ones(len(size)), size]))
    change, level = (
        rows - beside @ (beside.T @ rows) for rows in (weight * shifts, weight * moved[floors])
    )
    total = np.sum(level**2)
    return float(np.clip(np.sum(change * level) / total, -1, 0)) if total > TINY else 0.0


class Cases:
    """Gaussian likelihood of spectra about cases of one fault, whose changes of level the models
    know to a share SHAPE of their size in each band."""

    def __init__(
        self, covariance: np.ndarray, shifts: np.ndarray, members: Sequence[Member],
        floors: np.ndarray, levels: np.ndarray, key: str = "", rows: np.ndarray | None = None,
        floor_weight: np.ndarray | None = None,
    ) -> None:  # fmt: skip
        """shifts : (m, n) [dB]. members : what they are of. floors : (m,) on which they are.
        levels : (m, n) of these floors without the fault, as `kernels` puts them [dB]. key : of the
        fault. rows : (m,) numbers of the cases among all of it; all by default. floor_weight :
        (floors,) logarithm of how much floors count; alike by default."""
        self.covariance, self.shifts, self.levels = covariance, shifts, levels
        self.members, self.floors, self.key = members, floors, key
        self.rows = np.arange(len(shifts)) if rows is None else rows
        self.floor_weight = floor_weight

    def some(self, which: np.ndarray) -> Cases:
        """Those chosen by `which` (m,), bool."""
        chosen = [case for case, use in zip(self.members, which, strict=True) if use]
        rows = (self.shifts[which], chosen, self.floors[which], self.levels[which])
        return Cases(self.covariance, *rows, self.key, self.rows[which], self.floor_weight)

    @cached_property
    def log_weight(self) -> np.ndarray:
        """(m,): floors count as told, the cases on each of them alike."""
        numbers, place, counts = np.unique(self.floors, return_inverse=True, return_counts=True)
        weight = np.zeros(len(numbers))
        if self.floor_weight is not None:
            weight = self.floor_weight.take(numbers, mode="clip")
        return np.asarray((weight - logsumexp(weight))[place] - np.log(counts[place]))

    @cached_property
    def _lower(self) -> np.ndarray:
        more = (SHAPE * self.shifts)[:, :, None] ** 2 * np.eye(len(self.covariance))
        return np.linalg.cholesky(self.covariance + more)

    @cached_property
    def _log_scale(self) -> np.ndarray:
        """(m,): minus the logarithm of each density at its middle."""
        size = len(self.covariance)
        spread = np.sum(np.log(np.diagonal(self._lower, axis1=1, axis2=2)), axis=1)
        return np.asarray(spread + size / 2 * np.log(2 * np.pi))

    def square(self, log_likelihood: np.ndarray) -> np.ndarray:
        """(..., m): squared distance from each case, in standard deviations."""
        return np.asarray(-2 * (log_likelihood + self._log_scale))

    @cached_property
    def _inverse(self) -> np.ndarray:
        return np.linalg.inv(self._lower)

    def log_likelihood(self, spectra: np.ndarray) -> np.ndarray:
        """(S, m) about each case of spectra (S, n) [dB]."""
        size = len(self.covariance)
        square = np.empty((len(spectra), len(self.shifts)))
        for start in range(0, len(self.shifts), AT_ONCE):
            part = slice(start, start + AT_ONCE)
            inverse = self._inverse[part]
            white = spectra @ inverse.reshape(-1, size).T - np.ravel(
                inverse @ (self.levels + self.shifts)[part, :, None]
            )
            square[:, part] = np.sum(white.reshape(len(spectra), -1, size) ** 2, axis=2)
        return np.asarray(-0.5 * square - self._log_scale)

    def log_evidence(
        self, spectra: np.ndarray, but: np.ndarray | None = None, read: Weighed | None = None
    ) -> np.ndarray:
        """(S,) of spectra (S, n) [dB] and of as many sets of readings: mean likelihood over floors.
        but : (S,) numbers of floors that are left out, where there are others."""
        likely = self.log_likelihood(spectra) + self.log_weight
        if read is not None:
            likely += read.of(self.key, self.rows, self.floors)
        left = np.ones(len(spectra))
        if but is not None and np.ptp(self.floors):
            likely[self.floors == but[:, None]] = -np.inf
            left -= (self.floors == but[:, None]) @ np.exp(self.log_weight)
        return np.asarray(logsumexp(likely, axis=1) - np.log(np.maximum(left, TINY)))

    def simulated(
        self, rng: np.random.Generator, count: int
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """`count` spectra (count, n) [dB] as these cases lead to, the floor of each and its case
        (count,), as of `rows`."""
        which = rng.choice(len(self.shifts), count, p=np.exp(self.log_weight))
        noise = self._lower[which] @ rng.standard_normal((count, len(self.covariance), 1))
        spectra = (self.levels + self.shifts)[which] + noise[:, :, 0]
        return spectra, self.floors[which], self.rows[which]

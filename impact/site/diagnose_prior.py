"""What is held of each fault before a measurement is seen: even, but so much that none is lost.

Nobody knows how often screws bridge hangers or boards touch walls. With equal weights those faults
that resemble others are seldom found: theirs is the evidence that others share. With the weights by
which the worst found is found as often as can be (minimax), one fault that hardly differs from the
others drags all of them down with it. Between the two lies the restricted Bayes rule (J. L. Hodges
and E. L. Lehmann, The use of previous experience in reaching statistical decisions, Annals of
Mathematical Statistics 23 (1952) 396-407): best on the average under the even weights, provided
that each fault is found often enough. Its weights are the even ones, raised (Lagrange multipliers)
only where a fault falls short of FOUND, and no further than MOST. Found are they here on spectra
simulated from the very cases of the search with their stated covariance.
"""

from __future__ import annotations

import numpy as np

TOP = 2  # a fault counts as found among so many
SOUND = 0.93  # share of spectra without a fault in which "as designed" is to come first; judgement
FOUND = 0.90  # share of its own spectra in which a fault is to be found; judgement
STEPS = 300
MOST = np.log(12.0)  # by which a weight may differ from the even one; judgement


def even(faults: int) -> np.ndarray:
    """Logarithm of the weights (1 + faults,) of "as designed", a half, and of the faults, which
    share the other half."""
    return np.log([0.5, *[0.5 / max(1, faults)] * faults])


def fair(log_evidence: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Logarithm of the weights (H,) of "as designed" and the faults, sum 1.

    log_evidence : (S, H) of S simulated spectra, in the order of `even`. truth : (S,) column of the
    true explanation. Explanations of which there are no spectra keep their share.
    """
    start = even(log_evidence.shape[1] - 1)
    columns = np.unique(truth)
    faulty = columns[columns > 0]
    if not len(faulty):
        return start
    weight = start.copy()
    floor = np.where(np.arange(len(start)) == 0, -MOST, 0.0)  # faults are raised only
    for step in range(STEPS):
        found = _found(log_evidence + weight, truth)
        rate = 1 / (1 + step / 40)
        weight[0] += 3 * rate * (SOUND - found[0])
        weight[faulty] += rate * (FOUND - found[faulty])
        weight = np.clip(weight, start + floor, start + MOST)
    return np.asarray(weight - np.logaddexp.reduce(weight))


def _found(score: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Share (H,) of the spectra of each explanation in which it is found: first for "as designed",
    among the first TOP for a fault."""
    own = score[np.arange(len(truth)), truth]
    before = np.sum(score > own[:, None], axis=1)
    hit = before < np.where(truth == 0, 1, TOP)
    size = score.shape[1]
    return np.bincount(truth, hit, size) / np.maximum(np.bincount(truth, minlength=size), 1)

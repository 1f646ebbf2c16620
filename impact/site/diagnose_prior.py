"""What is held of each fault before a measurement is seen: so much that none is overlooked.

Nobody knows how often screws bridge hangers or boards touch walls. With equal weights those faults
that resemble others are seldom found: theirs is the evidence that others share. Weights for which
the fault that is hardest to find is found as often as can be are the least favourable prior, and
the ranking by them is the minimax rule (J. O. Berger, Statistical Decision Theory and Bayesian
Analysis, 2nd ed., 1985, sec. 5.3). Found are they here on spectra simulated from the very cases of
the search with their stated covariance, by weights that rise where a fault is missed (repeated play
of a game: Y. Freund and R. E. Schapire, Games and Economic Behavior 29 (1999) 79-103).
"""

from __future__ import annotations

import numpy as np

TOP = 2  # a fault counts as found among so many
SOUND = 0.93  # share of spectra without a fault in which "as designed" is to come first; judgement
STEPS = 300
LEAST, MOST = np.log(1 / 12), np.log(12.0)  # of a weight, against equal ones


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
    weight, best, kept = start.copy(), (False, -np.inf), start
    for step in range(STEPS):
        found = _found(log_evidence + weight, truth)
        score = (bool(found[0] >= SOUND), float(found[faulty].min()))
        if score > best:
            best, kept = score, weight.copy()
        rate = 1 / (1 + step / 40)
        weight[0] += 3 * rate * (SOUND - found[0])
        weight[faulty] += rate * (found[faulty].mean() - found[faulty])
        weight = np.clip(weight, start + LEAST, start + MOST)
    return np.asarray(kept - np.logaddexp.reduce(kept))


def _found(score: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Share (H,) of the spectra of each explanation in which it is found: first for "as designed",
    among the first TOP for a fault."""
    own = score[np.arange(len(truth)), truth]
    before = np.sum(score > own[:, None], axis=1)
    hit = before < np.where(truth == 0, 1, TOP)
    size = score.shape[1]
    return np.bincount(truth, hit, size) / np.maximum(np.bincount(truth, minlength=size), 1)

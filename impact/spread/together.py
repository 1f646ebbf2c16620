"""All inputs at once on some floors: what they do together beside the sum of their effects.

The signs of the floors' inputs come from a two-level fraction of all combinations, in which those
of any two inputs balance (G. E. P. Box and J. S. Hunter, The 2^(k-p) fractional factorial designs,
Technometrics 3 (1961) 311-351); how far an input goes, from equally likely parts of its range, each
as often as any other. Of these floors' levels L over the sums s of the single effects,

    L = a + b s + rest ,

the line gives the mean of the level over all floors, with the variance of the rest its standard
deviation, and the third powers of L and of b s their skewness. The sums over many floors are moved,
stretched and bent,

    s -> mean + width (u + c (u^2 - 1)),   u = (s - its mean)/its standard deviation ,

to have all three (the sum as a control variate: R. Y. Rubinstein and R. Marcus, Operations Research
33 (1985) 661-677; the bend is the first term of E. A. Cornish and R. A. Fisher, Moments and
cumulants in the specification of distributions, Revue de l'Institut International de Statistique 5
(1938) 307-320).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from impact.spread.inputs import FAR, Input

RUNS = 6  # factors of the fraction: 2^6 = 64 floors; the first half of them balances as well
# Fractions one after the other, in which other inputs of floor and points go together and go to
# other sizes: floors beyond the first 64 cost little where few modes make a band, and need no more
# states. By chance 64 leave 0.5 dB and more in a limit of levels that are skewed much, 256 half.
FRACTIONS, TURN = 4, 5
COUNT = FRACTIONS * 2**RUNS  # floors in all
# Floors times the squared number of modes that stay in the small systems, in sum over these: some
# milliseconds a band. Where many modes count, few floors tell.
MOST = 8e4
# Equally likely parts of half a range; few for hangers, which are eliminated once for all alike.
PARTS = {"floor": 16, "points": 2}
# Inputs that need more than the floor and the points solved again share 2^4 = 16 states, in which
# each has four points, either half of its range to either side, and any two of them every pair of
# points once: an orthogonal array of five such inputs (C. R. Rao, J. Royal Stat. Soc. Suppl. 9
# (1947) 128). Of three words of the four signs, one of which is the product of the others, the
# first is the sign of an input, the second its size; most telling inputs first, from the sixth on
# threes come again, turned. Words: powers of x, five apart, where x^4 = x + 1 over two elements.
STATES = 4
THREES = ((1, 6, 7), (2, 12, 14), (4, 11, 15), (8, 5, 13), (3, 10, 9))
SHARED = ("edge_stiffness", "ceiling_mass", "ceiling_stiffness", "fill", "edge_damping")
SMALL = ("floor", "points")  # kinds for which the small system is solved again
OUTSIDE = ("blow", "room")  # kinds that do not touch the structure
LEAST = 1e-6  # dB²: variance below which nothing is stretched
BENT = 1 / 6  # largest c: beyond it levels would turn back within three standard deviations


@dataclass(frozen=True, eq=False)
class Curve:
    """What leads from sums of effects to levels (…) [dB]: mean + slope (a + bend (a² - square)) of
    a = sum - centre."""

    centre: np.ndarray
    square: np.ndarray
    mean: np.ndarray
    slope: np.ndarray
    bend: np.ndarray

    def __call__(self, added: np.ndarray) -> np.ndarray:
        """Changes of level (draws, …) [dB] from the sums of effects."""
        about = added - self.centre
        return np.asarray(self.mean + self.slope * (about + self.bend * (about**2 - self.square)))


def runs(items: Sequence[Input]) -> np.ndarray:
    """z (COUNT, inputs) of the floors; zero for inputs that do not touch the structure.
    Signs of any two inputs balance in each fraction, and in its first half."""
    order = sorted(range(2**RUNS), key=lambda run: run.bit_count() % 2)

    def sign(word: int) -> np.ndarray:  # (2^RUNS,) product of some of the RUNS signs
        return np.array([1.0 - 2 * ((run & word).bit_count() % 2) for run in order])

    out = np.zeros((2**RUNS, len(items)))
    shared = [i for i, item in enumerate(items) if _shares(item)]
    shared.sort(key=lambda i: SHARED.index(items[i].key) if items[i].key in SHARED else len(SHARED))
    near, far = _sizes(2)
    for place, i in enumerate(shared):
        turn, which = divmod(place, len(THREES))
        sides, sizes = (sign(THREES[which][(turn + n) % 3]) for n in (0, 1))
        out[:, i] = sides * np.where(sizes > 0, far, near)
    alone = [i for i, item in enumerate(items) if not _shares(item) and item.kind not in OUTSIDE]
    rng, own, found = np.random.default_rng(0), _own_words(), []
    for turn in range(0, FRACTIONS * TURN, TURN):
        for place, i in enumerate(alone):
            sizes = np.resize(_sizes(PARTS[items[i].kind]), len(out) // 4)
            side = sign(own[(place + turn) % len(own)])
            for half in np.split(np.arange(len(out)), 2):
                for end in (-1, 1):
                    out[half[side[half] == end], i] = end * rng.permutation(sizes)
        found.append(out.copy())
    return np.vstack(found)


def floors(modes: Sequence[int]) -> int:
    """How many of the `runs` are solved where so many modes stay in each small system: half a
    fraction, a whole one, or several, as MOST allows."""
    half = 2 ** (RUNS - 1)
    allowed = MOST / sum(count**2 for count in modes) / half if sum(modes) else 1.0
    return min(half * 2 ** int(np.log2(max(allowed, 1.0))), COUNT)


def _own_words() -> list[int]:
    """Words of the signs of inputs that share no states, odd ones first: one of the two signs that
    states leave, and some of the states' but the last. In the first half of the floors, where all
    signs together are one, no two of them are the same, nor one of them and one of the states'."""
    inner = sorted(range(2 ** (STATES - 1)), key=lambda word: word.bit_count() % 2)
    return [2**last + word for word in inner for last in range(STATES, RUNS)]


def _sizes(parts: int) -> np.ndarray:
    """|z| (parts,) of an input, each as often as any other: the root mean square of |z| in equally
    likely parts of its range."""
    fine = np.minimum(ndtri(0.5 + (np.arange(100 * parts) + 0.5) / (200 * parts)), FAR)
    return np.asarray(np.sqrt(np.mean(fine.reshape(parts, -1) ** 2, axis=1)))


def _shares(item: Input) -> bool:
    return item.kind not in (*SMALL, *OUTSIDE)


def others(items: Sequence[Input]) -> np.ndarray:
    """Which inputs are neither of floor or points nor outside of the structure (inputs,)."""
    return np.array([_shares(item) for item in items], bool)


def states(items: Sequence[Input], z: np.ndarray) -> np.ndarray:
    """Number (runs,), from 0, of the state that `others` are in, at z (runs, inputs)."""
    kinds = {tuple(row): None for row in z[:, others(items)].tolist()}
    place = {row: number for number, row in enumerate(kinds)}
    return np.array([place[tuple(row)] for row in z[:, others(items)].tolist()])


def fitted(added: np.ndarray, found: np.ndarray, many: np.ndarray) -> Curve:
    """The curve from sums of effects to levels.

    added, found : (runs, …) [dB] sums and levels of the floors of `runs`, levels NaN where they
    were not solved. many : (draws, …) sums of many floors.
    """
    there = ~np.isnan(found)
    count, centre, square = there.sum(axis=0), many.mean(axis=0), np.var(many, axis=0)
    middle, loud = (np.sum(x, axis=0, where=there) / count for x in (added, found))
    about, level = (np.where(there, x - y, 0.0) for x, y in ((added, middle), (found, loud)))
    moves = (np.sum(about**2, axis=0) > LEAST * count) & (square > LEAST)
    safe = np.where(moves, np.sum(about**2, axis=0), 1.0)
    straight = np.where(moves, np.sum(about * level, axis=0) / safe, 1.0)
    rest = np.sum((level - straight * about) ** 2, axis=0) / (count - 2)
    variance = straight**2 * square + np.where(moves, rest, 0.0)
    mean = loud + straight * (centre - middle)
    wide = np.sqrt(np.where(moves, square, 1.0))
    power = _powers((many - centre) / wide)
    third = np.sum(level**3 - (straight * about) ** 3, axis=0)
    third *= count / ((count - 1) * (count - 2))
    third += (straight * wide) ** 3 * power[3]
    bend = np.where(moves, _bend(power, third / np.maximum(variance, LEAST) ** 1.5), 0.0)
    narrow = np.where(moves, np.sqrt(_spread(power, bend)[0]), 1.0)
    slope = np.where(moves, np.sqrt(variance) / (wide * narrow), straight)
    return Curve(centre, square, mean, slope, bend / wide)


def _powers(u: np.ndarray) -> np.ndarray:
    """Means (7, …) of the powers 0 to 6 of u (draws, …)."""
    out, raised = np.ones((7, *u.shape[1:])), np.ones_like(u)
    for n in range(1, 7):
        raised *= u
        out[n] = raised.mean(axis=0)
    return out


def _spread(power: np.ndarray, bend: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Variance and third moment (…) of u + bend (u² - 1). power : (7, …) means of the powers of
    u, whose mean is 0 and whose variance is 1."""
    _, _, _, third, fourth, fifth, sixth = power
    variance = 1 + 2 * bend * third + bend**2 * (fourth - 1)
    own = third + 3 * bend * (fourth - 1) + 3 * bend**2 * (fifth - 2 * third)
    return variance, own + bend**3 * (sixth - 3 * fourth + 2)


def _bend(power: np.ndarray, skewness: np.ndarray) -> np.ndarray:
    """The bend (…), at most BENT, that gives u + bend (u² - 1) a skewness (…); see `_spread`."""
    low, high = np.full_like(skewness, -BENT), np.full_like(skewness, BENT)
    for _ in range(30):
        middle = (low + high) / 2
        variance, third = _spread(power, middle)
        above = third > skewness * variance**1.5
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return (low + high) / 2

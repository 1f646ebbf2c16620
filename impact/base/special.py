"""A few functions of mathematics, so that a prediction begins without scipy: to load that takes as
long as a tenth of all of it. `tests/base/test_special.py` holds them against scipy's."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

LARGE = 600  # unknowns from which scipy is worth its loading: it forms no inverse
HALVINGS = 9  # of the arithmetic-geometric mean: twice as many digits each
SHIFT = 10  # from where on the trigamma function's series holds to 1e-14
# Wichura's rational functions in (0.425² - q²), then in r - 1.6 and r - 5: from x⁰ up
_MIDDLE = (
    (3.3871328727963666080, 1.3314166789178437745e2, 1.9715909503065514427e3,
     1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
     3.3430575583588128105e4, 2.5090809287301226727e3),
    (1.0, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
     2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4,
     5.2264952788528545610e3),
)  # fmt: skip
_SIDE = (
    (1.42343711074968357734, 4.63033784615654529590, 5.76949722146069140550,
     3.64784832476320460504, 1.27045825245236838258, 2.41780725177450611770e-1,
     2.27238449892691845833e-2, 7.74545014278341407640e-4),
    (1.0, 2.05319162663775882187, 1.67638483018380384940, 6.89767334985100004550e-1,
     1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4,
     1.05075007164441684324e-9),
)  # fmt: skip
_FAR = (
    (6.65790464350110377720, 5.46378491116411436990, 1.78482653991729133580,
     2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
     2.71155556874348757815e-5, 2.01033439929228813265e-7),
    (1.0, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
     7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7,
     2.04426310338993978564e-15),
)  # fmt: skip


def normal_quantile(p: Any) -> NDArray:
    """x of which a standard normal variable is below with probability `p` [-], 0 < p < 1, any
    shape: M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988) 477-484, to 1e-15."""
    share = np.asarray(p, float)
    q = share - 0.5
    tail = np.sqrt(-np.log(np.minimum(share, 1 - share)))
    middle = np.abs(q) <= 0.425
    near = q * _ratio(_MIDDLE, 0.180625 - np.where(middle, q, 0.0) ** 2)
    far = np.where(tail <= 5, _ratio(_SIDE, tail - 1.6), _ratio(_FAR, tail - 5.0))
    return np.asarray(np.where(middle, near, np.sign(q) * far))


def _ratio(pair: tuple[tuple[float, ...], tuple[float, ...]], x: NDArray) -> NDArray:
    above, below = (np.polynomial.polynomial.polyval(x, each) for each in pair)
    return np.asarray(above / below)


def elliptic(m: Any) -> tuple[NDArray, NDArray]:
    """Complete elliptic integrals K(m) and E(m) [-] of the parameter m = k², 0 <= m < 1, any shape,
    by the arithmetic-geometric mean (M. Abramowitz, I. A. Stegun, 1964, 17.6)."""
    m = np.asarray(m, float)
    a, b, rest = np.ones_like(m), np.sqrt(1 - m), m / 2
    for step in range(HALVINGS):
        a, b, apart = (a + b) / 2, np.sqrt(a * b), (a - b) / 2
        rest = rest + 2.0**step * apart**2
    whole = np.pi / 2 / a
    return whole, whole * (1 - rest)


def trigamma(x: Any) -> NDArray:
    """psi'(x) [-], the sum of 1/(x + n)² from n = 0 on, of x > 0, any shape: the first SHIFT terms,
    and of the others the asymptotic series (Abramowitz/Stegun 6.4.6, 6.4.12)."""
    x = np.asarray(x, float)
    first = np.sum(1 / (x[..., None] + np.arange(SHIFT)) ** 2, axis=-1)
    y = 1 / (x + SHIFT)
    square = y**2
    bernoulli = (1 / 6, -1 / 30, 1 / 42, -1 / 30, 5 / 66)
    return np.asarray(
        first + y + square / 2 + y * square * np.polynomial.polynomial.polyval(square, bernoulli)
    )


def fast_length(count: int, real: bool = False) -> int:
    """Smallest length from `count` on of which a Fourier transform is fast: a product of powers of
    2, 3 and 5, and of 7 and 11 unless of `real` values."""
    known = _smooth(2 ** int(np.ceil(np.log2(count))), (2, 3, 5) if real else (2, 3, 5, 7, 11))
    return int(known[known.searchsorted(count)])


@lru_cache(maxsize=64)
def _smooth(highest: int, primes: tuple[int, ...]) -> NDArray:
    """All products of powers of `primes` up to `highest`, rising."""
    found = np.ones(1, int)
    for prime in primes:
        powers = prime ** np.arange(int(np.log(highest + 0.5) / np.log(prime)) + 1)
        found = np.outer(found, powers).ravel()
        found = found[found <= highest]
    return np.sort(found)


def generalized(stiffness: NDArray, mass: NDArray) -> tuple[NDArray, NDArray]:
    """Rising squares w² (n,) and vectors v (n, n), K v = w² M v, v M v = 1, of real symmetric
    `stiffness` and `mass` (n, n), the latter positive: by Cholesky's factor of the mass."""
    if len(mass) > LARGE:
        from scipy.linalg import eigh

        squares, vectors = eigh(stiffness, mass)
        return squares, vectors
    inverse = np.linalg.inv(np.linalg.cholesky(mass))
    squares, vectors = np.linalg.eigh(inverse @ stiffness @ inverse.T)
    return squares, inverse.T @ vectors

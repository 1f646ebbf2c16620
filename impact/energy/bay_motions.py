"""Small systems of `ribbed`: the motions of a joist and its bay, and leaves coupled in a chain.

Elimination, as in any textbook of linear algebra.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import polygamma

from impact.energy.bay_parts import Strips
from impact.energy.depth import Rod

# What a joist holds: height of the place as in `depth.Rod`, spring [N/m2], a number or (N,), and
# the other motions that it ties, place -> share (N,)
Held = tuple[float, complex | NDArray, dict[int, NDArray]]


class Motions:
    """The motions u of a joist and its bay as they are gathered, and the springs between them."""

    def __init__(self, count: int) -> None:
        self.count = count  # N
        self.shapes: list[dict[int, NDArray]] = []
        self.springs: list[tuple[list[int], NDArray]] = []  # places, (N, R, R)

    def add(self, shapes: dict[int, NDArray], spring: NDArray) -> int:
        """One more motion: what it takes of each leaf's waves (N, M), and its spring (N,). Its
        place."""
        self.shapes.append(shapes)
        self.join([len(self.shapes) - 1], np.reshape(spring, (-1, 1, 1)))
        return len(self.shapes) - 1

    def join(self, places: list[int], spring: NDArray) -> None:
        """Springs (N, R, R) between R motions."""
        self.springs.append((places, spring))

    def tie(
        self, one: dict[int, NDArray], other: dict[int, NDArray], spring: complex | NDArray
    ) -> None:
        """A spring, a number or (N,), between two sums of motions, place -> share (N,)."""
        share = np.stack([*one.values(), *(-each for each in other.values())], axis=-1)
        at = np.asarray(spring)[..., None, None]
        self.join([*one, *other], at * np.conj(share[:, :, None]) * share[:, None, :])

    def hold(self, joist: int, rod: Rod, held: Sequence[Held]) -> None:
        """Springs between places of a joist, `joist` that of its upper face, and other motions."""
        if held:
            heights, springs, places, shares = self._gathered(held)
            self.join([joist, *places], rod.held(heights, springs, shares))

    def lower_face(self, joist: int, rod: Rod, held: Sequence[Held]) -> tuple[NDArray, NDArray]:
        """Motion of a joist's lower face in all motions (N, U) [-], `held` in place, and what it
        gives way per force [m2/N] (N,)."""
        heights, springs, places, shares = self._gathered(held)
        moved, give = rod.lower_face(heights, springs, shares)
        row = np.zeros((self.count, len(self.shapes)), complex)
        row[:, [joist, *places]] = moved
        return row, give

    def _gathered(self, held: Sequence[Held]) -> tuple[list[float], list, list[int], NDArray]:
        """Heights, springs, places of the motions that take part, and shares (N, A, R) of each."""
        places = [place for _, _, share in held for place in share]
        shares = np.zeros((self.count, len(held), len(places)), complex)
        for at, (_, _, share) in enumerate(held):
            for place, size in share.items():
                shares[:, at, places.index(place)] = size
        return [each[0] for each in held], [each[1] for each in held], places, shares

    def rows(self, leaves: int, one: NDArray) -> list[NDArray]:
        """C of each leaf as one matrix (N, M, U). one : (N, M) of the wanted shape."""
        none = np.zeros_like(one)
        return [
            np.stack([shapes.get(leaf, none) for shapes in self.shapes], axis=-1)
            for leaf in range(leaves)
        ]

    def stiffness(self) -> NDArray:
        """The matrix L (N, U, U)."""
        out = np.zeros((self.count, len(self.shapes), len(self.shapes)), complex)
        for places, spring in self.springs:
            out[:, np.array(places)[:, None], np.array(places)] += spring
        return out


def hinged(
    motions: Motions, leaf: int, strips: Strips, omega: float, row: tuple[float, NDArray]
) -> dict[int, NDArray]:
    """Strips hinged on the joists: places of what each of their R functions takes of a wave,
    with its share (N,) in their motion on a joist.

    Functions are a hat over the joist and the sines of the bay beside it. What they take of the
    leaf, u, is made by their amplitudes p, u = G p, G their products over the endless row; the
    sines' own bending then is G^-1 K G^-1. Galerkin's method. omega [rad/s]; row :
    spacing of the joists [m] and wavenumbers across them (N, M) [1/m].
    """
    spacing, across = row
    step = across[:, across.shape[1] // 2] * spacing
    count = strips.orders(omega, spacing) + 1
    gram = np.zeros((len(step), count, count), complex)
    gram[:, 0, 0] = spacing * (2 + np.cos(step)) / 3
    none = np.zeros(len(step), complex)
    places = [motions.add({leaf: spacing * np.sinc(across * spacing / 2 / np.pi) ** 2}, none)]
    bent = [0j]
    for order in range(1, count):
        wave = order * np.pi / spacing
        up, down = (
            np.exp(0.5j * sign * order * np.pi)
            * np.sinc((across + sign * wave) * spacing / 2 / np.pi)
            for sign in (1, -1)
        )
        shape = spacing / 2j * np.exp(0.5j * across * spacing) * (up - down)
        places.append(motions.add({leaf: shape}, none))
        gram[:, order, order] = spacing / 2
        gram[:, 0, order] = (1 - (-1) ** order * np.exp(-1j * step)) / wave
        gram[:, order, 0] = np.conj(gram[:, 0, order])
        bent.append(strips.bending * (1 + 1j * strips.loss) * wave**4 * spacing / 2)
    inverse = np.linalg.inv(gram)
    motions.join(places, (inverse * np.array(bent)) @ inverse)
    return dict(zip(places, inverse[:, 0].T, strict=True))


def chain_inverse(stiff: list[NDArray], between: list[NDArray]) -> list[list[NDArray]]:
    """Inverse [m3/N] of the symmetric matrix with `stiff` on its diagonal and minus `between`
    beside it [N/m3], all of one shape, for each of their elements: elimination from both ends."""
    count = len(stiff)
    down, up = list(stiff), list(stiff)  # with all that lies below, above it
    for i in reversed(range(count - 1)):
        down[i] = stiff[i] - between[i] ** 2 / down[i + 1]
    for i in range(1, count):
        up[i] = stiff[i] - between[i - 1] ** 2 / up[i - 1]
    out = [[stiff[0]] * count for _ in range(count)]
    for i in range(count):
        out[i][i] = 1 / (down[i] + up[i] - stiff[i])
        for j in range(i + 1, count):
            out[i][j] = out[j][i] = out[i][j - 1] * between[j - 1] / down[j]
    return out


def beyond(response: NDArray, across: NDArray) -> NDArray:
    """Sum of k² H (N,) [m/N] over waves k across beyond those of a row, for its slopes.

    response H (N, M) [m3/N] of a leaf at `across` k (N, M) [1/m], rising in equal steps 2 pi/P.
    A moment per length on equal lines makes slopes of k² H, and H falls as 1/k⁴ where waves are
    short, from the last of the row on: sum over n of 1/k², k = 2 pi (n + x)/P, P²/(4 pi²) psi'(N +
    x) from n = N on, psi' the trigamma function. That falls so slowly with N that for N = 4 a sixth
    of all would be left out, at rest. Derived here from the plate's equation.
    """
    step = across[:, 1] - across[:, 0]
    out = np.zeros(len(across), complex)
    for side in (0, -1):
        last = np.abs(across[:, side])
        out += response[:, side] * last**4 * polygamma(1, last / step + 1) / step**2
    return out

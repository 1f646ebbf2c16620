"""Small systems of `ribbed`: the motions of a joist and its bay, and leaves coupled in a chain.

Elimination, as in any textbook of linear algebra.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


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

"""Eigenvalues of two matrices, in a way that lets another thread run."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh

LARGE = 600  # unknowns from which scipy is quicker: it forms no inverse, but holds Python's lock


def generalized(stiffness: NDArray, mass: NDArray) -> tuple[NDArray, NDArray]:
    """Rising squares w² (n,) [1/s2] and vectors v (n, n), K v = w² M v, v M v = 1.

    stiffness K [N/m], mass M [kg] : real symmetric (n, n), the mass positive. By Cholesky's factor
    of the mass (any textbook of linear algebra).
    """
    if len(mass) > LARGE:
        squares, vectors = eigh(stiffness, mass)
        return squares, vectors
    inverse = np.linalg.inv(np.linalg.cholesky(mass))
    squares, vectors = np.linalg.eigh(inverse @ stiffness @ inverse.T)
    return squares, inverse.T @ vectors

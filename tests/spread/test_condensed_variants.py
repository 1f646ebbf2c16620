"""Variants of floor and links from one small system, against the whole of it solved each time."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from impact.spread import condensed


@pytest.mark.parametrize("links", [0, 3, 12])
def test_variants_that_share_links_equal_the_whole_system_solved(links):
    """Six variants, three of them of the same links, of a random symmetric system as the module's
    head writes it: all unknowns at once. 1e-9 for rounding. Without links it is the floor alone."""
    rng = np.random.default_rng(3)
    modes, columns, ears = 5, 2, 4
    size = modes + links
    square = rng.standard_normal((size, size)) + 1j * rng.standard_normal((size, size))
    drive = np.zeros((size, columns))
    drive[:modes] = rng.standard_normal((modes, columns))
    one = SimpleNamespace(
        floor=np.arange(modes), fixed=(square + square.T)[None, None], drive=drive[:modes],
        hear=rng.standard_normal((1, 1, ears, size)), weight=rng.uniform(1, 2, (1, ears)),
    )  # fmt: skip
    dynamic = rng.standard_normal((6, 1, modes, modes)) + 3j * np.eye(modes)
    compliance = rng.standard_normal((6, 1, links)) * (1 + 0.1j)
    compliance[[1, 4]] = compliance[0]
    found = condensed.powers(one, dynamic, compliance)
    for v in range(6):
        whole = one.fixed[0, 0].copy()
        whole[:modes, :modes] += dynamic[v, 0]
        whole[modes:, modes:] -= np.diag(compliance[v, 0])
        heard = one.hear[0, 0] @ np.linalg.solve(whole, drive)
        power = one.weight[0] @ (np.abs(heard) ** 2).sum(axis=1)
        assert found[v, 0] == pytest.approx(power, rel=1e-9)

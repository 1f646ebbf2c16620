"""Timings, not part of the test run: pytest -m benchmark. Aims are printed, not asserted.

`python -m validation.speed` prints and stores the whole table, side by side with slower ways.
"""

from __future__ import annotations

import pytest

import impact
from impact.base import bands
from impact.motion import stack as stacks
from impact.motion import striking
from validation.finite_elements import cases, compare
from validation.speed import measure

pytestmark = pytest.mark.benchmark


def test_warm_prediction(benchmark):
    design = impact.read(measure.STANDING)
    impact.predict(design)
    found = benchmark.pedantic(impact.predict, args=(design,), rounds=3)
    assert len(found.levels["tapping_machine"]) == len(bands.NOMINAL)


def test_one_frequency_of_the_hung_ceiling(benchmark):
    whole = compare.stack(cases.hung_ceiling())
    reduced = stacks.reduce(whole, *bands.edges(bands.CENTRES[bands.index(63.0)]))
    struck = striking.at_points(reduced, cases.SOURCES)
    found = benchmark(lambda: stacks.answer(reduced, stacks.line(reduced, 400.0, struck)))
    assert (found.power > 0).all()


def test_search(benchmark):
    design = impact.read(measure.STANDING)
    row = benchmark.pedantic(measure.variants, args=(design,), rounds=1)
    assert row.ours > 0


def test_help_loads_nothing_heavy(benchmark):
    assert benchmark.pedantic(measure.heavy_in_help, rounds=1) == 0

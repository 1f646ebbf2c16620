"""Two threads at most, never pools within pools, the same answer on one core."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest

import impact
from impact.base import parallel
from impact.heard.joined import join

EXAMPLE = Path(__file__).parents[2] / "examples" / "06_cannot_lose_a_hanger.toml"


def test_items_keep_their_order_and_inner_work_stays_in_its_thread():
    def outer(n):
        inner = parallel.in_parallel(lambda m: (threading.get_ident(), m), range(4))
        assert {thread for thread, _ in inner} == {threading.get_ident()}
        return n, [m for _, m in inner]

    assert parallel.in_parallel(outer, range(5)) == [(n, [0, 1, 2, 3]) for n in range(5)]


def test_results_come_in_order_while_later_items_are_still_held_back():
    """The first result is given out before the last item may even begin: no progress otherwise."""
    gate = threading.Event()

    def work(n):
        assert n < 4 or gate.wait(30)
        return n

    coming = parallel.as_they_come(work, range(5))
    assert next(coming) == 0
    gate.set()
    assert list(coming) == [1, 2, 3, 4]


def test_an_error_of_an_item_is_raised():
    with pytest.raises(ZeroDivisionError):
        parallel.in_parallel(lambda n: 1 / n, [1, 0, 2])


def test_levels_do_not_depend_on_the_number_of_threads(monkeypatch):
    design = impact.read(EXAMPLE)
    two = join(design)
    monkeypatch.setattr(parallel, "THREADS", 1)
    one = join(design)
    for name in two.power:
        np.testing.assert_allclose(one.power[name], two.power[name], rtol=1e-9)

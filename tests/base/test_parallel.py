"""Two threads at most, items within items shared, the same answer on one core."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import numpy as np
import pytest

import impact
from impact.base import parallel
from impact.heard.joined import join

EXAMPLE = Path(__file__).parents[2] / "examples" / "06_cannot_lose_a_hanger.toml"


def test_items_within_items_keep_their_order_and_two_are_at_work_at_most():
    lock, at_work, most = threading.Lock(), [], []

    def inner(m):
        with lock:
            at_work.append(m)
            most.append(len(at_work))
        time.sleep(0.001)
        with lock:
            at_work.remove(m)
        return m

    def outer(n):
        return n, parallel.in_parallel(inner, range(4))

    assert parallel.in_parallel(outer, range(5)) == [(n, [0, 1, 2, 3]) for n in range(5)]
    assert max(most) <= 2


def test_a_thread_that_is_done_shares_what_the_other_still_has_within_an_item(monkeypatch):
    """Two inner items of one outer item wait for each other: one thread alone would wait for ever
    (the barrier breaks then)."""
    monkeypatch.setattr(parallel.os, "cpu_count", lambda: 2)
    both = threading.Barrier(2, timeout=30)
    works = [list, lambda: parallel.in_parallel(lambda _: both.wait() >= 0, range(2))]
    assert parallel.in_parallel(lambda work: work(), works) == [[], [True, True]]


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

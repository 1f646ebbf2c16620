"""Two threads at most, never pools within pools, the same answer on one core."""

from __future__ import annotations

import os
import sys
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


def test_work_beside_leaves_its_files_and_what_is_done_meanwhile_is_given_back(tmp_path):
    mine = os.getpid()
    found = parallel.beside(lambda: (tmp_path / "pid").write_text(str(os.getpid())), lambda: 3)
    assert found == 3
    copied = sys.platform.startswith("linux") and (os.cpu_count() or 1) > 1
    assert (int((tmp_path / "pid").read_text()) != mine) is copied


def test_work_that_fails_beside_is_done_here_and_raises_here(tmp_path):
    mine, tried = os.getpid(), tmp_path / "tried"

    def work():
        tried.write_text(str(os.getpid()))
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        parallel.beside(work, lambda: None)
    assert int(tried.read_text()) == mine


def test_an_error_meanwhile_waits_for_the_copy(monkeypatch):
    def fails():
        raise ValueError("no")

    ended = []

    def ends(number, options):
        ended.append(number)
        return number, 0

    monkeypatch.setattr(parallel, "_copied", lambda work: 4711)
    monkeypatch.setattr(os, "waitpid", ends)
    with pytest.raises(ValueError, match="no"):
        parallel.beside(lambda: None, fails)
    assert ended == [4711]


def test_no_copy_beside_other_threads(monkeypatch):
    monkeypatch.setattr(threading, "active_count", lambda: 2)
    done = []
    assert parallel.beside(lambda: done.append(1), lambda: len(done)) == 0
    assert done == [1]  # here, for a copy's list would not be this one


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

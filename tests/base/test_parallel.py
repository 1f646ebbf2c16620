"""Two threads at most, items within items shared, the same answer on one core; or two processes."""

from __future__ import annotations

import os
import sys
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


@pytest.fixture
def copies(monkeypatch):
    """Inside of it items are shared with a copy of this process, whatever threads others left."""
    monkeypatch.setattr(parallel, "_copyable", lambda: True)
    with parallel.with_copies():
        yield


linux = pytest.mark.skipif(sys.platform != "linux", reason="no other system has copies")
HERE = os.getpid()


@linux
def test_two_processes_share_items_and_the_first_ones_stay(copies, tmp_path):
    """Two items wait for each other's file: one process alone would wait for ever (30 s)."""

    def work(n):
        if n in (2, 3):
            (tmp_path / str(n)).touch()
            until = time.monotonic() + 30
            while not (tmp_path / str(5 - n)).exists():
                assert time.monotonic() < until
                time.sleep(0.001)
        return n, os.getpid()

    found = parallel.in_copies(work, range(9), here=2)
    assert [n for n, _ in found] == list(range(9))
    assert {pid for _, pid in found[:2]} == {HERE}
    assert len({pid for _, pid in found}) == 2
    assert {pid for _, pid in found[2:4]} - {HERE}


@linux
def test_a_copy_makes_no_copy_and_no_threads(copies):
    def inner(_):
        return os.getpid(), threading.active_count()

    before = threading.active_count()
    for pid, found in parallel.in_copies(
        lambda _: (os.getpid(), parallel.in_copies(inner, range(3))), range(4)
    ):
        assert {each for each, _ in found} == {pid}
        assert {count for _, count in found} <= {1, before}


@linux
@pytest.mark.parametrize("fails", [
    lambda: 1 / 0, lambda: os._exit(1), lambda: sys.exit(3), lambda: lambda: None,
])  # fmt: skip
def test_what_the_copy_cannot_do_or_send_is_worked_out_here(copies, fails):
    def work(n):
        time.sleep(0.01)
        return n if os.getpid() == HERE else fails()

    assert parallel.in_copies(work, range(12)) == list(range(12))


@linux
def test_an_error_of_both_processes_is_raised_and_nothing_is_left_behind(copies):
    open_before = len(os.listdir("/proc/self/fd"))
    for error in (ValueError, KeyboardInterrupt):

        def work(n, error=error):
            if os.getpid() != HERE:
                time.sleep(60)
            raise error(n)

        start = time.monotonic()
        with pytest.raises(error):
            parallel.in_copies(work, range(4), here=1)
        assert time.monotonic() - start < 30  # the copy is ended, not waited for
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)
    assert len(os.listdir("/proc/self/fd")) == open_before


@linux
def test_items_are_worked_out_here_where_no_copy_can_be_made(copies, monkeypatch):
    def none():
        raise BlockingIOError("no more processes")

    monkeypatch.setattr(parallel.os, "fork", none)
    assert parallel.in_copies(lambda n: os.getpid(), range(4)) == [HERE] * 4


def test_nobody_is_copied_unasked_or_with_other_threads():
    assert parallel.in_copies(lambda n: os.getpid(), range(4)) == [HERE] * 4
    end = threading.Event()
    other = threading.Thread(target=end.wait)
    other.start()
    with parallel.with_copies():
        assert parallel.in_copies(lambda n: os.getpid(), range(4)) == [HERE] * 4
    end.set()
    other.join()


def test_a_thread_begun_after_leave_was_given_prevents_copies():
    """It may hold a lock at the moment of the copy, which then would wait for ever."""
    with parallel.with_copies():
        end = threading.Event()
        other = threading.Thread(target=end.wait)
        other.start()
        assert parallel.in_copies(lambda n: os.getpid(), range(4)) == [HERE] * 4
        end.set()
        other.join()


@linux
@pytest.mark.parametrize("name", ["03_metric_particleboard", "06_cannot_lose_a_hanger"])
def test_predictions_do_not_depend_on_who_works_them_out(copies, monkeypatch, name):
    """Nor does any of the copies fail, so that its share would be worked out a second time."""
    design, ended, wait = impact.read(EXAMPLE.with_stem(name)), [], os.waitpid

    def watched(pid, options):
        found = wait(pid, options)
        ended.append(found[1])
        return found

    monkeypatch.setattr(parallel.os, "waitpid", watched)
    shared = impact.predict(design).as_dict()
    assert len(ended) > 2
    assert not any(ended)
    monkeypatch.setattr(parallel, "_copyable", lambda: False)
    monkeypatch.setattr(parallel, "THREADS", 1)
    assert impact.predict(design).as_dict() == shared

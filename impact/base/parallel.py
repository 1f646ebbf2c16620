"""Two cores at most, one pool at a time: what runs inside a pooled task runs in its thread.

The linear algebra keeps to one thread (`impact/__init__.py`), so two threads of our own fill two
cores. Every item is worked out alone and in the same way, whatever the number of threads.
"""

from __future__ import annotations

import os
import sys
import threading
import warnings
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
R = TypeVar("R")

THREADS = 2
_here = threading.local()


def in_parallel(work: Callable[[T], R], items: Iterable[T]) -> list[R]:
    """[work(item) for item in items], on up to THREADS threads; in order, the first item first.

    An exception of an item is raised here. Put long items first.
    """
    return list(as_they_come(work, items))


def as_they_come(work: Callable[[T], R], items: Iterable[T]) -> Iterator[R]:
    """The same one by one, still in order, while the others are worked on: for progress, and for
    results too large to keep. Work starts with the first `next`."""
    waiting = list(items)
    threads = min(THREADS, os.cpu_count() or 1, len(waiting))
    if threads < 2 or getattr(_here, "busy", False):
        yield from map(work, waiting)
        return

    def alone(item: T) -> R:
        _here.busy = True
        try:
            return work(item)
        finally:
            _here.busy = False

    with ThreadPoolExecutor(threads) as pool:
        yield from pool.map(alone, waiting)


def beside(work: Callable[[], object], meanwhile: Callable[[], R]) -> R:
    """meanwhile(), while work() runs in a copy of this process; for Python code, which threads
    would not speed up.

    Of `work` only the files stay that it wrote. Where no copy can be made, or it failed, `work`
    runs here afterwards, so that its errors are raised here.
    """
    copy = _copied(work)
    failed = True
    try:
        result = meanwhile()
    finally:
        if copy is not None:
            failed = os.waitpid(copy, 0)[1] != 0
    if failed:
        work()
    return result


def _copied(work: Callable[[], object]) -> int | None:
    """Number of a copy of this process that does `work` and ends; None where there can be none:
    another thread may hold a lock that nobody would open in the copy."""
    cores = os.cpu_count() or 1
    if not sys.platform.startswith("linux") or cores < 2 or threading.active_count() > 1:
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads, which were counted above
        number = os.fork()
    if number:
        return number
    code = 1
    try:
        work()
        code = 0
    finally:
        os._exit(code)  # nothing of the caller's, and no output twice

"""Two cores at most, one pool at a time: what runs inside a pooled task runs in its thread.

The linear algebra keeps to one thread (`impact/__init__.py`), so two threads of our own fill two
cores. Every item is worked out alone and in the same way, whatever the number of threads.
"""

from __future__ import annotations

import os
import threading
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

"""Two cores at most: who has items to work out shares them with whoever is idle.

The linear algebra keeps to one thread (`impact/__init__.py`), so two threads of our own fill two
cores. Items may have items of their own: a thread that would wait for the other takes some of
those, whatever they are, so hold no lock while asking for results. Every item is worked out alone
and in the same way, whatever the number of threads.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterable, Iterator
from typing import Any, TypeVar

T = TypeVar("T")
R = TypeVar("R")

THREADS = 2
_turn = threading.Condition()  # held to change any of what follows
_open: list[_Batch] = []  # from the outermost to the innermost
_helpers = 0  # threads beside those that ask for results


def in_parallel(work: Callable[[T], R], items: Iterable[T]) -> list[R]:
    """[work(item) for item in items], on up to THREADS threads; in order, the first item first.

    An exception of an item is raised here. Put long items first.
    """
    return list(as_they_come(work, items))


def as_they_come(work: Callable[[T], R], items: Iterable[T]) -> Iterator[R]:
    """The same one by one, still in order, while the others are worked on: for progress, and for
    results too large to keep. Work starts with the first `next`."""
    batch = _Batch(work, list(items))
    with _turn:
        _open.append(batch)
        if len(batch.items) > 1:
            _hire()
        _turn.notify_all()
    try:
        for place in range(len(batch.items)):
            yield batch.result(place)
    finally:
        with _turn:
            batch.begun = len(batch.items)  # after an error nothing more is begun
            _turn.wait_for(lambda: not batch.running)
            _open.remove(batch)
            _turn.notify_all()


class _Batch:
    """Items of one call, of which the first `begun` are done or being worked on."""

    def __init__(self, work: Callable[[Any], Any], items: list[Any]) -> None:
        self.work, self.items = work, items
        self.begun = self.running = 0
        self.done: dict[int, tuple[Any, BaseException | None]] = {}

    def result(self, place: int) -> Any:
        """Result of one item; while it is not there, another is worked out, of this call first."""
        while True:
            with _turn:
                _turn.wait_for(lambda: place in self.done or _next(self))
                if place in self.done:
                    found, error = self.done.pop(place)
                    break
                task = _begin(_next(self))
            _work_out(*task)
        if error is not None:
            raise error
        return found


def _next(first: _Batch | None = None) -> _Batch | None:
    """A call with items to begin: `first` if it has any, else the innermost one that has."""
    for batch in (first, *reversed(_open)):
        if batch is not None and batch.begun < len(batch.items):
            return batch
    return None


def _begin(batch: _Batch | None) -> tuple[_Batch, int]:
    assert batch is not None
    batch.begun += 1
    batch.running += 1
    return batch, batch.begun - 1


def _work_out(batch: _Batch, place: int) -> None:
    found, error = None, None
    try:
        found = batch.work(batch.items[place])
    except BaseException as fault:  # raised where the result is asked for
        error = fault
    with _turn:
        batch.done[place] = found, error
        batch.running -= 1
        _turn.notify_all()
    if isinstance(error, KeyboardInterrupt):
        raise error  # comes to the main thread only, which is to stop at once


def _spare() -> int:
    """Threads that may help."""
    return min(THREADS, os.cpu_count() or 1) - 1


def _hire() -> None:
    """One more thread, if a core is free for it; to be called by who holds `_turn`."""
    global _helpers
    if _helpers < _spare():
        _helpers += 1
        # daemon: must not keep the program from ending where a call was left half-way
        threading.Thread(target=_help, name="impact helper", daemon=True).start()


def _help() -> None:
    """Work out whatever there is, until no call is open any more."""
    global _helpers
    while True:
        with _turn:
            _turn.wait_for(lambda: not _open or _next())
            if not _open or _helpers > _spare():
                _helpers -= 1
                return
            task = _begin(_next())
        _work_out(*task)

"""Two cores at most: who has items to work out shares them with whoever is idle.

The linear algebra keeps to one thread (`impact/__init__.py`), so two threads of our own fill two
cores. Items may have items of their own: a thread that would wait for the other takes some of
those, whatever they are, so hold no lock while asking for results. Every item is worked out alone
and in the same way, whatever the number of threads.

Threads share Python's lock, and of a prediction so much is Python that two of them take three
quarters of the time of one. A command that has its process to itself may share items with a copy of
that process instead (`with_copies`, `in_copies`): Linux alone has copies that numpy survives.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from itertools import chain
from typing import Any, NoReturn, TypeVar

T = TypeVar("T")
R = TypeVar("R")

THREADS = 2
_turn = threading.Condition()  # held to change any of what follows
_open: list[_Batch] = []  # from the outermost to the innermost
_helpers = 0  # threads beside those that ask for results
_copies = 0  # commands at work that let a copy of the process stand for the second thread
_copied = False  # whether there is one at the moment, or this is it


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
    return 0 if _copies else min(THREADS, os.cpu_count() or 1) - 1


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


@contextmanager
def with_copies() -> Iterator[None]:
    """Until the end of this, `in_copies` shares its items with a copy of the process, and
    `in_parallel` keeps to one thread; as ever where a process cannot be copied, has threads
    already, or has one core. For commands: a program that calls the package is not to find itself
    copied."""
    global _copies
    if not _copyable():
        yield
        return
    with _turn:
        _copies += 1
    try:
        yield
    finally:
        with _turn:
            _copies -= 1


def _copyable() -> bool:
    """Whether a copy of this process would have all of it: Linux, and no thread but this one, of
    whatever library; and whether there is a second core for it."""
    if sys.platform != "linux" or min(THREADS, os.cpu_count() or 1) < 2:
        return False
    try:
        return len(os.listdir("/proc/self/task")) == 1
    except OSError:
        return False


def in_copies(work: Callable[[T], R], items: Iterable[T], here: int = 0) -> list[R]:
    """[work(item) for item in items] in order, shared with a copy of the process while
    `with_copies` allows it and none is at work, else by `in_parallel`.

    here : so many items, the first ones, are worked out in this process, since others need what
    they keep or their results cannot be sent; all other results must go through `pickle`. What the
    copy fails at, or takes with it, is worked out here. Put long items first.
    """
    global _copied
    every = list(items)
    few = not 0 < len(every) - here < 256 or len(every) < 2
    # asked anew each time: a thread begun since may hold a lock, which a copy would wait for
    if few or not _copies or _copied or not _copyable():
        return in_parallel(work, every)
    _copied = True
    try:
        return _shared(work, every, here)
    finally:
        _copied = False


def _shared(work: Callable[[T], R], items: Sequence[T], here: int) -> list[R]:
    """Places of items to begin stand in a pipe, a byte each, from which whoever is free takes the
    next; the copy's results come through another one."""
    (places, more), (found, sent) = os.pipe(), os.pipe()
    os.write(more, bytes(range(here, len(items))))
    os.close(more)
    done: dict[int, R] = {}
    copy = None
    gc.freeze()  # to look through what both share would copy it
    try:
        with suppress(OSError):  # no memory for it, or no more processes allowed
            copy = os.fork()
        if copy == 0:
            _be_copy(work, items, places, sent)
        os.close(sent)
        for place in chain(range(here), _taken(places)):
            done[place] = work(items[place])
        with open(found, "rb", closefd=False) as file, suppress(EOFError, pickle.PickleError):
            done |= pickle.load(file)
    finally:
        gc.unfreeze()
        os.close(places)
        os.close(found)
        if copy:
            if len(done) < len(items):  # it may still be at work for nobody
                with suppress(ProcessLookupError):
                    os.kill(copy, signal.SIGKILL)
            os.waitpid(copy, 0)
    return [done[n] if n in done else work(item) for n, item in enumerate(items)]


def _taken(places: int) -> Iterator[int]:
    while byte := os.read(places, 1):
        yield byte[0]


def _be_copy(work: Callable[[T], R], items: Sequence[T], places: int, sent: int) -> NoReturn:
    """What the copy does, and nothing else: it shares all that is open with the other process, so
    that it must not return, print or close anything in order."""
    status = 1
    try:
        done = {place: work(items[place]) for place in _taken(places)}
        with open(sent, "wb", closefd=False) as file:
            pickle.dump(done, file, pickle.HIGHEST_PROTOCOL)
        status = 0
    except BaseException:  # the other process does it over, and says so if it fails too
        pass
    finally:
        os._exit(status)

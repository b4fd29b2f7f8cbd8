"""Jobs done over the cores, in forked workers: what came of each is returned in order.

A worker inherits what the run that starts it has loaded, so nothing large is handed over. It ends
with that run, however that ends. The library's own ``map`` takes all jobs at once and keeps every
result until it is asked for; a pool of it is used, a few jobs ahead.
"""

from __future__ import annotations

import mmap
import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from reportgen.archive.write import CannotWrite
from reportgen.record.failure import Failed, failure_of, speaks_for_itself

MOST = 8
"""Workers at most."""

FEWEST = 8
"""Records worth more than one worker when they are read and judged: starting one takes longer."""

LARGEST = 200
"""Records in one portion at most: what they hang on, and the house's files, is read for each."""

AHEAD = 2
"""Jobs that each worker may be ahead of what is asked for: results wait in memory."""

if TYPE_CHECKING:
    from concurrent.futures import Future

Job = TypeVar("Job")
Result = TypeVar("Result")


Progress = Callable[[int, int], None]
"""Told now and then: how much has been done, of how much."""


def tell_nobody(done: int, total: int) -> None:
    """Say nothing of how far the work is."""


def cores() -> int:
    """Return how many jobs are done at once: one a core; one where no process can be forked."""
    if not hasattr(os, "fork"):
        return 1
    own = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return min(own or 1, MOST)


def portions(
    items: Sequence[Job], most: int, rounds: int = 2, fewest: int = 1
) -> list[Sequence[Job]]:
    """Share out items in portions of at most ``most``: as many for each core, alike in size.

    Each core gets ``rounds`` portions or more, so that none waits long for another at the end.
    Fewer items than ``fewest`` are one portion.
    """
    if len(items) < fewest:
        return [items] if items else []
    share = cores()
    number = share * max(rounds, -(-len(items) // (most * share)))
    size = max(1, -(-len(items) // number))
    return [items[start : start + size] for start in range(0, len(items), size)]


def in_order(
    work: Callable[[Job], Result], jobs: Iterable[Job], each: int | None = None
) -> Iterator[Result]:
    """Do the jobs and yield what came of each, in order; here where one core or one job is all.

    ``work`` may be any function, bound to anything, since it is inherited; jobs and results are
    handed over, so they must be small and plain. ``each`` is how many jobs a worker does before a
    new one takes its place, where a library keeps memory that it never gives back. What a job
    raises for the user is raised here; a fault of the tool in a worker comes as :class:`Failed`.
    :class:`CannotWrite` when a worker is ended from outside.
    """
    waiting = list(jobs)
    workers = min(cores(), len(waiting))
    if workers < 2:
        yield from map(work, waiting)
        return
    turn = len(waiting) if each is None else each * workers
    for start in range(0, len(waiting), turn):
        yield from _shared(work, waiting[start : start + turn], workers)


def _shared(
    work: Callable[[Job], Result], jobs: Sequence[Job], workers: int
) -> Iterator[Result]:
    """Do the jobs in workers of their own. The pool is loaded only where there is more than one."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    pending: deque[Future[Result]] = deque()
    # One byte of memory that the workers share, set when nobody wants the results any more.
    given_up = mmap.mmap(-1, 1)
    try:
        with ProcessPoolExecutor(
            workers, multiprocessing.get_context("fork"), _begin, (work, given_up)
        ) as pool:
            try:
                for job in jobs:
                    pending.append(pool.submit(_do, job))
                    if len(pending) >= AHEAD * workers:
                        yield pending.popleft().result()
                while pending:
                    yield pending.popleft().result()
            finally:
                # What is queued comes to nothing. It is not cancelled: before Python 3.11.4 a pool
                # may wait for ever for a job that is cancelled just after it was handed over.
                given_up[0] = 1
    except BrokenProcessPool as error:
        raise CannotWrite(
            "a worker was ended from outside, perhaps for want of memory; run it again"
        ) from error


_work: Callable[[Any], Any]
_given_up: mmap.mmap
"""What a worker does, and whether it is still wanted; set in the worker only."""


def _begin(work: Callable[[Any], Any], given_up: mmap.mmap) -> None:
    import multiprocessing

    global _work, _given_up
    _work, _given_up = work, given_up
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    """End this worker when the run that started it was killed; it would wait for work for ever."""
    from multiprocessing.connection import wait

    wait([sentinel])
    os._exit(1)


def _do(job: Any) -> Any:
    if _given_up[0]:
        return None
    try:
        return _work(job)
    except Exception as error:
        if speaks_for_itself(error):
            raise
        # Not every exception can be handed over; what it comes to can.
        raise Failed(failure_of(error, "")) from None

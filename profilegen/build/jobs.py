"""Shares work among processes and streams the answers back, a few at a time.

Any `concurrent.futures`-style executor will do. Only a few batches are on their way at
once, so that memory stays flat however large the squad.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from itertools import islice
from multiprocessing.connection import wait as wait_for_any
from typing import TypeVar

Task = TypeVar("Task")
Answer = TypeVar("Answer")

BATCH = 8
"""Lifters per message to a worker: enough to make the message's cost small, few enough to
keep every worker busy to the end."""

RARELY = (50_000, 20, 20)
"""When to look for values that hold each other (gc.set_threshold). Pages are made of values
that do not, and are freed as soon as nobody needs them, so with Python's own setting a tenth
of a build went into looking for nothing."""

WORTH_A_PROCESS = 24
"""Starting a process costs about as much as this many lifters (0.5 s against 20 ms)."""


def sensible_jobs(wanted: int | None, tasks: int) -> int:
    """How many processes to use; 1 means none beside this one.

    A number asked for is taken; without one, no more than there is work for.
    """
    if wanted is not None:
        return max(1, min(wanted, -(-tasks // BATCH)))
    return max(1, min(processors(), tasks // WORTH_A_PROCESS))


class Crew:
    """Who does the work: an executor given, or processes of our own once they are worth it.

    A context manager; processes it started end with it.
    """

    def __init__(self, executor: Executor | None = None, jobs: int | None = None) -> None:
        self._executor = executor
        self._jobs = jobs
        self._own: ProcessPoolExecutor | None = None

    def __enter__(self) -> Crew:
        self._usually = gc.get_threshold()
        gc.set_threshold(*RARELY)
        return self

    def __exit__(self, *error: object) -> None:
        gc.set_threshold(*self._usually)
        if self._own:
            self._own.shutdown(cancel_futures=True)

    def stream(
        self,
        function: Callable[[Sequence[Task]], Sequence[Answer]],
        tasks: Iterable[Task],
        count: int,
    ) -> Iterator[Answer]:
        """`function` over batches of `count` tasks; answers in whatever order they finish."""
        workers = sensible_jobs(self._jobs, count)
        executor = self._executor
        if executor is None and workers > 1:
            self._own = self._own or _process_pool(workers)
        return stream(function, tasks, executor or self._own, workers)


def _process_pool(jobs: int) -> ProcessPoolExecutor:
    """Processes that have imported the stages.

    Not forked from this process: it may run threads (the progress bar), which a fork would
    leave in an unknown state.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        spawn = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(jobs, mp_context=spawn, initializer=_start_work)
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["profilegen.build.lifters"])
    return ProcessPoolExecutor(jobs, mp_context=context, initializer=_start_work)


def _start_work() -> None:
    """Runs first in a worker: when the build is killed, its workers do not linger."""
    gc.set_threshold(*RARELY)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_exit_after, args=[parent.sentinel], daemon=True).start()


def _exit_after(sentinel: int) -> None:
    wait_for_any([sentinel])
    os._exit(1)


def stream(
    function: Callable[[Sequence[Task]], Sequence[Answer]],
    tasks: Iterable[Task],
    executor: Executor | None,
    workers: int,
) -> Iterator[Answer]:
    """As `Crew.stream`; without an executor everything happens here, batch by batch."""
    batches = _batches(tasks)
    if executor is None:
        for batch in batches:
            yield from function(batch)
        return
    running: set[Future[Sequence[Answer]]] = set()
    for batch in batches:
        running.add(executor.submit(function, batch))
        if len(running) >= 2 * workers:
            done, running = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                yield from future.result()
    while running:
        done, running = wait(running, return_when=FIRST_COMPLETED)
        for future in done:
            yield from future.result()


def _batches(tasks: Iterable[Task]) -> Iterator[Sequence[Task]]:
    remaining = iter(tasks)
    while batch := tuple(islice(remaining, BATCH)):
        yield batch


def processors() -> int:
    """Processors this process may run on, which a container may have limited."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1

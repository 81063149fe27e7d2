"""Work is shared among processes that come only when worth it and never outlive the build."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any

import pytest

from profilegen.build.jobs import BATCH, WORTH_A_PROCESS, Crew, sensible_jobs, stream


def doubled(batch: Any) -> list[int]:
    return [2 * number for number in batch]


def gone(pid: int) -> bool:
    """Whether a process has ended (a zombie that nobody has waited for counts as ended)."""
    try:
        return ") Z " in Path(f"/proc/{pid}/stat").read_text()
    except OSError:
        return True


class HereExecutor(Executor):
    """Runs at once, in this process, and counts what it was given."""

    def __init__(self) -> None:
        self.submitted = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.submitted += 1
        future: Future[Any] = Future()
        future.set_result(fn(*args, **kwargs))
        return future


def test_every_task_is_answered_once() -> None:
    numbers = range(5 * BATCH + 3)
    for executor in (None, HereExecutor()):
        assert sorted(stream(doubled, numbers, executor, 2)) == [2 * n for n in numbers]


def test_processes_give_the_same_answers() -> None:
    numbers = range(2 * BATCH + 1)
    with Crew(jobs=2) as crew:
        answers = sorted(crew.stream(doubled, numbers, len(numbers)))
    assert answers == [2 * n for n in numbers]


def test_a_large_squad_is_streamed_not_held() -> None:
    """The executor is never handed everything at once: answers are fetched as it goes."""
    executor = HereExecutor()
    most_waiting = 0
    for fetched, _ in enumerate(stream(doubled, range(100 * BATCH), executor, 2), start=1):
        most_waiting = max(most_waiting, executor.submitted * BATCH - fetched)
    assert executor.submitted == 100
    assert most_waiting < 5 * BATCH


@pytest.mark.parametrize(
    ("wanted", "tasks", "jobs"),
    [
        (None, 0, 1),
        (None, WORTH_A_PROCESS, 1),
        (1, 10_000, 1),
        (2, 10_000, 2),
        (8, BATCH + 1, 2),
        (8, 0, 1),
    ],
)
def test_no_more_processes_than_there_is_work_for(
    wanted: int | None, tasks: int, jobs: int
) -> None:
    assert sensible_jobs(wanted, tasks) == jobs


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for processes in /proc")
def test_workers_end_when_the_build_is_killed() -> None:
    """A killed parent cannot tell its workers; they notice by themselves."""
    script = Path(__file__).with_name("endless_work.py")
    with subprocess.Popen(
        [sys.executable, str(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as parent:
        assert parent.stdout is not None
        workers = {int(parent.stdout.readline()) for _ in range(2 * BATCH)}
        parent.send_signal(signal.SIGKILL)
    assert os.getpid() not in workers
    patience = time.monotonic() + 10
    while not all(map(gone, workers)):
        assert time.monotonic() < patience, "workers linger"
        time.sleep(0.02)
